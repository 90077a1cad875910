package stat

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"clipledger/monitor/needtool"
)

// By hand. Holm: 4·.01, 3·.02, 2·.03 but not below the one before, .04 but
// not below: .04, .06, .06, .06. Benjamini-Hochberg: 4/1·.01 = 4/2·.02 =
// 4/3·.03 = 4/4·.04 = .04.
func TestAdjustedByHand(t *testing.T) {
	p := []float64{0.04, 0.01, 0.03, 0.02}
	for i, want := range []float64{0.06, 0.04, 0.06, 0.06} {
		near(t, fmt.Sprint("Holm ", i), Holm(p)[i], want, 1e-15)
		near(t, fmt.Sprint("Benjamini-Hochberg ", i), BenjaminiHochberg(p)[i], 0.04, 1e-15)
	}
	if len(Holm(nil)) != 0 || len(BenjaminiHochberg(nil)) != 0 {
		t.Error("no tests, but adjusted p")
	}
	near(t, "never above 1", Holm([]float64{0.9, 0.8})[0], 1, 0)
}

// Fifty families of one to forty p, ties among them, against R's p.adjust.
func TestAdjustedAgreeWithR(t *testing.T) {
	t.Parallel()
	rscript := needtool.Rscript(t)
	rng := rand.New(rand.NewPCG(5, 2026))
	var families [][]float64
	count := 0
	for range 50 {
		p := make([]float64, 1+rng.IntN(40))
		for i := range p {
			p[i] = math.Pow(rng.Float64(), 3)
			if i > 0 && rng.IntN(5) == 0 {
				p[i] = p[rng.IntN(i)]
			}
		}
		families = append(families, p)
		count += len(p)
	}
	want := run(t, rscript, `
for (line in strsplit(readLines("stdin"), " ")) {
  p <- as.numeric(line)
  cat(sprintf("%.17g", c(p.adjust(p, "holm"), p.adjust(p, "BH"))), "\n")
}`, table(families), 2*count)
	for _, p := range families {
		for i, v := range Holm(p) {
			nearly(t, "Holm", v, want[i], 1e-12)
		}
		for i, v := range BenjaminiHochberg(p) {
			nearly(t, "Benjamini-Hochberg", v, want[len(p)+i], 1e-12)
		}
		want = want[2*len(p):]
	}
}
