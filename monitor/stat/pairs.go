// How do two columns of paired numbers vary together?
//
// The sums that agreement, straight lines and double sampling all start from.
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
