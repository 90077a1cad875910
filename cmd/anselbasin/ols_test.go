package main

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"
)

// ols is the slope of y on x, its t and its two-sided p. Further regressors
// are held by taking them out of both first, which costs a degree of freedom
// each (Frisch and Waugh 1933).
func ols(x, y []float64, held ...[]float64) (slope, t, p float64) {
	var basis [][]float64
	for _, h := range held {
		basis = append(basis, without(h, basis))
	}
	xr, yr := without(x, basis), without(y, basis)
	sxx := dot(xr, xr)
	slope = dot(xr, yr) / sxx
	rss := 0.0
	for i := range xr {
		e := yr[i] - slope*xr[i]
		rss += e * e
	}
	df := float64(len(x) - 2 - len(held))
	t = slope / math.Sqrt(rss/df/sxx)
	return slope, t, 2 * distuv.StudentsT{Mu: 0, Sigma: 1, Nu: df}.Survival(math.Abs(t))
}

// TestOLS holds the small regression against sums done by hand: x = 1…5,
// y = 2 4 5 4 5 has slope 0.6, residual sum 2.4 and t = 0.6/√(0.8/10).
func TestOLS(t *testing.T) {
	slope, tt, p := ols([]float64{1, 2, 3, 4, 5}, []float64{2, 4, 5, 4, 5})
	if math.Abs(slope-0.6) > 1e-12 || math.Abs(tt-0.6/math.Sqrt(0.08)) > 1e-12 {
		t.Errorf("slope %g, t %g", slope, tt)
	}
	if p < 0.124 || p > 0.1245 { // t = 2.1213 on 3 df: p = 0.1240
		t.Errorf("p = %g, want 0.124", p)
	}
}
