package intake

import (
	"archive/zip"
	"bytes"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/xuri/excelize/v2"

	"clipledger/monitor/intake/booktest"
	"clipledger/schema"
)

// bookBytes makes a workbook.
func bookBytes(tb testing.TB, text string) []byte {
	tb.Helper()
	var b bytes.Buffer
	if err := booktest.Write(&b, text); err != nil {
		tb.Fatal(err)
	}
	return b.Bytes()
}

// remade copies a workbook with some of its parts changed.
func remade(tb testing.TB, book []byte, change func(name, content string) string) []byte {
	tb.Helper()
	r, err := zip.NewReader(bytes.NewReader(book), int64(len(book)))
	if err != nil {
		tb.Fatal(err)
	}
	var b bytes.Buffer
	w := zip.NewWriter(&b)
	for _, part := range r.File {
		in, err := part.Open()
		if err != nil {
			tb.Fatal(err)
		}
		content, err := io.ReadAll(in)
		if err != nil {
			tb.Fatal(err)
		}
		out, err := w.Create(part.Name)
		if err != nil {
			tb.Fatal(err)
		}
		if _, err := io.WriteString(out, change(part.Name, string(content))); err != nil {
			tb.Fatal(err)
		}
	}
	if err := w.Close(); err != nil {
		tb.Fatal(err)
	}
	return b.Bytes()
}

const longSheet = "site|date|frame|component|frame_type|dry_g|note\n"

// All that a sheet can hold is read as what it is.
func TestSheet(t *testing.T) {
	r := readString(t, Clippings, string(bookBytes(t, "Clippings of the Bench\n\n"+longSheet+
		"Upper Bench|d:45839|n:1|browse|9.6 ft2|n:8571.285714285714|x\n"+
		"Upper Bench|2025-07-02|n:1.1000000000000001|browse|9.6 ft2|f:6+6=12.25|\n"+
		"\n"+
		"Upper Bench|c:45840.75|A|browse|9.6 ft2|n:1E-2|s:1=\n"+
		"Upper Bench|i:2025-07-04T00:00:00|B|browse|9.6 ft2|12.5\n"+
		"# hide 5\n# hide 6\n")), Options{Dates: DatesMDY})
	wantLines(t, "problems", r.problems, nil)
	wantLines(t, "notices", r.summary.Notices, []string{
		"the header is in row 3; the row above it was passed over",
		"row 5 is hidden in the sheet and was read",
		"cell B7 has a time of day beside its date; times were left off"})
	var got []string
	for _, c := range r.records {
		got = append(got, fmt.Sprintf("%d %s %s %v %s", c.Line, c.Date, c.Frame, c.DryG.Float64, c.Note))
	}
	wantLines(t, "records", got, []string{"4 2025-07-01 1 8571.285714285714 x", "5 2025-07-02 1.1 12.25 ", "7 2025-07-02 A 0.01 ", "8 2025-07-04 B 12.5 "})
}

// Cells without a value that can be read are told by their names, each row
// with a problem once, and only where their column is used.
func TestSheetFaults(t *testing.T) {
	book := string(bookBytes(t, longSheet+
		"A|d:45839|n:1|browse|9.6 ft2|e:#N/A\n"+
		"A|d:45839|n:2|browse|9.6 ft2|f:B1+1\n"+
		"A|d:60|n:3|browse|9.6 ft2|n:1\n"+
		"A|d:45839|n:4|browse|9.6 ft2|b:1\n"+
		"A|d:45839|n:5|browse|9.6 ft2|n:1||extra\n"+
		"A|d:45839|n:6|browse|9.6 ft2|n:abc\n"+
		"A|d:45839|n:7|browse|9.6 ft2|n:1|e:#REF!\n"))
	r := readString(t, Clippings, book, Options{})
	wantLines(t, "problems", r.problems, []string{
		`f.csv:2: column dry_g: "#N/A": cell F2 holds a spreadsheet's error message; mend the formula and save the workbook again, or empty the cell`,
		`f.csv:3: column dry_g: "": cell F3 has a formula and no stored value; open the workbook in a spreadsheet program, let it calculate, and save it there`,
		`f.csv:4: column date: "60": cell B4 is shown as a date and is no day that exists; correct it, or give the cell the format of a number`,
		`f.csv:5: column dry_g: "TRUE": is not a number; write digits with a decimal point, as in 12.5, or empty the cell if the value is missing`,
		`f.csv:6: cell H6 holds "extra", right of the last column with a name; name its column, or empty it`,
		`f.csv:7: column dry_g: "abc": cell F7 should hold a number and does not; open the workbook in the program it came from, and type the cell again`,
		`f.csv:8: column note: "#REF!": cell G8 holds a spreadsheet's error message; mend the formula and save the workbook again, or empty the cell`,
	})
	if len(r.records) != 0 || r.summary.Refused != 7 {
		t.Errorf("records %+v, summary %+v", r.records, r.summary)
	}
	// A word for missing, and a column that is not used, do not refuse a row.
	r = readString(t, Clippings, book, Options{Ignore: []string{"note"}, Missing: []string{"#N/A"}})
	if len(r.records) != 2 || r.records[0].Line != 2 || r.records[1].Line != 8 {
		t.Errorf("records %+v, want those of rows 2 and 8", r.records)
	}
}

func TestSheetChoice(t *testing.T) {
	rain := "station|year|month|rain_mm\n"
	two := bookBytes(t, "# sheet 2024\n"+rain+"A|n:2024|n:1|n:5\n# sheet Empty\n# hidden Old\n"+rain+"A|n:2023|n:1|n:7\n")
	for _, c := range []struct {
		sheet, problem, notice string
		year                   int
	}{
		{"", `f.csv: 2 sheets hold something, and none is named; say --sheet "2024", or another: it has "2024" and "Old" (hidden)`, "", 0},
		{"none", `f.csv: the workbook has no sheet "none", which --sheet names; it has "2024", "Empty" and "Old" (hidden)`, "", 0},
		{"4", `f.csv: the workbook has no sheet "4", which --sheet names; it has "2024", "Empty" and "Old" (hidden)`, "", 0},
		{"2", `f.csv: the sheet "Empty" is empty; fill it, or name another sheet with --sheet`, "", 0},
		{"old", "", `read from the sheet "Old", which is hidden`, 2023},
		{"3", "", `read from the sheet "Old", which is hidden`, 2023},
		{"2024", "", `read from the sheet "2024"`, 2024},
	} {
		r := readString(t, Rains, string(two), Options{Sheet: c.sheet})
		if c.problem != "" {
			wantLines(t, c.sheet, r.problems, []string{c.problem})
			if !errors.Is(r.err, ErrUnreadable) {
				t.Errorf("%q: error %v", c.sheet, r.err)
			}
			continue
		}
		wantLines(t, c.sheet, r.problems, nil)
		wantLines(t, c.sheet, r.summary.Notices, []string{c.notice})
		if len(r.records) != 1 || r.records[0].Year != c.year {
			t.Errorf("%q: records %+v", c.sheet, r.records)
		}
	}
	r := readString(t, Rains, "station,year,month,rain_mm\nA,2020,1,5\n", Options{Sheet: "1"})
	wantLines(t, "text", r.summary.Notices, []string{"--sheet was not needed: this is not a workbook"})
}

func TestMergedCells(t *testing.T) {
	r := readString(t, Rains, string(bookBytes(t, "Rain|\nstation|year|month|rain_mm\nA|n:2020|n:1|n:5\n|n:2020|n:2|n:5\n# merge A1:B1\n# merge A3:A4\n")), Options{})
	if want := `f.csv:3: the cells A3:A4 are merged, so that all but the first of them are empty; unmerge them, write the value into each, and save the workbook`; !strings.Contains(strings.Join(r.problems, "\n"), want) || !errors.Is(r.err, ErrUnreadable) {
		t.Errorf("problems %q, error %v; want %s", r.problems, r.err, want)
	}
}

// The number of a day, worked out by hand and by calendar: 45839 is 1 July
// 2025 in both systems but for 1462 days.
func TestSerialDay(t *testing.T) {
	for _, c := range []struct {
		serial   float64
		from1904 bool
		want     string
		clock    bool
	}{
		{45839, false, "2025-07-01", false}, {44377, true, "2025-07-01", false}, {1, false, "1900-01-01", false}, {59, false, "1900-02-28", false},
		{60, false, "", false}, {61, false, "1900-03-01", false}, {0, false, "", false}, {0, true, "1904-01-01", false}, {-1, true, "", false},
		{45839.5, false, "2025-07-01", true}, {45838.999999, false, "2025-07-01", false}, {36585, false, "2000-02-29", false},
		{2958465, false, "9999-12-31", false}, {2958466, false, "", false},
	} {
		got, clock, ok := serialDay(c.serial, c.from1904)
		if got != c.want || ok != (c.want != "") || clock != c.clock {
			t.Errorf("%v (1904 %v): %q %v %v, want %q %v", c.serial, c.from1904, got, clock, ok, c.want, c.clock)
		}
	}
}

func TestDateCode(t *testing.T) {
	for code, want := range map[string]bool{
		"yyyy-mm-dd": true, "d/m/yy": true, "mmm": true, `[$-409]d\-mmm;@`: true, "m/d/yy h:mm": true,
		"General": false, "0.00": false, "h:mm": false, "mm:ss": false, "[h]:mm": false, `0.0"d"`: false, `0\d`: false, "[Red]0.0": false, `"unclosed`: false, "0;d": false,
	} {
		if got := dateCode(code); got != want {
			t.Errorf("%q: %v, want %v", code, got, want)
		}
	}
}

func TestSheet1904(t *testing.T) {
	r := readString(t, Clippings, string(bookBytes(t, "# 1904\n"+longSheet+"A|d:44377|n:1|browse|9.6 ft2|n:1\n")), Options{})
	if len(r.records) != 1 || r.records[0].Date != "2025-07-01" {
		t.Errorf("records %+v, problems %q", r.records, r.problems)
	}
}

// Texts that cells share, rich text, and parts so large that they go to the
// disk are read, as spreadsheets write them.
func TestSheetOfSharedTexts(t *testing.T) {
	x := excelize.NewFile()
	w, err := x.NewStreamWriter("Sheet1")
	if err != nil {
		t.Fatal(err)
	}
	const rows = 7_000
	for i := range rows {
		row := []any{"station", "year", "month", "rain_mm", strings.Repeat("filler ", 20)}
		if i > 0 {
			row = []any{fmt.Sprintf("Gauge %d", i/1200), 1900 + i/12%100, 1 + i%12, float64(i) / 8, strings.Repeat("filler ", 400)}
		}
		if err := w.SetRow(fmt.Sprintf("A%d", i+1), row); err != nil {
			t.Fatal(err)
		}
	}
	if err := w.Flush(); err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	if err := x.Write(&b); err != nil {
		t.Fatal(err)
	}
	before, _ := filepath.Glob(filepath.Join(os.TempDir(), "excelize-*"))
	r := readString(t, Rains, b.String(), Options{})
	wantLines(t, "problems", r.problems, nil)
	if n := len(r.records); n != rows-1 || r.records[n-1].RainMM != float64(rows-1)/8 {
		t.Errorf("%d records, last %+v", n, r.records[n-1])
	}
	if after, _ := filepath.Glob(filepath.Join(os.TempDir(), "excelize-*")); len(after) > len(before) {
		t.Errorf("temporary files are left behind: %d before, %d after", len(before), len(after))
	}
	y := excelize.NewFile()
	for i, row := range [][]any{{"species", "name"}, {"SAGE1", "big sagebrush"}} {
		if err := y.SetSheetRow("Sheet1", fmt.Sprintf("A%d", i+1), &row); err != nil {
			t.Fatal(err)
		}
	}
	if err := y.SetCellRichText("Sheet1", "B3", []excelize.RichTextRun{{Text: "Poa "}, {Text: "secunda"}}); err != nil {
		t.Fatal(err)
	}
	if err := y.SetCellStr("Sheet1", "A3", "POSE"); err != nil {
		t.Fatal(err)
	}
	b.Reset()
	if err := y.Write(&b); err != nil {
		t.Fatal(err)
	}
	s := readString(t, Species, b.String(), Options{})
	wantLines(t, "problems", s.problems, nil)
	if len(s.records) != 2 || s.records[1].Name != "Poa secunda" {
		t.Errorf("records %+v", s.records)
	}
	// An index beyond the texts is no blank cell.
	bad := remade(t, b.Bytes(), func(name, content string) string {
		if name == "xl/worksheets/sheet1.xml" {
			return strings.Replace(content, "<v>3</v>", "<v>99</v>", 1)
		}
		return content
	})
	s = readString(t, Species, string(bad), Options{})
	wantLines(t, "lost text", s.problems, []string{`f.csv:2: column name: "99": cell B2 refers to a text that the workbook does not have; open it in the program it came from, and type the cell again`})
}

// A workbook that is not whole is refused, not read in part.
func TestDamagedWorkbook(t *testing.T) {
	book := bookBytes(t, "station|year|month|rain_mm\nA|n:2020|n:1|n:5\nA|n:2020|n:2|n:6\n")
	inSheet := func(change func(string) string) []byte {
		return remade(t, book, func(name, content string) string {
			if name == "xl/worksheets/sheet1.xml" {
				return change(content)
			}
			return content
		})
	}
	for _, c := range []struct {
		name string
		book []byte
		want string
	}{
		{"cut off", book[:len(book)/2], "the workbook is damaged (it is cut off, or not a zipped file at all)"},
		{"another zipped file", func() []byte {
			var b bytes.Buffer
			w := zip.NewWriter(&b)
			if _, err := w.Create("clip.csv"); err != nil {
				t.Fatal(err)
			}
			if err := w.Close(); err != nil {
				t.Fatal(err)
			}
			return b.Bytes()
		}(), "this is a zipped file, but no workbook (XLSX)"},
		{"sheet breaks off", inSheet(func(s string) string { return s[:strings.Index(s, `<row r="3"`)] }), "breaks off after row 2"},
		{"rows out of order", inSheet(func(s string) string { return strings.Replace(s, `<row r="3"`, `<row r="1"`, 1) }), `row "1" comes after row 2`},
		{"row beyond all sheets", inSheet(func(s string) string { return strings.Replace(s, `<row r="3"`, `<row r="99999999"`, 1) }), "the workbook is damaged"},
		{"cells out of order", inSheet(func(s string) string { return strings.Replace(s, `r="D3"`, `r="A3"`, 1) }), `the cell "A3" stands in row 3`},
		{"cell in another row", inSheet(func(s string) string { return strings.Replace(s, `r="D3"`, `r="D7"`, 1) }), `the cell "D7" stands in row 3`},
		{"far right", inSheet(func(s string) string { return strings.Replace(s, `r="D3"`, `r="XFD3"`, 1) }), "further right than the 2000 columns"},
		{"elements not closed", inSheet(func(s string) string { return strings.Replace(s, `</c></row><row r="3"`, `</row><row r="3"`, 1) }), "damaged"},
		{"no sheet", remade(t, book, func(name, content string) string {
			if name == "xl/_rels/workbook.xml.rels" {
				return strings.Replace(content, "sheet1.xml", "sheet9.xml", 1)
			}
			return content
		}), "damaged"},
	} {
		r := readString(t, Rains, string(c.book), Options{})
		if !errors.Is(r.err, ErrUnreadable) || len(r.problems) == 0 || !strings.Contains(r.problems[len(r.problems)-1], c.want) {
			t.Errorf("%s: error %v, problems %q; want %q", c.name, r.err, r.problems, c.want)
		}
	}
}

// A small file that unpacks to a huge one is refused before it fills anything.
func TestWorkbookBomb(t *testing.T) {
	var b bytes.Buffer
	w := zip.NewWriter(&b)
	for name, size := range map[string]int{"[Content_Types].xml": 1, "xl/worksheets/sheet1.xml": 64 << 20} {
		part, err := w.Create(name)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := part.Write(make([]byte, size)); err != nil {
			t.Fatal(err)
		}
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	r := readString(t, Rains, b.String(), Options{})
	if len(r.problems) != 1 || !strings.Contains(r.problems[0], "million bytes, which no table of this packed size does; save the sheet as CSV, and import that") {
		t.Errorf("problems %q", r.problems)
	}
}

func TestSheetDecimalComma(t *testing.T) {
	r := readString(t, Rains, string(bookBytes(t, "station|year|month|rain_mm\nA|n:2020|n:1|n:5.25\nA|n:2020|n:2|6,5\nA|n:2020|n:3|7.5\n")), Options{DecimalComma: true})
	wantLines(t, "problems", r.problems, []string{`f.csv:4: column rain_mm: "7.5": has a decimal point, where --decimal-comma says that numbers have a comma; write 7,5 if that is meant, or leave --decimal-comma away if all numbers have a point`})
	if len(r.records) != 2 || r.records[0].RainMM != 5.25 || r.records[1].RainMM != 6.5 {
		t.Errorf("records %+v", r.records)
	}
}

func TestRejectedOfSheet(t *testing.T) {
	path := tempFile(t, string(bookBytes(t, "# sheet Notes\nx\n# sheet Rain\nTitle\nstation|year|month|rain_mm\nÅ|n:2020|n:1|n:5\nA|n:2020|n:2|n:-1\nA|d:45839|n:3|e:#N/A\n")))
	f, err := Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	reasons := map[int][]string{}
	_, err = Rains(f, Options{Sheet: "rain"}, testVocabulary(), func(schema.Rain) error { return nil },
		func(p schema.Problem) { reasons[p.Line] = append(reasons[p.Line], p.What) })
	if err != nil {
		t.Fatal(err)
	}
	name, err := f.WriteRejected(reasons)
	if err != nil {
		t.Fatal(err)
	}
	got, err := os.ReadFile(name)
	want := "\ufeffstation,year,month,rain_mm,reason\nA,2020,2,-1,is not rain that can fall in a month (0 to 10000 mm)\nA,2025-07-01,3,#N/A,cell D5 holds a spreadsheet's error message\n"
	if err != nil || string(got) != want || filepath.Base(name) != "f.csv.rejected.csv" {
		t.Errorf("%s: %q, %v; want %q", name, got, err, want)
	}
}

// Whatever a workbook holds, reading it ends, and what comes out keeps the
// rules of records.
func FuzzXLSX(f *testing.F) {
	for _, text := range []string{
		"Title\n\nsite|date|frame|component|frame_type|dry_g\nA|d:45839|n:1|browse|9.6 ft2|n:12.5\nA|c:45839.5|n:2|browse|9.6 ft2|e:#N/A\n# hide 5\n# merge A4:A5\n",
		"# 1904\n# sheet X\nsite|year|frame|browse_green_g|note\nA|n:2019|n:1|f:1+1=2|s:1=x\nA|n:2019|n:2|f:1+1|b:1\nA|i:2019-01-01|n:1e400|x|y|z\n# hidden Y\nq\n",
	} {
		book := bookBytes(f, text)
		f.Add(book, "")
		f.Add(book[:len(book)-30], "1")
		for _, old := range []string{`r="`, "<v>", "</row>", `s="1"`, "</sheetData>", `t="e"`} {
			f.Add(remade(f, book, func(name, content string) string {
				if strings.HasPrefix(name, "xl/worksheets/") {
					return strings.Replace(content, old, old[:len(old)-1], 1)
				}
				return content
			}), "")
		}
		// The fuzzer cannot pack: what it changes in a sheet is packed for it.
		f.Add([]byte(`<worksheet><sheetData><row r="1"><c r="A1" t="s"><v>0</v></c></row></sheetData></worksheet>`), "")
	}
	f.Fuzz(func(t *testing.T, content []byte, sheetName string) {
		defer bounded(t)()
		if !bytes.HasPrefix(content, []byte(zipMagic)) {
			inner := string(content)
			content = remade(t, bookBytes(t, "site\n"), func(name, old string) string {
				if name == "xl/worksheets/sheet1.xml" {
					return inner
				}
				return old
			})
		}
		path := tempFile(t, string(content))
		defer onlyThese(t, path)
		file, err := Open(path)
		if err != nil {
			t.Fatal(err)
		}
		defer file.Close()
		problems := 0
		sum, err := Clippings(file, Options{Sheet: sheetName}, testVocabulary(), func(c schema.Clipping) error {
			if c.Site == "" || c.Frame == "" || c.Line < 2 || c.Line > excelize.TotalRows || c.Date == "" && c.Year == 0 {
				t.Fatalf("record %+v", c)
			}
			goodText(t, c.Note, maxNoteLength)
			return nil
		}, func(p schema.Problem) {
			problems++
			if p.What == "" || p.Do == "" {
				t.Fatalf("problem %+v", p)
			}
		})
		switch {
		case err != nil && !errors.Is(err, ErrUnreadable):
			t.Fatalf("error %v", err)
		case err != nil && problems == 0, err == nil && (problems > 0) != (sum.Refused > 0):
			t.Fatalf("error %v, %d problems, summary %+v", err, problems, sum)
		case file.SHA256() == "":
			t.Fatal("no hash")
		}
	})
}

// Rows that a sheet leaves out cost nothing to speak of, however many.
func TestSheetWithAGap(t *testing.T) {
	book := remade(t, bookBytes(t, "station|year|month|rain_mm\nA|n:2020|n:1|n:5\n"), func(name, content string) string {
		return strings.NewReplacer(`"2"`, `"1048576"`, `A2"`, `A1048576"`, `B2"`, `B1048576"`, `C2"`, `C1048576"`, `D2"`, `D1048576"`).Replace(content)
	})
	r := readString(t, Rains, string(book), Options{})
	if len(r.records) != 1 || r.records[0].Line != 1048576 {
		t.Errorf("records %+v, problems %q", r.records, r.problems)
	}
}
