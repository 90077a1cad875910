// Do the values go up or down with time, whatever the form of the line?
//
// Kendall's S counts the pairs that rise less the pairs that fall. Assumes that
// the values are independent of one another; nothing is assumed of their
// distribution. Without a trend every order of the values is equally likely,
// and from that comes the exact distribution of S, ties included; for longer
// series S is about normal.

package stat

import (
	"math"
	"slices"
)

// exactKendall is the longest series for which the exact distribution is used.
// Its counts stay below 10! and are whole numbers to the last digit.
const exactKendall = 10

// Kendall is the Mann-Kendall test of a series.
type Kendall struct {
	N        int
	S        int
	Variance float64 // of S, corrected for ties
	Z        float64 // with continuity correction
	NormalP  float64 // two-sided, of Z
	P        float64 // two-sided: exact where Exact says so, else NormalP
	Exact    bool
}

// MannKendall tests y against x, of which neither needs to be sorted:
//
//	S = Σ sign(xⱼ - xᵢ)·sign(yⱼ - yᵢ) over all pairs
//
// with variance [n(n-1)(2n+5) - Σt(t-1)(2t+5) - Σu(u-1)(2u+5)]/18
// + Σt(t-1)(t-2)·Σu(u-1)(u-2)/[9n(n-1)(n-2)] + Σt(t-1)·Σu(u-1)/[2n(n-1)]
// for ties of t equal y and u equal x, and z = (S ∓ 1)/√var (Kendall 1975, Rank
// Correlation Methods, ch. 4; Gilbert 1987 sec. 16.4; from memory). It needs
// two values, and y and x that vary.
func MannKendall(x, y []float64) (Kendall, bool) {
	n := len(y)
	if n < 2 || len(x) != n {
		return Kendall{}, false
	}
	k := Kendall{N: n}
	for i := range n {
		for j := range i {
			k.S += sign(x[i]-x[j]) * sign(y[i]-y[j])
		}
	}
	tiesX, tiesY := tiesOf(x), tiesOf(y)
	k.Variance = kendallVariance(n, tiesX, tiesY)
	if !(k.Variance > 0) {
		return Kendall{}, false
	}
	k.Z = float64(k.S-sign(float64(k.S))) / math.Sqrt(k.Variance)
	k.NormalP = min(1, math.Erfc(math.Abs(k.Z)/math.Sqrt2))
	k.P = k.NormalP
	if n <= exactKendall && len(tiesX) == n {
		k.P, k.Exact = exactKendallP(k.S, tiesY), true
	}
	return k, true
}

func sign(x float64) int {
	switch {
	case x > 0:
		return 1
	case x < 0:
		return -1
	}
	return 0
}

// tiesOf counts how often each value occurs.
func tiesOf(x []float64) []int {
	sorted := slices.Sorted(slices.Values(x))
	var out []int
	for i, v := range sorted {
		if i == 0 || v != sorted[i-1] {
			out = append(out, 0)
		}
		out[len(out)-1]++
	}
	return out
}

func kendallVariance(n int, tiesX, tiesY []int) float64 {
	size := float64(n)
	sums := func(ties []int) (two, three, full float64) {
		for _, c := range ties {
			t := float64(c)
			two += t * (t - 1)
			three += t * (t - 1) * (t - 2)
			full += t * (t - 1) * (2*t + 5)
		}
		return two, three, full
	}
	x2, x3, xf := sums(tiesX)
	y2, y3, yf := sums(tiesY)
	v := (size*(size-1)*(2*size+5)-xf-yf)/18 + x2*y2/(2*size*(size-1))
	if n > 2 {
		v += x3 * y3 / (9 * size * (size - 1) * (size - 2))
	}
	return v
}

// exactKendallP is P(|S| ≥ |s|) when every distinct order of values with these
// ties is equally likely. The orders of a multiset with i inversions are
// counted by the coefficient of qⁱ in the Gaussian multinomial
//
//	[n]! / Π[t]!,  [m]! = Π (1 - qᵏ)/(1 - q) for k = 1 to m
//
// (MacMahon; Andrews 1976, The Theory of Partitions, ch. 3, from memory), and
// S = pairs that are not tied - 2i.
func exactKendallP(s int, ties []int) float64 {
	n := 0
	for _, t := range ties {
		n += t
	}
	counts := []float64{1}
	for m := 2; m <= n; m++ {
		counts = timesUpTo(counts, m)
	}
	for _, t := range ties {
		for m := 2; m <= t; m++ {
			counts = dividedBy(counts, m)
		}
	}
	pairs := len(counts) - 1
	var all, far float64
	for i, c := range counts {
		all += c
		if d := pairs - 2*i; d >= s && d >= -s || d <= s && d <= -s {
			far += c
		}
	}
	return far / all
}

// timesUpTo multiplies a polynomial by 1 + q + … + q^(m-1).
func timesUpTo(c []float64, m int) []float64 {
	out := make([]float64, len(c)+m-1)
	for i, v := range c {
		for j := range m {
			out[i+j] += v
		}
	}
	return out
}

// dividedBy divides a polynomial by 1 + q + … + q^(m-1), which must go in.
func dividedBy(c []float64, m int) []float64 {
	out := make([]float64, len(c)-m+1)
	for i := range out {
		out[i] = c[i]
		for j := 1; j < m && j <= i; j++ {
			out[i] -= out[i-j]
		}
	}
	return out
}
