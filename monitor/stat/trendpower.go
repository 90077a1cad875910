// How many years until a trend is seen, and what would more sites buy?
//
// Every year's mean differs from the line through the years by that year's
// weather, which all frames and sites of the year share, and by what is
// particular to the site and the sampling. More sites or frames make only the
// second part smaller; more years make both count less.

package stat

import "math"

// TrendVariances are the variances of yearly values about their trend.
type TrendVariances struct {
	Year     float64 // shared by all sites of a year
	SiteYear float64 // of a site in a year
	Sampling float64 // of one frame (or visit) at a site in a year
	Slope    float64 // between the slopes of sites, per year²
}

// SlopeVariance is the variance of the slope of year when sites are all
// visited in each of years consecutive years, with visits values at each,
//
//	var = [σ²_year + (σ²_site×year + σ²_sampling/m)/N]/Σ(t - t̄)² + σ²_slope/N
//	Σ(t - t̄)² = T(T² - 1)/12
//
// (Larsen, Kincaid, Jacobs & Urquhart 2001, BioScience 51:1069-1078; Urquhart &
// Kincaid 1999; from memory). The variance between the levels of sites cancels;
// that between years is not divided by the number of sites. It needs two years,
// one site and one visit, which may be fractions of a mean.
func (v TrendVariances) SlopeVariance(years int, sites, visits float64) (float64, bool) {
	if years < 2 || !(sites > 0) || !(visits > 0) {
		return 0, false
	}
	return finite((v.Year+(v.SiteYear+v.Sampling/visits)/sites)/squaresOfYears(years) + v.Slope/sites)
}

// squaresOfYears is Σ(t - t̄)² of consecutive years.
func squaresOfYears(years int) float64 {
	t := float64(years)
	return t * (t*t - 1) / 12
}

// TrendPower is the probability that a two-sided t test at level alpha with
// df degrees of freedom finds a slope whose estimate has standard error se:
// P(|T′| > t(1-α/2, df)), T′ noncentral t with noncentrality slope/se (from the
// definition). With se 0 any slope is found.
func TrendPower(slope, se, alpha, df float64, tt *TTable) (float64, bool) {
	if !(alpha > 0 && alpha < 1) || !(df > 0) || !(se >= 0) || math.IsNaN(slope) {
		return 0, false
	}
	if se == 0 {
		if slope == 0 {
			return alpha, true
		}
		return 1, true
	}
	t := tt.Quantile(1-alpha/2, df)
	effect := math.Abs(slope) / se
	return 1 - NoncentralTCDF(t, df, effect) + NoncentralTCDF(-t, df, effect), true
}

// LeastSquaresVariance is the variance of the slope of ordinary least squares
// through independent values at times t, each with a variance of its own,
//
//	Σ (t - t̄)²·var / [Σ (t - t̄)²]²
//
// (from the definition). It needs two different times.
func LeastSquaresVariance(t, variance []float64) (float64, bool) {
	m := MomentsOf(t)
	var squares, sum float64
	for i := range t {
		d := (t[i] - m.Mean()) * (t[i] - m.Mean())
		squares += d
		sum += d * variance[i]
	}
	if !(squares > 0) {
		return 0, false
	}
	return finite(sum / squares / squares)
}
