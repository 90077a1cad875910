package stat

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"clipledger/monitor/needtool"
)

// Four pairs by hand: differences 1, 3, 5, 7; mean 4, s² = 20/3, s²/4 = 5/3.
func TestPairedDifference(t *testing.T) {
	d, part, ok := PairedDifference([]float64{10, 20, 30, 40}, []float64{11, 23, 35, 47})
	if !ok {
		t.Fatal("no difference")
	}
	near(t, "difference", d, 4, 0)
	nearly(t, "variance", part.Variance, 5.0/3, 1e-15)
	near(t, "df", part.DF, 3, 0)
	test, ok := TTestOf(d, []VariancePart{part})
	if !ok {
		t.Fatal("no test")
	}
	nearly(t, "t", test.T, 4/math.Sqrt(5.0/3), 1e-15)
}

// The pairs above, and a factor of each occasion with an error of its own:
// variances 1 on 2 df and 1/2 on 4 df. By hand se² = 5/3 + 3/2 = 19/6 and df =
// (19/6)²/((5/3)²/3 + 1/2 + 1/16); left out, t would be 3.10 and not 2.25.
func TestPairingDoesNotCancelWhatAnOccasionShares(t *testing.T) {
	d, part, _ := PairedDifference([]float64{10, 20, 30, 40}, []float64{11, 23, 35, 47})
	test, ok := TTestOf(d, []VariancePart{part, {1, 2}, {0.5, 4}})
	if !ok {
		t.Fatal("no test")
	}
	nearly(t, "se", test.SE, math.Sqrt(19.0/6), 1e-15)
	nearly(t, "t", test.T, 4/math.Sqrt(19.0/6), 1e-15)
	df := (19.0 / 6) * (19.0 / 6) / (25.0/27 + 0.5 + 1.0/16)
	nearly(t, "df", test.DF, df, 1e-14)
	nearly(t, "p", test.P, 2*TCDF(-test.T, df), 1e-14)
}

// Where there is nothing to test there is no test, and nothing that rounding
// made counts as spread.
func TestNoDifferenceToTest(t *testing.T) {
	if _, _, ok := PairedDifference([]float64{1}, []float64{2}); ok {
		t.Error("one pair has a variance")
	}
	if _, _, ok := PairedDifference([]float64{1, 2}, []float64{2}); ok {
		t.Error("unequal lengths have pairs")
	}
	if mean, _, ok := MeanPart([]float64{2}); ok || mean != 2 {
		t.Errorf("one value: mean %v, a variance: %v", mean, ok)
	}
	// 0.1 more in each pair: the differences differ in their last digits.
	x := []float64{0.3, 12.7, 1000.9, 77.7}
	y := make([]float64, len(x))
	for i := range x {
		y[i] = x[i] + 0.1
	}
	d, part, ok := PairedDifference(x, y)
	near(t, "difference", d, 0.1, 1e-12)
	if !ok || part.Variance != 0 {
		t.Errorf("equal differences: variance %v, %v", part.Variance, ok)
	}
	if _, ok := TTestOf(d, []VariancePart{part}); ok {
		t.Error("a difference without spread is tested")
	}
	_, zeros, _ := MeanPart([]float64{0, 0, 0})
	_, others, _ := MeanPart([]float64{1, 2, 3})
	if zeros.Variance != 0 || others.Variance == 0 {
		t.Errorf("zeros against values: %v, %v", zeros, others)
	}
	if test, ok := TTestOf(2, []VariancePart{zeros, others}); !ok || test.DF != 2 {
		t.Errorf("zeros against values: df %v, %v, want 2", test.DF, ok)
	}
}

// 300 random designs, paired and not, against R's t.test.
func TestDifferencesAgreeWithR(t *testing.T) {
	t.Parallel()
	rscript := needtool.Rscript(t)
	rng := rand.New(rand.NewPCG(4, 2026))
	var samples [][]float64
	for i := range 300 {
		n, m := 2+rng.IntN(30), 2+rng.IntN(30)
		if i%2 == 0 {
			m = n
		}
		level, scale := math.Exp(4*rng.NormFloat64()), math.Exp(rng.NormFloat64())
		draw := func(n int) []float64 {
			out := make([]float64, n)
			for j := range out {
				if rng.IntN(6) > 0 {
					out[j] = level * math.Exp(scale*rng.NormFloat64())
				}
			}
			return out
		}
		x := draw(n)
		y := draw(m)
		if i%4 == 0 { // pairs that go together
			for j := range y {
				y[j] = x[j]*1.1 + 0.2*y[j]
			}
		}
		x[0], y[0] = x[0]+level, y[0]+2*level // not all zero
		samples = append(samples, x, y)
	}
	want := run(t, rscript, `
lines <- lapply(strsplit(readLines("stdin"), " "), as.numeric)
for (i in seq(1, length(lines), 2)) {
  x <- lines[[i]]; y <- lines[[i + 1]]
  r <- t.test(y, x, paired = i %% 4 == 1)
  cat(sprintf("%.17g %.17g %.17g %.17g\n", r$stderr, r$statistic, r$parameter, r$p.value))
}`, table(samples), 4*300)
	for i := range 300 {
		x, y := samples[2*i], samples[2*i+1]
		var d float64
		var parts []VariancePart
		if i%2 == 0 {
			difference, part, ok := PairedDifference(x, y)
			if !ok {
				t.Fatal("no difference")
			}
			d, parts = difference, []VariancePart{part}
		} else {
			before, one, ok1 := MeanPart(x)
			after, two, ok2 := MeanPart(y)
			if !ok1 || !ok2 {
				t.Fatal("no difference")
			}
			d, parts = after-before, []VariancePart{one, two}
		}
		got, ok := TTestOf(d, parts)
		if !ok {
			t.Fatalf("design %d: no test", i)
		}
		for j, v := range []float64{got.SE, got.T, got.DF, got.P} {
			nearly(t, fmt.Sprintf("design %d, number %d", i, j), v, want[4*i+j], 1e-9)
		}
	}
}
