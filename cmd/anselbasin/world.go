package main

import (
	_ "embed"
	"math/rand/v2"
	"strconv"
	"time"
)

//go:embed readme.txt
var readme []byte

// series names one component of a site in one season.
type series struct{ site, component, season string }

// world gathers what is written: the files, and the truth behind them.
type world struct {
	gauges map[string]rainGauge
	means  map[series][]float64
	frames map[series]map[int][]float64 // true g/m² of the frames clipped
	files  []*table
	drying *table
	faults []fault
	lost   map[string]lostCount
}

// files writes the whole scenario and returns the files by name.
func files() map[string][]byte {
	w := newWorld()
	writers := []func(*world){quill, button, lantern, spindle, thimble, buckle}
	for _, write := range writers {
		write(w)
	}
	w.files = append(w.files, w.drying, rainTable(w.gauges))
	w.files = append(w.files, plainTables()...)
	out := map[string][]byte{"README.txt": readme, "truth.json": w.truth()}
	for _, t := range w.files {
		out[t.name] = t.bytes()
	}
	return out
}

// newWorld draws the weather and the true means.
func newWorld() *world {
	w := &world{
		gauges: weather(),
		means:  map[series][]float64{},
		frames: map[series]map[int][]float64{},
		drying: newDryingTable(),
		lost:   map[string]lostCount{},
	}
	for _, s := range sites {
		for _, p := range s.plants {
			w.means[s.series(p)] = trueMeans(s, p, w.gauges[s.station])
		}
	}
	return w
}

// series names what the plant is in the truth.
func (s *site) series(p plant) series { return series{s.code, p.component, p.season} }

// mean is the true mean in air-dry g/m².
func (w *world) mean(site, component, season string, year int) float64 {
	return w.means[series{site, component, season}][year-firstYear]
}

// saw notes the true air-dry g/m² of one clipped frame, before weighing.
func (w *world) saw(site, component, season string, year int, gPerM2 float64) {
	k := series{site, component, season}
	if w.frames[k] == nil {
		w.frames[k] = map[int][]float64{}
	}
	w.frames[k][year] = append(w.frames[k][year], gPerM2)
}

// visits lists the growth years in which a site was clipped.
func (s *site) visits() []int {
	var out []int
	for _, y := range growthYears() {
		if y != s.skipped {
			out = append(out, y)
		}
	}
	return out
}

// newDryingTable is the file of drying samples of all sites.
func newDryingTable() *table {
	return &table{
		name:   "drying-invented.csv",
		header: []string{"site", "date", "season", "component", "species", "green_g", "dry_g", "basis"},
	}
}

// dried is what a set of drying samples is of.
type dried struct {
	site, season, component, species string
	date                             time.Time
	fraction                         float64 // true air-dry part of the green weight
	basis                            string
}

// dry adds n drying samples that scatter around the true fraction.
func (w *world) dry(r *rand.Rand, d dried, n int) {
	share := 1.0
	if d.basis == "oven-dry" {
		share = ovenShare
	}
	for range n {
		green := rounded(between(r, 40, 160), 1)
		part := float64(d.fraction*share) * lognormal(r, 0.05)
		w.drying.add(d.site, iso(d.date), d.season, d.component, d.species,
			num(green, 1), num(float64(green*part), 1), d.basis)
	}
}

// firstNote marks the first row of a clippings file as invented.
func firstNote(t *table) string {
	if len(t.rows) == 0 {
		return "invented data: Ansel Basin does not exist"
	}
	return ""
}

// label writes a frame number.
func label(n int) string { return strconv.Itoa(n) }
