// How large a change would a comparison see, and how many units would see a
// wanted one?
//
// The exact answers are by noncentral t: a true change of δ standard errors is
// called at level α, two-sided, with probability
//
//	P[T′(df; δ) > t(1-α/2, df)]
//
// leaving out, as is usual, the chance of calling it with the wrong sign. The
// normal-theory answers that handbooks print put z for both t; they are too
// small where units are few, and are there to be compared with.
//
// Sources: noncentral t as in noncentralt.go; normal theory as n = 2s²(Zα +
// Zβ)²/MDC² and n = s²d(Zα + Zβ)²/MDC² in monitoring handbooks (from memory).

package stat

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// DetectableChange is the change that a comparison with this standard error
// and these degrees of freedom calls at level alpha with the wanted power:
// δ·se, δ the root of P[T′(df; δ) > t(1-α/2, df)] = power. It needs a standard
// error and degrees of freedom above 0, alpha between 0 and 1, and a power
// between alpha and 1.
func DetectableChange(se, df, alpha, power float64, tt *TTable) (float64, bool) {
	if !(se > 0) || !(df > 0) || !validLevel(alpha, power) {
		return 0, false
	}
	delta, ok := detectableDelta(df, alpha, power, tt)
	if !ok {
		return 0, false
	}
	return finite(delta * se)
}

func validLevel(alpha, power float64) bool {
	return alpha > 0 && alpha < 1 && power > alpha && power < 1
}

// detectableDelta finds δ by secant steps kept within a bracket. With t the
// limit and S as in noncentralt.go, Z + δ - t·S is about normal, of mean δ -
// t·c and variance 1 + t²(1 - c²), c = E(S) ≈ 1 - 1/(4df) (Johnson & Welch
// 1940, Biometrika 31:362-389, from memory). That gives the start and the
// first slope, and three values of the power are usually enough.
func detectableDelta(df, alpha, power float64, tt *TTable) (float64, bool) {
	limit := tt.Quantile(1-alpha/2, df)
	z := distuv.UnitNormal.Quantile(power)
	if math.IsInf(df, 1) {
		return limit + z, true
	}
	c := max(0.75, 1-1/(4*df))
	spread := math.Sqrt(1 + limit*limit*(1-c*c))
	slope := distuv.UnitNormal.Prob(z) / spread
	low, high := 0.0, math.Inf(1)
	delta := limit*c + z*spread
	var lastDelta, lastPower float64
	for i := range 80 {
		got := 1 - NoncentralTCDF(limit, df, delta)
		if got < power {
			low = delta
		} else {
			high = delta
		}
		if secant := (got - lastPower) / (delta - lastDelta); i > 0 && secant > 0 && !math.IsInf(secant, 1) {
			slope = secant
		}
		next := delta + (power-got)/slope
		if math.Abs(next-delta) <= 1e-8*delta {
			return next, true // the step after this one would be smaller than rounding
		}
		if !(next > low && next < high) {
			next = between(low, high)
		}
		lastDelta, lastPower, delta = delta, got, next
	}
	return delta, high-low <= 1e-8*delta
}

// between halves a bracket, or doubles its lower end while it has no upper.
func between(low, high float64) float64 {
	if math.IsInf(high, 1) {
		return 2 * (low + 1)
	}
	return low + (high-low)/2
}

// Wanted is a change that is to be seen, and what stands in its way.
type Wanted struct {
	Change float64 // to be detected, above 0
	Alpha  float64 // level of the two-sided test
	Power  float64 // chance of detecting it
	// PerUnit are the variances per unit of the parts that shrink as 1/n with
	// n units on each occasion: that of the differences where the same units
	// are visited (one), those of both occasions where they are not (two).
	PerUnit []float64
	// Fixed are the parts that stay however many units there are.
	Fixed []VariancePart
}

func (w Wanted) valid() bool {
	var sum float64
	for _, v := range w.PerUnit {
		if !(v >= 0) {
			return false
		}
		sum += v
	}
	_, fits := finite(sum)
	return w.Change > 0 && fits && sum > 0 && validLevel(w.Alpha, w.Power)
}

// PowerAt is the chance of detecting the change with n units on each occasion
// (above 1, fractions allowed): noncentral t with δ = change/se,
//
//	se² = Σuⱼ/n + ΣFₖ,  df by Satterthwaite from n-1 for each uⱼ and those of Fₖ
//
// With two equal uⱼ and nothing fixed the degrees of freedom are 2(n-1), as in
// R's power.t.test.
func (w Wanted) PowerAt(n float64, tt *TTable) (float64, bool) {
	if !w.valid() || !(n > 1) {
		return 0, false
	}
	parts := make([]VariancePart, 0, len(w.PerUnit)+len(w.Fixed))
	for _, v := range w.PerUnit {
		parts = append(parts, VariancePart{Variance: v / n, DF: n - 1})
	}
	variance, df, ok := Satterthwaite(append(parts, w.Fixed...))
	if !ok {
		return 0, false
	}
	return 1 - NoncentralTCDF(tt.Quantile(1-w.Alpha/2, df), df, w.Change/math.Sqrt(variance)), true
}

// N is the smallest n of two or more with the wanted power. What is fixed can
// put the change out of reach of any number of units: then there is no answer,
// nor is there one above MaxN.
//
// Without fixed parts the power rises with n. With them it need not: as the
// units' part shrinks, the degrees of freedom fall to those of what is fixed,
// and the limit of t rises. So there the sizes are tried one by one, from the
// normal-theory one, below which there is no hope since z is below t, to four
// times that.
func (w Wanted) N(tt *TTable) (int, bool) {
	start, ok := w.NormalN(w.z())
	if !ok {
		return 0, false
	}
	enough := func(n int) bool {
		power, ok := w.PowerAt(float64(n), tt)
		return ok && power >= w.Power
	}
	if len(w.Fixed) == 0 {
		return smallest(start, MaxN, enough)
	}
	first := max(2, int(math.Ceil(start)))
	for n := first; n <= min(4*first+40, maxTried); n++ {
		if enough(n) {
			return n, true
		}
	}
	return 0, false
}

// maxTried bounds the sizes that are tried one by one.
const maxTried = 10_000

// z are the normal quantiles of the level and of the power.
func (w Wanted) z() (alpha, beta float64) {
	return distuv.UnitNormal.Quantile(1 - w.Alpha/2), distuv.UnitNormal.Quantile(w.Power)
}

// NormalN is the normal-theory size, not rounded up, with the z of the level
// and of the power given:
//
//	n = Σuⱼ/(change²/(Zα + Zβ)² - ΣFₖ)
//
// which is the handbooks' 2s²(Zα + Zβ)²/MDC² for two occasions of equal spread
// and s²d(Zα + Zβ)²/MDC² for pairs.
func (w Wanted) NormalN(zAlpha, zBeta float64) (float64, bool) {
	if !w.valid() || !(zAlpha+zBeta > 0) {
		return 0, false
	}
	room := w.Change / (zAlpha + zBeta)
	room *= room
	for _, f := range w.Fixed {
		room -= f.Variance
	}
	if !(room > 0) {
		return 0, false
	}
	var sum float64
	for _, v := range w.PerUnit {
		sum += v
	}
	return finite(sum / room)
}

// HandbookN are two answers of handbooks, not rounded up: normal theory by
// exact z, and by z as tables print them, with two decimals (1.64 and 1.28 for
// 90 % twice). Both know nothing of fixed parts.
func (w Wanted) HandbookN() (exact, tabled float64, ok bool) {
	w.Fixed = nil
	alpha, beta := w.z()
	exact, ok1 := w.NormalN(alpha, beta)
	tabled, ok2 := w.NormalN(math.Round(100*alpha)/100, math.Round(100*beta)/100)
	return exact, tabled, ok1 && ok2
}
