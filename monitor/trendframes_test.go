package monitor_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"clipledger/monitor"
	"clipledger/monitor/stat"
	"clipledger/schema"
	"clipledger/schema/ledgertest"
)

// permanent makes the records of frames that stay in place: level of the frame
// plus effect of the year plus noise. lost leaves frames out.
func permanent(levels, years []float64, noise float64, lost func(frame, year int) bool) []schema.Clipping {
	rng := rand.New(rand.NewPCG(4, 4))
	var out []schema.Clipping
	for y, effect := range years {
		for f, level := range levels {
			v := level + effect + noise*rng.NormFloat64()
			if !lost(f, y) {
				out = append(out, clipped("A", 2001+y, fmt.Sprint(f+1), math.Round(1e6*v)/1e6))
			}
		}
	}
	return out
}

func never(int, int) bool { return false }

func samePlaces(unit string) []schema.Site {
	return []schema.Site{{Site: "A", Placement: "same", SamplingUnit: unit}}
}

// A heavy frame that is lost from year 4 on makes a trend of plain means, and
// none of frame-adjusted ones.
func TestTrendHeavyFrameLost(t *testing.T) {
	t.Parallel()
	levels := []float64{20, 25, 30, 22, 28, 200}
	years := []float64{10, 14, 9, 13, 10, 12, 11, 13}
	rows := permanent(levels, years, 0, func(f, y int) bool { return f == 5 && y >= 3 })
	s := herbaceousOf(t, ledgertest.Records{Sites: samePlaces("frame"), Clippings: rows})
	level := 0.0
	for _, l := range levels {
		level += l / 6
	}
	for i, y := range s.Years {
		closeTo(t, fmt.Sprintf("year %d", y.Year), y.Value, level+years[i])
	}
	if v := s.Trend("ols"); !s.FrameAdjusted || v.Verdict != monitor.NoTrend || !has(s.Remarks, "frame-adjusted") || !has(s.Remarks, "same-spot") {
		t.Errorf("%+v %v", v, s.Remarks)
	}
	// Undeclared, the frames are new each time and are not adjusted.
	plain := herbaceousOf(t, ledgertest.Records{Clippings: rows})
	if v := plain.Trend("ols"); plain.FrameAdjusted || v.Verdict != monitor.Decreasing || plain.Trend("mixed") != nil {
		t.Errorf("%+v", v)
	}
	closeTo(t, "the plain mean", plain.Years[7].Value, 25+13)
}

func TestTrendCompleteFramesAreNotAdjusted(t *testing.T) {
	t.Parallel()
	s := herbaceousOf(t, ledgertest.Records{Sites: samePlaces("frame"), Clippings: permanent([]float64{20, 40, 60}, []float64{5, 9, 4, 8, 3, 2}, 3, never)})
	if s.FrameAdjusted || has(s.Remarks, "frame-adjusted") {
		t.Errorf("%v", s.Remarks)
	}
	for _, y := range s.Years {
		closeTo(t, "value", y.Value, y.Mean.Mean.Float64)
	}
}

// With transects as units every transect counts alike in the level.
func TestTrendAdjustedOverTransects(t *testing.T) {
	t.Parallel()
	rows := permanent([]float64{10, 20, 60}, []float64{1, 5, 2, 6, 3}, 0, func(f, y int) bool { return f == 0 && y == 4 })
	for i := range rows {
		rows[i].Transect = map[string]string{"1": "T1", "2": "T1", "3": "T2"}[rows[i].Frame]
	}
	s := herbaceousOf(t, ledgertest.Records{Sites: samePlaces("transect"), Clippings: rows})
	// (10 + 20)/2 in T1, 60 in T2.
	for i, effect := range []float64{1, 5, 2, 6, 3} {
		closeTo(t, fmt.Sprintf("year %d", i), s.Years[i].Value, (15+60)/2.0+effect)
	}
}

func TestTrendFramesThatShareNoYear(t *testing.T) {
	t.Parallel()
	rows := permanent([]float64{20, 30, 90, 95}, []float64{1, 5, 2, 6, 3, 4}, 1, func(f, y int) bool { return (f < 2) != (y < 3) })
	s := herbaceousOf(t, ledgertest.Records{Sites: samePlaces("frame"), Clippings: rows})
	if s.FrameAdjusted || !has(s.Remarks, "not-frame-adjusted") {
		t.Errorf("%v", s.Remarks)
	}
}

// A total of components on frames of their own takes the adjusted values of
// its parts.
func TestTrendAdjustedTotal(t *testing.T) {
	t.Parallel()
	years := []float64{10, 14, 9, 13, 10, 12}
	rows := permanent([]float64{20, 30, 200}, years, 0, func(f, y int) bool { return f == 2 && y > 2 })
	for _, r := range permanent([]float64{50, 70}, []float64{3, 1, 2, 4, 2, 3}, 0, never) {
		r.Frame, r.FrameType, r.Component, r.Season = "P"+r.Frame, "40 m2", schema.Browse, "fall"
		r.DryG.Float64 *= 40
		rows = append(rows, r)
	}
	all := trendsOf(t, ledgertest.Path(t, ledgertest.Records{Sites: samePlaces("frame"), Clippings: rows}), monitor.Query{Filter: monitor.Filter{Components: []string{"production"}}})
	if len(all) != 1 || all[0].Season != "peak+fall" || !all[0].FrameAdjusted {
		t.Fatalf("%+v", all)
	}
	for i, browse := range []float64{63, 61, 62, 64, 62, 63} {
		closeTo(t, fmt.Sprintf("year %d", i), all[0].Years[i].Value, 250.0/3+years[i]+browse)
	}
}

// The mixed model's row is that of monitor/stat on the same frames, and its
// balanced answer that of the yearly series.
func TestTrendMixed(t *testing.T) {
	t.Parallel()
	levels, years := []float64{20, 40, 60, 35}, []float64{5, 19, 4, 28, 33, 12, 40}
	lost := func(f, y int) bool { return f == 1 && y == 2 || f == 3 && y == 5 }
	rows := permanent(levels, years, 3, lost)
	s := herbaceousOf(t, ledgertest.Records{Sites: samePlaces("frame"), Clippings: rows})
	var y []float64
	var frame, year []int
	for _, r := range rows {
		y = append(y, r.DryG.Float64)
		frame, year = append(frame, int(r.Frame[0]-'1')), append(year, r.Year)
	}
	want, err := stat.FrameYearTrend(y, frame, year)
	if err != nil || want.YearSingular {
		t.Fatalf("%+v, %v", want, err)
	}
	v := s.Trend("mixed")
	for what, c := range map[string][2]float64{"slope": {v.Slope.Float64, want.Slope}, "se": {v.SE.Float64, want.SE}, "df": {v.DF.Float64, want.DF}, "p": {v.P.Float64, want.P}, "t": {v.Statistic.Float64, want.T}} {
		if math.Abs(c[0]-c[1]) > 1e-6*math.Abs(c[1]) {
			t.Errorf("%s: %v, want %v", what, c[0], c[1])
		}
	}
	if s.Components == nil || s.Components.YearVar <= 0 {
		t.Errorf("components: %+v", s.Components)
	}
	balanced := herbaceousOf(t, ledgertest.Records{Sites: samePlaces("frame"), Clippings: permanent(levels, years, 3, never)})
	ols, mixed := balanced.Trend("ols"), balanced.Trend("mixed")
	if math.Abs(ols.P.Float64-mixed.P.Float64) > 1e-6 || math.Abs(ols.Slope.Float64-mixed.Slope.Float64) > 1e-6 {
		t.Errorf("balanced: ols %+v, mixed %+v", ols, mixed)
	}
}

// Years that do not differ beside their frames: the yearly series speaks, with
// T - 2 degrees of freedom.
func TestTrendMixedSingular(t *testing.T) {
	t.Parallel()
	levels := []float64{20, 40, 60, 35, 28, 44, 51, 33}
	// Noise that cancels within every year.
	noise := func(f, y int) float64 { return 5 * []float64{1, -1, 2, -2, 3, -3, 1.5, -1.5}[(f+3*y)%8] }
	var rows []schema.Clipping
	for y := range 7 {
		for f, l := range levels {
			rows = append(rows, clipped("A", 2001+y, fmt.Sprint(f+1), l+noise(f, y)+0.05*float64(y%2)))
		}
	}
	s := herbaceousOf(t, ledgertest.Records{Sites: samePlaces("frame"), Clippings: rows})
	ols, mixed := s.Trend("ols"), s.Trend("mixed")
	if s.Components == nil || !s.Components.YearSingular {
		t.Fatalf("the year variance is not singular: %+v", s.Components)
	}
	if mixed.P != ols.P || mixed.DF.Float64 != 5 || mixed.Slope != ols.Slope || !has(mixed.Remarks, "mixed-singular") {
		t.Errorf("ols %+v, mixed %+v", ols, mixed)
	}
}

// Frames without any spread beside the years: the mixed model has no answer,
// and says so.
func TestTrendMixedWithoutAnswer(t *testing.T) {
	t.Parallel()
	s := herbaceousOf(t, ledgertest.Records{Sites: samePlaces("frame"), Clippings: permanent([]float64{20, 40, 60}, []float64{5, 9, 4, 8, 3, 2}, 0, never)})
	if v := s.Trend("mixed"); v == nil || v.Verdict != "" || v.Slope.Valid || !has(v.Remarks, "mixed-no-answer") {
		t.Errorf("%+v", v)
	}
}

// The same answers whatever the order of the rows.
func TestTrendRowOrder(t *testing.T) {
	t.Parallel()
	rows := permanent([]float64{20, 40, 60, 35}, []float64{5, 19, 4, 28, 33, 12, 40}, 3, func(f, y int) bool { return f == 1 && y == 2 })
	first := herbaceousOf(t, ledgertest.Records{Sites: samePlaces("frame"), Clippings: rows})
	rng := rand.New(rand.NewPCG(1, 1))
	rng.Shuffle(len(rows), func(i, j int) { rows[i], rows[j] = rows[j], rows[i] })
	again := herbaceousOf(t, ledgertest.Records{Sites: samePlaces("frame"), Clippings: rows})
	for i := range first.Trends {
		a, b := first.Trends[i], again.Trends[i]
		if a.Slope != b.Slope || a.P != b.P || a.MinDetectable != b.MinDetectable {
			t.Errorf("%s: %+v, then %+v", a.Method, a, b)
		}
	}
}
