package main

import (
	"math/rand/v2"
	"time"
)

// The layout of Buckle Draw.
const (
	buckleFrames = 10 // herbaceous, 9.6 ft² each, in summer
	bucklePlots  = 8  // browse, 435.6 ft² each, in fall
)

// lostCount is how many bags of a site were lost, before any weight was taken
// and after the green weight was.
type lostCount struct {
	Unweighed  int `json:"before_any_weight"`
	AfterGreen int `json:"after_green_weight"`
}

// buckle writes two files: herbaceous in summer from ten frames, semicolons
// between the cells, and browse in fall from eight large plots of their own,
// in kilograms. Some bags never reached the scale.
func buckle(w *world) {
	r := stream(siteOf("BUCKLE").seed, "BUCKLE frames")
	summer := &table{
		name:   "clippings-buckle-summer-invented.csv",
		header: []string{"site", "date", "frame", "component", "green_g", "status", "observer", "note"},
		comma:  ';',
	}
	fall := &table{
		name:   "clippings-buckle-fall-invented.csv",
		header: []string{"site", "date", "season", "frame", "frame_type", "component", "green_kg", "status", "note"},
	}
	for _, y := range siteOf("BUCKLE").visits() {
		buckleSummer(w, summer, r, y)
		buckleFall(w, fall, r, y)
	}
	w.files = append(w.files, summer, fall)
	w.fault(summer, "BUCKLE", 2013, "frame 3 dated in November in place of July")
	w.fault(summer, "BUCKLE", 2017, "frame 6: green weight ten times too high, a slipped decimal")
	w.fault(w.drying, "BUCKLE", 2020, "third herbaceous sample hardly dried: dry weight nearly the green")
}

// buckleSummer writes the herbaceous frames of a year.
func buckleSummer(w *world, t *table, r *rand.Rand, y int) {
	date := outing(r, y, time.July, 9, 5)
	fraction := float64(0.52 * lognormal(r, 0.05))
	w.dry(r, dried{"BUCKLE", "", "herbaceous", "", date, fraction, "air-dry"}, 3)
	if y == 2020 {
		wet := w.drying.rows[len(w.drying.rows)-1]
		wet[5], wet[6] = "84.0", "78.6"
	}
	for f := 1; f <= buckleFrames; f++ {
		buckleFrame(w, t, r, date, f, fraction)
	}
}

// buckleFrame writes one frame: weighed, empty, lost, or lost after the green
// weight was taken.
func buckleFrame(w *world, t *table, r *rand.Rand, date time.Time, f int, fraction float64) {
	y := date.Year()
	dry := float64(w.mean("BUCKLE", "herbaceous", "peak", y)*lognormal(r, 0.42)) / 0.96
	chance := r.Float64()
	if chance < 0.04 {
		dry = 0
	}
	w.saw("BUCKLE", "herbaceous", "peak", y, dry)
	green := float64(float64(dry*area9_6)/fraction) * lognormal(r, 0.04)
	if y == 2013 && f == 3 {
		date = time.Date(y, time.November, date.Day(), 0, 0, 0, 0, time.UTC)
	}
	if y == 2017 && f == 6 {
		green *= 10
	}
	component, weight, status, note := "herbaceous", weighed(green, decimals(y)), "", firstNote(t)
	switch {
	case dry == 0:
		component, weight, status = "", "", "empty"
	case chance > 0.92:
		weight, status = "NA", "lost"
		note = join(note, "bag lost on the way")
		w.countLost("BUCKLE", false)
	case chance > 0.88:
		status = "lost"
		note = join(note, "bag lost after the green weight was taken")
		w.countLost("BUCKLE", true)
	}
	t.add("BUCKLE", iso(date), label(f), component, weight, status, "Tolly", note)
}

// buckleFall writes the shrub plots of a year; a plot without shrubs is
// written with a zero.
func buckleFall(w *world, t *table, r *rand.Rand, y int) {
	date := outing(r, y, time.October, 8, 5)
	fraction := float64(0.62 * lognormal(r, 0.04))
	w.dry(r, dried{"BUCKLE", "fall", "browse", "", date, fraction, "air-dry"}, 4)
	for p := 1; p <= bucklePlots; p++ {
		dry := float64(w.mean("BUCKLE", "browse", "fall", y)*lognormal(r, 0.3)) / 0.96
		chance := r.Float64()
		if chance < 0.04 {
			dry = 0
		}
		w.saw("BUCKLE", "browse", "fall", y, dry)
		kg := float64(float64(dry*area435)/fraction) * lognormal(r, 0.04) / 1000
		weight, status, note := num(kg, 2), "", firstNote(t)
		if chance > 0.95 {
			weight, status = "", "lost"
			note = join(note, "sack lost")
			w.countLost("BUCKLE", false)
		}
		t.add("BUCKLE", iso(date), "fall", "P"+label(p), "435.6 ft2", "browse", weight, status, note)
	}
}

// countLost adds a lost bag to the truth.
func (w *world) countLost(site string, weighedGreen bool) {
	c := w.lost[site]
	if weighedGreen {
		c.AfterGreen++
	} else {
		c.Unweighed++
	}
	w.lost[site] = c
}

// join puts two notes into one cell.
func join(a, b string) string {
	if a == "" {
		return b
	}
	return a + "; " + b
}
