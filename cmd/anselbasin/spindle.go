package main

import (
	"math/rand/v2"
	"time"
)

// The layout of Spindle Bench.
const (
	spindleLines  = 4
	spindleFrames = 5    // on each line
	spindleChange = 2018 // first year with the small frame
	spindleBare   = 0.03 // part of the frames that fall on rock
)

// spindlePlants are the species weighed apart, with their usual air-dry part
// of the green weight and how often they are met.
var spindlePlants = []struct {
	code, component string
	fraction, met   float64
}{
	{"WHEA1", "herbaceous", 0.55, 1},
	{"LUPI1", "herbaceous", 0.34, 0.6},
	{"BITT1", "browse", 0.48, 0.75},
}

// spindleVisit is one year at Spindle Bench, on two days.
type spindleVisit struct {
	year      int
	date      time.Time
	fractions []float64
	t         *table
}

// spindle writes four lines of five frames, shifted along the lines each year:
// until 2017 in ounces from the large frame, since 2018 in grams from the
// small one, tab-separated. Three samples of each species are dried a year.
func spindle(w *world) {
	s := siteOf("SPINDLE")
	r := stream(s.seed, "SPINDLE frames")
	header := []string{"site", "date", "transect", "frame", "frame_type", "component", "species"}
	old := &table{
		name:   "clippings-spindle-2011-2017-invented.csv",
		header: append(header[:7:7], "green_oz", "status", "note"),
	}
	recent := &table{
		name:   "clippings-spindle-2018-2024-invented.tsv",
		header: append(header[:7:7], "green_g", "dm_pct", "status", "note"),
		comma:  '\t',
	}
	lines := spindleSpots(r)
	for _, y := range s.visits() {
		v := newSpindleVisit(w, r, y)
		v.t = recent
		if y < spindleChange {
			v.t = old
		}
		v.lines(w, r, lines)
	}
	w.files = append(w.files, old, recent)
	w.fault(recent, "SPINDLE", 2021, "SAGE1, a shrub, bagged under herbaceous on transect T2, frame 3")
}

// spindleSpots draws what each line bears beside the site's mean.
func spindleSpots(r *rand.Rand) []float64 {
	out := make([]float64, spindleLines)
	for i := range out {
		out[i] = lognormal(r, 0.15)
	}
	return meanOne(out)
}

// newSpindleVisit draws the date and the moisture and dries the samples.
func newSpindleVisit(w *world, r *rand.Rand, y int) spindleVisit {
	v := spindleVisit{year: y, date: outing(r, y, time.June, 26, 5)}
	for _, p := range spindlePlants {
		fraction := float64(p.fraction * lognormal(r, 0.05))
		v.fractions = append(v.fractions, fraction)
		w.dry(r, dried{"SPINDLE", "", p.component, p.code, v.date, fraction, "oven-dry"}, 3)
	}
	return v
}

// lines writes all frames of the year, lines 3 and 4 on the second day.
func (v spindleVisit) lines(w *world, r *rand.Rand, lines []float64) {
	for i, spot := range lines {
		day := v.date.AddDate(0, 0, i/2)
		for f := 1; f <= spindleFrames; f++ {
			v.frame(w, r, spot, []string{"SPINDLE", iso(day), "T" + label(i+1), label(f), v.frameType()})
		}
	}
}

// frameType is the frame of the year.
func (v spindleVisit) frameType() string {
	if v.year < spindleChange {
		return "9.6 ft2"
	}
	return "2.4 ft2"
}

// frame writes the bags of one frame, or that it was empty.
func (v spindleVisit) frame(w *world, r *rand.Rand, spot float64, key []string) {
	weights := v.draw(w, r, spot)
	herb, shrub := weights[0]+weights[1], weights[2]
	w.saw("SPINDLE", "herbaceous", "peak", v.year, herb)
	w.saw("SPINDLE", "browse", "peak", v.year, shrub)
	if herb+shrub == 0 {
		v.row(key, "", "", "", "", "empty")
		return
	}
	for i, dry := range weights {
		if dry > 0 {
			v.bag(r, key, i, dry)
		}
	}
	if v.year == 2021 && key[2] == "T2" && key[3] == "3" {
		v.row(key, "herbaceous", "SAGE1", "6.2", "60", "")
	}
}

// draw gives the true air-dry g/m² of each species in a frame, more uneven in
// the small frame than in the large one. A frame on rock holds nothing.
func (v spindleVisit) draw(w *world, r *rand.Rand, spot float64) []float64 {
	cv := 0.42
	if v.year >= spindleChange {
		cv = 0.5
	}
	bare := r.Float64() < spindleBare
	spot /= 1 - spindleBare
	herb := float64(w.mean("SPINDLE", "herbaceous", "peak", v.year)*spot) * lognormal(r, cv)
	shrub := float64(w.mean("SPINDLE", "browse", "peak", v.year)*spot) * lognormal(r, cv) / spindlePlants[2].met
	forb := between(r, 0.2, 0.5)
	if r.Float64() >= spindlePlants[1].met {
		forb = 0
	}
	if r.Float64() >= spindlePlants[2].met {
		shrub = 0
	}
	if bare {
		return []float64{0, 0, 0}
	}
	return []float64{herb * (1 - forb), herb * forb, shrub}
}

// bag weighs one species green, in ounces or grams.
func (v spindleVisit) bag(r *rand.Rand, key []string, plant int, dryGPerM2 float64) {
	p := spindlePlants[plant]
	area, unit := area9_6, 28.349523125
	if v.year >= spindleChange {
		area, unit = area2_4, 1
	}
	green := float64(dryGPerM2*area) / v.fractions[plant] / unit
	v.row(key, p.component, p.code, weighed(float64(green*lognormal(r, 0.04)), 1), "", "")
}

// row adds a line to the file of the year; only the newer one has dm_pct.
func (v spindleVisit) row(key []string, component, species, weight, pct, status string) {
	cells := append(key[:len(key):len(key)], component, species, weight)
	if v.year >= spindleChange {
		cells = append(cells, pct)
	}
	v.t.add(append(cells, status, firstNote(v.t))...)
}
