// How well does one way of measuring agree with another?
//
// An eye estimate beside the clipped weight of the same frame. Correlation is
// not agreement: an observer who always writes half is perfectly correlated.
// So the mean difference, the root of the mean squared difference, the limits
// between which most differences lie, and Lin's concordance, which is 1 only
// where all pairs lie on the line of equality.
//
// Sources: Bland & Altman (1986), Lancet 327:307-310; Lin (1989), Biometrics
// 45:255-268, with the variance as corrected in Biometrics 56:324-325 (2000);
// all from memory, and held to the numbers that R's epiR prints.

package stat

import "math"

// Agreement is what pairs (xᵢ, yᵢ) come to, x being judged by y.
type Agreement struct {
	N            int
	MeanX, MeanY float64
	Bias         float64 // x̄ - ȳ
	RMSE         float64 // √(Σ(x-y)²/n)
	SD           float64 // of the differences, n-1; only if N is above 1

	Ratio         float64 // x̄/ȳ, of the means; only if RatioOK
	RatioOK       bool
	Correlation   float64 // Pearson's; only if CorrelationOK
	CorrelationOK bool    // false where the x or the y are all alike
	// Concordance is Lin's, with n divisors:
	// 2·s_xy/(s²x + s²y + (x̄-ȳ)²); only if ConcordanceOK.
	Concordance   float64
	ConcordanceOK bool
	ScaleShift    float64 // s_x/s_y; these three only if CorrelationOK
	LocationShift float64 // (x̄-ȳ)/√(s_x·s_y)
	Accuracy      float64 // C_b = concordance/correlation
}

// AgreementOf needs one pair.
func AgreementOf(x, y []float64) (Agreement, bool) {
	s, ok := sumsOf(x, y)
	if !ok {
		return Agreement{}, false
	}
	n := float64(s.n)
	a := Agreement{N: s.n, MeanX: s.meanX, MeanY: s.meanY, Bias: s.meanX - s.meanY}
	var differences Moments
	var squares float64
	for i := range x {
		d := x[i] - y[i]
		differences.Add(d)
		squares += d * d
	}
	a.RMSE = math.Sqrt(squares / n)
	a.SD, _ = differences.SD()
	if s.meanY != 0 {
		a.Ratio, a.RatioOK = finite(s.meanX / s.meanY)
	}
	a.concord(&s)
	return a, true
}

func (a *Agreement) concord(s *pairSums) {
	n := float64(s.n)
	vx, vy, cov := s.ssX/n, s.ssY/n, s.sXY/n
	divisor := vx + vy + a.Bias*a.Bias
	if divisor > 0 && s.n > 1 {
		a.Concordance, a.ConcordanceOK = finite(2 * cov / divisor)
	}
	if vx == 0 || vy == 0 {
		return
	}
	a.Correlation, a.CorrelationOK = finite(cov / math.Sqrt(vx) / math.Sqrt(vy))
	a.ScaleShift = math.Sqrt(vx / vy)
	a.LocationShift = a.Bias / math.Sqrt(math.Sqrt(vx)*math.Sqrt(vy))
	if a.Correlation != 0 {
		a.Accuracy = a.Concordance / a.Correlation
	}
}

// Limits are Bland and Altman's limits of agreement, bias ± k·SD: about 95 %
// of differences lie between them with k = 1.96 if they are about normal. They
// need two pairs.
func (a Agreement) Limits(k float64) (Interval, bool) {
	if a.N < 2 {
		return Interval{}, false
	}
	return Interval{Low: a.Bias - k*a.SD, High: a.Bias + k*a.SD}, true
}

// ConcordanceInterval is the interval of Lin's concordance c by
// Z = artanh(c) ± z·SE(Z), z being a normal quantile. With the correlation r
// and the location shift u,
//
//	SE(Z)² = [ (1-r²)c²/((1-c²)r²) + 2c³(1-c)u²/(r(1-c²)²)
//	           - c⁴u⁴/(2r²(1-c²)²) ] / (n-2)
//
// It needs three pairs, values that differ in both columns, and a correlation
// and a concordance that are neither 0 nor perfect.
func (a Agreement) ConcordanceInterval(z float64) (Interval, bool) {
	c, r, u := a.Concordance, a.Correlation, a.LocationShift
	rest := 1 - c*c
	if a.N < 3 || !a.ConcordanceOK || !a.CorrelationOK || c == 0 || r == 0 || rest < 1e-12 {
		return Interval{}, false
	}
	variance := (1 - r*r) * c * c / (rest * r * r)
	variance += 2 * c * c * c * (1 - c) * u * u / (r * rest * rest)
	variance -= c * c * c * c * u * u * u * u / (2 * r * r * rest * rest)
	variance /= float64(a.N - 2)
	if !(variance > 0) {
		return Interval{}, false
	}
	half := z * math.Sqrt(variance)
	return Interval{Low: math.Tanh(math.Atanh(c) - half), High: math.Tanh(math.Atanh(c) + half)}, true
}
