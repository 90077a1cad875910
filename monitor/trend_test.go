package monitor_test

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"clipledger/monitor"
	"clipledger/monitor/stat"
	"clipledger/schema"
	"clipledger/schema/ledgertest"
)

// clipped makes one record: a frame of 1 m² in a year.
func clipped(site string, year int, frame string, dry float64) schema.Clipping {
	return schema.Clipping{Site: site, Year: year, Frame: frame, FrameType: "1 m2", Component: schema.Herbaceous, DryG: schema.Some(dry)}
}

// yearly makes a site's records: three frames a year about each mean; a
// negative mean leaves the year out.
func yearly(site string, first int, means ...float64) []schema.Clipping {
	var out []schema.Clipping
	for i, m := range means {
		for f, shift := range []float64{-0.1, 0, 0.1} {
			if m >= 0 {
				out = append(out, clipped(site, first+i, fmt.Sprint(f+1), m*(1+shift)))
			}
		}
	}
	return out
}

// rainYears makes the rain of April to July: the year's total in even parts,
// its other months dry. A negative total leaves June out.
func rainYears(station string, first int, totals ...float64) []schema.Rain {
	var out []schema.Rain
	for i, mm := range totals {
		for month := 4; month <= 7; month++ {
			if mm >= 0 || month != 6 {
				out = append(out, schema.Rain{Station: station, Year: first + i, Month: month, RainMM: math.Abs(mm) / 4})
			}
		}
	}
	return out
}

func trendsOf(t *testing.T, path string, q monitor.Query) []*monitor.Series {
	t.Helper()
	var out []*monitor.Series
	ledgertest.Read(t, path, func(s *schema.Snapshot) error {
		return monitor.Trends(s, q, func(s *monitor.Series) error {
			out = append(out, s)
			return nil
		})
	})
	for _, s := range out {
		soundSeries(t, s)
	}
	return out
}

// herbaceousOf is the one series of a site's herbaceous growth.
func herbaceousOf(t *testing.T, r ledgertest.Records) *monitor.Series {
	t.Helper()
	all := trendsOf(t, ledgertest.Path(t, r), monitor.Query{Filter: monitor.Filter{Components: []string{"herbaceous"}}})
	if len(all) != 1 {
		t.Fatalf("%d series, want 1", len(all))
	}
	return all[0]
}

// soundSeries holds what every answer must be: no NaN, a verdict of ols, no
// "no trend detected" that does not say what could have been, or why not.
func soundSeries(t *testing.T, s *monitor.Series) {
	t.Helper()
	what := fmt.Sprintf("%s %s %s", s.Site.Site, s.Season, s.Component)
	ols := s.Trend(monitor.MethodOLS)
	if ols == nil || s.Trends[0].Method != monitor.MethodOLS || s.Sentence == "" {
		t.Fatalf("%s: no ols or no sentence: %+v", what, s.Trends)
	}
	for _, v := range s.Trends {
		for name, n := range map[string]monitor.Num{"slope": v.Slope, "se": v.SE, "low": v.CI.Low, "high": v.CI.High, "pct": v.SlopePct, "statistic": v.Statistic, "df": v.DF, "p": v.P, "min": v.MinDetectable} {
			if math.IsNaN(n.Float64) || math.IsInf(n.Float64, 0) {
				t.Errorf("%s %s: %s is %v", what, v.Method, name, n.Float64)
			}
		}
		if v.Method == monitor.MethodOLS && v.Verdict == monitor.NoTrend && !v.MinDetectable.Valid && !has(v.Remarks, "all-equal") {
			t.Errorf("%s: no trend detected, without the smallest that could have been", what)
		}
	}
	if strings.Contains(s.Sentence, "NaN") || strings.Contains(s.Sentence, "Inf") || !strings.HasSuffix(s.Sentence, ".") {
		t.Errorf("%s: %s", what, s.Sentence)
	}
}

func has(list []monitor.Remark, code string) bool {
	return slices.ContainsFunc(list, func(r monitor.Remark) bool { return r.Code == code })
}

// textOf is the text of a remark, or "".
func textOf(list []monitor.Remark, code string) string {
	for _, r := range list {
		if r.Code == code {
			return r.Text
		}
	}
	return ""
}

func TestTrendOfASeries(t *testing.T) {
	t.Parallel()
	// EPA 530/R-09-007 (2009) Example 17-7, on years in place of fractions of
	// them: S and its p do not depend on the spacing.
	y := []float64{56, 53, 51, 55, 52, 60, 62, 59, 61, 63}
	s := herbaceousOf(t, ledgertest.Records{Clippings: yearly("A", 2001, y...)})
	x := make([]float64, len(y))
	for i := range x {
		x[i] = float64(2001 + i)
	}
	fit, _ := stat.LeastSquares(y, x)
	ols, ranks := s.Trend("ols"), s.Trend("theil-sen")
	closeTo(t, "slope", ols.Slope, fit.Slopes[0].Estimate)
	closeTo(t, "slope in percent", ols.SlopePct, 100*fit.Slopes[0].Estimate/57.2)
	closeTo(t, "per decade", ols.PerDecade(), 10*fit.Slopes[0].Estimate)
	if ols.Verdict != monitor.Increasing || ols.DF.Float64 != 8 {
		t.Errorf("%+v", ols)
	}
	if ranks.Statistic.Float64 != 25 || !ranks.PExact || math.Abs(ranks.P.Float64-0.0286095) > 1e-7 || ranks.Verdict != monitor.Increasing {
		t.Errorf("%+v", ranks)
	}
	if s.Trend("ols-rain") != nil || s.Trend("mixed") != nil {
		t.Error("rain or mixed without station and placement")
	}
	if want := "Herbaceous growth rose 2.0 % a year (p = 0.007); whether rain explains it cannot be said: the site declares no rain station."; s.Sentence != want {
		t.Errorf("%s\nwant %s", s.Sentence, want)
	}
}

func closeTo(t *testing.T, what string, got monitor.Num, want float64) {
	t.Helper()
	if !got.Valid || math.Abs(got.Float64-want) > 1e-9*math.Max(1, math.Abs(want)) {
		t.Errorf("%s: %v, want %v", what, got, want)
	}
}

func TestTrendDetectable(t *testing.T) {
	t.Parallel()
	s := herbaceousOf(t, ledgertest.Records{Clippings: yearly("A", 2001, 50, 54, 49, 53, 50)})
	ols := s.Trend("ols")
	var tt stat.TTable
	effect, _ := stat.DetectableEffect(0.1, 0.8, 3, &tt)
	closeTo(t, "smallest detectable", ols.MinDetectable, effect*ols.SE.Float64)
	if ols.Verdict != monitor.NoTrend || !strings.Contains(s.Sentence, "would have been found four times in five") {
		t.Errorf("%s: %s", ols.Verdict, s.Sentence)
	}
	// α is 1 - confidence.
	strict := trendsOf(t, ledgertest.Path(t, ledgertest.Records{Clippings: yearly("A", 2001, 50, 56, 53, 60, 58, 61)}), monitor.Query{Confidence: 0.999})
	loose := trendsOf(t, ledgertest.Path(t, ledgertest.Records{Clippings: yearly("A", 2001, 50, 56, 53, 60, 58, 61)}), monitor.Query{Confidence: 0.9})
	if a, b := strict[0].Trend("ols").Verdict, loose[0].Trend("ols").Verdict; a != monitor.NoTrend || b != monitor.Increasing {
		t.Errorf("%q at .001, %q at .10", a, b)
	}
}

func TestTrendTooFewYears(t *testing.T) {
	t.Parallel()
	for n, want := range []string{"", "1 year with values", "2 years with values", "3 years with values", "4 years with values"} {
		if n == 0 {
			continue
		}
		s := herbaceousOf(t, ledgertest.Records{Clippings: yearly("A", 2001, []float64{50, 40, 45, 30}[:n]...)})
		ols := s.Trend("ols")
		if ols.Verdict != monitor.TooFewYears || ols.P.Valid || ols.Slope.Valid != (n >= 3) || !strings.Contains(s.Sentence, want) {
			t.Errorf("%d years: %+v\n%s", n, ols, s.Sentence)
		}
		if !strings.Contains(textOf(s.Remarks, "too-few-years"), want) {
			t.Errorf("%d years: %v", n, s.Remarks)
		}
	}
	// Bags that are all lost: no value at all.
	lost := clipped("A", 2001, "1", 0)
	lost.DryG, lost.Status = schema.Num{}, schema.StatusLost
	s := herbaceousOf(t, ledgertest.Records{Clippings: []schema.Clipping{lost}})
	if s.Sentence != "Herbaceous growth: no year has a value." || s.Years[0].LeftOut == "" {
		t.Errorf("%s, %+v", s.Sentence, s.Years[0])
	}
}

func TestTrendGaps(t *testing.T) {
	t.Parallel()
	s := herbaceousOf(t, ledgertest.Records{Clippings: yearly("A", 2001, 10, 12, -1, -1, -1, 19, 23, -1, 27)})
	x, y := []float64{2001, 2002, 2006, 2007, 2009}, []float64{10, 12, 19, 23, 27}
	fit, _ := stat.LeastSquares(y, x)
	closeTo(t, "slope over the gaps", s.Trend("ols").Slope, fit.Slopes[0].Estimate)
	if text := textOf(s.Remarks, "gaps"); !strings.Contains(text, "2003–2005, 2008") {
		t.Errorf("gaps: %q", text)
	}
	if s.Autocorrelation != nil {
		t.Errorf("two pairs of years in a row are judged: %+v", s.Autocorrelation)
	}
}

func TestTrendWithoutSpread(t *testing.T) {
	t.Parallel()
	equal := herbaceousOf(t, ledgertest.Records{Clippings: yearly("A", 2001, 20, 20, 20, 20, 20, 20)})
	ols, ranks := equal.Trend("ols"), equal.Trend("theil-sen")
	if ols.Verdict != monitor.NoTrend || ols.P.Valid || ols.Slope.Float64 != 0 || !ols.Slope.Valid || !has(ols.Remarks, "all-equal") {
		t.Errorf("all equal: %+v", ols)
	}
	if ranks.Verdict != monitor.NoTrend || ranks.P.Float64 != 1 || ranks.Statistic.Float64 != 0 {
		t.Errorf("all equal, ranks: %+v", ranks)
	}
	if !strings.Contains(equal.Sentence, "the same value in each of 6 years") {
		t.Error(equal.Sentence)
	}
	zero := herbaceousOf(t, ledgertest.Records{Clippings: yearly("A", 2001, 0, 0, 0, 0, 0)})
	if v := zero.Trend("ols"); v.Verdict != monitor.NoTrend || v.SlopePct.Valid || !has(zero.Remarks, "all-zero") {
		t.Errorf("all zero: %+v %v", v, zero.Remarks)
	}
	if zero.Sentence != "Herbaceous growth: nothing was found in any of 5 years." {
		t.Error(zero.Sentence)
	}
	line := herbaceousOf(t, ledgertest.Records{Clippings: yearly("A", 2001, 50, 45, 40, 35, 30)})
	if v := line.Trend("ols"); v.Verdict != monitor.Decreasing || v.Statistic.Valid || v.P.Float64 != 0 || !has(v.Remarks, "exact-line") {
		t.Errorf("a line: %+v", v)
	}
	if !strings.HasPrefix(line.Sentence, "Herbaceous growth fell 12.5 % a year;") {
		t.Error(line.Sentence)
	}
}

func TestTrendOneFrame(t *testing.T) {
	t.Parallel()
	var rows []schema.Clipping
	for i, dry := range []float64{30, 28, 29, 22, 21, 20} {
		rows = append(rows, clipped("A", 2001+i, "1", dry))
	}
	for _, placement := range []string{"new", "same"} {
		s := herbaceousOf(t, ledgertest.Records{Sites: []schema.Site{{Site: "A", Placement: placement}}, Clippings: rows})
		if v := s.Trend("ols"); v.Verdict != monitor.Decreasing || s.Trend("mixed") != nil {
			t.Errorf("%s: %+v", placement, s.Trends)
		}
		if text := textOf(s.Remarks, "one-unit-years"); !strings.Contains(text, "in 6 of 6 years") {
			t.Errorf("%s: %q", placement, text)
		}
	}
}

func TestTrendOtherSeasons(t *testing.T) {
	t.Parallel()
	rows := yearly("A", 2001, 50, 48, 52, 47, 45)
	seasons := []string{"spring", "peak", "fall", "summer", "winter"}
	for i := range rows {
		rows[i].Season = seasons[rows[i].Year-2001]
	}
	all := trendsOf(t, ledgertest.Path(t, ledgertest.Records{Clippings: rows}), monitor.Query{Filter: monitor.Filter{Components: []string{"herbaceous"}}})
	if len(all) != 5 {
		t.Fatalf("%d series, want one a season", len(all))
	}
	for _, s := range all {
		if s.Trend("ols").Verdict != monitor.TooFewYears || strings.Count(textOf(s.Remarks, "other-seasons"), "(20") != 4 {
			t.Errorf("%s: %v", s.Season, s.Remarks)
		}
	}
}

func TestTrendLeavesOutTotalsWithoutAPart(t *testing.T) {
	t.Parallel()
	rows := yearly("A", 2001, 50, 51, 49, 50, 52, 48)
	for _, r := range yearly("A", 2003, 20, 21, 19, 20) {
		r.Component = schema.Browse
		rows = append(rows, r)
	}
	both := schema.Herbaceous.Bit() | schema.Browse.Bit()
	for i := range rows {
		rows[i].ComponentsSampled = both
		if rows[i].Year < 2003 {
			rows[i].ComponentsSampled = schema.Herbaceous.Bit()
		}
	}
	all := trendsOf(t, ledgertest.Path(t, ledgertest.Records{Clippings: rows}), monitor.Query{Filter: monitor.Filter{Components: []string{"production"}}})
	ols := all[0].Trend("ols")
	if len(all) != 1 || !slices.Equal(ols.YearsUsed, []int{2003, 2004, 2005, 2006}) || ols.Verdict != monitor.TooFewYears {
		t.Errorf("years used: %v", ols.YearsUsed)
	}
	if text := textOf(all[0].Remarks, "part-absent"); !strings.Contains(text, "2001, 2002") {
		t.Errorf("%v", all[0].Remarks)
	}
}

func TestTrendEventsAndTransects(t *testing.T) {
	t.Parallel()
	r := ledgertest.Records{Sites: []schema.Site{{Site: "A", Stratum: "Low", YearStartMonth: 10}, {Site: "B", Stratum: "High"}},
		Clippings: append(yearly("A", 2001, 50, 48, 52, 47, 45), yearly("B", 2001, 1, 2, 3)...),
		Transects: []schema.TransectPlace{{Site: "A", Transect: "1", Latitude: schema.Some(44), Longitude: schema.Some(-150)}},
		Events: []schema.Event{{Site: "A", Start: "2003-05-01", Kind: "fire"}, {Stratum: "Low", Start: "2000-10-02", End: "2000-11-01", Kind: "grazing"},
			{Site: "A", Start: "2000-09-30", Kind: "flood"}, {Site: "B", Start: "2003-05-01", Kind: "spraying"}, {Stratum: "High", Start: "2002-05-01", Kind: "grazing"},
			{Site: "A", Start: "1999-01-01", End: "2001-01-01", Kind: "rest"}, {Site: "A", Start: "2005-10-01", Kind: "late"}}}
	all := trendsOf(t, ledgertest.Path(t, r), monitor.Query{Filter: monitor.Filter{Sites: []string{"A"}, Components: []string{"herbaceous"}}})
	var kinds []string
	for _, e := range all[0].Events {
		kinds = append(kinds, e.Kind)
	}
	if !slices.Equal(kinds, []string{"rest", "grazing", "fire"}) {
		t.Errorf("events %v, want those of growth years 2001 to 2005", kinds)
	}
	if text := textOf(all[0].Remarks, "event"); !strings.Contains(text, "rest at A, 1999-01-01 to 2001-01-01") {
		t.Errorf("%q", text)
	}
	if len(all[0].Transects) != 1 {
		t.Errorf("transects: %v", all[0].Transects)
	}
}

func TestTrendCarriesWhatYearsSay(t *testing.T) {
	t.Parallel()
	rows := yearly("A", 2001, 50, 48, 52, 47, 45, 51)
	for i := range rows {
		rows[i].EdgeRule = "rooted"
		if rows[i].Year > 2003 {
			rows[i].EdgeRule = "vertical"
			rows[i].FrameType = "2 m2"
		}
		if rows[i].Year == 2002 && rows[i].Frame == "1" {
			rows[i].DryG = schema.Some(200)
		}
	}
	s := herbaceousOf(t, ledgertest.Records{Clippings: rows})
	if text := textOf(s.Remarks, "inadequate-years"); !strings.Contains(text, "in 1 of 6 years") || !strings.HasSuffix(text, ": 2002") {
		t.Errorf("inadequate: %q", text)
	}
	if !has(s.Remarks, "edge-rule-changed") || !has(s.Remarks, "frame-changed") {
		t.Errorf("%v", s.Remarks)
	}
	// Changes outside the years that are looked at are not theirs.
	later := trendsOf(t, ledgertest.Path(t, ledgertest.Records{Clippings: rows}), monitor.Query{Filter: monitor.Filter{Components: []string{"herbaceous"}, FirstYear: 2004}})
	if has(later[0].Remarks, "edge-rule-changed") {
		t.Errorf("%v", later[0].Remarks)
	}
}

func TestTrendCagingChanged(t *testing.T) {
	t.Parallel()
	rows := yearly("A", 2001, 50, 48, 52, 47, 45, 51)
	for i := range rows {
		rows[i].Caged = rows[i].Year < 2004
	}
	s := herbaceousOf(t, ledgertest.Records{Clippings: rows})
	if text := textOf(s.Remarks, "caging-changed"); !strings.Contains(text, "caged frames in 2001–2003 and of open ones in 2004–2006") {
		t.Errorf("%v", s.Remarks)
	}
}

// The same numbers for many sites at once as for one alone, in order.
func TestTrendsOfManySites(t *testing.T) {
	t.Parallel()
	rng := rand.New(rand.NewPCG(3, 9))
	var r ledgertest.Records
	const sites = 150 // more than are worked out ahead
	for i := range sites {
		site := fmt.Sprintf("S%03d", i)
		r.Sites = append(r.Sites, schema.Site{Site: site, Placement: "same", SamplingUnit: "frame"})
		for year := range 6 {
			for f := range 3 {
				if f == 0 && year == i%6 {
					continue
				}
				r.Clippings = append(r.Clippings, clipped(site, 2001+year, fmt.Sprint(f), math.Round(100+20*rng.NormFloat64()+10*float64(f))))
			}
		}
	}
	path := ledgertest.Path(t, r)
	all := trendsOf(t, path, monitor.Query{Filter: monitor.Filter{Components: []string{"herbaceous"}}})
	if len(all) != sites {
		t.Fatalf("%d series", len(all))
	}
	for i, s := range all {
		if s.Site.Site != fmt.Sprintf("S%03d", i) {
			t.Fatalf("place %d holds %s", i, s.Site.Site)
		}
	}
	for _, i := range []int{0, 77, 149} {
		alone := trendsOf(t, path, monitor.Query{Filter: monitor.Filter{Sites: []string{all[i].Site.Site}, Components: []string{"herbaceous"}}})[0]
		for k := range alone.Trends {
			if a, b := alone.Trends[k], all[i].Trends[k]; a.Slope != b.Slope || a.P != b.P || a.Verdict != b.Verdict {
				t.Errorf("%s %s: %+v alone, %+v among others", alone.Site.Site, a.Method, a, b)
			}
		}
		if !alone.FrameAdjusted {
			t.Errorf("%s is not frame-adjusted", alone.Site.Site)
		}
	}
	stop := fmt.Errorf("enough")
	ledgertest.Read(t, path, func(snap *schema.Snapshot) error {
		n := 0
		err := monitor.Trends(snap, monitor.Query{}, func(*monitor.Series) error {
			if n++; n == 5 {
				return stop
			}
			return nil
		})
		if !errors.Is(err, stop) || n != 5 {
			t.Errorf("an error of the receiver: %v after %d", err, n)
		}
		return nil
	})
}

func TestTrendMethodsDisagreeAndAutocorrelation(t *testing.T) {
	t.Parallel()
	// One wild year hides a rise that nearly every pair of years shows.
	s := herbaceousOf(t, ledgertest.Records{Clippings: yearly("A", 2001, 90, 31, 32, 33, 34, 35, 36, 37, 38, 39)})
	if v := s.Trend("ols").Verdict; v == s.Trend("theil-sen").Verdict || !has(s.Remarks, "methods-disagree") {
		t.Errorf("%s, %v", v, s.Remarks)
	}
	// A slow wave: good years follow good years.
	var wave []float64
	for i := range 20 {
		wave = append(wave, 50+20*math.Sin(float64(i)/20*2*math.Pi*1.5))
	}
	s = herbaceousOf(t, ledgertest.Records{Clippings: yearly("A", 2001, wave...)})
	if s.Autocorrelation == nil || s.Autocorrelation.R < 0.5 || s.Autocorrelation.Pairs != 19 || !has(s.Remarks, "autocorrelation") {
		t.Errorf("%+v, %v", s.Autocorrelation, s.Remarks)
	}
}
