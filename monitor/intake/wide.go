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
	grams     bool  // has columns in grams
	parts     []int // that the file has, or a constant gives
	// Of the row in hand:
	cells [weighingCells]string
	got   weighed
}

// ownFields are what a wide file says for one component alone.
type ownFields struct {
	stage, growthForm, frameType, bag *field[string]
	dmPct                             *field[schema.Num]
}

// weighGroup reads the weights of a group.
func (c *clippings) weighGroup(g *group, cells []string) {
	for _, part := range g.parts {
		g.cells[part] = c.cell(&g.weighing[part], cells)
	}
	if traces := c.cell(&c.traceAt, cells); traces != "" {
		c.markTraces(g, traces)
	}
	g.got = c.weigh(&g.weighing, &g.cells)
}

// markTraces puts T where the column trace says that a weight was one: exports
// keep the columns of weights to numbers.
func (c *clippings) markTraces(g *group, traces string) {
	for word := range strings.SplitSeq(traces, ";") {
		word = trimCell(word)
		part := slices.IndexFunc(g.parts, func(part int) bool { return foldName(g.weighing[part].name) == foldName(word) })
		switch {
		case part < 0:
			c.bad("trace", traces, fmt.Sprintf("names %q, which is no column of a weight in this file", word), "name the columns whose weight was a trace, as in green_g;dry_g")
		case g.cells[g.parts[part]] != "":
			c.bad("trace", traces, fmt.Sprintf("names %s, which has a weight", word), "keep one of them")
		default:
			g.cells[g.parts[part]] = "T"
		}
	}
}

// heard tells whether the cells of a group say anything.
func (g *group) heard() bool { return g.got.any() || g.got.lost || g.got.bad }

// add begins a record of a wide row.
func (c *clippings) add(comp schema.Component) *schema.Clipping {
	c.out = append(c.out, c.shared)
	rec := &c.out[len(c.out)-1]
	rec.Component = comp
	return rec
}

// wideRow makes the records of a row that is a frame: one for every component
// (and species) with a weight. A component whose cells are all blank is
// missing; a species that is blank beside a weighed one was not found.
func (c *clippings) wideRow(cells []string) {
	status := c.status.read(cells)
	if status == statusBlank {
		c.bad(c.status.name, status, "is for files with a row for every bag", "leave the cells of the weights empty")
	}
	for i := range c.groups {
		c.weighGroup(&c.groups[i], cells)
	}
	if status == schema.StatusEmpty {
		rec := c.add(schema.NoComponent)
		rec.Status = status
		c.setFrameType(rec, &c.groups[0], rec.FrameType)
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
		c.setFrameType(rec, g, rec.FrameType)
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
	c.setFrameType(rec, g, rec.FrameType)
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
