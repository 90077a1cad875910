package stat

import (
	"fmt"
	"math"
	"testing"

	"clipledger/monitor/needtool"
)

func TestNoncentralTPublished(t *testing.T) {
	for _, r := range readReference(t, "stat-noncentralt.csv") {
		x, df, ncp := r.number(t, "x"), r.number(t, "df"), r.number(t, "ncp")
		what := fmt.Sprintf("P(T <= %g; %g, %g)", x, df, ncp)
		near(t, what, NoncentralTCDF(x, df, ncp), r.number(t, "expected"), r.number(t, "tolerance"))
	}
}

// R's power.t.test finds the n per group for which the power is 0.90 at
// α = 0.10 two-sided: 27.46583963 for two groups with sd 250 and a difference
// of 200, 8.486649778 pairs with sd 180 of the differences (printed by R 4.2).
func TestNoncentralTPower(t *testing.T) {
	var tt TTable
	for _, c := range []struct {
		name       string
		n, df, ncp float64
	}{
		{"two groups", 27.46583963, 2 * (27.46583963 - 1), math.Sqrt(27.46583963/2) * 200 / 250},
		{"pairs", 8.486649778, 8.486649778 - 1, math.Sqrt(8.486649778) * 200 / 180},
	} {
		// R solves for n to about 1e-4 of its own accord.
		near(t, c.name, 1-NoncentralTCDF(tt.Quantile(0.95, c.df), c.df, c.ncp), 0.90, 1e-5)
	}
}

// grid covers the centre and both tails of every distribution.
func grid(dfs, ncps []float64) [][]float64 {
	var points [][]float64
	for _, df := range dfs {
		for _, ncp := range ncps {
			for _, f := range []float64{-0.5, 0.01, 0.5, 0.8, 0.95, 1, 1.05, 1.2, 2, 5, 50} {
				points = append(points, []float64{ncp * f, df, ncp})
			}
			for _, d := range []float64{-3, -2, -1, 1, 2, 3, 6} {
				points = append(points, []float64{ncp + d, df, ncp})
			}
		}
	}
	return points
}

func TestNoncentralTAgainstSciPy(t *testing.T) {
	python := needtool.SciPy(t)
	points := grid(
		[]float64{0.5, 1, 1.3, 1.5, 2, 3, 4.4, 9, 19, 29.5, 100, 1000, 5000, 100000},
		[]float64{-3, 0.1, 1, 2.5, 5, 10, 20, 37, 50, 100, 200})
	const script = `
import sys
import numpy as np
from scipy import stats
a = np.loadtxt(sys.stdin)
for p in stats.nct.cdf(a[:, 0], a[:, 1], a[:, 2]):
    print(repr(float(p)))
`
	want := run(t, python, script, table(points), len(points))
	for i, q := range points {
		near(t, fmt.Sprintf("P(T <= %g; %g, %g)", q[0], q[1], q[2]), NoncentralTCDF(q[0], q[1], q[2]), want[i], 1e-12)
	}
}

// R's own function is a series that its manual calls reliable for ncp up to
// 37.62; in the far tails it stops at about 1e-10.
func TestNoncentralTAgainstR(t *testing.T) {
	rscript := needtool.Rscript(t)
	points := grid([]float64{1, 2, 3, 5, 9, 19, 29.5, 100}, []float64{0.1, 1, 2.5, 5, 10, 20})
	const script = `
a <- as.matrix(read.table(file("stdin"), colClasses = "numeric"))
cat(sprintf("%.17g\n", suppressWarnings(pt(a[, 1], a[, 2], a[, 3]))), sep = "")`
	want := run(t, rscript, script, table(points), len(points))
	for i, q := range points {
		near(t, fmt.Sprintf("P(T <= %g; %g, %g)", q[0], q[1], q[2]), NoncentralTCDF(q[0], q[1], q[2]), want[i], 1e-9)
	}
}

func TestNoncentralTProperties(t *testing.T) {
	inf := math.Inf(1)
	for _, df := range []float64{0.1, 1, 4, 30, 1e4, 1e7, 1e13, inf} {
		for _, x := range []float64{-20, -1, 0, 1e-300, 0.3, 2, 40, 1e6} {
			near(t, fmt.Sprintf("central, %g on %g", x, df), NoncentralTCDF(x, df, 0), TCDF(x, df), 0)
			// A noncentrality of almost nothing is the central distribution.
			near(t, fmt.Sprintf("nearly central, %g on %g", x, df), NoncentralTCDF(x, df, 1e-13), TCDF(x, df), 1e-10)
			previous := 2.0
			for _, ncp := range []float64{-40, -3, -0.2, 0, 0.2, 3, 40, 1e4} {
				p := NoncentralTCDF(x, df, ncp)
				if !(p >= 0 && p <= 1) || p > previous+1e-12 {
					t.Errorf("P(T <= %g; %g, %g) = %g after %g", x, df, ncp, p, previous)
				}
				previous = p
				near(t, fmt.Sprintf("mirror of %g, %g, %g", x, df, ncp), 1-NoncentralTCDF(-x, df, -ncp), p, 1e-12)
			}
		}
	}
	for _, c := range []struct{ x, df, ncp, want float64 }{
		{inf, 5, 2, 1}, {-inf, 5, 2, 0}, {3, 5, inf, 0}, {3, 5, -inf, 1},
		{3, 0, 2, 0.5}, {math.NaN(), 5, 2, 0.5}, {3, 5, math.NaN(), 0.5},
		{0, 5, 1.959963984540054, 0.025},
	} {
		near(t, fmt.Sprintf("P(T <= %g; %g, %g)", c.x, c.df, c.ncp), NoncentralTCDF(c.x, c.df, c.ncp), c.want, 1e-15)
	}
}

func BenchmarkNoncentralT(b *testing.B) {
	for b.Loop() {
		NoncentralTCDF(9.2, 24, 8.3)
	}
}
