package stat

import (
	"math"
	"math/rand/v2"
	"testing"

	"clipledger/monitor/needtool"
)

// alternating is one value and then pairs around it, as NIST builds NumAcc2-4.
func alternating(first, low, high float64) []float64 {
	x := []float64{first}
	for range 500 {
		x = append(x, low, high)
	}
	return x
}

func TestMomentsPublished(t *testing.T) {
	data := map[string][]float64{
		"NumAcc1":     {10000001, 10000003, 10000002},
		"NumAcc2":     alternating(1.2, 1.1, 1.3),
		"NumAcc3":     alternating(1000000.2, 1000000.1, 1000000.3),
		"NumAcc4":     alternating(10000000.2, 10000000.1, 10000000.3),
		"Mavro":       values(t, "Mavro")[0],
		"zero frames": values(t, "zero frames")[0],
		"city 1930":   values(t, "city 1930")[0],
	}
	for _, r := range readReference(t, "stat-moments.csv") {
		name := r["case"]
		m := MomentsOf(data[name])
		if got, want := float64(m.N()), r.number(t, "n"); got != want {
			t.Errorf("%s: n = %v, want %v", name, got, want)
		}
		// The certified mean holds to 1e-13 in every set.
		nearly(t, name+": mean", m.Mean(), r.number(t, "mean"), 1e-13)
		if r["sd"] == "" {
			continue
		}
		sd, ok := m.SD()
		if !ok {
			t.Errorf("%s: no sd", name)
		}
		nearly(t, name+": sd", sd, r.number(t, "sd"), r.number(t, "tolerance"))
	}
}

func TestMomentsOfEqualValues(t *testing.T) {
	for _, v := range []float64{0, 33.3, 0.1, 1e-300, 1e300, -7.7} {
		var m Moments
		for n := 1; n <= 7; n++ {
			m.Add(v)
			sd, ok := m.SD()
			if ok != (n >= 2) || sd != 0 {
				t.Errorf("%d x %g: sd = %g, %v", n, v, sd, ok)
			}
			if got := m.Mean(); got != v {
				t.Errorf("%d x %g: mean = %g", n, v, got)
			}
			if g, ok := m.Skewness(); ok || g != 0 {
				t.Errorf("%d x %g: skewness = %g, %v", n, v, g, ok)
			}
		}
	}
}

func TestMomentsOfTooFew(t *testing.T) {
	var m Moments
	if m.N() != 0 || m.Mean() != 0 {
		t.Errorf("nothing added: n = %d, mean = %g", m.N(), m.Mean())
	}
	if _, ok := m.Variance(); ok {
		t.Error("no values have a variance")
	}
	m.Add(3)
	if _, ok := m.Variance(); ok {
		t.Error("one value has a variance")
	}
	m.Add(5)
	if v, ok := m.Variance(); !ok || v != 2 {
		t.Errorf("variance of 3 and 5 = %g, %v, want 2", v, ok)
	}
	if _, ok := m.Skewness(); ok {
		t.Error("two values have a skewness")
	}
	if v, ok := MomentsOf([]float64{-1e308, 1e308}).Variance(); ok {
		t.Errorf("an overflowing variance came back as %g", v)
	}
}

func TestMomentsScaleShiftOrder(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 1))
	for range 200 {
		n := 3 + rng.IntN(40)
		x, scaled, shifted := make([]float64, n), make([]float64, n), make([]float64, n)
		for i := range x {
			x[i] = math.Exp(rng.NormFloat64())
			scaled[i], shifted[i] = -8*x[i], x[i]+1024
		}
		mixed := append([]float64(nil), x...)
		rng.Shuffle(n, func(i, j int) { mixed[i], mixed[j] = mixed[j], mixed[i] })

		sd, _ := MomentsOf(x).SD()
		g1, _ := MomentsOf(x).Skewness()
		mean := MomentsOf(x).Mean()
		for _, c := range []struct {
			name         string
			x            []float64
			mean, sd, g1 float64
		}{
			{"scaled by -8", scaled, -8 * mean, 8 * sd, -g1},
			{"shifted by 1024", shifted, mean + 1024, sd, g1},
			{"in another order", mixed, mean, sd, g1},
		} {
			m := MomentsOf(c.x)
			gotSD, _ := m.SD()
			gotG1, _ := m.Skewness()
			nearly(t, c.name+": mean", m.Mean(), c.mean, 1e-12)
			nearly(t, c.name+": sd", gotSD, c.sd, 1e-11)
			near(t, c.name+": skewness", gotG1, c.g1, 1e-9)
		}
	}
}

// occasions makes samples of 3 to 40 values of the kind that clipping gives:
// some empty, the others with a long tail.
func occasions(count int) [][]float64 {
	rng := rand.New(rand.NewPCG(20, 24))
	all := make([][]float64, count)
	for i := range all {
		x := make([]float64, 3+rng.IntN(38))
		for j := range x {
			if rng.Float64() > 0.2 {
				x[j] = math.Exp(3 + rng.NormFloat64())
			}
		}
		x[0] = 1 + rng.Float64() // not all empty
		all[i] = x
	}
	return all
}

func TestOccasionsAgainstR(t *testing.T) {
	rscript := needtool.Rscript(t)
	const script = `
lines <- readLines(file("stdin"))
for (l in lines) {
  x <- as.numeric(strsplit(l, " ")[[1]])
  n <- length(x)
  i <- t.test(x, conf.level = 0.90)$conf.int
  d <- x - mean(x)
  skew <- sqrt(n * (n - 1)) / (n - 2) * (sum(d^3) / n) / (sum(d^2) / n)^1.5
  cat(sprintf("%.17g", c(mean(x), sd(x), skew, i[1], i[2])), "\n")
}`
	samples := occasions(1000)
	want := run(t, rscript, script, table(samples), 5*len(samples))
	var tt TTable
	for i, x := range samples {
		m := MomentsOf(x)
		sd, _ := m.SD()
		g1, _ := m.Skewness()
		n := float64(m.N())
		interval := TInterval(m.Mean(), sd/math.Sqrt(n), tt.Quantile(0.95, n-1))
		w := want[5*i:]
		nearly(t, "mean", m.Mean(), w[0], 1e-12)
		nearly(t, "sd", sd, w[1], 1e-12)
		near(t, "skewness", g1, w[2], 1e-10)
		// A limit near 0 is a difference of larger numbers.
		near(t, "low", interval.Low, w[3], 1e-9*m.Mean())
		nearly(t, "high", interval.High, w[4], 1e-9)
	}
}
