package schema

import (
	"slices"
	"strconv"
)

// joinFrame merges a frame of the other ledger with the one that is held.
func (m *ledgerMerge) joinFrame(o *placedOccasion, held, given *visitRow) error {
	im, err := m.as(given.importID)
	if err != nil {
		return err
	}
	mg := &merge{im: im, line: int(given.line)}
	mg.mergeVisit(held, &Clipping{Treatment: given.treatment, Block: given.block, CagedSince: given.since, ComponentsSampled: given.sampled,
		Year: int(bit(given.yearGiven)), Note: given.note, Status: emptyWord(given.empty)})
	before := held.attrs
	plots := m.joinHow(im, held, given)
	if mg.err != nil {
		return mg.err
	}
	changed := mg.changed || held.attrs != before
	if changed {
		held.importID, held.line = im.id, given.line
		if err := setRow(im, "visit", []string{"visit_id"}, visitColumns, held); err != nil {
			return err
		}
	}
	for _, c := range plots {
		theirs, line := given.sourceOf(c)
		if err := m.putPlot(held, c, held.plots[c], theirs, line); err != nil {
			return err
		}
	}
	bags, err := m.joinBags(held, given)
	if err != nil {
		return err
	}
	if bags {
		held.remark()
		if err := im.exec(`UPDATE visit SET found=?, recorded=?, ways=? WHERE visit_id=?`, int64(held.found), int64(held.recorded), int64(held.ways), held.id); err != nil {
			return err
		}
	}
	switch howChanged := changed || len(plots) > 0; {
	case howChanged:
		m.wrote[im.id] = true
		if !bags { // else counted with them
			im.Changed++
		}
		o.touched = true
	case bags:
		o.touched = true
	case len(given.bags) == 0:
		im.Identical++
	}
	return nil
}

func emptyWord(empty bool) string {
	if empty {
		return StatusEmpty
	}
	return ""
}

// parts are the components that a frame has bags or attributes of.
func (v *visitRow) parts() []Component {
	var out []Component
	for _, c := range Components {
		if v.plots[c] != nil || slices.ContainsFunc(v.bags, func(b *bagRow) bool { return b.component == c }) {
			out = append(out, c)
		}
	}
	return out
}

// joinHow merges how each component was clipped into held and returns the
// components whose own row must be written. A component that one ledger does
// not have contradicts nothing; one that is silent stays silent.
func (m *ledgerMerge) joinHow(im *Import, held, given *visitRow) []Component {
	mg := &merge{im: im, line: int(given.line)}
	ours, theirs := held.parts(), given.parts()
	if len(ours)+len(theirs) == 0 {
		mg.from(held.importID, held.line)
		m.joinAttrs(mg, &held.attrs, given.attrs)
		return nil
	}
	joined := map[Component]plotRow{}
	changed := false
	for _, c := range Components {
		had, has := slices.Contains(ours, c), slices.Contains(theirs, c)
		if !had && !has {
			continue
		}
		p, g := held.plotOf(c), given.plotOf(c)
		if had {
			mg.from(held.sourceOf(c))
		} else {
			mg.from(held.importID, held.line)
		}
		switch {
		case had && has:
			m.joinFramesInBag(mg, &p, g)
			m.joinAttrs(mg, &p.attrs, g.attrs)
		case had && len(theirs) == 0: // what is said of the frame as a whole is said of each component
			m.joinAttrs(mg, &p.attrs, given.attrs)
		case has && len(ours) == 0:
			p.framesInBag, p.attrs = g.framesInBag, held.attrs
			m.joinAttrs(mg, &p.attrs, g.attrs)
		case has:
			p = plotRow{attrs: g.attrs, framesInBag: g.framesInBag}
		}
		was := held.plotOf(c)
		changed = changed || !had || was.attrs != p.attrs || was.framesInBag != p.framesInBag
		joined[c] = p
	}
	if !changed {
		return nil
	}
	return held.spread(joined)
}

// joinFramesInBag compares for how many frames a bag speaks; not given is a
// blank, as it is for an import.
func (m *ledgerMerge) joinFramesInBag(mg *merge, held *plotRow, given plotRow) {
	ours, theirs := held.framesInBag, given.framesInBag
	switch {
	case theirs == 0 || theirs == ours:
	case ours == 0 || mg.conflict("frames_in_bag", strconv.FormatInt(theirs, 10), strconv.FormatInt(ours, 10)):
		held.framesInBag = theirs
	}
}

func (m *ledgerMerge) joinAttrs(mg *merge, held *frameAttrs, given frameAttrs) {
	mg.text("date", &held.date, given.date)
	mg.text("edge_rule", &held.edgeRule, given.edgeRule)
	mg.number("clip_height_cm", &held.height, given.height)
	mg.number("ungrazed_pct", &held.ungrazed, given.ungrazed)
	m.joinID(mg, "frame_type", `SELECT frame_type FROM frame_type WHERE frame_type_id=?`, &held.frameType, given.frameType)
	m.joinID(mg, "observer", `SELECT observer FROM observer WHERE observer_id=?`, &held.observer, given.observer)
}

func (m *ledgerMerge) joinID(mg *merge, column, name string, held *int64, given int64) {
	switch {
	case given == 0 || given == *held:
		return
	case *held == 0:
		mg.changed = true
	default:
		words := [2]string{}
		for i, id := range []int64{given, *held} {
			if _, err := m.t.queryRow(name, []any{id}, &words[i]); err != nil {
				mg.err = err
			}
		}
		if !mg.conflict(column, words[0], words[1]) {
			return
		}
	}
	*held = given
}

// attrSlots are the parts of frameAttrs, to be shared out one by one.
var attrSlots = []struct {
	value func(*frameAttrs) any
	copy  func(dest, from *frameAttrs)
}{
	{func(a *frameAttrs) any { return a.date }, func(d, s *frameAttrs) { d.date = s.date }},
	{func(a *frameAttrs) any { return a.frameType }, func(d, s *frameAttrs) { d.frameType = s.frameType }},
	{func(a *frameAttrs) any { return a.observer }, func(d, s *frameAttrs) { d.observer = s.observer }},
	{func(a *frameAttrs) any { return a.edgeRule }, func(d, s *frameAttrs) { d.edgeRule = s.edgeRule }},
	{func(a *frameAttrs) any { return a.height }, func(d, s *frameAttrs) { d.height = s.height }},
	{func(a *frameAttrs) any { return a.ungrazed }, func(d, s *frameAttrs) { d.ungrazed = s.ungrazed }},
}

// spread shares out between the frame and its components what holds for each:
// with the frame what they have in common, or what the first of them has, and
// nothing where some component is silent. It returns the components whose own
// row changes.
func (v *visitRow) spread(joined map[Component]plotRow) []Component {
	visit := v.attrs
	own := map[Component]*plotRow{}
	for c, p := range joined {
		own[c] = &plotRow{framesInBag: p.framesInBag}
	}
	for _, slot := range attrSlots {
		silent := slot.value(&frameAttrs{})
		var common *frameAttrs // what the frame itself can say
		anySilent, kept := false, false
		for _, c := range Components {
			p, ok := joined[c]
			if !ok {
				continue
			}
			anySilent = anySilent || slot.value(&p.attrs) == silent
			kept = kept || slot.value(&p.attrs) == slot.value(&v.attrs)
			if common == nil {
				common = &p.attrs
			}
		}
		switch {
		case anySilent:
			common = &frameAttrs{}
		case kept:
			common = &v.attrs
		}
		slot.copy(&visit, common)
		for c, p := range joined {
			if slot.value(&p.attrs) != slot.value(common) {
				slot.copy(&own[c].attrs, &p.attrs)
			}
		}
	}
	v.attrs = visit
	var out []Component
	for _, c := range Components {
		p, was := own[c], v.plots[c]
		if p == nil || was == nil && *p == (plotRow{}) || was != nil && was.attrs == p.attrs && was.framesInBag == p.framesInBag {
			continue
		}
		v.plots[c] = p
		out = append(out, c)
	}
	return out
}

// joinBags merges the bags of a frame and tells whether any was added or
// changed.
func (m *ledgerMerge) joinBags(held, given *visitRow) (changed bool, err error) {
	for _, b := range given.bags {
		im, err := m.as(b.importID)
		if err != nil {
			return false, err
		}
		mg := &merge{im: im, line: int(b.line)}
		old := held.bagOf(b.component, b.species, b.bag)
		c := b.asClipping(old)
		if held.empty && b.weighsSomething() {
			mg.from(held.importID, held.line)
			mg.contradictsEmptyFrame(&c)
		}
		mg.checkNeighbours(held, &c, b.species)
		if old == nil {
			b.visit = held
			held.attach(b)
			changed = true
			if err := m.insertBag(b); err != nil {
				return false, err
			}
			continue
		}
		m.joinBag(mg, old, b, &c)
		if mg.err != nil {
			return false, mg.err
		}
		if !mg.changed {
			im.Identical++
			continue
		}
		changed = true
		im.Changed++
		old.importID, old.line = im.id, b.line
		old.setBlank()
		if err := setRow(im, "bag", []string{"visit_id", "component", "species_id", "bag"}, bagColumns, old); err != nil {
			return false, err
		}
	}
	return changed, nil
}

// joinBag merges one bag with the one that is held.
func (m *ledgerMerge) joinBag(mg *merge, held, given *bagRow, c *Clipping) {
	weighed := held.green.Valid || held.dry.Valid || held.trace != 0
	if weighed && c.HasWeight() && held.perM2 != c.PerM2 {
		mg.from(held.importID, held.line)
		mg.refuse("", "", "the ledger holds this bag's weight "+perWhat(held.perM2)+", the other gives it "+perWhat(c.PerM2),
			"give the weight in the same form in both")
		return
	}
	if !weighed && !c.HasWeight() && given.perM2 && !held.perM2 {
		held.perM2, mg.changed = true, true
	}
	mg.mergeBag(held, c)
}

// asClipping says what a bag says, as a row of a file would. A basis that no
// dry weight and no percentage rests on yet is no fact: it gives way to one
// that is, and of two such the first in the alphabet is kept.
func (b *bagRow) asClipping(held *bagRow) Clipping {
	c := Clipping{Component: b.component, Bag: b.bag, GrowthForm: b.form, PerM2: b.perM2, GreenG: b.green, DryG: b.dry, Trace: b.trace,
		DMPct: b.dm, Basis: b.basis, Stage: b.stage, Status: b.status, Note: b.note, MissingCell: b.blank}
	if held == nil || b.dry.Valid || b.dm.Valid {
		return c
	}
	if held.dry.Valid || held.dm.Valid || held.basis != "" && held.basis < b.basis {
		c.Basis = ""
	}
	return c
}
