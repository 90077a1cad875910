package stat

import (
	"math/rand/v2"
	"testing"
)

// BenchmarkMixed measures one fit of an unbalanced permanent transect of 20
// frames and 25 years, and one of 400 sites and 25 years.
func BenchmarkMixed(b *testing.B) {
	rng := rand.New(rand.NewPCG(1, 2))
	type data struct {
		y           []float64
		group, year []int
	}
	var frames []data
	for range 100 {
		y, f, t := unbalanced(rng, design{frames: 20, years: 25, frameSD: 20, yearSD: 15, restSD: 12, missing: 0.15})
		frames = append(frames, data{y, f, t})
	}
	b.Run("frames=20/years=25", func(b *testing.B) {
		for i := range b.N {
			d := frames[i%len(frames)]
			if _, err := FrameYearTrend(d.y, d.group, d.year); err != nil {
				b.Fatal(err)
			}
		}
	})
	y, s, t := unbalanced(rng, design{frames: 400, years: 25, frameSD: 30, slopeSD: 1, yearSD: 15, restSD: 12, missing: 0.15})
	b.Run("sites=400/years=25", func(b *testing.B) {
		for range b.N {
			if _, err := SiteYearTrend(y, s, t); err != nil {
				b.Fatal(err)
			}
		}
	})
}
