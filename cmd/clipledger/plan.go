package main

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"clipledger/monitor"
	"clipledger/schema"
)

// planFlags are the flags of plan.
type planFlags struct {
	filterFlags
	query monitor.PlanQuery
	costs string
	power bool
}

func newPlan(a *app) *cobra.Command {
	var flags planFlags
	cmd := &cobra.Command{
		Use:   "plan",
		Short: "Where next year's clipping time does most good",
		Long: `Prints, for every site, what it takes to clip as now, with more frames, with
more transects (where those are the sampling units) or only for more years, and
what each would do for two things: the level of a year (half_width_pct, against
wanted_pct of the setting precision) and a change seen soon (more_years until
change_pct a year is seen four times in five; change_detectable_pct, the
smallest change a year that is seen after after_years of record). Strata, and
the whole ledger, follow with more sites, from 5 sites on. A sentence says what
is worth it.

With --hours the time is shared among the sites: every one is visited, and each
further frame goes where it narrows the interval most for its minutes. --power
prints power curves: the chance that the change is seen, by years of record.

The variances are those of the ledger (narrow them with --year) and are taken to
hold on; minutes are yours to give, for all sites alike, or by site in a file:
site,minutes_per_frame,travel_minutes,transect_minutes. Without --component,
production is planned, or its parts where they sit on frames of their own.`,
		Example: "  clipledger plan --minutes-per-frame 12 --travel-minutes 90\n  clipledger plan --site QUILL --change 5 --power\n  clipledger plan --hours 40 --costs minutes.csv --format csv > plan.csv",
		Args:    cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			if err := flags.check(a); err != nil {
				return err
			}
			return runPlan(cmd, a, &flags)
		},
	}
	flags.add(cmd)
	f, q := cmd.Flags(), &flags.query
	f.Float64Var(&q.Costs.Frame, "minutes-per-frame", 15, "`MINUTES` to clip, bag and weigh one frame")
	f.Float64Var(&q.Costs.Travel, "travel-minutes", 60, "`MINUTES` of travel for a visit to a site")
	f.Float64Var(&q.Costs.Transect, "transect-minutes", 10, "`MINUTES` to lay out one transect, where those are the sampling units")
	f.StringVar(&flags.costs, "costs", "", "`FILE` of minutes by site, for sites that differ")
	f.Float64Var(&q.Hours, "hours", 0, "`HOURS` of work next year, to be shared among the sites")
	f.Float64Var(&q.ChangePct, "change", 3, "`PERCENT` of the mean a year: the change that should be seen")
	f.IntVar(&q.MoreFrames, "more-frames", 5, "`COUNT` of frames added at each site in the choice of more frames")
	f.IntVar(&q.MoreTransects, "more-transects", 1, "`COUNT` of transects in the choice of more transects")
	f.IntVar(&q.MoreSites, "more-sites", 3, "`COUNT` of sites in the choice of more sites")
	f.IntVar(&q.MoreYears, "more-years", 5, "`COUNT` of years ahead that are looked at")
	f.BoolVar(&flags.power, "power", false, "print power curves in place of the choices")
	return cmd
}

// check reads and validates the flags.
func (f *planFlags) check(a *app) error {
	filter, err := f.parse()
	if err != nil {
		return err
	}
	q := &f.query
	q.Filter, q.Confidence = filter, a.confidence
	for _, m := range []struct {
		flag  string
		value float64
		most  float64
	}{
		{"minutes-per-frame", q.Costs.Frame, maxMinutes}, {"travel-minutes", q.Costs.Travel, maxMinutes},
		{"transect-minutes", q.Costs.Transect, maxMinutes}, {"hours", q.Hours, 100_000},
	} {
		if !(m.value >= 0 && m.value <= m.most) {
			return usagef("--%s %g: give a number from 0 to %g", m.flag, m.value, m.most)
		}
	}
	if !(q.ChangePct > 0 && q.ChangePct <= 100) {
		return usagef("--change %g: give the percent a year that should be seen, above 0 and up to 100", q.ChangePct)
	}
	for _, n := range []struct {
		flag  string
		value int
	}{{"more-frames", q.MoreFrames}, {"more-transects", q.MoreTransects}, {"more-sites", q.MoreSites}, {"more-years", q.MoreYears}} {
		if n.value < 1 || n.value > 50 {
			return usagef("--%s %d: give a whole number from 1 to 50", n.flag, n.value)
		}
	}
	return nil
}

func runPlan(cmd *cobra.Command, a *app, flags *planFlags) error {
	q := &flags.query
	return a.read(cmd.Context(), func(s *schema.Snapshot) error {
		values, err := s.Settings()
		if err != nil {
			return err
		}
		if q.Unit, err = a.unit(values); err != nil {
			return err
		}
		if q.Confidence == 0 {
			q.Confidence = values.Must("confidence")
		}
		if flags.costs != "" {
			if q.SiteCosts, err = readCosts(a, s, flags.costs, q.Costs); err != nil {
				return err
			}
		}
		q.Curves = flags.power || a.format == "json"
		if flags.power {
			return printPower(a, s, q)
		}
		return printPlan(a, s, q, values)
	})
}

func printPlan(a *app, s *schema.Snapshot, q *monitor.PlanQuery, values schema.Values) error {
	type row = monitor.PlanRow
	unit, wanted := q.Unit, monitor.Percent(values.Must("precision"))
	c := func(name string, value func(*row) any) column[row] { return column[row]{name, value} }
	r := &results[row]{out: a.Out, format: a.format, where: wherePlanned, remarks: func(p *row) []monitor.Remark { return p.Remarks },
		columns: []column[row]{
			c("site", func(p *row) any { return p.Place }),
			c("season", func(p *row) any { return p.Season }),
			c("component", func(p *row) any { return p.Component }),
			c("unit", func(*row) any { return unit.Name }),
			c("choice", func(p *row) any { return p.Choice }),
			c("sites", func(p *row) any { return p.Sites }),
			c("transects", func(p *row) any { return p.Transects }),
			c("frames", func(p *row) any { return p.Frames }),
			c("minutes", func(p *row) any { return p.Minutes }),
			c("years", func(p *row) any { return p.Years }),
			c("mean", func(p *row) any { return in(unit, p.Mean) }),
			c("half_width_pct", func(p *row) any { return p.HalfPct }),
			c("wanted_pct", func(*row) any { return schema.Some(wanted) }),
			c("change_pct", func(*row) any { return schema.Some(q.ChangePct) }),
			c("more_years", func(p *row) any { return p.MoreYears }),
			c("after_years", func(p *row) any { return afterYears(p) }),
			c("change_detectable_pct", func(p *row) any { return p.DetectPct }),
			c("conclusion", func(p *row) any { return p.Conclusion }),
		}}
	r.shown = []string{"site", "season", "component", "choice", "sites", "transects", "frames", "minutes", "half_width_pct", "more_years", "after_years", "change_detectable_pct"}
	whole := func(of func(*row) monitor.Num) func(*row) string {
		return func(p *row) string { return rounded(of(p), 0) }
	}
	r.table = map[string]func(*row) string{
		"transects":             whole(func(p *row) monitor.Num { return p.Transects }),
		"frames":                whole(func(p *row) monitor.Num { return p.Frames }),
		"minutes":               whole(func(p *row) monitor.Num { return p.Minutes }),
		"half_width_pct":        whole(func(p *row) monitor.Num { return p.HalfPct }),
		"more_years":            whole(func(p *row) monitor.Num { return p.MoreYears }),
		"after_years":           whole(afterYears),
		"change_detectable_pct": func(p *row) string { return rounded(p.DetectPct, 1) },
	}
	r.more = func(p *row) map[string]any {
		curve := []map[string]any{}
		for _, point := range p.Curve {
			curve = append(curve, map[string]any{"years": point.Years, "power": point.Power})
		}
		return map[string]any{"power_curve": curve}
	}
	var lines []string
	err := monitor.Plan(s, *q, func(p *row) error {
		if p.Conclusion != "" {
			lines = append(lines, p.Conclusion)
		}
		return r.add(p)
	})
	if err != nil {
		return err
	}
	return r.finish(a, plainLines(append(planCaption(q, values), lines...)))
}

// planCaption says what is assumed.
func planCaption(q *monitor.PlanQuery, values schema.Values) []string {
	own := ""
	if len(q.SiteCosts) > 0 {
		own = fmt.Sprintf(", of %d with minutes of their own", len(q.SiteCosts))
	}
	return []string{
		fmt.Sprintf("Level: half-width of a year's interval at %g %% confidence (%s), wanted ±%g %%. Trend: %g %% of the mean a year, seen with power %g at α = %.2g by least squares on yearly values.",
			monitor.Percent(values.Must("adequacy-confidence")), values["sides"], monitor.Percent(values.Must("precision")), q.ChangePct, monitor.TrendPower, 1-q.Confidence),
		fmt.Sprintf("Assumed: %g minutes a frame, %g of travel a visit, %g to lay out a transect (where those are the units)%s; variances as in the years shown; every coming year clipped.",
			q.Costs.Frame, q.Costs.Travel, q.Costs.Transect, own),
		"more_years counts from the last year of the record, 0: seen by it already, -: not within 60 years. Past years keep the frames they had.", ""}
}

// afterYears is missing where nothing is known of trends.
func afterYears(p *monitor.PlanRow) monitor.Num {
	if p.AfterYears == 0 {
		return monitor.Num{}
	}
	return schema.Some(float64(p.AfterYears))
}

func wherePlanned(p *monitor.PlanRow) string {
	return strings.Join([]string{p.Place, p.Season, p.Component, p.Choice}, " ")
}

// powerRow is one point of a power curve.
type powerRow struct {
	*monitor.PlanRow
	point monitor.PowerPoint
	first bool
}

func printPower(a *app, s *schema.Snapshot, q *monitor.PlanQuery) error {
	c := func(name string, value func(*powerRow) any) column[powerRow] { return column[powerRow]{name, value} }
	r := &results[powerRow]{out: a.Out, format: a.format, where: func(p *powerRow) string { return wherePlanned(p.PlanRow) },
		remarks: func(p *powerRow) []monitor.Remark {
			if !p.first {
				return nil
			}
			return p.Remarks
		},
		columns: []column[powerRow]{
			c("site", func(p *powerRow) any { return p.Place }),
			c("season", func(p *powerRow) any { return p.Season }),
			c("component", func(p *powerRow) any { return p.Component }),
			c("choice", func(p *powerRow) any { return p.Choice }),
			c("change_pct", func(*powerRow) any { return schema.Some(q.ChangePct) }),
			c("years", func(p *powerRow) any { return p.point.Years }),
			c("power", func(p *powerRow) any { return schema.Some(p.point.Power) }),
		}}
	r.shown = []string{"site", "season", "component", "choice", "years", "power"}
	r.table = map[string]func(*powerRow) string{"power": func(p *powerRow) string { return rounded(schema.Some(p.point.Power), 2) }}
	err := monitor.Plan(s, *q, func(p *monitor.PlanRow) error {
		if len(p.Curve) == 0 && p.Choice == monitor.ChoiceNow {
			a.say("%s: no power curve: %s", wherePlanned(p), p.Conclusion)
		}
		for i, point := range p.Curve {
			if p.Choice == monitor.ChoiceYears {
				break // the same curve as now
			}
			if err := r.add(&powerRow{p, point, i == 0}); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		return err
	}
	return r.finish(a, fmt.Sprintf("power: the chance that a change of %g %% of the mean a year is seen with so many years of record, at α = %.2g, two-sided, noncentral t with years - 2 degrees of freedom.", q.ChangePct, 1-q.Confidence))
}
