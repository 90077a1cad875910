package schema

import (
	"cmp"
	"database/sql"
	"fmt"
	"slices"
	"strconv"
	"strings"
)

// frameAttrs are what a row may say of how a component of a frame was
// clipped; zero values were not given.
type frameAttrs struct {
	date      string
	frameType int64
	observer  int64
	edgeRule  string
	height    Num
	ungrazed  Num
}

// visitRow is a frame on one occasion with its bags, as held in memory.
type visitRow struct {
	id        int64
	key       frameKey
	since     string // caged_since
	attrs     frameAttrs
	sampled   uint8
	yearGiven bool
	empty     bool
	treatment string
	block     string
	note      string
	plots     [len(componentNames)]*plotRow
	bags      []*bagRow
	importID  int64
	line      int64
	found     uint8
	recorded  uint8
	ways      uint8
	inserted  bool // stands in the ledger already, or in the batch to be inserted
	changed   bool // values changed, not only what is derived
}

// plotRow is where a component differs from its visit.
type plotRow struct {
	attrs       frameAttrs
	framesInBag int64
	importID    int64
	line        int64
	dirty       bool
}

// bagRow is a bag as held in memory.
type bagRow struct {
	visit     *visitRow
	component Component
	species   int64
	bag       string
	form      string
	perM2     bool
	green     Num
	dry       Num
	trace     int
	dm        Num
	basis     string
	stage     string
	status    string
	note      string
	importID  int64
	line      int64
	used      Num
	method    Method
	blank     bool // nothing but a blank cell of a wide row
}

// setBlank settles whether the bag carries neither weight nor status.
func (b *bagRow) setBlank() {
	b.blank = !b.green.Valid && !b.dry.Valid && b.trace == 0 && b.status == ""
}

// plotOf returns what holds for a component of the frame.
func (v *visitRow) plotOf(c Component) plotRow {
	out := plotRow{attrs: v.attrs}
	p := v.plots[c]
	if p == nil {
		return out
	}
	out.framesInBag = p.framesInBag
	fill(&out.attrs.date, p.attrs.date)
	fill(&out.attrs.edgeRule, p.attrs.edgeRule)
	if p.attrs.frameType != 0 {
		out.attrs.frameType = p.attrs.frameType
	}
	if p.attrs.observer != 0 {
		out.attrs.observer = p.attrs.observer
	}
	if p.attrs.height.Valid {
		out.attrs.height = p.attrs.height
	}
	if p.attrs.ungrazed.Valid {
		out.attrs.ungrazed = p.attrs.ungrazed
	}
	return out
}

func fill(dest *string, over string) {
	if over != "" {
		*dest = over
	}
}

// bagOf finds a bag of the frame.
func (v *visitRow) bagOf(c Component, species int64, label string) *bagRow {
	for _, b := range v.bags {
		if b.component == c && b.species == species && b.bag == label {
			return b
		}
	}
	return nil
}

// hasBags tells whether the frame has a bag of the component.
func (v *visitRow) hasBags(c Component) bool { return v.found&c.Bit() != 0 }

// attach adds a bag to its frame.
func (v *visitRow) attach(b *bagRow) {
	b.visit = v
	v.bags = append(v.bags, b)
	v.mark(b)
}

// mark brings the derived masks up to date with a bag.
func (v *visitRow) mark(b *bagRow) {
	b.setBlank()
	v.found |= b.component.Bit()
	if !b.blank {
		v.recorded |= b.component.Bit()
	}
	v.ways |= b.ways()
}

// The bits of visit.ways.
const (
	waySampled uint8 = 1 << iota
	wayAir
	wayOven
	wayUnknown
	wayBookOther
)

// ways are the bits that a bag adds to its frame.
func (b *bagRow) ways() uint8 {
	var w uint8
	switch b.method {
	case SampleOfBag, SamplesOfSpecies, SamplesOfForm, SamplesOfComponent:
		w = waySampled
	case BookValueOtherBasis:
		w = wayBookOther
	}
	switch b.basis {
	case AirDry:
		w |= wayAir
	case OvenDry:
		w |= wayOven
	case UnknownBasis:
		w |= wayUnknown
	}
	return w
}

// load reads all frames and bags of an occasion.
func (w *ClippingWriter) load(o *occasionRef) error {
	if err := w.queue.drain(); err != nil { // what this writer has on its way must be seen
		return err
	}
	frames, err := readFrames(w.im, o.id)
	if err != nil {
		return err
	}
	for _, v := range frames {
		o.visits[v.key] = v
		o.nextSeq = max(o.nextSeq, v.id&maxSeq)
		o.bags += len(v.bags)
		w.held += len(v.bags)
	}
	o.ratios, err = w.im.loadRatios(o.id)
	return err
}

// readFrames reads all frames of an occasion with their bags, in the order of
// their numbers.
func readFrames(q eacher, occasion int64) ([]*visitRow, error) {
	return framesOf(q, []int64{occasion})
}

// eachOccasion is the beginning of a query that takes the rows of a list of
// occasions out of a table whose key begins with visit_id.
const eachOccasion = `FROM json_each(?) AS wanted CROSS JOIN `

var ofOccasion = fmt.Sprintf(` WHERE visit_id BETWEEN wanted.value << 20 AND (wanted.value << 20) + %d`, maxSeq)

// occasionList is a list of occasions as eachOccasion takes it.
func occasionList(occasions []int64) string {
	b := []byte{'['}
	for i, id := range occasions {
		if i > 0 {
			b = append(b, ',')
		}
		b = strconv.AppendInt(b, id, 10)
	}
	return string(append(b, ']'))
}

// framesOf reads the frames of some occasions, listed in ascending order, with
// their bags.
func framesOf(q eacher, occasions []int64) ([]*visitRow, error) {
	wanted := []any{occasionList(occasions)}
	var out []*visitRow
	byID := map[int64]*visitRow{}
	r := newRawRow(22)
	err := q.each(`SELECT visit_id, transect, frame, caged, caged_since, date, year_given, frame_type_id, components_sampled, empty, treatment, block,
		observer_id, edge_rule, clip_height_cm, ungrazed_pct, note, import_id, line, found, recorded, ways
		`+eachOccasion+"visit"+ofOccasion, wanted, func(scan func(...any) error) error {
		if err := r.scan(scan); err != nil {
			return err
		}
		v := r.visit()
		out, byID[v.id] = append(out, v), v
		return r.err
	})
	if err != nil {
		return nil, err
	}
	slices.SortFunc(out, func(a, b *visitRow) int { return cmp.Compare(a.id, b.id) }) // as they come, but nothing promises it
	if err := readPlots(q, byID, wanted); err != nil {
		return nil, err
	}
	return out, readBags(q, byID, wanted)
}

// visit makes a frame of the columns that framesBetween asks for. Go reads them
// in the order in which they stand here.
func (r *rawRow) visit() *visitRow {
	v := &visitRow{inserted: true}
	a := &v.attrs
	v.id, v.key.transect, v.key.frame, v.key.caged = r.whole(), r.text(), r.text(), r.yes()
	v.since, a.date, v.yearGiven = r.text(), r.text(), r.yes()
	a.frameType, v.sampled, v.empty = r.whole(), uint8(r.whole()), r.yes()
	v.treatment, v.block, a.observer = r.text(), r.text(), r.whole()
	a.edgeRule, a.height, a.ungrazed, v.note = r.text(), r.number(), r.number(), r.text()
	v.importID, v.line = r.whole(), r.whole()
	v.found, v.recorded, v.ways = uint8(r.whole()), uint8(r.whole()), uint8(r.whole())
	return v
}

func readPlots(q eacher, byID map[int64]*visitRow, wanted []any) error {
	return q.each(`SELECT visit_id, component, coalesce(frame_type_id,0), coalesce(frames_in_bag,0), coalesce(date,''), coalesce(observer_id,0),
		coalesce(edge_rule,''), clip_height_cm, ungrazed_pct, import_id, line `+eachOccasion+"plot"+ofOccasion,
		wanted, func(scan func(...any) error) error {
			var visit int64
			var c Component
			p := &plotRow{}
			a := &p.attrs
			err := scan(&visit, &c, &a.frameType, &p.framesInBag, &a.date, &a.observer, &a.edgeRule, &a.height, &a.ungrazed, &p.importID, &p.line)
			if err == nil {
				byID[visit].plots[c] = p
			}
			return err
		})
}

// readBags reads bags in the order of their keys.
func readBags(q eacher, byID map[int64]*visitRow, wanted []any) error {
	var at *visitRow
	r := newRawRow(18)
	return q.each(`SELECT visit_id, component, species_id, bag, growth_form, per_m2, green_g, dry_g, trace, dm_pct, basis,
		stage, status, note, import_id, line, used_dry_g, used_method `+eachOccasion+"bag"+ofOccasion,
		wanted, func(scan func(...any) error) error {
			if err := r.scan(scan); err != nil {
				return err
			}
			visit := r.whole()
			b := &bagRow{component: Component(r.whole()), species: r.whole(), bag: r.text(), form: r.text(), perM2: r.yes(), green: r.number(), dry: r.number(),
				trace: int(r.whole()), dm: r.number(), basis: r.text(), stage: r.text(), status: r.text(), note: r.text(), importID: r.whole(), line: r.whole(),
				used: r.number(), method: Method(r.whole())}
			if r.err != nil {
				return r.err
			}
			if at == nil || at.id != visit {
				at = byID[visit]
			}
			at.attach(b)
			return nil
		})
}

// newVisit makes a frame of an occasion.
func (w *ClippingWriter) newVisit(o *occasionRef, k frameKey, line int) (*visitRow, error) {
	if o.nextSeq >= maxSeq {
		return nil, fmt.Errorf("one occasion cannot hold more than %d frames", maxSeq)
	}
	o.nextSeq++
	k.transect, k.frame = strings.Clone(k.transect), strings.Clone(k.frame)
	return &visitRow{id: o.id<<20 + o.nextSeq, key: k, importID: w.im.id, line: int64(line)}, nil
}

func nullText(s string) sql.NullString { return sql.NullString{String: s, Valid: s != ""} }

func bit(b bool) int64 {
	if b {
		return 1
	}
	return 0
}
