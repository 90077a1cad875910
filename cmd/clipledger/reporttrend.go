package main

import (
	"time"

	"clipledger/charts"
	"clipledger/monitor"
	"clipledger/schema"
)

// What the years of a site say together, for its page.

// addTrend puts a series of years on the page of its site.
func (b *siteBuilder) addTrend(s *monitor.Series) error {
	site, series := b.find(s.Site.Site, s.Component, s.Season)
	if site == nil {
		return nil
	}
	// The series of the most years tells most.
	if r := rainOf(s); r != nil && (site.Rain == nil || len(r.Years) > len(site.Rain.Years)) {
		site.Rain = r
	}
	if e := eventsOf(s); len(e) > len(site.Events) {
		site.Events = e
	}
	if series != nil {
		series.Trend = trendOf(s, b.unit)
	}
	return nil
}

// find is the page of a site, and one of its series; nil where there is none.
func (b *siteBuilder) find(code, component, season string) (*charts.Site, *charts.Series) {
	k, ok := b.place[code]
	if !ok {
		return nil, nil
	}
	site := &b.sites[k]
	for i := range site.Series {
		if x := &site.Series[i]; x.Component == component && x.Season == season {
			return site, x
		}
	}
	return site, nil
}

func trendOf(s *monitor.Series, unit monitor.Unit) *charts.Trend {
	t := &charts.Trend{Sentence: s.Sentence, Remarks: remarksOf(s.Remarks)}
	for i := range s.Trends {
		t.Methods = append(t.Methods, methodOf(&s.Trends[i], unit))
	}
	for i := range s.Years {
		y := &s.Years[i]
		t.Years = append(t.Years, charts.TrendYear{Year: y.Year, Value: ptr(in(unit, y.Value)), Pct: ptr(y.MeanPct), RainMM: ptr(y.RainMM),
			RainPct: ptr(y.RainPct), RainUse: ptr(y.RainUse), LeftOut: y.LeftOut})
	}
	if s.Rain != nil {
		t.Rain = trendRainOf(s.Rain, unit)
	}
	ols := s.Trend(monitor.MethodOLS)
	if ols == nil {
		return t
	}
	t.Verdict, t.Slope, t.Low, t.High = string(ols.Verdict), ptr(in(unit, ols.Slope)), ptr(in(unit, ols.CI.Low)), ptr(in(unit, ols.CI.High))
	t.Pct, t.P, t.MinDetectable = ptr(ols.SlopePct), ptr(ols.P), ptr(in(unit, ols.MinDetectable))
	t.Line = lineOf(s, ols, unit)
	return t
}

func methodOf(t *monitor.Trend, unit monitor.Unit) charts.TrendMethod {
	return charts.TrendMethod{Name: t.Method, Years: len(t.YearsUsed), Slope: ptr(in(unit, t.Slope)), Low: ptr(in(unit, t.CI.Low)), High: ptr(in(unit, t.CI.High)),
		Pct: ptr(t.SlopePct), Statistic: ptr(t.Statistic), DF: ptr(t.DF), P: ptr(t.P), Verdict: string(t.Verdict),
		MinDetectable: ptr(in(unit, t.MinDetectable)), Remarks: remarksOf(t.Remarks)}
}

// lineOf is the least-squares line from its first to its last year: it passes
// through the mean of the years used at their mean value.
func lineOf(s *monitor.Series, t *monitor.Trend, unit monitor.Unit) []charts.TrendPoint {
	if !t.Slope.Valid || !s.Mean.Valid || len(t.YearsUsed) == 0 {
		return nil
	}
	centre := 0.0
	for _, y := range t.YearsUsed {
		centre += float64(y) / float64(len(t.YearsUsed))
	}
	var out []charts.TrendPoint
	for _, y := range []int{t.YearsUsed[0], t.YearsUsed[len(t.YearsUsed)-1]} {
		out = append(out, charts.TrendPoint{Year: y, Value: unit.Of(s.Mean.Float64 + t.Slope.Float64*(float64(y)-centre))})
	}
	return out
}

func trendRainOf(r *monitor.SeriesRain, unit monitor.Unit) *charts.TrendRain {
	show := func(n monitor.Num) *float64 { return ptr(in(unit, n)) }
	out := &charts.TrendRain{Alone: show(r.Alone), AloneLow: show(r.AloneCI.Low), AloneHigh: show(r.AloneCI.High), Held: show(r.Held), HeldLow: show(r.HeldCI.Low),
		HeldHigh: show(r.HeldCI.High), Change: show(r.Change), ChangeLow: show(r.ChangeCI.Low), ChangeHigh: show(r.ChangeCI.High), Correlation: ptr(r.Correlation),
		PerMM: show(r.PerMM), MeanValue: show(r.Mean), Years: len(r.YearsUsed), Why: r.Why}
	sum, n := 0.0, 0
	for _, y := range r.YearsUsed {
		if mm, _ := r.Of(y); mm.Valid {
			sum += mm.Float64
			n++
		}
	}
	if n > 0 {
		mean := sum / float64(n)
		out.MeanMM = &mean
	}
	return out
}

func rainOf(s *monitor.Series) *charts.Rain {
	if s.Rain == nil || !s.Rain.Known {
		return nil
	}
	r := &charts.Rain{Station: s.Rain.Station, Window: windowText(s.Rain.Window, s.Site.YearStartMonth), MeanMM: ptr(s.Rain.MeanMM)}
	for i := range s.Years {
		y := &s.Years[i]
		r.Years = append(r.Years, charts.RainYear{Year: y.Year, MM: ptr(y.RainMM), Pct: ptr(y.RainPct)})
	}
	return r
}

// windowText says a window of months aloud, for growth years that are named
// for the calendar year in which they end.
func windowText(w monitor.RainWindow, startMonth int) string {
	months := w.Months(2001, startMonth)
	word := func(m schema.Month) string {
		text := time.Month(m.Month).String()
		if m.Year < 2001 {
			text += " of the year before"
		}
		return text
	}
	if len(months) == 1 {
		return word(months[0])
	}
	return word(months[0]) + " to " + word(months[len(months)-1])
}

// eventsOf are the events within the years, each in its growth year.
func eventsOf(s *monitor.Series) []charts.Event {
	out := []charts.Event{}
	for _, e := range s.Events {
		year, err := schema.GrowthYear(e.Start, s.Site.YearStartMonth)
		if err != nil {
			continue // the ledger holds dates in this form only
		}
		out = append(out, charts.Event{Year: year, At: partOfYear(e.Start, year, s.Site.YearStartMonth), Start: e.Start, End: e.End, Kind: e.Kind, Note: e.Note, Whole: e.Site == ""})
	}
	return out
}

// partOfYear is a date as a growth year and the part of it gone by.
func partOfYear(date string, growthYear, startMonth int) float64 {
	d, err := time.Parse(time.DateOnly, date)
	if err != nil {
		return float64(growthYear)
	}
	start := time.Date(growthYear, time.Month(max(1, startMonth)), 1, 0, 0, 0, 0, time.UTC)
	if startMonth > 1 {
		start = start.AddDate(-1, 0, 0)
	}
	return float64(growthYear) + d.Sub(start).Hours()/24/366
}

func remarksOf(remarks []monitor.Remark) []charts.Remark {
	var out []charts.Remark
	for _, r := range remarks {
		out = append(out, charts.Remark{Text: r.Text, Loud: r.Loud})
	}
	return out
}

// classBandsOf are the classes of a scheme that class a component, in the unit
// of display.
func classBandsOf(bounds []schema.ClassBound, component string, unit monitor.Unit) []charts.ClassBand {
	var out []charts.ClassBand
	for _, c := range bounds {
		if c.Component != component {
			continue
		}
		low := unit.Of(c.LowerG)
		out = append(out, charts.ClassBand{Label: c.Label, Low: &low, High: ptr(in(unit, c.UpperG))})
	}
	return out
}
