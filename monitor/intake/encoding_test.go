package intake

import (
	"bytes"
	"compress/gzip"
	"encoding/binary"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"unicode/utf16"

	"clipledger/schema"
)

// in16 writes text as UTF-16.
func in16(text string, order binary.AppendByteOrder) string {
	var b []byte
	for _, u := range utf16.Encode([]rune(text)) {
		b = order.AppendUint16(b, u)
	}
	return string(b)
}

// gzipped packs text.
func gzipped(tb testing.TB, text string) string {
	tb.Helper()
	var b bytes.Buffer
	w := gzip.NewWriter(&b)
	if _, err := w.Write([]byte(text)); err != nil {
		tb.Fatal(err)
	}
	if err := w.Close(); err != nil {
		tb.Fatal(err)
	}
	return b.String()
}

// One text gives the same records in every encoding, and its problems the
// same lines.
func TestEncodings(t *testing.T) {
	utf8 := "species,name\r\nPIÑON,\"Piñon –\r\npine\"\rAÑO,año\nX,\x01\n"
	windows := "species,name\r\nPI\xd1ON,\"Pi\xf1on \x96\r\npine\"\rA\xd1O,a\xf1o\nX,\x01\n"
	problems := []string{
		`f.csv:2: column name: "Piñon –\npine": has a line break in it; write it on one line`,
		`f.csv:5: column name: "\x01": has a control character (U+0001) in it; remove it; retyping the cell is enough`}
	plain := strings.ReplaceAll(utf8, "X,\x01\n", "")
	for _, c := range []struct {
		name, content string
		notices       []string
		problems      []string
	}{
		{"UTF-8", utf8, nil, problems},
		{"UTF-16 LE, mark", in16("\ufeff"+utf8, binary.LittleEndian), []string{"read as UTF-16"}, problems},
		{"UTF-16 BE, mark", in16("\ufeff"+utf8, binary.BigEndian), []string{"read as UTF-16"}, problems},
		{"UTF-16 LE", in16(plain, binary.LittleEndian), []string{"read as UTF-16"}, problems[:1]},
		{"UTF-16 BE", in16(plain, binary.BigEndian), []string{"read as UTF-16"}, problems[:1]},
		{"gzip", gzipped(t, utf8), nil, problems},
		{"UTF-16 in gzip", gzipped(t, in16("\ufeff"+utf8, binary.LittleEndian)), []string{"read as UTF-16"}, problems},
		{"Windows-1252", strings.ReplaceAll(windows, "X,\x01\n", ""), []string{"read as Windows-1252, by its bytes (line 2 is the first that is not UTF-8); if letters look wrong, save it as UTF-8 and import that"}, problems[:1]},
	} {
		r := readString(t, Species, c.content, Options{})
		wantLines(t, c.name, r.problems, c.problems)
		wantLines(t, c.name, r.summary.Notices, c.notices)
		if len(r.records) != 1 || r.records[0].Code != "AÑO" || r.records[0].Name != "año" || r.records[0].Line != 4 {
			t.Errorf("%s: records %+v", c.name, r.records)
		}
	}
}

// The first letter beyond ASCII may come after megabytes, and fall on the edge
// of what is read at a time.
func TestWindowsLetterLate(t *testing.T) {
	for shift := range 4 {
		content := "species,name\n" + strings.Repeat("x", textBufferBytes-15+shift) + ",a\nPI\xd1ON,b\xe9\n" + strings.Repeat("PI\xd1A,c\n", 1) + "Z,\x93z\x94\n"
		r := readString(t, Species, content, Options{})
		if len(r.records) != 3 || r.records[0].Code != "PIÑON" || r.records[0].Name != "bé" || r.records[2].Name != "“z”" {
			t.Errorf("shift %d: records %+v, problems %.300q", shift, r.records, r.problems)
		}
	}
}

// What is neither UTF-8 nor looks like Windows-1252 is refused at its line.
func TestNotWindows(t *testing.T) {
	for name, c := range map[string]struct {
		content string
		line    int
	}{
		"a letter of DOS":         {"species,name\nA,x\nPI\xa4ON,x\n", 3},
		"UTF-8 before":            {"species,name\nPIÑON,x\nPI\xd1ON,x\n", 3},
		"a byte that it lacks":    {"species,name\nA,\x81\n", 2},
		"a control character":     {"species,name\nA,\xe9\x02\n", 2},
		"UTF-8 by its mark":       {"\ufeffspecies,name\nA,\xe9 x\n", 2},
		"UTF-8 cut off":           {"species,name\nA,x\xc3", 2},
		"later, a sign in a word": {"species,name\nA,\xe9 x\n" + strings.Repeat("B,y\n", textBufferBytes/4) + "C,a\xa4o\n", 3 + textBufferBytes/4},
		"a zero byte later":       {"species,name\nA,\xe9 x\n" + strings.Repeat("B,y\n", textBufferBytes/4) + "C,\x00\n", 3 + textBufferBytes/4},
	} {
		r := readString(t, Species, c.content, Options{})
		if want := fmt.Sprintf("f.csv:%d: this is not", c.line); !errors.Is(r.err, ErrUnreadable) || !strings.Contains(strings.Join(r.problems, "\n"), want) {
			t.Errorf("%s: error %v, problems %.200q; want %q", name, r.err, r.problems, want)
		}
	}
}

func TestBrokenUTF16(t *testing.T) {
	for name, content := range map[string]string{
		"half a pair":  in16("\ufeffspecies,name\nA,", binary.LittleEndian) + "\x00\xd8" + in16("x\n", binary.LittleEndian),
		"half a byte":  in16("\ufeffspecies,name\nA,x", binary.LittleEndian) + "\n",
		"zero in text": in16("\ufeffspecies,name\nA,\x00\n", binary.BigEndian),
	} {
		r := readString(t, Species, content, Options{})
		if !errors.Is(r.err, ErrUnreadable) || len(r.problems) != 1 || !strings.HasPrefix(r.problems[0], "f.csv:2: ") {
			t.Errorf("%s: error %v, problems %q", name, r.err, r.problems)
		}
	}
}

func TestDamagedGzip(t *testing.T) {
	whole := gzipped(t, "species,name\nA,x\n"+strings.Repeat("B,y\n", 1000))
	flipped := []byte(whole)
	flipped[len(flipped)-6] ^= 1 // of the checksum
	for name, content := range map[string]string{"cut off": whole[:len(whole)-9], "wrong sum": string(flipped), "header": whole[:7], "trailing": whole + "x"} {
		r := readString(t, Species, content, Options{})
		if !errors.Is(r.err, ErrUnreadable) || !strings.Contains(strings.Join(r.problems, "\n"), "f.csv: the compressed (gzip) file is damaged or cut off; ") {
			t.Errorf("%s: error %v, problems %.300q", name, r.err, r.problems)
		}
	}
	r := readString(t, Species, gzipped(t, gzipped(t, "species\nA\n")), Options{})
	wantLines(t, "twice", r.problems, []string{`f.csv: this is a compressed (gzip) file inside another, not CSV text; open it in the program it came from and save it as "CSV UTF-8", then import that file`})
	r = readString(t, Species, gzipped(t, "species\nA\n")+gzipped(t, "B\n"), Options{})
	if len(r.records) != 2 {
		t.Errorf("two members: records %+v, problems %q", r.records, r.problems)
	}
}

// A small file that unpacks to a huge one is refused on the way.
func TestGzipBomb(t *testing.T) {
	r := readString(t, Species, gzipped(t, "species,name\n"+strings.Repeat(strings.Repeat(" ", 1000)+",\n", 100_000)), Options{})
	if !errors.Is(r.err, ErrUnreadable) || len(r.problems) != 1 || !strings.Contains(r.problems[0], "million bytes, which no table of this packed size does; unpack it yourself") {
		t.Errorf("error %v, problems %q", r.err, r.problems)
	}
}

func TestUnpackLimit(t *testing.T) {
	for packed, want := range map[int64]int64{0: 16 << 20, 1000: 16<<20 + 200_000, 5 << 20: 1016 << 20, 6 << 20: 1 << 30, 1 << 62: 1 << 30} {
		if got := unpackLimit(packed); got != want {
			t.Errorf("%d: %d, want %d", packed, got, want)
		}
	}
}

// Rejected rows are those of the text, whatever it was packed in.
func TestRejectedOfEncodings(t *testing.T) {
	text := "site;note\r\nÑ;plain\r\n=F;\"ñ\"y\r\nG;ñ\r\n"
	windows := strings.NewReplacer("Ñ", "\xd1", "ñ", "\xf1").Replace(text)
	for name, content := range map[string]string{"UTF-16": in16("\ufeff"+text, binary.BigEndian), "gzip": gzipped(t, "\ufeff"+text), "Windows-1252": windows} {
		_, got := rejectedOf(t, tempFile(t, content), map[int][]string{3: {"quote"}, 4: {"why"}})
		if want := "\ufeffsite;note;reason\n=F;\"ñ\"\"y\";quote\nG;ñ;why\n"; got != want {
			t.Errorf("%s: got %q, want %q", name, got, want)
		}
	}
}

// What comes through a pipe is read like a file, its rejected rows are written
// here, and the copy of it goes away.
func TestPipe(t *testing.T) {
	t.Chdir(t.TempDir())
	t.Setenv("TMPDIR", t.TempDir())
	f, err := OpenPipe(strings.NewReader("species,name\nA,x\nB,\x01\n"))
	if err != nil {
		t.Fatal(err)
	}
	reasons := map[int][]string{}
	_, err = Species(f, Options{}, testVocabulary(), func(schema.Species) error { return nil },
		func(p schema.Problem) { reasons[p.Line] = append(reasons[p.Line], p.File) })
	if err != nil {
		t.Fatal(err)
	}
	name, err := f.WriteRejected(reasons)
	if err != nil || name != "stdin.rejected.csv" {
		t.Errorf("rejected %q, %v", name, err)
	}
	if got, err := os.ReadFile(name); err != nil || string(got) != "species,name,reason\nB,\x01,stdin\n" {
		t.Errorf("rejected rows %q, %v", got, err)
	}
	if err := f.Close(); err != nil {
		t.Fatal(err)
	}
	if left, _ := filepath.Glob(filepath.Join(os.TempDir(), "clipledger-*")); len(left) > 0 {
		t.Errorf("left behind: %q", left)
	}
}
