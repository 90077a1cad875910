package schema_test

import (
	"fmt"
	"strings"
	"testing"

	"clipledger/schema"
	"clipledger/schema/ledgertest"
)

// Every change leaves its old values, its time and the import that caused it.

// changesOf lists the history as RECORD COLUMN: OLD -> NEW.
func changesOf(t *testing.T, path string) []string {
	t.Helper()
	var out []string
	ledgertest.Read(t, path, func(s *schema.Snapshot) error {
		return s.Changes(func(c *schema.ChangeRecord) error {
			if c.At != ledgertest.At || c.ImportID == 0 {
				t.Errorf("change of %s names the time %q and import %d", c.Column, c.At, c.ImportID)
			}
			out = append(out, fmt.Sprintf("%s %s: %s -> %s", c.Record, c.Column, c.Old, c.New))
			return nil
		})
	})
	return out
}

func TestHistoryHoldsEveryOldValue(t *testing.T) {
	path := ledgertest.Path(t, ledgertest.Records{Clippings: []schema.Clipping{herb("1", 10)}})
	for _, green := range []float64{11, 12} {
		ledgertest.Import(t, path, ledgertest.Records{Clippings: []schema.Clipping{herb("1", green)}, Replace: true})
	}
	lab := again(func(c *schema.Clipping) { c.DryG, c.Basis, c.Observer = schema.Some(6), schema.OvenDry, "Wren" })
	ledgertest.Import(t, path, ledgertest.Records{Clippings: []schema.Clipping{lab}})
	got := strings.Join(changesOf(t, path), "\n")
	for _, want := range []string{"bag green_g: 10 -> 11", "bag green_g: 11 -> 12", "bag dry_g:  -> 6", "bag basis:  -> oven-dry"} {
		if !strings.Contains(got, want) {
			t.Errorf("the history lacks %q:\n%s", want, got)
		}
	}
	if n := strings.Count(got, "\n") + 1; n != 5 { // with the frame's observer
		t.Errorf("%d changes, want five:\n%s", n, got)
	}
}

// The observer of a frame, the declaration of a site and a setting leave
// theirs too.
func TestHistoryOfSitesAndSettings(t *testing.T) {
	site := schema.Site{Line: 2, Site: "A", Name: "Old", SamplingUnit: "frame"}
	path := ledgertest.Path(t, ledgertest.Records{Sites: []schema.Site{site}, Settings: map[string]string{"units": "kg/ha"}})
	site.Name, site.Stratum = "New", "North"
	ledgertest.Import(t, path, ledgertest.Records{Sites: []schema.Site{site}, Settings: map[string]string{"units": "g/m2"}, Replace: true})
	got := strings.Join(changesOf(t, path), "\n")
	for _, want := range []string{"site name: Old -> New", "site stratum:  -> North", "setting value: kg/ha -> g/m2"} {
		if !strings.Contains(got, want) {
			t.Errorf("the history lacks %q:\n%s", want, got)
		}
	}
}

// An import that changes only how a frame was clipped is an import.
func TestChangeOfAFrameAloneIsCounted(t *testing.T) {
	for _, tt := range []struct {
		name string
		row  schema.Clipping
		want [3]int
	}{
		{"the date of a frame", again(func(c *schema.Clipping) { c.Date = "2020-06-01" }), [3]int{0, 1, 0}},
		{"a new bag beside it", again(func(c *schema.Clipping) {
			c.Date, c.Component, c.GreenG, c.FrameType = "2020-06-01", schema.Browse, schema.Some(3), "9.6 ft2"
		}), [3]int{1, 1, 0}},
		{"a note on the frame", schema.Clipping{Site: "A", Year: 2020, Frame: "1", Note: "rock"}, [3]int{0, 1, 0}},
		{"nothing", again(func(c *schema.Clipping) { c.GreenG = schema.Some(10) }), [3]int{0, 0, 1}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			path := ledgertest.Path(t, ledgertest.Records{Clippings: []schema.Clipping{herb("1", 10)}})
			imports := query[int](t, path, "SELECT count(*) FROM import")
			problems, counts := ledgertest.ImportCounted(t, path, ledgertest.Records{Clippings: []schema.Clipping{tt.row}})
			if len(problems) > 0 || counts != tt.want {
				t.Errorf("problems %v; added, changed, identical %v, want %v", problems, counts, tt.want)
			}
			made := query[int](t, path, "SELECT count(*) FROM import") - imports
			if want := min(1, tt.want[0]+tt.want[1]); made != want {
				t.Errorf("%d imports were noted, want %d", made, want)
			}
			soundLedger(t, path)
		})
	}
}

// Every record names the import and the line it came from.
func TestRecordsNameTheirImportAndLine(t *testing.T) {
	path := ledgertest.Path(t, ledgertest.Records{Clippings: []schema.Clipping{herb("1", 10), herb("2", 20)}},
		ledgertest.Records{Clippings: []schema.Clipping{herb("3", 30)}})
	got := query[string](t, path, `SELECT group_concat(frame || ' ' || kind || ' ' || line, '; ')
		FROM (SELECT d.frame, i.kind, d.line FROM bag_dry_weight d JOIN import i USING(import_id) ORDER BY d.frame)`)
	if want := "1 clippings 2; 2 clippings 3; 3 clippings 2"; got != want {
		t.Errorf("got %s, want %s", got, want)
	}
}
