// Did the mean change between two occasions?
//
// The same units twice, or units of their own each time. What is tested is the
// difference second - first, and its variance is a sum of independent parts:
// that of the units, and whatever else each occasion's mean carries, such as
// the error of a factor by which all its units were converted. Such an error
// moves all units of an occasion together, so pairing does not cancel it, and
// unless it is added, the test calls its noise a change.
//
// Assumes about normal differences (paired) or values, units drawn at random,
// and parts independent of one another. Degrees of freedom by Satterthwaite
// over all parts; with the two parts of two independent samples alone that is
// Welch's test (Welch 1947, Biometrika 34:28-35, from memory), and with one
// part Student's.

package stat

import "math"

// alike is the spread, relative to the largest value, up to which values are
// taken as equal: sums and quotients of equal weights differ by a few units in
// the sixteenth digit, and a t ratio over that is noise.
const alike = 1e-12

// PairedDifference gives, for n pairs (xᵢ, yᵢ),
//
//	d̄ = Σ(yᵢ - xᵢ)/n  and the variance of d̄, s²d/n with n-1 degrees of freedom
//
// (Student's paired form). The variance is exactly 0 where all differences are
// alike but for rounding. There is none with fewer than two pairs, or with
// slices of different lengths.
func PairedDifference(x, y []float64) (difference float64, part VariancePart, ok bool) {
	if len(x) != len(y) {
		return 0, VariancePart{}, false
	}
	var d Moments
	var largest float64
	for i := range x {
		d.Add(y[i] - x[i])
		largest = max(largest, math.Abs(x[i]), math.Abs(y[i]))
	}
	part, ok = d.partOfMean(largest)
	return d.Mean(), part, ok
}

// MeanPart is the mean of independent values with the variance of the mean,
// s²/n with n-1 degrees of freedom. The means of two samples differ by their
// difference, whose variance is the sum of both parts (Welch 1947). The variance
// is exactly 0 where the values are alike but for rounding. There is none with
// fewer than two values; the mean of one is there all the same.
func MeanPart(x []float64) (mean float64, part VariancePart, ok bool) {
	m := MomentsOf(x)
	var largest float64
	for _, v := range x {
		largest = max(largest, math.Abs(v))
	}
	part, ok = m.partOfMean(largest)
	return m.Mean(), part, ok
}

// partOfMean is the variance of the mean, 0 where the spread is no more than
// the rounding of values as large as largest.
func (m Moments) partOfMean(largest float64) (VariancePart, bool) {
	variance, ok := m.Variance()
	if !ok {
		return VariancePart{}, false
	}
	if math.Sqrt(variance) <= alike*largest {
		variance = 0
	}
	n := float64(m.N())
	return VariancePart{Variance: variance / n, DF: n - 1}, true
}

// TTest is a difference held against its standard error.
type TTest struct {
	Difference float64
	SE         float64
	T          float64 // Difference/SE
	DF         float64
	P          float64 // two-sided
}

// TTestOf tests a difference whose variance is the sum of independent parts:
//
//	t = difference/√ΣVᵢ,  p = 2·P(T ≤ -|t|),  df by Satterthwaite
//
// There is no test where the variance is 0 or cannot be had.
func TTestOf(difference float64, parts []VariancePart) (TTest, bool) {
	variance, df, ok := Satterthwaite(parts)
	if !ok {
		return TTest{}, false
	}
	se := math.Sqrt(variance)
	t, ok := finite(difference / se)
	if !ok {
		return TTest{}, false
	}
	return TTest{Difference: difference, SE: se, T: t, DF: df, P: 2 * TCDF(-math.Abs(t), df)}, true
}
