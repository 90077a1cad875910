// Along which slope do most pairs of values run?
//
// The Theil-Sen slope is the median of the slopes of all pairs: a few bad
// values hardly move it. Its interval comes from the distribution of Kendall's
// S, and holds for any distribution of independent errors (Theil 1950; Sen
// 1968, J. Am. Stat. Assoc. 63:1379-1389; from memory).

package stat

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"
)

// PairSlopes are the slopes of all pairs of values at different x, sorted.
type PairSlopes []float64

// PairSlopesOf lists (yⱼ - yᵢ)/(xⱼ - xᵢ).
func PairSlopesOf(x, y []float64) PairSlopes {
	var out PairSlopes
	for i := range y {
		for j := range i {
			if x[i] != x[j] {
				out = append(out, (y[i]-y[j])/(x[i]-x[j]))
			}
		}
	}
	slices.Sort(out)
	return out
}

// Median is the Theil-Sen slope.
func (s PairSlopes) Median() (float64, bool) {
	n := len(s)
	if n == 0 {
		return 0, false
	}
	return finite((s[(n-1)/2] + s[n/2]) / 2)
}

// Interval takes the slopes at the ranks
//
//	M₁ = (N' - C)/2  and  M₂ + 1 = (N' + C)/2 + 1,  C = z(1-α/2)·√var(S)
//
// of the N' sorted slopes, interpolated between neighbours where a rank is not
// whole (Gilbert 1987 sec. 16.5, from memory; interpolation as in the worked
// examples of EPA 530/R-09-007, 2009, ch. 17). There is none where a rank falls
// outside the list: too few pairs for the confidence.
func (s PairSlopes) Interval(variance, confidence float64) (Interval, bool) {
	if !(confidence > 0 && confidence < 1) || !(variance > 0) {
		return Interval{}, false
	}
	n := float64(len(s))
	c := distuv.UnitNormal.Quantile((1+confidence)/2) * math.Sqrt(variance)
	low, okLow := s.at((n - c) / 2)
	high, okHigh := s.at((n+c)/2 + 1)
	return Interval{low, high}, okLow && okHigh
}

// at is the slope at a rank, counted from 1.
func (s PairSlopes) at(rank float64) (float64, bool) {
	whole := math.Floor(rank)
	i := int(whole)
	if rank < 1 || rank > float64(len(s)) {
		return 0, false
	}
	if rank == whole {
		return s[i-1], true
	}
	return s[i-1] + (rank-whole)*(s[i]-s[i-1]), true
}
