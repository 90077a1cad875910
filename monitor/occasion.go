package monitor

import (
	"clipledger/schema"
)

// state is what is known of one component of one frame.
type state uint8

const (
	notLookedFor state = iota
	known
	missing
)

// cell is one component of one frame.
type cell struct {
	state    state
	gPerM2   float64
	inferred bool
	why      string
	book     book
}

// book is what rests on book values, g/m².
type book struct{ dry, green float64 }

// identity says which frame of an occasion a frame is.
type identity struct {
	visit    int64
	transect string
	name     string // only where frames are compared between years
	caged    bool
}

// frame is one frame of an occasion, its components by code.
type frame struct {
	identity
	seen  bool
	cells [5]cell
}

// occasion gathers the frames of one occasion as they stream by.
type occasion struct {
	record schema.OccasionRecord
	site   *schema.SiteRecord
	frames []frame // by the visit's number within the occasion
	ways   schema.Ways
	caged  bool
	// Bases of the drying samples behind dry weights:
	air, oven, unknown bool
}

// reset makes the occasion ready for the next one, keeping its memory.
func (o *occasion) reset(record schema.OccasionRecord, site *schema.SiteRecord) {
	*o = occasion{record: record, site: site, frames: o.frames[:0]}
}

// take adds one value of a frame.
func (o *occasion) take(v *schema.FrameValue) {
	f := o.frame(v.Visit)
	if !f.seen {
		*f = frame{seen: true, identity: identity{visit: v.Visit, transect: v.Transect, caged: v.Caged}}
		o.caged = o.caged || v.Caged
	}
	c := &f.cells[v.Component]
	*c = cell{state: missing, why: v.Why, inferred: v.Inferred}
	if v.GPerM2.Valid {
		c.state, c.gPerM2 = known, v.GPerM2.Float64
	}
	c.book = book{v.BookDry, v.BookGreen}
	o.ways |= v.Ways
}

// noteBasis notes the basis of a drying sample behind a dry weight.
func (o *occasion) noteBasis(basis string) {
	o.air = o.air || basis == schema.AirDry
	o.oven = o.oven || basis == schema.OvenDry
	o.unknown = o.unknown || basis == schema.UnknownBasis
}

// frame returns the place of a visit.
func (o *occasion) frame(visit int64) *frame {
	seq := int(visit & (1<<20 - 1))
	for len(o.frames) <= seq {
		o.frames = append(o.frames, frame{})
	}
	return &o.frames[seq]
}

// standing calls fn on the frames that speak for production: the caged ones
// where the occasion has any, else all.
func (o *occasion) standing(fn func(*frame)) {
	for i := range o.frames {
		if f := &o.frames[i]; f.seen && (f.caged || !o.caged) {
			fn(f)
		}
	}
}

// sample is the frames of one component, or of the total: their values and
// what is known of them.
type sample struct {
	component string
	parts     []schema.Component
	species   []string // where the sample is of some species only
	values    []frameSum
	missing   map[string]int // frames left out, by reason
	left      int
}

// frameSum is one frame's value of a sample.
type frameSum struct {
	frame    *identity
	cells    *[5]cell
	gPerM2   float64
	inferred bool // every part is an inferred zero
	book     book
}

// sampleOf gathers the frames of a component.
func (o *occasion) sampleOf(c schema.Component) sample {
	s := sample{component: c.String(), parts: []schema.Component{c}, missing: map[string]int{}}
	o.standing(func(f *frame) {
		switch cell := &f.cells[c]; cell.state {
		case known:
			s.values = append(s.values, frameSum{&f.identity, &f.cells, cell.gPerM2, cell.inferred, cell.book})
		case missing:
			s.leaveOut(cell.why)
		}
	})
	return s
}

func (s *sample) leaveOut(why string) {
	s.missing[why]++
	s.left++
}

// productionParts lists the production components that the occasion has:
// weighed, looked for or missing in any frame.
func (o *occasion) productionParts() []schema.Component {
	var has [5]bool
	o.standing(func(f *frame) {
		for _, c := range schema.Components {
			has[c] = has[c] || f.cells[c].state != notLookedFor
		}
	})
	var out []schema.Component
	for _, c := range schema.Components {
		if has[c] && c.IsProduction() {
			out = append(out, c)
		}
	}
	return out
}

// totals gathers the frame totals: the sum of the parts in every frame in
// which all of them were looked for, missing where one is missing. shared is
// false where no frame has all parts: they sit on frames of their own.
func (o *occasion) totals(parts []schema.Component) (s sample, shared bool) {
	s = sample{component: Production, parts: parts, missing: map[string]int{}}
	o.standing(func(f *frame) {
		sum := frameSum{frame: &f.identity, cells: &f.cells, inferred: true}
		why, all := "", true
		for _, c := range parts {
			cell := &f.cells[c]
			switch cell.state {
			case notLookedFor:
				all = false
			case missing:
				why = c.String() + ": " + cell.why
			case known:
				sum.add(cell)
			}
		}
		switch {
		case !all:
			s.leaveOut("not every component was looked for in the frame")
		case why != "":
			shared = true
			s.leaveOut(why)
		default:
			shared = true
			s.values = append(s.values, sum)
		}
	})
	return s, shared
}

func (s *frameSum) add(c *cell) {
	s.gPerM2 += c.gPerM2
	s.inferred = s.inferred && c.inferred
	s.book.dry += c.book.dry
	s.book.green += c.book.green
}
