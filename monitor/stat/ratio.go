// What is the ratio of two totals, and how sure is it?
//
// Pairs such as the dry and the green weight of the same sample. The ratio of
// the sums is used, not the mean of the ratios, which gives a small sample the
// weight of a large one. Assumes the pairs are a random sample from many; the
// variance is the usual large-sample one and runs low for few pairs.

package stat

// Ratio is a ratio of sums with its variance.
type Ratio struct {
	R          float64 // Σd/Σg
	Variance   float64 // of R; only if VarianceOK
	M          int     // pairs
	VarianceOK bool    // false with fewer than two pairs
}

// RatioOf gives, for m pairs (dᵢ, gᵢ),
//
//	R = Σd/Σg
//	v(R) = Σ(dᵢ - R·gᵢ)² / [m(m-1)·ḡ²]
//
// without a finite population correction (Cochran 1977, Sampling Techniques,
// ch. 6, from memory). There is no ratio without pairs, with slices of
// different lengths, or where the gᵢ sum to 0.
func RatioOf(d, g []float64) (Ratio, bool) {
	if len(d) != len(g) || len(d) == 0 {
		return Ratio{}, false
	}
	var sumD, sumG float64
	for i := range d {
		sumD += d[i]
		sumG += g[i]
	}
	if sumG == 0 {
		return Ratio{}, false
	}
	r, ok := finite(sumD / sumG)
	if !ok {
		return Ratio{}, false
	}
	result := Ratio{R: r, M: len(d)}
	if result.M < 2 {
		return result, true
	}
	var residual float64
	for i := range d {
		e := d[i] - r*g[i]
		residual += e * e
	}
	m := float64(result.M)
	// m(m-1)·ḡ² = (m-1)/m·(Σg)²
	result.Variance, result.VarianceOK = finite(residual / sumG / sumG * m / (m - 1))
	return result, true
}
