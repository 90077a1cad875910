package stat

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"clipledger/monitor/needtool"
)

// series gives y and the covariates of a case of stat-series.csv.
func series(t testing.TB, name string) (y []float64, x [][]float64) {
	t.Helper()
	for _, r := range readReference(t, "stat-series.csv") {
		if r["case"] != name {
			continue
		}
		y = append(y, r.number(t, "y"))
		for j := range 6 {
			column := fmt.Sprintf("x%d", j+1)
			if r[column] == "" {
				break
			}
			if len(x) <= j {
				x = append(x, nil)
			}
			x[j] = append(x[j], r.number(t, column))
		}
	}
	if len(y) == 0 {
		t.Fatalf("stat-series.csv has no case %q", name)
	}
	return y, x
}

func TestLeastSquaresCertified(t *testing.T) {
	fits := map[string]LinearFit{}
	for _, r := range readReference(t, "stat-regression.csv") {
		name := r["case"]
		f, ok := fits[name]
		if !ok {
			y, x := series(t, name)
			if f, ok = LeastSquares(y, x...); !ok {
				t.Fatalf("%s: no fit", name)
			}
			fits[name] = f
		}
		what, tolerance := name+" "+r["term"], r.number(t, "tolerance")
		if r["term"] == "residual" {
			nearly(t, what, math.Sqrt(f.RSS/f.DF), r.number(t, "estimate"), tolerance)
			continue
		}
		c := f.Intercept
		if r["term"] != "0" {
			c = f.Slopes[r["term"][0]-'1']
		}
		nearly(t, what, c.Estimate, r.number(t, "estimate"), tolerance)
		nearly(t, what+" se", c.SE, r.number(t, "se"), tolerance)
	}
	if len(fits) != 3 {
		t.Errorf("%d sets compared, want 3", len(fits))
	}
	// R² as certified.
	for name, want := range map[string]float64{"Norris": 0.999993745883712, "Pontius": 0.999999900178537, "Longley": 0.995479004577296} {
		nearly(t, name+" R²", 1-fits[name].RSS/fits[name].TSS, want, 1e-9)
	}
}

func TestLeastSquaresSodium(t *testing.T) {
	// EPA 17-7 by least squares, computed in R 4.2.
	y, x := series(t, "sodium")
	f, ok := LeastSquares(y, x...)
	if !ok {
		t.Fatal("no fit")
	}
	near(t, "slope", f.Slopes[0].Estimate, 1.3877650, 1e-6)
	near(t, "se", f.Slopes[0].SE, 0.3629470, 1e-6)
	near(t, "intercept", f.Intercept.Estimate, -71.7094931, 1e-6)
	_, p, _ := f.Slopes[0].Test(f.DF)
	near(t, "p", p, 0.005063726, 1e-8)
	r, _ := Correlation(x[0], y)
	near(t, "r", r, 0.8039463, 1e-6)
}

const lmScript = `
d <- read.table(file("stdin"))
for (s in split(d, d$V1)) {
  one <- coef(summary(lm(V2 ~ V3, s)))
  two <- coef(summary(lm(V2 ~ V3 + V4, s)))
  cat(sprintf("%.17g ", c(one["V3", ], two["V3", ], two["V4", 1:2], two["(Intercept)", 1:2])), "\n")
}`

// 300 random series with gaps, on calendar years, alone and with a covariate
// that goes along with the years, against R's lm.
func TestLeastSquaresAgreesWithR(t *testing.T) {
	rscript := needtool.Rscript(t)
	rng := rand.New(rand.NewPCG(300, 1))
	var rows [][]float64
	var fits [][]float64
	for s := range 300 {
		var y, x, z []float64
		slope, along := 3*rng.NormFloat64(), 2*rng.NormFloat64()
		for year := 1990.0; len(x) < 5+s%26; year++ {
			if rng.IntN(4) == 0 {
				continue
			}
			rain := 200 + along*(year-2000) + 40*rng.NormFloat64()
			x, z = append(x, year), append(z, rain)
			y = append(y, 900+slope*(year-2000)+0.5*rain+50*rng.NormFloat64())
			rows = append(rows, []float64{float64(s), y[len(y)-1], year, rain})
		}
		fits = append(fits, numbersOf(t, y, x, z))
	}
	got := run(t, rscript, lmScript, table(rows), 300*12)
	for s, fit := range fits {
		for i, v := range fit {
			nearly(t, fmt.Sprintf("series %d, number %d", s, i), v, got[12*s+i], 1e-9)
		}
	}
}

// numbersOf are the numbers that lmScript prints.
func numbersOf(t *testing.T, y, x, z []float64) []float64 {
	t.Helper()
	c, ok := ChangeInSlope(y, x, z)
	if !ok {
		t.Fatal("no fit")
	}
	var out []float64
	for _, f := range []LinearFit{c.Alone, c.Joint} {
		tt, p, _ := f.Slopes[0].Test(f.DF)
		out = append(out, f.Slopes[0].Estimate, f.Slopes[0].SE, tt, p)
	}
	return append(out, c.Joint.Slopes[1].Estimate, c.Joint.Slopes[1].SE, c.Joint.Intercept.Estimate, c.Joint.Intercept.SE)
}

func TestLeastSquaresWithoutAnswer(t *testing.T) {
	for name, try := range map[string]func() (LinearFit, bool){
		"no covariate":  func() (LinearFit, bool) { return LeastSquares([]float64{1, 2, 3}) },
		"two values":    func() (LinearFit, bool) { return LeastSquares([]float64{1, 2}, []float64{1, 2}) },
		"no values":     func() (LinearFit, bool) { return LeastSquares(nil, nil) },
		"one year":      func() (LinearFit, bool) { return LeastSquares([]float64{1, 2, 3}, []float64{5, 5, 5}) },
		"other lengths": func() (LinearFit, bool) { return LeastSquares([]float64{1, 2, 3}, []float64{1, 2}) },
		"a mixture": func() (LinearFit, bool) {
			return LeastSquares([]float64{1, 3, 2, 5}, []float64{1, 2, 3, 4}, []float64{2012, 2014, 2016, 2018})
		},
		"huge numbers": func() (LinearFit, bool) { return LeastSquares([]float64{1e308, -1e308, 1e308}, []float64{1, 2, 4}) },
		"three, two of them": func() (LinearFit, bool) {
			return LeastSquares([]float64{1, 3, 2}, []float64{1, 2, 3}, []float64{2, 5, 1})
		},
	} {
		if f, ok := try(); ok {
			t.Errorf("%s: %+v, want none", name, f)
		}
	}
}

func TestLeastSquaresExactLines(t *testing.T) {
	x := []float64{2011, 2012, 2014, 2015, 2018}
	equal, _ := LeastSquares([]float64{0.1, 0.1, 0.1, 0.1, 0.1}, x)
	if !equal.Exact || equal.TSS != 0 || equal.Slopes[0] != (Coefficient{}) {
		t.Errorf("equal values: %+v", equal)
	}
	line := make([]float64, len(x))
	for i, v := range x {
		line[i] = 0.1 + 0.7*(v-2000)
	}
	f, ok := LeastSquares(line, x)
	if !ok || !f.Exact || f.RSS != 0 || f.Slopes[0].SE != 0 {
		t.Errorf("a straight line: %+v", f)
	}
	near(t, "slope of a straight line", f.Slopes[0].Estimate, 0.7, 1e-12)
	// Values that are a line of the covariate alone have no slope beside it.
	z := []float64{31, 12, 47, 22, 30}
	for i, v := range z {
		line[i] = 3 + 1.7*v
	}
	c, ok := ChangeInSlope(line, x, z)
	if !ok || !c.Joint.Exact || c.Joint.Slopes[0] != (Coefficient{}) || c.Change.SE != 0 {
		t.Errorf("a line of the covariate: %+v", c)
	}
	near(t, "its change is all of the slope", c.Change.Estimate, c.Alone.Slopes[0].Estimate, 1e-12)
	if _, _, ok := f.Slopes[0].Test(f.DF); ok {
		t.Error("a line without error has a t ratio")
	}
}

func TestChangeInSlope(t *testing.T) {
	// The made-up series: joint slope and its error computed in R 4.2.
	y, x := series(t, "rain")
	c, ok := ChangeInSlope(y, x[0], x[1])
	if !ok {
		t.Fatal("no answer")
	}
	near(t, "slope with rain held", c.Joint.Slopes[0].Estimate, -9.9039518, 1e-7)
	near(t, "its error", c.Joint.Slopes[0].SE, 1.2114334, 1e-7)
	// The residual trend in two steps: rain first, then years. It is there to
	// show what is not used.
	first, _ := LeastSquares(y, x[1])
	near(t, "slope of rain", first.Slopes[0].Estimate, 71.5940203, 1e-7)
	near(t, "intercept", first.Intercept.Estimate, -89.4773525, 1e-6)
	near(t, "R²", 1-first.RSS/first.TSS, 0.9626613, 1e-7)
	second, _ := LeastSquares(first.Residuals, x[0])
	tt, p, _ := second.Slopes[0].Test(second.DF)
	near(t, "two-step slope", second.Slopes[0].Estimate, -9.9034651, 1e-7)
	near(t, "two-step error", second.Slopes[0].SE, 1.1494481, 1e-7)
	near(t, "two-step t", tt, -8.6158440, 1e-6)
	nearly(t, "two-step p", p, 6.1147e-06, 1e-4)
	// The difference of the slopes is the identity, whatever the data.
	nearly(t, "change", c.Change.Estimate, c.Alone.Slopes[0].Estimate-c.Joint.Slopes[0].Estimate, 1e-9)
	// Its t is that of the covariate.
	gamma := c.Joint.Slopes[1]
	near(t, "t of the change", math.Abs(c.Change.Estimate/c.Change.SE), math.Abs(gamma.Estimate/gamma.SE), 1e-9)
	if _, ok := ChangeInSlope(y, x[0], x[0]); ok {
		t.Error("a covariate that is the year itself has an answer")
	}
}

// simulateRain draws series of n years with rain that goes with the years at
// about r = 0.7 and true slopes of 0.3 a year and 1 per unit of rain, and
// returns the mean slope with rain held, how often it is found different from
// the truth at .10, and how often the interval of the change holds its truth.
func simulateRain(count, n int, seed uint64) (mean, alarms, covers float64) {
	rng := rand.New(rand.NewPCG(seed, 44))
	var tt TTable
	// var(year) = (n²-1)/12; for r = .7 the rest of rain has var·(1/r² - 1).
	spread := math.Sqrt(float64(n*n-1) / 12 * (1/0.49 - 1))
	for range count {
		var y, x, z []float64
		for i := range n {
			year := float64(i)
			rain := year + spread*rng.NormFloat64()
			x, z = append(x, year), append(z, rain)
			y = append(y, 50+0.3*year+rain+2*rng.NormFloat64())
		}
		c, _ := ChangeInSlope(y, x, z)
		slope := c.Joint.Slopes[0]
		mean += slope.Estimate
		if i := slope.Interval(0.9, c.Joint.DF, &tt); i.Low > 0.3 || i.High < 0.3 {
			alarms++
		}
		if i := c.Change.Interval(0.9, c.Joint.DF, &tt); i.Low <= c.ZPerX && c.ZPerX <= i.High {
			covers++
		}
	}
	k := float64(count)
	return mean / k, alarms / k, covers / k
}

// With rain held the slope is neither biased nor cries wolf, and the interval
// of the change covers: bands of 99.9 % for correct code.
func TestRainHeldSimulated(t *testing.T) {
	mean, alarms, covers := simulateRain(20_000, 12, 1)
	near(t, "mean slope, true 0.3", mean, 0.3, 0.005)
	near(t, "false alarms at .10", alarms, 0.10, 0.014)
	near(t, "coverage of the change", covers, 0.90, 0.014)
}

func BenchmarkTrendWithRain(b *testing.B) {
	var rounds uint64
	var mean, alarms, covers float64
	for b.Loop() {
		rounds++
		m, a, c := simulateRain(5_000, 12, rounds)
		mean, alarms, covers = mean+m, alarms+a, covers+c
	}
	k := float64(rounds)
	b.ReportMetric(mean/k, "mean-slope")
	b.ReportMetric(alarms/k, "false-alarms")
	b.ReportMetric(covers/k, "change-coverage")
}

func TestSimulatedRainGoesWithYears(t *testing.T) {
	// The simulation above is only worth its name if r is about .7.
	rng := rand.New(rand.NewPCG(9, 44))
	var sum float64
	for range 2000 {
		var x, z []float64
		for i := range 12 {
			x = append(x, float64(i))
			z = append(z, float64(i)+math.Sqrt(143.0/12*(1/0.49-1))*rng.NormFloat64())
		}
		r, _ := Correlation(x, z)
		sum += r
	}
	near(t, "mean correlation", sum/2000, 0.7, 0.03)
}

func TestCorrelationNeedsSpread(t *testing.T) {
	if r, ok := Correlation([]float64{1, 2}, []float64{3, 3}); ok {
		t.Errorf("r = %g", r)
	}
	r, ok := Correlation([]float64{1, 2}, []float64{5, 1})
	if !ok {
		t.Fatal("two points have no correlation")
	}
	near(t, "two points that fall", r, -1, 1e-15)
}
