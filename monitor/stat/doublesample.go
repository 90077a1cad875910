// What is the mean of a thing measured on few units, where a cheap judgement
// of it was made on many?
//
// Double sampling: n' units are judged (x), n of them, drawn at random, are
// also measured (y). The ratio or the slope between y and x on the n carries
// the mean judgement over to y. Three estimators stand side by side; which one
// speaks is decided before the data are seen, by the caller.
//
//	ratio         R·x̄',  R = Σy/Σx
//	regression    ȳ + b(x̄' - x̄)
//	clipped only  ȳ, without the judgements
//
// x may be in another state or unit than y (grams as they grow against dry
// grams): R and b carry the conversion. Assumes that the n are a random part
// of the n' and the n' of the population; ratio and regression are biased in
// small samples, the ratio more so where the line does not pass the origin.
// Source: Cochran (1977) ch. 12 (from memory); the two parts of a variance get
// their degrees of freedom by Satterthwaite.

package stat

import "math"

// DoubleSample is judgements on all units, and judgement with measurement on
// the measured ones. All includes the judgements in X.
type DoubleSample struct {
	All  []float64 // x of all n' units
	X, Y []float64 // of the n measured ones, in the same order
}

// Estimator names one of the three.
type Estimator int

// The estimators.
const (
	RatioEstimator Estimator = iota
	RegressionEstimator
	DirectEstimator
)

// DoubleMean is one estimator's answer.
type DoubleMean struct {
	Mean       float64
	Factor     float64 // R or b; 0 for the direct one
	Parts      []VariancePart
	Variance   float64 // only if VarianceOK
	DF         float64
	VarianceOK bool // false where n or n' are too few, or nothing varies
	// Weights say what each measured unit's y counts in the mean.
	Weights []float64
	// Rest and First are the variances of a single unit that the two phases
	// leave: variance of the mean ≈ Rest/n + First/n'.
	Rest, First float64
}

// Mean works out one estimator. There is none without measured units; the ratio
// needs judgements that do not sum to 0, the regression judgements that differ.
func (d DoubleSample) Mean(e Estimator) (DoubleMean, bool) {
	s, ok := sumsOf(d.X, d.Y)
	if !ok {
		return DoubleMean{}, false
	}
	switch e {
	case RatioEstimator:
		return d.ratio(&s)
	case RegressionEstimator:
		return d.regression(&s)
	}
	return d.direct(&s)
}

// ratio is R·x̄' with
//
//	v = Σ(y-R·x)²/[n(n-1)] + R²·s²x'/n'
//
// on n-1 and n'-1 degrees of freedom.
func (d DoubleSample) ratio(s *pairSums) (DoubleMean, bool) {
	if len(d.All) == 0 || s.meanX == 0 {
		return DoubleMean{}, false
	}
	n, all := float64(s.n), MomentsOf(d.All)
	r, ok := finite(s.meanY / s.meanX)
	if !ok {
		return DoubleMean{}, false
	}
	m := DoubleMean{Mean: r * all.Mean(), Factor: r, Weights: make([]float64, s.n)}
	var rest float64
	for i := range d.X {
		m.Weights[i] = all.Mean() / s.meanX / n
		residual := d.Y[i] - r*d.X[i]
		rest += residual * residual
	}
	spread, spreadOK := all.Variance()
	if s.n < 2 || !spreadOK {
		return m, true
	}
	m.Rest, m.First = rest/(n-1), r*r*spread
	m.vary(m.Rest/n, n-1, all.N())
	return m, true
}

// regression is ȳ + b(x̄'-x̄) with
//
//	v = s²y·x[1/n + (x̄'-x̄)²/SSx] + b²·s²x'/n',  s²y·x = Σ(y-ȳ-b(x-x̄))²/(n-2)
//
// on n-2 and n'-1 degrees of freedom.
func (d DoubleSample) regression(s *pairSums) (DoubleMean, bool) {
	if len(d.All) == 0 || s.ssX == 0 {
		return DoubleMean{}, false
	}
	slope, ok := finite(s.sXY / s.ssX)
	if !ok {
		return DoubleMean{}, false
	}
	n, all := float64(s.n), MomentsOf(d.All)
	shift := all.Mean() - s.meanX
	m := DoubleMean{Mean: s.meanY + slope*shift, Factor: slope, Weights: make([]float64, s.n)}
	for i := range d.X {
		m.Weights[i] = 1/n + (d.X[i]-s.meanX)*shift/s.ssX
	}
	spread, spreadOK := all.Variance()
	if s.n < 3 || !spreadOK {
		return m, true
	}
	m.Rest, m.First = s.rest(slope, d.X, d.Y)/(n-2), slope*slope*spread
	m.vary(m.Rest*(1/n+shift*shift/s.ssX), n-2, all.N())
	return m, true
}

// direct is the mean of the measured units alone, v = s²y/n on n-1.
func (d DoubleSample) direct(s *pairSums) (DoubleMean, bool) {
	n := float64(s.n)
	m := DoubleMean{Mean: s.meanY, Weights: make([]float64, s.n)}
	for i := range m.Weights {
		m.Weights[i] = 1 / n
	}
	if s.n < 2 {
		return m, true
	}
	m.Rest = s.ssY / (n - 1)
	m.Parts = []VariancePart{{m.Rest / n, n - 1}}
	m.Variance, m.DF, m.VarianceOK = Satterthwaite(m.Parts)
	return m, true
}

// vary adds up the two phases' parts of the variance.
func (m *DoubleMean) vary(rest, df float64, all int) {
	m.Parts = []VariancePart{{rest, df}, {m.First / float64(all), float64(all - 1)}}
	m.Variance, m.DF, m.VarianceOK = Satterthwaite(m.Parts)
}

// Allocation is how many units to judge and to measure.
type Allocation struct {
	JudgedPerMeasured float64 // best n'/n, not rounded, never below 1
	Measured, Judged  int     // the smallest that reach the precision, where asked
	MeasuredAlone     int     // measured ones that it would take without judging
}

// BestRatio is the best number of judged units per measured one,
//
//	n'/n = √(C·First/Rest)
//
// C being the cost of measuring a unit over the cost of judging one; in terms
// of the correlation, √(C·r²/(1-r²)) for the regression (Cochran 1977 ch. 12,
// from memory). Never below 1, since the measured ones are judged too. There
// is no answer where the judgements leave nothing unexplained.
func (m DoubleMean) BestRatio(costRatio float64) (float64, bool) {
	if !(costRatio > 0) || math.IsInf(costRatio, 1) || !(m.Rest > 0) {
		return 0, false
	}
	k, ok := finite(math.Sqrt(costRatio * m.First / m.Rest))
	if !ok {
		return 0, false
	}
	return max(1, k), true
}

// Allocate finds the smallest n, with n' = n·BestRatio rounded up, whose
// interval is within ± p.Relative of the mean at p's confidence,
//
//	t(df)·√(Rest/n + First/n') ≤ d·mean
//
// with Satterthwaite's df on n-lost and n'-1 degrees of freedom, if the next
// sample varies like this one. lost is 1 for the ratio, 2 for the regression.
// alone is the variance of one measured unit without judgements (s²y), from
// which MeasuredAlone comes by RequiredN.
func (m DoubleMean) Allocate(costRatio, alone float64, lost int, p Precision, tt *TTable) (Allocation, bool) {
	k, ok := m.BestRatio(costRatio)
	if !ok || !p.valid() || !(m.Mean > 0) {
		return Allocation{}, false
	}
	a := Allocation{JudgedPerMeasured: k}
	wanted := p.Relative * m.Mean
	enough := func(n int) bool {
		if n <= lost {
			return false
		}
		judged := math.Ceil(float64(n) * k)
		v, df, ok := Satterthwaite([]VariancePart{{m.Rest / float64(n), float64(n - lost)}, {m.First / judged, judged - 1}})
		return ok && tt.Quantile(p.probability(), df)*math.Sqrt(v) <= wanted
	}
	n, ok := smallest(float64(lost+1), MaxN, enough)
	if !ok {
		return Allocation{}, false
	}
	a.Measured, a.Judged = n, int(math.Ceil(float64(n)*k))
	if alone > 0 {
		a.MeasuredAlone, _ = RequiredN(math.Sqrt(alone)/m.Mean, p, tt)
	}
	return a, true
}
