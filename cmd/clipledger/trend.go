package main

import (
	"fmt"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"clipledger/monitor"
	"clipledger/schema"
)

func newTrend(a *app) *cobra.Command {
	var flags filterFlags
	var rain bool
	var across acrossFlags
	cmd := &cobra.Command{
		Use:   "trend",
		Short: "Is production changing over the years, or was it the rain",
		Long: `Prints, for every site, season and component, the slope over the growth years
and whether it is a trend. One value a year counts: the occasion's mean or, at
sites whose frames stay in place (placement same) with frames missing in some
years, the frame-adjusted mean. Years without a value are real gaps.

Methods: ols is the verdict (least squares, t; 5 years with values). theil-sen
is the slope of most pairs with the test of Mann and Kendall (statistic S).
ols-rain holds the rain of the site's months beside the year (6 years with
values and rain). mixed is a model of frames and years, for frames that stay in
place. min_detectable is the slope, up or down, that would have been found four
times in five. slope and slope_pct are a year, slope_pct in percent of the mean
of the years used.

Below the table stand a sentence for each series and what must be known beside
it. JSON holds the years with their rain, the sentence, what rain makes of the
slope and the events in the row of ols. With --rain the years are printed: rain,
rain and production in percent of their long-term means, and rain-use efficiency
(kg/ha of dry matter for each mm).

` + acrossHelp,
		Example: "  clipledger trend --site QUILL\n  clipledger trend --component production --year 2015.. --format csv > trend.csv\n  clipledger trend --site THIMBLE --component herbaceous --rain\n" + acrossExample,
		Args:    cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			filter, err := flags.parse()
			if err != nil {
				return err
			}
			if across.wanted() {
				return across.run(cmd, a, monitor.Query{Filter: filter, Confidence: a.confidence}, rain)
			}
			return runTrend(cmd, a, monitor.Query{Filter: filter, Confidence: a.confidence}, rain)
		},
	}
	flags.add(cmd)
	across.add(cmd)
	cmd.Flags().BoolVar(&rain, "rain", false, "print the years with their rain in place of the trends")
	return cmd
}

// trendRow is a method's answer with the series it is about.
type trendRow struct {
	*monitor.Series
	*monitor.Trend
}

// remarks of the series stand beside the verdict, those of a method beside it.
func (r *trendRow) remarks() []monitor.Remark {
	if r.Method == monitor.MethodOLS {
		return slices.Concat(r.Trend.Remarks, r.Series.Remarks)
	}
	return r.Trend.Remarks
}

func runTrend(cmd *cobra.Command, a *app, q monitor.Query, rain bool) error {
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
		if rain {
			return printRain(a, s, q, values)
		}
		return printTrends(a, s, q, values)
	})
}

func printTrends(a *app, s *schema.Snapshot, q monitor.Query, values schema.Values) error {
	r := &results[trendRow]{out: a.Out, format: a.format, remarks: (*trendRow).remarks, columns: trendColumns(q.Unit),
		where: func(t *trendRow) string { return fmt.Sprintf("%s %s %s", t.Site.Site, t.Season, t.Component) }}
	trendTable(r, q.Unit)
	var sentences, places []string
	site := ""
	err := monitor.Trends(s, q, func(series *monitor.Series) error {
		sentences = append(sentences, fmt.Sprintf("%s %s: %s", series.Site.Site, series.Season, series.Sentence))
		if site != series.Site.Site {
			site = series.Site.Site
			for _, p := range series.Transects {
				places = append(places, transectLine(p))
			}
		}
		for i := range series.Trends {
			if err := r.add(&trendRow{series, &series.Trends[i]}); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		return err
	}
	caption := fmt.Sprintf("Slopes in %s a year, %s; intervals at %g %% confidence, verdicts at α = %.2g; ols is the verdict; min_detectable with power %g.\n"+
		"theil-sen: p of Mann-Kendall, exact with ties to 10 years, else normal with continuity correction; interval by interpolated ranks.",
		q.Unit.Name, values["basis"], monitor.Percent(q.Confidence), 1-q.Confidence, monitor.TrendPower)
	return r.finish(a, plainLines(slices.Concat(strings.Split(caption+"\n", "\n"), sentences, places)))
}

// plainLines joins lines that hold typed text.
func plainLines(lines []string) string {
	for i := range lines {
		lines[i] = plain(lines[i])
	}
	return strings.Join(lines, "\n")
}

func trendColumns(unit monitor.Unit) []column[trendRow] {
	c := func(name string, value func(*trendRow) any) column[trendRow] { return column[trendRow]{name, value} }
	density := func(name string, of func(*trendRow) monitor.Num) column[trendRow] {
		return c(name, func(t *trendRow) any { return in(unit, of(t)) })
	}
	return []column[trendRow]{
		c("site", func(t *trendRow) any { return t.Site.Site }),
		c("season", func(t *trendRow) any { return t.Season }),
		c("component", func(t *trendRow) any { return t.Component }),
		c("unit", func(*trendRow) any { return unit.Name }),
		c("method", func(t *trendRow) any { return t.Method }),
		c("years", func(t *trendRow) any { return len(t.YearsUsed) }),
		c("first_year", func(t *trendRow) any { return yearAt(t.YearsUsed, 0) }),
		c("last_year", func(t *trendRow) any { return yearAt(t.YearsUsed, len(t.YearsUsed)-1) }),
		density("slope", func(t *trendRow) monitor.Num { return t.Slope }),
		density("slope_low", func(t *trendRow) monitor.Num { return t.CI.Low }),
		density("slope_high", func(t *trendRow) monitor.Num { return t.CI.High }),
		c("slope_pct", func(t *trendRow) any { return t.SlopePct }),
		c("statistic", func(t *trendRow) any { return t.Statistic }),
		c("df", func(t *trendRow) any { return t.DF }),
		c("p", func(t *trendRow) any { return t.P }),
		c("verdict", func(t *trendRow) any { return string(t.Verdict) }),
		density("min_detectable", func(t *trendRow) monitor.Num { return t.MinDetectable }),
	}
}

// yearAt is a year of a list as a number that may be missing.
func yearAt(years []int, i int) monitor.Num {
	if i < 0 || i >= len(years) {
		return monitor.Num{}
	}
	return schema.Some(float64(years[i]))
}

func trendTable(r *results[trendRow], unit monitor.Unit) {
	decimals := unit.Decimal + 1
	r.shown = []string{"site", "season", "component", "method", "years", "slope", "interval", "slope_pct", "per_decade", "p", "verdict", "min_detectable"}
	r.table = map[string]func(*trendRow) string{
		"years":          func(t *trendRow) string { return yearsShown(t.YearsUsed) },
		"slope":          func(t *trendRow) string { return rounded(in(unit, t.Slope), decimals) },
		"interval":       func(t *trendRow) string { return spanTo(t.CI, unit, decimals) },
		"slope_pct":      func(t *trendRow) string { return rounded(t.SlopePct, 1) },
		"per_decade":     func(t *trendRow) string { return rounded(in(unit, t.PerDecade()), unit.Decimal) },
		"p":              func(t *trendRow) string { return pShown(t.P) },
		"verdict":        func(t *trendRow) string { return dash(string(t.Verdict)) },
		"min_detectable": func(t *trendRow) string { return rounded(in(unit, t.MinDetectable), decimals) },
	}
	r.more = func(t *trendRow) map[string]any { return moreOfTrend(t, unit) }
}

func pShown(p monitor.Num) string {
	if p.Valid && p.Float64 < 0.0005 {
		return "<0.001"
	}
	return rounded(p, 3)
}

// yearsShown writes how many years, and from when to when.
func yearsShown(years []int) string {
	switch len(years) {
	case 0:
		return "0"
	case 1:
		return fmt.Sprintf("1 (%d)", years[0])
	}
	return fmt.Sprintf("%d (%d–%d)", len(years), years[0], years[len(years)-1])
}

func spanTo(i monitor.Interval, unit monitor.Unit, decimals int) string {
	if !i.Low.Valid {
		return "-"
	}
	return rounded(in(unit, i.Low), decimals) + " to " + rounded(in(unit, i.High), decimals)
}
