package monitor

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"clipledger/schema"
)

// What a reader must know beside a change: what it leaves out, what of it may
// not be the plants' doing, and why a number is missing.

// note adds a remark.
func (x *Comparison) note(code, text string) {
	x.Remarks = append(x.Remarks, Remark{Code: code, Text: text})
}

// warn adds a remark that must not be overlooked.
func (x *Comparison) warn(code, text string) {
	x.Remarks = append(x.Remarks, Remark{Code: code, Text: text, Loud: true})
}

// remarks says what a change by this design leaves out and lacks.
func (ch *change) remarks(site *schema.SiteRecord) []Remark {
	var x Comparison
	if ch.left1+ch.left2 > 0 {
		x.note("left-out", fmt.Sprintf("compared are the frames with a value in both years: %s of year 1 and %s of year 2 left out", framesWord(ch.left1), framesWord(ch.left2)))
	}
	if ch.n1 == 0 || ch.n2 == 0 {
		x.warn("no-pairs", "no frame has a value in both years, and the site says that the same spots are clipped: look whether transects, frames and cages are named alike, or declare another placement")
		return x.Remarks
	}
	ch.remarkDesign(&x, site)
	ch.remarkSpread(&x)
	if !ch.dryingComplete {
		x.note("one-drying-sample", "a drying ratio rests on a single sample: its error is unknown and not in the interval")
	}
	if ch.mean1 == 0 && ch.mean2 > 0 {
		x.note("no-percent", "the first year weighs nothing: no percent")
	}
	return x.Remarks
}

func (ch *change) remarkDesign(x *Comparison, site *schema.SiteRecord) {
	if site.DoubleSampling != "" {
		x.note("clipped-alone", "of clipped frames alone, though the site says double sampling by "+site.DoubleSampling)
	}
	switch {
	case site.Placement == "same" && !ch.paired:
		x.note("not-paired", "the components share frames in one of the years only: its frames are not paired with the other's")
	case site.Placement == "same":
		x.note("same-spot", "the same spots are clipped every year: clipping to the ground is itself a treatment, and a change may be its doing")
	case site.Placement == "shifted" && !ch.paired:
		x.note("few-transects", "fewer than 3 transects have values in both years: the years are compared as independent samples")
	}
	if ch.design == PairedTransects && site.SamplingUnit == "frame" {
		x.note("transects-alike", "the means are over transects, each counting alike: with unequal numbers of frames they differ from the means over frames")
	}
}

// remarkSpread says why there is no test, or how little it rests on.
func (ch *change) remarkSpread(x *Comparison) {
	_, tested := ch.test()
	switch n := min(ch.n1, ch.n2); {
	case n < 2:
		x.note("one-unit", "one sampling unit in a year: no test")
	case tested && n < 3:
		x.note("few-units", "fewer than 3 sampling units in a year")
	case tested && !ch.paired && (ch.flat1 || ch.flat2):
		x.note("year-alike", "all sampling units of one year weigh the same: the spread is the other year's alone")
	case tested || !ch.known:
	case ch.mean1 == 0 && ch.mean2 == 0:
		x.note("all-zero", "every frame weighs nothing in both years: no test")
	case ch.paired && ch.difference == 0:
		x.warn("identical", "every pair weighs the same in both years: no test; look whether one year was copied from the other")
	case ch.paired:
		x.note("all-alike", "every pair differs by the same weight: no test; look whether these were clipped")
	default:
		x.note("all-alike", "all sampling units of a year weigh the same: no test; look whether these were clipped")
	}
}

// beside adds what the two years' own means carry, and where they were not
// clipped and weighed alike.
func (c *comparing) beside(p *pair) {
	c.remarkManners(p)
	p.summed()
	p.remarkBook(c.tables)
	p.remarkBasis()
	p.carry()
}

// carried are the remarks of a year's mean that hold for its part of a change.
var carried = []string{"missing", "undeclared", "zeros-inferred", "all-zeros-inferred", "parts-differ", "yearly-total",
	"mixed-bases", "basis-unknown", "one-line", "chosen"}

// summed says so where production is a sum of means.
func (p *pair) summed() {
	if p.one.kept.parts != nil || p.two.kept.parts != nil {
		p.out.note("sum-of-means", "the components sit on frames of their own: the change is the sum of theirs, variances added; n is of the component with the fewest")
	}
}

// carry takes over remarks of the two years, once where both say the same.
func (p *pair) carry() {
	for _, code := range carried {
		one, has1 := remarkOf(p.one, code)
		two, has2 := remarkOf(p.two, code)
		switch {
		case has1 && has2 && one == two:
			p.out.Remarks = append(p.out.Remarks, one)
		default:
			p.out.carryOne("year 1: ", one, has1)
			p.out.carryOne("year 2: ", two, has2)
		}
	}
}

func (x *Comparison) carryOne(year string, r Remark, has bool) {
	if has {
		r.Text = year + r.Text
		x.Remarks = append(x.Remarks, r)
	}
}

func remarkOf(m *Mean, code string) (Remark, bool) {
	i := slices.IndexFunc(m.Remarks, func(r Remark) bool { return r.Code == code })
	if i < 0 {
		return Remark{}, false
	}
	return m.Remarks[i], true
}

// mostBookShift is the difference in percent of the weight from which the
// years' dry weights rest on different ground.
const mostBookShift = 50

// remarkBook says how much of each year's weight rests on book values.
func (p *pair) remarkBook(tables []string) {
	one, two := p.one.BookPct.Float64, p.two.BookPct.Float64
	if one == 0 && two == 0 {
		return
	}
	text := fmt.Sprintf("book values (%s) carry %.0f %% of the weight of year 1 and %.0f %% of year 2; what they miss is not in the interval", strings.Join(tables, ", "), one, two)
	if one-two > mostBookShift || two-one > mostBookShift {
		p.out.warn("dry-matter-changed", text+", and as the years differ in it, it can look like a change")
		return
	}
	p.out.note("book-values", text)
}

// remarkBasis says so where only one year was converted to the ledger's basis.
func (p *pair) remarkBasis() {
	_, one := remarkOf(p.one, "basis-converted")
	_, two := remarkOf(p.two, "basis-converted")
	switch {
	case one && two:
		r, _ := remarkOf(p.one, "basis-converted")
		p.out.Remarks = append(p.out.Remarks, r)
	case one || two:
		p.out.warn("basis-differs", "the dry weights of one year only were converted to the ledger's basis: what the assumed moisture misses can look like a change")
	}
}

// mannerWays are the ways of clipping that can make a change by themselves.
var mannerWays = []struct {
	code, what string
	loud       bool
	of         func(schema.Manner) string
}{
	{"frame-changed", "frame types", true, func(m schema.Manner) string { return m.FrameType }},
	{"edge-rule-changed", "edge rules", true, func(m schema.Manner) string { return m.EdgeRule }},
	{"height-changed", "clipping heights", true, func(m schema.Manner) string { return m.Height }},
	{"observer-changed", "observers", false, func(m schema.Manner) string { return m.Observer }},
}

// remarkManners says where the two years were clipped in different ways.
func (c *comparing) remarkManners(p *pair) {
	for _, w := range mannerWays {
		one, two := c.mannersOf(p.one, w.of), c.mannersOf(p.two, w.of)
		if one == "" || two == "" || one == two {
			continue
		}
		r := Remark{Code: w.code, Text: fmt.Sprintf("the years were clipped with different %s (%s, then %s): that alone can make a change", w.what, one, two), Loud: w.loud}
		if w.code == "observer-changed" {
			r.Text = "the years were clipped by different observers: look whether a change is one of hands"
		}
		p.out.Remarks = append(p.out.Remarks, r)
	}
	if caged(p.one) != caged(p.two) {
		p.out.warn("caging-changed", "the frames were caged in one of the years only: what was eaten in the other looks like a change")
	}
}

// mannersOf lists the ways in which the components of a mean were clipped.
func (c *comparing) mannersOf(m *Mean, of func(schema.Manner) string) string {
	words := map[string]bool{}
	m.kept.leaves(func(k *kept) {
		for _, manner := range c.manners[k.occasion] {
			if word := of(manner); word != "" && manner.Components&bits(k.sample.parts) != 0 {
				words[word] = true
			}
		}
	})
	return strings.Join(slices.Sorted(maps.Keys(words)), " and ")
}

func bits(components []schema.Component) (out uint8) {
	for _, c := range components {
		out |= c.Bit()
	}
	return out
}

// caged tells whether a mean rests on caged frames.
func caged(m *Mean) bool {
	out := false
	m.kept.leaves(func(k *kept) { out = out || k.caged })
	return out
}
