package main

import (
	"math"
	"slices"
	"strings"
	"testing"
)

// These helpers work the yearly means out of the files by the rules of the
// record, by another road than the generator took, so that what truth.json
// promises is held against the files themselves.

// areas of the frame types in m², from 1 ft = 0.3048 m.
var areas = map[string]float64{
	"9.6 ft2": 0.891869184, "2.4 ft2": 0.222967296, "4.8 ft2": 0.445934592, "435.6 ft2": 40.468564224, "0.25 m2": 0.25,
}

// handbook percentages relied on at Quill Flat, by growth form and stage.
var handbook = map[string]float64{
	"grass-cool heading": 45, "grass-cool seed-ripe": 60, "forb-fibrous flowering": 50,
	"forb-fibrous seed-ripe": 75, "shrub-evergreen full-leaf": 65, "shrub-deciduous full-leaf": 50,
}

// occasion is a site, growth year and season.
type occasion struct {
	site   string
	year   int
	season string
}

// placed is one frame of an occasion and what its bags add up to: air-dry
// g/m² by component, nil where a bag of it has no weight.
type placed struct {
	transect, label string
	caged           bool
	types           map[string]bool
	weights         map[string]*float64
	sampled         []string
}

// recount holds everything read back.
type recount struct {
	sites  map[string]row
	frames map[occasion]map[string]*placed
	types  map[series]map[string]bool // frame types that carried a component
	span   map[series][2]int          // first and last year of a component
	ratios map[string][2]float64      // Σdry, Σgreen of drying samples
	form   map[string]string          // growth form of a species
}

// ratioKey names the drying samples of one kind on one occasion.
func ratioKey(o occasion, component, species string) string {
	return strings.Join([]string{o.site, o.season, label(o.year), component, species}, "|")
}

// readBack reads the files into frames.
func readBack(t *testing.T, files map[string][]byte) *recount {
	t.Helper()
	c := &recount{
		sites: siteRows(t, files), frames: map[occasion]map[string]*placed{}, form: map[string]string{},
		types: map[series]map[string]bool{}, span: map[series][2]int{}, ratios: map[string][2]float64{},
	}
	_, species := readRows(t, "species", files["species-invented.csv"])
	for _, r := range species {
		c.form[r["species"]] = r["growthform"]
	}
	c.readDrying(t, files["drying-invented.csv"])
	for _, b := range readBags(t, files) {
		c.put(t, b)
	}
	return c
}

// readDrying sums the drying samples, oven-dry ones brought to air-dry.
func (c *recount) readDrying(t *testing.T, data []byte) {
	t.Helper()
	_, rows := readRows(t, "drying", data)
	for _, r := range rows {
		season := r["season"]
		if season == "" {
			season = "peak"
		}
		o := occasion{r["site"], growthYear(t, r, c.sites[r["site"]]["yearstartmonth"]), season}
		k := ratioKey(o, r["component"], r["species"])
		sum := c.ratios[k]
		sum[0] += *airDry(number(t, r["dryg"]), r["basis"])
		sum[1] += *number(t, r["greeng"])
		c.ratios[k] = sum
	}
}

// airDry brings a dry weight to the ledger's basis.
func airDry(x *float64, basis string) *float64 {
	if basis == "oven-dry" {
		return times(x, 1/0.9)
	}
	return x
}

// put adds one bag to its frame.
func (c *recount) put(t *testing.T, b bag) {
	t.Helper()
	o := occasion{b.site, b.year, b.season}
	if c.frames[o] == nil {
		c.frames[o] = map[string]*placed{}
	}
	key := b.transect + "|" + b.frame
	if b.caged {
		key += "|caged"
	}
	p := c.frames[o][key]
	if p == nil {
		p = &placed{b.transect, b.frame, b.caged, map[string]bool{}, map[string]*float64{}, b.sampled}
		c.frames[o][key] = p
	}
	p.types[b.frameType] = true
	if b.component == "" {
		return
	}
	c.note(b)
	w := c.weight(t, o, b)
	if old, seen := p.weights[b.component]; seen && (old == nil || w == nil) {
		w = nil
	} else if seen {
		*w += *old
	}
	p.weights[b.component] = w
}

// note remembers with which frames and in which years a component came.
func (c *recount) note(b bag) {
	k := series{b.site, b.component, b.season}
	if c.types[k] == nil {
		c.types[k] = map[string]bool{}
		c.span[k] = [2]int{b.year, b.year}
	}
	c.types[k][b.frameType] = true
	c.span[k] = [2]int{min(c.span[k][0], b.year), max(c.span[k][1], b.year)}
}

// weight is a bag's air-dry g/m²: measured, by drying samples of its species,
// by the percentage on the row, by samples of the component, by book value.
func (c *recount) weight(t *testing.T, o occasion, b bag) *float64 {
	t.Helper()
	if b.perArea != nil {
		return airDry(b.perArea, b.basis)
	}
	perM2 := 1 / areas[b.frameType]
	if math.IsInf(perM2, 1) {
		t.Fatalf("frame type %q has no area", b.frameType)
	}
	if b.dry != nil {
		return times(airDry(b.dry, b.basis), perM2)
	}
	if s, ok := c.ratios[ratioKey(o, b.component, b.species)]; ok && b.species != "" {
		return times(b.green, s[0]/s[1]*perM2)
	}
	if b.pct != nil {
		return times(b.green, *b.pct/100*perM2)
	}
	if s, ok := c.ratios[ratioKey(o, b.component, "")]; ok {
		return times(b.green, s[0]/s[1]*perM2)
	}
	if pct, ok := handbook[c.form[b.species]+" "+b.stage]; ok {
		return times(b.green, pct/100*perM2)
	}
	if b.green != nil {
		t.Errorf("no dry-matter basis: %+v", b)
	}
	return nil
}

// lookedFor says whether a component was looked for in a frame.
func (c *recount) lookedFor(o occasion, p *placed, component string) bool {
	if p.sampled != nil {
		return slices.Contains(p.sampled, component)
	}
	k := series{o.site, component, o.season}
	if declared := c.sites[o.site]["components"]; declared != "" {
		return anyType(p.types, c.types[k]) && isDeclared(declared, component, o.season, p.types)
	}
	span, seen := c.span[k]
	return seen && span[0] <= o.year && o.year <= span[1] && anyType(p.types, c.types[k])
}

// isDeclared reads a site's components cell.
func isDeclared(declared, component, season string, types map[string]bool) bool {
	for _, entry := range strings.Split(declared, ";") {
		entry, at, hasSeason := strings.Cut(entry, "/")
		name, frameType, hasType := strings.Cut(entry, "@")
		if name == component && (!hasSeason || at == season) && (!hasType || types[frameType]) {
			return true
		}
	}
	return false
}

// anyType says whether two sets of frame types share one.
func anyType(a, b map[string]bool) bool {
	for k := range a {
		if b[k] {
			return true
		}
	}
	return false
}

// values gives a component of every frame where it was looked for and not
// missing; production is the sum of both. Open frames count only where an
// occasion has no caged ones.
func (c *recount) values(o occasion, component string) []float64 {
	caged := false
	for _, p := range c.frames[o] {
		caged = caged || p.caged
	}
	var out []float64
	for _, p := range c.frames[o] {
		if p.caged != caged {
			continue
		}
		if x := c.value(o, p, component); x != nil {
			out = append(out, *x)
		}
	}
	slices.Sort(out) // the same sum whatever the order of the map
	return out
}

// value is one frame's weight, zero where it was looked for and not found.
func (c *recount) value(o occasion, p *placed, component string) *float64 {
	if component == "production" && c.span[series{o.site, "browse", o.season}] != [2]int{} {
		h, b := c.value(o, p, "herbaceous"), c.value(o, p, "browse")
		if h == nil || b == nil {
			return nil
		}
		sum := *h + *b
		return &sum
	}
	if component == "production" {
		component = "herbaceous" // the only part of production there is
	}
	if w, ok := p.weights[component]; ok {
		return w
	}
	if c.lookedFor(o, p, component) {
		return new(float64)
	}
	return nil
}

// yearly gives the yearly means of a component and their growth years. Where
// the components have seasons of their own, production adds their means.
func (c *recount) yearly(s *site, component string) (years, means []float64) {
	for _, y := range growthYears() {
		var m float64
		if component == "production" && s.code == "BUCKLE" {
			m = mean(c.values(occasion{s.code, y, "peak"}, "herbaceous")) + mean(c.values(occasion{s.code, y, "fall"}, "browse"))
		} else if component == "browse" && s.code == "BUCKLE" {
			m = mean(c.values(occasion{s.code, y, "fall"}, component))
		} else {
			m = mean(c.values(occasion{s.code, y, "peak"}, component))
		}
		if !math.IsNaN(m) {
			years, means = append(years, float64(y)), append(means, m)
		}
	}
	return years, means
}

// rainOf gives the site's window of rain in the years asked for, read from
// the rain file.
func (c *recount) rainOf(t *testing.T, files map[string][]byte, s *site, years []float64) []float64 {
	t.Helper()
	_, rows := readRows(t, "rain", files["rain-invented.csv"])
	month := map[string]float64{}
	for _, r := range rows {
		if x := number(t, r["rainmm"]); x != nil {
			month[r["station"]+r["year"]+"-"+r["month"]] = *x
		}
	}
	var out []float64
	for _, y := range years {
		sum := 0.0
		for m := s.window.from; ; m = m%12 + 1 {
			at := int(y)
			if s.window.from > s.window.to && m >= s.window.from {
				at--
			}
			mm, ok := month[c.sites[s.code]["station"]+label(at)+"-"+label(m)]
			if !ok {
				t.Fatalf("%s: no rain for %d-%d", s.code, at, m)
			}
			sum += mm
			if m == s.window.to {
				break
			}
		}
		out = append(out, sum)
	}
	return out
}
