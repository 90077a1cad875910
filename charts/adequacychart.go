package charts

import (
	"fmt"
	"math"
	"strconv"

	gocharts "github.com/go-echarts/go-echarts/v2/charts"
	"github.com/go-echarts/go-echarts/v2/opts"
)

// adequacyCap is where the axis of the adequacy chart ends at the latest. Two
// or three frames give half-widths of several hundred percent, beside which
// the wanted precision would vanish; what lies beyond is drawn as an arrow
// and named in the caption.
const adequacyCap = 100.0

// adequacyChart draws, for each year, the half-width of the interval in % of
// the mean against the wanted precision. ok is false when no year has one.
func adequacyChart(r *Report, s *Site, x *Series) (b block, ok bool) {
	years := s.yearSpan()
	y := adequacyAxis(r, x)
	line := baseChart(years, y, "half-width, % of mean")
	notes := map[string]string{}
	var stems []opts.CustomData
	for i, year := range years {
		key := strconv.Itoa(year)
		v := x.year(year)
		if v == nil || v.HalfWidthPct == nil {
			notes[key] = fmt.Sprintf("%d: not judged", year)
			continue
		}
		notes[key] = adequacyNote(s, v)
		beyond := 0
		if *v.HalfWidthPct > y.max {
			beyond = 1
		}
		stems = append(stems, opts.CustomData{Value: []any{i, math.Min(*v.HalfWidthPct, y.max), v.mark(), beyond}})
	}
	// The library sets up its axes by a series that spans them.
	line.AddSeries("years", make([]opts.LineData, len(years)),
		gocharts.WithLineChartOpts(opts.LineChart{ShowSymbol: opts.Bool(false)}))
	b = block{Notes: notes}
	if r.PrecisionPct > 0 {
		overlay(line, "wanted", "wanted", []opts.CustomData{{Value: []any{0, r.PrecisionPct}}})
		b.Wanted = "- - wanted: ±" + percent(&r.PrecisionPct) + nbsp + "% or less"
	}
	overlay(line, "stems", "stem", stems)
	b.Option = options(line)
	return b, len(stems) > 0
}

// adequacyAxis holds all half-widths, but never goes beyond the cap unless
// the wanted precision itself does.
func adequacyAxis(r *Report, x *Series) axis {
	top := r.PrecisionPct * 1.5
	for i := range x.Years {
		if h := x.Years[i].HalfWidthPct; h != nil {
			top = math.Max(top, math.Min(*h, adequacyCap))
		}
	}
	return axisFor(top, 4)
}

func adequacyNote(s *Site, y *Year) string {
	note := fmt.Sprintf("%d: ±%s%s%% from %d %s", y.Year, percent(y.HalfWidthPct), nbsp, y.N, s.unitWord(y.N))
	if y.Required != nil {
		note += ", " + trimmed(*y.Required, 1) + " needed"
	}
	return note + ", " + y.verdict()
}

// adequacyTitle states in how many years the frames were enough, and of what
// where that is not the headline of the page.
func adequacyTitle(r *Report, s *Site, x *Series) string {
	judged, enough := 0, 0
	for i := range x.Years {
		if a := x.Years[i].Adequate; a != nil {
			judged++
			if *a {
				enough++
			}
		}
	}
	if judged == 0 {
		return "In no year could the number of " + s.unitWord(0) + " be judged"
	}
	word := "enough "
	if judged == 1 && enough == 0 {
		word = "too few "
	}
	text := word + s.unitWord(0) + " for " + r.enough() + " in " + howMany(enough, judged)
	if x != s.headline() {
		return sentence(s.label(x)) + ": " + text
	}
	return sentence(text)
}

func howMany(enough, judged int) string {
	switch {
	case judged == 1:
		return "the one judged year"
	case enough == judged:
		return fmt.Sprintf("all %d judged years", judged)
	case enough == 0:
		return fmt.Sprintf("none of the %d judged years", judged)
	}
	return fmt.Sprintf("%d of the %d judged years", enough, judged)
}

// adequacyCaption says what is drawn, and names the years beyond the axis.
func adequacyCaption(r *Report, s *Site, x *Series) string {
	text := "Half-width of the interval of " + s.label(x) + " at the confidence that “enough” asks for: the lower, the surer."
	end := adequacyAxis(r, x).max
	var beyond []string
	for i := range x.Years {
		y := &x.Years[i]
		if y.HalfWidthPct != nil && *y.HalfWidthPct > end {
			beyond = append(beyond, fmt.Sprintf("%d (±%s%s%%)", y.Year, percent(y.HalfWidthPct), nbsp))
		}
	}
	if len(beyond) > 0 {
		text += " " + plural(len(beyond), "Arrow", "Arrows") + ": beyond the axis, " + join(beyond) + "."
	}
	return text
}
