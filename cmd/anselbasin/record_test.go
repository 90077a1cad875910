package main

import (
	"fmt"
	"slices"
	"strings"
	"testing"
)

// columns that each kind of file may have, plain names.
var columns = map[string]string{
	"clippings": "site date year frame component season transect frametype species growthform stage bag framesinbag " +
		"dmpct basis status componentssampled caged cagedsince treatment block observer edgerule clipheightcm " +
		"ungrazedpct note greeng greenoz greenkg greengrossg tareg dryg drykgha herbaceousgreeng browsegreeng",
	"drying":        "site date year component greeng dryg season species growthform stage transect frame bag basis",
	"sites":         "site name stratum areaha latitude longitude elevationm ecologicalsite components samplingunit unitspossible placement selection frametype yearstartmonth station rainmonths classscheme growthcurve note",
	"frame-types":   "frametype aream2 areaft2 diameterin circumferencein widthcm lengthcm",
	"species":       "species name growthform component",
	"book-values":   "table growthform species stage dmpct basis source",
	"rain":          "station year month rainmm",
	"estimates":     "site date frame component observer estimategreeng",
	"classes":       "scheme component unit basis lower upper label",
	"transects":     "site transect latitude longitude bearing lengthm side offsetm photo note",
	"events":        "site stratum start end kind note",
	"growth-curves": "curve dayofyear cumulativepct",
}

// kindOf tells from a file's name what it holds, "" for what is no table.
func kindOf(name string) string {
	for kind := range columns {
		if strings.HasPrefix(name, kind) && !strings.HasSuffix(name, ".txt") {
			return kind
		}
	}
	return ""
}

// TestColumns holds that every table has only columns that its import knows,
// and that every kind of file is there.
func TestColumns(t *testing.T) {
	seen := map[string]bool{}
	for name, data := range readDir(t, frozen) {
		kind := kindOf(name)
		if kind == "" {
			continue
		}
		seen[kind] = true
		header, rows := readRows(t, name, data)
		if len(rows) == 0 {
			t.Errorf("%s has no rows", name)
		}
		for _, h := range header {
			if !slices.Contains(strings.Fields(columns[kind]), h) {
				t.Errorf("%s: column %s is not one of %s", name, h, kind)
			}
		}
	}
	if len(seen) != len(columns) {
		t.Errorf("kinds of files: %v", seen)
	}
}

// TestNaturalKeys holds that no bag comes twice, and that no total without a
// species stands beside bags by species.
func TestNaturalKeys(t *testing.T) {
	seen := map[string]bool{}
	bySpecies := map[string]bool{} // component of a frame: whether kept by species
	for _, b := range readBags(t, readDir(t, frozen)) {
		at := fmt.Sprintf("%s|%d|%s|%s|%s|%v|%s", b.site, b.year, b.season, b.transect, b.frame, b.caged, b.component)
		if key := at + "|" + b.species; seen[key] {
			t.Errorf("bag twice: %s", key)
		} else {
			seen[key] = true
		}
		if kept, ok := bySpecies[at]; ok && kept != (b.species != "") {
			t.Errorf("total beside species: %s", at)
		}
		bySpecies[at] = b.species != ""
	}
}

// TestRowsImport holds what an import would refuse: no weight and no status,
// a frame without an area, an unknown season, status, species or stage.
func TestRowsImport(t *testing.T) {
	files := readDir(t, frozen)
	c := readBack(t, files)
	for _, b := range readBags(t, files) {
		weighed := b.green != nil || b.dry != nil || b.perArea != nil
		switch {
		case !weighed && b.status == "":
			t.Errorf("no weight and no status: %+v", b)
		case b.status == "empty" && weighed, b.component == "" && b.status != "empty":
			t.Errorf("empty or not: %+v", b)
		case !slices.Contains([]string{"", "lost", "empty"}, b.status), !slices.Contains([]string{"peak", "fall"}, b.season):
			t.Errorf("unknown status or season: %+v", b)
		case areas[b.frameType] == 0, b.species != "" && c.form[b.species] == "":
			t.Errorf("unknown frame type or species: %+v", b)
		case b.stage != "" && handbook[c.form[b.species]+" "+b.stage] == 0:
			t.Errorf("no book value: %+v", b)
		case b.green != nil && *b.green < 0, b.dry != nil && *b.dry < 0:
			t.Errorf("below zero: %+v", b)
		}
	}
}

// TestDrying holds that no sample weighs more dry than green, and that a set
// of samples has three to five.
func TestDrying(t *testing.T) {
	sets, seen := map[string]int{}, map[string]bool{}
	_, rows := readRows(t, "drying", readDir(t, frozen)["drying-invented.csv"])
	for _, r := range rows {
		if *number(t, r["dryg"]) >= *number(t, r["greeng"]) {
			t.Errorf("dry above green: %v", r)
		}
		set := r["site"] + r["date"] + r["component"] + r["species"]
		sets[set]++
		if key := set + r["greeng"] + "|" + r["dryg"]; seen[key] {
			t.Errorf("sample twice: %s", key)
		} else {
			seen[key] = true
		}
	}
	for set, n := range sets {
		if n < 3 || n > 5 {
			t.Errorf("%s: %d samples", set, n)
		}
	}
}

// TestRainComplete holds that every station has every month from 2010 on, but
// for the one that was never read.
func TestRainComplete(t *testing.T) {
	_, rows := readRows(t, "rain", readDir(t, frozen)["rain-invented.csv"])
	missing, months := 0, map[string]bool{}
	for _, r := range rows {
		months[r["station"]+r["year"]+"-"+r["month"]] = true
		if number(t, r["rainmm"]) == nil {
			missing++
		}
	}
	if want := 3 * 12 * (lastYear - rainFrom + 1); len(months) != want || len(rows) != want || missing != 1 {
		t.Errorf("%d rows, %d months, %d missing; want %d, %d and 1", len(rows), len(months), missing, want, want)
	}
}
