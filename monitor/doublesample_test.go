package monitor_test

import (
	"encoding/json"
	"fmt"
	"math"
	"testing"

	"clipledger/monitor"
	"clipledger/monitor/stat"
	"clipledger/schema"
	"clipledger/schema/ledgertest"
	"clipledger/testdata"
)

// The made-up double sample that check values were published for: thirty
// frames judged, the first ten clipped.
var (
	judged     = []float64{45, 60, 30, 80, 55, 20, 95, 70, 40, 65, 40, 35, 65, 25, 80, 50, 45, 50, 70, 30, 55, 60, 40, 50, 15, 90, 60, 35, 45, 60}
	clippedDry = []float64{52, 66, 31, 95, 58, 24, 101, 83, 44, 70}
)

func (b *eyeBook) double(t *testing.T, q monitor.DoubleQuery) []*monitor.DoubleMean {
	t.Helper()
	return doublesOf(t, ledgertest.Path(t, b.r), q)
}

func doublesOf(t *testing.T, path string, q monitor.DoubleQuery) (out []*monitor.DoubleMean) {
	t.Helper()
	q.Unit = monitor.Units[2]
	ledgertest.Read(t, path, func(s *schema.Snapshot) (err error) {
		out, err = monitor.DoubleSamples(s, q)
		return err
	})
	return out
}

// only takes the rows of one component and observer, by estimator.
func only(t *testing.T, all []*monitor.DoubleMean, component, observer string) map[string]*monitor.DoubleMean {
	t.Helper()
	out := map[string]*monitor.DoubleMean{}
	for _, m := range all {
		if m.Component == component && m.Observer == observer {
			out[m.Estimator] = m
		}
	}
	if len(out) != 3 {
		t.Fatalf("%d estimators of %s by %s in %d rows", len(out), component, observer, len(all))
	}
	return out
}

// published is a ledger with that double sample; with clipped dry weights as
// measured, there is no error of drying.
func published() *eyeBook {
	b := newEyeBook("")
	for i, x := range judged {
		frame := fmt.Sprint(i + 1)
		b.see("Ann", "2024-07-01", frame, schema.Herbaceous, schema.StateGreen, x)
		if i < len(clippedDry) {
			b.clip("2024-07-01", frame, schema.Herbaceous, 2*clippedDry[i], clippedDry[i])
		}
	}
	return b
}

// Numbers computed apart from the program, in Python and R.
func TestDoubleSamplesPublished(t *testing.T) {
	t.Parallel()
	rows := only(t, published().double(t, monitor.DoubleQuery{Confidence: 0.9}), "herbaceous", "Ann")
	for name, want := range map[string][3]float64{
		"ratio":        {57.9428571429, 4.18282216345318, 33.0193405057306},
		"regression":   {57.9518987342, 4.19933039530391, 33.4802680827208},
		"clipped-only": {62.4, 8.1475285960, 9},
	} {
		m := rows[name]
		for i, got := range []monitor.Num{m.Mean, m.SE, m.DF} {
			if !got.Valid || math.Abs(got.Float64-want[i]) > 1e-9*want[i] {
				t.Errorf("%s, number %d: %v, want %v", name, i, got, want[i])
			}
		}
		if m.Estimated != 30 || m.Clipped != 10 || m.Speaks != (name == "ratio") || m.State != "green" {
			t.Errorf("%s: %+v", name, m)
		}
		var tt stat.TTable
		half := tt.Quantile(0.95, m.DF.Float64) * m.SE.Float64
		sameNum(t, name+": lower end", m.CI.Low, m.Mean.Float64-half)
		sameNum(t, name+": upper end", m.CI.High, m.Mean.Float64+half)
	}
	wants(t, "ratio", rows["ratio"].Remarks, "factor", "green", "-few-clipped", "-allocation")
	total := only(t, published().double(t, monitor.DoubleQuery{}), "production", "Ann")
	sameNum(t, "production with one part", total["ratio"].Mean, 57.9428571429)
}

// The setting says which one speaks, and changes no number.
func TestDoubleSampleSetting(t *testing.T) {
	t.Parallel()
	b := published()
	b.r.Settings = map[string]string{monitor.EstimatorSetting: "regression"}
	rows := only(t, b.double(t, monitor.DoubleQuery{}), "herbaceous", "Ann")
	if rows["ratio"].Speaks || !rows["regression"].Speaks {
		t.Error("the setting is not followed")
	}
	sameNum(t, "ratio", rows["ratio"].Mean, 57.9428571429)
}

// Clipped green weights dried by samples: the error of the drying ratio enters
// each estimator as the ratio does. Reference: the estimator worked out anew
// with the ratio a little higher.
func TestDoubleSampleDryingError(t *testing.T) {
	t.Parallel()
	build := func(dry float64) map[string]*monitor.DoubleMean {
		b := newEyeBook("")
		for i, x := range judged {
			b.see("Ann", "2024-07-01", fmt.Sprint(i+1), schema.Herbaceous, schema.StateDry, x)
			if i < len(clippedDry) {
				b.r.Clippings = append(b.r.Clippings, schema.Clipping{Site: "A", Date: "2024-07-01", Frame: fmt.Sprint(i + 1), FrameType: "1 m2", Component: schema.Herbaceous, GreenG: schema.Some(2 * clippedDry[i])})
			}
		}
		for _, d := range []float64{48, 50, 52} {
			b.r.Drying = append(b.r.Drying, schema.Drying{Site: "A", Date: "2024-07-01", Season: "peak", Component: schema.Herbaceous, GreenG: 100, DryG: d + dry})
		}
		return only(t, b.double(t, monitor.DoubleQuery{}), "herbaceous", "Ann")
	}
	rows, moved := build(0), build(0.001)
	ratio, _ := stat.RatioOf([]float64{48, 50, 52}, []float64{100, 100, 100})
	for name, m := range rows {
		slope := (moved[name].Mean.Float64 - m.Mean.Float64) / 0.00001
		want := math.Abs(slope) * math.Sqrt(ratio.Variance)
		if !m.SEDrying.Valid || math.Abs(m.SEDrying.Float64-want) > 1e-6*want {
			t.Errorf("%s: drying error %v, want %g", name, m.SEDrying, want)
		}
	}
	sameNum(t, "ratio", rows["ratio"].Mean, 57.942857142857146)
	sameNum(t, "SE of ratio", rows["ratio"].SE, math.Hypot(4.18282216345318, rows["ratio"].SEDrying.Float64))
}

// Species corrected one by one: the published weight-unit example, sums over
// ten frames of which two were clipped.
func speciesBook() *eyeBook {
	b := newEyeBook("")
	for _, s := range []string{"AA", "BB", "CC"} {
		b.r.Species = append(b.r.Species, schema.Species{Code: s})
	}
	// Estimated on the clipped frames 95, 60, 20; clipped 114, 54, 25; on all
	// 420, 260, 90.
	for i, s := range []string{"AA", "BB", "CC"} {
		first := [][2]float64{{40, 55}, {35, 25}, {5, 15}}[i]
		weight := [][2]float64{{50, 64}, {30, 24}, {8, 17}}[i]
		rest := []float64{325, 200, 70}[i] / 8
		for f := range 10 {
			x := rest
			if f < 2 {
				x = first[f]
				b.r.Clippings = append(b.r.Clippings, schema.Clipping{Site: "A", Date: "2024-07-01", Frame: fmt.Sprint(f), FrameType: "1 m2", Component: schema.Herbaceous, Species: s, DryG: schema.Some(weight[f])})
			}
			b.r.Estimates = append(b.r.Estimates, schema.Estimate{Site: "A", Date: "2024-07-01", Frame: fmt.Sprint(f), FrameType: "1 m2", Component: schema.Herbaceous,
				Species: s, Observer: "Ann", State: schema.StateDry, G: x})
		}
	}
	return b
}

func TestDoubleSampleBySpecies(t *testing.T) {
	t.Parallel()
	m := only(t, speciesBook().double(t, monitor.DoubleQuery{}), "herbaceous", "Ann")["ratio"]
	sameNum(t, "corrected sum, tenth of", m.Mean, 85.05)
	sameNum(t, "by one factor", m.OneFactor, 770.0*193/175/10)
	for i, want := range []float64{1.2, 0.9, 1.25} {
		if len(m.Factors) != 3 || math.Abs(m.Factors[i].Factor-want) > 1e-12 {
			t.Fatalf("factors %+v", m.Factors)
		}
	}
	if m.Factor.Valid {
		t.Error("one factor beside three")
	}
	wants(t, "ratio", m.Remarks, "part-factors", "-one-factor", "-factor", "few-clipped")
	// By hand: z = 1.2·40 + 0.9·35 + 1.25·5 = 85.75 and 1.2·55 + 0.9·25 +
	// 1.25·15 = 107.25 against 88 and 105, then 8 times (1.2·325 + 180 +
	// 1.25·70)/8 = 82.1875.
	z := []float64{85.75, 107.25}
	rest := (88-z[0])*(88-z[0])/2 + (105-z[1])*(105-z[1])/2
	var all stat.Moments
	for _, v := range z {
		all.Add(v)
	}
	for range 8 {
		all.Add((1.2*325 + 0.9*200 + 1.25*70) / 8)
	}
	spread, _ := all.Variance()
	sameNum(t, "SE", m.SE, math.Sqrt(rest+spread/10))
}

// Where a species cannot have a factor of its own, one serves all, and says so.
func TestDoubleSampleOneFactor(t *testing.T) {
	t.Parallel()
	for name, change := range map[string]func(*eyeBook){
		"clipped and not estimated": func(b *eyeBook) {
			b.r.Clippings = append(b.r.Clippings, schema.Clipping{Site: "A", Date: "2024-07-01", Frame: "0", FrameType: "1 m2", Component: schema.Herbaceous, Species: "DD", DryG: schema.Some(3)})
		},
		"estimated and on no clipped frame": func(b *eyeBook) {
			b.r.Estimates = append(b.r.Estimates, schema.Estimate{Site: "A", Date: "2024-07-01", Frame: "7", FrameType: "1 m2", Component: schema.Herbaceous,
				Species: "DD", Observer: "Ann", State: schema.StateDry, G: 4})
		},
		"clipped unsorted": func(b *eyeBook) {
			b.r.Clippings = b.r.Clippings[:0]
			for f, w := range []float64{88, 105} {
				b.r.Clippings = append(b.r.Clippings, schema.Clipping{Site: "A", Date: "2024-07-01", Frame: fmt.Sprint(f), FrameType: "1 m2", Component: schema.Herbaceous, DryG: schema.Some(w)})
			}
		},
	} {
		b := speciesBook()
		b.r.Species = append(b.r.Species, schema.Species{Code: "DD"})
		change(b)
		m := only(t, b.double(t, monitor.DoubleQuery{}), "herbaceous", "Ann")["ratio"]
		wants(t, name, m.Remarks, "one-factor", "factor", "-part-factors")
		if len(m.Factors) > 0 || !m.Factor.Valid || !m.Mean.Valid {
			t.Errorf("%s: %+v", name, m)
		}
	}
}

// Production is corrected component by component, so that its parts add up.
func TestDoubleSampleProduction(t *testing.T) {
	t.Parallel()
	b := published()
	for i, x := range judged {
		frame := fmt.Sprint(i + 1)
		b.see("Ann", "2024-07-01", frame, schema.Browse, schema.StateGreen, 100-x)
		if i < len(clippedDry) {
			b.clip("2024-07-01", frame, schema.Browse, 300-3*x, 110-x)
		}
	}
	all := b.double(t, monitor.DoubleQuery{})
	herb, browse, total := only(t, all, "herbaceous", "Ann"), only(t, all, "browse", "Ann"), only(t, all, "production", "Ann")
	sameNum(t, "sum", total["ratio"].Mean, herb["ratio"].Mean.Float64+browse["ratio"].Mean.Float64)
	wants(t, "production", total["ratio"].Remarks, "part-factors")
}

func TestDoubleSampleBadInput(t *testing.T) {
	t.Parallel()
	build := func(n int, x func(i int) float64) *eyeBook {
		b := newEyeBook("")
		for i := range 12 {
			b.see("Ann", "2024-07-01", fmt.Sprint(i), schema.Herbaceous, schema.StateGreen, x(i))
			if i < n {
				b.clip("2024-07-01", fmt.Sprint(i), schema.Herbaceous, float64(30+i*i), float64(15+i*i))
			}
		}
		return b
	}
	rising := func(i int) float64 { return float64(20 + 3*i) }
	for _, c := range []struct {
		name                string
		n                   int
		x                   func(int) float64
		mean, interval      [3]bool // ratio, regression, clipped-only
		ratioWant, regrWant string
	}{
		{"none clipped", 0, rising, [3]bool{}, [3]bool{}, "none-clipped", "none-clipped"},
		{"one clipped", 1, rising, [3]bool{true, false, true}, [3]bool{}, "few-clipped", "all-alike"},
		{"two clipped", 2, rising, [3]bool{true, true, true}, [3]bool{true, false, true}, "few-clipped", "few-clipped"},
		{"all alike", 4, func(int) float64 { return 30 }, [3]bool{true, false, true}, [3]bool{true, false, true}, "few-clipped", "all-alike"},
		{"all nothing", 4, func(int) float64 { return 0 }, [3]bool{false, false, true}, [3]bool{false, false, true}, "nothing-estimated", "all-alike"},
		{"some nothing", 6, func(i int) float64 { return float64(i) * 4 }, [3]bool{true, true, true}, [3]bool{true, true, true}, "factor", "factor"},
		{"all clipped", 12, rising, [3]bool{true, true, true}, [3]bool{true, true, true}, "all-clipped", "all-clipped"},
	} {
		rows := only(t, build(c.n, c.x).double(t, monitor.DoubleQuery{CostRatio: 10}), "herbaceous", "Ann")
		for i, name := range []string{"ratio", "regression", "clipped-only"} {
			m := rows[name]
			if m.Mean.Valid != c.mean[i] || m.SE.Valid != c.interval[i] || m.CI.Low.Valid != c.interval[i] || m.Estimated != 12 || m.Clipped != c.n {
				t.Errorf("%s, %s: %+v", c.name, name, m)
			}
		}
		wants(t, c.name+", ratio", rows["ratio"].Remarks, c.ratioWant)
		wants(t, c.name+", regression", rows["regression"].Remarks, c.regrWant)
	}
}

// Observers are apart unless they are pooled; then a frame that both judged
// counts once, with the mean of their estimates.
func TestDoubleSamplePooled(t *testing.T) {
	t.Parallel()
	b := newEyeBook("")
	for i, x := range judged {
		frame := fmt.Sprint(i + 1)
		if i%3 != 0 {
			b.see("Ann", "2024-07-01", frame, schema.Herbaceous, schema.StateGreen, x-4)
		}
		if i%3 != 1 {
			b.see("Bo", "2024-07-01", frame, schema.Herbaceous, schema.StateGreen, x+4)
		}
		if i < len(clippedDry) {
			b.clip("2024-07-01", frame, schema.Herbaceous, 2*clippedDry[i], clippedDry[i])
		}
	}
	var d stat.DoubleSample
	for i, x := range judged {
		d.All = append(d.All, x+[]float64{4, -4, 0}[i%3])
	}
	d.X, d.Y = d.All[:10], clippedDry
	want, _ := d.Mean(stat.RegressionEstimator)
	pooled := only(t, b.double(t, monitor.DoubleQuery{Pooled: true}), "herbaceous", monitor.PooledObserver)
	sameNum(t, "pooled", pooled["regression"].Mean, want.Mean)
	sameNum(t, "pooled SE", pooled["regression"].SE, math.Sqrt(want.Variance))
	wants(t, "pooled", pooled["ratio"].Remarks, "pooled")
	apart := b.double(t, monitor.DoubleQuery{})
	ann := only(t, apart, "herbaceous", "Ann")["ratio"]
	only(t, apart, "herbaceous", "Bo")
	if ann.Estimated != 20 || ann.Clipped != 6 {
		t.Errorf("Ann: %d estimated, %d clipped", ann.Estimated, ann.Clipped)
	}
	wants(t, "Ann", ann.Remarks, "not-estimated", "-pooled")
	one := b.double(t, monitor.DoubleQuery{Observers: []string{"Bo"}})
	if len(one) != 6 { // herbaceous and production
		t.Errorf("%d rows of one observer", len(one))
	}
}

// Frames on transects that are the site's units have no interval by frames.
func TestDoubleSampleOnTransects(t *testing.T) {
	t.Parallel()
	b := published()
	b.r.Sites[0].SamplingUnit = "transect"
	m := only(t, b.double(t, monitor.DoubleQuery{CostRatio: 10}), "herbaceous", "Ann")["ratio"]
	wants(t, "transects", m.Remarks, "transects")
	if !m.Mean.Valid || m.SE.Valid || m.CI.Low.Valid || m.Allocation != nil {
		t.Errorf("%+v", m)
	}
}

// Where the occasion has cages, production is from caged frames: estimates in
// open ones do not count.
func TestDoubleSampleCages(t *testing.T) {
	t.Parallel()
	b := published()
	for i := range b.r.Clippings {
		b.r.Clippings[i].Caged = true
	}
	for i := range b.r.Estimates {
		b.r.Estimates[i].Caged = i < 25
	}
	m := only(t, b.double(t, monitor.DoubleQuery{}), "herbaceous", "Ann")["ratio"]
	if m.Estimated != 25 || m.Clipped != 10 {
		t.Errorf("%d estimated, %d clipped", m.Estimated, m.Clipped)
	}
	wants(t, "cages", m.Remarks, "open-frames")
}

func TestDoubleSampleAllocation(t *testing.T) {
	t.Parallel()
	rows := only(t, published().double(t, monitor.DoubleQuery{CostRatio: 10, Precision: 0.1}), "herbaceous", "Ann")
	d := stat.DoubleSample{All: judged, X: judged[:10], Y: clippedDry}
	for i, name := range []string{"ratio", "regression"} {
		want, _ := d.Mean(stat.Estimator(i))
		best, _ := want.BestRatio(10)
		a := rows[name].Allocation
		if a == nil || a.EstimatedPerClipped != best || a.Precision != 0.1 || a.Confidence != 0.8 || a.ClippedAlone <= a.Clipped {
			t.Fatalf("%s: %+v", name, a)
		}
		wants(t, name, rows[name].Remarks, "allocation")
	}
	if rows["clipped-only"].Allocation != nil {
		t.Error("an allocation of clipping alone")
	}
}

// The demo: Wren's double samples of four years, by the ratio, against the
// means that were put in. At 90 % four intervals out of four hold them in two
// of three such worlds; three out of four in 19 of 20.
func TestDoubleSamplesFindThePlantedMeans(t *testing.T) {
	t.Parallel()
	truth := plantedMeans(t, "THIMBLE", "herbaceous")
	holds, years := 0, 0
	for _, m := range doublesOf(t, districtWithEstimates(t), monitor.DoubleQuery{Observers: []string{"Wren"}, Filter: monitor.Filter{Components: []string{"herbaceous"}}}) {
		want, ok := truth[m.Year]
		if !ok {
			t.Fatalf("no truth of %d", m.Year)
		}
		if m.Estimated != 30 || m.Clipped != 10 || !m.CI.Low.Valid {
			t.Errorf("%d: %+v", m.Year, m)
		}
		if !m.Speaks {
			continue
		}
		years++
		if m.CI.Low.Float64 <= want && want <= m.CI.High.Float64 {
			holds++
		}
	}
	if years != 4 || holds < 3 {
		t.Errorf("%d of %d intervals hold the mean that was put in", holds, years)
	}
}

// plantedMeans reads a site's true means by year from truth.json.
func plantedMeans(t *testing.T, site, component string) map[int]float64 {
	t.Helper()
	content, err := testdata.AnselBasin.ReadFile("ansel-basin/truth.json")
	if err != nil {
		t.Fatal(err)
	}
	var truth struct {
		Sites []struct {
			Site       string
			Components []struct {
				Component string
				Years     []struct {
					Year     int
					TrueMean float64 `json:"true_mean"`
				}
			}
		}
	}
	if err := json.Unmarshal(content, &truth); err != nil {
		t.Fatal(err)
	}
	out := map[int]float64{}
	for _, s := range truth.Sites {
		for _, c := range s.Components {
			for _, y := range c.Years {
				if s.Site == site && c.Component == component {
					out[y.Year] = y.TrueMean
				}
			}
		}
	}
	return out
}
