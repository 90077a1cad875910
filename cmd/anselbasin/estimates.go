package main

import (
	"math/rand/v2"
)

// observer is an invented person who estimates green weights by eye.
type observer struct {
	name string
	// guess gives the estimate for a green weight, usual being the mean
	// weight of such frames that year.
	guess func(r *rand.Rand, green, usual float64) float64
	truth string
}

// observers of Thimble Ridge.
var observers = []observer{
	{"Wren", wren, "right on light frames (below 0.6 of the year's mean), 25 % too low on heavy ones (above 1.4 of it), between them by degrees; error CV 8 %"},
	{"Tolly", tolly, "no bias at any weight, but erratic: error CV 40 %"},
}

// wren falls short on heavy frames.
func wren(r *rand.Rand, green, usual float64) float64 {
	heavy := min(max((green/usual-0.6)/0.8, 0), 1)
	return float64(float64(green*(1-float64(0.25*heavy))) * lognormal(r, 0.08))
}

// tolly is right on average and seldom otherwise.
func tolly(r *rand.Rand, green, _ float64) float64 {
	return float64(green * lognormal(r, 0.4))
}

// estimates is the file of eye estimates.
type estimates struct {
	table *table
	r     []*rand.Rand
}

// newEstimates starts the file, each observer with a stream of their own.
func newEstimates() *estimates {
	e := &estimates{table: &table{
		name:   "estimates-invented.csv",
		header: []string{"site", "date", "frame", "component", "observer", "estimate_green_g"},
	}}
	for _, o := range observers {
		e.r = append(e.r, stream(siteOf("THIMBLE").seed, "estimates "+o.name))
	}
	return e
}

// guess adds what both observers write down for one component of a frame, to
// the gram.
func (e *estimates) guess(v thimbleVisit, frame int, component string, green, usual float64) {
	for i, o := range observers {
		g := o.guess(e.r[i], green, usual)
		e.table.add("THIMBLE", iso(v.date), label(frame), component, o.name, num(g, 0))
	}
}
