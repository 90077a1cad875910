package main

import (
	"encoding/csv"
	"encoding/json"
	"fmt"
	"io/fs"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// The columns that programs of other people read. They are a contract: what
// is added goes to the end, and nothing is renamed.
const (
	meansHeader = "site,year,season,component,unit,basis,n,mean,sd,se,se_drying,df,cv_pct,confidence,ci_low,ci_high,hall_low,hall_high," +
		"zeros_inferred,missing,book_value_pct,n_required,adequate,class"
	adequacyHeader = "site,year,season,component,unit,n,mean,sd,cv_pct,precision,confidence,half_width_pct,n_required,assurance,n_assured," +
		"short_by,adequate,change_detectable_pct"
	compareHeader = "site,season,component,unit,year_1,year_2,design,n_1,n_2,mean_1,mean_2,difference,difference_pct,ci_low,ci_high,t,df,p,p_holm,p_bh,min_detectable"
	trendHeader   = "site,season,component,unit,method,years,first_year,last_year,slope,slope_low,slope_high,slope_pct,statistic,df,p,verdict,min_detectable"
)

// TestColumns holds the columns of results against the contract, with rows
// and without, and that JSON has the same names.
func TestColumns(t *testing.T) {
	ledger := sharedDemo(t) + "/ansel-basin.db"
	for command, want := range map[string]string{"means": meansHeader, "adequacy": adequacyHeader, "compare": compareHeader, "trend": trendHeader} {
		for _, site := range []string{"QUILL", "NOWHERE"} {
			o := mustRun(t, command, "--ledger", ledger, "--format", "csv", "--site", site)
			if got, _, _ := strings.Cut(o.out, "\n"); got != want {
				t.Errorf("%s --site %s: columns\n%s\nnot\n%s", command, site, got, want)
			}
		}
		o := mustRun(t, command, "--ledger", ledger, "--format", "json", "--site", "QUILL")
		var rows []map[string]any
		if err := json.Unmarshal([]byte(o.out), &rows); err != nil {
			t.Fatalf("%s: %v", command, err)
		}
		if len(rows) == 0 {
			t.Fatalf("%s: no rows", command)
		}
		for _, name := range strings.Split(want, ",") {
			if _, ok := rows[0][name]; !ok {
				t.Errorf("%s: JSON has no %s", command, name)
			}
		}
	}
}

// TestGolden holds results on the demo's ledger against testdata/golden:
// stdout, stderr and exit status. -update writes them anew.
func TestGolden(t *testing.T) {
	ledger := sharedDemo(t) + "/ansel-basin.db"
	for name, args := range map[string][]string{
		"demo-means":    {"means", "--format", "csv"},
		"demo-adequacy": {"adequacy", "--format", "csv"},
		"demo-compare":  {"compare", "--format", "csv"},
		"demo-trend":    {"trend", "--format", "csv"},
	} {
		o := run(t, append([]string{"--ledger", ledger}, args...)...)
		for ending, got := range map[string]string{
			".csv": o.out, ".stderr": o.err, ".status": strconv.Itoa(o.code) + "\n",
		} {
			path := "../../testdata/golden/" + name + ending
			if *update {
				if err := os.MkdirAll(filepath.Dir(path), 0o777); err != nil {
					t.Fatal(err)
				}
				if err := os.WriteFile(path, []byte(got), 0o666); err != nil {
					t.Fatal(err)
				}
			}
			close := 1e-12
			if name == "demo-trend" { // mixed models are fitted by iteration
				close = 1e-6
			}
			if want := mustRead(t, path); !alike(want, got, close) {
				t.Errorf("%s differs from what the program gives: %s", path, firstDifference(want, got))
			}
		}
	}
}

// alike tells whether two texts are the same cell by cell, numbers to twelve
// digits: the last ones differ between processors.
func alike(want, got string, close float64) bool {
	cells := func(s string) []string { return strings.Split(strings.ReplaceAll(s, "\n", ",\n,"), ",") }
	w, g := cells(want), cells(got)
	if len(w) != len(g) {
		return false
	}
	for i := range w {
		if w[i] == g[i] {
			continue
		}
		a, errA := strconv.ParseFloat(w[i], 64)
		b, errB := strconv.ParseFloat(g[i], 64)
		if errA != nil || errB != nil || !(math.Abs(a-b) <= close*math.Abs(a)) {
			return false
		}
	}
	return true
}

// TestAlike holds what counts as alike.
func TestAlike(t *testing.T) {
	for _, c := range []struct {
		a, b string
		want bool
	}{
		{"a,1,2\n", "a,1,2\n", true},
		{"a,1.00000000000001\n", "a,1\n", true},
		{"a,1.00000000001\n", "a,1\n", false},
		{"a,1\n", "b,1\n", false},
		{"a,,1\n", "a,1,\n", false},
		{"a,1\nb,1\n", "a,1,b,1\n", false},
		{"a,1,\n", "a,1\n", false},
		{"a,0\n", "a,NaN\n", false},
		{"a,0\n", "a,1e-300\n", false},
	} {
		if got := alike(c.a, c.b, 1e-12); got != c.want {
			t.Errorf("alike(%q, %q) = %v", c.a, c.b, got)
		}
	}
}

// firstDifference shows the first line in which two texts differ.
func firstDifference(want, got string) string {
	w, g := strings.Split(want, "\n"), strings.Split(got, "\n")
	for i := 0; i < max(len(w), len(g)); i++ {
		var a, b string
		if i < len(w) {
			a = w[i]
		}
		if i < len(g) {
			b = g[i]
		}
		if a != b {
			return fmt.Sprintf("line %d\nwant %s\ngot  %s", i+1, a, b)
		}
	}
	return "line ends"
}

// truth is what truth.json tells of the frames that were drawn.
type truth struct {
	Sites []struct {
		Site       string
		Clean      bool
		Components []struct {
			Component, Season string
			Years             []struct {
				Year      int
				FrameMean float64 `json:"realised_frame_mean"`
				Frames    int
			}
		}
	}
}

// TestDemoMeansAreTheTruth holds every mean of the sites without a planted
// fault against the mean of the frames that the generator drew, so that the
// golden files cannot be wrong together with the program. The two differ by
// the rounding of the weights and by what drying samples and book values miss.
func TestDemoMeansAreTheTruth(t *testing.T) {
	dir := sharedDemo(t)
	var told truth
	if err := json.Unmarshal([]byte(mustRead(t, dir+"/files/truth.json")), &told); err != nil {
		t.Fatal(err)
	}
	o := mustRun(t, "means", "--ledger", dir+"/ansel-basin.db", "--format", "csv", "--units", "g/m2")
	means := rowsOf(t, o.out, "site", "year", "season", "component")
	const within = 0.07 // of the mean; the worst, 6 %, is a year with three drying samples
	checked := 0
	for _, s := range told.Sites {
		for _, c := range s.Components {
			for _, y := range c.Years {
				key := fmt.Sprintf("%s %d %s %s", s.Site, y.Year, c.Season, c.Component)
				row, ok := means[key]
				if !ok {
					t.Errorf("%s: no mean", key)
					continue
				}
				if s.Site != "SPINDLE" && number(t, row, "n")+number(t, row, "missing") != float64(y.Frames) {
					t.Errorf("%s: %s frames and %s missing, not %d", key, row["n"], row["missing"], y.Frames)
				}
				if !s.Clean {
					continue
				}
				checked++
				if off := number(t, row, "mean")/y.FrameMean - 1; math.Abs(off) > within {
					t.Errorf("%s: mean %s, drawn %g (%+.1f %%)", key, row["mean"], y.FrameMean, 100*off)
				}
			}
		}
	}
	if checked < 90 {
		t.Errorf("only %d means were checked", checked)
	}
}

// rowsOf reads CSV into rows by the columns that name them.
func rowsOf(t *testing.T, text string, by ...string) map[string]map[string]string {
	t.Helper()
	records, err := csv.NewReader(strings.NewReader(text)).ReadAll()
	if err != nil || len(records) == 0 {
		t.Fatalf("no table: %v in %q", err, text)
	}
	rows := map[string]map[string]string{}
	for _, record := range records[1:] {
		row := map[string]string{}
		for i, name := range records[0] {
			row[name] = record[i]
		}
		key := make([]string, len(by))
		for i, name := range by {
			key[i] = row[name]
		}
		rows[strings.Join(key, " ")] = row
	}
	return rows
}

// number reads a cell that must hold a number.
func number(t *testing.T, row map[string]string, column string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(row[column], 64)
	if err != nil {
		t.Fatalf("%s of %v: %v", column, row, err)
	}
	return v
}

// TestSameBytes holds that what the program writes depends on nothing but its
// files and the clock: the reports of two demos in two folders are alike to
// the byte, and their ledgers to the row (SQLite may lay the same rows out on
// other pages).
func TestSameBytes(t *testing.T) {
	one, two := builtDemo(t), builtDemo(t)
	first, second := filesBelow(t, one), filesBelow(t, two)
	if len(first) < 50 || len(first) != len(second) {
		t.Errorf("%d files, then %d", len(first), len(second))
	}
	const ledger = "ansel-basin.db"
	first[ledger], second[ledger] = dumped(t, one+"/"+ledger), dumped(t, two+"/"+ledger)
	for _, name := range sortedKeys(first) {
		if first[name] != second[name] {
			t.Errorf("%s differs: %s", name, firstDifference(first[name], second[name]))
		}
	}
}

// filesBelow reads every file below a folder, by its name within.
func filesBelow(t *testing.T, dir string) map[string]string {
	t.Helper()
	files := map[string]string{}
	err := filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		name, err := filepath.Rel(dir, path)
		files[name] = mustRead(t, path)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return files
}

// dumped writes out all rows of all tables of a ledger.
func dumped(t *testing.T, path string) string {
	t.Helper()
	query := func(statement string) string {
		var out strings.Builder
		if err := runSQL(&out, path, statement); err != nil {
			t.Fatal(err)
		}
		return out.String()
	}
	var all strings.Builder
	for _, table := range strings.Fields(query("SELECT name FROM sqlite_schema WHERE type = 'table' ORDER BY name")) {
		lines := strings.Split(query("SELECT * FROM "+table), "\n")
		slices.Sort(lines)
		fmt.Fprintf(&all, "%s\n%s\n", table, strings.Join(lines, "\n"))
	}
	return all.String()
}
