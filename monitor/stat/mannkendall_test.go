package stat

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

func kendallOf(t testing.TB, name string) (Kendall, PairSlopes) {
	t.Helper()
	y, x := series(t, name)
	k, ok := MannKendall(x[0], y)
	if !ok {
		t.Fatalf("%s: no test", name)
	}
	return k, PairSlopesOf(x[0], y)
}

func TestMannKendallPublished(t *testing.T) {
	// EPA 17-7: z, p, slope and interval printed by its worked example; exact p
	// and the 90 and 80 % intervals computed in R and SciPy.
	k, s := kendallOf(t, "sodium")
	if k.S != 25 || k.Variance != 125 || !k.Exact {
		t.Errorf("sodium: %+v", k)
	}
	near(t, "sodium z", k.Z, 2.146625, 1e-6)
	near(t, "sodium normal p", k.NormalP, 0.03182313, 1e-8)
	near(t, "sodium exact p", k.P, 0.0286095, 1e-7)
	slope, _ := s.Median()
	near(t, "sodium slope", slope, 4.0/3, 1e-9)
	for _, c := range []struct{ confidence, low, high float64 }{{0.95, 0.3992083, 2.3333333}, {0.90, 0.5821123, 2.25}, {0.80, 0.8094250, 2.1207438}} {
		i, ok := s.Interval(k.Variance, c.confidence)
		if !ok {
			t.Fatalf("sodium: no interval at %g", c.confidence)
		}
		near(t, "sodium low", i.Low, c.low, 1e-6)
		near(t, "sodium high", i.High, c.high, 1e-6)
	}
	// EPA 17-6, with ties, too long for the exact distribution.
	k, s = kendallOf(t, "sulfate")
	if k.S != 194 || k.Variance != 1428 || k.Exact || len(s) != 253 {
		t.Errorf("sulfate: %+v, %d slopes", k, len(s))
	}
	near(t, "sulfate z", k.Z, 5.107322, 1e-6)
	near(t, "sulfate p", k.P, 3.267574e-07, 1e-12)
	slope, _ = s.Median()
	near(t, "sulfate slope", slope, 26.6666667, 1e-7)
	i, _ := s.Interval(k.Variance, 0.95)
	near(t, "sulfate low", i.Low, 20, 1e-5)
	near(t, "sulfate high", i.High, 35.71182, 1e-5)
	// Hollander & Wolfe: two-sided exact p and corrected z computed in SciPy;
	// one-sided p as printed, .05972.
	k, _ = kendallOf(t, "tuna")
	if k.S != 16 || k.Variance != 92 {
		t.Errorf("tuna: %+v", k)
	}
	near(t, "tuna z", k.Z, 1.563858, 1e-6)
	near(t, "tuna normal p", k.NormalP, 0.117851, 1e-6)
	near(t, "tuna exact p", k.P, 0.119439, 1e-6)
	near(t, "tuna one-sided p", k.P/2, 0.05972, 5e-6)
}

func TestMannKendallGilbert(t *testing.T) {
	k, _ := kendallOf(t, "gilbert")
	if k.S != 4 {
		t.Errorf("S = %d, want 4", k.S)
	}
	near(t, "exact p", k.P, 2*4.0/24, 1e-12)
	// Several values a year: no exact distribution, both kinds of ties.
	k, s := kendallOf(t, "gilbert-many")
	if k.S != 19 || k.Exact || len(s) != 24 {
		t.Errorf("%+v, %d slopes", k, len(s))
	}
	near(t, "variance", k.Variance, 58.0952, 1e-4)
	i, _ := s.Interval(k.Variance, 0.9)
	near(t, "low", i.Low, 2.5724, 1e-4)
	near(t, "high", i.High, 9.2686, 1e-4)
}

func TestMannKendallTies(t *testing.T) {
	// 1, 2, 2, 3, 4: one order in 60 rises throughout, and one falls.
	k, _ := kendallOf(t, "ties")
	near(t, "exact two-sided p", k.P, 2.0/60, 1e-12)
	near(t, "normal two-sided p", k.NormalP, 0.043, 0.0005)
}

func TestExactKendallTable(t *testing.T) {
	// One-sided P(S ≥ s) for ten untied values, computed in SciPy.
	none := slices.Repeat([]int{1}, 10)
	for s, want := range map[int]float64{15: 0.108187, 17: 0.0778709, 19: 0.0541567, 21: 0.0362751, 23: 0.0233113, 25: 0.0143047, 27: 0.00833306, 29: 0.00457424, 31: 0.00234347} {
		nearly(t, fmt.Sprintf("S = %d", s), exactKendallP(s, none)/2, want, 1e-5)
	}
	near(t, "S = 45", exactKendallP(45, none), 2.0/3628800, 1e-18)
}

// The Gaussian multinomial against counting every order.
func TestExactKendallEnumerated(t *testing.T) {
	for _, y := range [][]float64{{1, 2, 3}, {1, 1, 2}, {1, 2, 2, 3, 4}, {1, 1, 2, 2, 3, 3}, {5, 5, 5, 1, 2, 3, 3}, {0, 0, 0, 0, 0, 1, 2}, {1, 2, 3, 4, 5, 6, 7}} {
		counts := map[int]int{}
		all := 0
		permute(y, 0, func() {
			s := 0
			for i := range y {
				for j := range i {
					s += sign(y[i] - y[j])
				}
			}
			counts[s]++
			all++
		})
		for s := range counts {
			far := 0
			for other, c := range counts {
				if other >= s && other >= -s || other <= s && other <= -s {
					far += c
				}
			}
			near(t, fmt.Sprintf("%v, S = %d", y, s), exactKendallP(s, tiesOf(y)), float64(far)/float64(all), 1e-12)
		}
	}
}

func permute(y []float64, from int, each func()) {
	if from == len(y) {
		each()
		return
	}
	for i := from; i < len(y); i++ {
		y[from], y[i] = y[i], y[from]
		permute(y, from+1, each)
		y[from], y[i] = y[i], y[from]
	}
}

func TestMannKendallLongAndNone(t *testing.T) {
	x := make([]float64, 100)
	for i := range x {
		x[i] = float64(i + 1)
	}
	k, _ := MannKendall(x, x)
	if k.S != 4950 || k.Variance != 112750 {
		t.Errorf("%+v", k)
	}
	near(t, "z", k.Z, 14.738699982, 1e-8)
	if k.P > 1e-40 {
		t.Errorf("p = %g", k.P)
	}
	flat, ok := MannKendall([]float64{1, 2, 3, 4}, []float64{2, 1, 1, 2})
	if !ok || flat.S != 0 || flat.Z != 0 || flat.P != 1 || flat.NormalP != 1 {
		t.Errorf("S = 0: %+v, %v", flat, ok)
	}
	for _, y := range [][]float64{nil, {1}, {2, 2, 2, 2, 2}} {
		if k, ok := MannKendall(x[:len(y)], y); ok {
			t.Errorf("%v: %+v", y, k)
		}
	}
}

func TestPairSlopesWithoutInterval(t *testing.T) {
	// Three values: the ranks of 90 % fall outside three slopes.
	s := PairSlopesOf([]float64{1, 2, 3}, []float64{1, 3, 2})
	k, _ := MannKendall([]float64{1, 2, 3}, []float64{1, 3, 2})
	if i, ok := s.Interval(k.Variance, 0.9); ok {
		t.Errorf("interval %v", i)
	}
	if m, ok := s.Median(); !ok || m != 0.5 {
		t.Errorf("median %v, %v", m, ok)
	}
	if _, ok := PairSlopesOf(nil, nil).Median(); ok {
		t.Error("no slopes have a median")
	}
}

// falseAlarms draws series without a trend: frames about a year's level whose
// variance is twice that of the mean of the frames. It returns how often least
// squares and Mann-Kendall call a trend at .10.
func falseAlarms(count, years, frames int, seed uint64) (ols, kendall float64) {
	rng := rand.New(rand.NewPCG(seed, uint64(years)))
	x := make([]float64, years)
	y := make([]float64, years)
	yearSD := math.Sqrt(2 / float64(frames))
	for range count {
		for i := range x {
			x[i] = float64(2000 + i)
			var m Moments
			level := yearSD * rng.NormFloat64()
			for range frames {
				m.Add(level + rng.NormFloat64())
			}
			y[i] = 10 + m.Mean()
		}
		f, _ := LeastSquares(y, x)
		if _, p, _ := f.Slopes[0].Test(f.DF); p < 0.1 {
			ols++
		}
		if k, _ := MannKendall(x, y); k.P < 0.1 {
			kendall++
		}
	}
	return ols / float64(count), kendall / float64(count)
}

// kendallBands hold the rate of correct code for 5,000 series at .10 in 99.9 %
// of runs: the exact test has few levels to choose from in short series. For 12
// years the test is the normal one, which is at .10 when |S| is 26 or more:
// that happens with probability .0863 (from the exact distribution).
var kendallBands = map[int][2]float64{5: {0.071, 0.096}, 8: {0.050, 0.072}, 12: {0.0733, 0.0994}}

func TestFalseAlarms(t *testing.T) {
	near(t, "level of 12 years", exactKendallP(26, slices.Repeat([]int{1}, 12)), 0.0863, 0.00005)
	for years, band := range kendallBands {
		ols, kendall := falseAlarms(5_000, years, 15, 3)
		near(t, fmt.Sprintf("ols, %d years", years), ols, 0.1, 0.014)
		if kendall < band[0] || kendall > band[1] {
			t.Errorf("Mann-Kendall, %d years: %.4f, want %v", years, kendall, band)
		}
	}
}

// BenchmarkFalseAlarms reports how often a trend is called where there is none;
// every round is 5,000 more series.
func BenchmarkFalseAlarms(b *testing.B) {
	for _, years := range []int{5, 8, 12} {
		b.Run(fmt.Sprintf("years-%d", years), func(b *testing.B) {
			var rounds uint64
			var ols, kendall float64
			for b.Loop() {
				rounds++
				o, k := falseAlarms(5_000, years, 15, rounds)
				ols, kendall = ols+o, kendall+k
			}
			b.ReportMetric(ols/float64(rounds), "ols")
			b.ReportMetric(kendall/float64(rounds), "mann-kendall")
		})
	}
}
