package stat

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/mat"

	"clipledger/monitor/needtool"
)

func TestImhofClosedForm(t *testing.T) {
	// Two weights: P(a·z₁² > b·z₂²) = P(F(1,1) > b/a) = 1 - (2/π)·arctan √(b/a).
	for _, c := range [][2]float64{{1, 1}, {3, 1}, {1, 5}, {0.01, 2}} {
		want := 1 - 2/math.Pi*math.Atan(math.Sqrt(c[1]/c[0]))
		near(t, fmt.Sprint(c), imhofAbove([]float64{c[0], -c[1]}), want, 1e-9)
	}
	// Weights in pairs make exponentials: P(a·E₁ > b·E₂) = a/(a + b).
	near(t, "pairs", imhofAbove([]float64{3, 3, -1, -1}), 0.75, 1e-9)
	near(t, "all above", imhofAbove([]float64{1, 2, 3}), 1, 1e-7)
	near(t, "all below", imhofAbove([]float64{-1, -2, -3, -4}), 0, 1e-7)
	if p := imhofAbove([]float64{0, 0}); p != 0.5 {
		t.Errorf("no weights: %g", p)
	}
}

const durbinScript = `
suppressMessages(library(lmtest))
d <- read.table(file("stdin"))
for (s in split(d, d$V1)) {
  m <- dwtest(V2 ~ V3, data = s, exact = TRUE)
  cat(sprintf("%.17g %.17g\n", m$statistic, m$p.value))
}`

// The exact distribution, with Durbin and Watson's matrix in place of the lag,
// against R's lmtest.
func TestRatioAgreesWithDurbinWatson(t *testing.T) {
	rscript := needtool.Rscript(t, "lmtest")
	rng := rand.New(rand.NewPCG(5, 71))
	var rows, ours [][]float64
	for s := range 50 {
		var x, y []float64
		n := 5 + s%25
		before := 0.0
		for i := range n {
			before = 0.5*before + rng.NormFloat64()
			x, y = append(x, float64(2000+i)), append(y, 10+0.1*float64(i)+before)
			rows = append(rows, []float64{float64(s), y[i], x[i]})
		}
		f, _ := LeastSquares(y, x)
		a := mat.NewSymDense(n, nil)
		var d float64
		for i := 1; i < n; i++ {
			a.SetSym(i, i, a.At(i, i)+1)
			a.SetSym(i-1, i-1, a.At(i-1, i-1)+1)
			a.SetSym(i-1, i, -1)
			step := f.Residuals[i] - f.Residuals[i-1]
			d += step * step / f.RSS
		}
		below, ok := ratioBelow(a, x, d)
		if !ok {
			t.Fatal("no answer")
		}
		ours = append(ours, []float64{d, below})
	}
	got := run(t, rscript, durbinScript, table(rows), 100)
	for i, o := range ours {
		nearly(t, "statistic", o[0], got[2*i], 1e-9)
		near(t, fmt.Sprintf("p of series %d", i), o[1], got[2*i+1], 1e-6)
	}
}

// Independent series, with gaps and without, are called correlated at .10 in a
// tenth of the cases; correlated ones far more often.
func TestLagOneSimulated(t *testing.T) {
	rate := func(rho float64, years []float64) float64 {
		rng := rand.New(rand.NewPCG(1, 10))
		var called float64
		const count = 4000
		for range count {
			y := make([]float64, len(years))
			state, at := rng.NormFloat64(), years[0]
			for i, year := range years {
				for ; at < year; at++ {
					state = rho*state + math.Sqrt(1-rho*rho)*rng.NormFloat64()
				}
				y[i] = 3*year + state
			}
			if a, _ := LagOne(years, y); a.P < 0.1 {
				called++
			}
		}
		return called / count
	}
	gaps := []float64{2001, 2002, 2003, 2005, 2006, 2010, 2011, 2012, 2013}
	near(t, "independent, with gaps", rate(0, gaps), 0.1, 0.016)
	near(t, "independent, 6 years", rate(0, []float64{1, 2, 3, 4, 5, 6}), 0.1, 0.016)
	long := make([]float64, 25)
	for i := range long {
		long[i] = float64(i)
	}
	if got := rate(0.7, long); got < 0.7 {
		t.Errorf("25 years with ρ = 0.7 are called correlated in %.2f of the cases", got)
	}
}

func TestLagOneWithoutAnswer(t *testing.T) {
	for name, c := range map[string][2][]float64{
		"no two years in a row": {{1, 3, 5, 7, 9}, {2, 5, 1, 4, 3}},
		"an exact line":         {{1, 2, 3, 4, 5}, {2, 4, 6, 8, 10}},
		"too short":             {{1, 2}, {2, 4}},
	} {
		if a, ok := LagOne(c[0], c[1]); ok {
			t.Errorf("%s: %+v", name, a)
		}
	}
	a, ok := LagOne([]float64{1, 2, 4, 5, 6, 9}, []float64{2, 5, 1, 4, 3, 3})
	if !ok || a.Pairs != 3 {
		t.Errorf("gaps: %+v, %v; want 3 pairs", a, ok)
	}
}
