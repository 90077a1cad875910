package stat

import (
	"fmt"
	"math"
	"sync"
	"testing"

	"clipledger/monitor/needtool"
)

func TestQuantilePublished(t *testing.T) {
	var tt TTable
	for _, r := range readReference(t, "stat-tquantile.csv") {
		p, df := r.number(t, "p"), r.number(t, "df")
		what := fmt.Sprintf("t(%g, %g)", p, df)
		near(t, what, tt.Quantile(p, df), r.number(t, "expected"), r.number(t, "tolerance"))
	}
}

func TestStudentAgainstR(t *testing.T) {
	rscript := needtool.Rscript(t)
	var grid [][]float64
	for _, p := range []float64{1e-6, 0.001, 0.025, 0.1, 0.45, 0.4999, 0.55, 0.8, 0.9, 0.95, 0.975, 0.995, 0.999999} {
		for _, df := range []float64{0.5, 1, 1.5, 2, 2.7, 4, 7.3, 9, 29, 71, 120, 500, 1999.5, 2000, 1e4, 1e6, 1e9, math.Inf(1)} {
			for _, x := range []float64{10 * (p - 0.5), 1e-4 * (p - 0.5), 100 * (p - 0.5)} {
				grid = append(grid, []float64{p, df, x})
			}
		}
	}
	const script = `
a <- as.matrix(read.table(file("stdin"), colClasses = "numeric"))
cat(sprintf("%.17g %.17g\n", qt(a[, 1], a[, 2]), pt(a[, 3], a[, 2])), sep = "")`
	want := run(t, rscript, script, table(grid), 2*len(grid))
	var tt TTable
	for i, g := range grid {
		p, df, x := g[0], g[1], g[2]
		// R's own quantile is good to about 1e-10 for half a degree of freedom.
		nearly(t, fmt.Sprintf("quantile(%g, %g)", p, df), tt.Quantile(p, df), want[2*i], 1e-10)
		near(t, fmt.Sprintf("cdf(%g, %g)", x, df), TCDF(x, df), want[2*i+1], 1e-12)
		if x < 0 && df < expansionDF {
			nearly(t, fmt.Sprintf("lower tail (%g, %g)", x, df), TCDF(x, df), want[2*i+1], 1e-11)
		}
	}
}

func TestQuantileInvertsCDF(t *testing.T) {
	var tt TTable
	for _, df := range []float64{1, 2.5, 9, 100, 1999, 2001, 1e5, math.Inf(1)} {
		for _, p := range []float64{0.0001, 0.05, 0.3, 0.5, 0.6, 0.95, 0.9999} {
			q := tt.Quantile(p, df)
			near(t, fmt.Sprintf("cdf of quantile(%g, %g)", p, df), TCDF(q, df), p, 1e-12)
			if opposite := tt.Quantile(1-p, df); math.Abs(q+opposite) > 1e-9*math.Abs(q) {
				t.Errorf("quantile(%g, %g) = %g but %g on the other side", p, df, q, opposite)
			}
		}
	}
}

func TestQuantileOutside(t *testing.T) {
	var tt TTable
	inf := math.Inf(1)
	for _, c := range []struct{ p, df, want float64 }{
		{0, 5, -inf}, {1, 5, inf}, {-1, 5, -inf}, {2, 5, inf},
		{0.9, 0, inf}, {0.1, -3, -inf}, {0.9, math.NaN(), inf}, {0.5, 0, 0}, {math.NaN(), 5, 0},
	} {
		if got := tt.Quantile(c.p, c.df); got != c.want {
			t.Errorf("quantile(%g, %g) = %g, want %g", c.p, c.df, got, c.want)
		}
	}
	for _, df := range []float64{0, -1, math.NaN()} {
		if got := TCDF(3, df); got != 0.5 {
			t.Errorf("cdf with %g degrees of freedom = %g, want 0.5", df, got)
		}
	}
	for _, df := range []float64{1e-9, 1e-3, 0.05} {
		for _, p := range []float64{1e-9, 0.01, 0.4, 0.99} {
			if q := tt.Quantile(p, df); math.IsNaN(q) || (q < 0) != (p < 0.5) {
				t.Errorf("quantile(%g, %g) = %g", p, df, q)
			}
		}
	}
}

func TestTableRemembers(t *testing.T) {
	var tt TTable
	var none *TTable
	first := tt.Quantile(0.95, 9)
	if len(tt.known) != 1 {
		t.Fatalf("table holds %d quantiles, want 1", len(tt.known))
	}
	if again := tt.Quantile(0.95, 9); again != first || len(tt.known) != 1 {
		t.Errorf("asked again: %g, %d known; want %g, 1", again, len(tt.known), first)
	}
	if got := none.Quantile(0.95, 9); got != first {
		t.Errorf("without a table %g, want %g", got, first)
	}

	// Many askers, for the race detector.
	var wait sync.WaitGroup
	for range 4 {
		wait.Go(func() {
			for df := 1.0; df <= 30; df++ {
				if tt.Quantile(0.9, df) != none.Quantile(0.9, df) {
					t.Errorf("table disagrees at %g degrees of freedom", df)
				}
			}
		})
	}
	wait.Wait()
	if len(tt.known) != 31 {
		t.Errorf("table holds %d quantiles, want 31", len(tt.known))
	}
}

func TestTableStaysSmall(t *testing.T) {
	tt := TTable{known: make(map[tKey]float64)}
	for i := range tableLimit {
		tt.known[tKey{0.95, -float64(i)}] = 0
	}
	near(t, "beyond the limit", tt.Quantile(0.975, 9), 2.262157, 1e-6)
	if len(tt.known) != tableLimit {
		t.Errorf("table grew to %d", len(tt.known))
	}
}

func BenchmarkQuantileNew(b *testing.B) {
	var none *TTable
	for b.Loop() {
		none.Quantile(0.95, 9)
	}
}

func BenchmarkQuantileKnown(b *testing.B) {
	var tt TTable
	for b.Loop() {
		tt.Quantile(0.95, 9)
	}
}
