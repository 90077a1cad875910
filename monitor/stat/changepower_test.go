package stat

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strconv"
	"strings"
	"testing"

	"clipledger/monitor/needtool"
)

// Worked sizes: exact by R, normal theory as handbooks print it.
func TestPublishedChangeSizes(t *testing.T) {
	for _, r := range readReference(t, "stat-change.csv") {
		w := Wanted{Change: r.number(t, "change"), Alpha: r.number(t, "alpha"), Power: r.number(t, "power")}
		for _, word := range strings.Fields(r["per_unit"]) {
			v, err := strconv.ParseFloat(word, 64)
			if err != nil {
				t.Fatal(err)
			}
			w.PerUnit = append(w.PerUnit, v)
		}
		power, ok := w.PowerAt(r.number(t, "exact"), nil)
		if !ok {
			t.Fatal("no power")
		}
		near(t, r["case"]+": power at R's size", power, w.Power, r.number(t, "tolerance"))
		n, ok := w.N(nil)
		if !ok || float64(n) != r.number(t, "n") {
			t.Errorf("%s: n %d, want %s", r["case"], n, r["n"])
		}
		exact, tabled, ok := w.HandbookN()
		if !ok {
			t.Fatal("no handbook size")
		}
		near(t, r["case"]+": normal theory", exact, r.number(t, "normal"), 5e-4)
		if r["tabled"] != "" {
			near(t, r["case"]+": tabled z", tabled, r.number(t, "tabled"), 5e-4)
		}
	}
}

// What no number of units can cure: the normal-theory room for the units is
// change²/z² less what is fixed. By hand for alpha .10 and power .80, (1.6449
// + 0.8416)² = 6.18256: a change of 10 leaves 16.17, so a fixed variance of 17
// puts it out of reach, and one of 1 does not.
func TestFixedVarianceCanPutAChangeOutOfReach(t *testing.T) {
	w := Wanted{Change: 10, Alpha: 0.1, Power: 0.8, PerUnit: []float64{100}}
	free, ok := w.N(nil)
	if !ok || free != 8 { // R 4.2: power.t.test(delta=10, sd=10, sig.level=.1, power=.8, type="paired"): 7.73
		t.Errorf("n %d, %v, want 8", free, ok)
	}
	w.Fixed = []VariancePart{{1, 4}}
	with, ok := w.N(nil)
	if !ok || with <= free {
		t.Errorf("with a fixed part n %d, %v; want more than %d", with, ok, free)
	}
	before, _ := w.PowerAt(float64(with-1), nil)
	at, _ := w.PowerAt(float64(with), nil)
	if before >= 0.8 || at < 0.8 {
		t.Errorf("power %v at %d and %v at %d: not the smallest", before, with-1, at, with)
	}
	w.Fixed = []VariancePart{{17, 40}}
	if n, ok := w.N(nil); ok {
		t.Errorf("n %d for a change that is out of reach", n)
	}
	w.Fixed = []VariancePart{{12, 1}} // within reach of z, not of t on 1 df
	if n, ok := w.N(nil); ok {
		t.Errorf("n %d for a change that one degree of freedom hides", n)
	}
}

func TestDetectableChangeHasThePower(t *testing.T) {
	for _, df := range []float64{1, 1.3, 2, 3.7, 9, 19, 100, 5000, math.Inf(1)} {
		for _, alpha := range []float64{0.001, 0.05, 0.10, 0.5} {
			for _, power := range []float64{0.6, 0.8, 0.99} {
				change, ok := DetectableChange(2, df, alpha, power, nil)
				if !ok {
					t.Errorf("df %g, alpha %g, power %g: none", df, alpha, power)
					continue
				}
				near(t, fmt.Sprintf("df %g, alpha %g: power", df, alpha), 1-NoncentralTCDF(tQuantile(1-alpha/2, df), df, change/2), power, 1e-10)
			}
		}
	}
	for _, bad := range [][4]float64{{0, 9, .1, .8}, {1, 0, .1, .8}, {1, 9, 0, .8}, {1, 9, .1, .05}, {1, 9, .1, 1}} {
		if v, ok := DetectableChange(bad[0], bad[1], bad[2], bad[3], nil); ok {
			t.Errorf("%v: %v", bad, v)
		}
	}
	if _, ok := (Wanted{Change: 0, Alpha: .1, Power: .8, PerUnit: []float64{1}}).N(nil); ok {
		t.Error("a size for no change")
	}
	if _, ok := (Wanted{Change: 1, Alpha: .1, Power: .8, PerUnit: []float64{0}}).N(nil); ok {
		t.Error("a size without spread")
	}
}

// Random designs against R's power.t.test: the power, the change that is
// detected, and the size.
func TestChangePowerAgreesWithR(t *testing.T) {
	t.Parallel()
	rscript := needtool.Rscript(t)
	rng := rand.New(rand.NewPCG(6, 2026))
	var designs [][]float64
	for i := range 120 {
		designs = append(designs, []float64{float64(i % 2), float64(2 + rng.IntN(40)), math.Exp(rng.NormFloat64()), 0.3 + 2*rng.Float64(),
			[]float64{0.05, 0.10, 0.20}[rng.IntN(3)], []float64{0.8, 0.9, 0.95}[rng.IntN(3)]})
	}
	want := run(t, rscript, `
d <- read.table(file("stdin"))
for (i in seq_len(nrow(d))) {
  type <- if (d[i, 1] == 1) "paired" else "two.sample"
  change <- d[i, 3] * d[i, 4]
  p <- power.t.test(n = d[i, 2], delta = change, sd = d[i, 3], sig.level = d[i, 5], type = type)$power
  s <- power.t.test(n = d[i, 2], sd = d[i, 3], sig.level = d[i, 5], power = d[i, 6], type = type, tol = 1e-13)$delta
  n <- tryCatch(power.t.test(delta = change, sd = d[i, 3], sig.level = d[i, 5], power = d[i, 6], type = type, tol = 1e-10)$n, error = function(e) -1)
  cat(sprintf("%.17g %.17g %.17g\n", p, s, n))
}`, table(designs), 3*len(designs))
	sizes := 0
	for i, d := range designs {
		n, sd := d[1], d[2]
		w := Wanted{Change: sd * d[3], Alpha: d[4], Power: d[5], PerUnit: []float64{sd * sd, sd * sd}}
		df := 2 * (n - 1)
		if d[0] == 1 {
			w.PerUnit, df = w.PerUnit[:1], n-1
		}
		power, _ := w.PowerAt(n, nil)
		nearly(t, fmt.Sprintf("design %d: power", i), power, want[3*i], 1e-9)
		change, _ := DetectableChange(sd*math.Sqrt(float64(len(w.PerUnit))/n), df, d[4], d[5], nil)
		nearly(t, fmt.Sprintf("design %d: detectable", i), change, want[3*i+1], 1e-9)
		if size, ok := w.N(nil); want[3*i+2] >= 2 {
			sizes++
			if !ok || float64(size) != math.Ceil(want[3*i+2]) {
				t.Errorf("design %d: n %d, R %v", i, size, want[3*i+2])
			}
		}
	}
	if sizes < 80 {
		t.Errorf("only %d sizes were compared", sizes)
	}
}

func BenchmarkDetectableChange(b *testing.B) {
	df := 7.0
	var tt TTable
	for b.Loop() {
		df += 0.001
		if df > 40 {
			df = 7
		}
		if _, ok := DetectableChange(1, df, 0.1, 0.8, &tt); !ok {
			b.Fatal("none")
		}
	}
}
