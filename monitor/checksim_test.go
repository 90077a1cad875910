package monitor

import (
	"math"
	"math/rand/v2"
	"testing"

	"clipledger/monitor/stat"
)

// lognormalFrames are clean frames of one site: years of n frames whose
// weights have the coefficient of variation cv, the years differing as good
// and bad ones do. Frame i of year y has the number y*n + i.
func lognormalFrames(rng *rand.Rand, w *weights, site int64, years, n int, cv float64, change func(year, i int) float64) {
	sigma := math.Sqrt(math.Log(1 + cv*cv))
	for y := range years {
		level := 4 + 0.4*rng.NormFloat64()
		frames := make([]cellFrame, n)
		for i := range frames {
			frames[i] = cellFrame{visit: int64(y*n + i), frameType: 1, log: level + sigma*rng.NormFloat64()}
			if change != nil {
				frames[i].log += change(y, i)
			}
		}
		w.addCell(alike{site, "peak", 1, -1}, frames)
	}
}

// False alarms of the outlier check on clean lognormal frames, and how many
// slipped decimals it finds. The bounds leave room for chance: at one alarm
// in 5,000 frames 120,000 frames give 24.
func TestOutlierRates(t *testing.T) {
	for _, c := range []struct {
		years, n   int
		cv         float64
		leastFound float64 // share of slipped decimals
	}{
		{10, 10, 0.6, 0.33},
		{14, 8, 0.6, 0.28},
		{5, 20, 0.6, 0.42},
		{5, 8, 0.6, 0.22},
		{20, 5, 0.6, 0.17},
		{25, 20, 0.6, 0.49},
		{10, 10, 0.45, 0.7},
		{10, 10, 0.3, 0.99},
	} {
		rng := rand.New(rand.NewPCG(20, uint64(c.years*100+c.n)))
		frames, alarms := 0, 0
		for frames < 120_000 {
			w := &weights{groups: map[alike]int32{}}
			lognormalFrames(rng, w, 1, c.years, c.n, c.cv, nil)
			frames += c.years * c.n
			alarms += len(w.far())
		}
		found, slips := 0, 0
		for range 1000 {
			w := &weights{groups: map[alike]int32{}}
			lognormalFrames(rng, w, 1, c.years, c.n, c.cv, func(y, i int) float64 {
				if y == 1 && i == 1 {
					return math.Log(10)
				}
				return 0
			})
			slips++
			for _, x := range w.far() {
				if x.visit == int64(c.n+1) && x.residual > 0 {
					found++
				}
			}
		}
		rate, share := 5000*float64(alarms)/float64(frames), float64(found)/float64(slips)
		t.Logf("%d years of %d frames, CV %g: %.2f false alarms per 5,000 frames, %.0f %% of slipped decimals found", c.years, c.n, c.cv, rate, 100*share)
		if rate > 1 {
			t.Errorf("%d years of %d frames, CV %g: %.2f false alarms per 5,000 frames, want at most 1", c.years, c.n, c.cv, rate)
		}
		if share < c.leastFound {
			t.Errorf("%d years of %d frames, CV %g: %.0f %% of slipped decimals found, want at least %.0f %%", c.years, c.n, c.cv, 100*share, 100*c.leastFound)
		}
	}
}

// spreadOf is not led astray by the values that it is there to find.
func TestSpreadResists(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	values := make([]float64, 200)
	for i := range values {
		values[i] = 10 + 2*rng.NormFloat64()
		if i < 20 {
			values[i] = 1000
		}
	}
	var table stat.TTable
	s := spreadOf(values, 1, weightAlarms, &table)
	if math.Abs(s.middle-10) > 1 || s.scale < 1.5 || s.scale > 3 {
		t.Errorf("middle %g, scale %g of values around 10 ± 2 with a tenth at 1000", s.middle, s.scale)
	}
	if !s.far(1000) || s.far(13) {
		t.Errorf("far(1000) %v, far(13) %v; want true, false", s.far(1000), s.far(13))
	}
}

// False alarms among clean fractions of dry matter: three samples of 50 ± 5 %
// in each of 14 years that differ by 4 points themselves; and how many samples
// hardly dried (93 %) are found.
func TestFractionRates(t *testing.T) {
	rng := rand.New(rand.NewPCG(31, 7))
	like := likeness{1, "peak", 1, "", ""}
	alarms, fractionsSeen, found, slips := 0, 0, 0, 0
	for range 3000 {
		f := &fractions{groups: map[likeness]int32{}}
		local := f.group(like)
		for year := range int64(14) {
			level := 0.5 + 0.04*rng.NormFloat64()
			for i := range 3 {
				v := float32(level + 0.05*rng.NormFloat64())
				if year == 3 && i == 0 && slips%2 == 0 {
					v = 0.93
				}
				f.list.add(fraction{visit: year << 20, local: local, wide: local, value: v, low: v - 0.001, high: v + 0.001})
			}
		}
		far := f.far()
		if slips%2 == 0 {
			if _, ok := far[9]; ok {
				found++
			}
		} else {
			alarms, fractionsSeen = alarms+len(far), fractionsSeen+f.list.n
		}
		slips++
	}
	rate, share := 5000*float64(alarms)/float64(fractionsSeen), float64(found)/1500
	t.Logf("%.2f false alarms per 5,000 fractions, %.0f %% of those hardly dried found", rate, 100*share)
	if rate > 1 || share < 0.98 {
		t.Errorf("%.2f false alarms per 5,000 fractions and %.1f %% found; want at most 1 and at least 98 %%", rate, 100*share)
	}
}
