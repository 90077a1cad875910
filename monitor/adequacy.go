package monitor

import (
	"math"

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

// sizeCache remembers assured sizes, which cost far more than the rest.
type sizeCache map[sizeKey]sizeAnswer

type sizeKey struct {
	cv, assurance float64
	p             stat.Precision
}

type sizeAnswer struct {
	n  int
	ok bool
}

func (s sizeCache) assured(cv, assurance float64, p stat.Precision, t *stat.TTable) (int, bool) {
	k := sizeKey{cv, assurance, p}
	a, known := s[k]
	if !known {
		a.n, a.ok = stat.AssuredN(cv, assurance, p, t)
		if len(s) < 1<<16 {
			s[k] = a
		}
	}
	return a.n, a.ok
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
