// Do many sites go up or down together, whatever the form of their lines?
//
// The regional Kendall test adds Kendall's S over the sites (Helsel & Frans
// 2006, Environ. Sci. Technol. 40:4066-4073; the seasonal test of Hirsch, Slack
// & Smith 1982, with sites in place of seasons; from memory). Sites that share
// their weather rise and fall in the same years: their S are not independent,
// and a variance that takes them so calls trends that are only weather. The
// covariances between sites are therefore estimated from the ranks (Dietz &
// Killeen 1981, J. Am. Stat. Assoc. 76:169-174; with missing years as in Hirsch
// & Slack 1984, Water Resour. Res. 20:727-732; from memory).

package stat

import (
	"math"
	"slices"
)

// RegionalKendall is the test over all sites.
type RegionalKendall struct {
	Sites     int // with an S
	Years     int // distinct years
	S         int
	Variance  float64 // Σ var(Sₕ): right for sites that share nothing
	Corrected float64 // with the covariances between sites
	Slope     float64 // median of the slopes of all pairs of years within sites

	PlainZ, PlainP float64 // by Variance, with continuity correction
	Z, P           float64 // by Corrected; only if CorrectedOK
	CorrectedOK    bool    // false where the estimate is not above 0
}

// RegionalKendallOf tests the values y of sites (counted from 0) in years, one
// value to a site and year; years may be missing. With Sₕ Kendall's S of site h,
//
//	S = Σ Sₕ
//	var(S) = Σ var(Sₕ) + 2·Σ_{g<h} cov(S_g, Sₕ)
//	cov(S_g, Sₕ) = [K + 4·Σᵢ R_ig·R_ih - n·(n_g + 1)·(nₕ + 1)]/3
//	K = Σ_{i<j} sign[(y_jg - y_ig)·(y_jh - y_ih)]
//
// over the n years of all, R the midranks within a site, (n_g + 1)/2 where a
// year is missing. var(Sₕ) is corrected for ties, z = (S ∓ 1)/√var(S). Sites
// with fewer than two values or all values alike have no S and are not
// counted. The covariances are estimates from few years: below five years the
// corrected test is rough. There is no answer without a site that has an S.
func RegionalKendallOf(y []float64, site, year []int) (RegionalKendall, bool) {
	if len(site) != len(y) || len(year) != len(y) {
		return RegionalKendall{}, false
	}
	years := slices.Compact(slices.Sorted(slices.Values(year)))
	r := RegionalKendall{Years: len(years)}
	var slopes []float64
	var series []rankedSeries
	for _, s := range bySite(y, site, year) {
		k, ok := MannKendall(s.x, s.y)
		if !ok {
			continue
		}
		r.Sites++
		r.S += k.S
		r.Variance += k.Variance
		slopes = append(slopes, PairSlopesOf(s.x, s.y)...)
		series = append(series, s.ranked(years))
	}
	if r.Sites == 0 {
		return RegionalKendall{}, false
	}
	r.Corrected = r.Variance + 2*kendallCovariances(series)
	slices.Sort(slopes)
	r.Slope, _ = PairSlopes(slopes).Median()
	r.PlainZ, r.PlainP = kendallZ(r.S, r.Variance)
	if r.Corrected > 1e-9*r.Variance {
		r.Z, r.P = kendallZ(r.S, r.Corrected)
		r.CorrectedOK = true
	}
	return r, true
}

func kendallZ(s int, variance float64) (z, p float64) {
	z = float64(s-sign(float64(s))) / math.Sqrt(variance)
	return z, min(1, math.Erfc(math.Abs(z)/math.Sqrt2))
}

// siteSeries is the values of one site.
type siteSeries struct{ x, y []float64 }

func bySite(y []float64, site, year []int) []siteSeries {
	var out []siteSeries
	for i, s := range site {
		for s >= len(out) {
			out = append(out, siteSeries{})
		}
		out[s].x, out[s].y = append(out[s].x, float64(year[i])), append(out[s].y, y[i])
	}
	return out
}

// rankedSeries is a site over all years: midranks, and the sign of the change
// from each year to each later one, 0 where a year is missing.
type rankedSeries struct {
	n     int // years with values
	rank  []float64
	signs []int8
}

func (s siteSeries) ranked(years []int) rankedSeries {
	value := make([]float64, len(years))
	there := make([]bool, len(years))
	for i, x := range s.x {
		k, _ := slices.BinarySearch(years, int(x))
		value[k], there[k] = s.y[i], true
	}
	r := rankedSeries{n: len(s.y), rank: make([]float64, len(years))}
	for i := range years {
		sum := len(s.y) + 1
		for j := range years {
			change := 0
			if there[i] && there[j] {
				change = sign(value[j] - value[i])
			}
			sum -= change
			if j > i {
				r.signs = append(r.signs, int8(change))
			}
		}
		r.rank[i] = float64(sum) / 2
	}
	return r
}

// kendallCovariances is Σ_{g<h} cov(S_g, S_h).
func kendallCovariances(series []rankedSeries) float64 {
	var sum float64
	for g := range series {
		for h := range g {
			a, b := &series[g], &series[h]
			k := 0
			for i, s := range a.signs {
				k += int(s * b.signs[i])
			}
			n := float64(len(a.rank))
			sum += (float64(k) + 4*dot(a.rank, b.rank) - n*float64(a.n+1)*float64(b.n+1)) / 3
		}
	}
	return sum
}
