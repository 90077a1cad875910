package schema

import (
	"cmp"
	"maps"
	"slices"
)

// seenType remembers, within an occasion, that a component was noted on a
// frame type already.
type seenType struct {
	component Component
	frameType int64
}

// noteSpans remembers what was recorded on which frame type.
func (w *ClippingWriter) noteSpans(o *occasionRef, v *visitRow, b *bagRow) {
	w.noteType(o, NoComponent, v.attrs.frameType)
	if b == nil || b.blank {
		return
	}
	frameType := v.plotOf(b.component).attrs.frameType
	w.noteType(o, b.component, frameType)
	if frameType != v.attrs.frameType {
		w.im.notePair(o.key.site, o.key.season, frameType, v.attrs.frameType)
	}
}

func (w *ClippingWriter) noteType(o *occasionRef, c Component, frameType int64) {
	s := seenType{c, frameType}
	for _, have := range o.seen {
		if have == s {
			return
		}
	}
	o.seen = append(o.seen, s)
	w.im.noteSpan(spanKey{o.key.site, o.key.season, c, frameType}, o.key.year)
}

var visitColumns = []insertColumn[visitRow]{
	{"visit_id", func(v *visitRow) any { return v.id }, ""},
	{"transect", func(v *visitRow) any { return v.key.transect }, ""},
	{"frame", func(v *visitRow) any { return v.key.frame }, ""},
	{"caged", func(v *visitRow) any { return orNil(bit(v.key.caged)) }, "0"},
	{"caged_since", func(v *visitRow) any { return textOrNil(v.since) }, ""},
	{"date", func(v *visitRow) any { return textOrNil(v.attrs.date) }, ""},
	{"year_given", func(v *visitRow) any { return orNil(bit(v.yearGiven)) }, "0"},
	{"frame_type_id", func(v *visitRow) any { return orNil(v.attrs.frameType) }, ""},
	{"components_sampled", func(v *visitRow) any { return orNil(int64(v.sampled)) }, ""},
	{"empty", func(v *visitRow) any { return orNil(bit(v.empty)) }, "0"},
	{"treatment", func(v *visitRow) any { return textOrNil(v.treatment) }, ""},
	{"block", func(v *visitRow) any { return textOrNil(v.block) }, ""},
	{"observer_id", func(v *visitRow) any { return orNil(v.attrs.observer) }, ""},
	{"edge_rule", func(v *visitRow) any { return textOrNil(v.attrs.edgeRule) }, ""},
	{"clip_height_cm", func(v *visitRow) any { return numOrNil(v.attrs.height) }, ""},
	{"ungrazed_pct", func(v *visitRow) any { return numOrNil(v.attrs.ungrazed) }, ""},
	{"note", func(v *visitRow) any { return textOrNil(v.note) }, ""},
	{"line", func(v *visitRow) any { return v.line }, ""},
	{"found", func(v *visitRow) any { return orNil(int64(v.found)) }, "0"},
	{"recorded", func(v *visitRow) any { return orNil(int64(v.recorded)) }, "0"},
	{"ways", func(v *visitRow) any { return orNil(int64(v.ways)) }, "0"},
}

var bagColumns = []insertColumn[bagRow]{
	{"visit_id", func(b *bagRow) any { return b.visit.id }, ""},
	{"component", func(b *bagRow) any { return int64(b.component) }, ""},
	{"species_id", func(b *bagRow) any { return b.species }, ""},
	{"bag", func(b *bagRow) any { return textOrNil(b.bag) }, "''"},
	{"growth_form", func(b *bagRow) any { return textOrNil(b.form) }, ""},
	{"per_m2", func(b *bagRow) any { return orNil(bit(b.perM2)) }, "0"},
	{"green_g", func(b *bagRow) any { return numOrNil(b.green) }, ""},
	{"dry_g", func(b *bagRow) any { return numOrNil(b.dry) }, ""},
	{"trace", func(b *bagRow) any { return orNil(int64(b.trace)) }, "0"},
	{"dm_pct", func(b *bagRow) any { return numOrNil(b.dm) }, ""},
	{"basis", func(b *bagRow) any { return textOrNil(b.basis) }, ""},
	{"stage", func(b *bagRow) any { return textOrNil(b.stage) }, ""},
	{"status", func(b *bagRow) any { return textOrNil(b.status) }, ""},
	{"note", func(b *bagRow) any { return textOrNil(b.note) }, ""},
	{"line", func(b *bagRow) any { return b.line }, ""},
	{"used_dry_g", func(b *bagRow) any { return numOrNil(b.used) }, ""},
	{"used_method", func(b *bagRow) any { return orNil(int64(b.method)) }, "0"},
}

// flush writes what the batch gathered: new frames, new bags, then changes.
func (w *ClippingWriter) flush() error {
	if err := w.occasionRows.insert(slices.Clone(w.newOccasions), w.im.id); err != nil {
		return err
	}
	if err := w.visitRows.insert(copies(w.newVisits), w.im.id); err != nil {
		return err
	}
	for _, v := range w.newVisits {
		v.inserted = true
		if err := w.savePlots(v); err != nil {
			return err
		}
	}
	if err := w.bagRows.insert(copies(w.newBags), w.im.id); err != nil {
		return err
	}
	for _, v := range slices.SortedFunc(maps.Keys(w.dirty), func(a, b *visitRow) int { return cmp.Compare(a.id, b.id) }) {
		if err := w.updateVisit(v); err != nil {
			return err
		}
	}
	for _, b := range slices.SortedFunc(maps.Keys(w.dirtyBags), compareBags) {
		if err := w.updateBag(b); err != nil {
			return err
		}
	}
	w.newOccasions, w.newVisits, w.newBags = w.newOccasions[:0], w.newVisits[:0], w.newBags[:0]
	clear(w.dirty)
	clear(w.dirtyBags)
	return nil
}

// compareBags is the order of the table.
func compareBags(a, b *bagRow) int {
	return cmp.Or(cmp.Compare(a.visit.id, b.visit.id), cmp.Compare(a.component, b.component), cmp.Compare(a.species, b.species), cmp.Compare(a.bag, b.bag))
}

// copies takes the rows as they are now: the queue reads them while the next
// batch may change what is held.
func copies[T any](rows []*T) []T {
	out := make([]T, len(rows))
	for i, r := range rows {
		out[i] = *r
	}
	return out
}

func orNil(n int64) any {
	if n == 0 {
		return nil
	}
	return n
}

func textOrNil(s string) any {
	if s == "" {
		return nil
	}
	return s
}

func numOrNil(n Num) any {
	if !n.Valid {
		return nil
	}
	return n.Float64
}

// plotUpsert writes the row of a component that differs from its frame.
const plotUpsert = `INSERT INTO plot(visit_id,component,frame_type_id,frames_in_bag,date,observer_id,edge_rule,clip_height_cm,ungrazed_pct,import_id,line)
	VALUES(?,?,?,?,?,?,?,?,?,?,?) ON CONFLICT DO UPDATE SET frame_type_id=excluded.frame_type_id, frames_in_bag=excluded.frames_in_bag,
	date=excluded.date, observer_id=excluded.observer_id, edge_rule=excluded.edge_rule, clip_height_cm=excluded.clip_height_cm,
	ungrazed_pct=excluded.ungrazed_pct, import_id=excluded.import_id, line=excluded.line`

func plotArgs(visit int64, c Component, p *plotRow) []any {
	a := &p.attrs
	return []any{visit, int64(c), nullID(a.frameType), nullID(p.framesInBag), nullText(a.date), nullID(a.observer), nullText(a.edgeRule),
		a.height, a.ungrazed, p.importID, p.line}
}

// savePlots writes the components that differ from their frame.
func (w *ClippingWriter) savePlots(v *visitRow) error {
	for c, p := range v.plots {
		if p == nil || !p.dirty {
			continue
		}
		p.importID, p.line = w.im.id, v.line
		for _, b := range v.bags {
			if b.component == Component(c) && b.importID == w.im.id {
				p.line = b.line
			}
		}
		err := w.queue.exec(plotUpsert, plotArgs(v.id, Component(c), p)...)
		if err != nil {
			return err
		}
		p.dirty = false
	}
	return nil
}

// updateVisit writes a frame that changed. Where only what is derived
// changed, no history is made.
func (w *ClippingWriter) updateVisit(v *visitRow) error {
	if !v.changed {
		if err := w.savePlots(v); err != nil {
			return err
		}
		return w.queue.exec(`UPDATE visit SET found=?, recorded=?, ways=? WHERE visit_id=?`, int64(v.found), int64(v.recorded), int64(v.ways), v.id)
	}
	v.changed = false
	a := &v.attrs
	err := w.queue.exec(`UPDATE visit SET caged_since=?, date=?, year_given=?, frame_type_id=?, components_sampled=?, empty=?, treatment=?, block=?,
		observer_id=?, edge_rule=?, clip_height_cm=?, ungrazed_pct=?, note=?, import_id=?, line=?, found=?, recorded=?, ways=? WHERE visit_id=?`,
		nullText(v.since), nullText(a.date), bit(v.yearGiven), nullID(a.frameType), nullID(int64(v.sampled)), bit(v.empty), nullText(v.treatment),
		nullText(v.block), nullID(a.observer), nullText(a.edgeRule), a.height, a.ungrazed, nullText(v.note), v.importID, v.line,
		int64(v.found), int64(v.recorded), int64(v.ways), v.id)
	if err != nil {
		return err
	}
	return w.savePlots(v)
}

func (w *ClippingWriter) updateBag(b *bagRow) error {
	return w.queue.exec(`UPDATE bag SET growth_form=?, per_m2=?, green_g=?, dry_g=?, trace=?, dm_pct=?, basis=?, stage=?, status=?, note=?,
		import_id=?, line=?, used_dry_g=?, used_method=? WHERE visit_id=? AND component=? AND species_id=? AND bag=?`,
		nullText(b.form), bit(b.perM2), b.green, b.dry, int64(b.trace), b.dm, nullText(b.basis), nullText(b.stage), nullText(b.status), nullText(b.note),
		b.importID, b.line, b.used, int64(b.method), b.visit.id, int64(b.component), b.species, b.bag)
}
