package stat

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
)

func TestTIntervalPublished(t *testing.T) {
	var tt TTable
	// Frames with zeros: mean 10.6, 95 % interval 3.280796 to 17.919204,
	// computed in R 4.2.
	m := MomentsOf(values(t, "zero frames")[0])
	sd, _ := m.SD()
	i := TInterval(m.Mean(), sd/math.Sqrt(10), tt.Quantile(0.975, 9))
	near(t, "low", i.Low, 3.280796, 1e-6)
	near(t, "high", i.High, 17.919204, 1e-6)

	// Ten of 150 units, mean 40, variance 400: made up; standard error and 95 %
	// limits computed in R 4.2.
	se := math.Sqrt(400.0 / 10 * (1 - 10.0/150))
	near(t, "se", se, 6.110100927, 1e-9)
	i = TInterval(40, se, tt.Quantile(0.975, 9))
	near(t, "low", i.Low, 26.177991423, 1e-8)
	near(t, "high", i.High, 53.822008577, 1e-8)

	if got := TInterval(3, 0, math.Inf(1)); got != (Interval{3, 3}) {
		t.Errorf("no standard error: %v", got)
	}
}

// hall is the transformation that HallInterval inverts, in Hall's own form:
// T + aT²/3 + a²T³/27 + a/6 with a = g/√n.
func hall(t, a float64) float64 { return t + a*t*t/3 + a*a*t*t*t/27 + a/6 }

func TestHallInvertsTheTransformation(t *testing.T) {
	for _, a := range []float64{-1.2, -0.3, -1e-3, -1e-9, 0, 1e-12, 1e-6, 0.05, 0.4, 0.9} {
		for _, u := range []float64{-6, -1.833, -0.2, 0, 0.7, 1.833, 2.3, 12} {
			near(t, fmt.Sprintf("g(g⁻¹(%g)) with a = %g", u, a), hall(hallInverse(u, a), a), u, 1e-12*max(1, math.Abs(u)))
		}
	}
}

func TestHallInterval(t *testing.T) {
	// n = 10 and G₁ = 1.5 make g = 1.5·8/√90 and a = g/√10 = 0.4; the two
	// values of g⁻¹ computed in R 4.2 from the formula.
	i, ok := HallInterval(100, 10, 1.5, 10, 1.833)
	if !ok {
		t.Fatal("no interval")
	}
	near(t, "low", i.Low, 100-10*1.462576081, 1e-8)
	near(t, "high", i.High, 100+10*2.838288281, 1e-8)

	plain := TInterval(100, 10, 1.833)
	if i, _ = HallInterval(100, 10, 0, 10, 1.833); i != plain {
		t.Errorf("without skewness %v, want the t interval %v", i, plain)
	}
	// Smooth towards no skewness.
	i, _ = HallInterval(100, 10, 1e-10, 10, 1.833)
	near(t, "low, hardly skewed", i.Low, plain.Low, 1e-8)
	near(t, "high, hardly skewed", i.High, plain.High, 1e-8)

	// Mirrored values have the mirrored interval.
	right, _ := HallInterval(5, 2, 1.1, 12, 2)
	left, _ := HallInterval(-5, 2, -1.1, 12, 2)
	near(t, "mirrored low", left.Low, -right.High, 1e-12)
	near(t, "mirrored high", left.High, -right.Low, 1e-12)

	for _, c := range []struct {
		se, t float64
		n     int
	}{{1, 2, 2}, {0, 2, 10}, {-1, 2, 10}, {math.NaN(), 2, 10}, {1, math.Inf(1), 10}} {
		if i, ok := HallInterval(1, c.se, 0.5, c.n, c.t); ok || i != (Interval{}) {
			t.Errorf("n = %d, se = %g, t = %g: %v, %v; want none", c.n, c.se, c.t, i, ok)
		}
	}
}

func TestHallKeepsItsOrder(t *testing.T) {
	for _, n := range []int{3, 5, 10, 50} {
		for g1 := -7.0; g1 <= 7; g1 += 0.25 {
			for _, u := range []float64{0.1, 1, 2, 6.3, 63} {
				i, ok := HallInterval(10, 1, g1, n, u)
				if !ok || !(i.Low < i.High) {
					t.Errorf("n = %d, G₁ = %g, t = %g: %v, %v", n, g1, u, i, ok)
				}
			}
		}
	}
}

// population is a kind of frame weight with the bands within which 99.9 % of
// correct programs land with 10,000 occasions of 10 frames at 90 %.
type population struct {
	name           string
	mean           float64
	draw           func(*rand.Rand) float64
	tLow, tHigh    float64
	hallLow, hallH float64
}

func populations() []population {
	lognormal := func(cv float64) func(*rand.Rand) float64 {
		sigma := math.Sqrt(math.Log1p(cv * cv))
		return func(r *rand.Rand) float64 { return math.Exp(sigma*r.NormFloat64() - sigma*sigma/2) }
	}
	skewed, long := lognormal(0.6), lognormal(1)
	sometimes := func(draw func(*rand.Rand) float64) func(*rand.Rand) float64 {
		return func(r *rand.Rand) float64 {
			if r.Float64() < 0.6 {
				return 0
			}
			return draw(r)
		}
	}
	return []population{
		{"normal", 100, func(r *rand.Rand) float64 { return 100 + 30*r.NormFloat64() }, 0.890, 0.910, 0.890, 0.910},
		{"lognormal-0.6", 1, skewed, 0.854, 0.877, 0.872, 0.893},
		{"zeros-60%-lognormal", 0.4, sometimes(long), 0.784, 0.811, 0.900, 0.919},
		{"zeros-60%-exponential", 0.4, sometimes((*rand.Rand).ExpFloat64), 0.784, 0.811, 0.900, 0.919},
	}
}

// coverage counts over many occasions of ten values how often each 90 %
// interval holds the true mean. Occasions of equal values, which have no
// interval, are not counted.
func (p population) coverage(occasions int, seed uint64) (t, hall float64) {
	const n = 10
	var tt TTable
	quantile := tt.Quantile(0.95, n-1)
	rng := rand.New(rand.NewPCG(seed, 7))
	var counted, inT, inHall float64
	for range occasions {
		var m Moments
		for range n {
			m.Add(p.draw(rng))
		}
		sd, _ := m.SD()
		g1, ok := m.Skewness()
		if !ok {
			continue
		}
		counted++
		se := sd / math.Sqrt(n)
		if i := TInterval(m.Mean(), se, quantile); i.Low <= p.mean && p.mean <= i.High {
			inT++
		}
		if i, ok := HallInterval(m.Mean(), se, g1, n, quantile); ok && i.Low <= p.mean && p.mean <= i.High {
			inHall++
		}
	}
	return inT / counted, inHall / counted
}

func TestCoverage(t *testing.T) {
	for _, p := range populations() {
		inT, inHall := p.coverage(10_000, 1)
		if inT < p.tLow || inT > p.tHigh {
			t.Errorf("%s: t interval covers %.3f, want %.3f to %.3f", p.name, inT, p.tLow, p.tHigh)
		}
		if inHall < p.hallLow || inHall > p.hallH {
			t.Errorf("%s: Hall's interval covers %.3f, want %.3f to %.3f", p.name, inHall, p.hallLow, p.hallH)
		}
	}
}

// BenchmarkCoverage reports the share of intervals that hold the true mean;
// every round is 10,000 more occasions.
func BenchmarkCoverage(b *testing.B) {
	for _, p := range populations() {
		b.Run(p.name, func(b *testing.B) {
			var rounds uint64
			var sumT, sumHall float64
			for b.Loop() {
				rounds++
				inT, inHall := p.coverage(10_000, rounds)
				sumT += inT
				sumHall += inHall
			}
			b.ReportMetric(sumT/float64(rounds), "t-coverage")
			b.ReportMetric(sumHall/float64(rounds), "hall-coverage")
		})
	}
}
