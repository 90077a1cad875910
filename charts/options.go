package charts

import (
	"encoding/json"
	"fmt"
	"html/template"
	"strconv"

	gocharts "github.com/go-echarts/go-echarts/v2/charts"
	"github.com/go-echarts/go-echarts/v2/opts"
)

// Colours are names of style sheet variables: the page's scheme, and print,
// change them without a chart being drawn again.
const (
	inkColor   = "var(--ink)"
	mutedColor = "var(--muted)"
	gridColor  = "var(--grid)"
	lineColor  = "var(--series)"
)

// States of a mark: filled, hollow, or a bare cross. report.js draws them.
const (
	markEnough = iota
	markTooFew
	markNotJudged
)

// Shapes of a mark, so that components differ by more than colour.
const (
	shapeCircle = iota
	shapeTriangle
	shapeSquare
)

func (y *Year) mark() int {
	switch {
	case y.Adequate == nil:
		return markNotJudged
	case *y.Adequate:
		return markEnough
	}
	return markTooFew
}

func shapeOf(component string) int {
	switch component {
	case "herbaceous":
		return shapeTriangle
	case "browse":
		return shapeSquare
	}
	return shapeCircle
}

// block is what a page holds for one chart: the options of the library, and
// the words report.js adds to it.
type block struct {
	Option map[string]any      `json:"option"`
	Notes  map[string]string   `json:"notes"`            // by year: what a pointer shows
	Frames [][]float64         `json:"frames,omitempty"` // by place of the year: points, at a fraction of the weight of items
	Wanted string              `json:"wanted,omitempty"`
	Words  map[string][]string `json:"words,omitempty"`  // by series: a word for each of its items
	Beside int                 `json:"beside,omitempty"` // room for words beside the drawing, where there is any
}

// script returns the block as JSON that is safe inside a script element:
// json.Marshal writes <, > and & as escapes.
func (b block) script() (template.JS, error) {
	out, err := json.Marshal(b)
	if err != nil {
		return "", fmt.Errorf("chart options: %w", err)
	}
	return template.JS(out), nil
}

// baseChart has what most charts of a site share: the years across, a value
// axis from 0, no animation (pages are printed). The page has the legend.
func baseChart(years []int, y axis, yName string) *gocharts.Line {
	return overYears(years, y.span(), yName, "10")
}

// overlay adds a series that report.js draws with the shape of that name.
func overlay(line *gocharts.Line, name, shape string, data []opts.CustomData) {
	overlayOn(line, 0, name, shape, data)
}

// options finishes a chart. Validate fills in the years, which the library
// leaves out of the options until then. What it adds and no chart here uses is
// dropped, since every chart of every page would carry it.
func options(line *gocharts.Line) map[string]any {
	line.Validate()
	out := line.JSON()
	for _, unused := range []string{"color", "legend", "title", "toolbox"} {
		delete(out, unused)
	}
	return out
}

// meanChart draws one series: intervals as a band cut at 0, with a bar at each
// year, frames as points, means as marks joined by a line. Band and line break
// where a year has none. The first chart of a page is whole: with the bounds of
// classes, what happened, and the rain on a panel of its own.
func meanChart(r *Report, s *Site, x *Series, scale axis, whole bool) block {
	years := s.yearSpan()
	line := baseChart(years, scale, r.Unit)
	b := block{Notes: map[string]string{}, Words: map[string][]string{}}
	if whole {
		b.addClasses(line, x, scale)
	}
	notes := b.Notes
	b.Frames = make([][]float64, len(years))
	means := make([]opts.LineData, len(years))
	var band, intervals, marks []opts.CustomData
	f := s.figures()
	for i, year := range years {
		y := x.year(year)
		if y == nil {
			notes[strconv.Itoa(year)] = fmt.Sprintf("%d: not clipped", year)
			continue
		}
		notes[strconv.Itoa(year)] = yearNote(r, s, f, y)
		for _, v := range y.Frames {
			b.Frames[i] = append(b.Frames[i], significant(v, 5))
		}
		if y.Mean == nil {
			continue
		}
		means[i].Value = *y.Mean
		marks = append(marks, opts.CustomData{Value: []any{i, *y.Mean, y.mark(), shapeOf(x.Component)}})
		if y.Low != nil && y.High != nil {
			bar := intervalBar(i, *y.Low, *y.High)
			intervals = append(intervals, bar)
			band = append(band, opts.CustomData{Value: bar.Value.([]any)[:3]})
		}
	}
	line.AddSeries("mean", means,
		gocharts.WithLineChartOpts(opts.LineChart{ShowSymbol: opts.Bool(false)}),
		gocharts.WithLineStyleOpts(opts.LineStyle{Color: lineColor, Width: 1.5}))
	overlay(line, "band", "band", band)
	overlay(line, "interval", "interval", intervals)
	overlay(line, "frames", "frames", []opt{at(0, 0)})
	overlay(line, "trend", "segment", trendSegment(x, years))
	overlay(line, "marks", "mark", marks)
	if whole {
		b.addEvents(line, s, years)
		b.addRain(line, s.Rain, years)
	}
	b.Option = options(line)
	return b
}

// intervalBar is cut at 0; the last number says so, and the cut end is drawn
// without a cap.
func intervalBar(i int, low, high float64) opts.CustomData {
	cut := 0
	if low < 0 {
		low, cut = 0, 1
	}
	return opts.CustomData{Value: []any{i, low, max(high, 0), cut}}
}

// year finds a year of the series, nil when it was not clipped.
func (x *Series) year(year int) *Year {
	for i := range x.Years {
		if x.Years[i].Year == year {
			return &x.Years[i]
		}
	}
	return nil
}
