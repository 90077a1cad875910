package main

import (
	"bytes"
	"encoding/csv"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// written calls the program and returns the folder it wrote.
func written(t *testing.T, args ...string) string {
	t.Helper()
	dir := filepath.Join(t.TempDir(), "rows")
	var stderr bytes.Buffer
	if code := run(append(args, dir), &stderr); code != 0 {
		t.Fatalf("benchrows %v: exit %d: %s", args, code, &stderr)
	}
	return dir
}

// readCSV reads a file: its header, and its rows by column name.
func readCSV(t *testing.T, path string) (header []string, rows []map[string]string) {
	t.Helper()
	f, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	all, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatalf("%s: %v", path, err)
	}
	for _, cells := range all[1:] {
		row := map[string]string{}
		for i, name := range all[0] {
			row[name] = cells[i]
		}
		rows = append(rows, row)
	}
	return all[0], rows
}

func read(t *testing.T, path string) []byte {
	t.Helper()
	b, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

var names = []string{"clippings.csv", "new500.csv", "sites.csv", "species.csv"}

func TestSameCallSameBytes(t *testing.T) {
	args := []string{"--sites", "7", "--years", "3", "--frames", "4", "--bags", "5"}
	a, b := written(t, args...), written(t, args...)
	other := written(t, append(args, "--seed", "2")...)
	for _, name := range names {
		if !bytes.Equal(read(t, filepath.Join(a, name)), read(t, filepath.Join(b, name))) {
			t.Errorf("%s differs between two equal calls", name)
		}
	}
	if bytes.Equal(read(t, filepath.Join(a, "clippings.csv")), read(t, filepath.Join(other, "clippings.csv"))) {
		t.Error("another seed gave the same clippings")
	}
}

func TestRowsAreCountedAndInOrder(t *testing.T) {
	for _, s := range []size{{sites: 1, years: 1, frames: 1, bags: 1}, {sites: 9, years: 4, frames: 3, bags: 5}, {sites: 13, years: 2, frames: 20, bags: mostBags}} {
		dir := written(t, "--sites", strconv.Itoa(s.sites), "--years", strconv.Itoa(s.years), "--frames", strconv.Itoa(s.frames), "--bags", strconv.Itoa(s.bags))
		_, rows := readCSV(t, filepath.Join(dir, "clippings.csv"))
		if got, want := len(rows), s.sites*s.years*s.frames*s.bags; got != want {
			t.Errorf("%+v: %d rows, want %d", s, got, want)
		}
		inOrder := slices.IsSortedFunc(rows, func(a, b map[string]string) int {
			return strings.Compare(a["date"][:4]+a["site"], b["date"][:4]+b["site"])
		})
		if !inOrder {
			t.Errorf("%+v: the rows are not in the order of years and sites", s)
		}
		seen := map[string]bool{}
		for _, r := range rows {
			key := r["site"] + " " + r["date"][:4] + " " + r["frame"] + " " + r["component"] + " " + r["species"]
			if seen[key] {
				t.Fatalf("%+v: %s stands twice", s, key)
			}
			seen[key] = true
		}
	}
}

func TestNewRowsAreOfTheYearAfter(t *testing.T) {
	dir := written(t, "--sites", "11", "--years", "3")
	_, rows := readCSV(t, filepath.Join(dir, "new500.csv"))
	if got := len(rows); got != 500 {
		t.Errorf("%d rows, want 500", got)
	}
	sites := map[string]int{}
	for _, r := range rows {
		sites[r["site"]]++
		if got := r["date"][:4]; got != "2003" {
			t.Fatalf("a new row is of %s, want 2003", got)
		}
	}
	if len(sites) != 5 {
		t.Errorf("new rows of %d sites, want 5", len(sites))
	}
}

// TestRowsAreMixed looks at what the rows are for: blank dry weights that can
// be filled, and notes that need quotes.
func TestRowsAreMixed(t *testing.T) {
	dir := written(t, "--sites", "40", "--years", "5")
	_, rows := readCSV(t, filepath.Join(dir, "clippings.csv"))
	var blank, withPct, note int
	for i, r := range rows {
		green, err := strconv.ParseFloat(r["green_g"], 64)
		if err != nil || green <= 0 {
			t.Fatalf("row %d: green weight %q", i+1, r["green_g"])
		}
		switch r["dry_g"] {
		case "":
			blank++
			if r["dm_pct"] != "" {
				withPct++
			}
			if r["stage"] == "" {
				t.Fatalf("row %d has neither a dry weight nor a stage", i+1)
			}
		default:
			if dry, err := strconv.ParseFloat(r["dry_g"], 64); err != nil || dry < 0 || dry > green {
				t.Fatalf("row %d: dry weight %q of green %q", i+1, r["dry_g"], r["green_g"])
			}
			if r["dm_pct"] != "" {
				t.Fatalf("row %d has a dry weight and a percentage", i+1)
			}
		}
		if r["note"] != "" {
			note++
		}
	}
	share := func(what string, n, of int, low, high float64) {
		if got := float64(n) / float64(of); got < low || got > high {
			t.Errorf("%s: %.3f of the rows, want %g to %g", what, got, low, high)
		}
	}
	share("blank dry weights", blank, len(rows), 0.09, 0.11)
	share("of these with a percentage", withPct, blank, 0.45, 0.55)
	share("notes", note, len(rows), 0.015, 0.025)
	if text := read(t, filepath.Join(dir, "clippings.csv")); !bytes.Contains(text, []byte(`""`)) {
		t.Error("no note holds quotes")
	}
}

func TestWrongUse(t *testing.T) {
	dir := t.TempDir()
	for _, args := range [][]string{{}, {"a", "b"}, {"--sites", "0", dir}, {"--bags", "21", dir}, {"--frames", "x", dir}, {"--what", dir}} {
		if code := run(args, &bytes.Buffer{}); code != 2 {
			t.Errorf("benchrows %q: exit %d, want 2", args, code)
		}
	}
}

func TestFilesAreNeverOverwritten(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "clippings.csv")
	if err := os.WriteFile(path, []byte("mine\n"), 0o666); err != nil {
		t.Fatal(err)
	}
	if code := run([]string{"--sites", "1", "--years", "1", dir}, &bytes.Buffer{}); code != 1 {
		t.Errorf("exit %d, want 1", code)
	}
	if got := string(read(t, path)); got != "mine\n" {
		t.Errorf("the file now holds %q", got)
	}
}

// TestRowsImportCleanly brings a small run into a ledger with the built
// program: every row is taken, every bag gets a dry weight, and the new rows
// follow.
func TestRowsImportCleanly(t *testing.T) {
	const sites, years, frames, bags = 6, 3, 4, 5
	dir := written(t, "--sites", strconv.Itoa(sites), "--years", strconv.Itoa(years), "--frames", strconv.Itoa(frames), "--bags", strconv.Itoa(bags))
	bin := filepath.Join(t.TempDir(), "clipledger.exe")
	if out, err := exec.Command("go", "build", "-o", bin, "clipledger/cmd/clipledger").CombinedOutput(); err != nil {
		t.Fatalf("build the program: %v\n%s", err, out)
	}
	ledger := filepath.Join(t.TempDir(), "bench.db")
	call := func(args ...string) string {
		t.Helper()
		cmd := exec.Command(bin, append([]string{"--ledger", ledger}, args...)...)
		var stderr bytes.Buffer
		cmd.Stderr = &stderr
		out, err := cmd.Output()
		if err != nil {
			t.Fatalf("clipledger %v: %v\n%s", args, err, &stderr)
		}
		return string(out)
	}
	for _, step := range []struct {
		kind, file string
		rows       int
	}{
		{"species", "species.csv", len(herbs) + len(shrubs)},
		{"sites", "sites.csv", sites},
		{"clippings", "clippings.csv", sites * years * frames * bags},
		{"clippings", "new500.csv", 5 * frames * bags},
	} {
		out := call("import", step.kind, filepath.Join(dir, step.file))
		if want := strconv.Itoa(step.rows) + " records added"; !strings.Contains(out, want) {
			t.Errorf("import %s printed %q, want %q in it", step.file, out, want)
		}
	}
	means := filepath.Join(t.TempDir(), "means.csv")
	if err := os.WriteFile(means, []byte(call("means", "--format", "csv")), 0o666); err != nil {
		t.Fatal(err)
	}
	_, rows := readCSV(t, means)
	if got, want := len(rows), 3*(sites*years+5); got != want {
		t.Errorf("%d means, want %d", got, want)
	}
	for _, r := range rows {
		if r["n"] != strconv.Itoa(frames) || r["missing"] != "0" || r["zeros_inferred"] != "0" {
			t.Errorf("%s %s %s: n %s, missing %s, zeros %s; want every frame", r["site"], r["year"], r["component"], r["n"], r["missing"], r["zeros_inferred"])
		}
	}
}
