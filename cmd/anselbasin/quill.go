package main

import (
	"math/rand/v2"
	"time"
)

// quillFrames is the number of permanent frames on the transect.
const quillFrames = 15

// quillPlant is a species of Quill Flat: in which frames it grows, and the
// handbook's air-dry percentage at the two stages met there.
type quillPlant struct {
	code, component   string
	early, late       string
	earlyPct, latePct float64
	grows             func(frame int) bool
	share             float64
}

// quillPlants are the species kept apart on the land manager's sheet.
var quillPlants = []quillPlant{
	{"WHEA1", "herbaceous", "heading", "seed-ripe", 45, 60, func(int) bool { return true }, 0.6},
	{"BLUE1", "herbaceous", "heading", "seed-ripe", 45, 60, func(f int) bool { return f%4 != 0 }, 0.3},
	{"PHLO1", "herbaceous", "flowering", "seed-ripe", 50, 75, func(f int) bool { return f%3 == 0 }, 0.15},
	{"SAGE1", "browse", "full-leaf", "full-leaf", 65, 65, func(f int) bool { return f != 5 && f != 11 && f != 7 }, 0.8},
	{"RABB1", "browse", "full-leaf", "full-leaf", 50, 50, func(f int) bool { return f == 2 || f == 7 || f == 13 }, 0.3},
}

// quill writes the land manager's file: fifteen frames of 9.6 ft² on the same
// spots every year, green weights by species, the stage of growth, no drying.
// Frames 5 and 11 hold no shrub, and nothing is written for it there.
func quill(w *world) {
	s := siteOf("QUILL")
	r := stream(s.seed, "QUILL frames")
	t := &table{
		name:   "clippings-quill-invented.csv",
		header: []string{"site", "date", "frame", "component", "species", "green_g", "stage", "note"},
	}
	herb := permanent(r, 0.36, func(int) bool { return true })
	browse := permanent(r, 0.42, func(f int) bool { return f != 5 && f != 11 })
	for _, y := range s.visits() {
		date := outing(r, y, time.July, 6, 9)
		for f := 1; f <= quillFrames; f++ {
			quillFrame(w, t, r, date, f, "herbaceous", herb[f-1])
			quillFrame(w, t, r, date, f, "browse", browse[f-1])
		}
	}
	w.files = append(w.files, t)
}

// permanent draws what each spot bears beside the site's mean, for good.
func permanent(r *rand.Rand, cv float64, grows func(int) bool) []float64 {
	out := make([]float64, quillFrames)
	for i := range out {
		if grows(i + 1) {
			out[i] = lognormal(r, cv)
		}
	}
	return meanOne(out)
}

// quillFrame writes the bags of one component of one frame.
func quillFrame(w *world, t *table, r *rand.Rand, date time.Time, frame int, component string, spot float64) {
	y := date.Year()
	gPerM2 := float64(w.mean("QUILL", component, "peak", y)*spot) * lognormal(r, 0.18)
	w.saw("QUILL", component, "peak", y, gPerM2)
	var there []quillPlant
	var shares []float64
	for _, p := range quillPlants {
		if p.component == component && p.grows(frame) && gPerM2 > 0 {
			there = append(there, p)
			shares = append(shares, float64(p.share*lognormal(r, 0.25)))
		}
	}
	for i, p := range there {
		part := shares[i] / float64(mean(shares)*float64(len(shares)))
		stage, pct := p.at(date)
		green := float64(gPerM2*area9_6) * part / float64(pct/100*lognormal(r, 0.05))
		t.add("QUILL", iso(date), label(frame), component, p.code,
			weighed(green, decimals(y)), stage, firstNote(t))
	}
}

// at gives the stage and the handbook's percentage on a date.
func (p quillPlant) at(date time.Time) (stage string, pct float64) {
	if date.Month() < time.July {
		return p.early, p.earlyPct
	}
	return p.late, p.latePct
}
