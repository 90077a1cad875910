package monitor

import (
	"fmt"
	"math"

	"clipledger/monitor/stat"
	"clipledger/schema"
)

// What varies at a site: frames (or transects) within a year, and years.
//
// Within a year: the variance of the sampling units, pooled over the years,
// and that of the drying ratios. Between years, about the trend: the mixed
// model's variances where frames stay in place; else the variance about the
// line of least squares less what sampling explains of it, not below 0.

// effort is what is clipped at a visit.
type effort struct {
	units  float64 // sampling units: frames, or transects
	frames float64 // in each unit
}

// plannedSite is a series with what planning needs of it. Variances are
// (g/m²)².
type plannedSite struct {
	series    *Series
	costs     PlanCosts
	years     []int          // with values
	past      map[int]effort // by year
	now       effort         // of the latest year
	transects bool           // transects are the sampling units
	apart     bool           // a total of components on frames of their own
	usable    bool           // the variance between units is known, and the mean is above 0

	between, within float64 // of units; within 0 where frames are the units
	frameYear       float64 // of one frame in one year beside frame and year, where frames stay in place; else 0
	stay            bool
	drying          float64
	dryingDF        float64
	year            float64
	yearKnown       bool
	remarks         []Remark
}

func sqrt(x float64) float64 { return math.Sqrt(math.Max(0, x)) }

// planned works out what planning needs of a series.
func (p *planner) planned(s *Series) *plannedSite {
	out := &plannedSite{series: s, costs: p.costs(s.Site.Site), past: map[int]effort{}, transects: s.Site.SamplingUnit == "transect"}
	out.years, _, _ = s.values()
	for i := range s.Years {
		if s.Years[i].Value.Valid {
			out.readEffort(s.Years[i].Mean)
		}
	}
	out.withinYears()
	out.betweenYears()
	return out
}

func (s *plannedSite) note(code, format string, args ...any) {
	s.remarks = append(s.remarks, oneRemark(code, format, args...)...)
}

// readEffort notes what was clipped in a year. Totals of components on frames
// of their own have no frames of the total.
func (s *plannedSite) readEffort(m *Mean) {
	if len(m.FrameValues) == 0 {
		s.apart = true
	}
	e := effort{float64(m.N), 1}
	if s.transects && m.N > 0 && len(m.FrameValues) > 0 {
		e.frames = float64(len(m.FrameValues)) / float64(m.N)
	}
	s.past[m.Year], s.now = e, e
}

func (s *plannedSite) pastEffort(year int) effort { return s.past[year] }

// framesEach is how many frames each transect gets when so many more are
// clipped at the site, one at least.
func (s *plannedSite) framesEach(more int) int {
	return max(1, int(math.Ceil(float64(more)/math.Max(1, s.now.units))))
}

// minutes of a visit.
func (s *plannedSite) minutes(e effort) float64 {
	lines := e.units
	if !s.transects {
		lines = 0 // frames may lie on any number of lines; none is known
	}
	return s.costs.Travel + e.units*e.frames*s.costs.Frame + lines*s.costs.Transect
}

// withinYears pools the variances within years.
func (s *plannedSite) withinYears() {
	var squares, df, between, within, drying, dryingParts, staged, years float64
	for i := range s.series.Years {
		m := s.series.Years[i].Mean
		if !s.series.Years[i].Value.Valid {
			continue
		}
		years++
		if m.SD.Valid {
			squares += float64(m.N-1) * m.SD.Float64 * m.SD.Float64
			df += float64(m.N - 1)
		}
		if t := m.Transects; t != nil {
			between, within, staged = between+t.Between, within+t.Within, staged+1
		}
		d, parts := dryingOf(m)
		drying, dryingParts = drying+d, dryingParts+parts
	}
	switch {
	case years == 0:
		s.note("no-values", "no year has a value")
	case s.apart:
		s.note("apart", "a total of components on frames of their own: plan its components (--component)")
	case s.series.Mean.Valid && s.series.Mean.Float64 <= 0:
		s.note("all-zero", "nothing was found in any year")
	case df == 0 || squares == 0:
		s.note("no-spread", "one sampling unit a year, or all alike: how frames vary is not known")
	default:
		s.usable = true
	}
	if df > 0 {
		s.between = squares / df
	}
	if staged > 0 {
		s.between, s.within = between/staged, within/staged
	}
	if years > 0 {
		s.drying = drying / years
	}
	if dryingParts > 0 {
		s.dryingDF = drying * drying / dryingParts / years
	}
}

// dryingOf is the variance of the drying ratios in a mean, and that variance
// squared over its degrees of freedom, from those of the whole (Satterthwaite
// taken apart).
func dryingOf(m *Mean) (variance, part float64) {
	if !m.SEDrying.Valid || m.SEDrying.Float64 == 0 || !m.DF.Valid || m.N < 2 {
		return 0, 0
	}
	d := m.SEDrying.Float64 * m.SEDrying.Float64
	all := m.SE.Float64 * m.SE.Float64
	frames := all - d
	return d, math.Max(0, all*all/m.DF.Float64-frames*frames/float64(m.N-1))
}

// unit is the variance of a sampling unit with so many frames.
func (s *plannedSite) unit(frames float64) float64 {
	return s.between + s.within/math.Max(1, frames)
}

// betweenYears finds the variance of years about the trend.
func (s *plannedSite) betweenYears() {
	if !s.usable {
		return
	}
	if len(s.years) < yearsForTrend {
		s.note("years-unknown", "%s with values: how years differ is not known with fewer than %d, so nothing is said of trends", yearsWord(len(s.years)), yearsForTrend)
		return
	}
	if m := s.series.Components; m != nil {
		s.stay, s.frameYear, s.year, s.yearKnown = true, m.ResidualVar, m.YearVar, true
	} else {
		_, x, y := s.series.values()
		fit, ok := stat.LeastSquares(y, x)
		if !ok {
			return
		}
		var sampling float64
		for _, year := range s.years {
			e := s.past[year]
			sampling += (s.unit(e.frames)/e.units + s.drying) / float64(len(s.years))
		}
		s.year, s.yearKnown = math.Max(0, fit.RSS/fit.DF-sampling), true
	}
	if s.year == 0 {
		s.note("year-zero", "%s show no variance between years beside that of the frames: taken as 0, though few years cannot exclude some", yearsWord(len(s.years)))
	}
	s.note("year-estimate", "the variance between years is an estimate from %s: the years ahead are a guide, not a promise", yearsWord(len(s.years)))
}

// yearly is the variance of a yearly value about the trend.
func (s *plannedSite) yearly(e effort) float64 {
	return s.year + s.sampling(e)
}

// sampling is the part of it that frames and drying make.
func (s *plannedSite) sampling(e effort) float64 {
	if s.stay {
		return s.frameYear / math.Max(1, e.units*e.frames)
	}
	return s.unit(e.frames)/math.Max(1, e.units) + s.drying
}

// halfPct is the half-width of a year's interval in percent of the mean, at
// the confidence at which adequacy wants its precision, drying included.
func (p *planner) halfPct(s *plannedSite, e effort) Num {
	if e.units < 2 {
		return Num{}
	}
	frames := s.unit(e.frames) / e.units
	if n := float64(s.series.Site.UnitsPossible); n > e.units && !s.transects {
		frames *= 1 - e.units/n
	}
	parts := []stat.VariancePart{{Variance: frames, DF: e.units - 1}}
	if s.drying > 0 {
		df := s.dryingDF
		if !(df > 0) {
			df = math.Inf(1)
		}
		parts = append(parts, stat.VariancePart{Variance: s.drying, DF: df})
	}
	v, df, ok := stat.Satterthwaite(parts)
	if !ok {
		return Num{}
	}
	t := p.math.t.Quantile(upper(p.rules.Precision), df)
	return percentOf(schema.Some(t*math.Sqrt(v)), s.series.Mean)
}

// wantedPct is the precision that adequacy wants.
func (p *planner) wantedPct() float64 { return Percent(p.rules.Precision.Relative) }

// unitsFor is the smallest effort that reaches the wanted precision: with more
// frames, or more transects where those are the units.
func (p *planner) unitsFor(s *plannedSite) (effort, bool) {
	for e := (effort{2, s.now.frames}); e.units <= 500; e.units++ {
		if h := p.halfPct(s, e); h.Valid && h.Float64 <= p.wantedPct() {
			return e, true
		}
	}
	return effort{}, false
}

// unitWord names sampling units.
func (s *plannedSite) unitWord(n float64) string {
	word := "frame"
	if s.transects {
		word = "transect"
	}
	if n != 1 {
		word += "s"
	}
	return fmt.Sprintf("%.0f %s", n, word)
}
