// What are the mean, the standard deviation and the skewness of these values?
//
// One pass, in any order, without keeping the values. Sums of squares lose
// every digit when the spread is small against the mean (NIST's NumAcc4), so
// deviations from the running mean are updated instead: Welford (1962),
// Technometrics 4:419-420, for the second moment, and Pébay (2008), Sandia
// report SAND2008-6212, for the third (both from memory). Values are first
// taken relative to the first one, which is exact or nearly so whenever the
// spread is small against the mean.

package stat

import "math"

// Moments gathers count, mean, and the second and third sums of powers of
// deviations from the mean. The zero value holds no values and is ready.
type Moments struct {
	n     int
	first float64 // the first value; the others are kept relative to it
	mean  float64 // mean of x - first
	m2    float64 // Σ(x - mean)²
	m3    float64 // Σ(x - mean)³
}

// MomentsOf gathers the moments of a slice.
func MomentsOf(x []float64) Moments {
	var m Moments
	for _, v := range x {
		m.Add(v)
	}
	return m
}

// Add takes one more finite value. With δ = x - mean of the n-1 values before,
//
//	M3 += δ³(n-1)(n-2)/n² - 3δM2/n
//	M2 += δ²(n-1)/n
//	mean += δ/n
//
// in this order (Pébay 2008, one value added).
func (m *Moments) Add(x float64) {
	if m.n == 0 {
		m.first = x
	}
	m.n++
	n := float64(m.n)
	delta := (x - m.first) - m.mean
	step := delta / n
	term := delta * step * (n - 1)
	m.m3 += term*step*(n-2) - 3*step*m.m2
	m.m2 += term
	m.mean += step
}

// N is the number of values added.
func (m Moments) N() int { return m.n }

// Mean is the arithmetic mean, and 0 while no value has been added.
func (m Moments) Mean() float64 { return m.first + m.mean }

// Variance is s² = Σ(x - x̄)²/(n-1). It needs two values.
func (m Moments) Variance() (float64, bool) {
	if m.n < 2 {
		return 0, false
	}
	return finite(m.m2 / float64(m.n-1))
}

// SD is the square root of Variance. It is exactly 0 for equal values.
func (m Moments) SD() (float64, bool) {
	v, ok := m.Variance()
	return math.Sqrt(v), ok
}

// Skewness is the adjusted Fisher-Pearson coefficient
//
//	G₁ = √(n(n-1))/(n-2) · m₃/m₂^(3/2),  mₖ = Σ(x - x̄)ᵏ/n
//
// the one that most statistics programs print (Joanes & Gill 1998, The
// Statistician 47:183-189, from memory). It needs three values that are not
// all equal.
func (m Moments) Skewness() (float64, bool) {
	if m.n < 3 || m.m2 <= 0 {
		return 0, false
	}
	n := float64(m.n)
	// √n·M₃/M₂^(3/2) is the moment coefficient. It is divided out one factor
	// at a time so that tiny or huge units neither vanish nor overflow.
	root := math.Sqrt(m.m2)
	moment := math.Sqrt(n) * (m.m3 / root / root / root)
	return finite(moment * math.Sqrt(n*(n-1)) / (n - 2))
}

// finite passes a number on and turns NaN and the infinities into "missing".
func finite(x float64) (float64, bool) {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return 0, false
	}
	return x, true
}
