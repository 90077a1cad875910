package monitor

import (
	"math"

	"clipledger/monitor/stat"
)

// What would more sampling units buy? The half-width that other numbers of
// units would give with the spread of a mean that is known.

// Effort is the half-width, in percent of the mean and at the confidence of
// adequacy, that N units would give.
type Effort struct {
	N       int
	HalfPct float64
}

// mostEffort is the largest number of units that is worked out.
const mostEffort = 60

// Efforts are the half-widths of 2 units and more, to a third beyond the
// number needed and ten beyond the number there is; none where the mean was not
// judged. t(n−1)·CV/√n·√(1 − n/N): stat.HalfWidth.
func Efforts(m *Mean, p stat.Precision, t *stat.TTable) []Effort {
	if !m.HalfPct.Valid || !m.SD.Valid || m.Mean.Float64 <= 0 {
		return nil
	}
	last := m.N + 10
	if m.NRequired.Valid {
		last = max(last, int(math.Ceil(m.NRequired.Float64*4/3)))
	}
	last = min(last, max(mostEffort, m.N))
	if n := m.Site.UnitsPossible; n > m.N && m.Site.SamplingUnit == "frame" {
		p.Possible = n
		last = min(last, n)
	} else {
		p.Possible = 0
	}
	var out []Effort
	for n := 2; n <= last; n++ {
		if h, ok := stat.HalfWidth(m.SD.Float64/m.Mean.Float64, n, p, t); ok {
			out = append(out, Effort{n, 100 * h})
		}
	}
	return out
}
