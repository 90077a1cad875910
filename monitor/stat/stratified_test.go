package stat

import (
	"math"
	"math/rand/v2"
	"testing"

	"clipledger/monitor/needtool"
)

func TestStratifiedByHand(t *testing.T) {
	// Means 10 and 40, s² 4 and 100, n 4 and 2, shares 3/4 and 1/4:
	// mean 17.5; v = 9/16·1 + 1/16·50 = 3.6875; df = v²/(0.5625²/3 + 3.125²/1).
	got, ok := Stratified([]StratumSample{
		{Values: []float64{10 - math.Sqrt(6), 10, 10, 10 + math.Sqrt(6)}, Area: 300},
		{Values: []float64{40 - math.Sqrt(50), 40 + math.Sqrt(50)}, Area: 100},
	})
	if !ok || !got.VarianceOK || got.Unweighted {
		t.Fatalf("%+v", got)
	}
	nearly(t, "mean", got.Mean, 17.5, 1e-14)
	nearly(t, "variance", got.Variance, 3.6875, 1e-14)
	nearly(t, "degrees of freedom", got.DF, 3.6875*3.6875/(0.5625*0.5625/3+3.125*3.125), 1e-14)
}

func TestStratifiedWithoutAnswer(t *testing.T) {
	two := StratumSample{Values: []float64{3, 5}, Area: 10}
	for _, c := range []struct {
		name                     string
		strata                   []StratumSample
		ok, variance, unweighted bool
		mean                     float64
	}{
		{"no strata", nil, false, false, false, 0},
		{"a stratum without values", []StratumSample{two, {Area: 5}}, false, false, false, 0},
		{"a negative area", []StratumSample{{Values: []float64{1, 2}, Area: -1}}, false, false, false, 0},
		{"not a number", []StratumSample{{Values: []float64{1, 2}, Area: math.NaN()}}, false, false, false, 0},
		{"more than possible", []StratumSample{{Values: []float64{1, 2}, Area: 1, Possible: 1}}, false, false, false, 0},
		{"one site in one stratum", []StratumSample{two, {Values: []float64{10}, Area: 30}}, true, false, false, 8.5},
		{"one area not known", []StratumSample{two, {Values: []float64{9, 9, 9, 9}}}, true, true, true, 44.0 / 6},
		{"nothing varies", []StratumSample{{Values: []float64{0, 0}, Area: 1}}, true, false, false, 0},
		{"one stratum", []StratumSample{two}, true, true, false, 4},
	} {
		got, ok := Stratified(c.strata)
		if ok != c.ok || got.VarianceOK != c.variance || got.Unweighted != c.unweighted || math.Abs(got.Mean-c.mean) > 1e-12 {
			t.Errorf("%s: %+v, %v", c.name, got, ok)
		}
	}
}

// svymean of R's survey, with weights by area and finite populations, on random
// designs. Degrees of freedom: Welch's test of two strata of equal area, whose
// contrast has the same variance as twice their mean.
func TestStratifiedAgainstSurvey(t *testing.T) {
	rscript := needtool.Rscript(t, "survey")
	const designs = 100
	const script = `
suppressMessages(library(survey))
x <- read.table(file("stdin")); names(x) <- c("k", "h", "area", "possible", "y")
for (d in split(x, x$k)) {
  n <- ave(d$y, d$h, FUN = length)
  d$w <- d$area / n
  f <- if (d$possible[1] > 0) ~possible else NULL
  s <- svymean(~y, svydesign(id = ~1, strata = ~h, weights = ~w, fpc = f, data = d))
  df <- if (length(unique(d$h)) == 2 && d$possible[1] == 0) t.test(y ~ h, d)$parameter else 0
  cat(sprintf("%.17g %.17g %.17g\n", coef(s), SE(s), df))
}`
	rng := rand.New(rand.NewPCG(5, 77))
	var rows [][]float64
	var got []StratifiedMean
	for k := range designs {
		strata := make([]StratumSample, 2+rng.IntN(4)*(k%2))
		for h := range strata {
			s := &strata[h]
			s.Area = 1 + 100*rng.Float64()
			if len(strata) == 2 && k%2 == 0 {
				s.Area = 50
			}
			for range 2 + rng.IntN(9) {
				s.Values = append(s.Values, 100*math.Exp(rng.NormFloat64()))
			}
			if k%4 == 1 {
				s.Possible = len(s.Values) + rng.IntN(20)
			}
			for _, y := range s.Values {
				rows = append(rows, []float64{float64(k), float64(h), s.Area, float64(s.Possible), y})
			}
		}
		r, ok := Stratified(strata)
		if !ok || !r.VarianceOK {
			t.Fatalf("design %d: no answer", k)
		}
		got = append(got, r)
	}
	want := run(t, rscript, script, table(rows), 3*designs)
	welch := 0
	for k, r := range got {
		nearly(t, "mean", r.Mean, want[3*k], 1e-12)
		nearly(t, "standard error", math.Sqrt(r.Variance), want[3*k+1], 1e-10)
		if df := want[3*k+2]; df > 0 && r.Strata[0].Share == 0.5 {
			nearly(t, "degrees of freedom", r.DF, df, 1e-10)
			welch++
		}
	}
	if welch < 40 {
		t.Errorf("only %d designs held to Welch's degrees of freedom", welch)
	}
}
