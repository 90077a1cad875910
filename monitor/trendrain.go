package monitor

import (
	"fmt"

	"clipledger/monitor/stat"
	"clipledger/schema"
)

// Is it the rain? Least squares of the yearly values on year and rain
// together. A trend in what a regression on rain leaves over would be biased
// toward zero wherever the rain itself trends, and gets no p here.

// addRain puts the rain of the site beside the years of a series.
func (s *Series) addRain(rain *SiteRain) {
	if rain == nil {
		return
	}
	s.Rain = &SeriesRain{SiteRain: rain}
	for i := range s.Years {
		y := &s.Years[i]
		var lacks []schema.Month
		if y.RainMM, lacks = rain.Of(y.Year); !y.RainMM.Valid {
			y.RainWhy = "no record of " + monthsText(lacks)
		}
		y.RainPct = percentOf(y.RainMM, rain.MeanMM)
		y.RainUse = RainUse(y.Value, y.RainMM)
	}
}

// withRain are the years with a value and rain.
func (s *Series) withRain() (years []int, x, y, z []float64) {
	for i := range s.Years {
		v := &s.Years[i]
		if v.Value.Valid && v.RainMM.Valid {
			years = append(years, v.Year)
			x, y, z = append(x, float64(v.Year)), append(y, v.Value.Float64), append(z, v.RainMM.Float64)
		}
	}
	return years, x, y, z
}

// olsRain fits year and rain together; no trend is returned where no year has
// both a value and rain.
func (c *trendMath) olsRain(s *Series) (Trend, bool) {
	if s.Rain == nil {
		return Trend{}, false
	}
	years, x, y, z := s.withRain()
	r := s.Rain
	r.YearsUsed = years
	t := newTrend(MethodOLSRain, years)
	if !r.Known {
		r.Why = fmt.Sprintf("the ledger holds no rain of station %q", r.Station)
		return t, false
	}
	if len(years) == 0 {
		r.Why = fmt.Sprintf("no year with a value has all its rain (%s, months %s)", r.Station, r.Window)
		return t, false
	}
	r.describe(x, z)
	t.Verdict = TooFewYears
	if len(years) < yearsWithRain {
		r.Why = fmt.Sprintf("rain is known in %s with values, and %d are needed", yearsWord(len(years)), yearsWithRain)
	}
	fit, ok := stat.ChangeInSlope(y, x, z)
	if !ok {
		r.cannotTell(&t, z)
		return t, true
	}
	r.Mean = schema.Some(stat.MomentsOf(y).Mean())
	t.setSlope(fit.Joint.Slopes[0].Estimate, r.Mean.Float64)
	c.judgeRain(&t, r, fit)
	return t, true
}

// cannotTell says why rain and year cannot be told apart.
func (r *SeriesRain) cannotTell(t *Trend, z []float64) {
	if len(t.YearsUsed) < yearsWithRain {
		return
	}
	t.Verdict = ""
	r.Why = "rain runs along a straight line over the years, so that the two cannot be told apart"
	if m := stat.MomentsOf(z); len(z) > 1 {
		if sd, _ := m.SD(); sd == 0 {
			r.Why = "the rain is the same in every year"
		}
	}
	t.warn("rain-no-answer", r.Why)
}

// describe fills in how the rain goes with the years.
func (r *SeriesRain) describe(x, z []float64) {
	if v, ok := stat.Correlation(x, z); ok && len(x) >= yearsForSlope {
		r.Correlation = schema.Some(v)
	}
	if f, ok := stat.LeastSquares(z, x); ok {
		r.RainSlope = schema.Some(f.Slopes[0].Estimate)
	}
}

// judgeRain fills in the slope with rain held and what rain makes of it.
func (c *trendMath) judgeRain(t *Trend, r *SeriesRain, fit stat.SlopeChange) {
	joint, df := fit.Joint, fit.Joint.DF
	if joint.Exact {
		c.exact(t, joint, yearsWithRain)
	} else {
		c.judge(t, joint.Slopes[0], df, yearsWithRain)
	}
	if len(t.YearsUsed) < yearsWithRain {
		return
	}
	interval := func(b stat.Coefficient, df float64) (Num, Interval) {
		return schema.Some(b.Estimate), intervalOf(b.Interval(c.confidence, df, &c.t))
	}
	r.Alone, r.AloneCI = interval(fit.Alone.Slopes[0], fit.Alone.DF)
	r.Held, r.HeldCI = interval(joint.Slopes[0], df)
	r.PerMM, r.PerMMCI = interval(joint.Slopes[1], df)
	r.Change, r.ChangeCI = interval(fit.Change, df)
}
