package monitor_test

import (
	"cmp"
	"maps"
	"math"
	"slices"
	"strconv"
	"strings"

	"clipledger/schema"
)

// The rules of the record once more, straight from raw records and without
// the ledger: slow, plain, and not sharing a line with the program. A test
// holds the program to it.

// oracle is everything that some records come to.
type oracle struct {
	w       *world
	site    map[string]schema.Site
	form    map[string]string // growth form by species
	bags    []oracleBag
	frames  map[frameID]*oracleFrame
	samples []oracleSample
}

type occasionID struct {
	site   string
	year   int
	season string
}

type frameID struct {
	occasionID
	transect, frame string
	caged           bool
}

type oracleBag struct {
	schema.Clipping
	frame  frameID
	dry    float64 // grams, or g/m² of weights per area
	weighs bool    // dry is known
}

type oracleSample struct {
	schema.Drying
	occasion occasionID
}

type oracleFrame struct {
	id      frameID
	empty   bool
	sampled uint8
	bags    map[schema.Component][]*oracleBag
	value   map[schema.Component]cellValue // filled in last
	types   map[string]bool
}

// cellValue is a component of a frame: a value, or missing.
type cellValue struct {
	known, inferred bool
	g               float64
}

func yearOf(year int, date string, start int) int {
	if year != 0 {
		return year
	}
	y, _ := strconv.Atoi(date[:4])
	if month, _ := strconv.Atoi(date[5:7]); start > 1 && month >= start {
		y++
	}
	return y
}

func newOracle(w *world) *oracle {
	o := &oracle{w: w, site: map[string]schema.Site{}, form: map[string]string{}, frames: map[frameID]*oracleFrame{}}
	for _, s := range w.Sites {
		o.site[s.Site] = s
	}
	for _, s := range w.Species {
		o.form[s.Code] = s.GrowthForm
	}
	for _, d := range w.Drying {
		o.samples = append(o.samples, oracleSample{d, occasionID{d.Site, yearOf(d.Year, d.Date, o.site[d.Site].YearStartMonth), d.Season}})
	}
	for _, c := range w.Clippings {
		c.FrameType = cmp.Or(c.FrameType, c.FrameTypeElse)
		id := frameID{occasionID{c.Site, yearOf(c.Year, c.Date, o.site[c.Site].YearStartMonth), c.Season}, c.Transect, c.Frame, c.Caged}
		f := o.frames[id]
		if f == nil {
			f = &oracleFrame{id: id, bags: map[schema.Component][]*oracleBag{}, value: map[schema.Component]cellValue{}, types: map[string]bool{}}
			o.frames[id] = f
		}
		f.sampled |= c.ComponentsSampled
		if c.FrameType != "" || c.PerM2 || len(f.types) == 0 {
			f.types[c.FrameType] = true
		}
		if c.Component == schema.NoComponent {
			f.empty = f.empty || c.Status == schema.StatusEmpty
			continue
		}
		b := oracleBag{Clipping: c, frame: id}
		b.dry, b.weighs = o.dryWeight(&b)
		o.bags = append(o.bags, b)
		f.bags[c.Component] = append(f.bags[c.Component], &b)
	}
	looked := newLookedRule(o)
	for _, f := range o.frames {
		o.fill(f, looked)
	}
	return o
}

// factor brings a dry weight on a basis to the ledger's.
func (o *oracle) factor(basis string) float64 {
	left := 1 - o.number("moisture")
	switch ledger := o.setting("basis"); {
	case ledger == schema.AirDry && basis == schema.OvenDry:
		return 1 / left
	case ledger == schema.OvenDry && basis == schema.AirDry:
		return left
	}
	return 1
}

func (o *oracle) setting(name string) string {
	if v, ok := o.w.Settings[name]; ok {
		return v
	}
	return map[string]string{"basis": schema.AirDry, "moisture": "0.10", "trace-g": "0", "book-tables": "handbook"}[name]
}

func (o *oracle) number(name string) float64 {
	f, _ := strconv.ParseFloat(o.setting(name), 64)
	return f
}

// dryWeight goes through the ways in their order.
func (o *oracle) dryWeight(b *oracleBag) (float64, bool) {
	switch {
	case b.DryG.Valid:
		return b.DryG.Float64 * o.factor(b.Basis), true
	case b.Status == schema.StatusEmpty:
		return 0, true
	case b.Trace != 0 && (b.Trace&schema.TraceDry != 0 || !b.GreenG.Valid):
		return o.number("trace-g"), true
	case !b.GreenG.Valid:
		return 0, false
	case b.GreenG.Float64 == 0:
		return 0, true
	}
	green, form := b.GreenG.Float64, cmp.Or(b.GrowthForm, o.form[b.Species])
	ofBag := func(s *oracleSample) bool {
		return s.Frame != "" && s.Frame == b.Frame && s.Transect == b.Transect && s.Bag == b.Bag && s.Species == b.Species
	}
	ofSpecies := func(s *oracleSample) bool { return b.Species != "" && s.Species == b.Species }
	ofForm := func(s *oracleSample) bool { return form != "" && cmp.Or(s.GrowthForm, o.form[s.Species]) == form }
	ofComponent := func(s *oracleSample) bool { return s.Species == "" && s.GrowthForm == "" }
	for _, belongs := range []func(*oracleSample) bool{ofBag, ofSpecies, ofForm} {
		if r, ok := o.ratio(b, belongs); ok {
			return green * r, true
		}
	}
	if b.DMPct.Valid {
		return green * b.DMPct.Float64 / 100 * o.factor(b.Basis), true
	}
	if r, ok := o.ratio(b, ofComponent); ok {
		return green * r, true
	}
	if pct, ok := o.book(b.Species, form, b.Stage); ok {
		return green * pct / 100, true
	}
	if _, ok := o.w.Settings["fallback-"+b.Component.String()]; ok {
		return green * o.number("fallback-"+b.Component.String()) / 100, true
	}
	return 0, false
}

func (o *oracle) ratio(b *oracleBag, belongs func(*oracleSample) bool) (float64, bool) {
	var dry, green float64
	for i := range o.samples {
		if s := &o.samples[i]; s.occasion == b.frame.occasionID && s.Component == b.Component && belongs(s) {
			dry += s.DryG * o.factor(s.Basis)
			green += s.GreenG
		}
	}
	return dry / green, green > 0
}

// book is a book percentage on the ledger's basis: the first table in force
// that has the species at this stage, or else its form.
func (o *oracle) book(species, form, stage string) (float64, bool) {
	// What these worlds use of the built-in table, as remembered: air-dry.
	handbook := map[[2]string]float64{{"grass-cool", "seed-ripe"}: 60, {"grass-cool", "heading"}: 45, {"forb-leafy", "seed-ripe"}: 60, {"shrub-deciduous", "full-leaf"}: 50,
		{"grass-cool", "drying"}: 85, {"forb-leafy", "flowering"}: 40, {"shrub-evergreen", "full-leaf"}: 65, {"forb-fibrous", "flowering"}: 50, {"forb-fibrous", "seed-ripe"}: 75}
	for _, table := range strings.Split(o.setting("book-tables"), ",") {
		if pct, ok := handbook[[2]string{form, stage}]; ok && table == "handbook" {
			return pct * o.factor(schema.AirDry), true
		}
		for _, by := range [][2]string{{species, ""}, {"", form}} {
			for _, b := range o.w.Books {
				if b.Table == table && stage != "" && b.Stage == stage && by != [2]string{} && b.Species == by[0] && b.GrowthForm == by[1] {
					return b.DMPct * o.factor(b.Basis), true
				}
			}
		}
	}
	return 0, false
}

// fill works out the components of a frame.
func (o *oracle) fill(f *oracleFrame, rule *lookedRule) {
	for _, c := range schema.Components {
		looked, outside := rule.looked(f, c)
		bags := f.bags[c]
		recorded := slices.ContainsFunc(bags, func(b *oracleBag) bool { return b.HasWeight() || b.Status != "" })
		switch {
		case recorded, len(bags) > 0 && (looked || outside):
			f.value[c] = o.weighed(bags)
		case len(bags) > 0:
		case looked:
			f.value[c] = cellValue{known: true, inferred: !f.empty && f.sampled == 0}
		case outside:
			f.value[c] = cellValue{}
		}
	}
}

func (o *oracle) weighed(bags []*oracleBag) cellValue {
	v := cellValue{known: true}
	for _, b := range bags {
		area := 1.0
		if !b.PerM2 {
			area = areaOf(b.FrameType) * float64(max(1, b.FramesInBag))
		}
		v.known = v.known && b.weighs
		if b.dry > 0 {
			v.g += b.dry / area
		}
	}
	return v
}

func areaOf(frameType string) float64 {
	number, unit, _ := strings.Cut(frameType, " ")
	area, err := strconv.ParseFloat(number, 64)
	switch {
	case err != nil:
		return math.NaN()
	case unit == "ft2":
		return area * 0.3048 * 0.3048
	}
	return area
}

// standing lists the frames of an occasion that speak for production.
func (o *oracle) standing(id occasionID) []*oracleFrame {
	var all []*oracleFrame
	caged := false
	for _, f := range o.frames {
		if f.id.occasionID == id && len(f.value) > 0 {
			all = append(all, f)
			caged = caged || f.id.caged
		}
	}
	return slices.DeleteFunc(all, func(f *oracleFrame) bool { return caged && !f.id.caged })
}

func (o *oracle) occasions() []occasionID {
	seen := map[occasionID]bool{}
	for id := range o.frames {
		seen[id.occasionID] = true
	}
	return slices.SortedFunc(maps.Keys(seen), func(a, b occasionID) int {
		return cmp.Or(cmp.Compare(a.site, b.site), cmp.Compare(a.year, b.year), cmp.Compare(a.season, b.season))
	})
}
