package schema

import (
	"strings"
)

// merge compares what one row says with what is held, field by field: blanks
// on either side never contradict, a differing value does.
type merge struct {
	im        *Import
	line      int
	importID  int64 // where the held values came from
	heldLine  int64
	conflicts int
	changed   bool
	err       error
}

// from says where the values compared next were held.
func (m *merge) from(importID, line int64) { m.importID, m.heldLine = importID, line }

// conflict reports a contradiction; under --replace it lets the given value
// win. It tells whether the given value is to be written.
func (m *merge) conflict(column, given, held string) bool {
	if m.im.Replace {
		m.changed = true
		return true
	}
	m.conflicts++
	if err := m.im.contradicts(m.line, column, given, held, m.importID, m.heldLine); err != nil {
		m.err = err
	}
	return false
}

// refuse reports a fault of the row that --replace does not settle.
func (m *merge) refuse(column, value, what, do string) {
	m.conflicts++
	m.im.refuse(m.line, column, value, what, do)
}

func (m *merge) text(column string, held *string, given string) {
	switch {
	case given == "" || given == *held:
	case *held == "":
		*held = strings.Clone(given)
		m.changed = true
	case m.conflict(column, given, *held):
		*held = strings.Clone(given)
	}
}

func (m *merge) number(column string, held *Num, given Num) {
	switch {
	case !given.Valid || given == *held:
	case !held.Valid:
		*held = given
		m.changed = true
	case m.conflict(column, formatNumber(given.Float64), formatNumber(held.Float64)):
		*held = given
	}
}

// mergeVisit compares what a row says of its frame as a whole.
func (m *merge) mergeVisit(v *visitRow, c *Clipping) {
	m.from(v.importID, v.line)
	m.text("treatment", &v.treatment, c.Treatment)
	m.text("block", &v.block, c.Block)
	m.text("caged_since", &v.since, c.CagedSince)
	if c.ComponentsSampled != 0 && c.ComponentsSampled != v.sampled {
		if v.sampled == 0 {
			m.changed = true
			v.sampled = c.ComponentsSampled
		} else if m.conflict("components_sampled", maskNames(c.ComponentsSampled), maskNames(v.sampled)) {
			v.sampled = c.ComponentsSampled
		}
	}
	if c.Year != 0 && !v.yearGiven {
		v.yearGiven, m.changed = true, true
	}
	if c.Component == NoComponent {
		m.text("note", &v.note, c.Note)
		m.mergeEmpty(v, c)
	}
}

// mergeEmpty takes a row that says nothing at all was found in the frame.
func (m *merge) mergeEmpty(v *visitRow, c *Clipping) {
	if c.Status != StatusEmpty || v.empty {
		return
	}
	for _, b := range v.bags {
		if b.weighsSomething() {
			m.from(b.importID, b.line)
			m.contradictsEmpty(c)
			return
		}
	}
	v.empty, m.changed = true, true
}

func (m *merge) contradictsEmpty(c *Clipping) {
	from, err := m.im.provenance(m.importID, m.heldLine)
	if err != nil {
		m.err = err
	}
	m.refuse("status", c.Status, "the frame is called empty here, but a bag of it weighs something ("+from+")",
		"correct the one that is wrong")
}

// weighsSomething tells whether a bag has a weight above zero.
func (b *bagRow) weighsSomething() bool { return b.green.Float64 > 0 || b.dry.Float64 > 0 }

func maskNames(mask uint8) string {
	var names []string
	for _, c := range Components {
		if mask&c.Bit() != 0 {
			names = append(names, c.String())
		}
	}
	return strings.Join(names, ";")
}

// attr is one thing a row may say of how a component was clipped.
type attr struct {
	column string
	given  string // as written, for messages
	// has tells whether attributes say it at all, equal whether they agree
	// with the row, set writes the row's value.
	has, equal func(*frameAttrs) bool
	set        func(*frameAttrs)
	held       func(*frameAttrs) string
}

// mergeAttrs compares how the component was clipped: what differs from the
// frame's other components is kept with the component.
func (m *merge) mergeAttrs(v *visitRow, c *Clipping, attrs []attr) {
	for _, a := range attrs {
		held := v.plotOf(c.Component).attrs
		switch {
		case !a.has(&held):
			a.set(&v.attrs)
			m.changed = true
		case a.equal(&held):
		case c.Component == NoComponent:
			m.from(v.importID, v.line)
			if m.conflict(a.column, a.given, a.held(&held)) {
				a.set(&v.attrs)
			}
		case !v.hasBags(c.Component):
			a.set(&v.ownPlot(c.Component).attrs)
		default:
			m.from(v.sourceOf(c.Component))
			if m.conflict(a.column, a.given, a.held(&held)) {
				m.overrule(v, c.Component, a)
			}
		}
	}
}

// overrule writes a replaced attribute where it is held: with the component
// if it or another component has its own, else with the frame.
func (m *merge) overrule(v *visitRow, c Component, a attr) {
	own := v.plots[c]
	if own != nil && a.has(&own.attrs) || v.found&^c.Bit() != 0 {
		a.set(&v.ownPlot(c).attrs)
		return
	}
	a.set(&v.attrs)
}

// ownPlot returns the component's own attributes for writing: a copy, so that
// a row that is refused after all leaves the held ones alone.
func (v *visitRow) ownPlot(c Component) *plotRow {
	p := &plotRow{}
	if v.plots[c] != nil {
		*p = *v.plots[c]
	}
	p.dirty = true
	v.plots[c] = p
	return p
}

// sourceOf says where a component's attributes came from.
func (v *visitRow) sourceOf(c Component) (importID, line int64) {
	if p := v.plots[c]; p != nil && p.importID != 0 {
		return p.importID, p.line
	}
	for _, b := range v.bags {
		if b.component == c {
			return b.importID, b.line
		}
	}
	return v.importID, v.line
}

// mergeFramesInBag compares the number of frames a bag holds. Not given counts
// as one, but is a blank like others: a number completes it, whichever of the
// two comes first.
func (m *merge) mergeFramesInBag(v *visitRow, c *Clipping) {
	held, given := v.plotOf(c.Component).framesInBag, int64(c.FramesInBag)
	if given == 0 || given == held {
		return
	}
	if held != 0 {
		m.from(v.sourceOf(c.Component))
		if !m.conflict("frames_in_bag", formatNumber(float64(given)), formatNumber(float64(held))) {
			return
		}
	}
	m.changed = true
	v.ownPlot(c.Component).framesInBag = given
}

// mergeBag compares a row with a bag that is held.
func (m *merge) mergeBag(b *bagRow, c *Clipping) {
	m.from(b.importID, b.line)
	m.text("growth_form", &b.form, c.GrowthForm)
	m.text("stage", &b.stage, c.Stage)
	m.text("note", &b.note, c.Note)
	m.mergeBasis(b, c)
	if c.HasWeight() && c.PerM2 != b.perM2 {
		if b.green.Valid || b.dry.Valid {
			m.refuse("", "", "the ledger holds this bag's weight "+perWhat(b.perM2)+", this row gives it "+perWhat(c.PerM2),
				"give the weight in the same form")
			return
		}
		b.perM2, m.changed = c.PerM2, true
	}
	m.weight("green_g", &b.green, &b.trace, TraceGreen, c.GreenG, c.Trace)
	m.weight("dry_g", &b.dry, &b.trace, TraceDry, c.DryG, c.Trace)
	m.number("dm_pct", &b.dm, c.DMPct)
	m.mergeStatus(b, c)
	if b.dry.Valid && b.green.Valid && b.dry.Float64 > b.green.Float64 && m.conflicts == 0 {
		m.refuse("dry_g", formatNumber(b.dry.Float64), "the dry weight is above the green weight, "+formatNumber(b.green.Float64)+" g",
			"correct the one that is wrong")
	}
}

func perWhat(perM2 bool) string {
	if perM2 {
		return "per area"
	}
	return "in grams a bag"
}

// mergeBasis compares the basis. Without a dry weight or a percentage to
// speak of, a held basis is not yet a fact.
func (m *merge) mergeBasis(b *bagRow, c *Clipping) {
	if !b.dry.Valid && !b.dm.Valid {
		if c.Basis != "" && c.Basis != b.basis {
			b.basis, m.changed = c.Basis, true
		}
		return
	}
	m.text("basis", &b.basis, c.Basis)
}

// weight compares a weight that may be a number or a trace.
func (m *merge) weight(column string, held *Num, heldTrace *int, bit int, given Num, trace int) {
	isTrace, wasTrace := trace&bit != 0, *heldTrace&bit != 0
	switch {
	case isTrace && wasTrace:
	case isTrace && held.Valid:
		if m.conflict(column, "T", formatNumber(held.Float64)) {
			*held = Num{}
			*heldTrace |= bit
		}
	case isTrace:
		*heldTrace |= bit
		m.changed = true
	case given.Valid && wasTrace:
		if m.conflict(column, formatNumber(given.Float64), "T") {
			*held = given
			*heldTrace &^= bit
		}
	default:
		m.number(column, held, given)
	}
}

// mergeStatus compares the status. A lost bag that is found keeps the word
// and gains its weight.
func (m *merge) mergeStatus(b *bagRow, c *Clipping) {
	if b.status == StatusEmpty && (c.GreenG.Float64 > 0 || c.DryG.Float64 > 0) ||
		c.Status == StatusEmpty && b.weighsSomething() {
		if m.conflict("status", c.Status, b.status) {
			b.status = c.Status
			if c.Status == StatusEmpty {
				b.green, b.dry, b.trace = Num{}, Num{}, 0
			}
		}
		return
	}
	m.text("status", &b.status, c.Status)
}
