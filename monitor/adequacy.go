package monitor

import (
	"math"
	"slices"

	"clipledger/monitor/stat"
	"clipledger/schema"
)

// Was the sample enough? The number of sampling units that the wanted
// precision takes, at the confidence of adequacy, from the spread found.
// Formula and rules: stat.RequiredN, stat.PilotN, stat.AssuredN.

// adequacy fills in the sample sizes and the verdict. All zeros, one unit or
// units all alike have none.
func (c *calculation) adequacy(m *Mean) {
	if !m.SD.Valid || m.SD.Float64 == 0 || m.Mean.Float64 <= 0 {
		return
	}
	cv := m.SD.Float64 / m.Mean.Float64
	p := c.rules.Precision
	p.Possible = c.possible(m)
	t := c.t.Quantile(upper(p), float64(m.N-1))
	m.HalfPct = schema.Some(100 * t * cv / math.Sqrt(float64(m.N)) * math.Sqrt(c.unsampled(m)))
	m.NRequired = c.required(cv, m.N, p)
	if c.query.Assured {
		if n, ok := c.sizes.assured(cv, c.rules.Assurance, p, &c.t); ok {
			m.NAssured = schema.Some(float64(n))
		}
	}
	if m.NRequired.Valid {
		m.Adequate = verdict(float64(m.N) >= m.NRequired.Float64)
	}
}

// upper is the probability of the t quantile of a precision.
func upper(p stat.Precision) float64 {
	if p.OneSided {
		return p.Confidence
	}
	return (1 + p.Confidence) / 2
}

func (c *calculation) required(cv float64, n int, p stat.Precision) Num {
	if c.rules.Pilot {
		if f, ok := stat.PilotN(cv, n, p, &c.t); ok {
			return schema.Some(f)
		}
		return Num{}
	}
	if k, ok := stat.RequiredN(cv, p, &c.t); ok {
		return schema.Some(float64(k))
	}
	return Num{}
}

// ShortBy is how many sampling units are missing for the wanted precision.
func (m *Mean) ShortBy() Num {
	if !m.NRequired.Valid {
		return Num{}
	}
	return schema.Some(math.Max(0, math.Ceil(m.NRequired.Float64)-float64(m.N)))
}

// sizeCache remembers assured sizes, which cost far more than the rest. The
// assurance of every n falls as the coefficient of variation grows, so the size
// never falls with it: between two coefficients with the same size lies no
// other, and a few hundred answers serve a whole ledger.
type sizeCache map[sizeKey]*sizeSteps

type sizeKey struct {
	assurance float64
	p         stat.Precision
}

// sizeSteps are the coefficients that were worked out, ascending, with what
// came out: two of each size at the most, the lowest and the highest met. A
// size of 0 says that there is none.
type sizeSteps struct {
	cv []float64
	n  []int
}

func (s sizeCache) assured(cv, assurance float64, p stat.Precision, t *stat.TTable) (int, bool) {
	k := sizeKey{assurance, p}
	steps := s[k]
	if steps == nil {
		steps = &sizeSteps{}
		s[k] = steps
	}
	n := steps.of(cv, func() int {
		n, ok := stat.AssuredN(cv, assurance, p, t)
		if !ok {
			return 0
		}
		return n
	})
	return n, n > 0
}

// of is the size for a coefficient, worked out only where its neighbours do
// not tell.
func (s *sizeSteps) of(cv float64, workOut func() int) int {
	i, known := slices.BinarySearch(s.cv, cv)
	if known {
		return s.n[i]
	}
	if i > 0 && i < len(s.cv) && s.n[i-1] == s.n[i] {
		return s.n[i]
	}
	n := workOut()
	switch { // the end of a step moves outward, else a step begins
	case i > 1 && s.n[i-1] == n && s.n[i-2] == n:
		s.cv[i-1] = cv
	case i+1 < len(s.cv) && s.n[i] == n && s.n[i+1] == n:
		s.cv[i] = cv
	default:
		s.cv, s.n = slices.Insert(s.cv, i, cv), slices.Insert(s.n, i, n)
	}
	return n
}

// transects fills in the two stages of a sample by transects: how much of the
// variance lies between them, and how many frames in each would be best at
// the cost ratio of the settings (Cochran 1977 ch. 10).
func (c *calculation) transects(m *Mean, s *sample, units []unit) {
	if m.Site.SamplingUnit != "transect" {
		return
	}
	groups := make([][]float64, len(units))
	frames := 0
	for i, u := range units {
		frames += len(u.frames)
		for _, place := range u.frames {
			groups[i] = append(groups[i], s.values[place].gPerM2)
		}
	}
	two, ok := stat.TwoStageOf(groups)
	if !ok {
		return
	}
	m.Transects = &Transects{Between: two.Between, Within: two.Within, BetweenClipped: two.BetweenClipped,
		FramesPerTransect: float64(frames) / float64(len(units)), CostRatio: c.rules.Cost}
	if best, ok := two.OptimalPerGroup(c.rules.Cost); ok {
		m.Transects.BestFrames = schema.Some(best)
	}
}
