package schema_test

import (
	"database/sql"
	"os"
	"strings"
	"testing"

	"clipledger/schema"
	"clipledger/schema/ledgertest"
)

func herb(frame string, green float64) schema.Clipping {
	return schema.Clipping{Site: "A", Year: 2020, Frame: frame, FrameType: "9.6 ft2", Component: schema.Herbaceous, GreenG: schema.Some(green),
		Stage: "seed-ripe", GrowthForm: "grass-cool"}
}

// query reads one value straight from the file, as R or Python would.
func query[T any](t *testing.T, path, q string) T {
	t.Helper()
	db, err := sql.Open("sqlite", path)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	var v T
	if err := db.QueryRow(q).Scan(&v); err != nil {
		t.Fatalf("%s: %v", q, err)
	}
	return v
}

func TestImportTwiceChangesNothing(t *testing.T) {
	rows := ledgertest.Records{Clippings: []schema.Clipping{herb("1", 10), herb("2", 20)}}
	path := ledgertest.Path(t, rows)
	before, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	problems, counts := ledgertest.ImportCounted(t, path, rows)
	if len(problems) > 0 || counts != [3]int{0, 0, 2} {
		t.Fatalf("second import: problems %v, counts %v, want none and two identical", problems, counts)
	}
	after, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if string(before) != string(after) {
		t.Error("a second import of the same rows changed the file")
	}
}

func TestBlanksAreCompletedAndHistoryKept(t *testing.T) {
	path := ledgertest.Path(t, ledgertest.Records{Clippings: []schema.Clipping{herb("1", 10)}})
	lab := schema.Clipping{Site: "A", Year: 2020, Frame: "1", Component: schema.Herbaceous, DryG: schema.Some(4)}
	problems, counts := ledgertest.ImportCounted(t, path, ledgertest.Records{Clippings: []schema.Clipping{lab}})
	if len(problems) > 0 || counts != [3]int{0, 1, 0} {
		t.Fatalf("problems %v, counts %v", problems, counts)
	}
	if got := query[float64](t, path, "SELECT dry_g FROM bag_dry_weight"); got != 4 {
		t.Errorf("dry weight %v, want the measured 4", got)
	}
	if got := query[string](t, path, "SELECT old ->> 'dry_g' IS NULL AND old ->> 'green_g' = 10 FROM change"); got != "1" {
		t.Errorf("the history does not hold the old values: %q", got)
	}
}

func TestContradictionIsListedNotApplied(t *testing.T) {
	path := ledgertest.Path(t, ledgertest.Records{Clippings: []schema.Clipping{herb("1", 10)}})
	problems := ledgertest.Import(t, path, ledgertest.Records{Clippings: []schema.Clipping{herb("1", 11)}})
	if len(problems) != 1 {
		t.Fatalf("problems %v, want one", problems)
	}
	want := `clippings.csv:2: column green_g: "11": the ledger holds "10" (import 2, clippings.csv line 2); correct the file, or use --replace to change the ledger and keep the old value in its history`
	if got := problems[0].String(); got != want {
		t.Errorf("got  %s\nwant %s", got, want)
	}
	if got := query[float64](t, path, "SELECT green_g FROM bag"); got != 10 {
		t.Errorf("green weight %v, want 10 still", got)
	}
	problems = ledgertest.Import(t, path, ledgertest.Records{Clippings: []schema.Clipping{herb("1", 11)}, Replace: true})
	if len(problems) > 0 {
		t.Fatal(problems)
	}
	if got := query[float64](t, path, "SELECT green_g FROM bag"); got != 11 {
		t.Errorf("green weight %v, want 11 after --replace", got)
	}
	if got := query[float64](t, path, "SELECT old ->> 'green_g' FROM change"); got != 10 {
		t.Errorf("history holds %v, want 10", got)
	}
}

func TestRefusedRows(t *testing.T) {
	species := func(c schema.Clipping, code string) schema.Clipping { c.Species = code; return c }
	perM2 := herb("1", 5)
	perM2.PerM2, perM2.Bag = true, "b"
	empty := schema.Clipping{Site: "A", Year: 2020, Frame: "1", FrameType: "9.6 ft2", Status: schema.StatusEmpty}
	sized := herb("1", 3)
	sized.Bag, sized.FrameType = "b", "2.4 ft2"
	tests := []struct {
		name  string
		rows  []schema.Clipping
		wants string
	}{
		{"same key twice in one file", []schema.Clipping{herb("1", 10), herb("1", 10)}, "the same bag stands on line 2 of this file"},
		{"a total beside its species", []schema.Clipping{species(herb("1", 10), "POA1"), herb("1", 12)}, "names a species and another names none"},
		{"per area beside grams", []schema.Clipping{herb("1", 10), perM2}, "weighed per area and another in grams"},
		{"grams without an area", []schema.Clipping{noType(herb("1", 10))}, `column frame_type: "": is missing: neither the row nor site "A" says on what frame the herbaceous was clipped`},
		{"a component new to its frame without an area", []schema.Clipping{herb("1", 10), noType(schema.Clipping{Site: "A", Year: 2020, Frame: "1", Component: schema.Browse, GreenG: schema.Some(1)})}, "on what frame the browse was clipped"},
		{"empty frame with a weight", []schema.Clipping{empty, herb("1", 10)}, "its frame is called empty"},
		{"weight, then called empty", []schema.Clipping{herb("1", 10), empty}, "the frame is called empty here"},
		{"another frame type for the same component", []schema.Clipping{herb("1", 10), sized}, `the ledger holds "9.6 ft2"`},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			path := ledgertest.Path(t)
			problems := ledgertest.Import(t, path, ledgertest.Records{Clippings: tt.rows})
			if len(problems) != 1 || !strings.Contains(problems[0].String(), tt.wants) {
				t.Errorf("problems %v, want one with %q", problems, tt.wants)
			}
			if _, err := os.Stat(path); err == nil {
				t.Error("a refused first import left a file behind")
			}
		})
	}
}

func TestEditFromOutsideAborts(t *testing.T) {
	path := ledgertest.Path(t, ledgertest.Records{Clippings: []schema.Clipping{herb("1", 10)}})
	db, err := sql.Open("sqlite", path)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	for _, q := range []string{"UPDATE bag SET green_g=99", "DELETE FROM bag", "UPDATE site SET name='x'"} {
		if _, err := db.Exec(q); err == nil {
			t.Errorf("%s went through without an import", q)
		}
	}
	if got := query[float64](t, path, "SELECT green_g FROM bag"); got != 10 {
		t.Errorf("green weight %v, want 10 still", got)
	}
}

func noType(c schema.Clipping) schema.Clipping { c.FrameType = ""; return c }

// A lab's file names neither the frame size nor the green weight: the frame is
// known, and what its site declares by now does not matter.
func TestLabNeedNotRepeatTheFrameType(t *testing.T) {
	path := ledgertest.Path(t, ledgertest.Records{Clippings: []schema.Clipping{herb("1", 10)}})
	lab := noType(herb("1", 10))
	lab.GreenG, lab.DryG, lab.FrameTypeElse = schema.Num{}, schema.Some(4), "2.4 ft2"
	if p := ledgertest.Import(t, path, ledgertest.Records{Clippings: []schema.Clipping{lab}}); len(p) > 0 {
		t.Fatal(p)
	}
	if got := query[string](t, path, "SELECT frame_type FROM visit JOIN frame_type USING(frame_type_id)"); got != "9.6 ft2" {
		t.Errorf("frame type %q, want 9.6 ft2 still", got)
	}
	fresh := noType(herb("2", 10))
	fresh.FrameTypeElse = "2.4 ft2"
	if p := ledgertest.Import(t, path, ledgertest.Records{Clippings: []schema.Clipping{fresh}}); len(p) > 0 {
		t.Fatal(p)
	}
	if got := query[string](t, path, "SELECT frame_type FROM visit JOIN frame_type USING(frame_type_id) WHERE frame='2'"); got != "2.4 ft2" {
		t.Errorf("frame type %q, want what the site declares", got)
	}
}
