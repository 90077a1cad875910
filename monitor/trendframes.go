package monitor

import (
	"cmp"
	"errors"
	"slices"
	"strings"

	"clipledger/monitor/stat"
	"clipledger/schema"
)

// Frames that stay in place: adjusted yearly means where some are missing, and
// the mixed model of frames and years.

// spot is the value of one frame in one year.
type spot struct {
	name  schema.FrameName
	year  int // place in the years used
	value float64
}

// spots are the frames of a series whose site keeps its frames in place, by
// name and year; frames are counted from 0 in the order of their names.
type spots struct {
	list   []spot
	frame  []int
	names  []schema.FrameName
	years  []int // growth years used
	absent int   // frames × years without a value
}

// spotsOf gathers the frames of the years that have values. It gives nil where
// the frames' values are not at hand: totals of components on frames of their
// own.
func (s *Series) spotsOf(names map[int64]schema.FrameName) *spots {
	out := &spots{}
	for i := range s.Years {
		m := s.Years[i].Mean
		if !s.Years[i].Value.Valid {
			continue
		}
		if len(m.FrameVisits) == 0 {
			return nil
		}
		for k, visit := range m.FrameVisits {
			out.list = append(out.list, spot{names[visit], len(out.years), m.FrameValues[k]})
		}
		out.years = append(out.years, s.Years[i].Year)
	}
	slices.SortFunc(out.list, func(a, b spot) int { return cmp.Or(compareFrames(a.name, b.name), a.year-b.year) })
	for i := range out.list {
		if i == 0 || out.list[i].name != out.list[i-1].name {
			out.names = append(out.names, out.list[i].name)
		}
		out.frame = append(out.frame, len(out.names)-1)
	}
	out.absent = len(out.names)*len(out.years) - len(out.list)
	return out
}

func compareFrames(a, b schema.FrameName) int {
	caged := 0
	if a.Caged != b.Caged {
		caged = 1
		if b.Caged {
			caged = -1
		}
	}
	return cmp.Or(strings.Compare(a.Transect, b.Transect), strings.Compare(a.Frame, b.Frame), caged)
}

// arrays gives values, frames and years as monitor/stat takes them; years as
// places or as growth years.
func (p *spots) arrays(calendar bool) (y []float64, frame, year []int) {
	for _, v := range p.list {
		y = append(y, v.value)
		if calendar {
			year = append(year, p.years[v.year])
		} else {
			year = append(year, v.year)
		}
	}
	return y, p.frame, year
}

// weights are how much each frame counts in the level of the means: alike, or
// alike within transects where those are the sampling units.
func (p *spots) weights(unit string) []float64 {
	frames := map[string]int{}
	for _, n := range p.names {
		frames[n.Transect]++
	}
	out := make([]float64, len(p.names))
	for i, n := range p.names {
		out[i] = 1
		if unit == "transect" {
			out[i] = 1 / float64(frames[n.Transect])
		}
	}
	return out
}

// adjust replaces the years' values by frame-adjusted means where frames stay
// in place and some are missing in some years.
func (s *Series) adjust(p *spots) {
	if p == nil || p.absent == 0 || len(p.years) < 2 {
		return
	}
	y, frame, year := p.arrays(false)
	means, ok := stat.FrameYearMeans(y, frame, year, p.weights(s.Site.SamplingUnit))
	if !ok {
		s.warn("not-frame-adjusted", "the frames stay in place, but some years share none with the others, by transect and frame: the plain means are used, and a change of frames can make a trend")
		return
	}
	next := 0
	for i := range s.Years {
		if s.Years[i].Value.Valid {
			s.Years[i].Value = schema.Some(means[next])
			next++
		}
	}
	s.FrameAdjusted = true
	s.noteAdjusted()
}

func (s *Series) noteAdjusted() {
	s.note("frame-adjusted", "frame-adjusted: frames that stay in place are missing in some years, so the values are least-squares means of frame + year, and differ from the occasions' means")
}

// adjustTotal takes the total of components on frames of their own from their
// adjusted values.
func (s *Series) adjustTotal(parts []*Series) {
	if !slices.ContainsFunc(parts, func(p *Series) bool { return p.FrameAdjusted }) {
		return
	}
	for i := range s.Years {
		y := &s.Years[i]
		sum := 0.0
		for _, p := range parts {
			v := p.valueOf(y.Year)
			y.Value.Valid = y.Value.Valid && v.Valid
			sum += v.Float64
		}
		if y.Value.Valid {
			y.Value.Float64 = sum
		}
	}
	s.FrameAdjusted = true
	s.noteAdjusted()
}

// valueOf is the value of a growth year.
func (s *Series) valueOf(year int) Num {
	for i := range s.Years {
		if s.Years[i].Year == year {
			return s.Years[i].Value
		}
	}
	return Num{}
}

// mixed fits the model of frames and years, where there are frames that stay
// in place. Where it finds no spread between years beside the frames', its
// standard error would count the frames of one year as independent: the yearly
// series speaks then.
func (c *trendMath) mixed(s *Series, p *spots) (Trend, bool) {
	if p == nil || len(p.names) < 2 || len(p.years) < yearsForSlope {
		return Trend{}, false
	}
	y, frame, year := p.arrays(true)
	m, err := stat.FrameYearTrend(y, frame, year)
	if errors.Is(err, stat.ErrTooFew) {
		return Trend{}, false
	}
	t := newTrend(MethodMixed, p.years)
	if err != nil {
		t.warn("mixed-no-answer", "the mixed model has no answer: "+err.Error())
		return t, true
	}
	s.Components = &m
	if m.YearSingular {
		return c.fallBack(s), true
	}
	t.setSlope(m.Slope, s.Mean.Float64)
	c.judge(&t, stat.Coefficient{Estimate: m.Slope, SE: m.SE}, m.DF, yearsForTrend)
	return t, true
}

// fallBack is the yearly series' answer in the place of the mixed model's.
func (c *trendMath) fallBack(s *Series) Trend {
	t := c.ols(s)
	t.Method = MethodMixed
	t.note("mixed-singular", "the mixed model finds no variance between years beside that of the frames: the numbers are those of the yearly series with T - 2 degrees of freedom")
	return t
}
