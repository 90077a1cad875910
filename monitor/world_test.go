package monitor_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"

	"clipledger/schema"
	"clipledger/schema/ledgertest"
)

// Random records in which all rules of the record meet: several sites with
// their own layouts, transects, species, seasons, statuses, cages, drying
// samples, book tables and bases. The seed decides everything.

// world is a set of records as files would bring them.
type world struct {
	rng       *rand.Rand
	settings  map[string]string
	species   []schema.Species
	books     []schema.BookValue
	sites     []schema.Site
	drying    []schema.Drying
	clippings []schema.Clipping
}

// records are all records of the world: the book tables before the settings
// that put them in force.
func (w *world) records() []ledgertest.Records {
	return []ledgertest.Records{{BookValues: w.books}, {Settings: w.settings}, {Species: w.species, Sites: w.sites, Drying: w.drying, Clippings: w.clippings}}
}

// layout says how a site is clipped.
type layout struct {
	site      *schema.Site
	seasons   []string
	transects int
	herb      func(year int) string // frame types
	browse    func(year int) string
	plots     bool // browse on plots of its own
	perM2     bool
	cages     bool
	species   bool
	browseBy  int // last year in which browse was found at all
	dated     bool
}

func newWorld(seed uint64) *world {
	w := &world{rng: rand.New(rand.NewPCG(seed, 11))}
	w.settings = map[string]string{"basis": pick(w, schema.AirDry, schema.OvenDry), "moisture": pick(w, "0.10", "0.08"), "trace-g": pick(w, "0", "0.4"),
		"book-tables": pick(w, "handbook", "local,handbook", "handbook,local", "local")}
	if w.chance(2) {
		w.settings["fallback-browse"] = "45"
	}
	w.species = []schema.Species{{Code: "POA1", GrowthForm: "grass-cool"}, {Code: "POA2", GrowthForm: "grass-cool"}, {Code: "FORB1", GrowthForm: "forb-leafy"}, {Code: "ODD1"}}
	w.books = []schema.BookValue{
		{Table: "local", Species: "POA1", Stage: "seed-ripe", DMPct: 57, Basis: schema.OvenDry},
		{Table: "local", GrowthForm: "grass-cool", Stage: "heading", DMPct: 41, Basis: schema.AirDry},
		{Table: "local", GrowthForm: "shrub-deciduous", Stage: "full-leaf", DMPct: 47, Basis: schema.UnknownBasis},
	}
	for s := range 4 {
		w.addSite(fmt.Sprintf("S%d", s), s)
	}
	return w
}

func pick[T any](w *world, of ...T) T { return of[w.rng.IntN(len(of))] }

// chance is true once in n.
func (w *world) chance(n int) bool { return w.rng.IntN(n) == 0 }

// weight is a weight in tenths of a gram.
func (w *world) weight(most float64) float64 { return math.Round(10*most*w.rng.Float64())/10 + 0.1 }

func (w *world) addSite(name string, kind int) {
	site := schema.Site{Site: name, SamplingUnit: pick(w, "frame", "transect"), YearStartMonth: pick(w, 0, 1, 10), Selection: pick(w, "", "random", "chosen")}
	l := &layout{site: &site, seasons: []string{"peak"}, transects: 1 + w.rng.IntN(4), cages: w.chance(3), species: w.chance(2), browseBy: 2019, dated: w.chance(2)}
	one := func(name string) func(int) string { return func(int) string { return name } }
	l.herb, l.browse = one("1 m2"), one("1 m2")
	switch kind {
	case 0:
		switch w.rng.IntN(3) {
		case 0:
			l.browse = one("4 m2") // nested
		case 1:
			l.perM2, l.herb, l.browse = true, one(""), one("")
		}
	case 1:
		l.plots, l.browse = true, one("40 m2")
		if w.chance(2) {
			l.seasons = []string{"summer", "fall"}
		}
	case 2: // the size of the frame changes
		l.herb = func(year int) string { return map[bool]string{true: "4 m2", false: "1 m2"}[year < 2018] }
		l.browse = l.herb
		l.browseBy = pick(w, 2017, 2019)
	}
	site.Components = w.declaration(l, kind)
	w.sites = append(w.sites, site)
	for year := 2015; year <= 2019; year++ {
		for _, season := range l.seasons {
			if !w.chance(6) {
				w.addOccasion(l, year, season)
			}
		}
	}
}

// declaration is what the site declares; nil leaves it undeclared.
func (w *world) declaration(l *layout, kind int) []schema.DeclaredComponent {
	switch {
	case w.chance(2):
		return nil
	case kind == 1 && len(l.seasons) > 1:
		return declared("herbaceous/summer;browse@40 m2/fall")
	case kind == 1:
		return declared(pick(w, "herbaceous@1 m2;browse@40 m2", "herbaceous;browse"))
	case w.chance(3):
		return declared("herbaceous;browse;litter")
	}
	return declared("herbaceous;browse")
}

func (w *world) addOccasion(l *layout, year int, season string) {
	caged := l.cages && w.chance(2)
	for t := range l.transects {
		for f := range 1 + w.rng.IntN(4) {
			base := schema.Clipping{Site: l.site.Site, Season: season, Transect: fmt.Sprint(t + 1), Frame: fmt.Sprint(f + 1)}
			w.setDay(l, &base, year)
			parts := []schema.Component{schema.Herbaceous, schema.Browse, schema.Litter}
			if l.plots {
				parts = parts[:1]
			}
			if len(l.seasons) == 1 || season == "summer" {
				w.addFrame(l, base, year, parts)
				if caged {
					base.Caged = true
					w.addFrame(l, base, year, parts)
				}
			}
			if l.plots && (len(l.seasons) == 1 || season == "fall") {
				base.Caged, base.Frame = false, "P"+base.Frame
				w.addFrame(l, base, year, []schema.Component{schema.Browse})
			}
		}
	}
	w.addDrying(l, year, season)
}

// setDay gives a frame its day, or its growth year, or both.
func (w *world) setDay(l *layout, c *schema.Clipping, year int) {
	c.Year = year
	if !l.dated {
		return
	}
	c.Date = fmt.Sprintf("%d-05-%02d", year, 1+w.rng.IntN(28))
	if l.site.YearStartMonth == 10 && w.chance(3) {
		c.Date = fmt.Sprintf("%d-11-%02d", year-1, 1+w.rng.IntN(28))
	}
	if w.chance(2) {
		c.Year = 0
	}
}

func (w *world) addFrame(l *layout, base schema.Clipping, year int, parts []schema.Component) {
	frameType := l.herb(year)
	if len(parts) == 1 && parts[0] == schema.Browse {
		frameType = l.browse(year)
	}
	if w.chance(8) {
		base.FrameType, base.Status = frameType, schema.StatusEmpty
		w.clippings = append(w.clippings, base)
		return
	}
	if w.chance(6) {
		for _, p := range parts {
			base.ComponentsSampled |= p.Bit()
		}
	}
	before := len(w.clippings)
	for _, part := range parts {
		absent := part == schema.Browse && year > l.browseBy || part == schema.Litter && !w.chance(4)
		if absent || w.chance(4) {
			continue // nothing was written
		}
		c := base
		c.Component, c.FrameType = part, frameType
		if part == schema.Browse {
			c.FrameType = l.browse(year)
		}
		w.addBags(l, c)
	}
	if len(w.clippings) == before {
		base.FrameType, base.Component, base.Status = frameType, parts[0], schema.StatusEmpty
		w.clippings = append(w.clippings, base)
	}
}

// addBags adds one bag of a component, or one for each of some species.
func (w *world) addBags(l *layout, c schema.Clipping) {
	c.PerM2 = l.perM2
	c.Basis = pick(w, "", schema.AirDry, schema.OvenDry, schema.UnknownBasis)
	if !l.perM2 && w.chance(8) {
		c.FramesInBag = 3
	}
	if !l.species || c.Component != schema.Herbaceous || w.chance(6) {
		if c.Component == schema.Browse {
			c.GrowthForm = "shrub-deciduous"
		}
		w.weigh(&c)
		w.clippings = append(w.clippings, c)
		return
	}
	for _, s := range w.species[:1+w.rng.IntN(len(w.species))] {
		c.Species = s.Code
		bag := c
		w.weigh(&bag)
		w.clippings = append(w.clippings, bag)
		if w.chance(8) {
			bag.Bag = "b"
			w.clippings = append(w.clippings, bag)
		}
	}
}

// weigh gives a bag its weights, or the lack of them.
func (w *world) weigh(c *schema.Clipping) {
	switch w.rng.IntN(14) {
	case 0:
		c.Status = schema.StatusLost
		return
	case 1:
		c.Status = schema.StatusEmpty
		return
	case 2:
		c.MissingCell = true
		return
	case 3:
		c.Trace = pick(w, schema.TraceGreen, schema.TraceDry)
		return
	case 4:
		c.GreenG = schema.Some(0)
		return
	case 5:
		c.DryG = schema.Some(w.weight(40))
		return
	case 6:
		c.Status = schema.StatusLost
	}
	c.GreenG = schema.Some(w.weight(100))
	if w.chance(5) && c.Status == "" {
		c.DryG = schema.Some(math.Round(4*c.GreenG.Float64) / 10)
	}
	if w.chance(4) {
		c.DMPct = schema.Some(float64(30 + w.rng.IntN(40)))
	}
	c.Stage = pick(w, "", "seed-ripe", "heading", "full-leaf")
}

// addDrying adds drying samples of an occasion, at every level.
func (w *world) addDrying(l *layout, year int, season string) {
	for range w.rng.IntN(7) {
		green := math.Round(w.weight(100)) + 20
		d := schema.Drying{Site: l.site.Site, Year: year, Season: season, GreenG: green, DryG: math.Round(green * (0.3 + 0.4*w.rng.Float64())),
			Component: pick(w, schema.Herbaceous, schema.Browse), Basis: pick(w, "", schema.AirDry, schema.OvenDry, schema.UnknownBasis)}
		if d.Component == schema.Herbaceous {
			d.Species = pick(w, "", "", "POA1", "FORB1", "ODD1")
			d.GrowthForm = pick(w, "", "", "grass-cool")
		}
		if w.chance(3) {
			d.Transect, d.Frame, d.Bag = "1", fmt.Sprint(1+w.rng.IntN(3)), pick(w, "", "b")
		}
		same := func(e schema.Drying) bool {
			d.Basis, d.Line = e.Basis, e.Line
			return e == d
		}
		if basis := d.Basis; !slices.ContainsFunc(w.drying, same) {
			d.Basis = basis
			w.drying = append(w.drying, d)
		}
	}
}
