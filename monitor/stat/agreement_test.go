package stat

import (
	"math"
	"math/rand/v2"
	"testing"
)

// reference reads a file of the form what,value,tolerance,source.
func reference(t *testing.T, file string) map[string]row {
	t.Helper()
	out := map[string]row{}
	for _, r := range readReference(t, file) {
		out[r["what"]] = r
	}
	return out
}

// holds compares with a row of such a file.
func holds(t *testing.T, want map[string]row, what string, got float64) {
	t.Helper()
	r, ok := want[what]
	if !ok {
		t.Fatalf("no reference for %q", what)
	}
	near(t, what, got, r.number(t, "value"), r.number(t, "tolerance"))
}

func TestAgreementPublished(t *testing.T) {
	want := reference(t, "stat-agreement.csv")
	pefr := values(t, "PEFR")
	a, ok := AgreementOf(pefr[0], pefr[1])
	if !ok || a.N != 17 || !a.ConcordanceOK || !a.CorrelationOK || !a.RatioOK {
		t.Fatalf("%+v, %v", a, ok)
	}
	holds(t, want, "concordance", a.Concordance)
	holds(t, want, "accuracy", a.Accuracy)
	holds(t, want, "scale shift", 1/a.ScaleShift)
	holds(t, want, "location shift", math.Abs(a.LocationShift))
	holds(t, want, "correlation", a.Correlation)
	holds(t, want, "bias", a.Bias)
	holds(t, want, "sd", a.SD)
	i, ok := a.ConcordanceInterval(1.959963984540054)
	if !ok {
		t.Fatal("no interval")
	}
	holds(t, want, "concordance low", i.Low)
	holds(t, want, "concordance high", i.High)
	for name, k := range map[string]float64{" 2": 2, " 1.96": 1.96} {
		limits, ok := a.Limits(k)
		if !ok {
			t.Fatal("no limits")
		}
		holds(t, want, "low"+name, limits.Low)
		holds(t, want, "high"+name, limits.High)
	}
}

func TestAgreementByHand(t *testing.T) {
	// Differences 1, 0, -4: bias -1, squares 17.
	a, ok := AgreementOf([]float64{3, 4, 5}, []float64{2, 4, 9})
	if !ok || a.Bias != -1 || a.MeanX != 4 || a.MeanY != 5 || a.Ratio != 0.8 {
		t.Errorf("%+v, %v", a, ok)
	}
	near(t, "RMSE", a.RMSE, math.Sqrt(17.0/3), 1e-15)
	near(t, "SD", a.SD, math.Sqrt(7), 1e-15)
	// s²x 2/3, s²y 26/3, s_xy 7/3: 2·7/3 over 2/3+26/3+1.
	near(t, "concordance", a.Concordance, 14.0/31, 1e-15)
}

func TestAgreementWithout(t *testing.T) {
	for _, c := range []struct {
		name                             string
		x, y                             []float64
		ok, ratio, corr, concord, limits bool
	}{
		{"nothing", nil, nil, false, false, false, false, false},
		{"lengths differ", []float64{1}, []float64{1, 2}, false, false, false, false, false},
		{"one pair", []float64{2}, []float64{3}, true, true, false, false, false},
		{"estimates all alike", []float64{5, 5, 5}, []float64{3, 4, 8}, true, true, false, true, true},
		{"nothing clipped", []float64{5, 6, 5}, []float64{0, 0, 0}, true, false, false, true, true},
		{"all zero", []float64{0, 0, 0}, []float64{0, 0, 0}, true, false, false, false, true},
		{"two pairs", []float64{5, 6}, []float64{5, 7}, true, true, true, true, true},
		{"overflow", []float64{-1e200, 1e200}, []float64{1, 2}, false, false, false, false, false},
	} {
		a, ok := AgreementOf(c.x, c.y)
		_, limits := a.Limits(2)
		if ok != c.ok || a.RatioOK != c.ratio || a.CorrelationOK != c.corr || a.ConcordanceOK != c.concord || limits != c.limits {
			t.Errorf("%s: %+v, %v, limits %v", c.name, a, ok, limits)
		}
		if i, ok := a.ConcordanceInterval(2); ok {
			t.Errorf("%s: an interval of concordance %v", c.name, i)
		}
	}
	perfect, _ := AgreementOf([]float64{1, 2, 3, 4}, []float64{1, 2, 3, 4})
	if perfect.Concordance != 1 || perfect.RMSE != 0 {
		t.Errorf("perfect agreement: %+v", perfect)
	}
	if i, ok := perfect.ConcordanceInterval(2); ok {
		t.Errorf("perfect agreement has an interval %v", i)
	}
}

// Concordance never goes further from 0 than the correlation, stays the same in
// another unit and with the columns exchanged, and drops when one column is
// shifted away.
func TestConcordanceProperties(t *testing.T) {
	rng := rand.New(rand.NewPCG(10, 3))
	for range 200 {
		n := 3 + rng.IntN(30)
		x, y := make([]float64, n), make([]float64, n)
		grams, shifted := make([]float64, n), make([]float64, n)
		for i := range x {
			y[i] = 50 * rng.ExpFloat64()
			x[i] = y[i] * math.Exp(0.4*rng.NormFloat64())
			grams[i], shifted[i] = 3*x[i], x[i]+1000
		}
		a, _ := AgreementOf(x, y)
		b, _ := AgreementOf(y, x)
		near(t, "exchanged", b.Concordance, a.Concordance, 1e-12)
		if math.Abs(a.Concordance) > math.Abs(a.Correlation)+1e-12 {
			t.Errorf("concordance %g beyond correlation %g", a.Concordance, a.Correlation)
		}
		if c, _ := AgreementOf(shifted, y); !(math.Abs(c.Concordance) < math.Abs(a.Concordance)) {
			t.Errorf("shifted by 1000: concordance %g, before %g", c.Concordance, a.Concordance)
		}
		three := make([]float64, n)
		for i := range y {
			three[i] = 3 * y[i]
		}
		if c, _ := AgreementOf(grams, three); math.Abs(c.Concordance-a.Concordance) > 1e-12 {
			t.Errorf("in another unit %g, not %g", c.Concordance, a.Concordance)
		}
		if i, ok := a.ConcordanceInterval(1.645); ok && !(i.Low < a.Concordance && a.Concordance < i.High && i.Low > -1 && i.High < 1) {
			t.Errorf("interval %v around %g", i, a.Concordance)
		}
	}
}
