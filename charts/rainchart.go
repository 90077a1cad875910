package charts

import (
	"fmt"
	"html/template"
	"math"
	"strconv"
)

// Was it the rain? Production against rain, each year a mark with its name, and
// the slope of the years with rain left out and with rain held.

// rainPart is the section on rain; ok is false where there is none.
func rainPart(r *Report, s *Site, page string, views []shown) (p part, ok bool, err error) {
	x := s.headline()
	if x.Trend == nil || x.Trend.Rain == nil || !s.Rain.has() {
		return p, false, nil
	}
	p = part{ID: "rain", Heading: "Was it the rain?", Class: "rain-part"}
	t := x.Trend.Rain
	if t.Why != "" {
		p.Lead = append(p.Lead, "Not to be said: "+t.Why+".")
	}
	if b, drawn := rainScatter(r, s, x); drawn {
		js, err := b.script()
		if err != nil {
			return p, false, err
		}
		p.Figures = append(p.Figures, figure{Page: page, ID: "chart-rain", Kind: kindOf(x.Component) + " plane", Title: rainTitle(s, x), Caption: rainCaption(r, s, x), Script: js, Table: "rain-years", CSV: page + "-rain"})
	}
	if table := slopesTable(r, s, views, page); table != nil {
		p.Tables = append(p.Tables, table)
	}
	p.Tables = append(p.Tables, rainYearsTable(r, s, x, page))
	return p, true, nil
}

// rainTitle states what rain makes of the trend.
func rainTitle(s *Site, x *Series) string {
	t := x.Trend
	held := t.method("ols-rain")
	name := sentence(s.label(x))
	if held == nil || t.Rain.Held == nil {
		return name + " against rain"
	}
	alone, with := t.Detected(), held.Verdict == "increasing" || held.Verdict == "decreasing"
	switch {
	case alone && with:
		return "Rain does not explain the trend: it is there with rain held too"
	case alone:
		return "With rain held, no trend is left: the rain explains it"
	case with:
		return "With rain held, a trend shows that the rain had hidden"
	}
	return name + " shows no trend, with or without rain held"
}

func (t *Trend) method(name string) *TrendMethod {
	if t == nil {
		return nil
	}
	for i := range t.Methods {
		if t.Methods[i].Name == name {
			return &t.Methods[i]
		}
	}
	return nil
}

// slopesText gives the slopes with rain left out and held.
func slopesText(r *Report, s *Site, x *Series) string {
	t, f := x.Trend.Rain, s.figures().finer()
	if t.Alone == nil || t.Held == nil {
		return ""
	}
	say := func(v, low, high *float64) string {
		text := f.signed(v)
		if span := f.signedSpan(low, high); span != "" {
			text += " (" + span + ")"
		}
		return text
	}
	return fmt.Sprintf("Slope a year, %s: %s with rain left out, %s with rain held. ", r.Unit, say(t.Alone, t.AloneLow, t.AloneHigh), say(t.Held, t.HeldLow, t.HeldHigh))
}

func rainCaption(r *Report, s *Site, x *Series) string {
	t := x.Trend.Rain
	text := slopesText(r, s, x) + "Each mark is a year."
	if t.PerMM != nil {
		text += fmt.Sprintf(" Line: what rain makes of a year, %s%s%s for each mm, the trend held.", trimmed(*t.PerMM, 2), nbsp, r.Unit)
	}
	return text
}

func rainScatter(r *Report, s *Site, x *Series) (b block, ok bool) {
	lowX, highX, lowY, highY := math.Inf(1), math.Inf(-1), math.Inf(1), math.Inf(-1)
	var years []*TrendYear
	for i := range x.Trend.Years {
		y := &x.Trend.Years[i]
		if y.Value == nil || y.RainMM == nil || y.LeftOut != "" {
			continue
		}
		years = append(years, y)
		lowX, highX = math.Min(lowX, *y.RainMM), math.Max(highX, *y.RainMM)
		lowY, highY = math.Min(lowY, *y.Value), math.Max(highY, *y.Value)
	}
	if len(years) < 2 {
		return b, false
	}
	pad := (highX - lowX) * 0.04
	across, up := spanFor(math.Max(0, lowX-pad), highX+pad, 6), spanFor(math.Max(0, lowY-(highY-lowY)*0.08), highY+(highY-lowY)*0.08, 5)
	line := plane(across, "rain, mm", up, r.Unit)
	b.Words = map[string][]string{}
	var dots []opt
	for _, y := range years {
		state := markNotJudged
		if own := x.year(y.Year); own != nil {
			state = own.mark()
		}
		dots = append(dots, at(shownAt(*y.RainMM), shownAt(*y.Value), state, shapeOf(x.Component)))
		b.Words["dots"] = append(b.Words["dots"], strconv.Itoa(y.Year))
	}
	if t := x.Trend.Rain; t.PerMM != nil && t.MeanMM != nil && t.MeanValue != nil {
		on := func(mm float64) float64 { return shownAt(*t.MeanValue + *t.PerMM*(mm-*t.MeanMM)) }
		overlay(line, "fit", "segment", []opt{at(shownAt(lowX), on(lowX), shownAt(highX), on(highX))})
	}
	overlay(line, "dots", "dots", dots)
	b.Option = options(line)
	return b, true
}

// slopesTable holds the slope a year with rain left out and with rain held, of
// every series that has both.
func slopesTable(r *Report, s *Site, views []shown, page string) *smallTable {
	f := s.figures().finer()
	t := &smallTable{ID: "slopes", Screen: true, CSV: page + "-trends",
		Caption: fmt.Sprintf("What the years make of it, in %s a year, with %s intervals; the tick is no change", r.Unit, share(r.Confidence)),
		Head:    []column{{Short: "Slope", Long: "change a year"}, {Short: "Interval", Long: "t interval of the slope"}, {Short: "", Long: "slope and interval on one scale", Words: true}}}
	rows := rows{width: 4}
	widest := 0.0
	for _, v := range views {
		if t := v.rainTrend(); t != nil {
			for _, e := range []*float64{t.AloneLow, t.AloneHigh, t.HeldLow, t.HeldHigh, t.ChangeLow, t.ChangeHigh} {
				if e != nil {
					widest = math.Max(widest, math.Abs(*e))
				}
			}
		}
	}
	for _, v := range views {
		t := v.rainTrend()
		if t == nil {
			continue
		}
		title := v.label(s)
		if t.Correlation != nil {
			title += fmt.Sprintf(" (rain with year: r = %s)", fixed(*t.Correlation, 2))
		}
		rows.group(title)
		for _, e := range []struct {
			name         string
			v, low, high *float64
		}{{"rain left out", t.Alone, t.AloneLow, t.AloneHigh}, {"rain held", t.Held, t.HeldLow, t.HeldHigh}, {"what rain makes", t.Change, t.ChangeLow, t.ChangeHigh}} {
			label := e.name + ": " + f.signed(e.v)
			rows.row(e.name, f.signed(e.v), f.signedSpan(e.low, e.high), slopeSVG(e.v, e.low, e.high, widest, label))
		}
	}
	if len(rows.b) == 0 {
		return nil
	}
	t.Body = rows.body()
	return t
}

func (v shown) rainTrend() *TrendRain {
	if v.Trend == nil || v.Trend.Rain == nil || v.Trend.Rain.Held == nil || !v.Production || v.brief {
		return nil
	}
	return v.Trend.Rain
}

const slopeWidth = 130.0

// slopeSVG draws a slope and its interval about no change.
func slopeSVG(v, low, high *float64, widest float64, label string) template.HTML {
	if v == nil || low == nil || high == nil || widest <= 0 {
		return ""
	}
	place := func(x float64) float64 { return slopeWidth/2 + x/widest*(slopeWidth/2-drawingPad) }
	mark := "open"
	if *low > 0 || *high < 0 {
		mark = "full"
	}
	return template.HTML(fmt.Sprintf(
		`<svg class="bar" width="%g" height="14" viewBox="0 0 %g 14" role="img" aria-label="%s"><path class="long" d="M%.1f 0V14"/><path class="tick" d="M%.1f 7H%.1fM%.1f 4V10M%.1f 4V10"/><circle class="%s" cx="%.1f" cy="7" r="3"/></svg>`,
		slopeWidth, slopeWidth, template.HTMLEscapeString(label), place(0), place(*low), place(*high), place(*low), place(*high), mark, place(*v)))
}

// rainYearsTable holds the points of the chart.
func rainYearsTable(r *Report, s *Site, x *Series, page string) *smallTable {
	f := s.figures()
	t := &smallTable{ID: "rain-years", Title: "The years with their rain", CSV: page + "-rain", Folded: true,
		Caption: fmt.Sprintf("%s in %s and rain of %s; %% are of the mean of the years and of the station’s long-term mean", sentence(s.label(x)), r.Unit, s.Rain.Window),
		Head: []column{{Short: sentence(x.name()), Long: "as the trend takes it"}, {Short: "%\u00a0of mean", Long: "in % of the mean of the years"}, {Short: "Rain, mm", Long: "rain of the months that count"},
			{Short: "Rain, %", Long: "rain in % of its long-term mean"}, {Short: "kg/ha for each mm", Long: "rain-use efficiency"}, {Short: "Left out", Long: "why the year is not used", Words: true}}}
	rows := rows{width: len(t.Head) + 1}
	for i := range x.Trend.Years {
		y := &x.Trend.Years[i]
		mm, use := "", ""
		if y.RainMM != nil {
			mm = fixed(*y.RainMM, 0)
		}
		if y.RainUse != nil {
			use = fixed(*y.RainUse, 2)
		}
		rows.row(strconv.Itoa(y.Year), f.show(y.Value), percent(y.Pct), mm, percent(y.RainPct), use, word(y.LeftOut))
	}
	t.Body = rows.body()
	return t
}
