package export

import (
	"fmt"

	"clipledger/monitor"
	"clipledger/schema"
)

// trendColumns are the columns of the table trends.
func trendColumns() []Column {
	slope := func(name, meaning string) Column {
		return Column{Name: name, Type: Number, Unit: "g/m2/year", Meaning: meaning}
	}
	return []Column{colSite, colSeason, meanComponent,
		{Name: "method", Meaning: "ols: least squares on the yearly series; theil-sen: Theil-Sen slope with Mann-Kendall's test; ols-rain: least squares with the rain held; mixed: frames and years random",
			Words: []string{monitor.MethodOLS, monitor.MethodTheilSen, monitor.MethodOLSRain, monitor.MethodMixed}},
		{Name: "years", Type: Whole, Unit: "1", Meaning: "years with values"},
		{Name: "first_year", Type: Whole, Meaning: "first of them"},
		{Name: "last_year", Type: Whole, Meaning: "last of them"},
		slope("slope_g_m2_year", "slope"), slope("slope_low_g_m2_year", "lower end of its interval"), slope("slope_high_g_m2_year", "upper end of its interval"),
		{Name: "slope_pct_year", Type: Number, Unit: "%/year", Meaning: "slope in percent of the mean of the years used"},
		{Name: "statistic", Type: Number, Unit: "1", Meaning: "t, or S of Mann-Kendall"},
		{Name: "df", Type: Number, Unit: "1", Meaning: "degrees of freedom"},
		{Name: "p", Type: Number, Unit: "1", Meaning: "two-sided p"},
		{Name: "confidence", Type: Number, Unit: "1", Meaning: "confidence of the intervals; a verdict is at 1 minus it"},
		{Name: "verdict", Meaning: "what the method finds",
			Words: []string{string(monitor.Increasing), string(monitor.Decreasing), string(monitor.NoTrend), string(monitor.TooFewYears)}},
		slope("min_detectable_g_m2_year", "smallest slope, up or down, that would have been found with a power of 0.80"),
		{Name: "remarks", Meaning: "what the trend rests on, joined by |"},
	}
}

// trends reads all trends, in g/m² a year; remarks name weights in the unit.
func (src *source) trends(unit monitor.Unit, fn func(*monitor.Series, *monitor.Trend) error) error {
	return monitor.Trends(src.snap, monitor.Query{Unit: unit, Confidence: src.options.Confidence}, func(s *monitor.Series) error {
		for i := range s.Trends {
			if err := fn(s, &s.Trends[i]); err != nil {
				return err
			}
		}
		return nil
	})
}

func trendRows(src *source, _ part, emit func([]Cell) error) error {
	return meanTables(src, nowhere, emit)
}

// trendRow is one row of the table trends.
func (src *source) trendRow(s *monitor.Series, t *monitor.Trend) []Cell {
	first, last := ends(t.YearsUsed)
	return []Cell{text(s.Site.Site), text(s.Season), text(s.Component), text(t.Method), whole(int64(len(t.YearsUsed))), first, last,
		number(t.Slope), number(t.CI.Low), number(t.CI.High), number(t.SlopePct), number(t.Statistic), number(t.DF), number(t.P),
		{Number: s.Confidence, Has: true}, text(string(t.Verdict)), number(t.MinDetectable), text(src.remarkWords(append(append([]monitor.Remark{}, s.Remarks...), t.Remarks...)))}
}

// ends are the first and the last of some years.
func ends(years []int) (first, last Cell) {
	if len(years) == 0 {
		return Cell{}, Cell{}
	}
	return whole(int64(years[0])), whole(int64(years[len(years)-1]))
}

// trends writes the sheet of trends: of every series what least squares finds,
// whose verdict counts, and what the other methods find below it.
func (b *book) trends() error {
	u := b.unit()
	s, err := b.sheet("Trends", fmt.Sprintf("Slopes in %s a year, %s; the verdict of a series is that of the method ols. No trend detected does not mean no trend: see the smallest slope that would have been found.",
		u.Name, b.src.values["basis"]), []sheetColumn{
		{"site", 12, asText}, {"season", 10, asText}, {"component", 14, asText}, {"method", 11, asText}, {"verdict", 20, asText}, {"years", 8, asWhole},
		{"first year", 8, asWhole}, {"last year", 8, asWhole}, {"slope a year", 11, asNumber3}, {"interval from", 11, asNumber3}, {"interval to", 11, asNumber3},
		{"slope, % of the mean", 11, asNumber3}, {"p", 9, asNumber3}, {"smallest slope found", 11, asNumber3}, {"remarks", 80, asText}})
	if err != nil {
		return err
	}
	slope := func(n schema.Num) Cell { return density(u, n) }
	err = b.src.trends(u, func(series *monitor.Series, t *monitor.Trend) error {
		first, last := ends(t.YearsUsed)
		return s.add([]Cell{text(series.Site.Site), text(series.Season), text(series.Component), text(t.Method), text(string(t.Verdict)), whole(int64(len(t.YearsUsed))),
			first, last, slope(t.Slope), slope(t.CI.Low), slope(t.CI.High), number(t.SlopePct), number(t.P), slope(t.MinDetectable),
			text(b.src.remarkWords(append(append([]monitor.Remark{}, series.Remarks...), t.Remarks...)))})
	})
	if err != nil {
		return err
	}
	return s.end()
}
