package schema

import (
	"database/sql"
	"fmt"
	"strings"
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

// rowsPerInsert is how many rows one INSERT takes: 200 was measured to be
// past the knee of the curve.
const rowsPerInsert = 200

const visitColumns = `visit_id,transect,frame,caged,caged_since,date,year_given,frame_type_id,components_sampled,empty,
	treatment,block,observer_id,edge_rule,clip_height_cm,ungrazed_pct,note,import_id,line,found,recorded`

func (v *visitRow) args(out []any) []any {
	a := &v.attrs
	return append(out, v.id, v.key.transect, v.key.frame, bit(v.key.caged), nullText(v.since), nullText(a.date), bit(v.yearGiven),
		nullID(a.frameType), nullID(int64(v.sampled)), bit(v.empty), nullText(v.treatment), nullText(v.block), nullID(a.observer),
		nullText(a.edgeRule), a.height, a.ungrazed, nullText(v.note), v.importID, v.line, int64(v.found), int64(v.recorded))
}

const bagColumns = `visit_id,component,species_id,bag,growth_form,per_m2,green_g,dry_g,trace,dm_pct,basis,stage,status,note,
	import_id,line,used_dry_g,used_method`

func (b *bagRow) args(out []any) []any {
	return append(out, b.visit.id, int64(b.component), b.species, b.bag, nullText(b.form), bit(b.perM2), b.green, b.dry, int64(b.trace), b.dm,
		nullText(b.basis), nullText(b.stage), nullText(b.status), nullText(b.note), b.importID, b.line, b.used, int64(b.method))
}

// flush writes what the batch gathered: new frames, new bags, then changes.
func (w *ClippingWriter) flush() error {
	err := insertRows(w.im.Tx, "visit", visitColumns, w.newVisits, (*visitRow).args)
	if err != nil {
		return err
	}
	for _, v := range w.newVisits {
		v.inserted = true
		if err := w.savePlots(v); err != nil {
			return err
		}
	}
	if err := insertRows(w.im.Tx, "bag", bagColumns, w.newBags, (*bagRow).args); err != nil {
		return err
	}
	for v := range w.dirty {
		if err := w.updateVisit(v); err != nil {
			return err
		}
	}
	for b := range w.dirtyBags {
		if err := w.updateBag(b); err != nil {
			return err
		}
	}
	w.newVisits, w.newBags = w.newVisits[:0], w.newBags[:0]
	clear(w.dirty)
	clear(w.dirtyBags)
	return nil
}

// insertRows inserts rows, many at a time.
func insertRows[T any](t *Tx, table, columns string, rows []T, args func(T, []any) []any) error {
	width := strings.Count(columns, ",") + 1
	one := "(" + strings.Repeat("?,", width-1) + "?)"
	many := fmt.Sprintf("INSERT INTO %s(%s) VALUES %s%s", table, columns, strings.Repeat(one+",", rowsPerInsert-1), one)
	single := fmt.Sprintf("INSERT INTO %s(%s) VALUES %s", table, columns, one)
	values := make([]any, 0, width*rowsPerInsert)
	for len(rows) > 0 {
		query, n := single, 1
		if len(rows) >= rowsPerInsert {
			query, n = many, rowsPerInsert
		}
		values = values[:0]
		for _, r := range rows[:n] {
			values = args(r, values)
		}
		if err := t.exec(query, values...); err != nil {
			return err
		}
		rows = rows[n:]
	}
	return nil
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
		a := &p.attrs
		frames := sql.NullInt64{Int64: p.framesInBag, Valid: p.framesInBag != 0}
		err := w.im.exec(`INSERT INTO plot(visit_id,component,frame_type_id,frames_in_bag,date,observer_id,edge_rule,clip_height_cm,ungrazed_pct,import_id,line)
			VALUES(?,?,?,?,?,?,?,?,?,?,?) ON CONFLICT DO UPDATE SET frame_type_id=excluded.frame_type_id, frames_in_bag=excluded.frames_in_bag,
			date=excluded.date, observer_id=excluded.observer_id, edge_rule=excluded.edge_rule, clip_height_cm=excluded.clip_height_cm,
			ungrazed_pct=excluded.ungrazed_pct, import_id=excluded.import_id, line=excluded.line`,
			v.id, int64(c), nullID(a.frameType), frames, nullText(a.date), nullID(a.observer), nullText(a.edgeRule), a.height, a.ungrazed, p.importID, p.line)
		if err != nil {
			return err
		}
		p.stored, p.dirty = true, false
	}
	return nil
}

// updateVisit writes a frame that changed. Where only what is derived
// changed, no history is made.
func (w *ClippingWriter) updateVisit(v *visitRow) error {
	if !v.changed {
		return w.im.exec(`UPDATE visit SET found=?, recorded=? WHERE visit_id=?`, int64(v.found), int64(v.recorded), v.id)
	}
	v.changed = false
	a := &v.attrs
	err := w.im.exec(`UPDATE visit SET caged_since=?, date=?, year_given=?, frame_type_id=?, components_sampled=?, empty=?, treatment=?, block=?,
		observer_id=?, edge_rule=?, clip_height_cm=?, ungrazed_pct=?, note=?, import_id=?, line=?, found=?, recorded=? WHERE visit_id=?`,
		nullText(v.since), nullText(a.date), bit(v.yearGiven), nullID(a.frameType), nullID(int64(v.sampled)), bit(v.empty), nullText(v.treatment),
		nullText(v.block), nullID(a.observer), nullText(a.edgeRule), a.height, a.ungrazed, nullText(v.note), v.importID, v.line,
		int64(v.found), int64(v.recorded), v.id)
	if err != nil {
		return err
	}
	return w.savePlots(v)
}

func (w *ClippingWriter) updateBag(b *bagRow) error {
	return w.im.exec(`UPDATE bag SET growth_form=?, per_m2=?, green_g=?, dry_g=?, trace=?, dm_pct=?, basis=?, stage=?, status=?, note=?,
		import_id=?, line=?, used_dry_g=?, used_method=? WHERE visit_id=? AND component=? AND species_id=? AND bag=?`,
		nullText(b.form), bit(b.perM2), b.green, b.dry, int64(b.trace), b.dm, nullText(b.basis), nullText(b.stage), nullText(b.status), nullText(b.note),
		b.importID, b.line, b.used, int64(b.method), b.visit.id, int64(b.component), b.species, b.bag)
}
