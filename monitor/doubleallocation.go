package monitor

import (
	"fmt"

	"clipledger/monitor/stat"
)

// How many frames should be estimated and how many clipped another time? From
// the spread found and the cost of a clipped frame over that of an estimated
// one (Cochran 1977 ch. 12, from memory): stat.DoubleMean.Allocate. The error
// of drying ratios is not in it: more frames do not shrink that.

// fewClipped is the number of clipped frames below which ratio and regression
// are called biased.
const fewClipped = 5

// allocate fills in the allocation of the ratio and the regression.
func (d *doubler) allocate(m *DoubleMean, answer *stat.DoubleMean, s *stat.DoubleSample, e stat.Estimator, q *DoubleQuery) {
	if q.CostRatio == 0 || e == stat.DirectEstimator || !answer.VarianceOK {
		return
	}
	p := d.c.rules.Precision
	p.Possible = 0
	if q.Precision > 0 {
		p.Relative = q.Precision
	}
	lost := 1
	if e == stat.RegressionEstimator {
		lost = 2
	}
	alone, _ := stat.MomentsOf(s.Y).Variance()
	a, ok := answer.Allocate(q.CostRatio, alone, lost, p, &d.c.t)
	if !ok {
		m.note("no-allocation", "no best number of clipped frames can be had from these")
		return
	}
	m.Allocation = &Allocation{CostRatio: q.CostRatio, EstimatedPerClipped: a.JudgedPerMeasured, Precision: p.Relative, Confidence: p.Confidence,
		Clipped: a.Measured, Estimated: a.Judged, ClippedAlone: a.MeasuredAlone}
	m.remarkAllocation()
}

func (m *DoubleMean) remarkAllocation() {
	a := m.Allocation
	text := ""
	if a.ClippedAlone > 0 {
		word := "dearer"
		if float64(a.ClippedAlone)*a.CostRatio > float64(a.Clipped)*a.CostRatio+float64(a.Estimated) {
			word = "cheaper"
		}
		text = "; clipping alone would take " + framesWord(a.ClippedAlone) + ", so estimating is " + word
	}
	if a.Clipped < fewClipped {
		text += fmt.Sprintf("; clip %d at least all the same, since smaller samples bias the answer", fewClipped)
	}
	m.note("allocation", "a clipped frame costing %g estimated ones, best are %.1f estimated per clipped: ±%g %% at %g %% confidence takes %d estimated and %d of them clipped%s",
		a.CostRatio, a.EstimatedPerClipped, Percent(a.Precision), Percent(a.Confidence), a.Estimated, a.Clipped, text)
}
