package main

import (
	"bytes"
	"encoding/csv"
	"strconv"
	"strings"
	"testing"
)

// row is one line of a file by plain column name.
type row map[string]string

// plainName drops case, spaces and underscores from a column name.
func plainName(s string) string {
	return strings.NewReplacer("_", "", " ", "").Replace(strings.ToLower(s))
}

// readRows parses a delimited file that this test knows nothing about but its
// bytes: byte order mark, delimiter by what the header holds, any line end.
func readRows(t *testing.T, name string, data []byte) (header []string, rows []row) {
	t.Helper()
	data = bytes.TrimPrefix(data, []byte("\ufeff"))
	r := csv.NewReader(bytes.NewReader(data))
	first, _, _ := bytes.Cut(data, []byte("\n"))
	for _, d := range ";\t" {
		if bytes.ContainsRune(first, d) {
			r.Comma = d
		}
	}
	all, err := r.ReadAll()
	if err != nil {
		t.Fatalf("%s: %v", name, err)
	}
	for _, h := range all[0] {
		header = append(header, plainName(h))
	}
	for _, cells := range all[1:] {
		m := row{}
		for i, c := range cells {
			m[header[i]] = c
		}
		rows = append(rows, m)
	}
	return header, rows
}

// bag is one weight, as a ledger would hold it.
type bag struct {
	site, season, transect, frame, component, species string
	year                                              int
	caged                                             bool
	date, frameType, status, stage, basis             string
	green, dry, perArea                               *float64 // g, g, g/m²
	pct                                               *float64
	sampled                                           []string
}

// number reads a weight cell: nil is missing, a trace weighs nothing.
func number(t *testing.T, cell string) *float64 {
	t.Helper()
	switch cell {
	case "", "NA":
		return nil
	case "T":
		return new(float64)
	}
	x, err := strconv.ParseFloat(cell, 64)
	if err != nil {
		t.Fatalf("not a weight: %q", cell)
	}
	return &x
}

// times scales what is there.
func times(x *float64, k float64) *float64 {
	if x == nil {
		return nil
	}
	y := *x * k
	return &y
}

// readBags reads every clippings file of the scenario into bags.
func readBags(t *testing.T, files map[string][]byte) []bag {
	t.Helper()
	defaults := siteRows(t, files)
	var out []bag
	for name, data := range files {
		if !strings.HasPrefix(name, "clippings-") {
			continue
		}
		header, rows := readRows(t, name, data)
		for _, r := range rows {
			out = append(out, bagsOf(t, header, r, defaults[r["site"]])...)
		}
	}
	return out
}

// siteRows gives the lines of the sites file by site.
func siteRows(t *testing.T, files map[string][]byte) map[string]row {
	t.Helper()
	_, rows := readRows(t, "sites", files["sites-invented.csv"])
	out := map[string]row{}
	for _, r := range rows {
		out[r["site"]] = r
	}
	return out
}

// bagsOf turns one row into bags: one from a long row, one for each component
// from a wide one.
func bagsOf(t *testing.T, header []string, r row, site row) []bag {
	t.Helper()
	b := bag{
		site: r["site"], season: r["season"], transect: r["transect"], frame: r["frame"],
		component: r["component"], species: r["species"], caged: r["caged"] == "yes", date: r["date"],
		frameType: r["frametype"], status: r["status"], stage: r["stage"], basis: r["basis"],
		year: growthYear(t, r, site["yearstartmonth"]), pct: number(t, r["dmpct"]),
	}
	if b.season == "" {
		b.season = "peak"
	}
	if b.transect == "" {
		b.transect = "1"
	}
	if b.frameType == "" {
		b.frameType = site["frametype"]
	}
	if s := r["componentssampled"]; s != "" {
		b.sampled = strings.Split(s, ";")
	}
	if _, wide := r["herbaceousgreeng"]; wide {
		herb, browse := b, b
		herb.component, herb.green = "herbaceous", number(t, r["herbaceousgreeng"])
		browse.component, browse.green = "browse", number(t, r["browsegreeng"])
		return []bag{herb, browse}
	}
	b.weigh(t, header, r)
	return []bag{b}
}

// weigh takes the weight from whichever column the file has.
func (b *bag) weigh(t *testing.T, header []string, r row) {
	t.Helper()
	for _, h := range header {
		switch h {
		case "greeng":
			b.green = number(t, r[h])
		case "greenoz":
			b.green = times(number(t, r[h]), 453.59237/16)
		case "greenkg":
			b.green = times(number(t, r[h]), 1000)
		case "greengrossg":
			net := *number(t, r[h]) - *number(t, r["tareg"])
			b.green = &net
		case "dryg":
			b.dry = number(t, r[h])
		case "drykgha":
			b.perArea = times(number(t, r[h]), 0.1)
		}
	}
}

// growthYear is the year column, or the date's year by the site's start.
func growthYear(t *testing.T, r row, start string) int {
	t.Helper()
	if y, err := strconv.Atoi(r["year"]); err == nil {
		return y
	}
	if len(r["date"]) != 10 {
		t.Fatalf("not an ISO date: %q", r["date"])
	}
	y, err1 := strconv.Atoi(r["date"][:4])
	m, err2 := strconv.Atoi(r["date"][5:7])
	first, err3 := strconv.Atoi(start)
	if err1 != nil || err2 != nil || err3 != nil {
		t.Fatalf("no growth year: %v", r)
	}
	if first > 1 && m >= first {
		y++
	}
	return y
}
