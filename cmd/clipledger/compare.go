package main

import (
	"fmt"
	"math"

	"github.com/spf13/cobra"

	"clipledger/monitor"
	"clipledger/schema"
)

// compareFlags are the flags of compare.
type compareFlags struct {
	filterFlags
	from, to int
	wanted   float64
	normal   bool
}

func newCompare(a *app) *cobra.Command {
	var flags compareFlags
	cmd := &cobra.Command{
		Use:   "compare",
		Short: "Did it change from one year to another, and which change could be seen",
		Long: `Prints, for every site, season and component, the change from one growth year
to another (year_2 - year_1), its interval and its p: each year with the one
before it that has values in the same season, or the two of --from and --to.

Sites whose frames stay in place (placement same) are compared frame by frame
over the frames clipped in both years, or transect by transect where the
transect is their sampling unit; shifted frames transect by transect where
three or more were clipped in both years; new frames as independent samples.
The error of the drying samples of both years is in every interval.

p_holm and p_bh are adjusted over all comparisons of the ledger, whatever is
shown: --site, --stratum, --year (of year_2), --season and --component choose
what is printed, not what is tested. Production is left out of that, since it
repeats its parts. min_detectable is the change that these samples see four
times in five, at alpha = 1 - confidence.

--wanted-change adds how many sampling units a year would see a change of so
many percent as often (n_wanted, with the drying samples in hand);
--normal-theory adds what handbooks print for it (n_normal, and n_tabled by z
of two decimals), which is too few where frames are few.`,
		Example: "  clipledger compare --site QUILL --component browse\n" +
			"  clipledger compare --from 2012 --to 2024 --component production\n" +
			"  clipledger compare --year 2024 --wanted-change 20 --normal-theory --format csv > changes.csv",
		Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			q, err := flags.query(cmd)
			if err != nil {
				return err
			}
			q.Confidence = a.confidence
			return runCompare(cmd, a, q, flags.normal)
		},
	}
	flags.add(cmd)
	f := cmd.Flags()
	f.IntVar(&flags.from, "from", 0, "compare the growth `YEAR` with that of --to")
	f.IntVar(&flags.to, "to", 0, "the later growth `YEAR`")
	f.Float64Var(&flags.wanted, "wanted-change", 0, "add the sample size for a change of so many `PERCENT`")
	f.BoolVar(&flags.normal, "normal-theory", false, "beside it, what handbooks print")
	return cmd
}

// query reads the flags.
func (f *compareFlags) query(cmd *cobra.Command) (monitor.ChangeQuery, error) {
	filter, err := f.parse()
	if err != nil {
		return monitor.ChangeQuery{}, err
	}
	given := cmd.Flags().Changed
	switch {
	case given("from") != given("to"):
		return monitor.ChangeQuery{}, usagef("--from and --to belong together: --from 2015 --to 2024; without both, each year is compared with the one before it")
	case given("from") && (f.from < 1800 || f.to > 2200 || f.from >= f.to):
		return monitor.ChangeQuery{}, usagef("--from %d --to %d: give two years, the earlier one first", f.from, f.to)
	case given("wanted-change") && !(f.wanted > 0 && f.wanted <= 1000):
		return monitor.ChangeQuery{}, usagef("--wanted-change %g: give a percent above 0, such as 20", f.wanted)
	case f.normal && !given("wanted-change"):
		return monitor.ChangeQuery{}, usagef("--normal-theory is a way to work out --wanted-change; give that too")
	}
	return monitor.ChangeQuery{Filter: filter, From: f.from, To: f.to, WantedPct: f.wanted}, nil
}

func runCompare(cmd *cobra.Command, a *app, q monitor.ChangeQuery, normal bool) error {
	return a.read(cmd.Context(), func(s *schema.Snapshot) error {
		values, err := s.Settings()
		if err != nil {
			return err
		}
		if q.Unit, err = a.unit(values); err != nil {
			return err
		}
		changes, family, err := monitor.Compare(s, q)
		if err != nil {
			return err
		}
		r := compareResults(a, q, normal, family)
		for _, x := range changes {
			if err := r.add(x); err != nil {
				return err
			}
		}
		told := familyWords(family)
		if err := r.finish(a, fmt.Sprintf("%s, %s; difference is year_2 - year_1, intervals at %g %% confidence, min_detectable at power %.2f.\n%s",
			q.Unit.Name, values["basis"], monitor.Percent(1-family.Alpha), monitor.ChangePower, told)); err != nil {
			return err
		}
		if a.format != "table" && r.rows > 0 {
			a.say("%s", told)
		}
		return nil
	})
}

// familyWords says what looking at so many changes comes to by chance alone.
func familyWords(f monitor.Family) string {
	return fmt.Sprintf("p_holm and p_bh are adjusted over the %d tests of the whole ledger, shown or not, production left out. Had nothing changed, %.1f of them would come out below %.3g by chance; %d did, %d of them after Benjamini and Hochberg, %d after Holm.",
		f.Tests, f.ByChance, f.Alpha, f.Below, f.BH, f.Holm)
}

// changeCol is a column of compare.
func changeCol(name string, value func(*monitor.Comparison) any) column[monitor.Comparison] {
	return column[monitor.Comparison]{name, value}
}

// compareResults shapes the output of compare.
func compareResults(a *app, q monitor.ChangeQuery, normal bool, family monitor.Family) *results[monitor.Comparison] {
	density := func(name string, of func(*monitor.Comparison) monitor.Num) column[monitor.Comparison] {
		return changeCol(name, func(x *monitor.Comparison) any { return in(q.Unit, of(x)) })
	}
	r := &results[monitor.Comparison]{out: a.Out, format: a.format, needs: "values in two growth years of the same season",
		remarks: func(x *monitor.Comparison) []monitor.Remark { return x.Remarks },
		where: func(x *monitor.Comparison) string {
			return fmt.Sprintf("%s %s to %d %s %s", x.Site.Site, dash(csvCell(yearNum(x.Year1))), x.Year2, x.Season, x.Component)
		}}
	r.columns = []column[monitor.Comparison]{
		changeCol("site", func(x *monitor.Comparison) any { return x.Site.Site }),
		changeCol("season", func(x *monitor.Comparison) any { return x.Season }),
		changeCol("component", func(x *monitor.Comparison) any { return x.Component }),
		changeCol("unit", func(*monitor.Comparison) any { return q.Unit.Name }),
		changeCol("year_1", func(x *monitor.Comparison) any { return yearNum(x.Year1) }),
		changeCol("year_2", func(x *monitor.Comparison) any { return yearNum(x.Year2) }),
		changeCol("design", func(x *monitor.Comparison) any { return x.Design }),
		changeCol("n_1", func(x *monitor.Comparison) any { return x.N1 }),
		changeCol("n_2", func(x *monitor.Comparison) any { return x.N2 }),
		density("mean_1", func(x *monitor.Comparison) monitor.Num { return x.Mean1 }),
		density("mean_2", func(x *monitor.Comparison) monitor.Num { return x.Mean2 }),
		density("difference", func(x *monitor.Comparison) monitor.Num { return x.Difference }),
		changeCol("difference_pct", func(x *monitor.Comparison) any { return x.DifferencePct }),
		density("ci_low", func(x *monitor.Comparison) monitor.Num { return x.CI.Low }),
		density("ci_high", func(x *monitor.Comparison) monitor.Num { return x.CI.High }),
		changeCol("t", func(x *monitor.Comparison) any { return x.T }),
		changeCol("df", func(x *monitor.Comparison) any { return x.DF }),
		changeCol("p", func(x *monitor.Comparison) any { return x.P }),
		changeCol("p_holm", func(x *monitor.Comparison) any { return x.PHolm }),
		changeCol("p_bh", func(x *monitor.Comparison) any { return x.PBH }),
		density("min_detectable", func(x *monitor.Comparison) monitor.Num { return x.MinDetectable }),
	}
	r.shown = []string{"site", "season", "component", "year_1", "year_2", "design", "n_1", "n_2", "mean_1", "mean_2", "difference", "difference_pct", "interval", "p", "p_holm", "min_detectable"}
	r.table = changeTable(q.Unit)
	r.more = func(x *monitor.Comparison) map[string]any { return moreOfChange(x, q.Unit, family) }
	if q.WantedPct > 0 {
		addWanted(r, q.WantedPct, normal)
	}
	return r
}

// addWanted adds the columns of the sample sizes for a wanted change.
func addWanted(r *results[monitor.Comparison], pct float64, normal bool) {
	sizes := []column[monitor.Comparison]{changeCol("n_wanted", func(x *monitor.Comparison) any { return x.NWanted })}
	if normal {
		sizes = append(sizes, changeCol("n_normal", func(x *monitor.Comparison) any { return roundedUp(x.NNormal) }),
			changeCol("n_tabled", func(x *monitor.Comparison) any { return roundedUp(x.NTabled) }))
	}
	r.columns = append(r.columns, changeCol("wanted_change_pct", func(*monitor.Comparison) any { return schema.Some(pct) }))
	r.columns = append(r.columns, sizes...)
	for _, c := range sizes {
		r.shown = append(r.shown, c.name)
		r.table[c.name] = func(x *monitor.Comparison) string { return rounded(c.value(x).(monitor.Num), 0) }
	}
}

// changeTable says how the table writes the columns of compare.
func changeTable(unit monitor.Unit) map[string]func(*monitor.Comparison) string {
	weight := func(of func(*monitor.Comparison) monitor.Num) func(*monitor.Comparison) string {
		return func(x *monitor.Comparison) string { return rounded(in(unit, of(x)), unit.Decimal) }
	}
	return map[string]func(*monitor.Comparison) string{
		"year_1":         func(x *monitor.Comparison) string { return rounded(yearNum(x.Year1), 0) },
		"design":         func(x *monitor.Comparison) string { return dash(x.Design) },
		"mean_1":         weight(func(x *monitor.Comparison) monitor.Num { return x.Mean1 }),
		"mean_2":         weight(func(x *monitor.Comparison) monitor.Num { return x.Mean2 }),
		"difference":     weight(func(x *monitor.Comparison) monitor.Num { return x.Difference }),
		"difference_pct": func(x *monitor.Comparison) string { return rounded(x.DifferencePct, 0) },
		"interval":       func(x *monitor.Comparison) string { return span(x.CI, unit) },
		"p":              func(x *monitor.Comparison) string { return chance(x.P) },
		"p_holm":         func(x *monitor.Comparison) string { return chance(x.PHolm) },
		"min_detectable": weight(func(x *monitor.Comparison) monitor.Num { return x.MinDetectable }),
	}
}

// moreOfChange is what JSON holds beyond the columns.
func moreOfChange(x *monitor.Comparison, unit monitor.Unit, f monitor.Family) map[string]any {
	return map[string]any{"stratum": x.Site.Stratum, "placement": x.Site.Placement, "sampling_unit": x.Site.SamplingUnit,
		"se": jsonValue(in(unit, x.SE)), "se_drying": jsonValue(in(unit, x.SEDrying)), "left_out_1": x.LeftOut1, "left_out_2": x.LeftOut2,
		"family": map[string]any{"tests": f.Tests, "alpha": f.Alpha, "expected_by_chance": f.ByChance, "below_alpha": f.Below, "below_alpha_bh": f.BH, "below_alpha_holm": f.Holm}}
}

// yearNum is a growth year that may be missing.
func yearNum(year int) monitor.Num { return monitor.Num{Float64: float64(year), Valid: year != 0} }

// chance writes a p for people.
func chance(p monitor.Num) string {
	if p.Valid && p.Float64 < 0.001 {
		return "<0.001"
	}
	return rounded(p, 3)
}

func roundedUp(n monitor.Num) monitor.Num {
	n.Float64 = math.Ceil(n.Float64)
	return n
}
