package monitor_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"clipledger/monitor"
	"clipledger/schema"
	"clipledger/schema/ledgertest"
)

// meansBy works out means by component.
func meansBy(t *testing.T, path string, q monitor.Query) map[string]*monitor.Mean {
	t.Helper()
	out := map[string]*monitor.Mean{}
	for _, m := range meansOf(t, path, q) {
		out[fmt.Sprint(m.Year, " ", m.Component, m.Group)] = m
	}
	return out
}

// A site that says double sampling has the estimator of the setting in its
// means; clipped frames alone speak where nothing was estimated.
func TestMeansOfADoubleSample(t *testing.T) {
	t.Parallel()
	b := published()
	for i, w := range []float64{50, 60, 70, 40} {
		b.clip("2023-07-01", fmt.Sprint(i), schema.Herbaceous, 2*w, w)
	}
	plain := meansBy(t, ledgertest.Path(t, b.r), monitor.Query{Confidence: 0.9})
	if m := plain["2024 herbaceous"]; m.Double != nil || m.N != 10 || math.Abs(m.Mean.Float64-62.4) > 1e-12 {
		t.Errorf("estimates entered the mean of a site that does not say so: %+v", m)
	}
	b.r.Sites[0].DoubleSampling = "Ann"
	for estimator, want := range map[string][2]float64{"ratio": {57.9428571429, 4.18282216345318}, "regression": {57.9518987342, 4.19933039530391}, "clipped-only": {62.4, 8.1475285960}} {
		b.r.Settings = map[string]string{monitor.EstimatorSetting: estimator}
		path := ledgertest.Path(t, b.r)
		means := meansBy(t, path, monitor.Query{Confidence: 0.9})
		for _, name := range []string{"2024 herbaceous", "2024 production"} {
			m := means[name]
			if math.Abs(m.Mean.Float64-want[0]) > 1e-9*want[0] || math.Abs(m.SE.Float64-want[1]) > 1e-9*want[1] || m.N != 30 {
				t.Errorf("%s, %s: %+v", estimator, name, m)
			}
			if m.Double == nil || m.Double.Clipped != 10 || m.Double.Estimator != estimator || m.SD.Valid || m.NRequired.Valid || m.Hall.Low.Valid {
				t.Errorf("%s, %s: %+v of %+v", estimator, name, m.Double, m)
			}
			wants(t, estimator, m.Remarks, "double-sample", "-clipped-alone")
		}
		if m := means["2024 herbaceous"]; m.Adequate != monitor.Yes && estimator != "clipped-only" {
			t.Errorf("%s: half-width %v %%, adequate %v", estimator, m.HalfPct, m.Adequate)
		}
		before := means["2023 herbaceous"]
		if before.N != 4 || before.Mean.Float64 != 55 || before.Double != nil {
			t.Errorf("a year without estimates: %+v", before)
		}
		wants(t, "2023", before.Remarks, "clipped-alone")
		if m := meansBy(t, path, monitor.Query{Clipped: true})["2024 herbaceous"]; m.N != 10 || m.Double != nil {
			t.Errorf("clipped alone: %+v", m)
		}
		soundLedger(t, path)
	}
	wants(t, "split", meansBy(t, ledgertest.Path(t, b.r), monitor.Query{By: "transect"})["2024 herbaceous1"].Remarks, "clipped-alone", "-double-sample")
}

// No other estimator steps in where the one that speaks has no answer.
func TestMeansOfADoubleSampleWithoutAnswer(t *testing.T) {
	t.Parallel()
	b := newEyeBook("")
	b.r.Sites[0].DoubleSampling = "Ann"
	for i := range 8 {
		b.see("Ann", "2024-07-01", fmt.Sprint(i), schema.Herbaceous, schema.StateGreen, 0)
		if i < 4 {
			b.clip("2024-07-01", fmt.Sprint(i), schema.Herbaceous, 40, float64(20+i))
		}
	}
	m := meansBy(t, ledgertest.Path(t, b.r), monitor.Query{})["2024 herbaceous"]
	if m.Mean.Valid || m.CI.Low.Valid || m.Double == nil {
		t.Errorf("%+v", m)
	}
	wants(t, "nothing estimated", m.Remarks, "nothing-estimated", "double-sample")
}

// Practice on frames that were all clipped does not take the place of all the
// clipped frames; another observer's estimates do not either.
func TestMeansKeepClippedFrames(t *testing.T) {
	t.Parallel()
	for _, who := range []string{"Ann", "Bo"} {
		b := newEyeBook("")
		b.r.Sites[0].DoubleSampling = who
		for i := range 8 {
			b.clip("2024-07-01", fmt.Sprint(i), schema.Herbaceous, 40, float64(20+i))
			if i < 4 {
				b.see("Ann", "2024-07-01", fmt.Sprint(i), schema.Herbaceous, schema.StateGreen, 44)
			}
		}
		m := meansBy(t, ledgertest.Path(t, b.r), monitor.Query{})["2024 herbaceous"]
		if m.N != 8 || m.Mean.Float64 != 23.5 || m.Double != nil {
			t.Errorf("%s: %+v", who, m)
		}
		wants(t, who, m.Remarks, "clipped-alone")
	}
}

// The total of components of which one was not estimated stays that of the
// clipped frames, loudly; on frames of their own it is the sum of what each
// part came to.
func TestMeansOfADoubleSampleTotals(t *testing.T) {
	t.Parallel()
	together, apart := published(), published()
	together.r.Sites[0].DoubleSampling, apart.r.Sites[0].DoubleSampling = "Ann", "Ann"
	for i := range 10 {
		together.clip("2024-07-01", fmt.Sprint(i+1), schema.Browse, 20, float64(10+i%3))
		apart.r.Clippings = append(apart.r.Clippings, schema.Clipping{Site: "A", Date: "2024-07-01", Frame: fmt.Sprint("P", i), FrameType: "4 m2", Component: schema.Browse, DryG: schema.Some(float64(40 + i))})
	}
	means := meansBy(t, ledgertest.Path(t, together.r), monitor.Query{})
	wants(t, "together", means["2024 production"].Remarks, "clipped-alone", "-double-sample")
	wants(t, "browse", means["2024 browse"].Remarks, "clipped-alone")
	if means["2024 herbaceous"].Double == nil || means["2024 production"].N != 10 {
		t.Errorf("%+v", means["2024 production"])
	}
	means = meansBy(t, ledgertest.Path(t, apart.r), monitor.Query{})
	herb, browse, total := means["2024 herbaceous"], means["2024 browse"], means["2024 production"]
	sameNum(t, "sum", total.Mean, herb.Mean.Float64+browse.Mean.Float64)
	sameNum(t, "SE", total.SE, math.Hypot(herb.SE.Float64, browse.SE.Float64))
	wants(t, "apart", total.Remarks, "sum-of-means", "double-sample")
	if herb.Double == nil || browse.Double != nil || herb.N != 30 {
		t.Errorf("%+v %+v", herb, browse)
	}
}

// Many sites, read on two cores: every mean is the row of double-sample that
// speaks.
func TestMeansAreTheDoubleSamplesThatSpeak(t *testing.T) {
	t.Parallel()
	rng := rand.New(rand.NewPCG(70, 3))
	var r ledgertest.Records
	r.Settings = map[string]string{monitor.EstimatorSetting: "regression"}
	for s := range 72 {
		site := fmt.Sprintf("S%02d", s)
		r.Sites = append(r.Sites, schema.Site{Site: site, SamplingUnit: "frame", DoubleSampling: []string{"Ann", "pooled", ""}[s%3]})
		for year := 2020; year < 2023; year++ {
			for f := range 8 {
				green := math.Round(20 + 60*rng.Float64())
				for _, who := range []string{"Ann", "Bo"} {
					r.Estimates = append(r.Estimates, schema.Estimate{Site: site, Year: year, Frame: fmt.Sprint(f), FrameType: "1 m2", Component: schema.Herbaceous,
						Observer: who, State: schema.StateGreen, G: math.Round(green * (0.7 + 0.5*rng.Float64()))})
				}
				if f < 4 {
					r.Clippings = append(r.Clippings, schema.Clipping{Site: site, Year: year, Frame: fmt.Sprint(f), FrameType: "1 m2", Component: schema.Herbaceous,
						GreenG: schema.Some(green), DryG: schema.Some(math.Round(green * 0.45))})
				}
			}
		}
	}
	path := ledgertest.Path(t, r)
	rows := map[string]*monitor.DoubleMean{}
	for _, pooled := range []bool{false, true} {
		for _, m := range doublesOf(t, path, monitor.DoubleQuery{Pooled: pooled}) {
			if m.Speaks {
				rows[fmt.Sprint(m.Site.Site, m.Year, m.Component, m.Observer)] = m
			}
		}
	}
	double := 0
	for _, m := range meansOf(t, path, monitor.Query{}) {
		if m.Site.DoubleSampling == "" {
			if m.Double != nil || m.N != 4 {
				t.Fatalf("%+v", m)
			}
			continue
		}
		row := rows[fmt.Sprint(m.Site.Site, m.Year, m.Component, m.Site.DoubleSampling)]
		if row == nil || m.Double == nil || m.Mean != row.Mean || m.SE != row.SE || m.CI != row.CI || m.N != 8 {
			t.Fatalf("%s %d: %+v, double-sample says %+v", m.Site.Site, m.Year, m, row)
		}
		double++
	}
	if double != 2*48*3 {
		t.Errorf("%d means", double)
	}
}

// The yearly series of a trend takes the means of the double samples, also
// where the frames stay in place: the clipped frames' values do not stand for
// them.
func TestTrendTakesDoubleSamples(t *testing.T) {
	t.Parallel()
	for _, placement := range []string{"new", "same"} {
		b := newEyeBook("")
		b.r.Sites[0].DoubleSampling, b.r.Sites[0].Placement = "Ann", placement
		for year := 2018; year < 2024; year++ {
			date := fmt.Sprintf("%d-07-01", year)
			for f := range 9 {
				x := float64(40 + 3*f + (year*f)%7)
				b.see("Ann", date, fmt.Sprint(f), schema.Herbaceous, schema.StateGreen, x)
				if f < 5 && !(year == 2020 && f == 1) {
					b.clip(date, fmt.Sprint(f), schema.Herbaceous, 2*x, x/2+float64((f*year)%5))
				}
			}
		}
		path := ledgertest.Path(t, b.r)
		want := map[int]monitor.Num{}
		for _, m := range doublesOf(t, path, monitor.DoubleQuery{}) {
			if m.Speaks && m.Component == "herbaceous" {
				want[m.Year] = m.Mean
			}
		}
		years := 0
		ledgertest.Read(t, path, func(s *schema.Snapshot) error {
			return monitor.Trends(s, monitor.Query{}, func(series *monitor.Series) error {
				for _, y := range series.Years {
					if series.Component == "herbaceous" {
						years++
						sameNum(t, fmt.Sprint(placement, " ", y.Year), y.Value, want[y.Year].Float64)
					}
				}
				return nil
			})
		})
		if years != 6 {
			t.Errorf("%s: %d years", placement, years)
		}
	}
}

// Years are compared by their clipped frames, which is said.
func TestCompareSaysClippedFramesAlone(t *testing.T) {
	t.Parallel()
	b := published()
	b.r.Sites[0].DoubleSampling = "Ann"
	for i, w := range []float64{50, 60, 70, 40} {
		b.clip("2023-07-01", fmt.Sprint(i), schema.Herbaceous, 2*w, w)
	}
	ledgertest.Read(t, ledgertest.Path(t, b.r), func(s *schema.Snapshot) error {
		all, _, err := monitor.Compare(s, monitor.ChangeQuery{Filter: monitor.Filter{Components: []string{"herbaceous"}}})
		if err != nil || len(all) != 1 {
			t.Fatalf("%d comparisons, %v", len(all), err)
		}
		sameNum(t, "mean 2", all[0].Mean2, 62.4)
		wants(t, "compare", all[0].Remarks, "clipped-alone")
		return nil
	})
}
