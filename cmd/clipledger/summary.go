package main

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"clipledger/monitor"
	"clipledger/schema"
)

func newSummary(a *app) *cobra.Command {
	var flags filterFlags
	cmd := &cobra.Command{
		Use:   "summary",
		Short: "Where every stratum stands in a year",
		Long: `Prints, for every stratum and for all of them, the mean over its sites with its
interval, the change from last year (sites visited in both), the long-term mean
of the same sites and the percent of it, the rain in percent of its mean, how
many sites had enough frames, how many were not visited, and the classes.
Strata count by the areas of their sites where all areas are declared. Without
--year it is the last growth year.`,
		Example: "  clipledger summary\n  clipledger summary --year 2022..2024 --component production --format csv",
		Args:    cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			filter, err := flags.parse()
			if err != nil {
				return err
			}
			return runSummary(cmd, a, monitor.Query{Filter: filter, Confidence: a.confidence})
		},
	}
	flags.add(cmd)
	return cmd
}

func runSummary(cmd *cobra.Command, a *app, q monitor.Query) error {
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
		r := summaryResults(a, unit)
		if err := monitor.Summaries(s, q, r.add); err != nil {
			return err
		}
		confidence := q.Confidence
		if confidence == 0 {
			confidence = values.Must("confidence")
		}
		return r.finish(a, fmt.Sprintf("%s, %s, intervals at %g %% confidence from the spread between sites; n counts sampling units.", unit.Name, values["basis"], monitor.Percent(confidence)))
	})
}

// stratumName is how a row is called: sites without a stratum have none.
func stratumName(s *monitor.Summary) string {
	if s.All {
		return "all strata"
	}
	return s.Stratum
}

func summaryResults(a *app, unit monitor.Unit) *results[monitor.Summary] {
	type row = monitor.Summary
	whole := func(n monitor.Num) string { return rounded(n, 0) }
	return &results[row]{
		out: a.Out, format: a.format, remarks: func(s *row) []monitor.Remark { return s.Remarks },
		where: func(s *row) string { return fmt.Sprintf("%s %d %s %s", stratumName(s), s.Year, s.Season, s.Component) },
		caution: func(s *row) string {
			if len(s.Classes) == 0 {
				return ""
			}
			return monitor.Caution
		},
		columns: []column[row]{
			{"stratum", func(s *row) any { return stratumName(s) }},
			{"year", func(s *row) any { return s.Year }},
			{"season", func(s *row) any { return s.Season }},
			{"component", func(s *row) any { return s.Component }},
			{"unit", func(*row) any { return unit.Name }},
			{"sites", func(s *row) any { return len(s.Sites) }},
			{"n", func(s *row) any { return s.N }},
			{"mean", func(s *row) any { return in(unit, s.Mean) }},
			{"ci_low", func(s *row) any { return in(unit, s.CI.Low) }},
			{"ci_high", func(s *row) any { return in(unit, s.CI.High) }},
			{"change_pct", func(s *row) any { return s.ChangePct }},
			{"long_term_mean", func(s *row) any { return in(unit, s.LongTerm) }},
			{"pct_of_mean", func(s *row) any { return s.PctOfMean }},
			{"rain_pct", func(s *row) any { return s.RainPct }},
			{"adequate_sites", func(s *row) any { return s.Adequate }},
			{"not_visited", func(s *row) any { return len(s.NotVisited) }},
			{"classes", func(s *row) any { return classesText(s) }},
		},
		more:  func(s *row) map[string]any { return moreOfSummary(s, unit) },
		shown: []string{"stratum", "year", "season", "component", "sites", "mean", "interval", "change_pct", "pct_of_mean", "rain_pct", "adequate", "not_visited", "classes"},
		table: map[string]func(*row) string{
			"stratum":     func(s *row) string { return dash(plain(stratumName(s))) },
			"mean":        func(s *row) string { return rounded(in(unit, s.Mean), unit.Decimal) },
			"interval":    func(s *row) string { return span(s.CI, unit) },
			"change_pct":  func(s *row) string { return whole(s.ChangePct) },
			"pct_of_mean": func(s *row) string { return whole(s.PctOfMean) },
			"rain_pct":    func(s *row) string { return whole(s.RainPct) },
			"adequate":    func(s *row) string { return fmt.Sprintf("%d of %d", s.Adequate, s.Judged) },
			"classes":     func(s *row) string { return dash(plain(classesText(s))) },
		},
	}
}

// classesText counts the sites of every class.
func classesText(s *monitor.Summary) string {
	var words []string
	for _, c := range s.Classes {
		words = append(words, fmt.Sprintf("%d %s", c.Sites, c.Label))
	}
	return strings.Join(words, "; ")
}

// moreOfSummary is what JSON holds beyond the columns: every site of the row.
func moreOfSummary(s *monitor.Summary, unit monitor.Unit) map[string]any {
	sites := []map[string]any{}
	for i := range s.Sites {
		x := &s.Sites[i]
		sites = append(sites, map[string]any{"site": x.Site.Site, "season": x.Season, "n": x.N, "mean": jsonValue(in(unit, x.Mean)),
			"ci_low": jsonValue(in(unit, x.CI.Low)), "ci_high": jsonValue(in(unit, x.CI.High)), "class": x.Class, "adequate": jsonValue(x.Adequate),
			"change_pct": jsonValue(x.ChangePct), "long_term_mean": jsonValue(in(unit, x.LongTerm)), "earlier_years": x.Earlier,
			"pct_of_mean": jsonValue(x.PctOfMean), "rain_pct": jsonValue(x.RainPct)})
	}
	names := s.NotVisited
	if names == nil {
		names = []string{}
	}
	return map[string]any{"all": s.All, "weighted_by_area": s.Weighted, "df": jsonValue(s.DF), "confidence": s.Confidence,
		"change_of_sites": s.ChangeOf, "adequate_of": s.Judged, "sites_not_visited": names, "each_site": sites}
}
