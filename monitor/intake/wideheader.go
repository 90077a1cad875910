package intake

import (
	"fmt"
	"slices"
	"strings"

	"clipledger/schema"
)

// clippingColumns are the columns of a clippings file beside its weights.
var clippingColumns = []string{"site", "date", "year", "season", "transect", "frame", "frame_type", "component", "species",
	"growth_form", "stage", "bag", "frames_in_bag", "dm_pct", "basis", "status", "components_sampled", "caged", "caged_since",
	"treatment", "block", "observer", "edge_rule", "clip_height_cm", "ungrazed_pct", "note", "trace", "per_m2"}

// ownColumns are the columns that a wide file can have for each component.
var ownColumns = []string{"stage", "growth_form", "dm_pct", "frame_type", "bag"}

// clippingKind is the kind of file that Clippings reads.
func clippingKind() *kind {
	weights := slices.Concat(weightColumns(), areaWeightColumns())
	k := newKind(slices.Concat(plain(clippingColumns...), weights))
	wide := wideNames{newKind(slices.Concat(weights, plain(ownColumns...))), newKnown(nil).components}
	k.parse = wide.parse
	for _, c := range schema.Components {
		k.patterns = append(k.patterns, c.String()+"_green_g", c.String()+"_dry_g")
	}
	k.hint = wide.hint
	k.check = (*matcher).checkClippings
	return k
}

// wideNames reads the names of wide columns: COMPONENT_FIELD and
// COMPONENT:SPECIES_WEIGHT.
type wideNames struct {
	fields     *kind
	components *lexicon
}

// parse reads one name.
func (w wideNames) parse(name string) (column, bool) {
	if left, right, ok := strings.Cut(trimCell(name), ":"); ok {
		return w.withSpecies(left, right)
	}
	for at := range name {
		comp, isComponent := w.components.find(name[:at])
		field, isField := w.fields.column(name[at:])
		if isComponent && isField {
			return wideColumn(comp, "", field), true
		}
	}
	return column{}, false
}

// hint says how to write a name that begins as a wide column does.
func (w wideNames) hint(name string) string {
	left, _, _ := strings.Cut(name, ":")
	if comp, ok := w.components.find(trimCell(left)); ok && left != name {
		return fmt.Sprintf("a column of one species is named with its weight, as in %s:CODE_green_g", comp)
	}
	return ""
}

// withSpecies reads a name that has a species after a colon. The weight is
// the longest ending that is one; the species is kept as written.
func (w wideNames) withSpecies(left, right string) (column, bool) {
	comp, ok := w.components.find(left)
	for at := range right {
		if !ok || at == 0 || right[at-1] != '_' && right[at-1] != ' ' {
			continue
		}
		field, isField := w.fields.column(right[at:])
		species := strings.Trim(right[:at], " _")
		if isField && species != "" && slices.Contains(weighingQuantities[:], field.quantity) {
			return wideColumn(comp, species, field), true
		}
	}
	return column{}, false
}

// wideColumn makes the column of one field of a component and species.
func wideColumn(comp, species string, field column) column {
	c := field
	c.part, _ = schema.ComponentNamed(comp)
	c.species, c.field = species, field.quantity
	name := comp
	if species != "" {
		name += ":" + species
	}
	c.name = name + "_" + field.name
	c.quantity = strings.ToLower(name) + "/" + field.quantity
	return c
}

// groupNames lists the groups of weights in a wide file: what stands before
// the field in the quantities of its columns; by component. The weight of an
// empty bag alone makes no group.
func (b *binding) groupNames() []string {
	type order struct {
		part schema.Component
		name string
	}
	seen := map[order]bool{}
	var all []order
	for quantity, s := range b.sources {
		if s.part == schema.NoComponent || s.field == "tare" || !slices.Contains(weighingQuantities[:], s.field) {
			continue
		}
		o := order{s.part, strings.TrimSuffix(quantity, s.field)}
		if !seen[o] {
			seen[o] = true
			all = append(all, o)
		}
	}
	slices.SortFunc(all, func(a, b order) int {
		if a.part != b.part {
			return int(a.part) - int(b.part)
		}
		return strings.Compare(a.name, b.name)
	})
	names := make([]string, len(all))
	for i, o := range all {
		names[i] = o.name
	}
	return names
}

// wideSources lists the columns of a wide file, by name.
func (b *binding) wideSources() (wide []*source) {
	for _, s := range b.sources {
		if s.part != schema.NoComponent {
			wide = append(wide, s)
		}
	}
	slices.SortFunc(wide, func(a, b *source) int { return strings.Compare(a.name, b.name) })
	return wide
}

// checkClippings tells what the header of a clippings file lacks or mixes.
func (m *matcher) checkClippings() {
	lacks := m.missing([]string{"site"}, []string{"date", "year"}, []string{"frame"})
	wide, groups := m.wideSources(), m.groupNames()
	switch {
	case len(wide) == 0:
		lacks = append(lacks, m.missing([]string{"component"})...)
		groups = []string{""}
		if !m.hasAny(weighingQuantities[:atTare]...) && !m.hasAny("green_area", "dry_area", "status") {
			lacks = append(lacks, lack{"a weight (green_g, dry_g, green_gross_g with tare_g, dry_kg_ha, ...)", "green_g"})
		}
	case len(groups) == 0:
		example := wide[0].part.String() + "_green_g"
		lacks = append(lacks, lack{example + " (or another weight of a component)", example})
	default:
		m.mixed(wide)
		m.checkOwn(wide)
	}
	for _, s := range wide {
		if what, do := textFault(s.species, maxKeyLength, false); what != "" {
			m.problem(fmt.Sprintf("the species in column %q %s", s.name, what), do)
		}
	}
	m.lacking(append(lacks, m.checkTare(groups)...))
}

// mixed tells of columns of a long file that stand beside wide ones.
func (m *matcher) mixed(wide []*source) {
	long := append([]string{"component"}, weighingQuantities[:atTare]...)
	for _, q := range append(long, "green_area", "dry_area") {
		if s := m.sources[q]; s != nil {
			m.problem("column "+s.name+" (one row a bag) stands beside "+wide[0].name+" (one row a frame)",
				"use one layout: ignore the columns of the other with --ignore, or split the file")
			return
		}
	}
	for _, s := range wide {
		if s.species != "" && m.has("species") {
			m.problem("column species stands beside "+s.name+", which names its species itself", "leave one out with --ignore")
			return
		}
	}
}

// checkTare tells of gross weights without a weight of the empty bag, and the
// reverse; groups are those of groupNames, "" that of a long file. A gross weight beside a net one
// can be done without.
func (m *matcher) checkTare(groups []string) (lacks []lack) {
	used := map[*source]bool{}
	for _, group := range groups {
		tare := m.sources[group+"tare"]
		if tare == nil {
			tare = m.sources["tare"]
		}
		for _, net := range []string{"green", "dry"} {
			gross := m.sources[group+net+"_gross"]
			switch {
			case gross == nil:
			case tare != nil:
				used[tare] = true
			case m.has(group + net):
				delete(m.sources, group+net+"_gross")
				m.summary.notice("column %q was ignored: there is no tare_g to take off it, and %s is net", gross.theirs, m.sources[group+net].name)
			default:
				lacks = append(lacks, lack{"tare_g (the empty bag, to take off " + gross.name + ")", "tare_g"})
			}
		}
	}
	for _, s := range append(m.wideSources(), m.sources["tare"]) {
		if s != nil && (s.field == "tare" || s.part == schema.NoComponent) && !used[s] {
			m.summary.notice("%s was not taken off: weights are net unless their columns say gross; if the bag is in them, say --map green_gross_g=...", s.name)
		}
	}
	return lacks
}

// checkOwn tells of columns that are for a component without a weight.
func (m *matcher) checkOwn(wide []*source) {
	for _, s := range wide {
		weighed := slices.ContainsFunc(wide, func(w *source) bool {
			return w.part == s.part && slices.Contains(weighingQuantities[:], w.field)
		})
		if !weighed {
			m.summary.notice("column %s was ignored: the file has no weight of %s", s.name, s.part)
		}
	}
}

// bindGroups makes the groups of weights.
func (c *clippings) bindGroups() {
	b := c.binding
	names := b.groupNames()
	c.wide = len(names) > 0
	if !c.wide {
		names = []string{""}
	}
	for _, name := range names {
		g := group{weighing: newWeighing(func(quantity string) source {
			if name == "" {
				return b.source(quantity)
			}
			if s := b.sources[name+quantity]; s != nil {
				return *s
			}
			if quantity == "tare" {
				return b.source("tare")
			}
			return source{column: column{name: strings.TrimSuffix(name, "/") + "_" + b.kind.show([]string{quantity}), factor: 1}, index: -1}
		})}
		for part, s := range g.weighing {
			if s.index < 0 && !s.given {
				continue
			}
			g.parts = append(g.parts, part)
			if part != atTare {
				g.component, g.species = s.part, s.species
			}
			g.grams = g.grams || part < atTare
		}
		g.species = c.checker.species(g.weighing.first(), g.species)
		c.groups = append(c.groups, g)
	}
	c.bindOwn()
}

// bindOwn makes the fields that a wide file has for one component alone.
func (c *clippings) bindOwn() {
	ck := &c.checker
	for _, s := range c.binding.wideSources() {
		own := &c.own[s.part]
		switch s.field {
		case "stage":
			own.stage = newField(ck, *s, ck.stage)
		case "growth_form":
			own.growthForm = newField(ck, *s, ck.growthForm)
		case "dm_pct":
			own.dmPct = newField(ck, *s, ck.percent)
		case "frame_type":
			own.frameType = newField(ck, *s, ck.frameType)
		case "bag":
			own.bag = newField(ck, *s, ck.key)
		}
	}
}
