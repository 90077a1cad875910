package stat

import (
	"math"
	"testing"
)

func TestClassOfTakesLowerBoundsIn(t *testing.T) {
	bounds := []float64{0, 300, 500, math.Inf(1)}
	for _, test := range []struct {
		x    float64
		want int
		ok   bool
	}{{0, 0, true}, {299.999, 0, true}, {300, 1, true}, {500, 2, true}, {1e9, 2, true}, {-1, 0, false}} {
		if got, ok := ClassOf(test.x, bounds); ok != test.ok || ok && got != test.want {
			t.Errorf("ClassOf(%v) = %d %v, want %d %v", test.x, got, ok, test.want, test.ok)
		}
	}
	if _, ok := ClassOf(500, []float64{0, 500}); ok {
		t.Error("the upper bound of the last class belongs to no class")
	}
}

// The mean 480 with standard error 25 on 9 degrees of freedom: the confidence
// of the classes below 300, 300 to 500, and above is pt(-7.2, 9),
// pt(0.8, 9) - pt(-7.2, 9) and pt(-0.8, 9). R 4.2 prints pt(0.8, 9) = 0.7778435008.
func TestClassConfidenceOfAMeanNearABound(t *testing.T) {
	got := ClassConfidence(480, 25, 9, []float64{math.Inf(-1), 300, 500, math.Inf(1)})
	low := TCDF(-7.2, 9)
	want := []float64{low, 0.7778435008 - low, 1 - 0.7778435008}
	sum := 0.0
	for i := range want {
		sum += got[i]
		if math.Abs(got[i]-want[i]) > 5e-11 {
			t.Errorf("class %d: %v, want %v", i, got[i], want[i])
		}
	}
	if math.Abs(sum-1) > 1e-12 {
		t.Errorf("confidences sum to %v", sum)
	}
	if ClassConfidence(480, 0, 9, []float64{0, 1}) != nil {
		t.Error("no standard error, no confidence")
	}
}
