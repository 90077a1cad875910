package stat

import (
	"math"
	"math/rand/v2"
	"testing"
)

// kappaCases are the published tables with the weights given beside them.
var kappaCases = map[string]struct{ counts, given [][]float64 }{
	// Cohen's shares of N = 200. His weights count disagreement: 1 - w/6.
	"cohen": {[][]float64{{88, 14, 18}, {10, 40, 10}, {2, 6, 12}},
		[][]float64{{1, 1 - 1.0/6, 1 - 3.0/6}, {1 - 1.0/6, 1, 0}, {1 - 3.0/6, 0, 1}}},
	"fleiss": {[][]float64{{106, 10, 4}, {22, 28, 10}, {2, 12, 6}},
		[][]float64{{1, 0, 0.4444}, {0, 1, 0.6667}, {0.4444, 0.6667, 1}}},
}

func TestKappaPublished(t *testing.T) {
	for _, r := range readReference(t, "stat-kappa.csv") {
		c, ok := kappaCases[r["case"]]
		if !ok {
			t.Fatalf("no table %q", r["case"])
		}
		w := map[string][][]float64{"identity": IdentityWeights(3), "linear": LinearWeights(3), "quadratic": QuadraticWeights(3), "given": c.given}[r["weights"]]
		k, ok := KappaOf(c.counts, w)
		if !ok || k.N != 200 {
			t.Fatalf("%s, %s: %+v, %v", r["case"], r["weights"], k, ok)
		}
		name, tolerance := r["case"]+" "+r["weights"], r.number(t, "tolerance")
		near(t, name, k.Kappa, r.number(t, "kappa"), tolerance)
		if r["se"] != "" {
			near(t, name+": SE", math.Sqrt(k.Variance), r.number(t, "se"), tolerance)
		}
		if r["null_variance"] != "" {
			near(t, name+": null variance", k.NullVariance, r.number(t, "null_variance"), 5e-10)
		}
	}
}

func TestKappaWithout(t *testing.T) {
	for _, c := range []struct {
		name      string
		counts, w [][]float64
	}{
		{"nothing", nil, nil},
		{"no counts", [][]float64{{0, 0}, {0, 0}}, LinearWeights(2)},
		{"all in one class", [][]float64{{9, 0}, {0, 0}}, LinearWeights(2)},
		{"one class", [][]float64{{9}}, LinearWeights(1)},
		{"not square", [][]float64{{9, 1}, {1}}, LinearWeights(2)},
		{"weights of another size", [][]float64{{9, 1}, {1, 4}}, LinearWeights(3)},
	} {
		if k, ok := KappaOf(c.counts, c.w); ok || k != (Kappa{}) {
			t.Errorf("%s: %+v, %v", c.name, k, ok)
		}
	}
	perfect, ok := KappaOf([][]float64{{3, 0}, {0, 5}}, LinearWeights(2))
	if !ok || math.Abs(perfect.Kappa-1) > 1e-15 {
		t.Errorf("perfect agreement: %+v, %v", perfect, ok)
	}
}

// The variance is the one that repeated samples have: Fleiss, Cohen & Everitt's
// formula against 4,000 tables drawn from their shares.
func TestKappaVarianceBySimulation(t *testing.T) {
	c := kappaCases["fleiss"]
	w := LinearWeights(3)
	want, _ := KappaOf(c.counts, w)
	rng := rand.New(rand.NewPCG(6, 9))
	var m Moments
	for range 4000 {
		counts := [][]float64{make([]float64, 3), make([]float64, 3), make([]float64, 3)}
		for range 200 {
			u := 200 * rng.Float64()
			for cell := range 9 {
				if u -= c.counts[cell/3][cell%3]; u < 0 || cell == 8 {
					counts[cell/3][cell%3]++
					break
				}
			}
		}
		k, ok := KappaOf(counts, w)
		if !ok {
			t.Fatal("no kappa")
		}
		m.Add(k.Kappa)
	}
	v, _ := m.Variance()
	nearly(t, "variance", v, want.Variance, 0.1)
	near(t, "mean", m.Mean(), want.Kappa, 0.004)
}
