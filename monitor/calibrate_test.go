package monitor_test

import (
	"fmt"
	"maps"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"clipledger/monitor"
	"clipledger/monitor/stat"
	"clipledger/schema"
	"clipledger/schema/ledgertest"
)

// eyeBook writes clippings and estimates of one site in frames of 1 m², so
// that grams are g/m².
type eyeBook struct {
	r ledgertest.Records
}

func newEyeBook(scheme string) *eyeBook {
	return &eyeBook{ledgertest.Records{Sites: []schema.Site{{Site: "A", SamplingUnit: "frame", FrameType: "1 m2", ClassScheme: scheme, Selection: "random"}}}}
}

func (b *eyeBook) clip(date, frame string, c schema.Component, green, dry float64) {
	b.r.Clippings = append(b.r.Clippings, schema.Clipping{Site: "A", Date: date, Frame: frame, FrameType: "1 m2", Component: c, GreenG: schema.Some(green), DryG: schema.Some(dry)})
}

func (b *eyeBook) see(observer, date, frame string, c schema.Component, state string, g float64) {
	b.r.Estimates = append(b.r.Estimates, schema.Estimate{Site: "A", Date: date, Frame: frame, FrameType: "1 m2", Component: c, Observer: observer, State: state, G: g})
}

func (b *eyeBook) calibrate(t *testing.T, q monitor.CalibrateQuery) []*monitor.Calibration {
	t.Helper()
	return calibrationsOf(t, ledgertest.Path(t, b.r), q)
}

func calibrationsOf(t *testing.T, path string, q monitor.CalibrateQuery) (out []*monitor.Calibration) {
	t.Helper()
	q.Unit = monitor.Units[2]
	ledgertest.Read(t, path, func(s *schema.Snapshot) (err error) {
		out, err = monitor.Calibrate(s, q)
		return err
	})
	return out
}

// codesOf lists the codes of remarks.
func codesOf(remarks []monitor.Remark) []string {
	var out []string
	for _, r := range remarks {
		out = append(out, r.Code)
	}
	return out
}

// wants holds that remarks have these codes, and lack those after "-".
func wants(t *testing.T, what string, remarks []monitor.Remark, codes ...string) {
	t.Helper()
	for _, code := range codes {
		not := code[0] == '-'
		if not {
			code = code[1:]
		}
		if slices.Contains(codesOf(remarks), code) == not {
			t.Errorf("%s: remarks %v; %q wanted: %v", what, codesOf(remarks), code, !not)
		}
	}
}

func sameNum(t *testing.T, what string, got monitor.Num, want float64) {
	t.Helper()
	if !got.Valid || math.Abs(got.Float64-want) > 1e-9*max(1, math.Abs(want)) {
		t.Errorf("%s: %v, want %v", what, got, want)
	}
}

// Green is compared with green and dry with dry, and the columns are those of
// the statistics on the same pairs.
func TestCalibrateComparesLikeWithLike(t *testing.T) {
	t.Parallel()
	b := newEyeBook("")
	var greens, drys, clippedGreen, clippedDry []float64
	rng := rand.New(rand.NewPCG(3, 3))
	for i := range 12 {
		frame := fmt.Sprint(i + 1)
		green := math.Round(40 + 60*rng.Float64())
		dry := math.Round(green * (0.3 + 0.2*rng.Float64()))
		b.clip("2024-07-01", frame, schema.Herbaceous, green, dry)
		seenGreen, seenDry := math.Round(green*(0.8+0.3*rng.Float64())), math.Round(dry*(0.8+0.3*rng.Float64()))
		b.see("Ann", "2024-07-01", frame, schema.Herbaceous, schema.StateGreen, seenGreen)
		b.see("Ann", "2024-07-01", frame, schema.Herbaceous, schema.StateDry, seenDry)
		greens, drys, clippedGreen, clippedDry = append(greens, seenGreen), append(drys, seenDry), append(clippedGreen, green), append(clippedDry, dry)
	}
	all := b.calibrate(t, monitor.CalibrateQuery{Confidence: 0.95})
	if len(all) != 2 || all[0].State != "dry" || all[1].State != "green" {
		t.Fatalf("%d rows", len(all))
	}
	for i, pair := range [][2][]float64{{drys, clippedDry}, {greens, clippedGreen}} {
		k := all[i]
		want, _ := stat.AgreementOf(pair[0], pair[1])
		if k.N != 12 || k.Component != "herbaceous" || k.Observer != "Ann" {
			t.Fatalf("%+v", k)
		}
		sameNum(t, "bias", k.Bias, want.Bias)
		sameNum(t, "ratio", k.Ratio, want.MeanX/want.MeanY)
		sameNum(t, "rmse", k.RMSE, want.RMSE)
		sameNum(t, "concordance", k.Concordance, want.Concordance)
		limits, _ := want.Limits(1.96)
		sameNum(t, "limit", k.Limits.Low, limits.Low)
		ci, _ := want.ConcordanceInterval(1.959963984540054)
		sameNum(t, "interval of concordance", k.ConcordanceCI.High, ci.High)
		wants(t, k.State, k.Remarks, "no-classes", "learning", "-two-frames", "-not-clipped")
	}
}

// Dry estimates on the other basis are brought to the ledger's.
func TestCalibrateOnTheLedgersBasis(t *testing.T) {
	t.Parallel()
	b := newEyeBook("")
	b.clip("2024-07-01", "1", schema.Herbaceous, 100, 40)
	b.r.Estimates = append(b.r.Estimates, schema.Estimate{Site: "A", Date: "2024-07-01", Frame: "1", FrameType: "1 m2", Component: schema.Herbaceous, Observer: "Ann",
		State: schema.StateDry, G: 36, Basis: schema.OvenDry})
	k := b.calibrate(t, monitor.CalibrateQuery{})[0]
	sameNum(t, "mean estimated", k.MeanEstimated, 40) // 36 oven-dry are 40 with a tenth of water
	wants(t, "one frame", k.Remarks, "one-frame")
	if k.Concordance.Valid || k.Limits.Low.Valid {
		t.Errorf("one frame has concordance or limits: %+v", k)
	}
}

func TestCalibrateBadInput(t *testing.T) {
	t.Parallel()
	t.Run("two frames", func(t *testing.T) {
		b := newEyeBook("")
		for i, g := range []float64{50, 80} {
			b.clip("2024-07-01", fmt.Sprint(i), schema.Herbaceous, g, g/2)
			b.see("Ann", "2024-07-01", fmt.Sprint(i), schema.Herbaceous, schema.StateGreen, g-5+float64(3*i))
		}
		k := b.calibrate(t, monitor.CalibrateQuery{})[0]
		wants(t, "two", k.Remarks, "two-frames")
		if !k.Bias.Valid || !k.Concordance.Valid || k.ConcordanceCI.Low.Valid || !k.Limits.Low.Valid {
			t.Errorf("%+v", k)
		}
	})
	t.Run("all alike", func(t *testing.T) {
		b := newEyeBook("")
		for i, g := range []float64{50, 80, 30, 66} {
			b.clip("2024-07-01", fmt.Sprint(i), schema.Herbaceous, g, g/2)
			b.see("Ann", "2024-07-01", fmt.Sprint(i), schema.Herbaceous, schema.StateGreen, 60)
		}
		k := b.calibrate(t, monitor.CalibrateQuery{})[0]
		wants(t, "alike", k.Remarks, "all-alike")
		sameNum(t, "concordance", k.Concordance, 0)
		if k.ConcordanceCI.Low.Valid {
			t.Error("an interval of concordance")
		}
	})
	t.Run("zeros, and frames of one kind only", func(t *testing.T) {
		b := newEyeBook("")
		b.clip("2024-07-01", "1", schema.Herbaceous, 0, 0)
		b.clip("2024-07-01", "2", schema.Herbaceous, 20, 9)
		b.clip("2024-07-01", "3", schema.Herbaceous, 30, 14) // not estimated
		for _, f := range []string{"1", "2", "8", "9"} {     // 8 and 9 not clipped
			b.see("Ann", "2024-07-01", f, schema.Herbaceous, schema.StateGreen, 0)
		}
		b.see("Bo", "2024-07-01", "8", schema.Herbaceous, schema.StateGreen, 4)
		all := b.calibrate(t, monitor.CalibrateQuery{})
		ann, bo := all[0], all[1]
		if ann.N != 2 || ann.Estimated != 4 || bo.N != 0 || bo.MeanEstimated.Valid || bo.Ratio.Valid {
			t.Fatalf("%+v\n%+v", ann, bo)
		}
		sameNum(t, "ratio", ann.Ratio, 0)
		wants(t, "Ann", ann.Remarks, "zero-estimates", "not-clipped", "not-estimated", "all-alike")
		wants(t, "Bo", bo.Remarks, "none-clipped", "-not-clipped")
	})
	t.Run("nothing there", func(t *testing.T) {
		b := newEyeBook("")
		for i := range 3 {
			b.clip("2024-07-01", fmt.Sprint(i), schema.Herbaceous, 0, 0)
			b.see("Ann", "2024-07-01", fmt.Sprint(i), schema.Herbaceous, schema.StateGreen, float64(i))
		}
		k := b.calibrate(t, monitor.CalibrateQuery{})[0]
		if k.Ratio.Valid || k.RMSEPct.Valid || k.ScatterPct.Valid || k.Light.Ratio.Valid {
			t.Errorf("%+v", k)
		}
		wants(t, "nothing", k.Remarks, "nothing-clipped")
	})
	t.Run("nobody of that name", func(t *testing.T) {
		b := newEyeBook("")
		b.see("Ann", "2024-07-01", "1", schema.Herbaceous, schema.StateGreen, 4)
		ledgertest.Read(t, ledgertest.Path(t, b.r), func(s *schema.Snapshot) error {
			_, err := monitor.Calibrate(s, monitor.CalibrateQuery{Observers: []string{"Bob"}})
			if _, ok := err.(monitor.ErrNoObserver); !ok {
				t.Errorf("error %v", err)
			}
			return nil
		})
	})
}

// An estimate by species is compared with the whole component, with the plant
// that the observer overlooked.
func TestCalibrateBySpecies(t *testing.T) {
	t.Parallel()
	b := newEyeBook("")
	b.r.Species = []schema.Species{{Code: "AA"}, {Code: "BB"}, {Code: "CC"}}
	for i := range 3 {
		for j, sp := range []string{"AA", "BB", "CC"} {
			b.r.Clippings = append(b.r.Clippings, schema.Clipping{Site: "A", Date: "2024-07-01", Frame: fmt.Sprint(i), FrameType: "1 m2", Component: schema.Herbaceous,
				Species: sp, GreenG: schema.Some(float64(10 * (i + j + 1))), DryG: schema.Some(float64(5 * (i + j + 1)))})
			if sp != "CC" {
				b.r.Estimates = append(b.r.Estimates, schema.Estimate{Site: "A", Date: "2024-07-01", Frame: fmt.Sprint(i), FrameType: "1 m2", Component: schema.Herbaceous,
					Species: sp, Observer: "Ann", State: schema.StateGreen, G: float64(10 * (i + j + 1))})
			}
		}
	}
	k := b.calibrate(t, monitor.CalibrateQuery{})
	if len(k) != 1 || k[0].N != 3 {
		t.Fatalf("%+v", k)
	}
	// Estimated 10+20, 20+30, 30+40; clipped those and 30, 40, 50.
	sameNum(t, "mean estimated", k[0].MeanEstimated, 50)
	sameNum(t, "mean clipped", k[0].MeanClipped, 90)
}

// Classes: a green estimate is classed at the frame's own dry matter.
func TestCalibrateClasses(t *testing.T) {
	t.Parallel()
	build := func() *eyeBook {
		b := newEyeBook("S")
		b.r.Classes = []schema.ClassBound{
			{Scheme: "S", Component: "herbaceous", LowerG: 0, UpperG: schema.Some(20), Label: "low", Basis: schema.AirDry},
			{Scheme: "S", Component: "herbaceous", LowerG: 20, UpperG: schema.Some(40), Label: "middle", Basis: schema.AirDry},
			{Scheme: "S", Component: "herbaceous", LowerG: 40, Label: "high", Basis: schema.AirDry}}
		return b
	}
	b := build()
	// Clipped dry 10, 20, 30, 50; the estimates at half of the green weight are
	// 10, 19, 30, 20: classes 0 0 1 1 against 0 1 1 2.
	for i, c := range []struct{ green, dry, seen float64 }{{20, 10, 20}, {40, 20, 38}, {60, 30, 60}, {100, 50, 40}} {
		b.clip("2024-07-01", fmt.Sprint(i), schema.Herbaceous, c.green, c.dry)
		b.see("Ann", "2024-07-01", fmt.Sprint(i), schema.Herbaceous, schema.StateGreen, c.seen)
	}
	counts := [][]float64{{1, 1, 0}, {0, 1, 1}, {0, 0, 0}}
	for _, quadratic := range []bool{false, true} {
		w := stat.LinearWeights(3)
		if quadratic {
			w = stat.QuadraticWeights(3)
		}
		want, ok := stat.KappaOf(counts, w)
		k := b.calibrate(t, monitor.CalibrateQuery{Quadratic: quadratic})[0]
		sameNum(t, "class agreement", k.ClassAgreementPct, 50)
		if !ok {
			t.Fatal("no kappa")
		}
		sameNum(t, "kappa", k.Kappa, want.Kappa)
		wants(t, "classes", k.Remarks, "classes", "-no-classes")
	}
	one := build()
	for i := range 3 {
		one.clip("2024-07-01", fmt.Sprint(i), schema.Herbaceous, 20, 10)
		one.see("Ann", "2024-07-01", fmt.Sprint(i), schema.Herbaceous, schema.StateGreen, 20)
	}
	k := one.calibrate(t, monitor.CalibrateQuery{})[0]
	sameNum(t, "class agreement", k.ClassAgreementPct, 100)
	if k.Kappa.Valid {
		t.Errorf("kappa %v of frames all in one class", k.Kappa)
	}
	wants(t, "one class", k.Remarks, "one-class")
}

// Errors that shrink by date are seen to do so, and steady ones are not.
func TestCalibrateLearning(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name    string
		errorOf func(day int) float64 // fraction
		shrinks bool
	}{
		{"shrinking", func(day int) float64 { return 0.5 - 0.08*float64(day) }, true},
		{"steady", func(day int) float64 { return 0.2 }, false},
	} {
		b := newEyeBook("")
		rng := rand.New(rand.NewPCG(9, 1))
		for day := range 6 {
			for f := range 6 {
				date, frame := fmt.Sprintf("2024-06-%02d", 1+4*day), fmt.Sprintf("%d.%d", day, f)
				green := math.Round(50 + 40*rng.Float64())
				off := c.errorOf(day) + 0.02*rng.NormFloat64()
				if f%2 == 1 {
					off = -off
				}
				b.clip(date, frame, schema.Herbaceous, green, green/2)
				b.see("Ann", date, frame, schema.Herbaceous, schema.StateGreen, green*(1+off))
			}
		}
		k := b.calibrate(t, monitor.CalibrateQuery{})[0]
		l := k.Learning
		if l.Dates != 6 || l.First != "2024-06-01" || l.Last != "2024-06-21" || !l.P.Valid {
			t.Fatalf("%s: %+v", c.name, l)
		}
		if got := l.P.Float64 < 0.1 && l.PctPerYear.Float64 < 0; got != c.shrinks {
			t.Errorf("%s: %+v", c.name, l)
		}
		if c.shrinks && (math.Abs(l.FirstPct.Float64-50) > 4 || math.Abs(l.LastPct.Float64-10) > 4) {
			t.Errorf("%s: from %v to %v, put in 50 and 10", c.name, l.FirstPct, l.LastPct)
		}
	}
}

// The demo's two observers: Wren falls short on heavy frames and is steady,
// Tolly has no bias and is erratic.
func TestCalibrateFindsThePlantedObservers(t *testing.T) {
	t.Parallel()
	all := calibrationsOf(t, districtWithEstimates(t), monitor.CalibrateQuery{})
	found := map[string]*monitor.Calibration{}
	for _, k := range all {
		found[k.Observer+" "+k.Component] = k
	}
	for _, component := range []string{"herbaceous", "browse", "production"} {
		if found["Wren "+component] == nil || found["Tolly "+component] == nil {
			t.Fatalf("no row of %s: %v", component, slices.Sorted(maps.Keys(found)))
		}
	}
	wren, tolly := found["Wren herbaceous"], found["Tolly herbaceous"]
	wants(t, "Wren", wren.Remarks, "practise-low-on-heavy", "-practise-unsteady", "-practise-low-on-light", "-practise-high-on-light")
	wants(t, "Tolly", tolly.Remarks, "practise-unsteady", "-practise-low-on-heavy", "-practise-low-on-light")
	if r := wren.Heavy.Ratio.Float64; r < 0.70 || r > 0.85 {
		t.Errorf("Wren sees %.2f of heavy frames; 0.75 to 0.8 was put in", r)
	}
	if !(tolly.ScatterPct.Float64 > 30 && wren.ScatterPct.Float64 < 20) {
		t.Errorf("scatter: Tolly %.0f %%, Wren %.0f %%; 40 and 8 were put in", tolly.ScatterPct.Float64, wren.ScatterPct.Float64)
	}
	if wren.N != 40 || wren.Estimated != 120 {
		t.Errorf("%d of %d frames", wren.N, wren.Estimated)
	}
	if !wren.Line.P.Valid || !(wren.Line.Slope.Float64 < -0.15 && wren.Line.P.Float64 < 0.01) {
		t.Errorf("Wren's errors on weight: %+v", wren.Line)
	}
	if !found["Wren production"].Kappa.Valid || !found["Wren production"].ClassAgreementPct.Valid {
		t.Error("production has no class agreement, though the site's scheme has its bounds")
	}
	wants(t, "Wren herbaceous", wren.Remarks, "no-classes", "not-clipped")
}

// Frames without a weight say nothing of light plots: the thirds leave them
// out.
func TestCalibrateThirdsLeaveZerosOut(t *testing.T) {
	t.Parallel()
	b := newEyeBook("")
	for i := range 24 {
		green := max(0, float64(i-11))*10 + 0
		if green > 0 && green < 60 {
			b.see("Ann", "2024-07-01", fmt.Sprint(i), schema.Browse, schema.StateGreen, math.Round(green*1.5+float64(i%2)))
		} else {
			b.see("Ann", "2024-07-01", fmt.Sprint(i), schema.Browse, schema.StateGreen, green)
		}
		b.clip("2024-07-01", fmt.Sprint(i), schema.Browse, green, green/2)
	}
	k := b.calibrate(t, monitor.CalibrateQuery{})[0]
	if k.Light.N != 4 || k.Heavy.N != 4 || !k.Light.Ratio.Valid || math.Abs(k.Light.Ratio.Float64-1.52) > 0.03 {
		t.Errorf("light %+v, heavy %+v", k.Light, k.Heavy)
	}
	wants(t, "zeros left out", k.Remarks, "practise-high-on-light", "-practise-high-on-heavy", "zero-estimates")
}
