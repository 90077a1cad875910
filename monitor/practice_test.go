package monitor_test

import (
	"fmt"
	"reflect"
	"slices"
	"testing"

	"clipledger/monitor"
	"clipledger/schema"
	"clipledger/schema/ledgertest"
)

func practiceOf(t *testing.T, path string, q monitor.PracticeQuery) (out []monitor.PracticeFrame) {
	t.Helper()
	ledgertest.Read(t, path, func(s *schema.Snapshot) (err error) {
		out, err = monitor.PracticeFrames(s, q)
		return err
	})
	return out
}

// A draw takes one frame from each part of the range, never one that weighed
// nothing, and the same seed draws the same.
func TestPracticeDrawsAcrossTheRange(t *testing.T) {
	t.Parallel()
	b := newEyeBook("")
	for i := range 40 {
		b.clip("2024-07-01", fmt.Sprint(i), schema.Herbaceous, float64((i*17)%40), float64((i*17)%40)/2)
	}
	b.clip("2024-07-01", "B", schema.Browse, 12, 6)
	b.clip("2024-07-01", "L", schema.Litter, 12, 6)
	path := ledgertest.Path(t, b.r)
	q := monitor.PracticeQuery{Frames: 13, Seed: 5}
	got := practiceOf(t, path, q)
	var weights []float64
	for _, f := range got {
		switch f.Component {
		case "herbaceous":
			weights = append(weights, f.GreenG.Float64)
		case "litter":
			t.Error("litter is on the sheet")
		}
		if f.Site.Site != "A" || f.Year != 2024 || f.GroundM2 != 1 || f.State != "green" {
			t.Errorf("%+v", f)
		}
	}
	if len(got) != 14 || len(weights) != 13 {
		t.Fatalf("%d frames, %d of them herbaceous", len(got), len(weights))
	}
	if slices.IsSorted(weights) {
		t.Error("the order tells the weight")
	}
	slices.Sort(weights)
	for i, w := range weights { // 39 weights above nothing in 13 threes
		if int(w-1)/3 != i {
			t.Errorf("frame %d of the range weighs %g", i, w)
		}
	}
	if again := practiceOf(t, path, q); !reflect.DeepEqual(again, got) {
		t.Error("the same seed draws other frames")
	}
	q.Seed = 6
	if other := practiceOf(t, path, q); reflect.DeepEqual(other, got) {
		t.Error("another seed draws the same frames")
	}
	q.Components = []string{"browse"}
	if few := practiceOf(t, path, q); len(few) != 1 || few[0].Visit.Frame != "B" {
		t.Errorf("%+v", few)
	}
}
