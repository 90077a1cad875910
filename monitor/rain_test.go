package monitor_test

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"clipledger/monitor"
	"clipledger/monitor/stat"
	"clipledger/schema"
	"clipledger/schema/ledgertest"
)

func TestRainWindowMonths(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		window      string
		start       int
		first, last schema.Month
		n           int
	}{
		{"4-7", 1, schema.Month{Year: 2020, Month: 4}, schema.Month{Year: 2020, Month: 7}, 4},
		{"10-6", 1, schema.Month{Year: 2019, Month: 10}, schema.Month{Year: 2020, Month: 6}, 9},
		{"5-5", 1, schema.Month{Year: 2020, Month: 5}, schema.Month{Year: 2020, Month: 5}, 1},
		{"1-12", 1, schema.Month{Year: 2020, Month: 1}, schema.Month{Year: 2020, Month: 12}, 12},
		{"12-12", 1, schema.Month{Year: 2020, Month: 12}, schema.Month{Year: 2020, Month: 12}, 1},
		// The growth year from October 2019 to September 2020.
		{"10-4", 10, schema.Month{Year: 2019, Month: 10}, schema.Month{Year: 2020, Month: 4}, 7},
		{"11-12", 10, schema.Month{Year: 2019, Month: 11}, schema.Month{Year: 2019, Month: 12}, 2},
		{"4-7", 10, schema.Month{Year: 2020, Month: 4}, schema.Month{Year: 2020, Month: 7}, 4},
		{"10-9", 10, schema.Month{Year: 2019, Month: 10}, schema.Month{Year: 2020, Month: 9}, 12},
		// From July 2019 to June 2020, south of the equator.
		{"9-11", 7, schema.Month{Year: 2019, Month: 9}, schema.Month{Year: 2019, Month: 11}, 3},
		{"10-3", 7, schema.Month{Year: 2019, Month: 10}, schema.Month{Year: 2020, Month: 3}, 6},
	} {
		w, ok := monitor.ParseRainWindow(c.window)
		months := w.Months(2020, c.start)
		if !ok || len(months) != c.n || months[0] != c.first || months[len(months)-1] != c.last || w.String() != c.window {
			t.Errorf("%s from month %d: %v", c.window, c.start, months)
		}
	}
	for _, bad := range []string{"", "4", "0-3", "4-13", "a-b", "4-7-9"} {
		if w, ok := monitor.ParseRainWindow(bad); ok {
			t.Errorf("%q is the window %v", bad, w)
		}
	}
}

// rainySite declares station and months of a site.
func rainySite(months string) []schema.Site {
	return []schema.Site{{Site: "A", Station: "GAUGE", RainMonths: months}}
}

// The made-up series of twelve years, its joint regression computed in R.
var (
	productionWithRain = []float64{820, 610, 1040, 520, 700, 905, 640, 1100, 500, 800, 560, 690}
	rainOfThem         = []float64{12.1, 9.4, 15.2, 7.8, 11.0, 13.6, 10.2, 16.8, 8.5, 12.9, 9.9, 11.7}
)

func TestTrendWithRain(t *testing.T) {
	t.Parallel()
	// The station began two years before the clipping.
	rain := append(rainYears("GAUGE", 2008, 30, 20), rainYears("GAUGE", 2010, rainOfThem...)...)
	s := herbaceousOf(t, ledgertest.Records{Sites: rainySite("4-7"), Clippings: yearly("A", 2010, productionWithRain...), Rain: rain})
	v := s.Trend("ols-rain")
	if math.Abs(v.Slope.Float64+9.9039518) > 1e-6 || math.Abs(v.SE.Float64-1.2114334) > 1e-6 || v.DF.Float64 != 9 || v.Verdict != monitor.Decreasing {
		t.Errorf("%+v", v)
	}
	r := s.Rain
	closeTo(t, "change", r.Change, r.Alone.Float64-r.Held.Float64)
	closeTo(t, "held", r.Held, v.Slope.Float64)
	closeTo(t, "alone", r.Alone, s.Trend("ols").Slope.Float64)
	x := make([]float64, 12)
	for i := range x {
		x[i] = float64(i)
	}
	correlation, _ := stat.Correlation(x, rainOfThem)
	closeTo(t, "correlation", r.Correlation, correlation)
	sum := 50.0
	for _, mm := range rainOfThem {
		sum += mm
	}
	closeTo(t, "long-term mean of rain", r.MeanMM, sum/14)
	if r.MeanYears != 14 {
		t.Errorf("%d years of rain", r.MeanYears)
	}
	first := s.Years[0]
	closeTo(t, "rain", first.RainMM, 12.1)
	closeTo(t, "rain in percent", first.RainPct, 100*12.1/(sum/14))
	closeTo(t, "production in percent", first.MeanPct, 100*820/s.Mean.Float64)
	closeTo(t, "rain use", first.RainUse, 10*820/12.1)
}

func TestTrendRainMissing(t *testing.T) {
	t.Parallel()
	rain := append([]float64{}, rainOfThem...)
	rain[4], rain[5] = -rain[4], -rain[5] // June is not there
	s := herbaceousOf(t, ledgertest.Records{Sites: rainySite("4-7"), Clippings: yearly("A", 2010, productionWithRain...), Rain: rainYears("GAUGE", 2010, rain...)})
	v := s.Trend("ols-rain")
	if len(v.YearsUsed) != 10 || slices.Contains(v.YearsUsed, 2014) || s.Years[4].RainMM.Valid || s.Years[4].RainUse.Valid {
		t.Errorf("years used %v", v.YearsUsed)
	}
	text := textOf(v.Remarks, "rain-missing")
	for _, want := range []string{"2014, 2015", "2014-06", "years used with rain: 2010–2013, 2016–2021"} {
		if !strings.Contains(text, want) {
			t.Errorf("%q lacks %q", text, want)
		}
	}
	if len(s.Trend("ols").YearsUsed) != 12 || !strings.Contains(s.Sentence, "(over the 10 years with rain)") {
		t.Error(s.Sentence)
	}
	// Five years with rain: no verdict with it.
	few := herbaceousOf(t, ledgertest.Records{Sites: rainySite("4-7"), Clippings: yearly("A", 2010, productionWithRain...), Rain: rainYears("GAUGE", 2010, rainOfThem[:5]...)})
	v = few.Trend("ols-rain")
	if v.Verdict != monitor.TooFewYears || v.P.Valid || !v.Slope.Valid || !has(v.Remarks, "too-few-rain-years") || few.Rain.Held.Valid {
		t.Errorf("%+v", v)
	}
}

func TestTrendRainUnknown(t *testing.T) {
	t.Parallel()
	rows := yearly("A", 2010, 60, 50, 44, 41, 33, 20)
	unknown := herbaceousOf(t, ledgertest.Records{Sites: []schema.Site{{Site: "A", Station: "NOWHERE", RainMonths: "4-7"}}, Clippings: rows})
	if unknown.Trend("ols-rain") != nil || !strings.Contains(textOf(unknown.Remarks, "rain-unknown"), `"NOWHERE"`) {
		t.Errorf("%v", unknown.Remarks)
	}
	if !strings.Contains(unknown.Sentence, `the ledger holds no rain of station "NOWHERE"`) {
		t.Error(unknown.Sentence)
	}
	// Rain of other years only: the window of no year is whole.
	never := herbaceousOf(t, ledgertest.Records{Sites: rainySite("4-7"), Clippings: rows, Rain: rainYears("GAUGE", 1990, 10, 20)})
	if never.Trend("ols-rain") != nil || !has(never.Remarks, "rain-missing") || !strings.Contains(never.Sentence, "no year with a value has all its rain") {
		t.Errorf("%s %v", never.Sentence, never.Remarks)
	}
	// No window declared: all twelve months, and said so; only four are there.
	whole := herbaceousOf(t, ledgertest.Records{Sites: rainySite(""), Clippings: rows, Rain: rainYears("GAUGE", 2010, 10, 20, 30, 40, 50, 60)})
	if !strings.Contains(textOf(whole.Remarks, "rain-window"), "1-12") || whole.Years[0].RainMM.Valid {
		t.Errorf("%v", whole.Remarks)
	}
}

func TestTrendRainThatTellsNothing(t *testing.T) {
	t.Parallel()
	rows := yearly("A", 2010, 60, 50, 44, 41, 33, 20)
	for what, rain := range map[string][]float64{"the rain is the same in every year": {20, 20, 20, 20, 20, 20}, "a straight line": {20, 24, 28, 32, 36, 40}} {
		s := herbaceousOf(t, ledgertest.Records{Sites: rainySite("4-7"), Clippings: rows, Rain: rainYears("GAUGE", 2010, rain...)})
		v := s.Trend("ols-rain")
		if v.Verdict != "" || v.Slope.Valid || !strings.Contains(textOf(v.Remarks, "rain-no-answer"), what) || !strings.Contains(s.Sentence, what) {
			t.Errorf("%s: %+v\n%s", what, v, s.Sentence)
		}
	}
	// A year without rain at all has no rain-use efficiency.
	s := herbaceousOf(t, ledgertest.Records{Sites: rainySite("4-7"), Clippings: rows, Rain: rainYears("GAUGE", 2010, 0, 20, 30, 10, 15, 25)})
	if s.Years[0].RainUse.Valid || !s.Years[1].RainUse.Valid {
		t.Errorf("rain use %v", s.Years[0].RainUse)
	}
}

func TestRainExplainsTheRise(t *testing.T) {
	t.Parallel()
	var dry, mm []float64
	for i := range 14 {
		rain := 200 + 20*float64(i) + 40*math.Sin(3*float64(i))
		mm = append(mm, rain)
		dry = append(dry, 10+0.2*rain+2*math.Cos(5*float64(i)))
	}
	s := herbaceousOf(t, ledgertest.Records{Sites: rainySite("4-7"), Clippings: yearly("A", 2010, dry...), Rain: rainYears("GAUGE", 2010, mm...)})
	want := fmt.Sprintf("and so did the rain (correlation with year %.2f): with rain accounted for, no trend is detected", s.Rain.Correlation.Float64)
	if s.Trend("ols").Verdict != monitor.Increasing || s.Trend("ols-rain").Verdict != monitor.NoTrend || !strings.Contains(s.Sentence, want) {
		t.Error(s.Sentence)
	}
}
