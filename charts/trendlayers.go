package charts

import (
	"fmt"
	"strconv"
	"strings"

	gocharts "github.com/go-echarts/go-echarts/v2/charts"
	"github.com/go-echarts/go-echarts/v2/opts"
)

// What the first chart of a page shows beside means and frames: the classes of
// the site's scheme, the trend where one was detected, what happened, and the
// rain on a panel of its own below.

// trendSegment is the trend line, nothing where no trend was detected.
func trendSegment(x *Series, years []int) []opts.CustomData {
	if !x.Trend.Detected() || len(x.Trend.Line) != 2 || len(years) == 0 {
		return nil
	}
	a, b := x.Trend.Line[0], x.Trend.Line[1]
	return []opts.CustomData{at(a.Year-years[0], shownAt(a.Value), b.Year-years[0], shownAt(b.Value))}
}

// classLetters is how much of a class's name fits beside a chart.
const classLetters = 13

// addClasses draws every second class as a light band, with its name beside
// the chart. What lies beyond the axis is left out.
func (b *block) addClasses(line *gocharts.Line, x *Series, scale axis) {
	var bands []opts.CustomData
	for i, c := range x.Classes {
		low, high := 0.0, scale.max
		if c.Low != nil {
			low = max(0, *c.Low)
		}
		if c.High != nil {
			high = min(scale.max, *c.High)
		}
		if low >= high {
			continue
		}
		bands = append(bands, at(0, shownAt(low), shownAt(high), i%2))
		b.Words["classes"] = append(b.Words["classes"], shorten(c.Label, classLetters))
	}
	overlay(line, "classes", "class", bands)
	if len(bands) > 0 {
		b.Beside = classMargin
		line.GridList[0].Right = strconv.Itoa(classMargin)
	}
}

// classMargin is the room for the names of classes, in pixels.
const classMargin = 92

// shorten cuts a text to so many letters, and shows that it did.
func shorten(text string, letters int) string {
	if runes := []rune(text); len(runes) > letters {
		return strings.TrimSpace(string(runes[:letters-1])) + "…"
	}
	return text
}

// eventsIn are the site's events within its years.
func (s *Site) eventsIn() []Event {
	var out []Event
	years := s.yearSpan()
	for _, e := range s.Events {
		if len(years) > 0 && e.Year >= years[0] && e.Year <= years[len(years)-1] {
			out = append(out, e)
		}
	}
	return out
}

// addEvents marks each event with a letter, which the caption explains. A
// year's place on the axis is its middle, so the year begins half a step
// before it.
func (b *block) addEvents(line *gocharts.Line, s *Site, years []int) {
	var marks []opts.CustomData
	for i, e := range s.eventsIn() {
		marks = append(marks, at(0, shownAt(e.At-float64(years[0])-0.5)))
		b.Words["events"] = append(b.Words["events"], eventLetter(i))
	}
	overlay(line, "events", "event", marks)
}

// eventLetter is a, b, … z, then a2, b2, …
func eventLetter(i int) string {
	letter := string(rune('a' + i%26))
	if i >= 26 {
		letter += strconv.Itoa(i/26 + 1)
	}
	return letter
}

// eventsNote explains the letters.
func eventsNote(s *Site) string {
	var words []string
	for i, e := range s.eventsIn() {
		words = append(words, eventLetter(i)+": "+eventText(e))
	}
	if len(words) == 0 {
		return ""
	}
	return "What happened: " + strings.Join(words, "; ") + ". "
}

func eventText(e Event) string {
	text := e.Kind + ", " + e.Start
	if e.End != "" && e.End != e.Start {
		text += " to " + e.End
	}
	if e.Whole {
		text += ", of the whole stratum"
	}
	if e.Note != "" {
		text += " (" + e.Note + ")"
	}
	return text
}

// has tells whether any year has a figure.
func (r *Rain) has() bool {
	if r == nil {
		return false
	}
	for _, y := range r.Years {
		if y.MM != nil {
			return true
		}
	}
	return false
}

// axis of the rain, from 0.
func (r *Rain) axis() axis {
	top := 0.0
	if r.MeanMM != nil {
		top = *r.MeanMM
	}
	for _, y := range r.Years {
		if y.MM != nil {
			top = max(top, *y.MM)
		}
	}
	return axisFor(top, 3)
}

// Heights of the panel of rain and of the room below the panel of weights, in
// pixels; report.js has others for paper.
const (
	rainHeight = "64"
	aboveRain  = "150"
)

// addRain puts the rain on a panel of its own below, under the same years.
func (b *block) addRain(line *gocharts.Line, r *Rain, years []int) {
	if !r.has() {
		return
	}
	line.GridList[0].Bottom = aboveRain
	line.GridList = append(line.GridList, opts.Grid{Left: "54", Right: line.GridList[0].Right, Height: rainHeight, Bottom: "44"})
	upper := &line.XAxisList[0]
	upper.Name = ""
	upper.AxisLabel = &opts.AxisLabel{Show: opts.Bool(false)}
	below := yearsAxis()
	below.GridIndex, below.Data = 1, yearLabels(years)
	line.ExtendXAxis(below)
	up := upAxis(r.axis().span(), "rain, mm")
	up.GridIndex = 1
	line.ExtendYAxis(up)
	var bars []opts.CustomData
	for _, y := range r.Years {
		if i := y.Year - years[0]; y.MM != nil && i >= 0 && i < len(years) {
			bars = append(bars, at(i, shownAt(*y.MM)))
			key := strconv.Itoa(y.Year)
			b.Notes[key] += fmt.Sprintf("; rain %s%smm", fixed(*y.MM, 0), nbsp)
		}
	}
	overlayOn(line, 1, "rain", "bar", bars)
	if r.MeanMM != nil {
		overlayOn(line, 1, "rain mean", "level", []opts.CustomData{at(0, shownAt(*r.MeanMM))})
	}
}

// rainNote says what the bars are.
func rainNote(s *Site) string {
	r := s.Rain
	if !r.has() {
		return ""
	}
	text := "Bars: rain, " + r.Window
	if r.Station != "" {
		text += " at " + r.Station
	}
	if r.MeanMM != nil {
		text += fmt.Sprintf("; short dashes: its long-term mean, %s%smm", fixed(*r.MeanMM, 0), nbsp)
	}
	var missing []int
	for _, year := range s.yearSpan() {
		if y := r.year(year); y == nil || y.MM == nil {
			missing = append(missing, year)
		}
	}
	if len(missing) > 0 {
		text += "; no complete rain in " + yearList(missing)
	}
	return text + ". "
}

func (r *Rain) year(year int) *RainYear {
	if r == nil {
		return nil
	}
	for i := range r.Years {
		if r.Years[i].Year == year {
			return &r.Years[i]
		}
	}
	return nil
}

// trendNote says what the trend line is.
func trendNote(x *Series) string {
	if !x.Trend.Detected() || len(x.Trend.Line) != 2 {
		return ""
	}
	return "Long dashes: the trend. "
}

// classesNote gives the bounds of the classes in words.
func classesNote(r *Report, s *Site, x *Series) string {
	if len(x.Classes) == 0 {
		return ""
	}
	f := s.figures()
	text := "Classes"
	if s.ClassScheme != "" {
		text += " (" + s.ClassScheme + ")"
	}
	text += ": "
	for i, c := range x.Classes {
		if i > 0 && c.Low != nil {
			text += " ≤ "
		}
		text += c.Label
		if c.High != nil {
			text += " < " + f.show(c.High)
		}
	}
	return text + " " + r.Unit + ". "
}
