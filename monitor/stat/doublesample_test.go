package stat

import (
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"clipledger/monitor/needtool"
)

var estimators = []Estimator{RatioEstimator, RegressionEstimator, DirectEstimator}

// madeUp is the published example: thirty judged, the first ten measured.
func madeUp(t testing.TB) DoubleSample {
	v := values(t, "double sample")
	return DoubleSample{All: v[0], X: v[0][:10], Y: v[1]}
}

func TestDoubleSamplePublished(t *testing.T) {
	want := reference(t, "stat-doublesample.csv")
	d := madeUp(t)
	for i, name := range []string{"ratio", "regression", "clipped only"} {
		m, ok := d.Mean(estimators[i])
		if !ok || !m.VarianceOK {
			t.Fatalf("%s: %+v, %v", name, m, ok)
		}
		holds(t, want, name, m.Mean)
		holds(t, want, "se of "+name, math.Sqrt(m.Variance))
		if name == "clipped only" {
			near(t, "df", m.DF, 9, 1e-12)
			continue
		}
		holds(t, want, "df of "+name, m.DF)
		holds(t, want, "factor of "+name, m.Factor)
		if name == "regression" {
			holds(t, want, "residual variance", m.Rest)
		}
	}
}

// The city data of Cochran (1977), p. 152, as R's boot carries them, through
// R's survey: the ratio, its standard error with 10 of 49 drawn, and without.
func TestRatioAgainstSurvey(t *testing.T) {
	rscript := needtool.Rscript(t, "boot", "survey")
	const script = `
suppressMessages(library(survey)); data(city, package = "boot"); data(bigcity, package = "boot")
s <- function(d) { r <- svyratio(~x, ~u, d); c(coef(r), SE(r)) }
city$N <- nrow(bigcity); city$w <- city$N / nrow(city)
cat(sprintf("%.17g", c(s(svydesign(~1, data = city, weights = ~w)), s(svydesign(~1, data = city, fpc = ~N)), city$x, city$u)), "\n")`
	got := run(t, rscript, script, "", 24)
	x, u := got[4:14], got[14:24]
	if !slices.Equal(u, values(t, "city 1920")[0]) || !slices.Equal(x, values(t, "city 1930")[0]) {
		t.Error("R's city data are not the ones stored")
	}
	r, ok := RatioOf(x, u)
	if !ok || !r.VarianceOK {
		t.Fatalf("%+v, %v", r, ok)
	}
	nearly(t, "ratio", r.R, got[0], 1e-9)
	nearly(t, "standard error", math.Sqrt(r.Variance), got[1], 1e-8)
	nearly(t, "standard error, 10 of 49", math.Sqrt(r.Variance*(1-10.0/49)), got[3], 1e-8)
	near(t, "standard error as computed by formula", got[3], 0.169501176571, 1e-8)
}

// R's survey package calibrates a two-phase design: its point estimate is the
// regression one. Its standard error has another form and is near only.
func TestDoubleSampleAgainstSurvey(t *testing.T) {
	rscript := needtool.Rscript(t, "survey")
	const script = `
suppressMessages(library(survey))
a <- as.numeric(readLines(file("stdin")))
d <- data.frame(id = 1:30, eye = a[1:30], clip = c(a[31:40], rep(NA, 20)), phase2 = rep(c(TRUE, FALSE), c(10, 20)))
two <- twophase(id = list(~id, ~id), subset = ~phase2, data = d)
m <- svymean(~clip, calibrate(two, phase = 2, formula = ~eye))
cat(sprintf("%.17g", c(coef(m), SE(m))), "\n")`
	d := madeUp(t)
	var column [][]float64
	for _, x := range append(slices.Clone(d.All), d.Y...) {
		column = append(column, []float64{x})
	}
	got := run(t, rscript, script, table(column), 2)
	m, _ := d.Mean(RegressionEstimator)
	nearly(t, "regression", m.Mean, got[0], 1e-8)
	nearly(t, "its standard error, loosely", math.Sqrt(m.Variance), got[1], 0.10)
}

// Random designs, every number of ratio and regression computed in R from its
// own lm and var.
func TestDoubleSampleAgainstR(t *testing.T) {
	rscript := needtool.Rscript(t)
	const script = `
sat <- function(v, df) sum(v)^2 / sum(v^2 / df)
for (l in readLines(file("stdin"))) {
  a <- as.numeric(strsplit(l, " ")[[1]])
  n <- a[1]; N <- a[2]; x <- a[2 + 1:N]; y <- a[2 + N + 1:n]; x1 <- x[1:n]
  R <- mean(y) / mean(x1)
  v <- c(sum((y - R * x1)^2) / (n * (n - 1)), R^2 * var(x) / N)
  f <- lm(y ~ e, data.frame(y = y, e = x1)); b <- coef(f)[[2]]
  p <- predict(f, data.frame(e = mean(x)), se.fit = TRUE)
  w <- c(p$se.fit^2, b^2 * var(x) / N)
  cat(sprintf("%.17g", c(R * mean(x), sum(v), sat(v, c(n - 1, N - 1)), p$fit, sum(w), sat(w, c(n - 2, N - 1)))), "\n")
}`
	rng := rand.New(rand.NewPCG(12, 77))
	var all []DoubleSample
	var lines [][]float64
	for range 50 {
		n := 3 + rng.IntN(12)
		judged := n + rng.IntN(40)
		d := DoubleSample{All: make([]float64, judged), Y: make([]float64, n)}
		for i := range d.All {
			d.All[i] = 20 + 60*rng.Float64()
		}
		d.X = d.All[:n]
		for i := range d.Y {
			d.Y[i] = 0.5 * d.X[i] * math.Exp(0.3*rng.NormFloat64())
		}
		all = append(all, d)
		lines = append(lines, append(append([]float64{float64(n), float64(judged)}, d.All...), d.Y...))
	}
	want := run(t, rscript, script, table(lines), 6*len(all))
	for k, d := range all {
		for i, e := range estimators[:2] {
			m, ok := d.Mean(e)
			if !ok || !m.VarianceOK {
				t.Fatalf("%+v, %v", m, ok)
			}
			w := want[6*k+3*i:]
			nearly(t, "mean", m.Mean, w[0], 1e-9)
			nearly(t, "variance", m.Variance, w[1], 1e-9)
			nearly(t, "df", m.DF, w[2], 1e-9)
		}
	}
}

// Each mean is the weighted sum of the measured values by its own weights.
func TestDoubleSampleWeights(t *testing.T) {
	d := madeUp(t)
	for _, e := range estimators {
		m, _ := d.Mean(e)
		sum := 0.0
		for i, w := range m.Weights {
			sum += w * d.Y[i]
		}
		nearly(t, "Σwy", sum, m.Mean, 1e-13)
	}
}

func TestDoubleSampleWithout(t *testing.T) {
	two := []float64{3, 4}
	for _, c := range []struct {
		name string
		d    DoubleSample
		ok   [3]bool // of ratio, regression, direct
		v    [3]bool
	}{
		{"nothing", DoubleSample{}, [3]bool{}, [3]bool{}},
		{"none measured", DoubleSample{All: two}, [3]bool{}, [3]bool{}},
		{"one measured", DoubleSample{two, two[:1], []float64{5}}, [3]bool{true, false, true}, [3]bool{}},
		{"two measured", DoubleSample{[]float64{3, 4, 6}, two, []float64{5, 7}}, [3]bool{true, true, true}, [3]bool{true, false, true}},
		{"judged all alike", DoubleSample{[]float64{4, 4, 4, 4}, []float64{4, 4, 4}, []float64{5, 7, 6}}, [3]bool{true, false, true}, [3]bool{true, false, true}},
		{"judged all nothing", DoubleSample{[]float64{0, 0, 0, 0}, []float64{0, 0, 0}, []float64{5, 7, 6}}, [3]bool{false, false, true}, [3]bool{false, false, true}},
		{"measured all nothing", DoubleSample{[]float64{1, 2, 3, 4}, []float64{1, 2, 3}, []float64{0, 0, 0}}, [3]bool{true, true, true}, [3]bool{}},
	} {
		for i, e := range estimators {
			m, ok := c.d.Mean(e)
			if ok != c.ok[i] || m.VarianceOK != c.v[i] || math.IsNaN(m.Mean+m.Variance) {
				t.Errorf("%s, estimator %d: %+v, %v", c.name, i, m, ok)
			}
		}
	}
}

// Ten times dearer to measure than to judge: 22.78 judged per measured one by
// the squared correlation (formula from memory).
func TestBestRatio(t *testing.T) {
	d := madeUp(t)
	s, _ := sumsOf(d.X, d.Y)
	r2 := s.sXY * s.sXY / s.ssX / s.ssY
	rest := s.ssY / 9
	m := DoubleMean{Rest: rest * (1 - r2), First: rest * r2}
	k, ok := m.BestRatio(10)
	if !ok {
		t.Fatal("no ratio")
	}
	near(t, "judged per measured", k, 22.78, 0.005)
	for _, c := range []struct{ rest, first, cost, want float64 }{{1, 4, 1, 2}, {4, 1, 1, 1}, {1, 1, 25, 5}} {
		if k, ok := (DoubleMean{Rest: c.rest, First: c.first}).BestRatio(c.cost); !ok || k != c.want {
			t.Errorf("%+v: %g, %v", c, k, ok)
		}
	}
	for _, c := range []struct{ rest, first, cost float64 }{{0, 4, 1}, {1, 4, 0}, {1, 4, -1}, {1, 4, math.Inf(1)}, {1, 4, math.NaN()}} {
		if k, ok := (DoubleMean{Rest: c.rest, First: c.first}).BestRatio(c.cost); ok {
			t.Errorf("%+v: %g", c, k)
		}
	}
}

// For a budget no whole number does better than the ones next to the optimum,
// and the allocation is enough where one measured unit fewer is not.
func TestAllocate(t *testing.T) {
	m := DoubleMean{Mean: 60, Rest: 150, First: 480}
	const cost = 8
	k, _ := m.BestRatio(cost)
	variance := func(k float64) float64 { return (m.Rest + m.First/k) * (cost + k) }
	for other := 1.0; other < 60; other++ {
		if variance(other) < variance(k) {
			t.Errorf("%g judged per measured beat the optimum %g", other, k)
		}
	}
	p := Precision{Relative: 0.1, Confidence: 0.9}
	a, ok := m.Allocate(cost, 630, 2, p, nil)
	if !ok || a.Judged != int(math.Ceil(float64(a.Measured)*k)) {
		t.Fatalf("%+v, %v", a, ok)
	}
	half := func(n int) float64 {
		judged := math.Ceil(float64(n) * k)
		v, df, _ := Satterthwaite([]VariancePart{{m.Rest / float64(n), float64(n - 2)}, {m.First / judged, judged - 1}})
		return tQuantile(0.95, df) * math.Sqrt(v)
	}
	if !(half(a.Measured) <= 6 && half(a.Measured-1) > 6) {
		t.Errorf("half-widths %g and with one fewer %g, wanted 6", half(a.Measured), half(a.Measured-1))
	}
	if alone, ok := RequiredN(math.Sqrt(630)/60, p, nil); !ok || a.MeasuredAlone != alone || alone <= a.Measured {
		t.Errorf("alone %d, required %d", a.MeasuredAlone, alone)
	}
	if _, ok := (DoubleMean{Rest: 1, First: 1}).Allocate(cost, 2, 2, p, nil); ok {
		t.Error("an allocation for a mean of 0")
	}
}

// pairOf draws judgement and measurement, mean 100, sd 30, correlation 0.8.
func pairOf(r *rand.Rand) (x, y float64) {
	z := r.NormFloat64()
	return 100 + 30*z, 100 + 30*(0.8*z+0.6*r.NormFloat64())
}

// doubleCoverage counts how often each estimator's 90 % interval holds the
// true mean: 30 judged, 5 of them measured.
func doubleCoverage(occasions int, seed uint64) (covered [3]float64) {
	rng := rand.New(rand.NewPCG(seed, 30))
	for range occasions {
		d := DoubleSample{All: make([]float64, 30), Y: make([]float64, 5)}
		for i := range d.All {
			x, y := pairOf(rng)
			d.All[i] = x
			if i < len(d.Y) {
				d.Y[i] = y
			}
		}
		d.X = d.All[:5]
		for i, e := range estimators {
			m, ok := d.Mean(e)
			if half := tQuantile(0.95, m.DF) * math.Sqrt(m.Variance); ok && math.Abs(m.Mean-100) <= half {
				covered[i] += 1 / float64(occasions)
			}
		}
	}
	return covered
}

// The band is that within which 99.9 % of correct programs land.
func TestDoubleSampleCoverage(t *testing.T) {
	got := doubleCoverage(10_000, 1)
	if got[1] < 0.887 || got[1] > 0.907 {
		t.Errorf("regression covers %.3f, want .887 to .907", got[1])
	}
	if got[2] < 0.890 || got[2] > 0.910 {
		t.Errorf("the clipped ones alone cover %.3f, want .890 to .910", got[2])
	}
}

// transectCoverage is the same for the mean of three transects of ten frames
// with an intraclass correlation of 0.2: with transects as units, and with
// frames, which is wrong there.
func transectCoverage(occasions int, seed uint64) (transects, frames float64) {
	rng := rand.New(rand.NewPCG(seed, 310))
	atTransects, atFrames := tQuantile(0.95, 2), tQuantile(0.95, 29)
	holdsZero := func(m Moments, t float64) float64 {
		sd, _ := m.SD()
		if math.Abs(m.Mean()) <= t*sd/math.Sqrt(float64(m.N())) {
			return 1 / float64(occasions)
		}
		return 0
	}
	for range occasions {
		var all, means Moments
		for range 3 {
			line := math.Sqrt(0.2) * rng.NormFloat64()
			var one Moments
			for range 10 {
				y := line + math.Sqrt(0.8)*rng.NormFloat64()
				one.Add(y)
				all.Add(y)
			}
			means.Add(one.Mean())
		}
		transects += holdsZero(means, atTransects)
		frames += holdsZero(all, atFrames)
	}
	return transects, frames
}

func TestTransectCoverage(t *testing.T) {
	transects, frames := transectCoverage(10_000, 1)
	if transects < 0.890 || transects > 0.910 {
		t.Errorf("transects cover %.3f, want .890 to .910", transects)
	}
	if math.Abs(frames-0.66) > 0.02 {
		t.Errorf("frames cover %.3f, want about .66: the simulation is not the one meant", frames)
	}
}

// BenchmarkDoubleCoverage reports the shares of intervals that hold the true
// mean; every round is 10,000 more occasions.
func BenchmarkDoubleCoverage(b *testing.B) {
	names := strings.Fields("ratio regression clipped-only transects frames")
	sums := make([]float64, len(names))
	var rounds uint64
	for b.Loop() {
		rounds++
		double := doubleCoverage(10_000, rounds)
		transects, frames := transectCoverage(10_000, rounds)
		for i, c := range append(double[:], transects, frames) {
			sums[i] += c
		}
	}
	for i, name := range names {
		b.ReportMetric(sums[i]/float64(rounds), name+"-coverage")
	}
}
