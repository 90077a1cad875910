// What is the mean of a whole area, from sites drawn within its parts?
//
// Stratified sampling: the area is divided into strata, sites are drawn within
// each, and each stratum counts by its share of the area. Assumes that the
// sites of a stratum are a random sample of it. Cochran (1977), Sampling
// Techniques, ch. 5 (from memory).

package stat

import "math"

// StratumSample is what was found in one stratum.
type StratumSample struct {
	Values   []float64 // one for each site, at least one
	Area     float64   // of the stratum, in any unit; 0 where not known
	Possible int       // sites that the stratum could have had; 0 for many
}

// StratumMean is the mean of one stratum.
type StratumMean struct {
	N          int
	Share      float64 // of the whole, W
	Mean       float64
	Variance   float64 // of the mean; only if VarianceOK
	DF         float64
	VarianceOK bool // false with one site
}

// StratifiedMean is the mean over strata.
type StratifiedMean struct {
	Mean       float64
	Variance   float64 // of the mean; only if VarianceOK
	DF         float64 // by Satterthwaite; infinite where every site was taken
	VarianceOK bool    // false if a stratum that counts has one site, or nothing varies
	Unweighted bool    // an area is not known: every site counts alike
	Strata     []StratumMean
}

// Stratified gives, with W the share of a stratum in the area of all, n its
// sites and N those possible,
//
//	ȳ = Σ W·ȳₕ,   v(ȳ) = Σ W²·s²ₕ/n·(1 - n/N)
//
// with Satterthwaite's degrees of freedom from (n-1). Where the area of a
// stratum is not known every site counts alike, W = n/Σn, and the mean is the
// plain mean of the sites. A stratum with one site has no variance, and neither
// has a mean that holds it. There is no answer without strata, for a stratum
// without values, with a negative area, or with more sites than possible.
func Stratified(strata []StratumSample) (StratifiedMean, bool) {
	total, unweighted, ok := totalArea(strata)
	if !ok {
		return StratifiedMean{}, false
	}
	r := StratifiedMean{Unweighted: unweighted, VarianceOK: true}
	var parts []VariancePart
	for _, s := range strata {
		share := s.Area / total
		if unweighted {
			share = float64(len(s.Values)) / total
		}
		m := s.mean()
		m.Share = share
		r.Strata = append(r.Strata, m)
		r.Mean += share * m.Mean
		r.VarianceOK = r.VarianceOK && m.VarianceOK
		if m.VarianceOK {
			parts = append(parts, VariancePart{share * share * m.Variance, m.DF})
		}
	}
	if r.VarianceOK {
		r.Variance, r.DF, r.VarianceOK = Satterthwaite(parts)
	}
	_, ok = finite(r.Mean)
	return r, ok
}

// totalArea is the area of all strata or, where one is not known, the number
// of all sites.
func totalArea(strata []StratumSample) (total float64, unweighted, ok bool) {
	var area float64
	var sites int
	for _, s := range strata {
		if len(s.Values) == 0 || !(s.Area >= 0) || math.IsInf(s.Area, 1) || s.Possible != 0 && s.Possible < len(s.Values) {
			return 0, false, false
		}
		area += s.Area
		sites += len(s.Values)
		unweighted = unweighted || s.Area == 0
	}
	if unweighted {
		return float64(sites), true, true
	}
	return area, false, len(strata) > 0
}

func (s *StratumSample) mean() StratumMean {
	m := MomentsOf(s.Values)
	r := StratumMean{N: m.N(), Mean: m.Mean(), DF: float64(m.N() - 1)}
	v, ok := m.Variance()
	if !ok {
		return r
	}
	r.Variance, r.VarianceOK = v/float64(r.N), true
	if s.Possible != 0 {
		r.Variance *= 1 - float64(r.N)/float64(s.Possible)
	}
	return r
}
