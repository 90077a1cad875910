package stat

import (
	"fmt"
	"math/rand/v2"
	"testing"

	"clipledger/monitor/needtool"
)

func TestDetectableEffect(t *testing.T) {
	// Ten sites, year variance .04, site × year .06, residual .10 (made up):
	// slope variance .0056 over 5 years. By noncentral t a slope of .3185 is
	// found four times in five at .05, where the normal form says .2097.
	var tt TTable
	effect, ok := DetectableEffect(0.05, 0.80, 3, &tt)
	if !ok {
		t.Fatal("no answer")
	}
	near(t, "detectable slope", 0.0748331*effect, 0.3185, 5e-5)
	near(t, "normal form", 0.0748331*(1.9599640+0.8416212), 0.2096514, 1e-6)
	// With endless degrees of freedom the two agree.
	effect, _ = DetectableEffect(0.05, 0.80, 1e13, &tt)
	near(t, "endless df", effect, 1.9599640+0.8416212, 1e-5) // the far tail counts too, by 3e-6
	for _, c := range [][3]float64{{0, 0.8, 3}, {0.1, 1, 3}, {0.1, 0.05, 3}, {0.1, 0.8, 0}, {1, 1, 3}} {
		if e, ok := DetectableEffect(c[0], c[1], c[2], &tt); ok {
			t.Errorf("%v: %g", c, e)
		}
	}
}

// SciPy's noncentral t finds the wanted power at the effect.
func TestDetectableEffectAgreesWithSciPy(t *testing.T) {
	python := needtool.SciPy(t)
	rng := rand.New(rand.NewPCG(8, 8))
	var tt TTable
	var rows [][]float64
	for range 200 {
		alpha, power := 0.01+0.3*rng.Float64(), 0.5+0.45*rng.Float64()
		df := float64(1 + rng.IntN(30))
		if rng.IntN(2) == 0 {
			df += rng.Float64()
		}
		effect, ok := DetectableEffect(alpha, power, df, &tt)
		if !ok {
			t.Fatalf("alpha %g, power %g, df %g: none", alpha, power, df)
		}
		rows = append(rows, []float64{alpha, df, effect, power})
	}
	const script = `
import sys
from scipy.stats import t, nct
for line in sys.stdin:
    a, df, e, _ = map(float, line.split())
    q = t.isf(a / 2, df)
    print(repr(float(nct.sf(q, df, e) + nct.cdf(-q, df, e))))
`
	for i, got := range run(t, python, script, table(rows), len(rows)) {
		near(t, fmt.Sprintf("power of %v", rows[i]), got, rows[i][3], 1e-7)
	}
}
