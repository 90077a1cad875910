package intake

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// writeRejected reads the header of a file, as an import has, and writes its
// rejected rows.
func writeRejected(t *testing.T, path string, reasons map[int][]string) (string, error) {
	t.Helper()
	f, err := Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	if _, err := openTable(f, &Options{}, func(*table) headerScore { return headerScore{} }); err != nil {
		t.Fatal(err)
	}
	return f.WriteRejected(reasons)
}

// rejectedOf writes the rejected rows of a file and returns name and content.
func rejectedOf(t *testing.T, path string, reasons map[int][]string) (name, content string) {
	t.Helper()
	out, err := writeRejected(t, path, reasons)
	if err != nil {
		t.Fatal(err)
	}
	b, err := os.ReadFile(out)
	if err != nil {
		t.Fatal(err)
	}
	return filepath.Base(out), string(b)
}

func TestWriteRejected(t *testing.T) {
	path := tempFile(t, "\ufeffsite;note\r\nA;plain\r\n\r\nB;\"two\r\nlines; \"\"quoted\"\"\"\r\nC;x\r\nD\r\nE;1;2\r\n=F;\"x\"y\r\nG;12\"\r\nH;last")
	reasons := map[int][]string{0: {"the whole file"}, 4: {"first reason", "second; reason"}, 7: {"too few"}, 8: {"too many"}, 9: {"bad quote"}, 10: {"inner quote"}, 11: {"last"}}
	name, content := rejectedOf(t, path, reasons)
	if name != "f.csv.rejected.csv" {
		t.Errorf("name %s", name)
	}
	want := "\ufeffsite;note;reason\n" +
		"B;\"two\nlines; \"\"quoted\"\"\";\"first reason | second; reason\"\n" +
		"D;;too few\nE;1;2;too many\n=F;\"x\"\"y\";bad quote\nG;\"12\"\"\";inner quote\nH;last;last\n"
	if content != want {
		t.Errorf("got\n%q\nwant\n%q", content, want)
	}
	// A taken name is never overwritten.
	for _, want := range []string{"f.csv.rejected.2.csv", "f.csv.rejected.3.csv"} {
		if name, _ := rejectedOf(t, path, reasons); name != want {
			t.Errorf("name %s, want %s", name, want)
		}
	}
	if _, again := rejectedOf(t, path, map[int][]string{5: {"a line inside a row"}}); !strings.Contains(again, "a line inside a row") {
		t.Errorf("a reason given for the second line of a row is lost: %q", again)
	}
}

func TestWriteRejectedCRLines(t *testing.T) {
	_, content := rejectedOf(t, tempFile(t, "site,reason\rA,\"x\ry\"z\rB,2\r"), map[int][]string{2: {"quote"}, 4: {"two"}})
	if want := "site,reason,reason of rejection\nA,\"x\ny\"\"z\",quote\nB,2,two\n"; content != want {
		t.Errorf("got %q, want %q", content, want)
	}
}

func TestWriteRejectedNothing(t *testing.T) {
	path := tempFile(t, "site\nA\n")
	if out, err := writeRejected(t, path, nil); out != "" || err != nil {
		t.Errorf("got %q, %v for no reasons", out, err)
	}
	files, err := os.ReadDir(filepath.Dir(path))
	if err != nil || len(files) != 1 {
		t.Errorf("%d files, want the input alone", len(files))
	}
}

// A file that has changed in between is not copied from by guess.
func TestWriteRejectedOfAChangedFile(t *testing.T) {
	path := tempFile(t, "site\nA\n")
	_, err := writeRejected(t, path, map[int][]string{7: {"x"}})
	const want = "f.csv has no row in 1 of the lines to reject: it has changed while it was read; import it again"
	if err == nil || err.Error() != want {
		t.Errorf("error %v, want %s", err, want)
	}
	if _, err := os.Stat(path + ".rejected.csv"); !os.IsNotExist(err) {
		t.Errorf("a rejected file was left behind: %v", err)
	}
}

// What is rejected can be mended and read again.
func TestRejectedRowsReadAgain(t *testing.T) {
	path := tempFile(t, "station,year,month,rain_mm\nA,2019,1,x\nB,2019,1,5\n")
	_, content := rejectedOf(t, path, map[int][]string{2: {"not a number"}})
	r := readString(t, Rains, strings.Replace(content, ",x,", ",7,", 1), Options{})
	wantLines(t, "problems", r.problems, nil)
	wantLines(t, "notices", r.summary.Notices, []string{`column "reason" is not known and was ignored`})
	if len(r.records) != 1 || r.records[0].RainMM != 7 {
		t.Errorf("records %+v", r.records)
	}
}
