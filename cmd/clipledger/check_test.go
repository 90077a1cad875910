package main

import (
	"encoding/json"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// foundJSON is a finding as check --format json prints it.
type foundJSON struct {
	ID       string   `json:"id"`
	Severity string   `json:"severity"`
	Check    string   `json:"check"`
	Site     string   `json:"site"`
	Years    []int    `json:"years"`
	Records  []string `json:"record_list"`
	Found    string   `json:"found"`
}

// demoFindings are all findings of the demo.
func demoFindings(t *testing.T) []foundJSON {
	t.Helper()
	o := mustRun(t, "check", "--ledger", filepath.Join(sharedDemo(t), "ansel-basin.db"), "--format", "json")
	var found []foundJSON
	if err := json.Unmarshal([]byte(o.out), &found); err != nil {
		t.Fatal(err)
	}
	return found
}

// checkOfFault tells by a word of a planted fault's description which check
// must find it.
var checkOfFault = []struct{ word, check string }{
	{"used once", "frame-type-once"},
	{"edge_rule", "edge-rule-changed"},
	{"bagged under", "species-component"},
	{"dated in", "date-within-occasion"},
	{"slipped decimal", "weight-outlier"},
	{"hardly dried", "fraction-far"},
}

// Every fault that was planted in the invented district is found, at its
// site, in its year and in its file, and the sites without faults raise
// nothing beyond notes.
func TestPlantedFaultsAreFound(t *testing.T) {
	content, err := os.ReadFile("../../testdata/ansel-basin/truth.json")
	if err != nil {
		t.Fatal(err)
	}
	var truth struct {
		Sites []struct {
			Site  string `json:"site"`
			Clean bool   `json:"clean"`
		} `json:"sites"`
		Faults []struct {
			File string `json:"file"`
			Site string `json:"site"`
			Year int    `json:"year"`
			What string `json:"what"`
		} `json:"faults"`
	}
	if err := json.Unmarshal(content, &truth); err != nil {
		t.Fatal(err)
	}
	if len(truth.Faults) < 6 {
		t.Fatalf("truth.json lists %d faults, want six", len(truth.Faults))
	}
	found := demoFindings(t)
	for _, fault := range truth.Faults {
		i := slices.IndexFunc(checkOfFault, func(c struct{ word, check string }) bool { return strings.Contains(fault.What, c.word) })
		if i < 0 {
			t.Errorf("no check is named for the fault %q", fault.What)
			continue
		}
		matches := func(f foundJSON) bool {
			return f.Check == checkOfFault[i].check && f.Severity != "note" && f.Site == fault.Site && slices.Contains(f.Years, fault.Year) &&
				strings.Contains(strings.Join(f.Records, "\n"), fault.File)
		}
		if !slices.ContainsFunc(found, matches) {
			t.Errorf("%s %d: not found: %s", fault.Site, fault.Year, fault.What)
		}
	}
	for _, site := range truth.Sites {
		for _, f := range found {
			if site.Clean && f.Site == site.Site && f.Severity != "note" {
				t.Errorf("%s is clean, and yet: %s %s: %s", site.Site, f.Severity, f.Check, f.Found)
			}
		}
	}
}

// The formats hold the same findings, and a frame of the demo can be found
// again by file and line.
func TestCheckFormats(t *testing.T) {
	ledger := filepath.Join(sharedDemo(t), "ansel-basin.db")
	found := demoFindings(t)
	lines := strings.Split(strings.TrimSpace(mustRun(t, "check", "--ledger", ledger, "--format", "csv").out), "\n")
	if got, want := lines[0], "id,severity,check,site,year,season,component,records,found,why,do,accepted"; got != want {
		t.Errorf("columns %s, want %s", got, want)
	}
	if len(lines) != len(found)+1 {
		t.Errorf("%d rows of CSV, %d of JSON", len(lines)-1, len(found))
	}
	table := mustRun(t, "check", "--ledger", ledger).out
	for i, f := range found {
		if !strings.HasPrefix(lines[i+1], f.ID+","+f.Severity+","+f.Check+","+f.Site) {
			t.Errorf("row %d of the CSV is %s, want %s first", i+1, lines[i+1], f.ID)
		}
		if !strings.Contains(table, f.ID+"  "+f.Severity+"  "+f.Check) {
			t.Errorf("the table lacks %s", f.ID)
		}
	}
	i := slices.IndexFunc(found, func(f foundJSON) bool { return f.Check == "weight-outlier" && f.Site == "BUCKLE" })
	if i < 0 {
		t.Fatal("no outlier at BUCKLE")
	}
	file, line, _ := strings.Cut(strings.TrimSuffix(found[i].Records[0][strings.IndexByte(found[i].Records[0], '(')+1:], ")"), " line ")
	number, err := strconv.Atoi(line)
	if err != nil {
		t.Fatal(err)
	}
	content, err := os.ReadFile("../../testdata/ansel-basin/" + file)
	if err != nil {
		t.Fatal(err)
	}
	if row := strings.Split(string(content), "\n")[number-1]; !strings.HasPrefix(row, "BUCKLE;2017-07-11;6;herbaceous;") {
		t.Errorf("%s line %d is %q, want frame 6 of 2017", file, number, row)
	}
}

// The example in the help of accept names a finding that the demo has.
func TestExampleFindingExists(t *testing.T) {
	if !slices.ContainsFunc(demoFindings(t), func(f foundJSON) bool { return f.ID == exampleFinding && f.Check == "edge-rule-changed" }) {
		t.Errorf("the demo has no finding %s", exampleFinding)
	}
}
