// How do two columns of paired numbers vary together?
//
// The sums that agreement and double sampling both start from.
// They are taken around the means, in two passes, so that a large common level
// costs no digits.

package stat

// pairSums are the means of paired values and the sums of squares and products
// of their deviations.
type pairSums struct {
	n             int
	meanX, meanY  float64
	ssX, ssY, sXY float64
}

// sumsOf needs slices of one length that are not empty.
func sumsOf(x, y []float64) (pairSums, bool) {
	if len(x) == 0 || len(x) != len(y) {
		return pairSums{}, false
	}
	s := pairSums{n: len(x), meanX: MomentsOf(x).Mean(), meanY: MomentsOf(y).Mean()}
	for i := range x {
		dx, dy := x[i]-s.meanX, y[i]-s.meanY
		s.ssX += dx * dx
		s.ssY += dy * dy
		s.sXY += dx * dy
	}
	_, okX := finite(s.ssX)
	_, okY := finite(s.ssY)
	return s, okX && okY
}

// rest is Σ(y-ȳ-b(x-x̄))², what a line of slope b leaves. What is only rounding
// counts as nothing.
func (s *pairSums) rest(slope float64, x, y []float64) float64 {
	var sum float64
	for i := range x {
		e := (y[i] - s.meanY) - slope*(x[i]-s.meanX)
		sum += e * e
	}
	if sum <= 1e-28*(s.ssY+slope*slope*s.ssX) {
		return 0
	}
	return sum
}
