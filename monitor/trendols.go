package monitor

import (
	"sync"

	"clipledger/monitor/stat"
	"clipledger/schema"
)

// What least squares and Theil-Sen with Mann-Kendall say of a yearly series.
// Sources stand with the formulas in monitor/stat.

// trendMath is what the working out of trends shares. It may be used by
// several goroutines at once.
type trendMath struct {
	confidence float64
	t          stat.TTable
	mu         sync.Mutex
	effects    map[float64]Num // detectable effects by degrees of freedom
}

func newTrendMath(confidence float64) *trendMath {
	return &trendMath{confidence: confidence, effects: map[float64]Num{}}
}

func (c *trendMath) alpha() float64 { return 1 - c.confidence }

// detectable is the smallest slope that would be found with TrendPower, from
// the slope's standard error.
func (c *trendMath) detectable(se, df float64) Num {
	c.mu.Lock()
	effect, ok := c.effects[df]
	c.mu.Unlock()
	if !ok {
		e, found := stat.DetectableEffect(c.alpha(), TrendPower, df, &c.t)
		effect = Num{Float64: e, Valid: found}
		c.mu.Lock()
		c.effects[df] = effect
		c.mu.Unlock()
	}
	if !effect.Valid || !(se > 0) {
		return Num{}
	}
	return schema.Some(effect.Float64 * se)
}

// verdict is what a slope with its p comes to.
func (c *trendMath) verdict(slope, p float64) TrendVerdict {
	switch {
	case p >= c.alpha() || slope == 0:
		return NoTrend
	case slope > 0:
		return Increasing
	}
	return Decreasing
}

// newTrend begins a method's answer.
func newTrend(method string, years []int) Trend {
	return Trend{Method: method, YearsUsed: years}
}

// setSlope fills in a slope and what it is in percent of a mean.
func (t *Trend) setSlope(slope, mean float64) {
	t.Slope = schema.Some(slope)
	t.SlopePct = percentOf(t.Slope, schema.Some(mean))
}

// judge fills in interval, t, p, verdict and the smallest detectable trend of
// a coefficient. With fewer years than needed only the interval is given.
func (c *trendMath) judge(t *Trend, b stat.Coefficient, df float64, needed int) {
	t.SE, t.DF = schema.Some(b.SE), schema.Some(df)
	t.CI = intervalOf(b.Interval(c.confidence, df, &c.t))
	if len(t.YearsUsed) < needed {
		t.Verdict = TooFewYears
		return
	}
	if ratio, p, ok := b.Test(df); ok {
		t.Statistic, t.P = schema.Some(ratio), schema.Some(p)
		t.Verdict = c.verdict(b.Estimate, p)
	}
	t.MinDetectable = c.detectable(b.SE, df)
}

// ols is the verdict: least squares on the yearly series.
func (c *trendMath) ols(s *Series) Trend {
	years, x, y := s.values()
	t := newTrend(MethodOLS, years)
	fit, ok := stat.LeastSquares(y, x)
	if !ok {
		t.Verdict = TooFewYears
		return t
	}
	t.setSlope(fit.Slopes[0].Estimate, s.Mean.Float64)
	if fit.Exact {
		c.exact(&t, fit, yearsForTrend)
		return t
	}
	c.judge(&t, fit.Slopes[0], fit.DF, yearsForTrend)
	return t
}

// exact judges a fit that leaves nothing over: values that do not vary, or
// that lie on a line.
func (c *trendMath) exact(t *Trend, fit stat.LinearFit, needed int) {
	t.DF = schema.Some(fit.DF)
	if len(t.YearsUsed) < needed {
		t.Verdict = TooFewYears
		return
	}
	slope := fit.Slopes[0].Estimate
	if fit.TSS == 0 {
		t.Verdict = NoTrend
		if !t.SlopePct.Valid {
			t.note("all-equal", "every year is zero: nothing varies, so there is no interval, no p and no smallest detectable trend")
			return
		}
		t.warn("all-equal", "all years have the same value: nothing varies, so there is no interval, no p and no smallest detectable trend; look whether these are measurements")
		return
	}
	t.SE, t.P = schema.Some(0), schema.Some(0)
	t.CI = Interval{t.Slope, t.Slope}
	t.Verdict = c.verdict(slope, 0)
	if slope == 0 {
		t.P = Num{}
	}
	t.warn("exact-line", "the values lie exactly on a line: the interval has no width; look whether these are measurements")
}

// theilSen is the slope of most pairs, with the test of Mann and Kendall.
func (c *trendMath) theilSen(s *Series) (Trend, bool) {
	years, x, y := s.values()
	t := newTrend(MethodTheilSen, years)
	if len(y) < yearsForSlope {
		return t, false
	}
	pairs := stat.PairSlopesOf(x, y)
	slope, ok := pairs.Median()
	if !ok {
		return t, false
	}
	t.setSlope(slope, s.Mean.Float64)
	k, tested := stat.MannKendall(x, y)
	if i, ok := pairs.Interval(k.Variance, c.confidence); ok {
		t.CI = intervalOf(i)
	} else if tested {
		t.note("no-rank-interval", "too few pairs of years for an interval of the Theil-Sen slope")
	}
	if len(y) < yearsForTrend {
		t.Verdict = TooFewYears
		return t, true
	}
	c.judgeKendall(&t, k, tested)
	return t, true
}

func (c *trendMath) judgeKendall(t *Trend, k stat.Kendall, tested bool) {
	t.Statistic, t.P = schema.Some(float64(k.S)), schema.Some(1)
	if tested {
		t.P = schema.Some(k.P)
	}
	t.PExact = k.Exact
	t.Verdict = c.verdict(float64(k.S), t.P.Float64) // the direction is that of S: the median slope can be 0
}
