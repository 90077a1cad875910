package schema

import (
	"cmp"
	"fmt"
	"strconv"
	"strings"
)

// addToOccasion takes one record into its occasion: first everything is
// compared on copies, and only a row without any contradiction is applied.
func (w *ClippingWriter) addToOccasion(o *occasionRef, c *Clipping) error {
	m := &merge{im: w.im, line: c.Line}
	k := frameKey{c.Transect, c.Frame, c.Caged}
	held := o.visits[k]
	fresh := held == nil
	if fresh {
		var err error
		if held, err = w.newVisit(o, k, c.Line); err != nil {
			return err
		}
	}
	draft := *held
	m.mergeVisit(&draft, c)
	if err := w.mergeHow(m, &draft, c); err != nil {
		return err
	}
	visitChanged := m.changed
	m.changed = false
	bag, old, err := w.draftBag(m, &draft, c)
	if err != nil || m.err != nil {
		return cmpErr(err, m.err)
	}
	if m.conflicts > 0 {
		if fresh {
			o.nextSeq--
		}
		return nil
	}
	first := fresh || held.bare() // a frame that was only estimated is new to whoever clips
	if visitChanged && !first && held.importID != w.im.id {
		w.im.Changed++ // a frame made by this import is counted as added already
	}
	w.apply(o, held, &draft, fresh, first, visitChanged, c)
	w.applyBag(o, held, bag, old, c.Line, m.changed, visitChanged || fresh)
	return nil
}

func cmpErr(a, b error) error {
	if a != nil {
		return a
	}
	return b
}

// mergeHow compares what the row says of how its component was clipped. Nearly
// every row says what its frame says already, or is the first of its frame.
func (w *ClippingWriter) mergeHow(m *merge, v *visitRow, c *Clipping) error {
	given, err := w.given(v, c)
	if err != nil {
		return err
	}
	held := v.plotOf(c.Component).attrs
	switch {
	case given.saysNothingBeyond(&held):
		return nil
	case !v.inserted && len(v.bags) == 0 && v.attrs == (frameAttrs{}):
		given.date, given.edgeRule = strings.Clone(given.date), w.intern(given.edgeRule)
		v.attrs, m.changed = given, true
		return nil
	}
	m.mergeAttrs(v, c, w.attrs(c, &given))
	return nil
}

// given gathers what the row says of how its component was clipped.
func (w *ClippingWriter) given(v *visitRow, c *Clipping) (frameAttrs, error) {
	a := frameAttrs{date: c.Date, edgeRule: c.EdgeRule, height: c.ClipHeightCM, ungrazed: c.UngrazedPct}
	var err error
	if name := frameTypeOf(v, c); name != "" {
		if a.frameType, err = w.im.frameTypeID(name, c.Line); err != nil {
			return a, err
		}
	}
	if c.Observer != "" {
		a.observer, err = w.im.observerID(c.Observer)
	}
	return a, err
}

// frameTypeOf is the frame type that a row brings: its own, else what its site
// declares, unless the frame has the component already. A lab's dry weights
// need not repeat on what the bags were clipped.
func frameTypeOf(v *visitRow, c *Clipping) string {
	if c.FrameType == "" && !v.hasBags(c.Component) {
		return c.FrameTypeElse
	}
	return c.FrameType
}

// checkArea refuses a weight in grams that has no area: neither the row nor
// the site nor the ledger says on what frame type it was clipped. A component
// that is new to its frame does not inherit the type of another.
func (m *merge) checkArea(v *visitRow, c *Clipping) {
	if !c.HasWeight() || c.PerM2 || frameTypeOf(v, c) != "" || v.hasBags(c.Component) && v.plotOf(c.Component).attrs.frameType != 0 {
		return
	}
	m.refuse("frame_type", "", fmt.Sprintf("is missing: neither the row nor site %q says on what frame the %s was clipped, and a weight in grams needs an area", c.Site, c.Component),
		`add a frame_type column, or say --set frame_type="9.6 ft2", or import the sites first with their frame_type`)
}

// saysNothingBeyond tells whether everything given is held already.
func (a *frameAttrs) saysNothingBeyond(held *frameAttrs) bool {
	return (a.date == "" || a.date == held.date) && (a.frameType == 0 || a.frameType == held.frameType) &&
		(a.observer == 0 || a.observer == held.observer) && (a.edgeRule == "" || a.edgeRule == held.edgeRule) &&
		(!a.height.Valid || a.height == held.height) && (!a.ungrazed.Valid || a.ungrazed == held.ungrazed)
}

// attrs lists what the row says of how its component was clipped, one by one.
func (w *ClippingWriter) attrs(c *Clipping, given *frameAttrs) []attr {
	var out []attr
	if c.Date != "" {
		out = append(out, textAttr("date", c.Date, func(a *frameAttrs) *string { return &a.date }))
	}
	if c.EdgeRule != "" {
		out = append(out, textAttr("edge_rule", c.EdgeRule, func(a *frameAttrs) *string { return &a.edgeRule }))
	}
	if c.ClipHeightCM.Valid {
		out = append(out, numAttr("clip_height_cm", c.ClipHeightCM, func(a *frameAttrs) *Num { return &a.height }))
	}
	if c.UngrazedPct.Valid {
		out = append(out, numAttr("ungrazed_pct", c.UngrazedPct, func(a *frameAttrs) *Num { return &a.ungrazed }))
	}
	if given.frameType != 0 {
		out = append(out, w.idAttr("frame_type", cmp.Or(c.FrameType, c.FrameTypeElse), given.frameType, `SELECT frame_type FROM frame_type WHERE frame_type_id=?`,
			func(a *frameAttrs) *int64 { return &a.frameType }))
	}
	if c.Observer != "" {
		out = append(out, w.idAttr("observer", c.Observer, given.observer, `SELECT observer FROM observer WHERE observer_id=?`,
			func(a *frameAttrs) *int64 { return &a.observer }))
	}
	return out
}

func textAttr(column, given string, of func(*frameAttrs) *string) attr {
	return attr{column: column, given: given,
		has:   func(a *frameAttrs) bool { return *of(a) != "" },
		equal: func(a *frameAttrs) bool { return *of(a) == given },
		set:   func(a *frameAttrs) { *of(a) = strings.Clone(given) },
		held:  func(a *frameAttrs) string { return *of(a) }}
}

func numAttr(column string, given Num, of func(*frameAttrs) *Num) attr {
	return attr{column: column, given: formatNumber(given.Float64),
		has:   func(a *frameAttrs) bool { return of(a).Valid },
		equal: func(a *frameAttrs) bool { return *of(a) == given },
		set:   func(a *frameAttrs) { *of(a) = given },
		held:  func(a *frameAttrs) string { return formatNumber(of(a).Float64) }}
}

func (w *ClippingWriter) idAttr(column, given string, id int64, name string, of func(*frameAttrs) *int64) attr {
	return attr{column: column, given: given,
		has:   func(a *frameAttrs) bool { return *of(a) != 0 },
		equal: func(a *frameAttrs) bool { return *of(a) == id },
		set:   func(a *frameAttrs) { *of(a) = id },
		held: func(a *frameAttrs) string {
			var s string
			if found, err := w.im.queryRow(name, []any{*of(a)}, &s); err != nil || !found {
				return "number " + strconv.FormatInt(*of(a), 10)
			}
			return s
		}}
}

// draftBag compares the row's bag with what is held. old is the held bag that
// the draft replaces, nil where the bag is new; bag is nil where the row
// names none.
func (w *ClippingWriter) draftBag(m *merge, v *visitRow, c *Clipping) (bag, old *bagRow, err error) {
	if c.Component == NoComponent {
		return nil, nil, nil
	}
	species, err := w.im.speciesID(c.Species, c.Line)
	if err != nil {
		return nil, nil, err
	}
	m.checkArea(v, c)
	m.mergeFramesInBag(v, c)
	if v.empty && (c.GreenG.Float64 > 0 || c.DryG.Float64 > 0) {
		m.from(v.importID, v.line)
		m.contradictsEmptyFrame(c)
	}
	m.checkNeighbours(v, c, species)
	old = v.bagOf(c.Component, species, c.Bag)
	if old == nil {
		m.changed = true
		return w.newBag(v, c, species), nil, nil
	}
	if old.importID == w.im.id {
		m.refuse("frame", c.Frame, "the same bag stands on line "+strconv.FormatInt(old.line, 10)+" of this file",
			"if both are real, tell them apart in the column bag; else remove one")
		return nil, nil, nil
	}
	draft := *old
	m.mergeBag(&draft, c)
	w.settleBasis(&draft)
	return &draft, old, nil
}

func (m *merge) contradictsEmptyFrame(c *Clipping) {
	from, err := m.im.provenance(m.importID, m.heldLine)
	if err != nil {
		m.err = err
	}
	m.refuse("component", c.Component.String(), "this bag weighs something, but its frame is called empty ("+from+")",
		"correct the one that is wrong")
}

// checkNeighbours refuses a bag that would be counted twice or cannot be
// added to the frame's other bags of the component.
func (m *merge) checkNeighbours(v *visitRow, c *Clipping, species int64) {
	for _, b := range v.bags {
		if b.component != c.Component || b.blank || c.MissingCell {
			continue
		}
		from := func() string {
			s, err := m.im.provenance(b.importID, b.line)
			if err != nil {
				m.err = err
			}
			return s
		}
		if (b.species == 0) != (species == 0) {
			m.refuse("species", c.Species, "one bag of this component of this frame names a species and another names none ("+from()+")",
				"a total beside its species would count twice: leave out the total, or name the rest as a species of its own")
			return
		}
		if c.HasWeight() && (b.green.Valid || b.dry.Valid) && b.perM2 != c.PerM2 && b.bag != c.Bag {
			m.refuse("", "", "one bag of this component of this frame is weighed per area and another in grams ("+from()+")",
				"give both in the same form")
			return
		}
	}
}

// newBag makes a bag from a row.
func (w *ClippingWriter) newBag(v *visitRow, c *Clipping, species int64) *bagRow {
	b := w.spareBag()
	*b = bagRow{visit: v, component: c.Component, species: species, bag: strings.Clone(c.Bag), form: w.intern(c.GrowthForm),
		perM2: c.PerM2, green: c.GreenG, dry: c.DryG, trace: c.Trace, dm: c.DMPct, basis: w.intern(c.Basis), stage: w.intern(c.Stage),
		status: w.intern(c.Status), note: strings.Clone(c.Note), importID: w.im.id, line: int64(c.Line)}
	w.settleBasis(b)
	return b
}

// spareBag hands out bags from blocks, which costs less than one at a time.
func (w *ClippingWriter) spareBag() *bagRow {
	if len(w.spare) == 0 {
		w.spare = make([]bagRow, 128)
	}
	b := &w.spare[0]
	w.spare = w.spare[1:]
	return b
}

// intern keeps one copy of words that come again and again.
func (w *ClippingWriter) intern(s string) string {
	if s == "" {
		return ""
	}
	if kept, ok := w.words[s]; ok {
		return kept
	}
	s = strings.Clone(s)
	if len(w.words) < 10_000 {
		w.words[s] = s
	}
	return s
}

// settleBasis writes down the ledger's basis where a dry weight or a
// percentage came without one: should the ledger's basis change one day, the
// weight keeps what it meant.
func (w *ClippingWriter) settleBasis(b *bagRow) {
	if b.basis == "" && (b.dry.Valid || b.dm.Valid) {
		b.basis = w.basis
	}
}

// apply takes a frame's draft over. A fresh frame is new to the ledger; one
// that is clipped for the first time may have been estimated before.
func (w *ClippingWriter) apply(o *occasionRef, held, draft *visitRow, fresh, first, changed bool, c *Clipping) {
	for component, p := range draft.plots {
		if p != held.plots[component] && held.hasBags(Component(component)) {
			w.im.touch.rebuild[o.key.site] = true // a held component may stand on another frame type now
		}
	}
	if held.attrs.frameType != draft.attrs.frameType && !first {
		w.im.touch.rebuild[o.key.site] = true
	}
	*held = *draft
	if first && c.Component == NoComponent {
		w.im.Added++
	}
	if fresh {
		o.visits[held.key] = held
		w.newVisits = append(w.newVisits, held)
		return
	}
	for _, p := range held.plots {
		if p != nil && p.dirty {
			w.dirty[held] = true
		}
	}
	if changed {
		held.changed = true
		held.importID, held.line = w.im.id, int64(c.Line)
		w.dirty[held] = true
	}
}

// applyBag takes a bag's draft over.
func (w *ClippingWriter) applyBag(o *occasionRef, v *visitRow, bag, old *bagRow, line int, changed, frameChanged bool) {
	if bag == nil {
		if v.empty || v.sampled != 0 {
			w.noteSpans(o, v, nil)
		}
		if !frameChanged {
			w.im.Identical++
		}
		return
	}
	bag.used, bag.method = w.rules.dryWeight(bag, v.key.transect, v.key.frame, o.ratios)
	before := [3]uint8{v.found, v.recorded, v.ways}
	switch {
	case old == nil:
		v.attach(bag)
		w.newBags = append(w.newBags, bag)
		o.bags++
		w.held++
		w.im.Added++
	case changed:
		bag.importID, bag.line = w.im.id, int64(line)
		*old = *bag
		v.ways = 0
		for _, b := range v.bags {
			v.mark(b)
		}
		w.dirtyBags[old] = true
		if !frameChanged {
			w.im.Changed++
		}
	case frameChanged: // counted with the frame
	default:
		w.im.Identical++
	}
	if v.inserted && before != [3]uint8{v.found, v.recorded, v.ways} {
		w.dirty[v] = true
	}
	w.noteSpans(o, v, bag)
}
