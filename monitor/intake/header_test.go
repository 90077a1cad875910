package intake

import (
	"errors"
	"testing"
)

func TestHeaderProblems(t *testing.T) {
	for _, c := range []struct {
		name, header string
		options      Options
		want         []string
	}{
		{"nothing needed is there", "rep,biomass_grams", Options{}, []string{
			`f.csv:1: columns are missing: site; date or year; frame; component; a weight (green_g, dry_g, green_gross_g with tare_g, dry_kg_ha, ...); name yours with --map site="...", or give one value for all rows with --set site="..."; the file has "rep", "biomass_grams"`}},
		{"a title above the header", "Clipping 2019", Options{}, []string{
			`f.csv:1: columns are missing: site; date or year; frame; component; a weight (green_g, dry_g, green_gross_g with tare_g, dry_kg_ha, ...); name yours with --map site="...", or give one value for all rows with --set site="..."; the file has "Clipping 2019"`}},
		{"weight alone is missing", "site,year,frame,component", Options{}, []string{
			`f.csv:1: a column is missing: a weight (green_g, dry_g, green_gross_g with tare_g, dry_kg_ha, ...); name yours with --map green_g="...", or give one value for all rows with --set green_g="..."; the file has "site", "year", "frame", "component"`}},
		{"twice", "site,Site ,year,frame,component,dry_g", Options{}, []string{
			`f.csv:1: columns 1 "site" and 2 "Site" both give site; leave one out with --ignore "Site"`}},
		{"twice the same", "site,year,frame,component,dry_g,DRY_G,dry_g", Options{}, []string{
			`f.csv:1: columns 5 "dry_g" and 6 "DRY_G" both give dry_g; leave one out with --ignore "DRY_G"`,
			`f.csv:1: columns 5 "dry_g" and 7 "dry_g" both give dry_g; rename or remove one in the file`}},
		{"two units", "site,year,frame,component,dry_g,dry_oz", Options{}, []string{
			`f.csv:1: columns 5 "dry_g" and 6 "dry_oz" both give the same thing (dry_g and dry_oz); leave one out with --ignore "dry_oz"`}},
		{"two mapped to one", "site,year,frame,component,A,B", Options{Map: map[string]string{"dry_g": "A", "dry_oz": "B"}}, []string{
			`f.csv:1: columns 5 "A" and 6 "B" both give the same thing (dry_g and dry_oz); leave one out with --ignore "B"`}},
		{"map to nothing", "site,year,frame,component,Dry wt (g)", Options{Map: map[string]string{"dry_g": "Dry weight"}}, []string{
			`f.csv:1: the header has no column "Dry weight", which --map gives for dry_g; the file has "site", "year", "frame", "component", "Dry wt (g)"`}},
		{"map to two", "site,year,frame,component,A,A", Options{Map: map[string]string{"dry_g": "A"}}, []string{
			`f.csv:1: the header has 2 columns named "A", which --map gives for dry_g; rename all but one in the file`}},
		{"leave out by nothing", "site,year,frame,component,dry_g", Options{LeaveOut: map[string][]string{"rep": {"1"}}}, []string{
			`f.csv:1: the header has no column "rep", which --leave-out goes by; the file has "site", "year", "frame", "component", "dry_g"`}},
		{"leave out by two", "site,year,frame,component,dry_g,A,A", Options{LeaveOut: map[string][]string{"A": {"1"}}}, []string{
			`f.csv:1: the header has 2 columns named "A", which --leave-out goes by; rename all but one in the file`}},
	} {
		r := readString(t, Clippings, c.header+"\nx,2019,1,browse,5,6\n", c.options)
		if !errors.Is(r.err, ErrUnreadable) {
			t.Errorf("%s: error %v, want ErrUnreadable", c.name, r.err)
		}
		wantLines(t, c.name, r.problems, c.want)
	}
}

func TestUsageErrors(t *testing.T) {
	for _, c := range []struct {
		name    string
		options Options
		want    string
	}{
		{"map", Options{Map: map[string]string{"dri_g": "x"}}, `--map dri_g: there is no column of that name (ours comes first, as in --map dry_g="Dry wt (g)"); did you mean dry_g?`},
		{"map, the wrong way round", Options{Map: map[string]string{"Total (all)": "dry_g"}}, `--map Total (all): there is no column of that name (ours comes first, as in --map dry_g="Dry wt (g)")`},
		{"set", Options{Set: map[string]string{"plot": "x"}}, `--set plot: there is no column of that name (ours comes first, as in --map dry_g="Dry wt (g)"); did you mean frame?`},
		{"set beside a column", Options{Set: map[string]string{"site": "x"}}, `--set site: the file has a column "Site" for it; leave --set away, or ignore the column with --ignore "Site"`},
		{"set beside another unit", Options{Set: map[string]string{"dry_oz": "5"}}, `--set dry_oz: the file has a column "dry_g" for it; leave --set away, or ignore the column with --ignore "dry_g"`},
		{"set twice", Options{Set: map[string]string{"green_g": "5", "green_oz": "5"}}, `--set gives both green_g and green_oz: give one of them`},
		{"map and ignore", Options{Map: map[string]string{"note": "extra"}, Ignore: []string{"extra"}}, `column "extra" is named by both --map and --ignore: name it once`},
		{"bad constant", Options{Set: map[string]string{"season": "pek"}}, `--set season="pek": is not a known season; did you mean peak? Known seasons are dormant, fall, peak, spring, summer and winter; a season of your own is declared first, in a site's components, as in herbaceous/late`},
		{"bad constant weight", Options{Set: map[string]string{"green_g": "-5"}}, `--set green_g="-5": a weight cannot be below zero; correct it, or empty the cell if it means missing`},
		{"bad constant note", Options{Set: map[string]string{"note": "a\x02"}}, `--set note="a\x02": has a control character (U+0002) in it; remove it; retyping the cell is enough`},
	} {
		r := readString(t, Clippings, "Site,year,frame,component,dry_g,extra\nUpper Bench,2019,1,browse,5,6\n", c.options)
		t.Log(c.name)
		wantUsage(t, r.err, c.want)
		wantLines(t, c.name, r.problems, nil)
	}
	r := readString(t, Rains, "station,year,rain_mm\nA,2019,6\n", Options{Set: map[string]string{"month": "13"}})
	wantUsage(t, r.err, `--set month="13": is not a month; write a number from 1 to 12`)
}

func TestNotices(t *testing.T) {
	r := readString(t, Clippings, "site;year;frame;component;dry_g;Dry wt (g);Plot photo;;extra;biomass;comments\nUpper Bench;2019;1;browse;5;4;;x;;;\n",
		Options{Map: map[string]string{"Dry G": "dry WT (g)"}, Ignore: []string{"EXTRA", "nowhere"}})
	wantLines(t, "problems", r.problems, nil)
	wantLines(t, "notices", r.summary.Notices, []string{
		`cells are separated by semicolons, not commas`,
		`--ignore "nowhere": the file has no such column`,
		`column "dry_g" was ignored, because --map takes dry_g from "Dry wt (g)"`,
		`column "Plot photo" is not known and was ignored`,
		`column 8 has no name and was ignored`,
		`column "biomass" is not known and was ignored; if it is dry_g, add --map dry_g="biomass"`,
		`column "comments" is not known and was ignored; if it is note, add --map note="comments"`,
	})
	if len(r.records) != 1 || r.records[0].DryG.Float64 != 4 {
		t.Errorf("records %+v, want the mapped weight, 4 g", r.records)
	}
	if r.summary.Delimiter != ';' || r.summary.Used["dry_g"] != "Dry wt (g)" {
		t.Errorf("summary %+v", r.summary)
	}
}

// A mapped column no longer counts under its own name.
func TestMapWins(t *testing.T) {
	r := readString(t, Clippings, "site,year,frame,component,green_g\nUpper Bench,2019,1,browse,5\n", Options{Map: map[string]string{"dry_g": "green_g"}})
	if len(r.records) != 1 || r.records[0].GreenG.Valid || r.records[0].DryG.Float64 != 5 {
		t.Errorf("records %+v, want 5 g dry and no green", r.records)
	}
}

func TestLeaveOut(t *testing.T) {
	content := "Site Code,rep,site,year,frame,component,dry_g\na,1,Upper Bench,2019,1,browse,bad\na,2,Upper Bench,2019,2,browse,5\nb,,Upper Bench,2019,3,browse,6\n"
	for name, c := range map[string]struct {
		leave map[string][]string
		want  []string
	}{
		"theirs":  {map[string][]string{"REP": {"1", " 1 "}}, []string{"2", "3"}},
		"ours":    {map[string][]string{"frame": {"1", "3"}}, []string{"2"}},
		"blank":   {map[string][]string{"rep": {""}, "dry_g": {"BAD"}}, []string{"2"}},
		"unknown": {map[string][]string{"site code": {"A"}}, []string{"3"}},
	} {
		r := readString(t, Clippings, content, Options{LeaveOut: c.leave})
		var frames []string
		for _, rec := range r.records {
			frames = append(frames, rec.Frame)
		}
		wantLines(t, name, frames, c.want)
		if r.summary.LeftOut != 3-len(c.want) || r.summary.Rows != 3 || len(r.problems) != 0 {
			t.Errorf("%s: summary %+v, problems %v", name, r.summary, r.problems)
		}
	}
	// By a constant of ours: all rows or none.
	r := readString(t, Rains, "station,year,rain_mm\nA,2019,6\n", Options{Set: map[string]string{"month": "5"}, LeaveOut: map[string][]string{"month": {"5"}}})
	if r.summary.LeftOut != 1 {
		t.Errorf("%d rows left out by a constant, want 1", r.summary.LeftOut)
	}
}
