package intake

import (
	"bufio"
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"clipledger/schema"
)

// benchRows is the size of the file that BenchmarkClippings reads.
const benchRows = 1_000_000

// writeBenchFile writes sites by years by frames, two components a frame,
// with lost bags, traces and notes among them.
func writeBenchFile(tb testing.TB, rows int) string {
	tb.Helper()
	path := filepath.Join(tb.TempDir(), "clippings.csv")
	f, err := os.Create(path)
	if err != nil {
		tb.Fatal(err)
	}
	w := bufio.NewWriterSize(f, 1<<20)
	fmt.Fprintln(w, "site,date,season,transect,frame,frame_type,component,species,growth_form,stage,green_g,dry_g,observer,note")
	components := []string{"herbaceous", "browse"}
	forms := []string{"grass-cool", "shrub-evergreen"}
	for i := range rows {
		site, frame, part := i/2/30%400, i/2%30, i%2
		green, dry, note := fmt.Sprintf("%d.%d", 20+i%97, i%10), fmt.Sprintf("%d.%02d", 5+i%13, i%100), ""
		switch {
		case i%50 == 7:
			green, dry = "T", ""
		case i%50 == 9:
			green, dry = "", ""
		case i%10 == 3:
			dry = ""
		case i%50 == 11:
			note = `"cut late, after rain"`
		}
		fmt.Fprintf(w, "Site %03d,%d-06-%02d,peak,%d,%d,9.6 ft2,%s,SP%02d,%s,heading,%s,%s,Observer %d,%s\n",
			site, 2000+i/24000%25, 1+site%28, 1+frame/10, frame, components[part], i%40, forms[part], green, dry, i%7, note)
	}
	if err := w.Flush(); err != nil {
		tb.Fatal(err)
	}
	if err := f.Close(); err != nil {
		tb.Fatal(err)
	}
	return path
}

// BenchmarkClippings reads a million rows of 14 columns: parsed, hashed and
// checked, given to a function that does nothing.
func BenchmarkClippings(b *testing.B) {
	path := writeBenchFile(b, benchRows)
	info, err := os.Stat(path)
	if err != nil {
		b.Fatal(err)
	}
	v := testVocabulary()
	b.SetBytes(info.Size())
	b.ReportAllocs()
	b.ResetTimer()
	for range b.N {
		f, err := Open(path)
		if err != nil {
			b.Fatal(err)
		}
		sum, err := Clippings(f, Options{}, v, func(schema.Clipping) error { return nil },
			func(p schema.Problem) { b.Fatal(p) })
		if err != nil || sum.Records != benchRows {
			b.Fatal(sum, err)
		}
		f.Close()
	}
	b.ReportMetric(float64(benchRows)*float64(b.N)/b.Elapsed().Seconds(), "rows/s")
}
