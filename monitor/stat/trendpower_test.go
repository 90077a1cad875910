package stat

import (
	"fmt"
	"math"
	"testing"
)

// A published scheme of components on a log scale (Larsen et al. 2001, as
// recomputed): variance of the slope and the slope detectable at 5 %, power
// 80 %, by the normal form; by noncentral t it is far larger with few years.
func TestSlopeVariance(t *testing.T) {
	v := TrendVariances{Year: 0.04, SiteYear: 0.06, Sampling: 0.10}
	for _, c := range []struct {
		years                  int
		sites                  float64
		variance, se, byNormal float64
	}{
		{5, 10, 0.0056, 0.0748331, 0.2096514},
		{10, 10, 6.787879e-04, 0.0260536, 0.0729913},
		{10, 30, 5.494949e-04, 0.0234413, 0.0656728},
		{20, 10, 8.421053e-05, 0.0091767, 0.0257091},
	} {
		got, ok := v.SlopeVariance(c.years, c.sites, 1)
		if !ok {
			t.Fatal("no answer")
		}
		what := fmt.Sprintf("%d years, %g sites: ", c.years, c.sites)
		nearly(t, what+"variance", got, c.variance, 1e-6)
		near(t, what+"standard error", math.Sqrt(got), c.se, 1e-7)
		power, _ := TrendPower(c.byNormal, math.Sqrt(got), 0.05, math.Inf(1), nil)
		near(t, what+"power of the normal form with all degrees of freedom", power, 0.80, 1e-5)
	}
	se := math.Sqrt(0.0056)
	effect, _ := DetectableEffect(0.05, 0.80, 3, nil)
	near(t, "detectable with 5 years", effect*se, 0.3185, 5e-5)
	power, _ := TrendPower(effect*se, se, 0.05, 3, nil)
	near(t, "its power", power, 0.80, 1e-9)
	if _, ok := v.SlopeVariance(1, 10, 1); ok {
		t.Error("a slope from one year")
	}
	v.Slope = 0.01
	got, _ := v.SlopeVariance(10, 10, 1)
	nearly(t, "slopes of sites differ", got, 6.787879e-04+0.001, 1e-6)
}

func TestTrendPowerEnds(t *testing.T) {
	for _, c := range []struct {
		name      string
		slope, se float64
		want      float64
	}{
		{"no slope", 0, 1, 0.1},
		{"no spread", 1, 0, 1},
		{"neither", 0, 0, 0.1},
	} {
		got, ok := TrendPower(c.slope, c.se, 0.1, 5, nil)
		if !ok {
			t.Error(c.name)
		}
		near(t, c.name, got, c.want, 1e-12)
	}
	for _, bad := range [][]float64{{1, 1, 0, 5}, {1, 1, 0.1, 0}, {1, -1, 0.1, 5}, {math.NaN(), 1, 0.1, 5}} {
		if _, ok := TrendPower(bad[0], bad[1], bad[2], bad[3], nil); ok {
			t.Errorf("%v: an answer", bad)
		}
	}
}

// With equal variances it is the textbook form; a year clipped with more frames
// counts by where it stands.
func TestLeastSquaresVariance(t *testing.T) {
	got, ok := LeastSquaresVariance([]float64{2011, 2012, 2013, 2014, 2015}, []float64{0.056, 0.056, 0.056, 0.056, 0.056})
	if !ok {
		t.Fatal("no answer")
	}
	nearly(t, "five years", got, 0.0056, 1e-12)
	// Σ(t-t̄)² = 14 for 0, 1, 5 about 2: (4·3 + 1·2 + 9·1)/14².
	got, _ = LeastSquaresVariance([]float64{0, 1, 5}, []float64{3, 2, 1})
	nearly(t, "by hand", got, 23.0/196, 1e-12)
	if _, ok := LeastSquaresVariance([]float64{4, 4}, []float64{1, 1}); ok {
		t.Error("a slope from one year")
	}
}
