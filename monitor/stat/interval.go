// Between which limits does the true mean lie?
//
// Two answers from the same mean and standard error. Student's t interval is
// right for values that are about normal. Hall's interval adds what the
// skewness of the values says: with few values, many zeros and a long tail
// the t interval sits too low and is too narrow.
//
// Both take the quantile t = t(1-α/2, df) from the caller, so that the degrees
// of freedom may come from wherever the standard error came from.

package stat

import "math"

// Interval holds the two limits of an interval.
type Interval struct{ Low, High float64 }

// TInterval is mean ± t·se. A standard error of 0 gives an interval without
// width; whether to show one is the caller's decision.
func TInterval(mean, se, t float64) Interval {
	if se == 0 {
		return Interval{Low: mean, High: mean}
	}
	return Interval{Low: mean - t*se, High: mean + t*se}
}

// HallInterval is the interval for a mean of n skewed values by Hall's cubic
// transformation of the t ratio (Hall 1992, J. R. Statist. Soc. B 54:221-228,
// from memory). With a = g/√n,
//
//	g⁻¹(u) = (3/a)·[∛(1 + a(u - a/6)) - 1]
//	limits   mean - se·g⁻¹(t)  and  mean - se·g⁻¹(-t)
//
// which is the t interval when g = 0. The skewness is passed as the adjusted
// G₁ that Moments.Skewness gives; the transformation uses the plain moment
// coefficient g = G₁(n-2)/√(n(n-1)), as Hall does. Both forms were tried in
// simulation: 1,000,000 occasions of n = 10 at 90 %, counted where there is an
// interval at all, share of intervals that hold the true mean:
//
//	                                      t      with g   with G₁
//	normal                                .900   .900     .900
//	lognormal, CV 0.6                     .865   .882     .884
//	60 % zeros, else lognormal of CV 1    .798   .910     .923
//	60 % zeros, else exponential          .792   .906     .915
//
// BenchmarkCoverage repeats the first two columns.
//
// It needs three values, a standard error above 0 and a finite t.
func HallInterval(mean, se, g1 float64, n int, t float64) (Interval, bool) {
	if n < 3 || !(se > 0) || math.IsInf(t, 0) {
		return Interval{}, false
	}
	size := float64(n)
	g := g1 * (size - 2) / math.Sqrt(size*(size-1))
	a := g / math.Sqrt(size)
	low, okLow := finite(mean - se*hallInverse(t, a))
	high, okHigh := finite(mean - se*hallInverse(-t, a))
	if !okLow || !okHigh {
		return Interval{}, false
	}
	return Interval{Low: low, High: high}, true
}

// hallInverse is g⁻¹(u). It increases with u whatever the sign of a. Near
// a = 0, where the cube root is almost 1, the difference is taken through
// logarithms so that its digits survive.
func hallInverse(u, a float64) float64 {
	if a == 0 {
		return u
	}
	v := a * (u - a/6)
	if math.Abs(v) < 0.5 {
		return 3 * math.Expm1(math.Log1p(v)/3) / a
	}
	return 3 * (math.Cbrt(1+v) - 1) / a
}
