package stat

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"clipledger/monitor/needtool"
)

// holes draws a table of frames by years with holes, every frame and year with
// a value.
func holes(rng *rand.Rand, frames, years int) (y []float64, frame, year []int) {
	level := make([]float64, frames)
	for f := range level {
		level[f] = 50 * math.Exp(rng.NormFloat64())
	}
	for f := range frames {
		for t := range years {
			if (f+t)%max(frames, years) != 0 && f != 0 && t != 0 && rng.IntN(3) == 0 {
				continue
			}
			y = append(y, level[f]+10*rng.NormFloat64()+3*float64(t))
			frame, year = append(frame, f), append(year, t)
		}
	}
	return y, frame, year
}

const yearMeansScript = `
d <- read.table(file("stdin"))
for (s in split(d, d$V1)) {
  s$f <- factor(s$V3); s$t <- factor(s$V4)
  m <- lm(V2 ~ f + t, s)
  g <- expand.grid(f = levels(s$f), t = levels(s$t))
  cat(sprintf("%.17g ", tapply(predict(m, g), g$t, mean)), "\n")
}`

// Random tables with holes against R: the mean over all frames of what
// lm(value ~ frame + year) predicts for a year.
func TestFrameYearMeansAgreeWithR(t *testing.T) {
	rscript := needtool.Rscript(t)
	rng := rand.New(rand.NewPCG(17, 2))
	var rows [][]float64
	var want []float64
	for s := range 60 {
		y, frame, year := holes(rng, 3+s%14, 3+s%12)
		got, ok := FrameYearMeans(y, frame, year, nil)
		if !ok {
			t.Fatalf("table %d has no answer", s)
		}
		want = append(want, got...)
		for i := range y {
			rows = append(rows, []float64{float64(s), y[i], float64(frame[i]), float64(year[i])})
		}
	}
	for i, r := range run(t, rscript, yearMeansScript, table(rows), len(want)) {
		nearly(t, fmt.Sprintf("mean %d", i), want[i], r, 1e-9)
	}
}

func TestFrameYearMeans(t *testing.T) {
	// Frame 0 weighs 100, frame 1 weighs 20, the second year is 10 better, and
	// the heavy frame is lost in the third.
	y := []float64{100, 20, 110, 30, 25}
	frame, year := []int{0, 1, 0, 1, 1}, []int{0, 0, 1, 1, 2}
	got, ok := FrameYearMeans(y, frame, year, nil)
	if !ok {
		t.Fatal("no answer")
	}
	for i, want := range []float64{60, 70, 65} {
		near(t, fmt.Sprintf("year %d", i), got[i], want, 1e-12)
	}
	// Weights move the level, not the differences.
	got, _ = FrameYearMeans(y, frame, year, []float64{3, 1})
	for i, want := range []float64{80, 90, 85} {
		near(t, fmt.Sprintf("weighted, year %d", i), got[i], want, 1e-12)
	}
	// Complete: plain means.
	got, _ = FrameYearMeans([]float64{1, 2, 6, 8}, []int{0, 1, 0, 1}, []int{0, 0, 1, 1}, nil)
	near(t, "complete, first", got[0], 1.5, 1e-12)
	near(t, "complete, second", got[1], 7, 1e-12)
	one, ok := FrameYearMeans([]float64{1, 3}, []int{0, 1}, []int{0, 0}, nil)
	if !ok || len(one) != 1 || one[0] != 2 {
		t.Errorf("one year: %v, %v", one, ok)
	}
}

func TestFrameYearMeansWithoutAnswer(t *testing.T) {
	for name, c := range map[string]struct{ frame, year []int }{
		"years that share no frame": {[]int{0, 1, 2, 3}, []int{0, 0, 1, 1}},
		"a frame without values":    {[]int{0, 0, 2, 2}, []int{0, 1, 0, 1}},
		"a year without values":     {[]int{0, 1, 0, 1}, []int{0, 0, 2, 2}},
	} {
		if got, ok := FrameYearMeans([]float64{1, 2, 3, 4}, c.frame, c.year, nil); ok {
			t.Errorf("%s: %v", name, got)
		}
	}
	if _, ok := FrameYearMeans(nil, nil, nil, nil); ok {
		t.Error("no values have means")
	}
}
