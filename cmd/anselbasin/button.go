package main

import (
	"math/rand/v2"
	"time"
)

// The pairs of Button Hollow, and what is odd in its file.
const (
	buttonPairs      = 9
	buttonOddFrame   = 2014 // one caged frame of another size
	buttonNoBrowse   = 2012 // shrubs were not clipped
	buttonWritten    = 2016 // percentages on the rows, no drying samples
	buttonOtherEdge  = 2019 // everything above the frame was clipped
	buttonEdgeExtra  = 1.08 // what that brings in
	buttonHerbEaten  = 0.38 // true part of the herbaceous growth eaten
	buttonShrubEaten = 0.20
)

// buttonVisit is one year at Button Hollow.
type buttonVisit struct {
	year              int
	date              time.Time
	herbFrac, shrFrac float64 // true air-dry part of the green weight
	written           string  // dm_pct of herbaceous on the rows, or blank
	writtenShrub      string
}

// button writes the file of the caged and the open frames: nine pairs with
// matching labels, weighed in paper bags whose weight was taken too.
func button(w *world) {
	s := siteOf("BUTTON")
	r := stream(s.seed, "BUTTON frames")
	t := &table{
		name: "clippings-button-invented.csv",
		header: []string{"site", "date", "frame", "caged", "caged_since", "frame_type", "component",
			"components_sampled", "green_gross_g", "tare_g", "dm_pct", "basis", "edge_rule", "observer", "note"},
	}
	for _, y := range s.visits() {
		v := newButtonVisit(w, r, y)
		for pair := 1; pair <= buttonPairs; pair++ {
			v.pair(w, t, r, pair)
		}
	}
	w.files = append(w.files, t)
	w.fault(t, "BUTTON", 2014, "frame type 4.8 ft2 used once, in caged frame 3")
	w.fault(t, "BUTTON", 2019, "edge_rule above in place of rooted, weights 8 % higher for it")
}

// newButtonVisit draws the date and the moisture, and dries four samples of
// each component, except in the year whose percentages stand on the rows.
func newButtonVisit(w *world, r *rand.Rand, y int) buttonVisit {
	v := buttonVisit{year: y, date: outing(r, y, time.July, 24, 6)}
	v.herbFrac = float64(0.55 * lognormal(r, 0.06))
	v.shrFrac = float64(0.58 * lognormal(r, 0.05))
	if y == buttonWritten {
		v.written, v.writtenShrub = num(v.herbFrac*100, 0), num(v.shrFrac*100, 0)
		return v
	}
	w.dry(r, dried{"BUTTON", "", "herbaceous", "", v.date, v.herbFrac, "air-dry"}, 4)
	if y != buttonNoBrowse {
		w.dry(r, dried{"BUTTON", "", "browse", "", v.date, v.shrFrac, "air-dry"}, 4)
	}
	return v
}

// pair writes one caged frame and the open frame beside it.
func (v buttonVisit) pair(w *world, t *table, r *rand.Rand, pair int) {
	herb := float64(w.mean("BUTTON", "herbaceous", "peak", v.year) * lognormal(r, 0.36))
	shrub := float64(w.mean("BUTTON", "browse", "peak", v.year)*lognormal(r, 0.4)) / 0.85
	if r.Float64() > 0.85 && !v.odd(pair) {
		shrub = 0
	}
	for _, caged := range []bool{true, false} {
		h := float64(herb * lognormal(r, 0.1))
		b := float64(shrub * lognormal(r, 0.1))
		if caged {
			w.saw("BUTTON", "herbaceous", "peak", v.year, h)
		} else {
			h *= 1 - buttonHerbEaten
			b *= 1 - buttonShrubEaten
		}
		v.bag(t, r, pair, caged, "herbaceous", h/v.herbFrac, v.written)
		if v.year == buttonNoBrowse {
			continue
		}
		if caged {
			w.saw("BUTTON", "browse", "peak", v.year, b)
		}
		v.bag(t, r, pair, caged, "browse", b/v.shrFrac, v.writtenShrub)
	}
}

// bag writes one row; nothing found is not written, because
// components_sampled says that it was looked for.
func (v buttonVisit) bag(t *table, r *rand.Rand, pair int, caged bool, component string, greenGPerM2 float64, pct string) {
	if greenGPerM2 == 0 {
		return
	}
	area, frameType, edge := area9_6, "9.6 ft2", "rooted"
	if caged && v.odd(pair) {
		area, frameType = area4_8, "4.8 ft2"
	}
	if v.year == buttonOtherEdge {
		edge = "above"
		greenGPerM2 *= buttonEdgeExtra
	}
	isCaged, since := "no", ""
	if caged {
		isCaged, since = "yes", iso(time.Date(v.year, time.April, 2, 0, 0, 0, 0, time.UTC))
	}
	tare := float64(8 + r.IntN(5))
	net := float64(float64(greenGPerM2*area) * lognormal(r, 0.04))
	gross := rounded(net, decimals(v.year)) + tare
	t.add("BUTTON", iso(v.date), label(pair), isCaged, since, frameType, component, v.sampled(),
		num(gross, decimals(v.year)), num(tare, 0), pct, "air-dry", edge, v.observer(), firstNote(t))
}

// odd says whether the pair's caged frame is the one of another size.
func (v buttonVisit) odd(pair int) bool { return v.year == buttonOddFrame && pair == 3 }

// sampled lists what was looked for in every frame of the year.
func (v buttonVisit) sampled() string {
	if v.year == buttonNoBrowse {
		return "herbaceous"
	}
	return "herbaceous;browse"
}

// observer names who clipped: one hand until 2017, another since.
func (v buttonVisit) observer() string {
	if v.year < 2018 {
		return "Wren"
	}
	return "Tolly"
}
