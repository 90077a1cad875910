package monitor

import (
	"fmt"
	"strings"

	"clipledger/monitor/stat"
	"clipledger/schema"
)

// What a reader must know beside a double sample.

func (m *DoubleMean) note(code, format string, args ...any) {
	m.Remarks = append(m.Remarks, Remark{Code: code, Text: fmt.Sprintf(format, args...)})
}

func (m *DoubleMean) warn(code, format string, args ...any) {
	m.Remarks = append(m.Remarks, Remark{Code: code, Text: fmt.Sprintf(format, args...), Loud: true})
}

func (d *doubler) remarks(m *DoubleMean, set *doubleSet, e stat.Estimator, q *DoubleQuery) {
	m.remarkWithout(set, e)
	m.remarkSample(set)
	if e != stat.DirectEstimator && m.Mean.Valid {
		m.remarkFactor(d.c.query.unit())
	}
	if set.dry > 0 && set.bookDry > 0 {
		m.note("book-values", "%.0f %% of the clipped dry weight rests on book values (%s)", 100*set.bookDry/set.dry, strings.Join(d.c.tables, ", "))
	}
	if q.Pooled {
		m.note("pooled", "observers pooled: a frame's estimate is the mean of its observers' estimates")
	}
	if m.Mean.Valid && m.Mean.Float64 < 0 {
		m.warn("below-zero", "the line leads below zero: no weight can be; look at the estimates of the clipped frames")
	}
}

// remarkWithout says why there is no answer, or no interval.
func (m *DoubleMean) remarkWithout(set *doubleSet, e stat.Estimator) {
	alike, sum := true, 0.0
	for _, f := range set.frames[:set.clipped] {
		alike = alike && f.x == set.frames[0].x
		sum += f.x
	}
	switch {
	case set.clipped == 0:
		m.warn("none-clipped", "%s estimated, none of them clipped: no answer", framesWord(m.Estimated))
	case e == stat.RatioEstimator && sum == 0:
		m.warn("nothing-estimated", "the estimates of the clipped frames are all nothing: no ratio")
	case e == stat.RegressionEstimator && alike:
		m.note("all-alike", "the estimates of the clipped frames are all the same: no regression")
	case m.Site.SamplingUnit == "transect":
		m.warn("transects", "the site's sampling units are transects, and these formulas take frames as units: no interval")
	case e == stat.RegressionEstimator && set.clipped < 3:
		m.note("few-clipped", "a regression needs 3 clipped frames for an interval")
	case set.clipped < 2:
		m.note("few-clipped", "one clipped frame: no interval")
	case !m.SE.Valid:
		m.note("no-spread", "the clipped frames do not vary around the estimates: no interval")
	case set.clipped < fewClipped && e != stat.DirectEstimator:
		m.note("few-clipped", "fewer than %d clipped frames: ratio and regression are biased in small samples", fewClipped)
	}
}

// remarkSample says which frames the answer is without.
func (m *DoubleMean) remarkSample(set *doubleSet) {
	if set.notEstimated > 0 {
		m.note("not-estimated", "%s clipped and not estimated by %s: left out here, though means has them", framesWord(set.notEstimated), m.Observer)
	}
	if set.lost > 0 {
		m.note("lost", "%s estimated and clipped lack a dry weight: they count as estimated only", framesWord(set.lost))
	}
	if set.noArea > 0 {
		m.warn("no-area", "%d estimated in grams in a frame of unknown size: left out; name the frame type in the estimates or declare the site's", set.noArea)
	}
	if set.notStanding > 0 {
		m.note("open-frames", "%s estimated outside cages left out: production is from caged frames", framesWord(set.notStanding))
	}
	if set.otherState > 0 {
		m.note("other-state", "%d estimates in the other state than %s left out", set.otherState, m.State)
	}
	if set.clipped > 0 && set.clipped == m.Estimated {
		m.note("all-clipped", "every estimated frame was clipped: estimating added nothing")
	}
}

// remarkFactor says what carried the estimates over to clipped weight.
func (m *DoubleMean) remarkFactor(unit Unit) {
	if len(m.Factors) > 0 {
		var words []string
		for _, f := range m.Factors {
			words = append(words, fmt.Sprintf("%s %.3g", f.shown(), f.Factor))
		}
		m.note("part-factors", "corrected part by part, clipped ÷ estimated: %s; one factor for all would give %.*f %s", strings.Join(words, ", "), unit.Decimal, unit.Of(m.OneFactor.Float64), unit.Name)
	} else if m.Factor.Valid {
		m.note("factor", "%s %.3g", map[string]string{EstimatorRatio: "clipped ÷ estimated is", EstimatorRegression: "the slope of clipped on estimated is"}[m.Estimator], m.Factor.Float64)
	}
	if m.State == schema.StateGreen {
		m.note("green", "estimated green and clipped dry: the factor carries the dry matter too")
	}
}
