package monitor

import (
	"math"
	"testing"

	"clipledger/monitor/stat"
	"clipledger/schema"
)

// TestEfforts holds the curve to R:
// qt(.9, n-1) * .4 / sqrt(n) * 100 for n = 2, 10, 20, and the same with the
// factor sqrt(1 - n/40).
func TestEfforts(t *testing.T) {
	p := stat.Precision{Relative: 0.2, Confidence: 0.8}
	m := &Mean{Site: &schema.SiteRecord{SamplingUnit: "frame"}, N: 10, Mean: schema.Some(50), SD: schema.Some(20), HalfPct: schema.Some(17.494), NRequired: schema.Some(8)}
	var table stat.TTable
	plain := Efforts(m, p, &table)
	if len(plain) != 19 || plain[0].N != 2 || plain[18].N != 20 {
		t.Fatalf("got %v", plain)
	}
	for i, want := range map[int]float64{0: 87.0500359793129, 8: 17.4940835312101, 18: 11.8755621241119} {
		if got := plain[i].HalfPct; math.Abs(got-want) > 1e-9*want {
			t.Errorf("n = %d: %v, want %v", plain[i].N, got, want)
		}
	}
	m.Site.UnitsPossible = 40
	limited := Efforts(m, p, &table)
	for i := range limited {
		want := plain[i].HalfPct * math.Sqrt(1-float64(plain[i].N)/40)
		if got := limited[i].HalfPct; math.Abs(got-want) > 1e-9*want {
			t.Errorf("n = %d of 40: %v, want %v", plain[i].N, got, want)
		}
	}
	m.Site.UnitsPossible = 12
	if few := Efforts(m, p, &table); few[len(few)-1].N != 12 {
		t.Errorf("more than the 12 possible units: %v", few)
	}
	m.HalfPct = Num{}
	if got := Efforts(m, p, &table); got != nil {
		t.Errorf("a mean that was not judged: %v", got)
	}
}
