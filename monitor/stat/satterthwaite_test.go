package stat

import (
	"fmt"
	"math"
	"testing"

	"clipledger/monitor/needtool"
)

func TestSatterthwaite(t *testing.T) {
	inf := math.Inf(1)
	for _, c := range []struct {
		name         string
		parts        []VariancePart
		variance, df float64
		ok           bool
	}{
		{"nothing", nil, 0, 0, false},
		{"zeros only", []VariancePart{{0, 4}, {0, 0}}, 0, 0, false},
		{"one part keeps its own", []VariancePart{{2.5, 7}}, 2.5, 7, true},
		{"equal parts add up", []VariancePart{{3, 4}, {3, 4}, {3, 4}}, 9, 12, true},
		{"zero part ignored", []VariancePart{{2.5, 7}, {0, 0}}, 2.5, 7, true},
		{"by hand: 9/(1/2 + 4/8)", []VariancePart{{1, 2}, {2, 8}}, 3, 9, true},
		{"known part adds no doubt: 16/(1/5)", []VariancePart{{1, 5}, {3, inf}}, 4, 80, true},
		{"all known", []VariancePart{{1, inf}, {3, inf}}, 4, inf, true},
		{"negative", []VariancePart{{1, 5}, {-1, 5}}, 0, 0, false},
		{"no degrees of freedom", []VariancePart{{1, 5}, {1, 0}}, 0, 0, false},
		{"not a number", []VariancePart{{math.NaN(), 5}}, 0, 0, false},
		{"too large", []VariancePart{{1.5e308, 5}, {1.5e308, 5}}, 0, 0, false},
	} {
		variance, df, ok := Satterthwaite(c.parts)
		if ok != c.ok || variance != c.variance || !(math.Abs(df-c.df) < 1e-12 || df == c.df) {
			t.Errorf("%s: %g on %g, %v; want %g on %g, %v", c.name, variance, df, ok, c.variance, c.df, c.ok)
		}
	}
}

func TestSatterthwaiteAnyUnitAnyOrder(t *testing.T) {
	_, want, _ := Satterthwaite([]VariancePart{{1.3, 9}, {0.2, 2}, {4, 31}})
	for _, unit := range []float64{1, 1e-200, 1e200} {
		_, df, ok := Satterthwaite([]VariancePart{{4 * unit, 31}, {1.3 * unit, 9}, {0.2 * unit, 2}})
		if !ok {
			t.Errorf("unit %g: no answer", unit)
		}
		nearly(t, fmt.Sprintf("unit %g", unit), df, want, 1e-14)
	}
}

// Welch's test adds s²/n of two samples: R prints its degrees of freedom.
func TestSatterthwaiteAgainstWelchInR(t *testing.T) {
	rscript := needtool.Rscript(t)
	samples := occasions(200)
	const script = `
lines <- readLines(file("stdin"))
x <- lapply(strsplit(lines, " "), as.numeric)
for (i in seq(1, length(x), 2)) {
  w <- t.test(x[[i]], x[[i + 1]])
  cat(sprintf("%.17g %.17g\n", w$stderr, w$parameter))
}`
	want := run(t, rscript, script, table(samples), len(samples))
	for i := 0; i < len(samples); i += 2 {
		var parts []VariancePart
		for _, x := range samples[i : i+2] {
			m := MomentsOf(x)
			v, _ := m.Variance()
			parts = append(parts, VariancePart{v / float64(m.N()), float64(m.N() - 1)})
		}
		variance, df, ok := Satterthwaite(parts)
		if !ok {
			t.Fatal("no answer")
		}
		nearly(t, "standard error", math.Sqrt(variance), want[i], 1e-12)
		nearly(t, "degrees of freedom", df, want[i+1], 1e-12)
	}
}
