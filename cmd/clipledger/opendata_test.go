package main

import (
	"encoding/csv"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"clipledger/monitor/needtool"
)

// Open clippings: ten years from a sagebrush station, as their authors put
// them out (Tredennick, Kleinhesselink, Taylor and Adler 2018, PeerJ 6:e4485;
// MIT licence). The files are not part of this program. The variable names
// the folder that holds them; without it the test is skipped and says so.
//
// Weights are dry grams a frame. Frames were 0.25 m2 through 2013 and 0.5 m2
// from 2014 on. They were picked to calibrate an instrument: good for
// arithmetic, no random sample of the place.
const openDataVariable = "CLIPLEDGER_OPEN_DATA"

// openYear is one year's file, how it must be read, and what comes out.
type openYear struct {
	year    int
	file    string
	frame   string // its frame type
	flags   []string
	records int // rows taken, lost weights included
	leftOut int
	n       int
	mean    float64 // g/m2, worked out from the file by hand
	missing int
}

var openYears = []openYear{
	{year: 2008, file: "usses_clip_2008.csv", frame: "0.25 m2", records: 16, n: 16, mean: 148.580},
	{year: 2009, file: "usses_clip_2009.csv", frame: "0.25 m2", flags: []string{"--ignore", "extra"}, records: 15, n: 15, mean: 115.49576},
	{year: 2010, file: "usses_clip_2010.csv", frame: "0.25 m2", records: 15, n: 15, mean: 138.4266666667},
	// The dates of 2011 cannot be read, and are not needed.
	{year: 2011, file: "usses_clip_2011.csv", frame: "0.25 m2", flags: []string{"--ignore", "date"}, records: 15, n: 15, mean: 180.2933333333},
	{year: 2012, file: "usses_clip_2012.csv", frame: "0.25 m2", flags: []string{"--dates", "mdy"}, records: 15, n: 15, mean: 90.7226666667},
	{year: 2013, file: "usses_clip_2013.csv", frame: "0.25 m2", records: 15, n: 15, mean: 115.6693333333},
	{year: 2014, file: "usses_clip_2014.csv", frame: "0.5 m2", records: 15, n: 15, mean: 63.4466666667},
	// 9A and 9B are the two bags of frame 9, whose sum stands in row 9.
	{year: 2015, file: "usses_clip_2015.csv", frame: "0.5 m2", records: 12, leftOut: 2, n: 12, mean: 162.375,
		flags: []string{"--dates", "mdy", "--leave-out", "rep=9A,9B", "--map", "dry_gross_g=Dry Mass in Bag", "--map", "tare_g=Bag Mass"}},
	{year: 2016, file: "usses_clip_2016.csv", frame: "0.5 m2", records: 16, n: 16, mean: 198.675,
		flags: []string{"--dates", "mdy", "--ignore", "annual %"}},
	// Four bags of 2017 have no weight: lost, not zero.
	{year: 2017, file: "usses_clip_2017_cache.csv", frame: "0.5 m2", records: 20, n: 16, mean: 195.575, missing: 4,
		flags: []string{"--dates", "mdy", "--ignore", "annual %"}},
}

// climateFile holds the monthly rain.
const climateFile = "usses_monthly_climate.csv"

// openData finds the folder of the open clippings.
func openData(t *testing.T) string {
	t.Helper()
	dir := os.Getenv(openDataVariable)
	if dir == "" {
		t.Skipf("skipped: %s does not name the folder of the open clippings (Tredennick and others 2018)", openDataVariable)
	}
	names := []string{climateFile}
	for _, y := range openYears {
		names = append(names, y.file)
	}
	for _, name := range names {
		if _, err := os.Stat(filepath.Join(dir, name)); err != nil {
			needtool.Missing(t, "the file "+name+" in the folder that "+openDataVariable+" names")
		}
	}
	return dir
}

// station is a ledger of the open clippings on its way.
type station struct {
	t                *testing.T
	dir, ledger, cue string // cue is the map file
}

func newStation(t *testing.T) *station {
	t.Helper()
	s := &station{t: t, dir: openData(t)}
	work := t.TempDir()
	s.ledger, s.cue = work+"/station.db", work+"/map.csv"
	if err := os.WriteFile(s.cue, []byte("ours,theirs\nframe,rep\ndry_g,biomass_grams\n"), 0o666); err != nil {
		t.Fatal(err)
	}
	return s
}

// importYear imports one year's file as it is, with flags besides.
func (s *station) importYear(y *openYear, flags ...string) outcome {
	args := append([]string{"--ledger", s.ledger, "import", "clippings", filepath.Join(s.dir, y.file), "--map-file", s.cue,
		"--set", "site=USSES", "--set", "component=herbaceous", "--set", "frame_type=" + y.frame}, flags...)
	return run(s.t, args...)
}

// means are the station's means by year, in g/m2.
func (s *station) means() map[string]map[string]string {
	o := mustRun(s.t, "--ledger", s.ledger, "means", "--units", "g/m2", "--format", "csv", "--component", "herbaceous")
	return rowsOf(s.t, o.out, "year")
}

// TestOpenClippings brings ten files by many hands in, none of them edited,
// and holds the means against those worked out from the files.
func TestOpenClippings(t *testing.T) {
	s := newStation(t)
	for i := range openYears {
		y := &openYears[i]
		o := s.importYear(y, y.flags...)
		want := fmt.Sprintf("%s: %d records added", y.file, y.records)
		if y.leftOut > 0 {
			want += fmt.Sprintf(", %d rows left out on purpose", y.leftOut)
		}
		if o.code != exitDone || o.out != want+"\n" {
			t.Errorf("%d: code %d, stdout %q, not %q; stderr:\n%s", y.year, o.code, o.out, want, o.err)
		}
	}
	means := s.means()
	if len(means) != len(openYears) {
		t.Errorf("%d years, not %d", len(means), len(openYears))
	}
	for _, y := range openYears {
		row := means[fmt.Sprint(y.year)]
		if row == nil {
			t.Errorf("%d: no mean", y.year)
			continue
		}
		if got := number(t, row, "mean"); math.Abs(got/y.mean-1) > 1e-9 {
			t.Errorf("%d: mean %v, not %v", y.year, got, y.mean)
		}
		if n, m := number(t, row, "n"), number(t, row, "missing"); int(n) != y.n || int(m) != y.missing {
			t.Errorf("%d: n %v and %v missing, not %d and %d", y.year, n, m, y.n, y.missing)
		}
		if row["zeros_inferred"] != "0" {
			t.Errorf("%d: %s zeros inferred", y.year, row["zeros_inferred"])
		}
	}
	mustRun(t, "--ledger", s.ledger, "verify")

	// All of it again, in the other order, changes nothing.
	before := mustRead(t, s.ledger)
	for i := len(openYears) - 1; i >= 0; i-- {
		if o := s.importYear(&openYears[i], openYears[i].flags...); o.code != exitDone || !strings.Contains(o.out, "nothing changed") {
			t.Errorf("%d again: code %d, %s%s", openYears[i].year, o.code, o.out, o.err)
		}
	}
	if mustRead(t, s.ledger) != before {
		t.Error("importing everything again changed the ledger")
	}
}

// TestOpenClippingsRefused holds what happens without the flags that a file
// needs: rows are refused with their lines, or a total is counted twice.
func TestOpenClippingsRefused(t *testing.T) {
	s := newStation(t)
	byYear := map[int]*openYear{}
	for i := range openYears {
		byYear[openYears[i].year] = &openYears[i]
	}

	// 2011 begins with a byte order mark, ends its lines with a bare CR, and
	// has fifteen dates that are none: lines 2 to 16 as an editor counts.
	for _, flags := range [][]string{nil, {"--dates", "mdy"}, {"--dates", "dmy"}} {
		o := s.importYear(byYear[2011], flags...)
		if o.code != exitData || o.out != "" {
			t.Errorf("2011 %v: code %d, stdout %q", flags, o.code, o.out)
		}
		for line := 2; line <= 16; line++ {
			if want := fmt.Sprintf("usses_clip_2011.csv:%d: column date: \"7/711\": is not a date", line); !strings.Contains(o.err, want) {
				t.Errorf("2011 %v: stderr does not say %q:\n%s", flags, want, o.err)
			}
		}
		if !strings.Contains(o.err, `--ignore "date"`) {
			t.Errorf("2011 %v: stderr does not say how to do without the dates:\n%s", flags, o.err)
		}
		if _, err := os.Stat(s.ledger); err == nil {
			t.Error("a refused import left a ledger behind")
		}
	}

	// 2012 needs to be told how its dates are written.
	o := s.importYear(byYear[2012])
	if o.code != exitData || !strings.Contains(o.err, `usses_clip_2012.csv:2: column date: "6/28/12"`) || !strings.Contains(o.err, "--dates mdy") {
		t.Errorf("2012: code %d, stderr:\n%s", o.code, o.err)
	}

	// 2015 with the two bags beside their sum: 14 rows and a wrong mean.
	if o := s.importYear(byYear[2015], "--dates", "mdy"); o.code != exitDone {
		t.Fatalf("2015 with everything: code %d, stderr:\n%s", o.code, o.err)
	}
	row := s.means()["2015"]
	if got := number(t, row, "mean"); row["n"] != "14" || math.Abs(got-148.57) > 0.005 {
		t.Errorf("2015 with everything: n %s, mean %v; this file is not the one that the test knows", row["n"], got)
	}
}

// TestOpenRain brings the station's rain in and holds every month against
// the file: months without a value stay missing.
func TestOpenRain(t *testing.T) {
	s := newStation(t)
	path := filepath.Join(s.dir, climateFile)
	records, err := csv.NewReader(strings.NewReader(mustRead(t, path))).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	want := map[string]bool{}
	for _, r := range records[1:] {
		if r[2] != "NA" {
			want[fmt.Sprintf("USSES|%s|%s|%s", r[0], r[1], r[2])] = true
		}
	}
	if len(want) == len(records)-1 {
		t.Fatal("no month of the file is missing: this is not the one that the test knows")
	}

	o := mustRun(t, "--ledger", s.ledger, "import", "rain", path, "--map", "rain_mm=PRCP", "--set", "station=USSES")
	if told := fmt.Sprintf("%s: %d records added\n", climateFile, len(want)); o.out != told {
		t.Errorf("stdout %q, not %q", o.out, told)
	}
	if !strings.Contains(o.err, "no rain value") {
		t.Errorf("stderr does not tell of the missing months:\n%s", o.err)
	}
	var out strings.Builder
	if err := runSQL(&out, s.ledger, "SELECT station, year, month, rain_mm FROM rain"); err != nil {
		t.Fatal(err)
	}
	got := strings.Fields(out.String())
	for _, line := range got {
		if !want[line] {
			t.Errorf("the ledger holds %s, which the file does not", line)
		}
	}
	if len(got) != len(want) {
		t.Errorf("%d months in the ledger, %d in the file", len(got), len(want))
	}
}
