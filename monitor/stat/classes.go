package stat

import "math"

// In which class does a mean fall, and how sure is that? The confidence of a
// class is the part of the confidence distribution of the mean that lies
// between its bounds,
//
//	F_t((U − ȳ)/se) − F_t((L − ȳ)/se)
//
// with F_t Student's distribution on the mean's degrees of freedom. It is a
// confidence, not a probability: the true mean does not vary (confidence
// distributions: Cox 1958; Schweder & Hjort 2002, from memory).

// ClassOf finds the class [bounds[k], bounds[k+1]) that holds x. Bounds ascend;
// the last may be +Inf. ok is false where x lies outside all of them.
func ClassOf(x float64, bounds []float64) (k int, ok bool) {
	for k := 0; k+1 < len(bounds); k++ {
		if x >= bounds[k] && x < bounds[k+1] {
			return k, true
		}
	}
	return 0, false
}

// ClassConfidence is the confidence of every class between ascending bounds.
// The first may be −Inf and the last +Inf, and then they sum to 1.
func ClassConfidence(mean, se, df float64, bounds []float64) []float64 {
	if len(bounds) < 2 || !(se > 0) || !(df > 0) {
		return nil
	}
	out := make([]float64, len(bounds)-1)
	below := tcdf((bounds[0]-mean)/se, df)
	for k := range out {
		upTo := tcdf((bounds[k+1]-mean)/se, df)
		out[k] = upTo - below
		below = upTo
	}
	return out
}

// tcdf is TCDF that takes infinities.
func tcdf(t, df float64) float64 {
	switch {
	case math.IsInf(t, -1):
		return 0
	case math.IsInf(t, 1):
		return 1
	}
	return TCDF(t, df)
}
