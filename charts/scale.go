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

// sharedAxis is the one value axis of all series that are (or are not) part
// of production.
func (s *Site) sharedAxis(production bool) axis {
	top := 0.0
	for i := range s.Series {
		if s.Series[i].Production != production {
			continue
		}
		for j := range s.Series[i].Years {
			top = math.Max(top, s.Series[i].Years[j].top())
		}
	}
	return axisFor(top, 5)
}

// top is the largest value drawn for a year.
func (y *Year) top() float64 {
	top := 0.0
	for _, v := range []*float64{y.Mean, y.High} {
		if v != nil {
			top = math.Max(top, *v)
		}
	}
	for _, v := range y.Frames {
		top = math.Max(top, v)
	}
	return top
}

// jitter spreads the k-th point of a year sideways, within ±0.5. Multiples of
// the golden ratio never line up and need no chance.
func jitter(k int) float64 {
	const golden = 0.6180339887498949
	return significant(math.Mod(float64(k+1)*golden, 1)-0.5, 3)
}
