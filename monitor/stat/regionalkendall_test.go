package stat

import (
	"math"
	"math/rand/v2"
	"testing"
)

// EPA 530/R-09-007 (2009), example 14-10: twelve months of three years, the
// months in the place of sites, without covariances. z, p and slope are
// published; S and its variance follow from them.
func TestRegionalKendallAgainstPublishedSeasonal(t *testing.T) {
	var y []float64
	var site, year []int
	for _, r := range readReference(t, "stat-seasonal.csv") {
		y = append(y, r.number(t, "value"))
		site = append(site, int(r.number(t, "month"))-1)
		year = append(year, int(r.number(t, "year")))
	}
	got, ok := RegionalKendallOf(y, site, year)
	if !ok || got.Sites != 12 || got.Years != 3 || got.S != 35 {
		t.Fatalf("%+v", got)
	}
	near(t, "variance", got.Variance, 43, 1e-12)
	nearly(t, "z", got.PlainZ, 5.1849514, 1e-8)
	nearly(t, "p", got.PlainP, 2.160712e-07, 1e-6)
	nearly(t, "slope", got.Slope, 0.06, 1e-9)
}

// Four sites that rise and fall together: to count them as four independent
// witnesses makes the p far too small.
func TestRegionalKendallOfSharedWeather(t *testing.T) {
	y, site, year := siteYear(t)
	got, ok := RegionalKendallOf(y, site, year)
	if !ok || got.S != -28 {
		t.Fatalf("%+v", got)
	}
	nearly(t, "uncorrected variance", got.Variance, 113.333333333333, 1e-12)
	nearly(t, "corrected variance", got.Corrected, 453.333333333333, 1e-12)
	near(t, "p", got.P, 0.2048, 5e-5)
	near(t, "uncorrected p", got.PlainP, math.Erfc(27/math.Sqrt(113.333333333333)/math.Sqrt2), 1e-12)
}

// The covariance is exact under the null hypothesis when the joint ranks of a
// year are exchangeable over years: the variance of S over all 120 orders of
// five years is the corrected variance.
func TestRegionalKendallCovarianceOverAllOrders(t *testing.T) {
	a := []float64{3, 1, 4, 1.5, 9}
	b := []float64{2, 7, 1, 8, 2.8}
	var sum, corrected, count float64
	order := []float64{0, 1, 2, 3, 4}
	permute(order, 0, func() {
		var y []float64
		var site, year []int
		for t, from := range order {
			y, site, year = append(y, a[int(from)], b[int(from)]), append(site, 0, 1), append(year, t, t)
		}
		r, ok := RegionalKendallOf(y, site, year)
		if !ok {
			t.Fatal("no answer")
		}
		sum += float64(r.S * r.S)
		corrected += r.Corrected
		count++
	})
	if count != 120 {
		t.Fatalf("%v orders", count)
	}
	nearly(t, "variance of S over all orders", sum/count, corrected/count, 1e-12)
}

func TestRegionalKendallOddData(t *testing.T) {
	if _, ok := RegionalKendallOf(nil, nil, nil); ok {
		t.Error("an answer from nothing")
	}
	if _, ok := RegionalKendallOf([]float64{4, 4, 4}, []int{0, 0, 0}, []int{1, 2, 3}); ok {
		t.Error("an answer from equal values")
	}
	rng := rand.New(rand.NewPCG(1, 9))
	for k := range 200 {
		y, site, year := unbalanced(rng, design{frames: 2 + k%9, years: 3 + k%7, yearSD: 5, restSD: 5, missing: 0.5})
		r, ok := RegionalKendallOf(y, site, year)
		if !ok {
			continue
		}
		for _, v := range []float64{r.Variance, r.Corrected, r.Slope, r.PlainP, r.P} {
			if math.IsNaN(v) || math.IsInf(v, 0) {
				t.Fatalf("%+v", r)
			}
		}
		if r.CorrectedOK != (r.Corrected > 1e-9*r.Variance) || r.P < 0 || r.P > 1 {
			t.Fatalf("%+v", r)
		}
	}
}
