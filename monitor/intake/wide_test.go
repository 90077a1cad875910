package intake

import (
	"fmt"
	"testing"

	"clipledger/schema"
)

// show writes what matters of a record from a wide row.
func show(c schema.Clipping) string {
	s := fmt.Sprintf("%d %s %s", c.Line, c.Frame, c.Component)
	if c.Species != "" {
		s += ":" + c.Species
	}
	if c.GreenG.Valid {
		s += fmt.Sprint(" green ", c.GreenG.Float64)
	}
	if c.DryG.Valid {
		s += fmt.Sprint(" dry ", c.DryG.Float64)
	}
	for _, p := range []struct {
		is   bool
		text string
	}{{c.Trace != 0, " trace"}, {c.PerM2, " per m2"}, {c.MissingCell, " missing"}, {c.Status != "", " " + c.Status}, {c.FrameType != "", " on " + c.FrameType}} {
		if p.is {
			s += p.text
		}
	}
	return s
}

// showAll writes all records.
func showAll(records []schema.Clipping) (lines []string) {
	for _, r := range records {
		lines = append(lines, show(r))
	}
	return lines
}

func TestWideRows(t *testing.T) {
	r := readString(t, Clippings, `site,date,frame,status,components_sampled,Herbaceous_Green_G,herbaceous dry g,browse_green_oz,standing-dead_green_g,litter_green_g
Upper Bench,2019-06-03,1,,,10,4,2,0,T
Upper Bench,2019-06-03,2,,,10,,,,
Upper Bench,2019-06-03,3,,,,,,,
Upper Bench,2019-06-03,4,,,lost,,2,lost,
Upper Bench,2019-06-03,5,empty,,,,,,
Upper Bench,2019-06-03,6,empty,,0,,,,
Upper Bench,2019-06-03,7,lost,,10,,,,
Upper Bench,2019-06-03,8,,herbaceous;browse,10,,,,
`, Options{})
	wantLines(t, "problems", r.problems, nil)
	const on = " on 9.6 ft2"
	wantLines(t, "records", showAll(r.records), []string{
		"2 1 herbaceous green 10 dry 4" + on, "2 1 browse green 56.69904625" + on, "2 1 standing-dead green 0" + on, "2 1 litter trace" + on,
		"3 2 herbaceous green 10" + on, "3 2 browse missing" + on, "3 2 standing-dead missing" + on, "3 2 litter missing" + on,
		"4 3 herbaceous missing" + on, "4 3 browse missing" + on, "4 3 standing-dead missing" + on, "4 3 litter missing" + on,
		"5 4 herbaceous lost" + on, "5 4 browse green 56.69904625" + on, "5 4 standing-dead lost" + on, "5 4 litter missing" + on,
		"6 5  empty" + on,
		"7 6  empty" + on, "7 6 herbaceous green 0" + on,
		"8 7 herbaceous green 10" + on, "8 7 browse lost" + on, "8 7 standing-dead lost" + on, "8 7 litter lost" + on,
		"9 8 herbaceous green 10" + on, "9 8 browse missing" + on,
	})
	if !r.summary.Wide || r.summary.Rows != 8 || r.summary.Records != 25 {
		t.Errorf("summary %+v, want 8 wide rows and 25 records", r.summary)
	}
}

func TestWideRowProblems(t *testing.T) {
	r := readString(t, Clippings, `site,date,frame,status,components_sampled,herbaceous_green_g,browse_green_g,browse_dry_g
Upper Bench,2019-06-03,1,,,x,5,6
Upper Bench,2019-06-03,2,empty,,1,,
Upper Bench,2019-06-03,3,empty,,lost,,
Upper Bench,2019-06-03,4,lost,,1,2,
Upper Bench,2019-06-03,5,,herbaceous,1,2,
Upper Bench,2019-06-03,6,,,1,2,1
`, Options{})
	wantLines(t, "problems", r.problems, []string{
		`f.csv:2: column herbaceous_green_g: "x": is not a number; write digits with a decimal point, as in 12.5, or empty the cell if the value is missing`,
		`f.csv:2: column browse_dry_g: "6": makes 6 g dry, more than the 5 g green of the same bag; check both weights, and whether they are swapped`,
		`f.csv:3: column status: "empty": the row has a weight (herbaceous_green_g); empty means that nothing was found: remove the weight or the status`,
		`f.csv:4: column status: "empty": a weight of the row says lost; write the status empty only where nothing was found`,
		`f.csv:5: column status: "lost": every component of the row has a weight; write lost in the cell of the weight that was lost, and leave the status empty`,
		`f.csv:6: column components_sampled: "herbaceous": does not name browse, which the row has; add it, or correct the component`,
	})
	wantLines(t, "records", showAll(r.records), []string{"7 6 herbaceous green 1 on 9.6 ft2", "7 6 browse green 2 dry 1 on 9.6 ft2"})
}

func TestWideSpecies(t *testing.T) {
	r := readString(t, Clippings, `site,date,frame,herbaceous_green_g,browse:sage1_green_g,"browse:Green Ash_green_g",browse:Green Ash_dry_g,browse_green_g
Upper Bench,2019-06-03,1,1,2,,,
Upper Bench,2019-06-03,2,1,,,,
Upper Bench,2019-06-03,3,1,,3,2,
Upper Bench,2019-06-03,4,1,lost,0,,
Upper Bench,2019-06-03,5,1,,,,7
Upper Bench,2019-06-03,6,1,5,,,7
`, Options{})
	wantLines(t, "problems", r.problems, []string{
		`f.csv:7: column browse_green_g: "7": stands beside weights of species of the same component; keep the species or their total, not both`})
	wantLines(t, "notices", r.summary.Notices, []string{`species "sage1" was taken as "SAGE1", which the ledger knows`})
	const on = " on 9.6 ft2"
	wantLines(t, "records", showAll(r.records), []string{
		"2 1 herbaceous green 1" + on, "2 1 browse:SAGE1 green 2" + on,
		"3 2 herbaceous green 1" + on, "3 2 browse missing" + on,
		"4 3 herbaceous green 1" + on, "4 3 browse:Green Ash green 3 dry 2" + on,
		"5 4 herbaceous green 1" + on, "5 4 browse:Green Ash green 0" + on, "5 4 browse:SAGE1 lost" + on,
		"6 5 herbaceous green 1" + on, "6 5 browse green 7" + on,
	})
}

// What a wide row says for all, and for one component alone.
func TestWideOwnColumns(t *testing.T) {
	r := readString(t, Clippings, `site,date,frame,frame_type,stage,dm_pct,bag,herbaceous_green_gross_g,herbaceous_tare_g,herbaceous_stage,herbaceous_growth_form,herbaceous_dm_pct,browse_dry_gross_g,browse_frame_type,browse_bag,tare_g
Upper Bench,2019-06-03,1,0.25 m2,heading,40,b1,30,10,seed-ripe,grass-cool,55,28,435.6 ft2,b2,8
Upper Bench,2019-06-03,2,,heading,40,b1,30,10,,,,,,,8
Upper Bench,2019-06-03,3,,heading,40,b1,30,10,bad,bad,101,,bad,,8
`, Options{})
	wantLines(t, "problems", r.problems, []string{
		`f.csv:4: column herbaceous_stage: "bad": is not a known stage of growth; known stages are full-leaf, heading, pre-heading and seed-ripe; stages come from the book tables: import book-values that have it`,
		`f.csv:4: column herbaceous_growth_form: "bad": is not a known growth form; known growth forms are forb-leafy, grass-cool and shrub-evergreen; growth forms come from the book tables: import book-values that have it`,
		`f.csv:4: column herbaceous_dm_pct: "101": must be above 0 and at most 100 %; check the digits, the unit and the column`,
		`f.csv:4: column browse_frame_type: "bad": is not a known frame type; known frame types are 9.6 ft2 and ring 2019; write its area with the unit, as in "9.6 ft2" or "0.25 m2", or import a frame-types file that has it`,
	})
	want := []schema.Clipping{full(2, "1", schema.Herbaceous), full(2, "1", schema.Browse), full(3, "2", schema.Herbaceous), full(3, "2", schema.Browse)}
	for i := range want {
		want[i].Stage, want[i].DMPct, want[i].Bag = "heading", schema.Some(40), "b1"
	}
	want[0].FrameType, want[0].GreenG, want[0].Stage, want[0].GrowthForm, want[0].DMPct = "0.25 m2", schema.Some(20), "seed-ripe", "grass-cool", schema.Some(55)
	want[1].FrameType, want[1].DryG, want[1].Bag = "435.6 ft2", schema.Some(20), "b2"
	want[2].GreenG = schema.Some(20)
	want[3].MissingCell = true
	wantRecords(t, r.records, want)
}

func TestWidePerArea(t *testing.T) {
	r := readString(t, Clippings, "site,year,frame,herbaceous_dry_kg_ha,browse_dry_lb_ac\nUpper Bench,2019,1,100,\nUpper Bench,2019,2,50001,1\n", Options{})
	wantLines(t, "records", showAll(r.records), []string{"2 1 herbaceous dry 10 per m2", "2 1 browse missing"})
	wantLines(t, "problems", r.problems, []string{`f.csv:3: column herbaceous_dry_kg_ha: "50001": is 5000.1 g/m², more than vegetation can weigh (5000 g/m²); check the decimal point, the unit and the column`})
}

// Names of wide columns, and what is no such name.
func TestWideNames(t *testing.T) {
	k := clippingKind()
	for name, want := range map[string]string{
		"herbaceous_green_g":             "herbaceous_green_g",
		"Standing Dead Dry Kg Ha":        "standing-dead_dry_kg_ha",
		"standing_dead_dry_gross_oz":     "standing-dead_dry_gross_oz",
		"StandingDead_tare_g":            "standing-dead_tare_g",
		"browse:SAGE1_green_g":           "browse:SAGE1_green_g",
		"browse: green_ash _green_kg_ha": "browse:green_ash_green_kg_ha",
		"Browse:SAGE1 Dry Gross G":       "browse:SAGE1_dry_gross_g",
		"browse_growth_form":             "browse_growth_form",
		"browse:SAGE1_stage":             "",
		"browse:_green_g":                "",
		"browse:SAGE1":                   "",
		"shrub_green_g":                  "",
		"shrub:SAGE1_green_g":            "",
		"herbaceous":                     "",
		"herbaceous_g":                   "",
		"herbaceous_site":                "",
	} {
		if c, ok := k.column(name); c.name != want || ok != (want != "") {
			t.Errorf("%q: column %q, want %q", name, c.name, want)
		}
	}
}

func TestWideHeaderProblems(t *testing.T) {
	const has = `; the file has "site", "year", "frame", `
	for _, c := range []struct{ columns, want string }{
		{"component,herbaceous_green_g", `column component (one row a bag) stands beside herbaceous_green_g (one row a frame); use one layout: ignore the columns of the other with --ignore, or split the file`},
		{"green_g,browse_dry_g", `column green_g (one row a bag) stands beside browse_dry_g (one row a frame); use one layout: ignore the columns of the other with --ignore, or split the file`},
		{"herbaceous_green_g,herbaceous_green_oz", `columns 4 "herbaceous_green_g" and 5 "herbaceous_green_oz" both give the same thing (herbaceous_green_g and herbaceous_green_oz); leave one out with --ignore "herbaceous_green_oz"`},
		{"herbaceous_stage", `a column is missing: herbaceous_green_g (or another weight of a component); name yours with --map herbaceous_green_g="...", or give one value for all rows with --set herbaceous_green_g="..."` + has + `"herbaceous_stage"`},
		{"species,browse:SAGE1_green_g", `column species stands beside browse:SAGE1_green_g, which names its species itself; leave one out with --ignore`},
		{"browse_green_gross_g", `a column is missing: tare_g (the empty bag, to take off browse_green_gross_g); name yours with --map tare_g="...", or give one value for all rows with --set tare_g="..."` + has + `"browse_green_gross_g"`},
		{"\"browse:SA\x01GE_green_g\"", `the species in column "browse:SA\x01GE_green_g" has a control character (U+0001) in it; remove it; retyping the cell is enough`},
	} {
		r := readString(t, Clippings, "site,year,frame,"+c.columns+"\nA,2019,1,2,3\n", Options{})
		wantLines(t, c.columns, r.problems, []string{"f.csv:1: " + c.want})
	}
	r := readString(t, Clippings, "site,year,frame,herbaceous_dry_kg_ha,browse_tare_g,litter_stage\nA,2019,1,2,3,heading\n", Options{})
	wantLines(t, "records", showAll(r.records), []string{"2 1 herbaceous dry 0.2 per m2"})
	wantLines(t, "notices", r.summary.Notices, []string{
		`column litter_stage was ignored: the file has no weight of litter`,
		`browse_tare_g was not taken off: weights are net unless their columns say gross; if the bag is in them, say --map green_gross_g=...`,
	})
	r = readString(t, Clippings, "site,year,frame,herbaceous_dry_kg_ha,tare_g,browse:SAGE1,herbaceous_g\nA,2019,1,2,3,4,5\n", Options{})
	wantLines(t, "notices", r.summary.Notices, []string{
		`column "browse:SAGE1" is not known and was ignored; a column of one species is named with its weight, as in browse:CODE_green_g`,
		`column "herbaceous_g" is not known and was ignored; if it is herbaceous_green_g, add --map herbaceous_green_g="herbaceous_g"`,
		`tare_g was not taken off: weights are net unless their columns say gross; if the bag is in them, say --map green_gross_g=...`,
	})
}
