package monitor

import (
	"math/rand/v2"
	"testing"

	"clipledger/monitor/stat"
)

// TestSizeCache asks for assured sizes in the order of a die, with and without
// a limit to the units, and compares every answer with the one worked out.
func TestSizeCache(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 6))
	var table stat.TTable
	for _, p := range []stat.Precision{{Relative: .2, Confidence: .8}, {Relative: .25, Confidence: .9, OneSided: true}, {Relative: .1, Confidence: .8, Possible: 40}} {
		cache, asked, worked := sizeCache{}, 0, 0
		for range 1500 {
			cv := 1.6 * rng.Float64() * rng.Float64()
			want, wantOK := stat.AssuredN(cv, .9, p, &table)
			if got, ok := cache.assured(cv, .9, p, &table); got != want || ok != wantOK {
				t.Fatalf("%+v at %v: got %d %v, want %d %v", p, cv, got, ok, want, wantOK)
			}
			asked++
		}
		for _, s := range cache {
			worked += len(s.cv)
			for i := 2; i < len(s.n); i++ {
				if s.n[i] == s.n[i-2] {
					t.Errorf("size %d is kept three times", s.n[i])
				}
			}
		}
		if 2*worked > asked {
			t.Errorf("%+v: %d of %d answers are kept", p, worked, asked)
		}
	}
}
