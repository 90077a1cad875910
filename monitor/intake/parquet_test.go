package intake

import (
	"bytes"
	"strings"
	"testing"

	"github.com/parquet-go/parquet-go"

	"clipledger/schema"
)

// parquetBag is a row of clippings as another program may write it.
type parquetBag struct {
	Site      string   `parquet:"site"`
	Date      int32    `parquet:"date,date"`
	Frame     int64    `parquet:"frame"`
	FrameType string   `parquet:"frame_type"`
	Component string   `parquet:"component"`
	GreenG    *float64 `parquet:"green_g,optional"`
	Caged     bool     `parquet:"caged"`
}

// parquetFile writes rows as a Parquet file.
func parquetFile[T any](t *testing.T, rows []T) string {
	t.Helper()
	var b bytes.Buffer
	if err := parquet.Write(&b, rows); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

// TestParquet reads what another program wrote: days, whole numbers, missing
// values and truth values become what a CSV file would say.
func TestParquet(t *testing.T) {
	weight := 12.5
	r := readString(t, Clippings, parquetFile(t, []parquetBag{
		{"=A", 20270, 7, "0.25 m2", "herbaceous", &weight, true},
		{"B", 20271, 8, "0.25 m2", "browse", nil, false},
		{"B", 20271, 9, "0.25 m2", "brows", nil, false},
	}), Options{})
	if r.err != nil || len(r.records) != 2 {
		t.Fatalf("%d records, %v %v", len(r.records), r.err, r.problems)
	}
	a, b := r.records[0], r.records[1]
	if a.Site != "=A" || a.Date != "2025-07-01" || a.Frame != "7" || a.GreenG != schema.Some(12.5) || !a.Caged || a.Line != 1 {
		t.Errorf("the first row is %+v", a)
	}
	if b.Status != schema.StatusLost || b.Caged || b.Date != "2025-07-02" {
		t.Errorf("the second row is %+v", b)
	}
	if len(r.problems) != 1 || !strings.HasPrefix(r.problems[0], `f.csv:3: column component: "brows":`) {
		t.Errorf("problems: %v", r.problems)
	}
}

// TestBadParquet holds that damaged and unfitting files are refused in words.
func TestBadParquet(t *testing.T) {
	weight := 12.5
	whole := parquetFile(t, []parquetBag{{"A", 20270, 7, "0.25 m2", "herbaceous", &weight, true}})
	for name, content := range map[string]string{
		"cut off":       whole[:len(whole)/2],
		"only its mark": "PAR1",
		"torn":          whole[:40] + strings.Repeat("\x00", len(whole)-80) + whole[len(whole)-40:],
		"lists": parquetFile(t, []struct {
			Site []string `parquet:"site"`
		}{{[]string{"A", "B"}}}),
	} {
		r := readString(t, Clippings, content, Options{})
		if r.err != ErrUnreadable || len(r.records) != 0 || len(r.problems) != 1 || !strings.Contains(r.problems[0], "the Parquet file cannot be read: ") {
			t.Errorf("%s: %d records, %v, %v", name, len(r.records), r.err, r.problems)
		}
	}
}

// TestExportColumns holds how the columns of exports are read: traces named in
// a column of their own, cells left blank, weights per area without a weight.
func TestExportColumns(t *testing.T) {
	r := readString(t, Clippings, `site,year,frame,frame_type,component,green_g,dry_g,green_g_m2,trace,status,per_m2
A,2024,1,0.25 m2,herbaceous,,,,green_g;dry_g,,no
A,2024,2,,herbaceous,,,,green_g_m2,,yes
A,2024,3,,herbaceous,,,,,blank,yes
A,2024,4,0.25 m2,herbaceous,5,,,green_g,,no
A,2024,5,0.25 m2,herbaceous,5,,,,blank,no
A,2024,6,0.25 m2,herbaceous,,,,weight,,no
A,2024,7,0.25 m2,herbaceous,5,,,,,yes
`, Options{})
	if r.err != nil || len(r.records) != 3 {
		t.Fatalf("%d records, %v %v", len(r.records), r.err, r.problems)
	}
	if got := r.records[0]; got.Trace != schema.TraceGreen|schema.TraceDry || got.PerM2 || got.Status != "" {
		t.Errorf("a trace of both weights is %+v", got)
	}
	if got := r.records[1]; got.Trace != schema.TraceGreen || !got.PerM2 {
		t.Errorf("a trace per area is %+v", got)
	}
	if got := r.records[2]; !got.MissingCell || got.Status != "" || !got.PerM2 || got.HasWeight() {
		t.Errorf("a blank cell is %+v", got)
	}
	wantLines(t, "problems", r.problems, []string{
		`f.csv:5: column trace: "green_g": names green_g, which has a weight; keep one of them`,
		`f.csv:6: column status: "blank": the row has a weight (green_g); blank means that no weight was written: remove the weight or the status`,
		`f.csv:7: column trace: "weight": names "weight", which is no column of a weight in this file; name the columns whose weight was a trace, as in green_g;dry_g`,
		`f.csv:8: column per_m2: "yes": does not go with the column of the weight (green_g); correct the one that is wrong`,
	})
}

// TestFrames reads frames without their bags.
func TestFrames(t *testing.T) {
	r := readString(t, Frames, `site,year,date,frame,caged,caged_since,frame_type,components_sampled,status,observer
A,2024,2024-07-01,1,yes,2024-05-01,0.25 m2,herbaceous;browse,empty,Wren
A,2024,2024-07-01,2,no,2024-05-01,,,,
A,2024,,3,no,,,,lost,
A,2024,2024-07-01,1,yes,2024-05-01,0.25 m2,,,
`, Options{})
	if r.err != nil || len(r.records) != 1 {
		t.Fatalf("%d records, %v %v", len(r.records), r.err, r.problems)
	}
	if got := r.records[0]; got.Component != schema.NoComponent || got.Status != schema.StatusEmpty || !got.Caged || got.ComponentsSampled != 3 || got.Observer != "Wren" {
		t.Errorf("the frame is %+v", got)
	}
	wantLines(t, "problems", r.problems, []string{
		`f.csv:3: column caged_since: "2024-05-01": is given for a frame that is not caged; write yes under caged, or empty this cell`,
		`f.csv:4: column status: "lost": is not a status of a whole frame; write empty where nothing at all was found, else leave the cell empty`,
		`f.csv:5: the same frame stands in line 2 already; keep one row for each frame`,
	})
}
