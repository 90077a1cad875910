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
	s := spread{n: len(values), middle: medianOf(values)}
	away := make([]float64, 0, len(values))
	for _, v := range values {
		away = append(away, math.Abs(v-s.middle))
	}
	// As many of the smallest say nothing as middles were fitted (dropped in
	// robust regression too, from memory).
	slices.Sort(away)
	mad := madToSD * medianOf(slices.Clone(away[min(fitted, len(away)-1):]))
	kept, sum := 0, 0.0
	for _, a := range away {
		if a <= 3*mad {
			kept++
			sum += a * a
		}
	}
	df := float64(max(1, kept-fitted))
	s.scale = math.Sqrt(sum/df) / clippedSD
	s.limit = t.Quantile(1-alarms/2, df)
	return s
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
