package intake

import (
	"errors"
	"fmt"
	"runtime"
	"strings"
	"testing"

	"clipledger/schema"
)

// longHeader is a header that most tests of long files use.
const longHeader = "site,date,frame,component,green_g,dry_g\n"

// full is a record as every row of the test site gives it, before its own.
func full(line int, frame string, comp schema.Component) schema.Clipping {
	return schema.Clipping{Line: line, Site: "Upper Bench", Date: "2019-06-03", Season: "peak", Transect: "1", Frame: frame,
		FrameType: "9.6 ft2", Component: comp}
}

// wantRecords compares clipping records.
func wantRecords(t *testing.T, got, want []schema.Clipping) {
	t.Helper()
	if len(got) != len(want) {
		t.Errorf("%d records, want %d: %+v", len(got), len(want), got)
		return
	}
	for i := range want {
		if got[i] != want[i] {
			t.Errorf("record %d:\n got %+v\nwant %+v", i, got[i], want[i])
		}
	}
}

func TestEveryColumnOfALongFile(t *testing.T) {
	r := readString(t, Clippings, `Site,DATE,Year,season,transect,frame,frame type,Component,species,growth_form,stage,bag,frames_in_bag,Green_G,dry_g,dm_pct,basis,status,components_sampled,caged,caged_since,treatment,block,observer,edge_rule,clip_height_cm,ungrazed_pct,note
Upper Bench,2019-06-03,2019,Fall,T2,01,0.25 M^2,Standing Dead,POSE,Grass Cool,Seed_Ripe,b1,3,12.5,4.25,34,Air Dry,,herbaceous; standing_dead,yes,2019-03-01,burned,B1,Mara,rooted in,2.5,80,"two
lines"
`, Options{})
	wantLines(t, "problems", r.problems, nil)
	wantLines(t, "notices", r.summary.Notices, nil)
	wantRecords(t, r.records, []schema.Clipping{{
		Line: 2, Site: "Upper Bench", Date: "2019-06-03", Year: 2019, Season: "fall", Transect: "T2", Frame: "01", Caged: true,
		CagedSince: "2019-03-01", FrameType: "0.25 m2", Component: schema.StandingDead, Species: "POSE", GrowthForm: "grass-cool", Bag: "b1",
		FramesInBag: 3, GreenG: schema.Some(12.5), DryG: schema.Some(4.25), DMPct: schema.Some(34), Basis: "air-dry", Stage: "seed-ripe",
		ComponentsSampled: schema.Herbaceous.Bit() | schema.StandingDead.Bit(), Treatment: "burned", Block: "B1", Observer: "Mara",
		EdgeRule: "rooted", ClipHeightCM: schema.Some(2.5), UngrazedPct: schema.Some(80), Note: "two\nlines",
	}})
	if got := len(r.summary.Used); got != 28 || r.summary.Used["frame_type"] != "frame type" || r.summary.Used["green_g"] != "Green_G" {
		t.Errorf("used %d columns: %v", got, r.summary.Used)
	}
}

func TestDefaultsOfALongRow(t *testing.T) {
	r := readString(t, Clippings, longHeader+`upper bench,2019-06-03,1.0,browse,10,
Upper Bench,2019-06-03,2,browse,T,trace
Upper Bench,2019-06-03,3,browse,,
Upper Bench,2019-06-03,4,browse,12,lost
Upper Bench,2019-06-03,'-5,herbaceous,0,NA
`, Options{})
	wantLines(t, "problems", r.problems, nil)
	wantLines(t, "notices", r.summary.Notices, []string{`site "upper bench" was taken as "Upper Bench", which the ledger knows`,
		`1 row was found without a weight and a status (first in line 4) and counted as lost: missing, never zero; write empty or 0 where nothing was found, or leave such rows out with --unfilled left-out`})
	want := []schema.Clipping{full(2, "1.0", schema.Browse), full(3, "2", schema.Browse), full(4, "3", schema.Browse), full(5, "4", schema.Browse), full(6, "-5", schema.Herbaceous)}
	want[0].GreenG = schema.Some(10)
	want[1].Trace = schema.TraceGreen | schema.TraceDry
	want[2].Status = schema.StatusLost
	want[3].GreenG, want[3].Status = schema.Some(12), schema.StatusLost
	want[4].GreenG = schema.Some(0)
	wantRecords(t, r.records, want)
}

func TestUnits(t *testing.T) {
	for _, c := range []struct {
		column, cell string
		want         float64
		perM2        bool
	}{
		{"green_g", "2", 2, false}, {"green_oz", "2", 56.69904625, false}, {"green_lb", "2", 907.18474, false}, {"Green KG", "2", 2000, false},
		{"dry_g", "2", 2, false}, {"dry_oz", "1", 28.349523125, false}, {"dry_lb", "1", 453.59237, false}, {"dry_kg", "0.5", 500, false},
		{"green_kg_ha", "1000", 100, true}, {"green_g_m2", "7", 7, true}, {"green_lb_ac", "1000", 112.08511561944561, true},
		{"dry_kg_ha", "1000", 100, true}, {"dry_g_m2", "7", 7, true}, {"dry_lb_ac", "1000", 112.08511561944561, true},
	} {
		r := readString(t, Clippings, "site,year,frame,component,"+c.column+"\nUpper Bench,2019,1,browse,"+c.cell+"\n", Options{})
		wantLines(t, c.column, r.problems, nil)
		if len(r.records) != 1 {
			t.Fatalf("%s: %d records, want 1", c.column, len(r.records))
		}
		rec := r.records[0]
		got := rec.GreenG
		if strings.HasPrefix(strings.ToLower(c.column), "dry") {
			got = rec.DryG
		}
		if d := got.Float64 - c.want; !got.Valid || d > 1e-12*c.want || d < -1e-12*c.want || rec.PerM2 != c.perM2 {
			t.Errorf("%s %s: %+v per m² %v, want %v %v", c.column, c.cell, got, rec.PerM2, c.want, c.perM2)
		}
		// A weight per area needs no frame type and gets none.
		if want := map[bool]string{false: "9.6 ft2", true: ""}[c.perM2]; rec.FrameType != want {
			t.Errorf("%s: frame type %q, want %q", c.column, rec.FrameType, want)
		}
	}
}

func TestGrossAndTare(t *testing.T) {
	r := readString(t, Clippings, `site,year,frame,component,green_gross_g,tare_oz,green_g
Upper Bench,2019,1,browse,100,1,
Upper Bench,2019,2,browse,100,1,71.7
Upper Bench,2019,3,browse,,,5
Upper Bench,2019,4,browse,lost,1,
Upper Bench,2019,5,browse,100.3,1,
Upper Bench,2019,6,browse,100,1,71.5
Upper Bench,2019,7,browse,20,1,
Upper Bench,2019,8,browse,20,,
Upper Bench,2019,9,browse,20,T,
Upper Bench,2019,10,browse,T,1,
Upper Bench,2019,11,browse,100,lost,
`, Options{})
	wantLines(t, "problems", r.problems, []string{
		`f.csv:7: column green_g: "71.5": does not agree with green_gross_g minus tare_oz, which is 71.65048 g; correct the one that is wrong, or leave one out with --ignore`,
		`f.csv:8: column green_gross_g: "20": is less than its empty bag (tare_oz, 28.34952 g); check both weights, and whether this one is net already`,
		`f.csv:9: column tare_oz: "": is missing beside green_gross_g; write what the empty bag weighs, or empty green_gross_g`,
		`f.csv:10: column tare_oz: "T": is not a number; write digits with a decimal point, as in 12.5, or empty the cell if the value is missing`,
		`f.csv:11: column green_gross_g: "T": is not a number; write digits with a decimal point, as in 12.5, or empty the cell if the value is missing`,
		`f.csv:12: column tare_oz: "lost": is not a number; write digits with a decimal point, as in 12.5, or empty the cell if the value is missing`,
	})
	var got []string
	for _, rec := range r.records {
		got = append(got, fmt.Sprint(rec.Frame, rec.GreenG, rec.Status))
	}
	wantLines(t, "net", got, []string{"1{71.650477 true}", "2{71.7 true}", "3{5 true}", "4{0 false}lost", "5{71.950477 true}"})
}

// A gross weight without a tare column is told once, in the header.
func TestGrossWithoutTareColumn(t *testing.T) {
	r := readString(t, Clippings, "site,year,frame,component,dry_gross_g\nUpper Bench,2019,1,browse,100\n", Options{})
	wantLines(t, "problems", r.problems, []string{
		`f.csv:1: a column is missing: tare_g (the empty bag, to take off dry_gross_g); name yours with --map tare_g="...", or give one value for all rows with --set tare_g="..."; the file has "site", "year", "frame", "component", "dry_gross_g"`})
	r = readString(t, Clippings, "site,year,frame,component,dry_gross_g\nUpper Bench,2019,1,browse,100\n", Options{Set: map[string]string{"tare_g": "32.9"}})
	if len(r.records) != 1 || r.records[0].DryG != schema.Some(67.1) {
		t.Errorf("records %+v, want 67.1 g dry", r.records)
	}
	r = readString(t, Clippings, "site,year,frame,component,dry_gross_g,dry_g\nUpper Bench,2019,1,browse,100,70\n", Options{})
	wantLines(t, "notices", r.summary.Notices, []string{`column "dry_gross_g" was ignored: there is no tare_g to take off it, and dry_g is net`})
	r = readString(t, Clippings, "site,year,frame,component,tare_g,dry_g\nUpper Bench,2019,1,browse,30,70\n", Options{})
	wantLines(t, "notices", r.summary.Notices, []string{`tare_g was not taken off: weights are net unless their columns say gross; if the bag is in them, say --map green_gross_g=...`})
}

// Every message that a cell of a long row can give, read as a user reads it.
func TestProblemsOfALongRow(t *testing.T) {
	const stages = "known stages are full-leaf, heading, pre-heading and seed-ripe; stages come from the book tables: import book-values that have it"
	for _, c := range []struct{ column, cell, want string }{
		{"site", "", `column site: "": is missing; write the code of the site`},
		{"site", "A\x07", `column site: "A\a": has a control character (U+0007) in it; remove it; retyping the cell is enough`},
		{"site", "\"A\nB\"", `column site: "A\nB": has a line break in it; write it on one line`},
		{"site", "\"A\tB\"", `column site: "A\tB": has a tab in it; write a space instead`},
		{"frame", "", `column frame: "": is missing; write the number or label of the frame`},
		{"frame", strings.Repeat("é", 201), `column frame: "` + strings.Repeat("é", 80) + `…": has 201 characters, more than the 200 that are kept; shorten it`},
		{"note", strings.Repeat("x", 10_001), `column note: "` + strings.Repeat("x", 80) + `…": has 10001 characters, more than the 10000 that are kept; shorten it`},
		{"date", "", `the row has neither a date nor a year; fill one of them`},
		{"date", "7/711", `column date: "7/711": is not a date in the form YYYY-MM-DD; write it in that form, or say --dates mdy (month/day/year) or --dates dmy (day/month/year) if all dates have that form; or say --ignore "date": the file has years in a column of their own`},
		{"year", "19", `column year: "19": is outside 1850 to 2100; check the digits and the column`},
		{"year", "2019.5", `column year: "2019.5": is not a whole number; write a whole number from 1850 to 2100`},
		{"year", "2009", `column year: "2009": does not go with the date 2019-06-03; correct the one that is wrong`},
		{"season", "pek", `column season: "pek": is not a known season; did you mean peak? Known seasons are dormant, fall, peak, spring, summer and winter; a season of your own is declared first, in a site's components, as in herbaceous/late`},
		{"season", "Autumn", `column season: "Autumn": is not a known season; did you mean fall? Known seasons are dormant, fall, peak, spring, summer and winter; a season of your own is declared first, in a site's components, as in herbaceous/late`},
		{"component", "", `column component: "": is missing; write browse, herbaceous, litter or standing-dead (it may be empty only with the status empty)`},
		{"component", "herbacious", `column component: "herbacious": is not a known component; did you mean herbaceous? Known components are browse, herbaceous, litter and standing-dead`},
		{"component", "shrubs", `column component: "shrubs": is not a known component; did you mean browse? Known components are browse, herbaceous, litter and standing-dead`},
		{"component", "herb", `column component: "herb": is not a known component; did you mean herbaceous? Known components are browse, herbaceous, litter and standing-dead`},
		{"component", "moss", `column component: "moss": is not a known component; known components are browse, herbaceous, litter and standing-dead`},
		{"stage", "headign", `column stage: "headign": is not a known stage of growth; did you mean heading? K` + stages[1:]},
		{"growth_form", "grass cold", `column growth_form: "grass cold": is not a known growth form; did you mean grass-cool? Known growth forms are forb-leafy, grass-cool and shrub-evergreen; growth forms come from the book tables: import book-values that have it`},
		{"frame_type", "9.6", `column frame_type: "9.6": is not a known frame type; did you mean 9.6 ft2? Known frame types are 9.6 ft2 and ring 2019; write its area with the unit, as in "9.6 ft2" or "0.25 m2", or import a frame-types file that has it`},
		{"frame_type", "ring 2018", `column frame_type: "ring 2018": is not a known frame type; did you mean ring 2019? Known frame types are 9.6 ft2 and ring 2019; write its area with the unit, as in "9.6 ft2" or "0.25 m2", or import a frame-types file that has it`},
		{"status", "gone", `column status: "gone": is not a known status; known words are blank, empty and lost; leave it empty for a bag that was weighed`},
		{"basis", "wet", `column basis: "wet": is not a known basis; known words are air-dry, oven-dry and unknown`},
		{"edge_rule", "inside", `column edge_rule: "inside": is not a known edge rule; known rules are rooted and vertical`},
		{"caged", "maybe", `column caged: "maybe": is neither yes nor no; write yes or no (also 1 or 0, caged or open)`},
		{"caged_since", "2019-03-01", `column caged_since: "2019-03-01": is given for a frame that is not caged; write yes under caged, or empty this cell`},
		{"frames_in_bag", "0", `column frames_in_bag: "0": is outside 1 to 1000; check the digits and the column`},
		{"dm_pct", "0", `column dm_pct: "0": must be above 0 and at most 100 %; check the digits, the unit and the column`},
		{"dm_pct", "135", `column dm_pct: "135": must be above 0 and at most 100 %; check the digits, the unit and the column`},
		{"dm_pct", "0.45", `column dm_pct: "0.45": looks like a fraction; write it in percent: 45, not 0.45`},
		{"dm_pct", "35%", `column dm_pct: "35%": has a percent sign; write 35`},
		{"ungrazed_pct", "-5", `column ungrazed_pct: "-5": must be above 0 and at most 100 %; check the digits, the unit and the column`},
		{"clip_height_cm", "250", `column clip_height_cm: "250": is outside 0 to 200 cm; check the digits, the unit and the column`},
		{"components_sampled", "\"herbaceous,browse\"", `column components_sampled: "herbaceous,browse": has a comma in it; put ; between components, as in herbaceous;browse`},
		{"components_sampled", "browse;grass", `column components_sampled: "browse;grass": names "grass", which is not a known component; did you mean herbaceous? Known components are browse, herbaceous, litter and standing-dead`},
		{"components_sampled", "herbaceous+litter", `column components_sampled: "herbaceous+litter": does not name browse, which the row has; add it, or correct the component`},
		{"green_g", "-3", `column green_g: "-3": a weight cannot be below zero; correct it, or empty the cell if it means missing`},
		{"green_g", "250000", `column green_g: "250000": is 250000 g, more than one bag can weigh (50000 g); check the decimal point, the unit and the column`},
		{"green_g", "\"12,5\"", `column green_g: "12,5": has a decimal comma; use a decimal point: 12.5`},
		{"green_g", "12.5 g", `column green_g: "12.5 g": has more than a number in it; write the number alone; its unit stands in the name of the column, remarks belong in note`},
		{"dry_g", "15", `column dry_g: "15": makes 15 g dry, more than the 10 g green of the same bag; check both weights, and whether they are swapped`},
		{"status", "empty", `column status: "empty": the row has a weight (green_g); empty means that nothing was found: remove the weight or the status`},
	} {
		row := map[string]string{"site": "Upper Bench", "date": "2019-06-03", "frame": "1", "component": "browse", "green_g": "10"}
		row[c.column] = c.cell
		columns := []string{"site", "date", "year", "season", "frame", "component", "stage", "growth_form", "frame_type", "status", "basis", "edge_rule",
			"caged", "caged_since", "frames_in_bag", "dm_pct", "ungrazed_pct", "clip_height_cm", "components_sampled", "green_g", "dry_g", "note"}
		cells := make([]string, len(columns))
		for i, name := range columns {
			cells[i] = row[name]
		}
		r := readString(t, Clippings, strings.Join(columns, ",")+"\n"+strings.Join(cells, ",")+"\n", Options{})
		wantLines(t, c.column+" "+c.cell, r.problems, []string{"f.csv:2: " + c.want})
		if len(r.records) != 0 || r.summary.Refused != 1 {
			t.Errorf("%s %s: %d records from a row with a problem", c.column, c.cell, len(r.records))
		}
	}
}

// All that is wrong with a row is told, and nothing of it is kept.
func TestAllProblemsOfARow(t *testing.T) {
	r := readString(t, Clippings, longHeader+"Upper Bench,7/711,,brows,-1,x\nUpper Bench,2019-06-03,1,browse,10,\n", Options{})
	if len(r.problems) != 5 || r.summary.Refused != 1 || len(r.records) != 1 {
		t.Errorf("%d problems, %d rows refused, %d records; want 5, 1, 1:\n%s", len(r.problems), r.summary.Refused, len(r.records), strings.Join(r.problems, "\n"))
	}
}

func TestCagedSinceAfterClipping(t *testing.T) {
	r := readString(t, Clippings, "site,date,frame,component,green_g,caged,caged_since\nUpper Bench,2019-06-03,1,browse,5,caged,2019-06-04\n", Options{})
	wantLines(t, "problems", r.problems, []string{`f.csv:2: column caged_since: "2019-06-04": is after the day of clipping (2019-06-03); correct the one that is wrong`})
}

// Whether a weight in grams has an area, the ledger says: a lab's file need
// not repeat on what the bags were clipped.
func TestFrameTypeOfTheRowOrTheSite(t *testing.T) {
	content := "site,date,frame,component,green_g,frame_type\nUpper Bench,2019-06-03,1,browse,10,\nUpper Bench,2019-06-03,2,browse,10,0.25m2\nNew Site,2019-06-03,1,browse,T,\n"
	r := readString(t, Clippings, content, Options{})
	wantLines(t, "problems", r.problems, nil)
	var got []string
	for i, c := range r.records {
		got = append(got, fmt.Sprint(c.FrameType, " ", r.declared[i]))
	}
	wantLines(t, "frame types", got, []string{"9.6 ft2 true", "0.25 m2 false", " false"})
}

func TestWeightPerArea(t *testing.T) {
	r := readString(t, Clippings, `site,year,frame,component,green_kg_ha,dry_kg_ha,dry_g
New Site,2019,1,browse,1000,T,
New Site,2019,2,browse,1000,,5
New Site,2019,3,browse,500001,,
New Site,2019,4,browse,,50001,
New Site,2019,5,browse,100,200,
`, Options{})
	wantLines(t, "problems", r.problems, []string{
		`f.csv:3: the row has weights in grams (dry_g) and per area (green_kg_ha); keep one of them; --ignore leaves a column out`,
		`f.csv:4: column green_kg_ha: "500001": is 50000.1 g/m², more than vegetation can weigh (50000 g/m²); check the decimal point, the unit and the column`,
		`f.csv:5: column dry_kg_ha: "50001": is 5000.1 g/m², more than vegetation can weigh (5000 g/m²); check the decimal point, the unit and the column`,
		`f.csv:6: column dry_kg_ha: "200": makes 20 g/m² dry, more than the 10 g/m² green of the same bag; check both weights, and whether they are swapped`,
	})
	if len(r.records) != 1 || r.records[0].Trace != schema.TraceDry || !r.records[0].PerM2 {
		t.Errorf("records %+v, want one per m² with a trace", r.records)
	}
}

func TestEmptyAndLost(t *testing.T) {
	r := readString(t, Clippings, `site,date,frame,component,green_g,status
Upper Bench,2019-06-03,1,,,empty
Upper Bench,2019-06-03,2,browse,0,Empty
Upper Bench,2019-06-03,3,,0,empty
Upper Bench,2019-06-03,4,browse,7,lost
Upper Bench,2019-06-03,5,browse,lost,empty
Upper Bench,2019-06-03,6,browse,T,empty
Upper Bench,2019-06-03,7,,,lost
`, Options{})
	wantLines(t, "problems", r.problems, []string{
		`f.csv:6: column status: "empty": a weight of the row says lost; write the status empty only where nothing was found`,
		`f.csv:7: column status: "empty": the row has a weight (green_g); empty means that nothing was found: remove the weight or the status`,
		`f.csv:8: column component: "": is missing; write browse, herbaceous, litter or standing-dead (it may be empty only with the status empty)`,
	})
	want := []schema.Clipping{full(2, "1", 0), full(3, "2", schema.Browse), full(4, "3", 0), full(5, "4", schema.Browse)}
	want[0].Status, want[1].Status, want[2].Status, want[3].Status = "empty", "empty", "empty", "lost"
	want[1].GreenG, want[3].GreenG = schema.Some(0), schema.Some(7)
	wantRecords(t, r.records, want)
}

func TestMissingWords(t *testing.T) {
	content := longHeader + "Upper Bench,2019-06-03,1,browse,na,.\nUpper Bench,2019-06-03,2,browse,-99,3\n"
	r := readString(t, Clippings, content, Options{})
	wantLines(t, "default", r.problems, []string{`f.csv:3: column green_g: "-99": a weight cannot be below zero; correct it, or empty the cell if it means missing`})
	r = readString(t, Clippings, content, Options{Missing: []string{"-99", " none "}})
	wantLines(t, "own", r.problems, []string{
		`f.csv:2: column green_g: "na": is not a number; write digits with a decimal point, as in 12.5, or empty the cell if the value is missing`,
		`f.csv:2: column dry_g: ".": is not a number; write digits with a decimal point, as in 12.5, or empty the cell if the value is missing`,
	})
	if len(r.records) != 1 || r.records[0].GreenG.Valid || r.records[0].DryG != schema.Some(3) {
		t.Errorf("records %+v, want green missing and dry 3", r.records)
	}
}

// The dates of a file can be worthless where the year is known.
func TestIgnoredDates(t *testing.T) {
	content := "year,rep,biomass_grams,date\n2011,1,51.56,7/711\n2011,41,68.29,7/711\n"
	o := Options{
		Map:      map[string]string{"frame": "rep", "dry_g": "biomass_grams"},
		Set:      map[string]string{"site": "Upper Bench", "component": "herbaceous", "frame_type": "0.25 m2"},
		Ignore:   []string{"date"},
		LeaveOut: map[string][]string{"rep": {"41", "42"}},
	}
	r := readString(t, Clippings, content, o)
	wantLines(t, "problems", r.problems, nil)
	wantLines(t, "notices", r.summary.Notices, []string{`--leave-out rep: no row has "42"`})
	wantRecords(t, r.records, []schema.Clipping{{Line: 2, Site: "Upper Bench", Year: 2011, Season: "peak", Transect: "1", Frame: "1",
		FrameType: "0.25 m2", Component: schema.Herbaceous, DryG: schema.Some(51.56)}})
	if s := r.summary; s.Rows != 2 || s.LeftOut != 1 || s.Records != 1 {
		t.Errorf("summary %+v, want two rows of which one is left out", s)
	}
}

func TestDatesFlag(t *testing.T) {
	content := longHeader + "Upper Bench,6/3/19,1,browse,5,\n"
	r := readString(t, Clippings, content, Options{Dates: DatesMDY})
	if len(r.records) != 1 || r.records[0].Date != "2019-06-03" {
		t.Errorf("records %+v, want 2019-06-03", r.records)
	}
	r = readString(t, Clippings, content, Options{Dates: DatesDMY})
	if len(r.records) != 1 || r.records[0].Date != "2019-03-06" {
		t.Errorf("records %+v, want 2019-03-06", r.records)
	}
	r = readString(t, Clippings, content, Options{})
	wantLines(t, "iso", r.problems, []string{`f.csv:2: column date: "6/3/19": is not a date in the form YYYY-MM-DD; say --dates mdy if dates are month/day/year, or --dates dmy if they are day/month/year; or say --ignore "date" and give the year with --set year=... or --map year=...`})
	r = readString(t, Clippings, content, Options{Dates: "ymd"})
	wantUsage(t, r.err, "--dates ymd: dates are iso (YYYY-MM-DD), mdy (month/day/year) or dmy (day/month/year)")
}

func TestEmitCanStop(t *testing.T) {
	f, err := Open(tempFile(t, longHeader+"Upper Bench,2019-06-03,1,browse,5,\nUpper Bench,2019-06-03,2,browse,5,\n"))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	full, calls := errors.New("disk full"), 0
	_, err = Clippings(f, Options{}, testVocabulary(), func(schema.Clipping) error { calls++; return full }, func(p schema.Problem) { t.Error(p) })
	if !errors.Is(err, full) || calls != 1 {
		t.Errorf("error %v after %d calls, want the one of the first", err, calls)
	}
}

// What a record keeps must not be changed by the rows after it.
func TestRecordsAreTheirOwn(t *testing.T) {
	var b strings.Builder
	b.WriteString("site,date,frame,component,green_g,note\n")
	for i := range 2000 {
		fmt.Fprintf(&b, "Site %d,2019-06-03,%d,browse,T,note %d\n", i, i, i)
	}
	r := readString(t, Clippings, b.String(), Options{Set: map[string]string{"frame_type": "1 m2"}})
	for i, rec := range r.records {
		if rec.Site != fmt.Sprintf("Site %d", i) || rec.Frame != fmt.Sprint(i) || rec.Note != fmt.Sprintf("note %d", i) || rec.Line != i+2 {
			t.Fatalf("record %d is %+v", i, rec)
		}
	}
	if len(r.records) != 2000 {
		t.Errorf("%d records, want 2000", len(r.records))
	}
}

// However many rows and different cells a file has, the memory stays the same.
func TestMemoryDoesNotGrow(t *testing.T) {
	var b strings.Builder
	b.WriteString("site,date,frame,component,green_g,species,bag,observer,note\n")
	const rows = 60_000
	for i := range rows {
		fmt.Fprintf(&b, "Site %d,2019-06-03,%d,browse,T,SP%d,b%d,O%d,note %d\n", i, i, i, i, i, i)
	}
	f, err := Open(tempFile(t, b.String()))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	b.Reset()
	inUse := func() int64 {
		runtime.GC()
		var m runtime.MemStats
		runtime.ReadMemStats(&m)
		return int64(m.HeapAlloc)
	}
	n, early, late := 0, int64(0), int64(0)
	_, err = Clippings(f, Options{Set: map[string]string{"frame_type": "1 m2"}}, testVocabulary(), func(schema.Clipping) error {
		n++
		switch n {
		case rows / 10:
			early = inUse()
		case rows:
			late = inUse()
		}
		return nil
	}, func(p schema.Problem) { t.Fatal(p) })
	if err != nil || n != rows {
		t.Fatalf("%d records, %v", n, err)
	}
	if grown := late - early; grown > 256<<10 {
		t.Errorf("%d bytes more in use after %d rows than after %d", grown, rows, rows/10)
	}
}

func TestDryAboveGreenFromGross(t *testing.T) {
	r := readString(t, Clippings, "site,year,frame,component,green_g,dry_gross_g,tare_g\nUpper Bench,2019,1,browse,10,60,20\n", Options{})
	wantLines(t, "problems", r.problems, []string{`f.csv:2: column dry_gross_g: "60": makes 40 g dry, more than the 10 g green of the same bag; check both weights, and whether they are swapped`})
}

// Words that say the same as ours without being a spelling of them.
func TestSynonyms(t *testing.T) {
	r := readString(t, Clippings, `site,year,frame,component,dry_g,basis,edge_rule,caged
Upper Bench,2019,1,browse,1,OVEN,Above,0
Upper Bench,2019,2,browse,1,Air_Dried,Vertical Projection,N
Upper Bench,2019,3,browse,1,Unknown,ROOTED,True
Upper Bench,2019,4,browse,1,oven-dried,rooted_in,caged
`, Options{})
	wantLines(t, "problems", r.problems, nil)
	var got []string
	for _, rec := range r.records {
		got = append(got, fmt.Sprint(rec.Basis, " ", rec.EdgeRule, " ", rec.Caged))
	}
	wantLines(t, "words", got, []string{"oven-dry vertical false", "air-dry vertical false", "unknown rooted true", "oven-dry rooted true"})
}

// Notices have an end, and say that there are more.
func TestNoticesAreBounded(t *testing.T) {
	header := "site,year,frame,component,dry_g"
	for i := range maxNotices + 50 {
		header += fmt.Sprintf(",unknown column %d", i)
	}
	r := readString(t, Clippings, header+"\nUpper Bench,2019,1,browse,1"+strings.Repeat(",", maxNotices+50)+"\n", Options{})
	if n := len(r.summary.Notices); n != maxNotices+1 || r.summary.Notices[maxNotices] != "there is more of this kind, not listed" {
		t.Errorf("%d notices, the last %q", n, r.summary.Notices[n-1])
	}
}
