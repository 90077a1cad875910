package stat

import (
	"math"
	"math/rand/v2"
	"testing"

	"clipledger/monitor/needtool"
)

// Intercept, slope, its standard error, t and p, and the residual spread against R's lm.
func TestStraightLineAgainstR(t *testing.T) {
	rscript := needtool.Rscript(t)
	const script = `
for (l in readLines(file("stdin"))) {
  a <- as.numeric(strsplit(l, " ")[[1]])
  n <- length(a) / 2
  f <- summary(lm(a[n + 1:n] ~ a[1:n]))
  s <- f$coefficients
  cat(sprintf("%.17g", c(s[, 1], s[2, 2:4], f$sigma)), "\n")
}`
	rng := rand.New(rand.NewPCG(31, 4))
	var lines [][]float64
	for range 40 {
		n := 3 + rng.IntN(20)
		line := make([]float64, 2*n)
		for i := range n {
			line[i] = 2000 + 20*rng.Float64()
			line[n+i] = 500 + 0.7*line[i]*rng.Float64() + rng.NormFloat64()
		}
		lines = append(lines, line)
	}
	want := run(t, rscript, script, table(lines), 6*len(lines))
	for k, line := range lines {
		n := len(line) / 2
		l, ok := StraightLineOf(line[:n], line[n:])
		if !ok || !l.SEOK {
			t.Fatalf("%+v, %v", l, ok)
		}
		for i, got := range []float64{l.Intercept, l.Slope, l.SE, l.T, l.P, l.ResidualSD} {
			nearly(t, "R's lm", got, want[6*k+i], 1e-7)
		}
	}
}

func TestStraightLineWithout(t *testing.T) {
	for _, c := range []struct {
		name     string
		x, y     []float64
		ok, seOK bool
	}{
		{"nothing", nil, nil, false, false},
		{"lengths differ", []float64{1, 2}, []float64{1}, false, false},
		{"x all alike", []float64{2, 2, 2}, []float64{1, 2, 3}, false, false},
		{"two pairs", []float64{1, 2}, []float64{5, 9}, true, false},
		{"exactly on a line", []float64{1, 2, 3}, []float64{0.1, 0.2, 0.3}, true, false},
		{"y all alike", []float64{1, 2, 3}, []float64{7, 7, 7}, true, false},
		{"three pairs", []float64{1, 2, 3}, []float64{1, 2, 4}, true, true},
	} {
		l, ok := StraightLineOf(c.x, c.y)
		if ok != c.ok || l.SEOK != c.seOK || math.IsNaN(l.Slope+l.Intercept+l.SE+l.T+l.P) {
			t.Errorf("%s: %+v, %v", c.name, l, ok)
		}
	}
}
