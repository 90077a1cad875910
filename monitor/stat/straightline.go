// Does one number rise or fall with another, and is that more than chance?
//
// An ordinary straight line y = a + b·x by least squares. The test of its
// slope assumes independent, about normal residuals of equal spread
// (Snedecor & Cochran 1967, Statistical Methods, ch. 6, from memory).

package stat

import "math"

// StraightLine is a line by least squares with the test of its slope.
type StraightLine struct {
	Intercept, Slope float64
	N                int
	ResidualSD       float64 // √(Σ(y-a-bx)²/(n-2)); only with three pairs
	SE               float64 // of the slope; only if SEOK
	DF               float64 // n - 2
	T, P             float64 // two-sided, of no slope; only if SEOK
	SEOK             bool    // false with two pairs, or where the line fits without a rest
}

// StraightLineOf gives
//
//	b = Σ(x-x̄)(y-ȳ)/Σ(x-x̄)²,  a = ȳ - b·x̄
//	SE(b)² = Σ(y-a-bx)²/(n-2) / Σ(x-x̄)²,  t = b/SE(b) with n-2 df
//
// It needs two different x.
func StraightLineOf(x, y []float64) (StraightLine, bool) {
	s, ok := sumsOf(x, y)
	if !ok || s.ssX == 0 {
		return StraightLine{}, false
	}
	l := StraightLine{N: s.n, Slope: s.sXY / s.ssX}
	l.Intercept = s.meanY - l.Slope*s.meanX
	if _, ok := finite(l.Intercept); !ok {
		return StraightLine{}, false
	}
	if s.n < 3 {
		return l, true
	}
	rest := l.residualSS(&s, x, y)
	l.DF = float64(s.n - 2)
	l.ResidualSD = math.Sqrt(rest / l.DF)
	l.SE = l.ResidualSD / math.Sqrt(s.ssX)
	if l.SE > 0 {
		l.T, l.SEOK = finite(l.Slope / l.SE)
		l.P = 2 * TCDF(-math.Abs(l.T), l.DF)
	}
	return l, true
}

// residualSS is Σ(y-a-bx)². What is only rounding counts as nothing.
func (l StraightLine) residualSS(s *pairSums, x, y []float64) float64 {
	var rest float64
	for i := range x {
		e := (y[i] - s.meanY) - l.Slope*(x[i]-s.meanX)
		rest += e * e
	}
	if rest <= 1e-28*(s.ssY+l.Slope*l.Slope*s.ssX) {
		return 0
	}
	return rest
}
