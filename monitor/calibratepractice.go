package monitor

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"time"

	"clipledger/monitor/stat"
	"clipledger/schema"
)

// What should an observer practise, and do the errors shrink with time?

// What is worth practising. Both limits are conventions of this program, and
// are printed with what they decide.
const (
	offBy      = 0.10 // a third of the frames is off where its ratio is further than this from 1, beyond chance
	unsteadyAt = 25.0 // percent of the mean weight by which single estimates scatter
	thirdLeast = 3    // frames in a third, at least
)

// Practice is something to practise: code is low-on-light, high-on-light,
// low-on-heavy, high-on-heavy or unsteady.
type Practice struct {
	Code string
	Text string
}

// practise compares the lightest and the heaviest third of the frames in which
// something was clipped, by clipped weight: sorted by that, chance errors of
// the estimates do not choose the group. The ratio of sums has the variance of a ratio estimate, with t on
// m − 1 degrees of freedom (Cochran 1977 ch. 6, from memory). The scatter is
// what remains around a straight line of the error on the clipped weight.
func (c *calibrator) practise(k *Calibration, pairs []judgedFrame) {
	sorted := slices.DeleteFunc(slices.Clone(pairs), func(p judgedFrame) bool { return p.clipped == 0 })
	slices.SortStableFunc(sorted, func(a, b judgedFrame) int { return cmp.Compare(a.clipped, b.clipped) })
	if third := len(sorted) / 3; third >= thirdLeast {
		k.Light, k.Heavy = c.third(sorted[:third]), c.third(sorted[len(sorted)-third:])
	}
	var errs, weights []float64
	for _, p := range pairs {
		errs, weights = append(errs, p.err()), append(weights, p.clipped)
	}
	if line, ok := stat.LeastSquares(errs, weights); ok {
		_, p, tested := line.Slopes[0].Test(line.DF)
		k.Line = ErrorLine{schema.Some(line.Slopes[0].Estimate), some(p, tested)}
		k.ScatterPct = some(100*math.Sqrt(line.RSS/line.DF)/k.MeanClipped.Float64, k.MeanClipped.Float64 > 0)
	}
	k.offOn("light", k.Light)
	k.offOn("heavy", k.Heavy)
	if k.ScatterPct.Valid && k.ScatterPct.Float64 >= unsteadyAt {
		k.Practice = append(k.Practice, Practice{"unsteady", fmt.Sprintf("single estimates scatter by %.0f %% of the mean weight (unsteady from %g %%)", k.ScatterPct.Float64, unsteadyAt)})
	}
}

func (c *calibrator) third(pairs []judgedFrame) Third {
	t := Third{N: len(pairs)}
	r, ok := stat.RatioOf(columns(pairs))
	if !ok {
		return t
	}
	t.Ratio = schema.Some(r.R)
	if r.VarianceOK && r.Variance > 0 {
		t.CI = intervalOf(stat.TInterval(r.R, math.Sqrt(r.Variance), c.t.Quantile((1+c.confidence)/2, float64(r.M-1))))
	}
	return t
}

// offOn notes a third whose estimates are off by a tenth or more, with an
// interval that leaves 1 out.
func (k *Calibration) offOn(which string, t Third) {
	if !t.Ratio.Valid || !t.CI.Low.Valid || math.Abs(t.Ratio.Float64-1) < offBy {
		return
	}
	word := "high"
	if t.Ratio.Float64 < 1 {
		word = "low"
	}
	if t.CI.Low.Float64 <= 1 && t.CI.High.Float64 >= 1 {
		return
	}
	k.Practice = append(k.Practice, Practice{word + "-on-" + which, fmt.Sprintf("%s plots: the estimates of the %sest third (%d frames) are %.2f of the clipped weight, interval %.2f to %.2f",
		which, stem(which), t.N, t.Ratio.Float64, t.CI.Low.Float64, t.CI.High.Float64)})
}

func stem(word string) string {
	if word == "heavy" {
		return "heavi"
	}
	return word
}

// Learning is a straight line of the mean absolute error of each date, in
// percent of that date's mean clipped weight, over the dates. A date counts
// once however many frames it had, since errors of one day go together.
type Learning struct {
	Dates             int
	First, Last       string // dates
	FirstPct, LastPct Num    // on the line
	PctPerYear, P     Num
	Undated           int // frames
}

// learningOf needs three dates on which something was clipped. P is the t test
// of the slope with dates − 2 degrees of freedom.
func learningOf(pairs []judgedFrame) Learning {
	var l Learning
	type day struct{ err, weight float64 }
	days := map[string]*day{}
	for _, p := range pairs {
		if p.frame.date == "" {
			l.Undated++
			continue
		}
		d := days[p.frame.date]
		if d == nil {
			d = &day{}
			days[p.frame.date] = d
		}
		d.err += math.Abs(p.err())
		d.weight += p.clipped
	}
	var x, y []float64
	for _, date := range sortedKeys(days) {
		at, err := time.Parse(time.DateOnly, date)
		if err != nil || days[date].weight == 0 {
			continue
		}
		if len(x) == 0 {
			l.First = date
		}
		l.Last = date
		x = append(x, float64(at.Unix())/86400/365.25)
		y = append(y, 100*days[date].err/days[date].weight)
	}
	l.Dates = len(x)
	if l.Dates < 3 {
		return l
	}
	line, ok := stat.LeastSquares(y, x)
	if !ok {
		return l
	}
	slope, intercept := line.Slopes[0].Estimate, line.Intercept.Estimate
	_, p, tested := line.Slopes[0].Test(line.DF)
	l.PctPerYear, l.P = schema.Some(slope), some(p, tested)
	l.FirstPct, l.LastPct = schema.Some(intercept+slope*x[0]), schema.Some(intercept+slope*x[len(x)-1])
	return l
}

func sortedKeys[T any](m map[string]T) []string {
	out := make([]string, 0, len(m))
	for k := range m {
		out = append(out, k)
	}
	slices.Sort(out)
	return out
}
