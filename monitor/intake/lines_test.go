package intake

import (
	"errors"
	"io"
	"strings"
	"testing"
	"testing/iotest"
)

// The line of a problem is the one on which an editor shows the row, whatever
// ends the lines and whatever is quoted before it.
func TestLineNumbers(t *testing.T) {
	for name, content := range map[string]string{
		"LF":      "station,year,month,rain_mm\nA,2020,1,5\nA,2020,2,x\n",
		"CRLF":    "station,year,month,rain_mm\r\nA,2020,1,5\r\nA,2020,2,x\r\n",
		"CR":      "station,year,month,rain_mm\rA,2020,1,5\rA,2020,2,x\r",
		"mixed":   "station,year,month,rain_mm\rA,2020,1,5\r\nA,2020,2,x\n",
		"no end":  "station,year,month,rain_mm\nA,2020,1,5\nA,2020,2,x",
		"CR, no":  "station,year,month,rain_mm\rA,2020,1,5\rA,2020,2,x",
		"blank":   "\nstation,year,month,rain_mm\nA,2020,2,x\n",
		"blanks":  "station,year,month,rain_mm\n,,,\nA,2020,2,x\n,,,\n \n\n",
		"sep=":    "sep=;\nstation;year;month;rain_mm\nA;2020;2;x\n",
		"BOM":     "\ufeffstation,year,month,rain_mm\nA,2020,1,5\nA,2020,2,x\n",
		"BOM, \"": "\ufeff\"station\",\"year\",month,rain_mm\nA,2020,1,5\nA,2020,2,x\n",
		"quoted":  "station,year,month,rain_mm\n\"A\",2020,1,5\nA,2020,2,\"x\"\n",
		"tab":     "station\tyear\tmonth\train_mm\n\nA\t2020\t2\tx\n",
	} {
		r := readString(t, Rains, content, Options{})
		wantLines(t, name, r.problems, []string{
			`f.csv:3: column rain_mm: "x": is not a number; write digits with a decimal point, as in 12.5, or empty the cell if the value is missing`})
	}
}

// Line breaks inside quotes count too, each kind of them.
func TestLineNumbersAfterQuotedBreaks(t *testing.T) {
	for name, brk := range map[string]string{"LF": "\n", "CRLF": "\r\n", "CR": "\r"} {
		content := strings.ReplaceAll("species,name\nA,plain\nB,\"in\ntwo\n\nparts\"\nC,\"x\n\"\nD,\x01\n", "\n", brk)
		r := readString(t, Species, content, Options{})
		wantLines(t, name, r.problems, []string{
			`f.csv:3: column name: "in\ntwo\n\nparts": has a line break in it; write it on one line`,
			`f.csv:9: column name: "\x01": has a control character (U+0001) in it; remove it; retyping the cell is enough`,
		})
		if len(r.records) != 2 || r.records[1].Line != 7 {
			t.Errorf("%s: records %+v, want the second on line 7", name, r.records)
		}
	}
}

func TestUnreadable(t *testing.T) {
	header := "station,year,month,rain_mm\n"
	for _, c := range []struct{ name, content, want string }{
		{"empty", "", `f.csv: the file is empty; export it again, or name another file`},
		{"only a BOM", "\ufeff", `f.csv: the file is empty; export it again, or name another file`},
		{"only blanks", "\n\n,,,\n", `f.csv: the file is empty; export it again, or name another file`},
		{"header only", header, `f.csv: the file has a header and no rows below it; export it again, or name another file`},
		{"code page 850", header + "A,2020,1,5\nCa\xa4on,2020,1,5\n", `f.csv:3: this is not UTF-8 text (byte 0xA4 here; another encoding, or not text at all); open it in the program it came from and save it as "CSV UTF-8", then import that file`},
		{"code page 850 in CR lines", strings.ReplaceAll(header+"A,2020,1,5\nCa\xa4on,2020,1,5\n", "\n", "\r"), `f.csv:3: this is not UTF-8 text (byte 0xA4 here; another encoding, or not text at all); open it in the program it came from and save it as "CSV UTF-8", then import that file`},
		{"cut character at the end", header + "A,2020,1,5\nA,2020,2,5\xc3", `f.csv:3: this is not UTF-8 text (byte 0xC3 here; another encoding, or not text at all); open it in the program it came from and save it as "CSV UTF-8", then import that file`},
		{"code page 850 header", "Stati\xa2n\nA\n", `f.csv:1: this is not UTF-8 text (byte 0xA2 here; another encoding, or not text at all); open it in the program it came from and save it as "CSV UTF-8", then import that file`},
		{"zero byte", header + "A,2020,1,5\nA\x00,2020,2,5\n", `f.csv:3: this is not a text file (it holds a zero byte here); open it in the program it came from and save it as "CSV UTF-8", then import that file`},
		{"UTF-16 cut off", "\xff\xfes\x00i\x00t\x00e", `f.csv:1: a character here is broken (UTF-16 with a byte or half a character missing); open it in the program it came from and save it as "CSV UTF-8", then import that file`},
		{"XLSX", "PK\x03\x04\x14\x00\x06\x00", `f.csv: the workbook is damaged (it is cut off, or not a zipped file at all); open it in the program it came from, save it again, and import that file`},
		{"gzip", "\x1f\x8b\x08\x00", `f.csv: the compressed (gzip) file is damaged or cut off; get it again from where it came from, and import that file`},
		{"broken header", "station,ye\"ar\nA,1\n", `f.csv:1: a quotation mark (") stands inside a cell that does not begin with one; remove it, or put the whole text in quotation marks and write the inner one twice ("")`},
		{"quote never closed", header + "A,2020,1,5\nA,\"2020,2,6\n" + strings.Repeat("A,2020,3,7\n", 200_000), `f.csv:3: no row ends within the next million bytes; most likely a quotation mark (") is opened here and never closed; close it, or remove it`},
	} {
		r := readString(t, Rains, c.content, Options{})
		if !errors.Is(r.err, ErrUnreadable) {
			t.Errorf("%s: error %v, want ErrUnreadable", c.name, r.err)
		}
		wantLines(t, c.name, r.problems, []string{c.want})
	}
}

// A row that cannot be split is told, and reading goes on after it.
func TestBrokenRows(t *testing.T) {
	for _, c := range []struct{ name, rows, want string }{
		{"inner quote", "A,2020,1\",5\nB,2020,1,5\n", `f.csv:2: a quotation mark (") stands inside a cell that does not begin with one; remove it, or put the whole text in quotation marks and write the inner one twice ("")`},
		{"text after a quote", "\"A\"x,2020,1,5\nB,2020,1,5\n", `f.csv:2: a quotation mark (") opens a cell here and is not closed properly; close it before the delimiter, and write a quotation mark that belongs to the text twice ("")`},
		{"quote over lines", "A,2020,\"1,5\nA,2020,2,\"5\nB,2020,1,5\n", `f.csv:2: a quotation mark (") opens a cell here and is not closed properly, so that the cell runs on to line 3; close it before the delimiter, and write a quotation mark that belongs to the text twice ("")`},
		{"quote opened below the row's first line", "\"A\n\",2020,\"1,5\nA,2020,2,\"5\nB,2020,1,5\n", `f.csv:3: a quotation mark (") opens a cell here and is not closed properly, so that the cell runs on to line 4; close it before the delimiter, and write a quotation mark that belongs to the text twice ("")`},
		{"too many", "A,2020,1,5,7\nB,2020,1,5\n", `f.csv:2: the row has 5 cells where the header has 4; put a text that contains a comma in quotation marks, and write numbers with a decimal point`},
		{"too few", "A,2020,1\nB,2020,1,5\n", `f.csv:2: the row has 3 cells where the header has 4; leave no cell out: a missing value is an empty cell between two delimiters`},
		{"long", strings.Repeat("x", maxRowBytes) + ",2020,1,5\nB,2020,1,5\n", `f.csv:2: the row is longer than 1048576 bytes; shorten it, or look for a quotation mark that is not closed`},
	} {
		r := readString(t, Rains, "station,year,month,rain_mm\n"+c.rows, Options{})
		if r.err != nil {
			t.Errorf("%s: %v", c.name, r.err)
		}
		wantLines(t, c.name, r.problems, []string{c.want})
		if len(r.records) != 1 || r.records[0].Station != "B" || r.summary.Refused != 1 || r.summary.Rows != 2 {
			t.Errorf("%s: records %+v, summary %+v; want station B alone, one row refused", c.name, r.records, r.summary)
		}
	}
}

func TestQuoteOpenAtTheEnd(t *testing.T) {
	r := readString(t, Rains, "station,year,month,rain_mm\nA,2020,1,5\nA,2020,2,\"5\nA,2020,3,5\n", Options{})
	wantLines(t, "problems", r.problems, []string{
		`f.csv:3: a quotation mark (") opens a cell here and is not closed properly, so that the cell runs on to line 4; close it before the delimiter, and write a quotation mark that belongs to the text twice ("")`})
	if len(r.records) != 1 {
		t.Errorf("%d records, want 1", len(r.records))
	}
}

// Cells beyond the header, and the nameless end of a header, may be blank.
func TestBlankExtraCells(t *testing.T) {
	r := readString(t, Rains, "station,year,month,rain_mm,,\nA,2020,1,5\nA,2020,2,5,,\nA,2020,3,5,,,,\n", Options{})
	wantLines(t, "problems", r.problems, nil)
	if len(r.records) != 3 {
		t.Errorf("%d records, want 3", len(r.records))
	}
}

// However the bytes arrive, the text is the same.
func TestTextReaderInPieces(t *testing.T) {
	content := "\ufeffsite,naïve\r\nA,€ 5\rB,\U0001F33E\n\rC,\r\n"
	want := "site,naïve\r\nA,€ 5\nB,\U0001F33E\n\nC,\r\n"
	for name, r := range map[string]io.Reader{
		"whole": strings.NewReader(content), "byte by byte": iotest.OneByteReader(strings.NewReader(content)),
		"halves": iotest.HalfReader(strings.NewReader(content)), "with the end": iotest.DataErrReader(strings.NewReader(content)),
	} {
		got, err := io.ReadAll(&textReader{r: r})
		if err != nil || string(got) != want {
			t.Errorf("%s: got %q, %v; want %q", name, got, err, want)
		}
	}
}

// The end of a buffer may fall inside a character or a CRLF.
func TestTextReaderAcrossBuffers(t *testing.T) {
	for shift := range 6 {
		content := strings.Repeat("x", textBufferBytes-3+shift) + "€\r\n" + strings.Repeat("y", 10) + "\r€"
		got, err := io.ReadAll(&textReader{r: strings.NewReader(content)})
		want := content[:len(content)-4] + "\n€"
		if err != nil || string(got) != want {
			t.Errorf("shift %d: %v, equal %v", shift, err, string(got) == want)
		}
	}
}

func TestReadErrorIsPassedOn(t *testing.T) {
	boom := errors.New("disk gone")
	_, err := io.ReadAll(&textReader{r: io.MultiReader(strings.NewReader("a,b\n"), iotest.ErrReader(boom))})
	if !errors.Is(err, boom) {
		t.Errorf("error %v, want %v", err, boom)
	}
}

func TestSniffDelimiter(t *testing.T) {
	for start, want := range map[string]rune{
		"a,b,c\n": ',', "a;b;c\n": ';', "a\tb\n": '\t', "a\n": ',', "": ',', "a,b;c\n": ',', "a;b,c;d\n": ';',
		"\"x;y;z\",b\n1;2;3": ',', "\n\na;b\n,,,,": ';', "a;b\r1,2,3": ';', "a b\tc,d\te": '\t',
	} {
		if got := sniffDelimiter([]byte(start)); got != want {
			t.Errorf("%q: delimiter %q, want %q", start, got, want)
		}
	}
}

func TestHashIsOfTheWholeFile(t *testing.T) {
	f, err := Open(tempFile(t, "abc"))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	if got := f.SHA256(); got != "" {
		t.Errorf("hash %s before reading, want none", got)
	}
	if err := f.drain(); err != nil {
		t.Fatal(err)
	}
	// The hash of "abc" in FIPS 180-2, appendix B.1.
	if got, want := f.SHA256(), "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"; got != want {
		t.Errorf("hash %s, want %s", got, want)
	}
}

func TestOpen(t *testing.T) {
	if _, err := Open(t.TempDir()); err == nil {
		t.Error("a folder was opened")
	}
	if _, err := Open(tempFile(t, "") + "x"); err == nil {
		t.Error("a missing file was opened")
	}
	f, err := Open(tempFile(t, "a"))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	if err := f.drain(); err != nil {
		t.Fatal(err)
	}
	if read, size := f.Progress(); read != 1 || size != 1 {
		t.Errorf("read %d of %d bytes, want 1 of 1", read, size)
	}
	if got := f.Name(); got != "f.csv" {
		t.Errorf("name %q, want f.csv", got)
	}
}
