package stat

import (
	"errors"
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

// siteYear reads four invented sites of six years.
func siteYear(t testing.TB) (y []float64, site, year []int) {
	t.Helper()
	for _, r := range readReference(t, "stat-site-year.csv") {
		y = append(y, r.number(t, "y"))
		year = append(year, int(r.number(t, "year")))
		site = append(site, int(r["site"][0]-'A'))
	}
	return y, site, year
}

// A balanced design has a closed form: the slope and its standard error are
// those of the regression of the year means, with T - 2 degrees of freedom.
func TestFrameYearTrendClosedForm(t *testing.T) {
	y, site, year := siteYear(t)
	got, err := FrameYearTrend(y, site, year)
	if err != nil {
		t.Fatal(err)
	}
	nearly(t, "slope", got.Slope, -29.0571428571, 1e-11)
	nearly(t, "standard error", got.SE, 19.9331715121, 1e-8)
	nearly(t, "degrees of freedom", got.DF, 4, 1e-8)
	nearly(t, "t", got.T, -1.4577280, 1e-7)
	nearly(t, "p", got.P, 0.2186560, 1e-6)
	nearly(t, "residual variance", got.ResidualVar, 357.9555556, 1e-8)
	nearly(t, "year variance", got.YearVar, 6863.8093254, 1e-8)
	nearly(t, "site variance", got.GroupVar, 31947.1, 1e-8)
	nearly(t, "mean", got.Mean, 812, 1e-12)
	near(t, "criterion (printed by lme4)", got.REML, 235.4954256, 1e-6)
}

// One factor, no years: Dyestuff of lme4, whose exact answers come from the
// analysis of variance.
func TestOneFactorClosedForm(t *testing.T) {
	var y, one []float64
	var batch []int
	for b, g := range values(t, "Dyestuff") {
		for _, v := range g {
			y, batch, one = append(y, v), append(batch, b), append(one, 1)
		}
	}
	m := newCrossedModel(y, [][]float64{one}, [][]float64{one}, batch, nil)
	theta, f, err := m.search()
	if err != nil {
		t.Fatal(err)
	}
	sigma2 := f.rss.v / float64(m.n-1)
	nearly(t, "batch variance", theta[0]*theta[0]*sigma2, 1764.05, 1e-8)
	nearly(t, "residual variance", sigma2, 2451.25, 1e-8)
	nearly(t, "mean", f.beta[0], 1527.5, 1e-12)
	nearly(t, "standard error", math.Sqrt(sigma2*math.Exp(f.logVar.v)), 19.38341218, 1e-8)
	near(t, "criterion", m.criterion(&f), 319.6542768, 1e-6)
}

// The answer does not depend on the unit, the order of the values, or where
// the years begin, and follows a trend that is added.
func TestYearTrendProperties(t *testing.T) {
	y, frame, year := unbalanced(rand.New(rand.NewPCG(3, 4)), design{frames: 12, years: 9, frameSD: 20, yearSD: 8, restSD: 10, missing: 0.2})
	want, err := FrameYearTrend(y, frame, year)
	if err != nil {
		t.Fatal(err)
	}
	order := rand.New(rand.NewPCG(5, 6)).Perm(len(y))
	y2, frame2, year2 := make([]float64, len(y)), make([]int, len(y)), make([]int, len(y))
	const unit, shift, trend = 1e-5, 1e4, 0.25
	for i, j := range order {
		y2[i] = unit * (y[j] + shift + trend*float64(year[j]))
		frame2[i], year2[i] = frame[j], year[j]-3000
	}
	got, err := FrameYearTrend(y2, frame2, year2)
	if err != nil {
		t.Fatal(err)
	}
	nearly(t, "slope", got.Slope/unit, want.Slope+trend, 1e-7)
	nearly(t, "standard error", got.SE/unit, want.SE, 1e-6)
	nearly(t, "degrees of freedom", got.DF, want.DF, 1e-4)
	nearly(t, "year variance", got.YearVar/unit/unit, want.YearVar, 1e-5)
}

func TestYearTrendRefusals(t *testing.T) {
	grid := func(groups, years int, value func(g, t int) float64) (y []float64, group, year []int) {
		for g := range groups {
			for k := range years {
				y, group, year = append(y, value(g, k)), append(group, g), append(year, 2000+k)
			}
		}
		return y, group, year
	}
	ripple := func(g, k int) float64 { return math.Sin(float64(7*g + 3*k*k)) }
	for _, c := range []struct {
		name          string
		groups, years int
		value         func(g, t int) float64
		sites         bool
		want          error
	}{
		{"one frame", 1, 8, ripple, false, ErrTooFew},
		{"two years", 8, 2, ripple, false, ErrTooFew},
		{"four sites", 4, 8, ripple, true, ErrTooFew},
		{"nothing", 0, 0, ripple, false, ErrTooFew},
		{"all zero", 5, 6, func(int, int) float64 { return 0 }, false, ErrNoVariance},
		{"all equal", 5, 6, func(int, int) float64 { return 312.7 }, true, ErrNoVariance},
		{"frames explain all", 5, 6, func(g, _ int) float64 { return float64(g * g) }, false, ErrNoVariance},
		{"frames and years explain all", 5, 6, func(g, k int) float64 { return float64(g*g) + ripple(0, k) }, false, ErrNoVariance},
		{"sites' lines explain all", 5, 6, func(g, k int) float64 { return float64(g*g - g*k) }, true, ErrNoVariance},
		{"a fit", 5, 6, ripple, true, nil},
	} {
		y, group, year := grid(c.groups, c.years, c.value)
		fit := FrameYearTrend
		if c.sites {
			fit = SiteYearTrend
		}
		got, err := fit(y, group, year)
		if !errors.Is(err, c.want) {
			t.Errorf("%s: %v %+v, want %v", c.name, err, got, c.want)
		}
		if err == nil && !(got.SE > 0 && got.DF > 0 && got.P > 0 && got.P <= 1) {
			t.Errorf("%s: %+v", c.name, got)
		}
	}
	if _, err := FrameYearTrend([]float64{1, 2}, []int{0}, []int{1, 2}); err == nil {
		t.Error("lengths that differ were taken")
	}
	if _, err := FrameYearTrend([]float64{1, 2}, []int{0, -1}, []int{1, 2}); err == nil {
		t.Error("a group below 0 was taken")
	}
}

// design is an invented set of frames (or sites) and years.
type design struct {
	frames, years                    int
	frameSD, slopeSD, yearSD, restSD float64
	trend, missing                   float64
}

// unbalanced draws values for a design, some of them missing, no year and no
// frame without any.
func unbalanced(rng *rand.Rand, d design) (y []float64, frame, year []int) {
	years := make([]float64, d.years)
	for k := range years {
		years[k] = d.yearSD * rng.NormFloat64()
	}
	gap := rng.IntN(d.years) // one calendar year left out, if any is
	for f := range d.frames {
		level, slope := 100+d.frameSD*rng.NormFloat64(), d.trend+d.slopeSD*rng.NormFloat64()
		for k := range d.years {
			if f != k%d.frames && k != f%d.years && rng.Float64() < d.missing {
				continue
			}
			calendar := 2000 + k
			if k > gap {
				calendar++
			}
			y = append(y, level+slope*(float64(k)-float64(d.years-1)/2)+years[k]+d.restSD*rng.NormFloat64())
			frame, year = append(frame, f), append(year, calendar)
		}
	}
	return y, frame, year
}

// A jet's derivatives against differences of its values.
func TestDevianceDerivatives(t *testing.T) {
	y, site, year := unbalanced(rand.New(rand.NewPCG(8, 9)), design{frames: 7, years: 8, frameSD: 10, slopeSD: 2, yearSD: 5, restSD: 6, missing: 0.25})
	d, err := newYearData(y, site, year, 5)
	if err != nil {
		t.Fatal(err)
	}
	m := newCrossedModel(d.y, [][]float64{d.one, d.t}, [][]float64{d.one, d.t}, site, d.level)
	at := func(theta []float64) (dev, logVar jet) {
		f, ok := m.at(theta)
		if !ok {
			t.Fatal("no answer")
		}
		return m.deviance(&f), f.logVar
	}
	theta := []float64{0.9, 0.4, 0.7}
	const h = 1e-5
	dev, logVar := at(theta)
	for i := range theta {
		up, down := slices.Clone(theta), slices.Clone(theta)
		up[i] += h
		down[i] -= h
		du, vu := at(up)
		dd, vd := at(down)
		near(t, "gradient of deviance", dev.g[i], (du.v-dd.v)/(2*h), 1e-6)
		near(t, "gradient of log variance", logVar.g[i], (vu.v-vd.v)/(2*h), 1e-6)
		for j := range theta {
			near(t, "curvature of deviance", dev.hessian(i, j), (du.g[j]-dd.g[j])/(2*h), 1e-6)
			near(t, "curvature of log variance", logVar.hessian(i, j), (vu.g[j]-vd.g[j])/(2*h), 1e-6)
		}
	}
}

// Every small design has an answer, however near the boundary or flat the
// deviance is.
func TestSearchSettles(t *testing.T) {
	rng := rand.New(rand.NewPCG(11, 12))
	for k := range 3000 {
		d := design{frames: 5 + k%4, years: 3 + k%6, frameSD: 2 * rng.Float64(), yearSD: rng.Float64() * rng.Float64(), restSD: 1, missing: 0.3 * rng.Float64()}
		y, group, year := unbalanced(rng, d)
		fit := FrameYearTrend
		if k%3 == 0 {
			fit = SiteYearTrend
		}
		r, err := fit(y, group, year)
		if len(y) < d.frames+d.years {
			if !errors.Is(err, ErrTooFew) {
				t.Errorf("%d values for %+v: %v", len(y), d, err)
			}
			continue
		}
		if err != nil || !(r.SE > 0 && r.DF > 0 && r.P >= 0 && r.P <= 1) || r.GroupVar < 0 || r.YearVar < 0 || r.SlopeVar < 0 {
			t.Errorf("%+v: %+v, %v", d, r, err)
		}
	}
}
