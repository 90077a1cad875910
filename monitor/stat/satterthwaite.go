// How many degrees of freedom has a variance that was added up from parts?
//
// The parts are independent estimates, each with its own degrees of freedom;
// their sum is treated as a multiple of a chi-square whose first two moments
// agree with it.

package stat

import "math"

// VariancePart is one independent estimate of a variance and the degrees of
// freedom it rests on. A variance that is known, not estimated, has infinite
// degrees of freedom.
type VariancePart struct{ Variance, DF float64 }

// Satterthwaite adds the variances and gives the effective degrees of freedom
//
//	df = (Σ Vᵢ)² / Σ(Vᵢ²/dfᵢ)
//
// (Satterthwaite 1946, Biometrics Bulletin 2:110-114, from memory), which lie
// between the smallest dfᵢ and their sum. Parts with variance 0 are ignored.
// There is no answer if nothing is left, or if a part is negative, not finite
// or has no degrees of freedom.
func Satterthwaite(parts []VariancePart) (variance, df float64, ok bool) {
	var largest float64
	for _, p := range parts {
		if p.Variance == 0 {
			continue
		}
		if !(p.Variance > 0) || math.IsInf(p.Variance, 1) || !(p.DF > 0) {
			return 0, 0, false
		}
		variance += p.Variance
		largest = max(largest, p.Variance)
	}
	if _, fits := finite(variance); !fits || variance == 0 {
		return 0, 0, false
	}
	// Relative to the largest part, so that squares cannot vanish or overflow.
	var divisor float64
	for _, p := range parts {
		if p.Variance > 0 {
			share := p.Variance / largest
			divisor += share * share / p.DF
		}
	}
	if divisor == 0 {
		return variance, math.Inf(1), true
	}
	total := variance / largest
	return variance, total * total / divisor, true
}
