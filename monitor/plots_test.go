package monitor_test

import (
	"encoding/csv"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"clipledger/monitor"
	"clipledger/monitor/intake"
	"clipledger/schema"
	"clipledger/schema/ledgertest"
)

// From grams in a frame to weight per area, by the published plot factors and
// exactly.

// reference reads a file of testdata/reference, in which every row names its
// source.
func reference(t *testing.T, name string) []map[string]string {
	t.Helper()
	f, err := os.Open(filepath.Join("..", "testdata", "reference", name))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	table, err := csv.NewReader(f).ReadAll()
	if err != nil || len(table) < 2 {
		t.Fatalf("%s: %d rows, %v", name, len(table), err)
	}
	var out []map[string]string
	for _, line := range table[1:] {
		row := map[string]string{}
		for i, column := range table[0] {
			row[column] = line[i]
		}
		if row["source"] == "" {
			t.Fatalf("%s: %v names no source", name, line)
		}
		out = append(out, row)
	}
	return out
}

func TestPlotFactors(t *testing.T) {
	// Each row of the file is a year of site A, its grams shared out unevenly.
	table := reference(t, "monitor-plots.csv")
	var bags []schema.Clipping
	for i, row := range table {
		n, total := int(number(t, row["frames"])), number(t, row["total_g"])
		for f := range n {
			share := 2 * total * float64(f+1) / float64(n*(n+1))
			bags = append(bags, schema.Clipping{Site: "A", Year: 1900 + i, Frame: fmt.Sprint(f), FrameType: row["frame_type"], Component: schema.Herbaceous, DryG: schema.Some(share)})
		}
	}
	means := map[int]*monitor.Mean{}
	herbaceous := monitor.Query{Filter: monitor.Filter{Components: []string{"herbaceous"}}}
	for _, m := range meansOf(t, ledgertest.Path(t, ledgertest.Records{Sites: siteA(""), Clippings: bags}), herbaceous) {
		means[m.Year] = m
	}
	for i, row := range table {
		unit, err := monitor.UnitNamed(row["unit"])
		if err != nil {
			t.Fatal(err)
		}
		got := unit.Of(means[1900+i].Mean.Float64)
		if want := number(t, row["expected"]); math.Abs(got-want) > number(t, row["tolerance"]) {
			t.Errorf("%s g in %s frames of %s: %v %s, want %v (%s)", row["total_g"], row["frames"], row["frame_type"], got, row["unit"], want, row["source"])
		}
	}
}

// Univ. of Maine Cooperative Extension, Pasture Course lesson 1 appendix E: a
// plate of 1 oz, 9 oz with the sample and 3 oz after drying are 25 % dry
// matter (33.3 % if the plate is forgotten), and 2.07 lb on a square yard are
// 2505 lb/acre dry (2504.7 exactly).
func TestPublishedDryMatterExample(t *testing.T) {
	dir := t.TempDir()
	write := func(name, text string) *intake.File {
		path := filepath.Join(dir, name)
		if err := os.WriteFile(path, []byte(text), 0o666); err != nil {
			t.Fatal(err)
		}
		f, err := intake.Open(path)
		if err != nil {
			t.Fatal(err)
		}
		t.Cleanup(func() { f.Close() })
		return f
	}
	refuse := func(p schema.Problem) { t.Fatal(p) }
	vocabulary := &schema.Vocabulary{Seasons: map[string]bool{"peak": true}}
	var r ledgertest.Records
	_, err := intake.Dryings(write("drying.csv", "site,year,component,green_gross_oz,dry_gross_oz,tare_oz\nA,2020,herbaceous,9,3,1\n"), intake.Options{}, vocabulary,
		func(d schema.Drying) error { r.Drying = append(r.Drying, d); return nil }, refuse)
	if err != nil {
		t.Fatal(err)
	}
	_, err = intake.Clippings(write("clippings.csv", "site,year,frame,frame_type,component,green_lb\nA,2020,1,9 ft2,herbaceous,2.07\n"), intake.Options{}, vocabulary,
		func(c schema.Clipping) error { r.Clippings = append(r.Clippings, c); return nil }, refuse)
	if err != nil {
		t.Fatal(err)
	}
	path := ledgertest.Path(t, r)
	m := meanOf(t, path, 2020, "herbaceous")
	if got := monitor.Units[0].Of(m.Mean.Float64); monitor.Units[0].Name != "lb/ac" || math.Abs(got-2505) > 0.5 {
		t.Errorf("%v %s, want 2505 ± 0.5 lb/ac", got, monitor.Units[0].Name)
	}
}

// Weights that came per area stay as they came and need no frame type;
// composite bags speak for all their frames and are one unit.
func TestAreaOfABag(t *testing.T) {
	for _, tt := range []struct {
		name, rows string
		mean       float64
		n          int
	}{
		{"per area", "2020 1 herbaceous dry=100 perm2 type=\n2020 2 herbaceous dry=50 perm2 type=", 75, 2},
		{"per area beside a frame type", "2020 1 herbaceous dry=100 perm2 type=4_m2", 100, 1},
		{"per area, green", "2020 1 herbaceous green=100 pct=40 perm2 type=", 40, 1},
		{"a composite of four frames", "2020 1 herbaceous dry=40 type=2_m2 frames=4\n2020 2 herbaceous dry=40 type=4_m2", 7.5, 2},
		{"two bags of a frame are added", "2020 1 herbaceous dry=10 bag=a type=2_m2\n2020 1 herbaceous dry=30 bag=b type=2_m2", 20, 1},
		{"species are added", "2020 1 herbaceous dry=10 sp=ONE type=2_m2\n2020 1 herbaceous green=50 pct=60 sp=TWO type=2_m2", 20, 1},
		{"frames of different size", "2020 1 herbaceous dry=10 type=2_m2\n2020 2 herbaceous dry=40 type=4_m2", 7.5, 2},
	} {
		t.Run(tt.name, func(t *testing.T) {
			path := ledgertest.Path(t, ledgertest.Records{Sites: siteA("herbaceous"), Clippings: rows(t, tt.rows)})
			m := meanOf(t, path, 2020, "herbaceous")
			near(t, "mean", m.Mean, tt.mean, 1e-12)
			if m.N != tt.n {
				t.Errorf("n %d, want %d", m.N, tt.n)
			}
			soundLedger(t, path)
		})
	}
}

// Units of display convert there and back, by exact constants.
func TestUnitsInvert(t *testing.T) {
	for _, u := range monitor.Units {
		for _, g := range []float64{1e-9, 0.1, 1, 123.456, 1e6} {
			if back := u.Of(g) / u.PerGM2; math.Abs(back-g) > 1e-15*g {
				t.Errorf("%v g/m² in %s and back: %v", g, u.Name, back)
			}
		}
	}
	pounds, err := monitor.UnitNamed("lb/ac")
	kilos, err2 := monitor.UnitNamed("kg/ha")
	// 1 lb/acre = 0.45359237 kg / 0.40468564224 ha (conversion tables; the
	// printed 1.121 rounds it).
	if ratio := kilos.PerGM2 / pounds.PerGM2; err != nil || err2 != nil || math.Abs(ratio-0.45359237/0.40468564224) > 1e-15 {
		t.Errorf("kg/ha per lb/ac %v", ratio)
	}
	if _, err := monitor.UnitNamed("lb/acre"); err == nil || !strings.Contains(err.Error(), "lb/ac, kg/ha or g/m2") {
		t.Errorf("an unknown unit: %v", err)
	}
}
