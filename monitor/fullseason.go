package monitor

import (
	"fmt"
	"maps"
	"slices"

	"clipledger/schema"
)

// What would the season have grown? The frame's weight as clipped ÷ the
// fraction of growth completed by its date ÷ the fraction ungrazed (the
// reconstruction of the National Range and Pasture Handbook ch. 4, from
// memory, without its factor for a normal year). It stands beside the
// as-clipped figure and never enters a mean, an interval or a trend: sampling
// error does not cover the divisors.

// FullSeason is a mean scaled up to the whole season, ungrazed.
type FullSeason struct {
	Mean        Num // g/m²; missing where a divisor is not known
	GrowthPct   Num // percent of growth completed, in the mean
	UngrazedPct Num // percent ungrazed, in the mean
	Frames      int // frames it rests on
}

// littleGrowth is the percent of growth below which scaling up is called
// unreliable: a fifth (our own choice).
const littleGrowth = 20

// seasonKey is a component of a frame.
type seasonKey struct {
	visit     int64
	component schema.Component
}

// seasons are the dates and ungrazed percentages of an occasion's frames.
type seasons struct {
	of    map[seasonKey]schema.FrameGrowth
	curve *curve
	why   string // there is no curve
}

// seasonsOf reads them.
func (c *calculation) seasonsOf(o *occasion) (*seasons, error) {
	s := &seasons{of: map[seasonKey]schema.FrameGrowth{}}
	if o.site.GrowthCurve == "" {
		s.why = "the site names no growth curve"
		return s, nil
	}
	err := c.snap.FrameGrowths(o.record.ID, o.record.ID, func(g *schema.FrameGrowth) error {
		s.of[seasonKey{g.Visit, g.Component}] = *g
		return nil
	})
	if err != nil {
		return nil, err
	}
	points, err := c.snap.GrowthCurve(o.site.GrowthCurve)
	if err != nil {
		return nil, err
	}
	if s.curve, err = newCurve(o.site.GrowthCurve, points, o.site.YearStartMonth); err != nil {
		s.why = err.Error()
	}
	return s, nil
}

// growth is what bears on a component of a frame.
func (s *seasons) growth(visit int64, component schema.Component) schema.FrameGrowth {
	if g, ok := s.of[seasonKey{visit, component}]; ok {
		return g
	}
	return s.of[seasonKey{visit, schema.NoComponent}]
}

// scaling gathers the scaled frames of a sample.
type scaling struct {
	year             int
	growth, ungrazed float64 // sums over scaled components of frames
	pieces           int
	assumed          int // pieces whose ungrazed percentage is not recorded
	least, most      float64
	why              map[string]int
}

// fullSeason fills in the mean scaled up to the whole season.
func (in *seasons) fullSeason(m *Mean, s *sample, units []unit) {
	if in == nil || len(units) == 0 {
		return
	}
	full := &FullSeason{}
	m.FullSeason = full
	if in.curve == nil {
		m.note("no-growth-curve", "no full-season figure: "+in.why)
		return
	}
	k := scaling{year: m.Year, why: map[string]int{}, least: 100}
	mean := 0.0
	for _, u := range units {
		for _, i := range u.frames {
			v, ok := k.frame(s, &s.values[i], in)
			if ok {
				full.Frames++
			}
			mean += v / float64(len(u.frames)) / float64(len(units))
		}
	}
	k.say(m, full, mean, in)
}

// frame scales up a frame's components; nothing stays nothing, whatever the
// divisors.
func (k *scaling) frame(s *sample, v *frameSum, in *seasons) (sum float64, ok bool) {
	ok = true
	for _, component := range s.parts {
		g := v.cells[component].gPerM2
		growth := in.growth(v.frame.visit, component)
		pct, why := in.curve.done(growth.Date, k.year)
		switch {
		case g == 0:
			continue
		case why != "":
			k.why[why]++
			ok = false
			continue
		}
		ungrazed := 100.0
		if growth.UngrazedPct.Valid {
			ungrazed = growth.UngrazedPct.Float64
		} else {
			k.assumed++
		}
		sum += g / (pct / 100) / (ungrazed / 100)
		k.pieces++
		k.growth += pct
		k.ungrazed += ungrazed
		k.least, k.most = min(k.least, pct), max(k.most, pct)
	}
	return sum, ok
}

// say fills in the figure and says what it rests on. A frame that cannot be
// scaled leaves no figure: leaving it out would be choosing frames by their
// dates.
func (k *scaling) say(m *Mean, full *FullSeason, mean float64, in *seasons) {
	for _, why := range slices.Sorted(maps.Keys(k.why)) {
		m.note("not-scaled", fmt.Sprintf("no full-season figure: %s (%s)", why, framesWord(k.why[why])))
	}
	if len(k.why) > 0 || m.N == 0 {
		return
	}
	full.Mean = schema.Some(mean)
	if k.pieces == 0 {
		return
	}
	full.GrowthPct, full.UngrazedPct = schema.Some(k.growth/float64(k.pieces)), schema.Some(k.ungrazed/float64(k.pieces))
	span := fmt.Sprintf("%.0f %%", k.least)
	if fmt.Sprintf("%.0f", k.least) != fmt.Sprintf("%.0f", k.most) {
		span = fmt.Sprintf("%.0f to %.0f %%", k.least, k.most)
	}
	text := fmt.Sprintf("the full-season figure takes %s of growth as completed (curve %s)", span, in.curve.name)
	switch {
	case k.assumed == k.pieces:
		text += " and assumes that nothing was grazed: no ungrazed percentage is recorded"
	case k.assumed > 0:
		text += " and assumes that nothing was grazed where no ungrazed percentage is recorded"
	}
	m.note("full-season", text+"; it is an estimate beside the as-clipped mean, whose interval does not cover the divisors")
	if k.least < littleGrowth {
		m.warn("little-growth", fmt.Sprintf("the full-season figure is scaled up from %.0f %% of the growth: do not rely on it", k.least))
	}
}

// sumFullSeason adds the full-season figures of parts that sit on frames of
// their own.
func (m *Mean) sumFullSeason(parts []*Mean) {
	sum, frames := 0.0, 0
	for _, p := range parts {
		if p.FullSeason == nil {
			return
		}
		if !p.FullSeason.Mean.Valid {
			m.FullSeason = &FullSeason{}
			return
		}
		sum += p.FullSeason.Mean.Float64
		frames += p.FullSeason.Frames
	}
	m.FullSeason = &FullSeason{Mean: schema.Some(sum), Frames: frames}
}
