package stat

import (
	"math"
	"testing"
)

func TestRatioPublished(t *testing.T) {
	r := readReference(t, "stat-ratio.csv")[0]
	before, after := values(t, "city 1920")[0], values(t, "city 1930")[0]
	got, ok := RatioOf(after, before)
	if !ok || !got.VarianceOK || got.M != 10 {
		t.Fatalf("got %+v, %v", got, ok)
	}
	near(t, "ratio", got.R, r.number(t, "ratio"), r.number(t, "ratio_tolerance"))
	near(t, "standard error", math.Sqrt(got.Variance), r.number(t, "se"), r.number(t, "se_tolerance"))
}

func TestRatioOf(t *testing.T) {
	for _, c := range []struct {
		name string
		d, g []float64
		want Ratio
		ok   bool
	}{
		{"nothing", nil, nil, Ratio{}, false},
		{"lengths differ", []float64{1, 2}, []float64{1}, Ratio{}, false},
		{"nothing to divide by", []float64{1, 2}, []float64{0, 0}, Ratio{}, false},
		{"one pair has no variance", []float64{3}, []float64{4}, Ratio{R: 0.75, M: 1}, true},
		{"the same ratio throughout", []float64{1, 2, 4}, []float64{2, 4, 8}, Ratio{0.5, 0, 3, true}, true},
		// R = 6/12; residuals 1-2, 5-4; 2/(2·1·6²).
		{"by hand", []float64{1, 5}, []float64{4, 8}, Ratio{0.5, 2.0 / 72, 2, true}, true},
		{"all dry to nothing", []float64{0, 0}, []float64{4, 8}, Ratio{0, 0, 2, true}, true},
		{"overflow", []float64{1e308, 1e308}, []float64{1, 1}, Ratio{}, false},
	} {
		got, ok := RatioOf(c.d, c.g)
		if ok != c.ok || got.R != c.want.R || got.M != c.want.M || got.VarianceOK != c.want.VarianceOK ||
			!(math.Abs(got.Variance-c.want.Variance) < 1e-15) {
			t.Errorf("%s: %+v, %v; want %+v, %v", c.name, got, ok, c.want, c.ok)
		}
	}
}

func TestRatioAnyUnit(t *testing.T) {
	after, before := values(t, "city 1930")[0], values(t, "city 1920")[0]
	want, _ := RatioOf(after, before)
	grams, ounces := make([]float64, len(after)), make([]float64, len(after))
	for i := range after {
		grams[i], ounces[i] = after[i]*28.349523125, before[i]*28.349523125
	}
	got, _ := RatioOf(grams, ounces)
	nearly(t, "ratio", got.R, want.R, 1e-14)
	nearly(t, "variance", got.Variance, want.Variance, 1e-12)
	doubled, _ := RatioOf(grams, before)
	nearly(t, "variance with d in another unit", doubled.Variance, want.Variance*28.349523125*28.349523125, 1e-12)
}
