package main

import (
	"fmt"

	"github.com/spf13/cobra"

	"clipledger/monitor"
	"clipledger/schema"
)

func newUtilization(a *app) *cobra.Command {
	var flags filterFlags
	cmd := &cobra.Command{
		Use:   "utilization",
		Short: "How much was taken: open frames beside caged ones",
		Long: `Prints, for every occasion with caged and open frames, the share of the growth
that was taken: 1 - open/caged, with Fieller's interval for the ratio of two
means. Frames are compared in pairs where the labels of caged and open frames
match. Where the caged mean is not significantly above zero there is no figure.
Growth eaten before the cages went up is not seen.

` + monitor.Caution,
		Example: "  clipledger utilization --site BUTTON --year 2020..\n  clipledger utilization --component herbaceous --format csv",
		Args:    cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			filter, err := flags.parse()
			if err != nil {
				return err
			}
			return runUtilization(cmd, a, monitor.Query{Filter: filter, Confidence: a.confidence})
		},
	}
	flags.add(cmd)
	return cmd
}

func runUtilization(cmd *cobra.Command, a *app, q monitor.Query) error {
	return a.read(cmd.Context(), func(s *schema.Snapshot) error {
		values, err := s.Settings()
		if err != nil {
			return err
		}
		unit, err := a.unit(values)
		if err != nil {
			return err
		}
		q.Unit = unit
		if q.Confidence == 0 {
			q.Confidence = values.Must("confidence")
		}
		r := utilizationResults(a, unit)
		if err := monitor.Utilizations(s, q, r.add); err != nil {
			return err
		}
		return r.finish(a, fmt.Sprintf("%s, %s, intervals at %g %% confidence; utilization is the percent of the growth that was taken.", unit.Name, values["basis"], monitor.Percent(q.Confidence)))
	})
}

// utilizationResults is the output of utilization.
func utilizationResults(a *app, unit monitor.Unit) *results[monitor.Utilization] {
	type row = monitor.Utilization
	percent := func(n monitor.Num) monitor.Num {
		n.Float64 *= 100
		return n
	}
	return &results[row]{
		out: a.Out, format: a.format, needs: "caged and open frames of one site, year and season (column caged of clippings)", remarks: func(u *row) []monitor.Remark { return u.Remarks }, caution: func(*row) string { return monitor.Caution },
		where: func(u *row) string { return fmt.Sprintf("%s %d %s %s", u.Site.Site, u.Year, u.Season, u.Component) },
		columns: []column[row]{
			{"site", func(u *row) any { return u.Site.Site }},
			{"year", func(u *row) any { return u.Year }},
			{"season", func(u *row) any { return u.Season }},
			{"component", func(u *row) any { return u.Component }},
			{"unit", func(*row) any { return unit.Name }},
			{"design", func(u *row) any { return designOfCages(u) }},
			{"n_caged", func(u *row) any { return u.NCaged }},
			{"n_open", func(u *row) any { return u.NOpen }},
			{"mean_caged", func(u *row) any { return in(unit, u.Caged) }},
			{"mean_open", func(u *row) any { return in(unit, u.Open) }},
			{"utilization_pct", func(u *row) any { return percent(u.Utilization) }},
			{"ci_low", func(u *row) any { return percent(u.CI.Low) }},
			{"ci_high", func(u *row) any { return percent(u.CI.High) }},
			{"df", func(u *row) any { return u.DF }},
			{"confidence", func(u *row) any { return schema.Some(u.Confidence) }},
			{"caged_since", func(u *row) any { return sinceText(u) }},
		},
		shown: []string{"site", "year", "season", "component", "n_caged", "n_open", "mean_caged", "mean_open", "utilization_pct", "interval"},
		table: map[string]func(*row) string{
			"mean_caged":      func(u *row) string { return rounded(in(unit, u.Caged), unit.Decimal) },
			"mean_open":       func(u *row) string { return rounded(in(unit, u.Open), unit.Decimal) },
			"utilization_pct": func(u *row) string { return rounded(percent(u.Utilization), 0) },
			"interval": func(u *row) string {
				if !u.CI.Low.Valid {
					return "-"
				}
				return rounded(percent(u.CI.Low), 0) + " to " + rounded(percent(u.CI.High), 0)
			},
		},
	}
}

func designOfCages(u *monitor.Utilization) string {
	if u.Paired {
		return "paired"
	}
	return "independent"
}

// sinceText is when the cages went up: one date, or the first and last as an
// ISO 8601 interval.
func sinceText(u *monitor.Utilization) string {
	if u.Since[0] == u.Since[1] {
		return u.Since[0]
	}
	return u.Since[0] + "/" + u.Since[1]
}
