package charts

import (
	"math"
	"strconv"
)

// axis is a value axis from 0 to max in equal steps.
type axis struct {
	max   float64
	steps int
}

// axisFor rounds up to at most so many steps of 1, 2 or 5 times a power of
// ten, the steps the chart library itself would choose, so that the top of
// the axis always carries a label.
func axisFor(largest float64, most int) axis {
	if largest <= 0 {
		return axis{1, 2}
	}
	unit := math.Pow(10, math.Floor(math.Log10(largest))-1)
	for {
		for _, k := range []float64{1, 2, 5} {
			step := k * unit
			// A hair of slack, so that 0.3/0.1 does not become four steps.
			n := int(math.Ceil(largest/step - 1e-9))
			if n <= most {
				n = max(n, 2)
				return axis{tidy(float64(n) * step), n}
			}
		}
		unit *= 10
	}
}

// tidy drops the last bits that floating point adds to a round number.
func tidy(v float64) float64 { return significant(v, 12) }

// significant rounds to so many significant figures. Points of frames are
// drawn with six: finer is not visible and only makes the pages heavier.
func significant(v float64, n int) float64 {
	out, _ := strconv.ParseFloat(strconv.FormatFloat(v, 'g', n, 64), 64)
	return out
}

// yearSpan lists every year from the site's first to its last, so that years
// without clipping keep their place on the axis and all charts of a page
// share it.
func (s *Site) yearSpan() []int {
	first, last := math.MaxInt, math.MinInt
	for i := range s.Series {
		for j := range s.Series[i].Years {
			first = min(first, s.Series[i].Years[j].Year)
			last = max(last, s.Series[i].Years[j].Year)
		}
	}
	var out []int
	for y := first; y <= last && first != math.MaxInt; y++ {
		out = append(out, y)
	}
	return out
}

// axisSlack is how far beyond the highest mean or limit an axis goes for the
// sake of single points. One frame of many times the mean would press all
// else flat; what lies beyond is drawn as an arrow and named in the caption.
const axisSlack = 1.25

// sharedAxis is the one value axis of all charts of what is (or is not) part
// of production.
func sharedAxis(views []shown, production bool) axis {
	means, points := 0.0, 0.0
	for _, v := range views {
		if v.Production != production || v.brief {
			continue
		}
		for i := range v.Years {
			y := &v.Years[i]
			for _, m := range []*float64{y.Mean, y.High} {
				if m != nil {
					means = math.Max(means, *m)
				}
			}
			for _, p := range y.Frames {
				points = math.Max(points, p)
			}
		}
	}
	if means > 0 {
		points = math.Min(points, axisSlack*means)
	}
	return axisFor(math.Max(means, points), 5)
}
