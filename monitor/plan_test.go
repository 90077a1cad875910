package monitor_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"clipledger/monitor"
	"clipledger/monitor/stat"
	"clipledger/schema"
	"clipledger/schema/ledgertest"
)

// planOf works out the plan of a ledger.
func planOf(t testing.TB, path string, change func(*monitor.PlanQuery)) []*monitor.PlanRow {
	t.Helper()
	q := monitor.PlanQuery{Costs: monitor.PlanCosts{Frame: 10, Travel: 60, Transect: 20}, MoreFrames: 5, MoreTransects: 1, MoreSites: 3, MoreYears: 5, ChangePct: 3, Curves: true}
	if change != nil {
		change(&q)
	}
	var out []*monitor.PlanRow
	ledgertest.Read(t, path, func(s *schema.Snapshot) error {
		return monitor.Plan(s, q, func(r *monitor.PlanRow) error {
			out = append(out, r)
			return nil
		})
	})
	for _, r := range out {
		for _, n := range []monitor.Num{r.Transects, r.Frames, r.Minutes, r.Mean, r.HalfPct, r.MoreYears, r.DetectPct} {
			if math.IsNaN(n.Float64) || math.IsInf(n.Float64, 0) {
				t.Errorf("%+v", r)
			}
		}
		for _, p := range r.Curve {
			if !(p.Power >= 0 && p.Power <= 1) {
				t.Errorf("%s: %+v", r.Place, p)
			}
		}
		if r.Choice == monitor.ChoiceNow && r.Conclusion == "" {
			t.Errorf("%s %s: no conclusion", r.Place, r.Component)
		}
	}
	return out
}

func rowOf(t testing.TB, rows []*monitor.PlanRow, place, choice string) *monitor.PlanRow {
	t.Helper()
	for _, r := range rows {
		if r.Place == place && r.Choice == choice {
			return r
		}
	}
	t.Fatalf("no row %s, %s", place, choice)
	return nil
}

// planned is a site of new frames: six years whose levels leave a known rest
// about the line, and four frames a year with the same spread.
func plannedSiteRecords() ledgertest.Records {
	r := ledgertest.Records{Sites: []schema.Site{{Site: "NEW", SamplingUnit: "frame"}}}
	for i, level := range []float64{104, 92, 107, 91, 110, 96} {
		for f, spread := range []float64{-12, -4, 4, 12} {
			r.Clippings = append(r.Clippings, clipped("NEW", 2011+i, fmt.Sprint(f+1), level+spread))
		}
	}
	return r
}

// The plan by hand. Frames: s² = (144 + 16 + 16 + 144)/3 = 106.67. Years about
// the line of least squares: mean 100, Σ(t-t̄)² = 17.5, Σ(t-t̄)(y-ȳ) = -2.5·4 +
// 1.5·8 - 0.5·7 - 0.5·9 + 1.5·10 - 2.5·4 = -1, so RSS = 16 + 64 + 49 + 81 + 100
// + 16 - 1/17.5 on 4 degrees of freedom. Quantiles from R: qt(.9, 3) = 1.637744,
// qt(.9, 8) = 1.396815.
func TestPlanByHand(t *testing.T) {
	rows := planOf(t, ledgertest.Path(t, plannedSiteRecords()), nil)
	const s2 = 320.0 / 3
	year := (326-1/17.5)/4 - s2/4
	now, more, longer := rowOf(t, rows, "NEW", monitor.ChoiceNow), rowOf(t, rows, "NEW", monitor.ChoiceFrames), rowOf(t, rows, "NEW", monitor.ChoiceYears)
	for _, c := range []struct {
		what      string
		got       monitor.Num
		want, tol float64
	}{
		{"frames now", now.Frames, 4, 0}, {"minutes now", now.Minutes, 100, 0}, {"frames then", more.Frames, 9, 0}, {"minutes then", more.Minutes, 150, 0},
		{"half-width now", now.HalfPct, 1.637744 * math.Sqrt(s2/4), 1e-5},
		{"half-width then", more.HalfPct, 1.396815 * math.Sqrt(s2/9), 1e-5},
		{"detectable now", now.DetectPct, detectable(t, 11, func(int) float64 { return year + s2/4 }), 1e-9},
		{"detectable then", more.DetectPct, detectable(t, 11, func(i int) float64 {
			if i < 6 {
				return year + s2/4 // past years keep their four frames
			}
			return year + s2/9
		}), 1e-9},
		{"detectable after more years", longer.DetectPct, detectable(t, 16, func(int) float64 { return year + s2/4 }), 1e-9},
	} {
		if !c.got.Valid || math.Abs(c.got.Float64-c.want) > c.tol {
			t.Errorf("%s: %+v, want %v", c.what, c.got, c.want)
		}
	}
	// The change is first seen in the year in which its power passes .80.
	n := int(now.MoreYears.Float64) + 6
	for _, p := range now.Curve {
		if (p.Years == n && p.Power < 0.8) || (p.Years == n-1 && p.Power >= 0.8) {
			t.Errorf("seen after %d years, power %+v", n, p)
		}
	}
	if len(now.Curve) == 0 || now.Curve[0].Years != 6 || !hasRemark(now.Remarks, "only-site") || !hasRemark(now.Remarks, "year-estimate") {
		t.Errorf("%+v", now)
	}
}

// detectable is the smallest slope seen by least squares in years 0 to n-1 whose
// values have these variances; the mean is 100.
func detectable(t *testing.T, n int, variance func(int) float64) float64 {
	t.Helper()
	mid := float64(n-1) / 2
	var squares, sum float64
	for i := range n {
		d := (float64(i) - mid) * (float64(i) - mid)
		squares += d
		sum += d * variance(i)
	}
	effect, ok := stat.DetectableEffect(0.1, 0.8, float64(n-2), nil)
	if !ok {
		t.Fatal("no effect")
	}
	return effect * math.Sqrt(sum) / squares
}

// A plan's half-width as now is the one of adequacy where every year is alike.
func TestPlanAgreesWithAdequacy(t *testing.T) {
	path := ledgertest.Path(t, plannedSiteRecords())
	now := rowOf(t, planOf(t, path, nil), "NEW", monitor.ChoiceNow)
	m := meanOf(t, path, 2011, "herbaceous")
	if want := m.HalfPct.Float64 * m.Mean.Float64 / 100; math.Abs(now.HalfPct.Float64-want) > 1e-9 {
		t.Errorf("%v, adequacy says %v", now.HalfPct.Float64, want)
	}
}

// Frames in place: the variances are those of the mixed model, and years that
// differ far more than frames make more frames useless.
func TestPlanOfFramesInPlace(t *testing.T) {
	r := ledgertest.Records{Sites: []schema.Site{{Site: "OLD", SamplingUnit: "frame", Placement: "same"}}}
	for i := range 10 {
		level := 200 + 60*math.Sin(float64(11*i))
		for f := range 12 {
			r.Clippings = append(r.Clippings, clipped("OLD", 2011+i, fmt.Sprint(f+1), level+20*math.Sin(float64(f))+6*math.Sin(float64(17*f+5*i))))
		}
	}
	path := ledgertest.Path(t, r)
	rows := planOf(t, path, nil)
	now, more := rowOf(t, rows, "OLD", monitor.ChoiceNow), rowOf(t, rows, "OLD", monitor.ChoiceFrames)
	if !strings.Contains(now.Conclusion, "More frames at OLD buy nothing for the trend: years differ more than frames do.") {
		t.Error(now.Conclusion)
	}
	series := trendsOf(t, path, monitor.Query{})
	model := series[0].Components
	want := detectable(t, 15, func(int) float64 { return model.YearVar + model.ResidualVar/12 }) * 100 / now.Mean.Float64
	if math.Abs(now.DetectPct.Float64-want) > 1e-9 || more.DetectPct.Float64 >= now.DetectPct.Float64 {
		t.Errorf("detectable %v, want %v; with more frames %v", now.DetectPct, want, more.DetectPct)
	}
}

// Many sites: more sites help the mean of a year; where years differ they help
// the trend little.
func TestPlanOfRegions(t *testing.T) {
	rows := planOf(t, ledgertest.Path(t, sixSites()), func(q *monitor.PlanQuery) { q.Hours = 12 })
	now, more := rowOf(t, rows, monitor.AllSites, monitor.ChoiceNow), rowOf(t, rows, monitor.AllSites, monitor.ChoiceSites)
	if now.Sites != 5 || more.Sites != 8 || !(more.HalfPct.Float64 < now.HalfPct.Float64) || !(more.DetectPct.Float64 < now.DetectPct.Float64) {
		t.Errorf("%+v\n%+v", now, more)
	}
	if now.Frames.Float64 != 20 || now.Minutes.Float64 != 5*100 || more.Minutes.Float64 != 8*100 {
		t.Errorf("%+v\n%+v", now, more)
	}
	low := rowOf(t, rows, "stratum Low", monitor.ChoiceNow)
	if !hasRemark(low.Remarks, "few-sites") || low.DetectPct.Valid || !low.HalfPct.Valid || !strings.Contains(low.Conclusion, "not known yet") {
		t.Errorf("%+v", low)
	}
	minutes := 0.0
	for _, r := range rows {
		if r.Choice == monitor.ChoiceBudget {
			minutes += r.Minutes.Float64
		}
	}
	if minutes == 0 || minutes > 12*60 {
		t.Errorf("%v minutes of a budget of 12 hours", minutes)
	}
}

// Odd records: rows with remarks, never a crash.
func TestPlanOfOddRecords(t *testing.T) {
	site := func(unit string) []schema.Site { return []schema.Site{{Site: "X", SamplingUnit: unit}} }
	frames := func(years, n int, value func(i, f int) float64) []schema.Clipping {
		var out []schema.Clipping
		for i := range years {
			for f := range n {
				out = append(out, clipped("X", 2011+i, fmt.Sprint(f+1), value(i, f)))
			}
		}
		return out
	}
	uneven := func(i, f int) float64 { return 50 + 10*math.Sin(float64(3*i+7*f)) }
	lines := frames(6, 6, uneven)
	for i := range lines {
		lines[i].Transect = fmt.Sprint(i % 3)
	}
	apart := frames(6, 4, uneven)
	for _, c := range frames(6, 3, uneven) {
		c.Component, c.FrameType, c.Frame = schema.Browse, "40 m2", "B"+c.Frame
		apart = append(apart, c)
	}
	for _, c := range []struct {
		name, code string
		records    ledgertest.Records
		rows       int // of the site
	}{
		{"two years", "years-unknown", ledgertest.Records{Sites: site("frame"), Clippings: frames(2, 5, uneven)}, 3},
		{"all zero", "all-zero", ledgertest.Records{Sites: site("frame"), Clippings: frames(6, 5, func(int, int) float64 { return 0 })}, 1},
		{"one frame", "no-spread", ledgertest.Records{Sites: site("frame"), Clippings: frames(6, 1, uneven)}, 1},
		{"all alike", "no-spread", ledgertest.Records{Sites: site("frame"), Clippings: frames(6, 5, func(int, int) float64 { return 7 })}, 1},
		{"years alike", "year-zero", ledgertest.Records{Sites: site("frame"), Clippings: frames(6, 5, func(_, f int) float64 { return 50 + 10*float64(f) })}, 3},
		{"transects", "year-estimate", ledgertest.Records{Sites: site("transect"), Clippings: lines}, 4},
		{"parts on frames of their own", "year-estimate", ledgertest.Records{Sites: site("frame"), Clippings: apart}, 6},
	} {
		rows := planOf(t, ledgertest.Path(t, c.records), func(q *monitor.PlanQuery) { q.Hours = 1 })
		n := 0
		found := false
		for _, r := range rows {
			if r.Choice != monitor.ChoiceBudget {
				n++
			}
			found = found || hasRemark(r.Remarks, c.code)
		}
		if n != c.rows || !found {
			t.Errorf("%s: %d rows, want %d; remark %s: %v; %+v", c.name, n, c.rows, c.code, found, rows[0])
		}
	}
	if rows := planOf(t, ledgertest.Path(t, ledgertest.Records{Sites: site("frame")}), nil); len(rows) != 0 {
		t.Errorf("rows without records: %+v", rows[0])
	}
}
