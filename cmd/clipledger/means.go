package main

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"clipledger/monitor"
	"clipledger/schema"
)

// filterFlags are the flags that narrow what is read.
type filterFlags struct {
	filter monitor.Filter
	years  string
}

func (f *filterFlags) add(cmd *cobra.Command) {
	flags := cmd.Flags()
	flags.StringArrayVar(&f.filter.Sites, "site", nil, "only the site `CODE`; repeatable, * and ? stand for any letters and one")
	flags.StringArrayVar(&f.filter.Strata, "stratum", nil, "only the `STRATUM`; repeatable, * and ? as above")
	flags.StringVar(&f.years, "year", "", "only growth `YEARS`: 2015, 2011..2020, 2011.. or ..2020")
	flags.StringArrayVar(&f.filter.Seasons, "season", nil, "only the `SEASON`; repeatable")
	flags.StringArrayVar(&f.filter.Components, "component", nil, "only the `COMPONENT`; repeatable (production is one)")
}

func (f *filterFlags) parse() (monitor.Filter, error) {
	var err error
	f.filter.FirstYear, f.filter.LastYear, err = monitor.ParseYears(f.years)
	if err == nil {
		err = f.filter.Check()
	}
	if err != nil {
		return f.filter, usageError{err}
	}
	return f.filter, nil
}

func newMeans(a *app) *cobra.Command {
	var flags filterFlags
	var by string
	var fullSeason bool
	cmd := &cobra.Command{
		Use:   "means",
		Short: "Mean production per site, year and component, with intervals",
		Long: `Prints, for every site, growth year, season and component, the mean dry
weight per area over the sampling units, its standard error and intervals, how
many units the wanted precision takes and whether there were enough. Frames in
which a component was looked for and not found count as zero; lost bags leave
their frame out.

A site that names a class scheme has the class of its mean beside it, and a
remark where the mean is near a bound. --full-season adds what the whole season
would have grown, by the site's growth curve and the percentage ungrazed: an
estimate beside the mean, never in it.`,
		Example: "  clipledger means --year 2020.. --component production\n  clipledger means --site QUILL --full-season\n  clipledger means --site 'B*' --format csv > means.csv\n  clipledger means --by treatment",
		Args:    cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			filter, err := flags.parse()
			if err != nil {
				return err
			}
			if fullSeason && by != "" {
				return usagef("--full-season scales up a site's means; leave out --by")
			}
			return runMeans(cmd, a, monitor.Query{Filter: filter, Confidence: a.confidence, By: by, Classes: true, FullSeason: fullSeason}, meansView)
		},
	}
	flags.add(cmd)
	cmd.Flags().BoolVar(&fullSeason, "full-season", false, "add the full-season production")
	cmd.Flags().StringVar(&by, "by", "", "split by `WHAT`: "+strings.Join(monitor.ByWords, ", "))
	return cmd
}

// view shapes the rows of a command from the unit and the rules in force.
type view func(*results[monitor.Mean], monitor.Unit, monitor.Rules, monitor.Query)

func runMeans(cmd *cobra.Command, a *app, q monitor.Query, shape view) error {
	if q.By != "" && !strings.Contains(" "+strings.Join(monitor.ByWords, " ")+" ", " "+q.By+" ") {
		return usagef("means cannot be split by %q; use %s", q.By, strings.Join(monitor.ByWords, ", "))
	}
	return a.read(cmd.Context(), func(s *schema.Snapshot) error {
		values, err := s.Settings()
		if err != nil {
			return err
		}
		unit, err := a.unit(values)
		if err != nil {
			return err
		}
		rules := monitor.RulesOf(values)
		r := &results[monitor.Mean]{out: a.Out, format: a.format, remarks: func(m *monitor.Mean) []monitor.Remark { return m.Remarks },
			where: func(m *monitor.Mean) string {
				return fmt.Sprintf("%s %d %s %s", m.Site.Site, m.Year, m.Season, m.Component)
			}}
		r.caution = func(m *monitor.Mean) string {
			if m.Class == nil {
				return ""
			}
			return monitor.Caution
		}
		q.Unit = unit
		shape(r, unit, rules, q)
		schemes, err := s.ClassSchemes()
		if err != nil {
			return err
		}
		if len(schemes) == 0 { // a table needs no column that must be blank
			r.shown = slices.DeleteFunc(r.shown, func(name string) bool { return name == "class" })
		}
		if err := monitor.Means(s, q, r.add); err != nil {
			return err
		}
		return r.finish(a, captionOf(q, unit, rules, values))
	})
}

// captionOf says below a table what its numbers rest on. The precision that is
// wanted has a confidence of its own.
func captionOf(q monitor.Query, unit monitor.Unit, rules monitor.Rules, values schema.Values) string {
	wanted := fmt.Sprintf("±%g %% of the mean at %g %% confidence, %s", monitor.Percent(rules.Precision.Relative), monitor.Percent(rules.Precision.Confidence), values["sides"])
	confidence := q.Confidence
	if confidence == 0 {
		confidence = values.Must("confidence")
	}
	if q.Assured {
		return fmt.Sprintf("%s, %s; n counts sampling units. Enough means %s: half_width_pct is at that confidence, n_assured reaches it with %g %% assurance. "+
			"change_detectable_pct is the change from the year before that this sample sees with power %.2f at alpha %.3g.",
			unit.Name, rules.Basis, wanted, monitor.Percent(rules.Assurance), monitor.ChangePower, 1-confidence)
	}
	return fmt.Sprintf("%s, %s, intervals at %g %% confidence; n counts sampling units. Enough means %s.", unit.Name, rules.Basis, monitor.Percent(confidence), wanted)
}

// density is a column of weight per area in the unit of display.
func density(name string, unit monitor.Unit, of func(*monitor.Mean) monitor.Num) column[monitor.Mean] {
	return column[monitor.Mean]{name, func(m *monitor.Mean) any { return in(unit, of(m)) }}
}

func in(unit monitor.Unit, n monitor.Num) monitor.Num {
	if n.Valid {
		n.Float64 = unit.Of(n.Float64)
	}
	return n
}

func col(name string, value func(*monitor.Mean) any) column[monitor.Mean] {
	return column[monitor.Mean]{name, value}
}

// keyColumns name the row.
func keyColumns(unit monitor.Unit, q monitor.Query) []column[monitor.Mean] {
	out := []column[monitor.Mean]{
		col("site", func(m *monitor.Mean) any { return m.Site.Site }),
		col("year", func(m *monitor.Mean) any { return m.Year }),
		col("season", func(m *monitor.Mean) any { return m.Season }),
		col("component", func(m *monitor.Mean) any { return m.Component }),
	}
	if q.By != "" {
		out = append(out, col(q.By, func(m *monitor.Mean) any { return m.Group }))
	}
	return append(out, col("unit", func(*monitor.Mean) any { return unit.Name }))
}

// meansView is the output of means.
func meansView(r *results[monitor.Mean], unit monitor.Unit, rules monitor.Rules, q monitor.Query) {
	r.columns = append(keyColumns(unit, q),
		col("basis", func(*monitor.Mean) any { return rules.Basis }),
		col("n", func(m *monitor.Mean) any { return m.N }),
		density("mean", unit, func(m *monitor.Mean) monitor.Num { return m.Mean }),
		density("sd", unit, func(m *monitor.Mean) monitor.Num { return m.SD }),
		density("se", unit, func(m *monitor.Mean) monitor.Num { return m.SE }),
		density("se_drying", unit, func(m *monitor.Mean) monitor.Num { return m.SEDrying }),
		col("df", func(m *monitor.Mean) any { return m.DF }),
		col("cv_pct", func(m *monitor.Mean) any { return m.CVPct }),
		col("confidence", func(m *monitor.Mean) any { return schema.Some(m.Confidence) }),
		density("ci_low", unit, func(m *monitor.Mean) monitor.Num { return m.CI.Low }),
		density("ci_high", unit, func(m *monitor.Mean) monitor.Num { return m.CI.High }),
		density("hall_low", unit, func(m *monitor.Mean) monitor.Num { return m.Hall.Low }),
		density("hall_high", unit, func(m *monitor.Mean) monitor.Num { return m.Hall.High }),
		col("zeros_inferred", func(m *monitor.Mean) any { return m.ZerosInfer }),
		col("missing", func(m *monitor.Mean) any { return m.Missing }),
		col("book_value_pct", func(m *monitor.Mean) any { return m.BookPct }),
		col("n_required", func(m *monitor.Mean) any { return m.NRequired }),
		col("adequate", func(m *monitor.Mean) any { return m.Adequate }),
		col("class", func(m *monitor.Mean) any {
			if classLabel(m) == "" {
				return monitor.Num{}
			}
			return classLabel(m)
		}),
	)
	if q.FullSeason {
		r.columns = append(r.columns,
			density("full_season", unit, func(m *monitor.Mean) monitor.Num { return fullSeasonOf(m).Mean }),
			col("growth_completed_pct", func(m *monitor.Mean) any { return fullSeasonOf(m).GrowthPct }),
			col("ungrazed_pct", func(m *monitor.Mean) any { return fullSeasonOf(m).UngrazedPct }))
	}
	r.more = func(m *monitor.Mean) map[string]any { return moreOf(m, unit) }
	r.shown = []string{"site", "year", "season", "component", "n", "mean", "interval", "cv_pct", "n_required", "adequate"}
	if q.Classes {
		r.shown = append(r.shown, "class")
	}
	if q.FullSeason {
		r.shown = append(r.shown, "full_season", "growth_completed_pct")
	}
	if q.By != "" {
		r.shown = append(r.shown[:4:4], append([]string{q.By}, r.shown[4:]...)...)
	}
	r.table = map[string]func(*monitor.Mean) string{
		"mean":       func(m *monitor.Mean) string { return rounded(in(unit, m.Mean), unit.Decimal) },
		"interval":   func(m *monitor.Mean) string { return span(m.CI, unit) },
		"cv_pct":     func(m *monitor.Mean) string { return rounded(m.CVPct, 0) },
		"n_required": func(m *monitor.Mean) string { return rounded(m.NRequired, decimalsOf(rules)) },
		"adequate":   func(m *monitor.Mean) string { return dash(m.Adequate.String()) },
		"class":      func(m *monitor.Mean) string { return dash(plain(classLabel(m))) },
		"full_season": func(m *monitor.Mean) string {
			return rounded(in(unit, fullSeasonOf(m).Mean), unit.Decimal)
		},
		"growth_completed_pct": func(m *monitor.Mean) string { return rounded(fullSeasonOf(m).GrowthPct, 0) },
	}
}

// classLabel is the class of a mean, blank where it has none.
func classLabel(m *monitor.Mean) string {
	if m.Class == nil {
		return ""
	}
	return m.Class.Label
}

// fullSeasonOf is the full-season production, all missing where it was not
// worked out.
func fullSeasonOf(m *monitor.Mean) monitor.FullSeason {
	if m.FullSeason == nil {
		return monitor.FullSeason{}
	}
	return *m.FullSeason
}

func decimalsOf(rules monitor.Rules) int {
	if rules.Pilot {
		return 1
	}
	return 0
}

// moreOf is what JSON holds beyond the columns.
func moreOf(m *monitor.Mean, unit monitor.Unit) map[string]any {
	out := map[string]any{"stratum": m.Site.Stratum, "sampling_unit": m.Site.SamplingUnit, "zeros": m.ZerosAll}
	if m.BookLow.Valid {
		out["book_values_5_points"] = map[string]any{"low": jsonValue(in(unit, m.BookLow)), "high": jsonValue(in(unit, m.BookHigh))}
	}
	if k := m.Class; k != nil {
		out["class_scheme"] = k.Scheme
		confidence := map[string]float64{}
		for _, share := range k.Others {
			confidence[share.Label] += share.Confidence
		}
		out["class_confidence"] = confidence
	}
	if d := m.Double; d != nil {
		out["double_sample"] = map[string]any{"observer": d.Observer, "estimator": d.Estimator, "n_estimated": d.Estimated, "n_clipped": d.Clipped,
			"clipped_mean": jsonValue(in(unit, d.ClippedMean))}
	}
	if t := m.Transects; t != nil {
		square := unit.PerGM2 * unit.PerGM2
		out["transects"] = map[string]any{"variance_between": t.Between * square, "variance_within": t.Within * square,
			"between_was_negative": t.BetweenClipped, "frames_per_transect": t.FramesPerTransect,
			"best_frames_per_transect": jsonValue(t.BestFrames), "cost_of_a_transect_in_frames": t.CostRatio}
	}
	return out
}

func rounded(n monitor.Num, decimals int) string {
	if !n.Valid {
		return "-"
	}
	text := strconv.FormatFloat(n.Float64, 'f', decimals, 64)
	if strings.Trim(text, "-0.") == "" {
		return strings.TrimPrefix(text, "-") // nothing is written as -0
	}
	return text
}

func dash(s string) string {
	if s == "" {
		return "-"
	}
	return s
}

func span(i monitor.Interval, unit monitor.Unit) string {
	if !i.Low.Valid {
		return "-"
	}
	return rounded(in(unit, i.Low), unit.Decimal) + " to " + rounded(in(unit, i.High), unit.Decimal)
}
