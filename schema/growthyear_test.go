package schema_test

import (
	"fmt"
	"os"
	"strings"
	"testing"

	"clipledger/schema"
	"clipledger/schema/ledgertest"
)

// The year a clipping counts for: it starts in the site's month and is named
// for the calendar year in which it ends.
func TestGrowthYearOfADate(t *testing.T) {
	for _, tt := range []struct {
		date  string
		month int
		want  int
	}{
		{"2020-12-31", 1, 2020}, {"2020-01-01", 1, 2020},
		{"2019-10-01", 10, 2020}, {"2020-05-14", 10, 2020}, {"2020-09-30", 10, 2020}, {"2020-10-01", 10, 2021},
		{"2020-06-30", 7, 2020}, {"2020-07-01", 7, 2021}, {"2020-12-31", 12, 2021}, {"2020-11-30", 12, 2020},
	} {
		if got, err := schema.GrowthYear(tt.date, tt.month); got != tt.want || err != nil {
			t.Errorf("%s where the year starts in month %d: %d (%v), want %d", tt.date, tt.month, got, err, tt.want)
		}
	}
	for _, bad := range []string{"", "2020", "5/14/2020 ", "2020-5-14"} {
		if got, err := schema.GrowthYear(bad, 10); err == nil {
			t.Errorf("%q has the growth year %d, want an error", bad, got)
		}
	}
}

// cut is a bag of a frame, cut on a day; year 0 lets the day decide.
func cut(frame, date string, year int, dry float64) schema.Clipping {
	return schema.Clipping{Site: "A", Date: date, Year: year, Frame: frame, FrameType: "1 m2", Component: schema.Herbaceous, DryG: schema.Some(dry)}
}

// startsIn declares the first month of the site's growth year.
func startsIn(month int) ledgertest.Records {
	return ledgertest.Records{Sites: []schema.Site{{Line: 2, Site: "A", SamplingUnit: "frame", YearStartMonth: month}}, Replace: true}
}

// framesByYear lists the frames of a ledger as YEAR:FRAME=WEIGHT.
func framesByYear(t *testing.T, path string) string {
	t.Helper()
	return query[string](t, path, `SELECT group_concat(growth_year || ':' || frame || '=' || CAST(g_m2 AS INTEGER), ' ')
		FROM (SELECT * FROM frame_production WHERE g_m2 > 0 ORDER BY growth_year, frame)`)
}

func TestYearColumnOverrulesTheDate(t *testing.T) {
	path := ledgertest.Path(t, startsIn(10), ledgertest.Records{Clippings: []schema.Clipping{
		cut("1", "2020-10-05", 2020, 11), // residue, cut days after the new year began: last year's crop
		cut("2", "2020-10-05", 0, 22),
		cut("3", "2020-05-05", 0, 33)}})
	if got, want := framesByYear(t, path), "2020:1=11 2020:3=33 2021:2=22"; got != want {
		t.Errorf("got %s, want %s", got, want)
	}
}

func TestAnotherFirstMonthMovesDatedRecords(t *testing.T) {
	bags := []schema.Clipping{
		cut("1", "2018-11-20", 0, 1), cut("1", "2019-11-20", 0, 2), cut("1", "2020-11-20", 0, 3), // a chain: each takes the place of the next
		cut("2", "2020-05-05", 0, 4),
		cut("3", "2020-11-20", 2020, 5), // names its year: stays
		cut("4", "", 2020, 6)}
	sample := schema.Drying{Line: 2, Site: "A", Date: "2019-11-20", Season: "peak", Component: schema.Herbaceous, GreenG: 100, DryG: 40}
	green := cut("5", "2019-11-20", 0, 0)
	green.DryG, green.GreenG = schema.Num{}, schema.Some(50)
	records := ledgertest.Records{Clippings: append(bags, green), Drying: []schema.Drying{sample}}
	const january = "2018:1=1 2019:1=2 2019:5=20 2020:1=3 2020:2=4 2020:3=5 2020:4=6"
	const october = "2019:1=1 2020:1=2 2020:2=4 2020:3=5 2020:4=6 2020:5=20 2021:1=3"

	path := ledgertest.Path(t, startsIn(1), records)
	check := func(when, want string) {
		t.Helper()
		if got := framesByYear(t, path); got != want {
			t.Errorf("%s: got %s, want %s", when, got, want)
		}
		soundLedger(t, path)
	}
	check("January", january)
	if p := ledgertest.Import(t, path, startsIn(10)); len(p) > 0 {
		t.Fatal(p)
	}
	check("October", october)
	if got := query[int](t, path, "SELECT count(*) FROM change WHERE record='bag' AND import_id=(SELECT max(import_id) FROM import)"); got != 4 {
		t.Errorf("the history holds %d moved bags, want the four that moved", got)
	}
	if got := query[int](t, path, "SELECT count(*) FROM change WHERE record='drying'"); got != 1 {
		t.Errorf("the history holds %d moved drying samples, want one", got)
	}
	if _, counts := ledgertest.ImportCounted(t, path, records); counts != [3]int{0, 0, 8} {
		t.Errorf("the same rows after the move: added, changed, identical %v; want 8 identical", counts)
	}
	if p := ledgertest.Import(t, path, startsIn(1)); len(p) > 0 {
		t.Fatal(p)
	}
	check("January again", january)

	// Declared from the start it comes to the same.
	path = ledgertest.Path(t, startsIn(10), records)
	check("October from the start", october)
}

func TestFirstMonthThatBringsTwoRecordsTogetherIsRefused(t *testing.T) {
	for _, tt := range []struct {
		name string
		bags []schema.Clipping
	}{
		{"two dated ones", []schema.Clipping{cut("7", "2019-11-20", 0, 1), cut("7", "2020-05-05", 0, 2)}},
		{"a dated one and one that names its year", []schema.Clipping{cut("7", "2019-11-20", 0, 1), cut("7", "2020-10-05", 2020, 2)}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			path := ledgertest.Path(t, startsIn(1), ledgertest.Records{Clippings: tt.bags})
			before, err := os.ReadFile(path)
			if err != nil {
				t.Fatal(err)
			}
			problems := ledgertest.Import(t, path, startsIn(10))
			if len(problems) != 1 || !strings.Contains(fmt.Sprint(problems), "two records of the frame 7 into the growth year 2020") {
				t.Errorf("problems %v, want one that names frame 7 and 2020", problems)
			}
			after, err := os.ReadFile(path)
			if err != nil || string(after) != string(before) {
				t.Errorf("the refused change left its marks on the file (%v)", err)
			}
		})
	}
}

// The month is a contradiction like any other: without --replace it is
// listed, and nothing moves.
func TestFirstMonthIsNotChangedUnasked(t *testing.T) {
	path := ledgertest.Path(t, startsIn(1), ledgertest.Records{Clippings: []schema.Clipping{cut("1", "2019-11-20", 0, 1)}})
	change := startsIn(10)
	change.Replace = false
	if p := ledgertest.Import(t, path, change); len(p) != 1 {
		t.Errorf("problems %v, want one", p)
	}
	if got := framesByYear(t, path); got != "2019:1=1" {
		t.Errorf("frames %s", got)
	}
	// Not yet declared, it completes the site, and the records move.
	path = ledgertest.Path(t, ledgertest.Records{Clippings: []schema.Clipping{cut("1", "2019-11-20", 0, 1)}}, change)
	if got := framesByYear(t, path); got != "2020:1=1" {
		t.Errorf("frames %s", got)
	}
	soundLedger(t, path)
}
