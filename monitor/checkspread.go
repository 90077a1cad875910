package monitor

import (
	"math"
	"slices"

	"clipledger/monitor/stat"
)

// How far from its like a value may lie before it is worth a look.
//
// The scale is 1.4826 times the median absolute deviation (Hampel 1974), so
// that what is looked for does not hide itself; then, since that uses little
// of what is in the data, the standard deviation of the values within three
// of it, divided by 0.98658, the standard deviation of a standard normal cut
// at ±3 (clipping, common practice; the constant is 1 − 6φ(3)/(2Φ(3) − 1),
// rooted). The limit is a t quantile, because the scale is itself estimated;
// its degrees of freedom are those of the values kept. That this gives the
// error rate wanted is measured by simulation in the tests, not proved.

const (
	madToSD   = 1.4826
	clippedSD = 0.98658
)

// spread is the middle and the scale of some values.
type spread struct {
	n             int
	middle, scale float64
	limit         float64 // how many scales from the middle are still ordinary
}

// spreadOf measures values, of which there must be some, and changes their
// order. fitted is the number of middles that were taken out of them before;
// alarms is the share of ordinary values, both sides together, that would be
// far were they normal.
func spreadOf(values []float64, fitted int, alarms float64, t *stat.TTable) spread {
	slices.Sort(values)
	counted := make([]countOf[float64], len(values))
	for i, v := range values {
		counted[i] = countOf[float64]{v, 1}
	}
	return spreadOfCounted(counted, len(values), fitted, alarms, t)
}

// spreadOfCounted measures values that are given in ascending order with how
// often each came, n in all.
func spreadOfCounted(values []countOf[float64], n, fitted int, alarms float64, t *stat.TTable) spread {
	s := spread{n: n, middle: countedMedian(values, 0, n)}
	// As many of the smallest say nothing as middles were fitted (dropped in
	// robust regression too, from memory).
	away := awayFrom(values, s.middle)
	mad := madToSD * countedMedian(away, min(fitted, n-1), n)
	kept, sum := 0, 0.0
	for _, a := range away {
		if a.value > 3*mad {
			break
		}
		kept += int(a.times)
		for range a.times {
			sum += a.value * a.value
		}
	}
	df := float64(max(1, kept-fitted))
	s.scale = math.Sqrt(sum/df) / clippedSD
	s.limit = t.Quantile(1-alarms/2, df)
	return s
}

// awayFrom lists how far ascending values are from a middle, ascending.
func awayFrom(values []countOf[float64], middle float64) []countOf[float64] {
	out := make([]countOf[float64], 0, len(values))
	above := slices.IndexFunc(values, func(c countOf[float64]) bool { return c.value >= middle })
	if above < 0 {
		above = len(values)
	}
	for below := above - 1; below >= 0 || above < len(values); {
		if above == len(values) || below >= 0 && middle-values[below].value < values[above].value-middle {
			out = append(out, countOf[float64]{middle - values[below].value, values[below].times})
			below--
			continue
		}
		out = append(out, countOf[float64]{values[above].value - middle, values[above].times})
		above++
	}
	return out
}

// far tells whether a value lies beyond what is ordinary.
func (s *spread) far(v float64) bool {
	return s.scale > 0 && math.Abs(v-s.middle) > s.limit*s.scale
}

// medianOf sorts values and returns their median; 0 of none.
func medianOf(values []float64) float64 {
	slices.Sort(values)
	n := len(values)
	switch {
	case n == 0:
		return 0
	case n%2 == 1:
		return values[n/2]
	}
	return (values[n/2-1] + values[n/2]) / 2
}

// uniqueInts sorts numbers and leaves out repeats.
func uniqueInts(list []int64) []int64 {
	slices.Sort(list)
	return slices.Compact(list)
}
