package ledgertest

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"

	"clipledger/schema"
)

// Random records in which all rules of the record meet: several sites with
// their own layouts, transects, species, seasons, statuses, cages, drying
// samples, book tables and bases. The seed decides everything.

// World is a set of records as files would bring them.
type World struct {
	Rand      *rand.Rand
	Settings  map[string]string
	Species   []schema.Species
	Books     []schema.BookValue
	Sites     []schema.Site
	Drying    []schema.Drying
	Clippings []schema.Clipping
}

// Records are all records of the world: the book tables before the settings
// that put them in force.
func (w *World) Records() []Records {
	return []Records{{BookValues: w.Books}, {Settings: w.Settings}, {Species: w.Species, Sites: w.Sites, Drying: w.Drying, Clippings: w.Clippings}}
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

// NewWorld makes the world of a seed.
func NewWorld(seed uint64) *World {
	w := &World{Rand: rand.New(rand.NewPCG(seed, 11))}
	w.Settings = map[string]string{"basis": pick(w, schema.AirDry, schema.OvenDry), "moisture": pick(w, "0.10", "0.08"), "trace-g": pick(w, "0", "0.4"),
		"book-tables": pick(w, "handbook", "local,handbook", "handbook,local", "local")}
	if w.chance(2) {
		w.Settings["fallback-browse"] = "45"
	}
	w.Species = []schema.Species{{Code: "POA1", GrowthForm: "grass-cool"}, {Code: "POA2", GrowthForm: "grass-cool"}, {Code: "FORB1", GrowthForm: "forb-leafy"}, {Code: "ODD1"}}
	w.Books = []schema.BookValue{
		{Table: "local", Species: "POA1", Stage: "seed-ripe", DMPct: 57, Basis: schema.OvenDry},
		{Table: "local", GrowthForm: "grass-cool", Stage: "heading", DMPct: 41, Basis: schema.AirDry},
		{Table: "local", GrowthForm: "shrub-deciduous", Stage: "full-leaf", DMPct: 47, Basis: schema.UnknownBasis},
	}
	for s := range 4 {
		w.addSite(fmt.Sprintf("S%d", s), s)
	}
	return w
}

func pick[T any](w *World, of ...T) T { return of[w.Rand.IntN(len(of))] }

// chance is true once in n.
func (w *World) chance(n int) bool { return w.Rand.IntN(n) == 0 }

// weight is a weight in tenths of a gram.
func (w *World) weight(most float64) float64 { return math.Round(10*most*w.Rand.Float64())/10 + 0.1 }

func (w *World) addSite(name string, kind int) {
	site := schema.Site{Site: name, SamplingUnit: pick(w, "frame", "transect"), YearStartMonth: pick(w, 0, 1, 10), Selection: pick(w, "", "random", "chosen")}
	l := &layout{site: &site, seasons: []string{"peak"}, transects: 1 + w.Rand.IntN(4), cages: w.chance(3), species: w.chance(2), browseBy: 2019, dated: w.chance(2)}
	one := func(name string) func(int) string { return func(int) string { return name } }
	l.herb, l.browse = one("1 m2"), one("1 m2")
	switch kind {
	case 0:
		switch w.Rand.IntN(3) {
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
	w.Sites = append(w.Sites, site)
	for year := 2015; year <= 2019; year++ {
		for _, season := range l.seasons {
			if !w.chance(6) {
				w.addOccasion(l, year, season)
			}
		}
	}
}

// declaration is what the site declares; nil leaves it undeclared.
func (w *World) declaration(l *layout, kind int) []schema.DeclaredComponent {
	switch {
	case w.chance(2):
		return nil
	case kind == 1 && len(l.seasons) > 1:
		return Declared("herbaceous/summer;browse@40 m2/fall")
	case kind == 1:
		return Declared(pick(w, "herbaceous@1 m2;browse@40 m2", "herbaceous;browse"))
	case w.chance(3):
		return Declared("herbaceous;browse;litter")
	}
	return Declared("herbaceous;browse")
}

func (w *World) addOccasion(l *layout, year int, season string) {
	caged := l.cages && w.chance(2)
	for t := range l.transects {
		for f := range 1 + w.Rand.IntN(4) {
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
func (w *World) setDay(l *layout, c *schema.Clipping, year int) {
	c.Year = year
	if !l.dated {
		return
	}
	c.Date = fmt.Sprintf("%d-05-%02d", year, 1+w.Rand.IntN(28))
	if l.site.YearStartMonth == 10 && w.chance(3) {
		c.Date = fmt.Sprintf("%d-11-%02d", year-1, 1+w.Rand.IntN(28))
	}
	if w.chance(2) {
		c.Year = 0
	}
}

func (w *World) addFrame(l *layout, base schema.Clipping, year int, parts []schema.Component) {
	frameType := l.herb(year)
	if len(parts) == 1 && parts[0] == schema.Browse {
		frameType = l.browse(year)
	}
	if w.chance(8) {
		base.FrameType, base.Status = frameType, schema.StatusEmpty
		w.Clippings = append(w.Clippings, base)
		return
	}
	if w.chance(6) {
		for _, p := range parts {
			base.ComponentsSampled |= p.Bit()
		}
	}
	before := len(w.Clippings)
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
	if len(w.Clippings) == before {
		base.FrameType, base.Component, base.Status = frameType, parts[0], schema.StatusEmpty
		w.Clippings = append(w.Clippings, base)
	}
}

// addBags adds one bag of a component, or one for each of some species.
func (w *World) addBags(l *layout, c schema.Clipping) {
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
		w.Clippings = append(w.Clippings, c)
		return
	}
	for _, s := range w.Species[:1+w.Rand.IntN(len(w.Species))] {
		c.Species = s.Code
		bag := c
		w.weigh(&bag)
		w.Clippings = append(w.Clippings, bag)
		if w.chance(8) {
			bag.Bag = "b"
			w.Clippings = append(w.Clippings, bag)
		}
	}
}

// weigh gives a bag its weights, or the lack of them.
func (w *World) weigh(c *schema.Clipping) {
	switch w.Rand.IntN(14) {
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
		c.DMPct = schema.Some(float64(30 + w.Rand.IntN(40)))
	}
	c.Stage = pick(w, "", "seed-ripe", "heading", "full-leaf")
}

// addDrying adds drying samples of an occasion, at every level.
func (w *World) addDrying(l *layout, year int, season string) {
	for range w.Rand.IntN(7) {
		green := math.Round(w.weight(100)) + 20
		d := schema.Drying{Site: l.site.Site, Year: year, Season: season, GreenG: green, DryG: math.Round(green * (0.3 + 0.4*w.Rand.Float64())),
			Component: pick(w, schema.Herbaceous, schema.Browse), Basis: pick(w, "", schema.AirDry, schema.OvenDry, schema.UnknownBasis)}
		if d.Component == schema.Herbaceous {
			d.Species = pick(w, "", "", "POA1", "FORB1", "ODD1")
			d.GrowthForm = pick(w, "", "", "grass-cool")
		}
		if w.chance(3) {
			d.Transect, d.Frame, d.Bag = "1", fmt.Sprint(1+w.Rand.IntN(3)), pick(w, "", "b")
		}
		same := func(e schema.Drying) bool {
			d.Basis, d.Line = e.Basis, e.Line
			return e == d
		}
		if basis := d.Basis; !slices.ContainsFunc(w.Drying, same) {
			d.Basis = basis
			w.Drying = append(w.Drying, d)
		}
	}
}

// Declared reads what a site declares: "herbaceous@9.6 ft2;browse/fall".
func Declared(text string) []schema.DeclaredComponent {
	var out []schema.DeclaredComponent
	for entry := range strings.SplitSeq(text, ";") {
		var d schema.DeclaredComponent
		entry, d.Season, _ = strings.Cut(entry, "/")
		entry, d.FrameType, _ = strings.Cut(entry, "@")
		d.Component, _ = schema.ComponentNamed(entry)
		out = append(out, d)
	}
	return out
}
