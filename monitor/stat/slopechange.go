// How much of a slope does a covariate make?
//
// Two lines through the same values: y on x alone, and y on x with z held. The
// difference of their slopes of x is an identity of least squares,
//
//	b(alone) - b(z held) = γ·δ,
//
// γ the coefficient of z in the joint fit and δ the slope of z on x. With x and
// z taken as they are, δ is a known number, so under the joint model
//
//	var(γ·δ) = δ²·var(γ),  t with n - 3 df.
//
// (The identity is the omitted-variable formula, e.g. Goldberger 1991, A Course
// in Econometrics, ch. 17; comparing nested models by the variance of the
// difference under the larger one is Clogg, Petkova & Haritou 1995, Am. J.
// Sociol. 100:1261-1293; both from memory.) The two slopes are not independent,
// and their own intervals say nothing about their difference.
//
// Assumes what LeastSquares assumes of the joint fit, and that z was measured
// without error; error in z makes the change look smaller than it is.

package stat

import "math"

// SlopeChange is what holding z does to the slope of y on x.
type SlopeChange struct {
	Alone       LinearFit   // y on x
	Joint       LinearFit   // y on x and z
	Change      Coefficient // slope alone - slope with z held, on Joint.DF
	ZPerX       float64     // δ, the slope of z on x
	Correlation float64     // of z with x
}

// ChangeInSlope fits both lines. It needs four values and a z that varies and
// is not itself a line of x.
func ChangeInSlope(y, x, z []float64) (SlopeChange, bool) {
	var s SlopeChange
	joint, ok := LeastSquares(y, x, z)
	if !ok {
		return s, false
	}
	alone, ok := LeastSquares(y, x)
	if !ok {
		return s, false
	}
	aux, ok := LeastSquares(z, x)
	if !ok {
		return s, false
	}
	s.Alone, s.Joint, s.ZPerX = alone, joint, aux.Slopes[0].Estimate
	gamma := joint.Slopes[1]
	s.Change = Coefficient{gamma.Estimate * s.ZPerX, gamma.SE * math.Abs(s.ZPerX)}
	s.Correlation, ok = Correlation(x, z)
	return s, ok
}
