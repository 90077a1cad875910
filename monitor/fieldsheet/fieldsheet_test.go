package fieldsheet

import (
	"bytes"
	"encoding/csv"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/xuri/excelize/v2"

	"clipledger/monitor"
	"clipledger/monitor/intake"
	"clipledger/schema"
)

var update = flag.Bool("update", false, "write the golden files anew")

// sampleBook has one of everything a sheet can show: two transects, a caged
// and an open frame, species apart, last year's weights, text that would like
// to be more than text, and a second site; frames says how many each transect
// has.
func sampleBook(frames int) *Book {
	first := monitor.FieldSheet{
		Site: &schema.SiteRecord{Site: "K1", Name: "Kettle & <b>Pan</b>", Stratum: "Hills", Placement: "same"}, Year: 2025, Season: "peak", LastYear: 2024,
		Reminders: []string{"Last time: 2024-07-01 to 2024-07-02", "Frame: 0.25 m2", "Edge rule: plants rooted in the frame"},
		Cares:     []string{"The same spots as last time: find each one's mark"}, Species: []string{"AAAA1", "=B()"},
	}
	for _, transect := range []string{"T1", "T2"} {
		for f := 1; f <= frames; f++ {
			for _, species := range []string{"AAAA1", "=B()"} {
				first.Lines = append(first.Lines, monitor.FieldLine{Transect: transect, Frame: fmt.Sprintf("%02d", f), Caged: f == 2, FrameType: "0.25 m2", Component: schema.Herbaceous, Species: species,
					LastYear: 2024, LastGreenG: schema.Some(12.25 * float64(f)), LastEdgeRule: "rooted", LastHeightCM: schema.Some(2.5)})
			}
			first.Lines = append(first.Lines, monitor.FieldLine{Transect: transect, Frame: fmt.Sprintf("%02d", f), Caged: f == 2, FrameType: "0.25 m2", Component: schema.Browse})
		}
	}
	second := monitor.FieldSheet{Site: &schema.SiteRecord{Site: "K2", Placement: "new"}, Year: 2025, Season: "fall", Reminders: []string{"Nothing was clipped here before"},
		Lines: []monitor.FieldLine{{Transect: "1", Frame: "1", FrameType: "9.6 ft2", Component: schema.Browse, FramesInBag: 3, Treatment: "burnt"}}}
	return &Book{LedgerName: "Small <ledger>", Basis: "oven-dry", LastYear: true, Scale: Scales[0], Stages: []string{"heading", "dry"}, Sheets: []monitor.FieldSheet{first, second}}
}

// made writes a book in all forms.
func made(t *testing.T, b *Book) map[string][]byte {
	t.Helper()
	out := map[string][]byte{}
	for form, write := range map[string]func() ([]byte, error){"html": b.HTML, "csv": b.CSV, "xlsx": b.XLSX} {
		content, err := write()
		if err != nil {
			t.Fatal(err)
		}
		out[form] = content
	}
	return out
}

// TestGolden compares page and CSV of the sample, byte for byte. After a wanted
// change: go test ./monitor/fieldsheet -run Golden -update, and read the diff.
func TestGolden(t *testing.T) {
	estimates := sampleBook(2)
	estimates.Estimates, estimates.LastYear = true, false
	for name, book := range map[string]*Book{"clipping": sampleBook(2), "estimates": estimates} {
		files := made(t, book)
		for _, form := range []string{"html", "csv"} {
			path := filepath.Join("testdata", name+"."+form)
			if *update {
				if err := os.MkdirAll("testdata", 0o755); err != nil {
					t.Fatal(err)
				}
				if err := os.WriteFile(path, files[form], 0o644); err != nil {
					t.Fatal(err)
				}
			}
			want, err := os.ReadFile(path)
			if err != nil {
				t.Fatal(err)
			}
			if !bytes.Equal(files[form], want) {
				t.Errorf("%s is not what was made; -update writes it anew:\n%s", path, files[form])
			}
		}
	}
}

// The same ledger gives the same bytes, workbooks included.
func TestSameBytes(t *testing.T) {
	a, b := made(t, sampleBook(3)), made(t, sampleBook(3))
	for form := range a {
		if !bytes.Equal(a[form], b[form]) {
			t.Errorf("%s differs from one time to the next", form)
		}
	}
}

// A sheet for estimates has no weight, whatever its lines know.
func TestEstimatesShowNoWeight(t *testing.T) {
	b := sampleBook(2)
	b.Estimates, b.LastYear = true, false
	files := made(t, b)
	f, err := excelize.OpenReader(bytes.NewReader(files["xlsx"]))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	text := string(files["html"]) + string(files["csv"])
	for _, name := range f.GetSheetList() {
		rows, err := f.GetRows(name)
		if err != nil {
			t.Fatal(err)
		}
		text += fmt.Sprint(rows)
	}
	for _, word := range []string{"12.25", "24.5", "tare", "gross", "dry_", "last_time", "last green", ">green<", ",green_g"} {
		if strings.Contains(text, word) {
			t.Errorf("the sheet for estimates says %q", word)
		}
	}
	if !strings.Contains(text, "estimate_green_g") || !strings.Contains(text, "K1") {
		t.Error("the sheet for estimates has no column to estimate in, or no site")
	}
}

// Every column that a sheet does not show of last time is one that import
// knows, and those it shows are the ones that import leaves alone.
func TestColumnsAreThoseOfImport(t *testing.T) {
	for _, scale := range Scales {
		b := sampleBook(2)
		b.Scale = scale
		files := made(t, b)
		path := filepath.Join(t.TempDir(), "sheet.csv")
		if err := os.WriteFile(path, files["csv"], 0o600); err != nil {
			t.Fatal(err)
		}
		f, err := intake.Open(path)
		if err != nil {
			t.Fatal(err)
		}
		defer f.Close()
		records := 0
		v := &schema.Vocabulary{FrameTypes: map[string]float64{"0.25 m2": 0.25}, Seasons: map[string]bool{"fall": true}, Basis: "air-dry"}
		sum, err := intake.Clippings(f, intake.Options{}, v, func(c schema.Clipping) error {
			records++
			if c.HasWeight() || c.Status != schema.StatusLost {
				t.Errorf("a line that is blank comes in with a weight or as %q: %+v", c.Status, c)
			}
			if c.Species != "" && c.Species != "AAAA1" && c.Species != "=B()" {
				t.Errorf("the species came back as %q", c.Species)
			}
			return nil
		}, func(p schema.Problem) { t.Errorf("import: %v", p) })
		if err != nil || records != 13 {
			t.Errorf("%d records, want 13: %v", records, err)
		}
		ignored := 0
		for _, n := range sum.Notices {
			if strings.Contains(n, "last_time_") {
				ignored++
			} else if !strings.Contains(n, "13 rows were found without a weight and a status") {
				t.Errorf("%s: import is surprised: %s", scale.Name, n)
			}
		}
		if ignored != 5 {
			t.Errorf("import tells of %d columns of last time, want 5: %v", ignored, sum.Notices)
		}
	}
}

// The workbook: a frozen header, lists to choose from, notes beside, and labels
// that stay text.
func TestWorkbook(t *testing.T) {
	f, err := excelize.OpenReader(bytes.NewReader(made(t, sampleBook(2))["xlsx"]))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	panes, err := f.GetPanes(dataSheet)
	if err != nil || !panes.Freeze || panes.YSplit != 1 {
		t.Errorf("the header is not frozen: %+v %v", panes, err)
	}
	rules, err := f.GetDataValidations(dataSheet)
	if err != nil {
		t.Fatal(err)
	}
	lists := ""
	for _, r := range rules {
		lists += r.Formula1 + "\n"
	}
	for _, want := range []string{"empty,lost", "heading,dry", "herbaceous,browse,standing-dead,litter", "rooted,vertical"} {
		if !strings.Contains(lists, want) {
			t.Errorf("no list to choose from has %q:\n%s", want, lists)
		}
	}
	rows, err := f.GetRows(dataSheet)
	if err != nil {
		t.Fatal(err)
	}
	if rows[1][4] != "01" {
		t.Errorf("the frame 01 became %q", rows[1][4])
	}
	if kind, err := f.GetCellType(dataSheet, "E2"); err != nil || kind != excelize.CellTypeSharedString && kind != excelize.CellTypeInlineString {
		t.Errorf("the frame is no text in the workbook: %v %v", kind, err)
	}
	notes, err := f.GetRows(intake.NotesSheet)
	if err != nil || !strings.Contains(fmt.Sprint(notes), "nothing is left in an oven unattended") || !strings.Contains(fmt.Sprint(notes), "lost: missing, never zero") {
		t.Errorf("the notes lack the cautions or what a blank line is: %v %v", notes, err)
	}
	comments, err := f.GetComments(dataSheet)
	if err != nil || len(comments) < 10 {
		t.Errorf("%d headings have a note: %v", len(comments), err)
	}
}

// The CSV begins with a byte order mark only where its letters need one.
func TestByteOrderMark(t *testing.T) {
	b := sampleBook(1)
	if raw := made(t, b)["csv"]; raw[0] != 's' {
		t.Errorf("a plain file begins with %q", raw[:3])
	}
	b.Sheets[1].Lines[0].Treatment = "brûlé"
	raw := made(t, b)["csv"]
	if !bytes.HasPrefix(raw, []byte("\ufeffsite,")) {
		t.Errorf("a file with letters beyond ASCII begins with %q", raw[:8])
	}
	if rows, err := csv.NewReader(bytes.NewReader(raw)).ReadAll(); err != nil || len(rows) != 8 {
		t.Errorf("%d rows: %v", len(rows), err)
	}
}
