package intake

import (
	"slices"
	"testing"

	"clipledger/schema"
)

func TestEstimates(t *testing.T) {
	r := readString(t, Estimates, `Site,date,year,season,transect,frame,caged,frame type,component,species,observer,basis,Estimate Green oz,estimate_dry_g,estimate_lb_ac
Upper Bench,2019-06-03,,,,1,,ring 2019,browse,SAGE1,Wren,oven-dry,2,,
Upper Bench,,2019,fall,T2,1,yes,,Standing Dead,,Wren,oven,,0,
No Default,2019-06-03,2019,,,a,,0.25 m2,herbaceous,,'=Tolly,,,,1000
No Default,2019-06-03,,,,b,,,herbaceous,,Wren,,,.,NA
`, Options{})
	wantLines(t, "problems", r.problems, nil)
	wantLines(t, "notices", r.summary.Notices, []string{"1 row has no estimate: nothing is kept of it"})
	want := []schema.Estimate{
		{Line: 2, Site: "Upper Bench", Date: "2019-06-03", Season: "peak", Transect: "1", Frame: "1", FrameType: "ring 2019", Component: schema.Browse, Species: "SAGE1",
			Observer: "Wren", State: "green", G: 56.69904625},
		{Line: 3, Site: "Upper Bench", Year: 2019, Season: "fall", Transect: "T2", Frame: "1", Caged: true, Component: schema.StandingDead, Observer: "Wren", State: "dry", Basis: "oven-dry"},
		{Line: 4, Site: "No Default", Date: "2019-06-03", Year: 2019, Season: "peak", Transect: "1", Frame: "a", FrameType: "0.25 m2", Component: schema.Herbaceous,
			Observer: "=Tolly", State: "dry", PerM2: true, G: 1000 * 453.59237 / 4046.8564224},
	}
	if !slices.Equal(r.records, want) {
		t.Errorf("got %+v\nwant %+v", r.records, want)
	}
}

// lb/ac is 453.59237 g on 4046.8564224 m2, kg/ha a tenth of a gram a m2.
func TestClassBoundsInGramsPerM2(t *testing.T) {
	r := readString(t, Classes, "scheme,component,unit,basis,lower,upper,label\nx,Production,lbs per acre,oven,1000,2000,a\nx,browse,kg ha-1,,0,10,b\nx,litter,g/m²,,2.5,,c\n", Options{})
	wantLines(t, "problems", r.problems, nil)
	const lb = 453.59237 / 4046.8564224
	want := []schema.ClassBound{
		{Line: 2, Scheme: "x", Component: "production", LowerG: 1000 * lb, UpperG: schema.Some(2000 * lb), Basis: "oven-dry", Label: "a"},
		{Line: 3, Scheme: "x", Component: "browse", UpperG: schema.Some(1), Label: "b"},
		{Line: 4, Scheme: "x", Component: "litter", LowerG: 2.5, Label: "c"},
	}
	if !slices.Equal(r.records, want) {
		t.Errorf("got %+v\nwant %+v", r.records, want)
	}
}

func TestParseMonthDay(t *testing.T) {
	for _, c := range []struct {
		cell, form string
		day        int
		what       string
	}{
		{"1-1", DatesISO, 1, ""}, {"03-01", DatesISO, 60, ""}, {"12-31", DatesISO, 365, ""}, {"2-28", DatesISO, 59, ""},
		{"3/1", DatesMDY, 60, ""}, {"1.3.", DatesDMY, 60, ""}, {"1/3", DatesDMY, 60, ""}, {"--03-01", DatesISO, 60, ""},
		{"1 March", DatesISO, 60, ""}, {"Mar 1", DatesDMY, 60, ""}, {"15-Apr", DatesISO, 105, ""}, {"2024-12-31", DatesISO, 365, ""}, {"12/31/24", DatesMDY, 365, ""},
		{"2-29", DatesISO, 0, "is not in every year"}, {"2024-02-29", DatesISO, 0, "is not in every year"}, {"4-31", DatesISO, 0, "does not exist: April has 30 days"},
		{"31.4", DatesMDY, 0, "there is no month 31"}, {"4", DatesISO, 0, "is not a day of the year"}, {"April", DatesISO, 0, "is not a day of the year"},
		{"4-x", DatesISO, 0, "is not a day of the year"}, {"4-005", DatesISO, 0, "is not a day of the year"}, {"0-1", DatesISO, 0, "there is no month 0"},
	} {
		m, d, what, _ := parseMonthDay(c.cell, c.form)
		day := 0
		if what == "" {
			day = dayOfYear(m, d)
		}
		if day != c.day || what != c.what {
			t.Errorf("%q as %s: day %d, %q; want %d, %q", c.cell, c.form, day, what, c.day, c.what)
		}
	}
}

func FuzzGrowthCurves(f *testing.F) {
	for _, s := range []string{
		"curve,month_day,cumulative_pct\nA,3-1,0\nA,15-Apr,50\nA,2024-12-31,100\n",
		"curve;day_of_year;month_day;cumulative_pct\nA;60;1.3.;0,5\nA;;--02-29;101\n",
	} {
		f.Add(s, DatesISO)
		f.Add(s, DatesDMY)
	}
	f.Fuzz(func(t *testing.T, content, dates string) {
		if dates != DatesISO && dates != DatesMDY && dates != DatesDMY {
			return
		}
		fuzzRead(t, GrowthCurves, content, Options{Dates: dates}, func(p schema.CurvePoint) {
			if p.DayOfYear < 1 || p.DayOfYear > 366 || p.Pct < 0 || p.Pct > 100 || p.Curve == "" {
				t.Fatalf("record %+v", p)
			}
			goodText(t, p.Curve, maxKeyLength)
		})
	})
}
