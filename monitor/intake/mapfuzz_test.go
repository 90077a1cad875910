package intake

import (
	"errors"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
	"unicode/utf8"

	"clipledger/schema"
)

// mostFuzzBytes is how much memory one input may take.
const mostFuzzBytes = 256 << 20

// bounded notes how much was allocated so far; the function that it returns
// fails the test where more than mostFuzzBytes came since. All that is
// allocated counts, also what was freed again, so what was in use at one time
// is less.
func bounded(t *testing.T) func() {
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	return func() {
		runtime.ReadMemStats(&after)
		if n := after.TotalAlloc - before.TotalAlloc; n > mostFuzzBytes {
			t.Errorf("the input took %d MiB", n>>20)
		}
	}
}

// onlyThese fails the test where the folder of a file that was read holds
// anything but it and what may be written beside it.
func onlyThese(t *testing.T, path string, names ...string) {
	t.Helper()
	entries, err := os.ReadDir(filepath.Dir(path))
	if err != nil {
		t.Fatal(err)
	}
	allowed := map[string]bool{filepath.Base(path): true}
	for _, name := range names {
		allowed[name] = true
	}
	for _, e := range entries {
		if !allowed[e.Name()] {
			t.Errorf("%s was written", e.Name())
		}
	}
}

// Whatever a map file holds, what comes out names columns, each of ours once,
// and a table read by it keeps the rules of records.
func FuzzMapFile(f *testing.F) {
	for _, s := range []string{
		"ours,theirs\ndry_g,\"Dry wt, (g)\"\nframe,NA\n",
		"theirs;ours\r\nPlot #;frame\r\nPasture;site\r\n",
		"ours,theirs\nsite,Pasture\nSite,Pasture 2\n",
		"\ufeff\"ours\",\"theirs\"\n\"dry\ng\",\"\"\n,x\nfrme,Quadrat\n",
		"ours,theirs,note\rherbaceous:POA1_dry_g,=cmd()\rframe,'=1\r",
		"ours\ttheirs\nframe\t../../x\nsite\t<script>\nnote\t\x1b[31m\n",
		"ours,theirs\nframe,a\x00b\n", "ours,theirs\n", "theirs,ours", "", "\x1f\x8b\x08\x00", "PK\x03\x04", "o\x00u\x00r\x00s\x00,\x00t\x00h\x00",
		"ours,theirs\nframe," + strings.Repeat("x", 5000) + "\n",
	} {
		f.Add(s, "Pasture,Plot #,year,component,\"Dry wt, (g)\",frame_type\nA,1,2020,browse,4,1 m2\n")
	}
	f.Fuzz(func(t *testing.T, content, table string) {
		defer bounded(t)()
		path := tempFile(t, content)
		m, problems, err := ReadMapFile(path)
		onlyThese(t, path)
		switch {
		case err != nil && !errors.Is(err, ErrUnreadable):
			t.Fatalf("error %v", err)
		case err != nil && len(problems) == 0:
			t.Fatal("unreadable without a problem")
		case len(problems) > 0 && m != nil:
			t.Fatal("a map beside its problems")
		}
		for _, p := range problems {
			if p.What == "" || p.Do == "" || p.File != "f.csv" || strings.ContainsAny(p.String(), "\x1b\x00\n") {
				t.Fatalf("problem %+v", p)
			}
		}
		seen := map[string]bool{}
		for ours, theirs := range m {
			if ours == "" || theirs == "" || !utf8.ValidString(ours) || !utf8.ValidString(theirs) || seen[foldName(ours)] {
				t.Fatalf("%q is %q", ours, theirs)
			}
			seen[foldName(ours)] = true
		}
		if err == nil && m != nil {
			fuzzRead(t, Clippings, table, Options{Map: m}, func(c schema.Clipping) {
				if c.Site == "" || c.Frame == "" {
					t.Fatalf("record %+v", c)
				}
			})
		}
	})
}
