package main

import (
	"encoding/csv"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/xuri/excelize/v2"
)

// What goes out as a field sheet must come back, filled in by whoever, without
// a map and without a doubt: these tests fill sheets in as a technician would
// and compare the means with sums done by hand.

// sheetLedger makes a ledger with one site of five frames, clipped in 2024:
// two herbaceous species kept apart, browse as a whole.
func sheetLedger(t *testing.T) (ledger, dir string) {
	t.Helper()
	dir = t.TempDir()
	ledger = filepath.Join(dir, "l.db")
	writeText(t, filepath.Join(dir, "sites.csv"), "site,name,frame_type,components,placement,sampling_unit\nR,Reed bench,0.25 m2,herbaceous;browse,same,frame\n")
	rows := "site,date,frame,component,species,green_g,edge_rule,clip_height_cm\n"
	for _, f := range []string{"1", "2", "3", "4", "10"} {
		rows += "R,2024-07-01," + f + ",herbaceous,A1,71.5,rooted,2\nR,2024-07-01," + f + ",herbaceous,B1,73.25,rooted,2\nR,2024-07-01," + f + ",browse,,79,rooted,2\n"
	}
	writeText(t, filepath.Join(dir, "clip.csv"), rows)
	mustRun(t, "--ledger", ledger, "import", "sites", filepath.Join(dir, "sites.csv"))
	mustRun(t, "--ledger", ledger, "import", "clippings", filepath.Join(dir, "clip.csv"))
	mustRun(t, "--ledger", ledger, "settings", "--yes", "fallback-herbaceous=50", "fallback-browse=50")
	return ledger, dir
}

func writeText(t *testing.T, path, text string) {
	t.Helper()
	if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
}

// fillIn is what the technician writes in a line, by frame, component and
// species. Frame 10 was not reached. Of frame 2 the browse was lost; frame 3
// was empty. At 50 % dry on 0.25 m² a green gram is 2 g/m².
var fillIn = map[string]map[string]string{
	"1 herbaceous A1": {"green_gross_g": "14", "tare_g": "4", "stage": "heading", "observer": "Ada", "date": "2025-07-02", "clip_height_cm": "2"},
	"1 herbaceous B1": {"green_g": "0"},
	"1 browse ":       {"green_g": "6", "note": "=not a formula"},
	"2 herbaceous A1": {"green_g": "20", "components_sampled": "herbaceous;browse"},
	"2 herbaceous B1": {"status": "empty"},
	"2 browse ":       {"status": "lost"},
	"3 herbaceous A1": {"status": "empty"},
	"3 herbaceous B1": {"status": "empty"},
	"3 browse ":       {"status": "empty"},
	"4 herbaceous A1": {"green_g": "8"},
	"4 herbaceous B1": {"green_g": "2"},
	"4 browse ":       {"green_g": "4"},
}

// added is the line of a species that the sheet did not foresee.
var added = map[string]string{"site": "R", "year": "2025", "season": "peak", "transect": "1", "frame": "4", "frame_type": "0.25 m2", "component": "herbaceous", "species": "C1", "green_g": "4"}

// filledMeans are the means in g/m²: herbaceous (10+0, 20+0, 0, 8+2+4) green
// grams, browse 6, lost, 0, 4.
const (
	filledHerbaceous = (2*10.0 + 2*20 + 0 + 2*14) / 4
	filledBrowse     = (2*6.0 + 0 + 2*4) / 3
)

// fillCSV fills a CSV sheet in and returns how many lines it has.
func fillCSV(t *testing.T, path string) int {
	t.Helper()
	raw, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	rows, err := csv.NewReader(strings.NewReader(string(raw))).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	at := map[string]int{}
	for i, name := range rows[0] {
		at[name] = i
	}
	met := 0
	for _, row := range rows[1:] {
		for name, value := range fillIn[row[at["frame"]]+" "+row[at["component"]]+" "+row[at["species"]]] {
			if name == "note" {
				value = "'" + value
			}
			row[at[name]] = value
			met++
		}
	}
	if met < len(fillIn) {
		t.Fatalf("only %d cells of the sheet could be filled in: %v", met, rows)
	}
	last := make([]string, len(rows[0]))
	for name, value := range added {
		last[at[name]] = value
	}
	var out strings.Builder
	w := csv.NewWriter(&out)
	if err := w.WriteAll(append(rows, last)); err != nil {
		t.Fatal(err)
	}
	writeText(t, path, out.String())
	return len(rows) - 1
}

// fillXLSX fills a workbook in as a spreadsheet program would: numbers are
// numbers, days are days.
func fillXLSX(t *testing.T, path string) int {
	t.Helper()
	f, err := excelize.OpenFile(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	const sheet = "Field sheet"
	rows, err := f.GetRows(sheet)
	if err != nil {
		t.Fatal(err)
	}
	at := map[string]int{}
	for i, name := range rows[0] {
		at[name] = i
	}
	day, err := f.NewStyle(&excelize.Style{NumFmt: 14})
	if err != nil {
		t.Fatal(err)
	}
	set := func(row int, name, value string) {
		cell, err := excelize.CoordinatesToCellName(at[name]+1, row)
		if err != nil {
			t.Fatal(err)
		}
		var v any = value
		if n, err := strconv.ParseFloat(value, 64); err == nil && name != "frame" {
			v = n
		}
		if name == "date" {
			if v, err = time.Parse(time.DateOnly, value); err != nil {
				t.Fatal(err)
			}
		}
		if err := f.SetCellValue(sheet, cell, v); err != nil {
			t.Fatal(err)
		}
		if name == "date" {
			if err := f.SetCellStyle(sheet, cell, cell, day); err != nil {
				t.Fatal(err)
			}
		}
	}
	for i, row := range rows[1:] {
		cell := func(name string) string {
			if at[name] < len(row) {
				return row[at[name]]
			}
			return ""
		}
		for name, value := range fillIn[cell("frame")+" "+cell("component")+" "+cell("species")] {
			set(i+2, name, value)
		}
	}
	for name, value := range added {
		set(len(rows)+1, name, value)
	}
	if err := f.Save(); err != nil {
		t.Fatal(err)
	}
	return len(rows) - 1
}

// meansOf reads n, mean and missing of 2025 by component.
func meansOf(t *testing.T, ledger string) map[string][3]float64 {
	t.Helper()
	o := mustRun(t, "--ledger", ledger, "means", "--year", "2025", "--units", "g/m2", "--format", "csv")
	rows, err := csv.NewReader(strings.NewReader(o.out)).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	at := func(name string) int { return slices.Index(rows[0], name) }
	out := map[string][3]float64{}
	for _, r := range rows[1:] {
		var v [3]float64
		for i, name := range []string{"n", "mean", "missing"} {
			if v[i], err = strconv.ParseFloat(r[at(name)], 64); err != nil {
				v[i] = math.NaN()
			}
		}
		out[r[at("component")]] = v
	}
	return out
}

func TestSheetRoundTrip(t *testing.T) {
	for _, c := range []struct {
		form, unfilled string
		herb, browse   [3]float64 // n, mean, missing
		says           string
	}{
		{"csv", "", [3]float64{4, filledHerbaceous, 1}, [3]float64{3, filledBrowse, 2}, "3 rows were found without a weight and a status (first in line 14) and counted as lost: missing, never zero"},
		{"xlsx", "", [3]float64{4, filledHerbaceous, 1}, [3]float64{3, filledBrowse, 2}, "3 rows were found without a weight and a status (first in row 14) and counted as lost: missing, never zero"},
		{"csv", "left-out", [3]float64{4, filledHerbaceous, 0}, [3]float64{3, filledBrowse, 1}, "3 rows were found without a weight and a status and left out"},
		{"xlsx", "left-out", [3]float64{4, filledHerbaceous, 0}, [3]float64{3, filledBrowse, 1}, "3 rows were found without a weight and a status and left out"},
	} {
		t.Run(c.form+c.unfilled, func(t *testing.T) {
			ledger, dir := sheetLedger(t)
			path := filepath.Join(dir, "sheet."+c.form)
			mustRun(t, "--ledger", ledger, "sheet", path, "--last-year")
			fill := fillCSV
			if c.form == "xlsx" {
				fill = fillXLSX
			}
			if n := fill(t, path); n != 15 {
				t.Errorf("the sheet has %d lines, want 15: five frames of two species and browse", n)
			}
			args := []string{"--ledger", ledger, "import", "clippings", path}
			if c.unfilled != "" {
				args = append(args, "--unfilled", c.unfilled)
			}
			o := mustRun(t, args...)
			for _, want := range []string{c.says, `"last_time_green_g" shows what was recorded last time and was ignored`} {
				if !strings.Contains(o.err, want) {
					t.Errorf("import does not say %q:\n%s", want, o.err)
				}
			}
			if strings.Contains(o.err, "--map") || strings.Contains(o.err, "created") {
				t.Errorf("import finds something strange in a sheet of ours:\n%s", o.err)
			}
			got := meansOf(t, ledger)
			for component, want := range map[string][3]float64{"herbaceous": c.herb, "browse": c.browse} {
				for i := range want {
					if !(math.Abs(got[component][i]-want[i]) < 1e-9) {
						t.Errorf("%s: n, mean, missing are %v, want %v", component, got[component], want)
						break
					}
				}
			}
			if o := mustRun(t, args...); !strings.Contains(o.out, "nothing changed") {
				t.Errorf("the same sheet again: %s", o.out)
			}
			mustRun(t, "--ledger", ledger, "verify")
			if o := mustRun(t, "--ledger", ledger, "means", "--by", "observer", "--year", "2025", "--format", "csv"); !strings.Contains(o.out, "Ada") {
				t.Errorf("the observer did not come back:\n%s", o.out)
			}
		})
	}
}

// A sheet that nobody filled in brings no weight, whatever last year's columns
// show: neither as this year's nor as zeros.
func TestSheetLastYearNeverComesIn(t *testing.T) {
	ledger, dir := sheetLedger(t)
	for _, form := range []string{"csv", "xlsx"} {
		path := filepath.Join(dir, "sheet."+form)
		mustRun(t, "--ledger", ledger, "sheet", path, "--last-year", "--year", "2025")
		if form == "csv" {
			raw, err := os.ReadFile(path)
			if err != nil || !strings.Contains(string(raw), ",71.5,") {
				t.Fatalf("the sheet does not show last year's weights: %v\n%s", err, raw)
			}
		}
		o := mustRun(t, "--ledger", ledger, "import", "clippings", path)
		if !strings.Contains(o.err, "15 rows were found without a weight and a status") {
			t.Errorf("%s: import does not count the lines that are blank:\n%s", form, o.err)
		}
		for component, m := range meansOf(t, ledger) {
			if m[0] != 0 || !math.IsNaN(m[1]) {
				t.Errorf("%s: %s has n %g and mean %g out of a blank sheet", form, component, m[0], m[1])
			}
		}
		mustRun(t, "--ledger", ledger, "undo", strconv.Itoa(importsOf(t, ledger)))
	}
	guess := mustRun(t, "--ledger", ledger, "import", "clippings", "--guess", filepath.Join(dir, "sheet.csv"))
	if strings.Contains(guess.out, "last_time") {
		t.Errorf("a map is proposed for last year's weights:\n%s", guess.out)
	}
}

// importsOf is the number of the last import.
func importsOf(t *testing.T, ledger string) int {
	t.Helper()
	o := mustRun(t, "--ledger", ledger, "history", "--format", "csv")
	lines := strings.Split(strings.TrimSpace(o.out), "\n")
	n, err := strconv.Atoi(strings.SplitN(lines[len(lines)-1], ",", 2)[0])
	if err != nil {
		t.Fatal(err)
	}
	return n
}

// Text that would like to be more than text goes out harmless and comes back
// as it was.
func TestSheetHostileText(t *testing.T) {
	dir := t.TempDir()
	ledger := filepath.Join(dir, "l.db")
	writeText(t, filepath.Join(dir, "clip.csv"), "site,date,transect,frame,frame_type,component,species,dry_g,treatment\n"+
		"=cmd(),2024-07-01,@T,-1,0.25 m2,herbaceous,+S,10,<script>alert(1)</script>\n"+
		"\"</style><script>alert(2)</script>\",2024-07-01,1,../../x,0.25 m2,herbaceous,,10,\n"+
		"../../up,2024-07-01,1,é 01,0.25 m2,herbaceous,,10,\n")
	mustRun(t, "--ledger", ledger, "import", "clippings", filepath.Join(dir, "clip.csv"))
	out := filepath.Join(dir, "out", "sheets")
	mustRun(t, "--ledger", ledger, "sheet", out)
	names, err := os.ReadDir(out)
	if err != nil {
		t.Fatal(err)
	}
	if len(names) != 9 {
		t.Errorf("%d files, want three of three sites", len(names))
	}
	if up, err := os.ReadDir(filepath.Join(dir, "out")); err != nil || len(up) != 1 {
		t.Errorf("something was written beside the folder: %v %v", up, err)
	}
	for _, e := range names {
		path := filepath.Join(out, e.Name())
		raw, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		switch filepath.Ext(path) {
		case ".html":
			if strings.Contains(string(raw), "<script") || strings.Count(string(raw), "</style>") != 1 {
				t.Errorf("%s holds markup that was typed", e.Name())
			}
		case ".csv":
			for _, row := range strings.Split(string(raw), "\n") {
				for _, cell := range strings.Split(row, ",") {
					if cell != "" && strings.ContainsAny(cell[:1], "=+-@") {
						t.Errorf("%s: the cell %q is a formula to a spreadsheet", e.Name(), cell)
					}
				}
			}
			fallthrough
		default:
			o := mustRun(t, "--ledger", ledger, "import", "clippings", "--dry-run", path)
			if strings.Contains(o.err, "created") {
				t.Errorf("%s names a site that is not the one it was made for:\n%s", e.Name(), o.err)
			}
		}
	}
}

// A sheet for estimates comes back too. Lines without an estimate are no
// estimates, and import says how many there were.
func TestEstimateSheetRoundTrip(t *testing.T) {
	for _, form := range []string{"csv", "xlsx"} {
		ledger, dir := sheetLedger(t)
		path := filepath.Join(dir, "eye."+form)
		mustRun(t, "--ledger", ledger, "sheet", path, "--for", "estimates", "--one-species", "--observer", "Wren")
		cells := map[string]string{"estimate_green_g": "12.5", "date": "2025-07-01"}
		if form == "csv" {
			raw, err := os.ReadFile(path)
			if err != nil {
				t.Fatal(err)
			}
			rows, err := csv.NewReader(strings.NewReader(string(raw))).ReadAll()
			if err != nil {
				t.Fatal(err)
			}
			for name, value := range cells {
				rows[1][slices.Index(rows[0], name)] = value
			}
			var out strings.Builder
			if err := csv.NewWriter(&out).WriteAll(rows); err != nil {
				t.Fatal(err)
			}
			writeText(t, path, out.String())
		} else {
			f, err := excelize.OpenFile(path)
			if err != nil {
				t.Fatal(err)
			}
			rows, err := f.GetRows("Field sheet")
			if err != nil {
				t.Fatal(err)
			}
			for name, value := range cells {
				cell, err := excelize.CoordinatesToCellName(slices.Index(rows[0], name)+1, 2)
				if err != nil {
					t.Fatal(err)
				}
				if err := f.SetCellValue("Field sheet", cell, value); err != nil {
					t.Fatal(err)
				}
			}
			if err := f.Save(); err != nil {
				t.Fatal(err)
			}
			f.Close()
		}
		o := mustRun(t, "--ledger", ledger, "import", "estimates", path)
		if !strings.Contains(o.out, "1 record added") || !strings.Contains(o.err, "9 rows have no estimate") || strings.Contains(o.err, "not known") {
			t.Errorf("%s: one estimate of ten lines comes in as\n%s%s", form, o.out, o.err)
		}
		mustRun(t, "--ledger", ledger, "verify")
	}
}
