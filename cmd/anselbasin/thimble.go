package main

import (
	"math/rand/v2"
	"time"
)

// The frames of Thimble Ridge.
const (
	thimbleFrames    = 12   // clipped a year until 2020
	doubleFrom       = 2021 // first year of double sampling
	doubleEstimated  = 30   // frames estimated a year since
	doubleClippedOne = 3    // every third of them is clipped
)

// thimbleVisit is one year at Thimble Ridge.
type thimbleVisit struct {
	year              int
	date              time.Time
	herbFrac, shrFrac float64 // true air-dry part of the green weight
}

// thimble writes one row a frame: the two components side by side, zeros
// written out. Since 2021 thirty frames are estimated by eye by two observers
// and ten of them clipped; the estimates go to a file of their own.
func thimble(w *world) {
	s := siteOf("THIMBLE")
	r := stream(s.seed, "THIMBLE frames")
	t := &table{
		name:   "clippings-thimble-invented.csv",
		header: []string{"site", "date", "frame", "herbaceous_green_g", "browse_green_g", "ungrazed_pct", "note"},
	}
	e := newEstimates()
	for _, y := range s.visits() {
		v := newThimbleVisit(w, r, y)
		n := thimbleFrames
		if y >= doubleFrom {
			n = doubleEstimated
		}
		for f := 1; f <= n; f++ {
			v.frame(w, t, e, r, f)
		}
	}
	w.files = append(w.files, t, e.table)
}

// newThimbleVisit draws the date and the moisture and dries three samples of
// each component.
func newThimbleVisit(w *world, r *rand.Rand, y int) thimbleVisit {
	v := thimbleVisit{year: y, date: outing(r, y, time.July, 14, 5)}
	v.herbFrac = float64(0.5 * lognormal(r, 0.05))
	v.shrFrac = float64(0.46 * lognormal(r, 0.05))
	w.dry(r, dried{"THIMBLE", "", "herbaceous", "", v.date, v.herbFrac, "air-dry"}, 3)
	w.dry(r, dried{"THIMBLE", "", "browse", "", v.date, v.shrFrac, "air-dry"}, 3)
	return v
}

// frame draws one frame, has it estimated, and clips it if its turn has come.
func (v thimbleVisit) frame(w *world, t *table, e *estimates, r *rand.Rand, f int) {
	herb := float64(w.mean("THIMBLE", "herbaceous", "peak", v.year) * lognormal(r, 0.36))
	shrub := float64(w.mean("THIMBLE", "browse", "peak", v.year)*lognormal(r, 0.45)) / 0.8
	if found := r.Float64(); found > 0.83 {
		shrub = 0
	} else if found > 0.8 {
		shrub = 0.05 // a single twig
	}
	herbG, shrubG := float64(herb*area2_4)/v.herbFrac, float64(shrub*area2_4)/v.shrFrac
	if v.year >= doubleFrom {
		e.guess(v, f, "herbaceous", herbG, w.mean("THIMBLE", "herbaceous", "peak", v.year)*area2_4/v.herbFrac)
		e.guess(v, f, "browse", shrubG, w.mean("THIMBLE", "browse", "peak", v.year)*area2_4/v.shrFrac)
		if f%doubleClippedOne != 0 {
			return
		}
	}
	w.saw("THIMBLE", "herbaceous", "peak", v.year, herb)
	w.saw("THIMBLE", "browse", "peak", v.year, shrub)
	t.add("THIMBLE", iso(v.date), label(f), v.weigh(r, herbG), v.weigh(r, shrubG), v.ungrazed(), firstNote(t))
}

// weigh reads a green weight off the scale.
func (v thimbleVisit) weigh(r *rand.Rand, g float64) string {
	return weighed(float64(g*lognormal(r, 0.04)), decimals(v.year))
}

// ungrazed is the part of the growth still there on the day, as judged.
func (v thimbleVisit) ungrazed() string {
	if v.year%3 == 0 {
		return "90"
	}
	return "95"
}
