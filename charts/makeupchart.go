package charts

import (
	"cmp"
	"fmt"
	"html/template"
	"slices"
	"strconv"
	"strings"
)

// What was production made of, and what do its dry weights rest on? Both as
// shares of every year, hatched so that they read without colour.

// layers are shares of every year, bottom first.
type layers struct {
	names []string
	years []int
	share [][]float64 // by year, by name
}

// mostSpecies is how many species are told apart in the chart; the table and
// the CSV have all.
const mostSpecies = 4

// unnamedWord and othersWord are layers that are no species.
const (
	unnamedWord = "species not kept apart"
	othersWord  = "other species"
)

// speciesWord names a species, and its component where it stands in several.
func speciesWord(x SpeciesShare) string {
	if x.Name == "" || x.Name == x.Code {
		return x.Code
	}
	return x.Name
}

// speciesMeans are the species of a site by their mean share, largest first.
func speciesMeans(c []Composition) (names []string, mean map[string]float64) {
	mean = map[string]float64{}
	for i := range c {
		for _, x := range c[i].Species {
			mean[speciesWord(x)] += x.Pct / float64(len(c))
		}
	}
	for name := range mean {
		names = append(names, name)
	}
	slices.SortFunc(names, func(a, b string) int { return cmp.Or(cmp.Compare(mean[b], mean[a]), cmp.Compare(a, b)) })
	return names, mean
}

// speciesLayers puts the largest species apart and the others together.
func speciesLayers(c []Composition) layers {
	names, _ := speciesMeans(c)
	kept := names[:min(len(names), mostSpecies)]
	if len(names) == mostSpecies+1 {
		kept = names
	}
	l := layers{names: slices.Clone(kept)}
	hasOthers, hasUnnamed := len(kept) < len(names), false
	for i := range c {
		hasUnnamed = hasUnnamed || c[i].Unnamed != nil
	}
	if hasOthers {
		l.names = append(l.names, othersWord)
	}
	if hasUnnamed {
		l.names = append(l.names, unnamedWord)
	}
	for i := range c {
		row := make([]float64, len(l.names))
		for _, x := range c[i].Species {
			k := slices.Index(kept, speciesWord(x))
			if k < 0 {
				k = len(kept)
			}
			row[k] += x.Pct
		}
		if c[i].Unnamed != nil {
			row[len(row)-1] += *c[i].Unnamed
		}
		l.years, l.share = append(l.years, c[i].Year), append(l.share, row)
	}
	return l
}

var basisNames = []string{"measured", "drying samples", "% on the row", "book values", "fallback %"}

func (d *DryBasis) shares() []float64 {
	return []float64{d.Measured, d.Sample, d.Row, d.Book, d.Fallback}
}

// basisLayers are the ways that any year has.
func basisLayers(d []DryBasis) layers {
	var l layers
	var used []int
	for k := range basisNames {
		if slices.ContainsFunc(d, func(x DryBasis) bool { return x.shares()[k] > 0 }) {
			used = append(used, k)
			l.names = append(l.names, basisNames[k])
		}
	}
	for i := range d {
		var row []float64
		for _, k := range used {
			row = append(row, d[i].shares()[k])
		}
		l.years, l.share = append(l.years, d[i].Year), append(l.share, row)
	}
	return l
}

// stackMargin is the room for the names of layers, in pixels.
const stackMargin = 176

// chart draws the layers over the years of the site.
func (l layers) chart(s *Site, yName string) block {
	years := s.yearSpan()
	line := overYears(years, span{0, 100, 5}, yName, strconv.Itoa(stackMargin))
	spanYears(line, years)
	b := block{Notes: map[string]string{}, Words: map[string][]string{}, Beside: stackMargin}
	for _, name := range l.names {
		b.Words["stack"] = append(b.Words["stack"], shorten(name, 22))
	}
	var boxes []opt
	for i, year := range l.years {
		k, foot := year-years[0], 0.0
		if k < 0 || k >= len(years) {
			continue
		}
		var words []string
		for layer, v := range l.share[i] {
			if v <= 0 {
				continue
			}
			boxes = append(boxes, at(k, significant(foot, 4), significant(foot+v, 4), layer))
			foot += v
			words = append(words, fmt.Sprintf("%s %s%s%%", l.names[layer], percent(&v), nbsp))
		}
		b.Notes[strconv.Itoa(year)] = fmt.Sprintf("%d: %s", year, strings.Join(words, ", "))
	}
	overlay(line, "stack", "stack", boxes)
	b.Option = options(line)
	return b
}

// key names the layers where the chart has no room for it.
func (l layers) key() template.HTML {
	var b strings.Builder
	for i, name := range l.names {
		fmt.Fprintf(&b, "<span>%s %s</span> ", swatchSVG(i), template.HTMLEscapeString(name))
	}
	return template.HTML(b.String())
}

// swatchSVG is the hatching of a layer, as report.js draws it.
func swatchSVG(layer int) string {
	lines := map[int]string{2: "M0 12L12 0M8 12L20 0M16 12L22 6", 3: "M0 3H22M0 6H22M0 9H22", 5: "M0 0L12 12M8 0L20 12M16 0L22 6"}
	class := []string{"range edge", "open", "open", "open", "full", "open"}[layer%6]
	return fmt.Sprintf(`<svg class="swatch" width="22" height="12" viewBox="0 0 22 12" aria-hidden="true"><rect class="%s" x=".5" y=".5" width="21" height="11"/><path class="tick" d="%s"/></svg>`, class, lines[layer%6])
}

// compositionPart is the section; ok is false where no species was kept apart.
func compositionPart(s *Site, page string) (p part, ok bool, err error) {
	if !slices.ContainsFunc(s.Composition, func(c Composition) bool { return len(c.Species) > 0 }) {
		return p, false, nil
	}
	l := speciesLayers(s.Composition)
	js, err := l.chart(s, "% of production").script()
	if err != nil {
		return p, false, err
	}
	p = part{ID: "composition", Heading: "What it was made of", Screen: true, Tables: []*smallTable{compositionTable(s, page)}}
	p.Figures = []figure{{Page: page, ID: "chart-composition", Kind: "low stack", Wide: true, Title: compositionTitle(s), Script: js, Key: l.key(), Table: "species", CSV: page + "-composition",
		Caption: "Shares of the dry weight of production, from the first layer up."}}
	return p, true, nil
}

// compositionTitle names the largest species of the latest year that has any,
// and its range over the years.
func compositionTitle(s *Site) string {
	for i := len(s.Composition) - 1; i >= 0; i-- {
		c := &s.Composition[i]
		if len(c.Species) == 0 {
			continue
		}
		top := c.Species[0]
		name := speciesWord(top)
		low, high := top.Pct, top.Pct
		for k := range s.Composition {
			if v := s.Composition[k].of(name); len(s.Composition[k].Species) > 0 {
				low, high = min(low, v), max(high, v)
			}
		}
		return fmt.Sprintf("%s made up %s%s%% of production in %d (%s%s%% to %s%s%% over the years)", sentence(name), percent(&top.Pct), nbsp, c.Year, percent(&low), nbsp, percent(&high), nbsp)
	}
	return ""
}

func (c *Composition) of(name string) float64 {
	sum := 0.0
	for _, x := range c.Species {
		if speciesWord(x) == name {
			sum += x.Pct
		}
	}
	return sum
}

// mostColumns is how many species get a column of the table.
const mostColumns = 8

func compositionTable(s *Site, page string) *smallTable {
	names, _ := speciesMeans(s.Composition)
	t := &smallTable{ID: "species", Title: "Species by year", Folded: true, CSV: page + "-composition", Caption: "% of the dry weight of production"}
	shown := names[:min(len(names), mostColumns)]
	for _, name := range shown {
		t.Head = append(t.Head, column{Short: name, Long: name})
	}
	if len(shown) < len(names) {
		t.Head = append(t.Head, column{Short: "Others", Long: fmt.Sprintf("%d more species, each in the CSV", len(names)-len(shown))})
	}
	t.Head = append(t.Head, column{Short: "Not kept apart", Long: "weighed without species"})
	rows := rows{width: len(t.Head) + 1}
	for i := range s.Composition {
		c := &s.Composition[i]
		var cells []any
		rest := 0.0
		for k, name := range names {
			v := c.of(name)
			if k < len(shown) {
				cells = append(cells, percent(&v))
			} else {
				rest += v
			}
		}
		if len(shown) < len(names) {
			cells = append(cells, percent(&rest))
		}
		rows.row(strconv.Itoa(c.Year), append(cells, percent(c.Unnamed))...)
	}
	t.Body = rows.body()
	return t
}

// basisPart is the section on dry weights; ok is false without any.
func basisPart(s *Site, page string) (p part, ok bool, err error) {
	l := basisLayers(s.DryBasis)
	if len(l.names) == 0 {
		return p, false, nil
	}
	p = part{ID: "basis", Heading: "What the dry weights rest on", Screen: true, Tables: []*smallTable{basisTable(s, page)}}
	if len(l.names) == 1 {
		p.Lead = []string{basisTitle(s) + "."}
		return p, true, nil
	}
	js, err := l.chart(s, "% of dry weight").script()
	if err != nil {
		return p, false, err
	}
	p.Figures = []figure{{Page: page, ID: "chart-basis", Kind: "low stack", Wide: true, Title: basisTitle(s), Script: js, Key: l.key(), Table: "bases", CSV: page + "-basis",
		Caption: "Shares of the dry weight of production, the surest at the foot."}}
	return p, true, nil
}

// basisTitle says what the latest year rests on, or that it never changed.
func basisTitle(s *Site) string {
	l := basisLayers(s.DryBasis)
	if len(l.names) == 1 {
		when := fmt.Sprintf("In all %d years", len(l.years))
		if len(l.years) == 1 {
			when = fmt.Sprintf("In %d", l.years[0])
		}
		return fmt.Sprintf("%s every dry weight rests on the same: %s", when, l.names[0])
	}
	last, only := len(l.years)-1, ""
	var words []string
	for k, v := range l.share[last] {
		if v > 0 {
			words = append(words, fmt.Sprintf("%s (%s%s%%)", l.names[k], percent(&v), nbsp))
			only = l.names[k]
		}
	}
	if len(words) == 1 {
		words[0] = only + " alone"
	}
	return fmt.Sprintf("In %d the dry weight rests on %s", l.years[last], join(words))
}

func basisTable(s *Site, page string) *smallTable {
	t := &smallTable{ID: "bases", Title: "What each year rests on", Folded: true, CSV: page + "-basis", Caption: "% of the dry weight of production; bags without any dry weight leave their frames out"}
	for _, name := range basisNames {
		t.Head = append(t.Head, column{Short: sentence(name), Long: name})
	}
	t.Head = append(t.Head, column{Short: "Bags", Long: "bags with a dry weight"}, column{Short: "Without", Long: "bags without any dry weight"})
	rows := rows{width: len(t.Head) + 1}
	for i := range s.DryBasis {
		d := &s.DryBasis[i]
		var cells []any
		for _, v := range d.shares() {
			cells = append(cells, percent(&v))
		}
		rows.row(strconv.Itoa(d.Year), append(cells, strconv.Itoa(d.Bags), strconv.Itoa(d.NoDry))...)
	}
	t.Body = rows.body()
	return t
}
