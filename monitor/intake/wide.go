package intake

import (
	"fmt"
	"slices"
	"strings"

	"clipledger/schema"
)

// group is where the weights of one component (and species) stand: the only
// one of a long file, or one of several in a wide file.
type group struct {
	component schema.Component // NoComponent in a long file
	species   string
	weighing  weighing
	grams     bool // has columns in grams
	// Of the row in hand:
	cells [weighingCells]string
	got   weighed
}

// ownFields are what a wide file says for one component alone.
type ownFields struct {
	stage, growthForm, frameType, bag *field[string]
	dmPct                             *field[schema.Num]
}

// clippingColumns are the columns of a clippings file beside its weights.
var clippingColumns = []string{"site", "date", "year", "season", "transect", "frame", "frame_type", "component", "species",
	"growth_form", "stage", "bag", "frames_in_bag", "dm_pct", "basis", "status", "components_sampled", "caged", "caged_since",
	"treatment", "block", "observer", "edge_rule", "clip_height_cm", "ungrazed_pct", "note"}

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

// groupNames lists the groups of weights: what stands before the field in
// the quantities of wide columns, or "" alone for a long file; by component.
func (b *binding) groupNames() []string {
	type order struct {
		part schema.Component
		name string
	}
	seen := map[order]bool{}
	var all []order
	for quantity, s := range b.sources {
		if s.part == schema.NoComponent || !slices.Contains(weighingQuantities[:], s.field) {
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
	}
	for _, s := range wide {
		if what, do := textFault(s.species, maxKeyLength, false); what != "" {
			m.problem(fmt.Sprintf("the species in column %q %s", s.name, what), do)
		}
	}
	for _, g := range groups {
		lacks = append(lacks, m.checkTare(g)...)
	}
	m.lacking(lacks)
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

// checkTare tells of a group with gross weights and no weight of the empty
// bag, or the reverse. A gross weight beside a net one can be done without.
func (m *matcher) checkTare(group string) (lacks []lack) {
	tare := m.sources[group+"tare"]
	if tare == nil {
		tare = m.sources["tare"]
	}
	anyGross := false
	for _, net := range []string{"green", "dry"} {
		gross := m.sources[group+net+"_gross"]
		switch {
		case gross == nil:
		case tare != nil:
			anyGross = true
		case m.has(group + net):
			delete(m.sources, group+net+"_gross")
			m.summary.notice("column %s was ignored: there is no tare_g to take off, and %s stands beside it", gross.name, m.sources[group+net].name)
		default:
			lacks = append(lacks, lack{"tare_g (the empty bag, to take off " + gross.name + ")", "tare_g"})
		}
	}
	if own := m.sources[group+"tare"]; own != nil && !anyGross {
		m.summary.notice("%s is not taken off: weights without gross in their names are net; if yours hold the bag, say so with --map, as in --map green_gross_g=%q", own.name, "green_g")
	}
	return lacks
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

// weighGroup reads the weights of a group.
func (c *clippings) weighGroup(g *group, cells []string) {
	for part := range g.weighing {
		g.cells[part] = c.cell(&g.weighing[part], cells)
	}
	g.got = c.weigh(&g.weighing, &g.cells)
}

// heard tells whether the cells of a group say anything.
func (g *group) heard() bool { return g.got.any() || g.got.lost || g.got.bad }

// wideRow makes the records of a row that is a frame: one for every component
// (and species) with a weight. A component whose cells are all blank is
// missing; a species that is blank beside a weighed one was not found.
func (c *clippings) wideRow(cells []string) {
	status := c.status.read(cells)
	for i := range c.groups {
		c.weighGroup(&c.groups[i], cells)
	}
	if status == schema.StatusEmpty {
		rec := c.add(schema.NoComponent)
		rec.Status = status
		c.setFrameType(rec, &c.groups[0], rec.FrameType, cells)
	}
	blanks := 0
	for rest := c.groups; len(rest) > 0; {
		n := 1
		for n < len(rest) && rest[n].component == rest[0].component {
			n++
		}
		if !c.componentOfRow(rest[:n], status, cells) {
			blanks++
		}
		rest = rest[n:]
	}
	if status == schema.StatusLost && blanks == 0 {
		c.bad(c.status.name, status, "every component of the row has a weight", "write lost in the cell of the weight that was lost, and leave the status empty")
	}
}

// componentOfRow makes the records of one component; false where its cells
// are all blank.
func (c *clippings) componentOfRow(groups []group, status string, cells []string) bool {
	own := c.readOwn(groups[0].component, cells)
	heard := 0
	for i := range groups {
		g := &groups[i]
		if !g.heard() {
			continue
		}
		heard++
		rec := c.add(g.component)
		if g.species != "" {
			rec.Species = g.species
		}
		c.setWeights(rec, g)
		if g.got.lost {
			c.lostCell(status)
			rec.Status = schema.StatusLost
		}
		if status == schema.StatusEmpty {
			c.emptyWeighsNothing(g)
		}
		own.give(rec)
		c.setFrameType(rec, g, rec.FrameType, cells)
		c.wasSampled(rec, cells)
	}
	if heard == 0 {
		c.blankComponent(&groups[0], own, status, cells)
	} else if heard > 1 && groups[0].species == "" && groups[0].heard() {
		name, cell := groups[0].firstCell()
		c.bad(name, cell, "stands beside weights of species of the same component", "keep the species or their total, not both")
	}
	return heard > 0
}

// blankComponent keeps a component without a weight, so that no zero is
// inferred from it, unless the row says that the frame was empty or that the
// component was not looked for.
func (c *clippings) blankComponent(g *group, own ownOfRow, status string, cells []string) {
	sampled := c.base.ComponentsSampled
	if status == schema.StatusEmpty || sampled != 0 && sampled&g.component.Bit() == 0 {
		return
	}
	rec := c.add(g.component)
	rec.Status = status
	rec.MissingCell = status == ""
	own.give(rec)
	c.setFrameType(rec, g, rec.FrameType, cells)
}

// first returns the name of the first column that a weighing has.
func (w *weighing) first() string {
	for _, s := range w {
		if s.index >= 0 || s.given {
			return s.name
		}
	}
	return ""
}

// firstCell returns the first column of a group whose cell says anything.
func (g *group) firstCell() (name, cell string) {
	for part, cell := range g.cells {
		if cell != "" && part != atTare {
			return g.weighing[part].name, cell
		}
	}
	return g.weighing.first(), ""
}

// ownOfRow is what a row says for one component alone; blank where it does not.
type ownOfRow struct {
	stage, growthForm, frameType, bag string
	dmPct                             schema.Num
}

// readOwn reads what the row says for a component alone.
func (c *clippings) readOwn(comp schema.Component, cells []string) (o ownOfRow) {
	text := func(f *field[string]) string {
		if f == nil {
			return ""
		}
		return f.read(cells)
	}
	own := &c.own[comp]
	o = ownOfRow{stage: text(own.stage), growthForm: text(own.growthForm), frameType: text(own.frameType), bag: text(own.bag)}
	if own.dmPct != nil {
		o.dmPct = own.dmPct.read(cells)
	}
	return o
}

// give puts it over what the record has from the row as a whole.
func (o *ownOfRow) give(rec *schema.Clipping) {
	for _, p := range []struct {
		to   *string
		from string
	}{{&rec.Stage, o.stage}, {&rec.GrowthForm, o.growthForm}, {&rec.FrameType, o.frameType}, {&rec.Bag, o.bag}} {
		if p.from != "" {
			*p.to = p.from
		}
	}
	if o.dmPct.Valid {
		rec.DMPct = o.dmPct
	}
}
