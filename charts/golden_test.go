package charts

import (
	"flag"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

var update = flag.Bool("update", false, "write the golden files anew")

// smallReport has one of everything a page can show: a transect site in two
// seasons with dead material, a missing mean, an interval below zero, a loud
// remark, a site never clipped, and one whose production is one part alone.
func smallReport() *Report {
	return &Report{
		LedgerName: "Small ledger", LastChange: "2024-10-01", Unit: "kg/ha", Basis: "oven-dry", Confidence: 0.95,
		AdequacyText: "±25\u00a0% at 80\u00a0% confidence", PrecisionPct: 25,
		Settings:   []Setting{{"basis", "oven-dry", "moisture basis"}, {"classes", "", "scheme of classes"}},
		BookTables: []BookTable{{"handbook", "From memory, not checked against print.", true}},
		Sources:    []Source{{"Own 2020", "Own drying trials, 2020."}},
		Sites: []Site{
			{Code: "K1", Name: "Kettle", Stratum: "Hills", SamplingUnit: "transect", Selection: "chosen", Caution: true,
				Facts:   []Fact{{"Placement", "same spot every year"}},
				Remarks: []Remark{{"Clipped every year in the same spot.", true}, {"Frames of 0.25 m².", false}},
				Series: []Series{
					{Component: "production", Season: "peak", Production: true, Years: []Year{
						{Year: 2020, N: 4, Mean: ptr(812.5), SD: ptr(100.25), SE: ptr(51.5), SEDrying: ptr(11.75), DF: ptr(3.4), CVPct: ptr(12.338461),
							Low: ptr(650.0), High: ptr(975.0), HallLow: ptr(660.0), HallHigh: ptr(1010.0), HalfWidthPct: ptr(10.5), BookPct: ptr(62.5), BookLow: ptr(701.25), BookHigh: ptr(923.75),
							Required: ptr(2.0), Assured: ptr(4), Adequate: ptr(true), Frames: []float64{700, 800, 850, 900}},
						{Year: 2022, N: 3, Mean: ptr(400.0), SD: ptr(350.0), SE: ptr(202.07), DF: ptr(2.0), CVPct: ptr(87.5),
							Low: ptr(-469.4), High: ptr(1269.4), HalfWidthPct: ptr(95.2), Required: ptr(22.0), Assured: ptr(29), ShortBy: ptr(19),
							Adequate: ptr(false), ZerosInferred: 2, Missing: 1, Frames: []float64{50, 375, 775},
							Remarks: []Remark{{"A bag was lost.", true}}},
					}},
					{Component: "browse", Season: "fall", Production: true, Years: []Year{
						{Year: 2020, N: 4, Mean: ptr(0.0), SD: ptr(0.0), ZerosInferred: 4, Frames: []float64{0, 0, 0, 0}},
						{Year: 2022, Missing: 4, Remarks: []Remark{{"A bag was lost.", true}}},
					}},
					{Component: "litter", Season: "peak", Years: []Year{{Year: 2020, N: 1, Mean: ptr(55.5), Frames: []float64{55.5}}}},
				}},
			{Code: "K2", Stratum: "Hills"},
			grassSite(),
		},
	}
}

// TestGolden compares the pages of the small report, byte for byte. After a
// wanted change: go test ./charts -run Golden -update, and read the diff.
func TestGolden(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "r")
	write(t, dir, smallReport())
	got := files(t, dir)
	for name := range got {
		if strings.HasPrefix(name, "assets/") {
			delete(got, name)
		}
	}
	golden := filepath.Join("testdata", "golden")
	if *update {
		if err := os.RemoveAll(golden); err != nil {
			t.Fatal(err)
		}
		for name, content := range got {
			path := filepath.Join(golden, name)
			if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
				t.Fatal(err)
			}
			if err := os.WriteFile(path, []byte(content), 0o644); err != nil {
				t.Fatal(err)
			}
		}
	}
	want := files(t, golden)
	for name := range want {
		if _, ok := got[name]; !ok {
			t.Errorf("%s is no longer written", name)
		}
	}
	for name, content := range got {
		if content != want[name] {
			t.Errorf("%s differs from its golden file: %s", name, firstDifference(content, want[name]))
		}
	}
}

func firstDifference(got, want string) string {
	g, w := strings.Split(got, "\n"), strings.Split(want, "\n")
	for i := range g {
		if i >= len(w) || g[i] != w[i] {
			other := "nothing"
			if i < len(w) {
				other = w[i]
			}
			return "got " + g[i] + "\nwant " + other
		}
	}
	return "it is shorter"
}
