package schema

import (
	"cmp"
	"fmt"
	"maps"
	"slices"
	"strings"
)

// placedOccasion is an occasion of this ledger that frames of another come to.
type placedOccasion struct {
	key     occasionKey
	id      int64 // 0 as long as it is not made
	nextSeq int64
	visits  map[frameKey]*visitRow
	taken   map[frameKey]bool // frames that the other ledger had a say on already
	touched bool
}

// frames merges frames, what differs by component, and bags.
func (m *ledgerMerge) frames() error {
	type site struct {
		id   int64
		code string
	}
	var sites []site
	err := m.from.each(`SELECT site_id, site FROM site ORDER BY site`, nil, func(scan func(...any) error) error {
		var s site
		err := scan(&s.id, &s.code)
		sites = append(sites, s)
		return err
	})
	for _, s := range sites {
		if err == nil {
			err = m.framesOf(s.id, m.Prefix+s.code)
		}
	}
	m.place = ""
	return err
}

// framesOf merges the frames of one site.
func (m *ledgerMerge) framesOf(site int64, code string) error {
	ours := m.sites[site]
	var startMonth int
	if _, err := m.t.queryRow(`SELECT coalesce(year_start_month,1) FROM site WHERE site_id=?`, []any{ours}, &startMonth); err != nil {
		return err
	}
	var list []OccasionRecord
	err := m.from.each(`SELECT occasion_id, growth_year, season FROM occasion WHERE site_id=? ORDER BY growth_year, season`, []any{site}, func(scan func(...any) error) error {
		var o OccasionRecord
		err := scan(&o.ID, &o.Year, &o.Season)
		list = append(list, o)
		return err
	})
	if err != nil {
		return err
	}
	places := map[occasionKey]*placedOccasion{}
	for _, theirs := range list {
		visits, err := readFrames(m.from, theirs.ID)
		if err != nil {
			return err
		}
		for _, v := range visits {
			if v.bare() && v.parts() == nil {
				continue // it comes with its estimates
			}
			k := occasionKey{ours, theirs.Year, theirs.Season}
			if v.attrs.date != "" && !v.yearGiven {
				if k.year, err = GrowthYear(v.attrs.date, startMonth); err != nil {
					return err
				}
			}
			m.place = fmt.Sprintf("site %s %d %s, transect %s, frame %s", code, k.year, k.season, v.key.transect, v.key.frame)
			if err := m.placeFrame(places, k, v); err != nil {
				return err
			}
		}
	}
	m.settlePlaces(places)
	return nil
}

// settlePlaces marks what must be settled of the occasions that changed.
func (m *ledgerMerge) settlePlaces(places map[occasionKey]*placedOccasion) {
	for _, o := range slices.SortedFunc(maps.Values(places), func(a, b *placedOccasion) int { return cmp.Compare(a.id, b.id) }) {
		if !o.touched {
			continue
		}
		m.t.touch.drying[o.id] = true
		m.t.touch.sites[o.key.site], m.t.touch.rebuild[o.key.site] = true, true
	}
}

// remark brings what is derived of a frame up to date with its bags, whose
// dry weights are settled later.
func (v *visitRow) remark() {
	v.found, v.recorded, v.ways = 0, 0, 0
	for _, b := range v.bags {
		v.mark(b)
	}
}

// placeFrame merges one frame into its occasion.
func (m *ledgerMerge) placeFrame(places map[occasionKey]*placedOccasion, k occasionKey, v *visitRow) error {
	o := places[k]
	if o == nil {
		o = &placedOccasion{key: k, visits: map[frameKey]*visitRow{}, taken: map[frameKey]bool{}}
		places[k] = o
		found, err := m.t.queryRow(`SELECT occasion_id FROM occasion WHERE site_id=? AND growth_year=? AND season=?`, []any{k.site, k.year, k.season}, &o.id)
		if err != nil {
			return err
		}
		if found {
			visits, err := readFrames(m.t, o.id)
			if err != nil {
				return err
			}
			for _, h := range visits {
				o.visits[h.key] = h
				o.nextSeq = h.id & maxSeq
			}
		}
	}
	im, err := m.as(v.importID)
	if err != nil {
		return err
	}
	if err := m.translate(im, v); err != nil {
		return err
	}
	if o.taken[v.key] {
		im.refuse(int(v.line), "frame", v.key.frame, "the month in which the year starts here would bring two records of this frame into one growth year",
			"give those rows their growth year in the other ledger first")
		return nil
	}
	o.taken[v.key] = true
	if held := o.visits[v.key]; held != nil {
		return m.joinFrame(o, held, v)
	}
	return m.insertFrame(im, o, v)
}

// translate turns the numbers of frame types, observers and species into ours.
func (m *ledgerMerge) translate(im *Import, v *visitRow) error {
	all := []*frameAttrs{&v.attrs}
	for _, p := range v.plots {
		if p != nil {
			all = append(all, &p.attrs)
		}
	}
	var err error
	for _, a := range all {
		if a.frameType != 0 {
			if a.frameType, err = im.frameTypeID(m.types[a.frameType], int(v.line)); err != nil {
				return err
			}
		}
		if a.observer != 0 {
			if a.observer, err = im.observerID(m.people[a.observer]); err != nil {
				return err
			}
		}
	}
	for _, b := range v.bags {
		b.species = m.species[b.species]
		b.used, b.method = Num{}, MethodNone
	}
	return nil
}

// insertFrame takes a frame that this ledger does not have, as it is.
func (m *ledgerMerge) insertFrame(im *Import, o *placedOccasion, v *visitRow) error {
	if o.id == 0 {
		var err error
		if o.id, _, err = im.occasionID(o.key); err != nil {
			return err
		}
	}
	if o.nextSeq >= maxSeq {
		return fmt.Errorf("one occasion cannot hold more than %d frames", maxSeq)
	}
	o.nextSeq++
	v.id = o.id<<20 + o.nextSeq
	o.visits[v.key] = v
	o.touched, m.wrote[im.id] = true, true
	if len(v.bags) == 0 {
		im.Added++
	}
	v.remark()
	if err := putRow(im, "visit", visitColumns, v); err != nil {
		return err
	}
	for _, c := range v.parts() {
		if p := v.plots[c]; p != nil {
			if err := m.putPlot(v, c, p, p.importID, p.line); err != nil {
				return err
			}
		}
	}
	for _, b := range v.bags {
		if err := m.insertBag(b); err != nil {
			return err
		}
	}
	return nil
}

func (m *ledgerMerge) insertBag(b *bagRow) error {
	im, err := m.as(b.importID)
	if err != nil {
		return err
	}
	im.Added++
	b.importID = im.id
	return putRow(im, "bag", bagColumns, b)
}

// putPlot writes what differs for a component of a frame.
func (m *ledgerMerge) putPlot(v *visitRow, c Component, p *plotRow, theirs, line int64) error {
	im, err := m.as(theirs)
	if err != nil {
		return err
	}
	p.importID, p.line = im.id, line
	m.wrote[im.id] = true
	return im.exec(plotUpsert, plotArgs(v.id, c, p)...)
}

// putRow inserts one row.
func putRow[T any](im *Import, table string, columns []insertColumn[T], row *T) error {
	names, values := make([]string, len(columns)), make([]any, len(columns), len(columns)+1)
	for i, c := range columns {
		names[i], values[i] = c.name, c.stored(row)
	}
	query := fmt.Sprintf("INSERT INTO %s(%s,import_id) VALUES(%s?)", table, strings.Join(names, ","), strings.Repeat("?,", len(names)))
	return im.exec(query, append(values, im.id)...)
}

// setRow writes the values of a row that is there, found by its keys.
func setRow[T any](im *Import, table string, keys []string, columns []insertColumn[T], row *T) error {
	var sets, finds []string
	var values, keyValues []any
	for _, c := range columns {
		if slices.Contains(keys, c.name) {
			finds, keyValues = append(finds, c.name+"=?"), append(keyValues, c.stored(row))
		} else {
			sets, values = append(sets, c.name+"=?"), append(values, c.stored(row))
		}
	}
	query := fmt.Sprintf("UPDATE %s SET %s,import_id=? WHERE %s", table, strings.Join(sets, ","), strings.Join(finds, " AND "))
	return im.exec(query, append(append(values, im.id), keyValues...)...)
}

// stored is the value of a row's column, its default where the row has none.
func (c insertColumn[T]) stored(row *T) any {
	switch v := c.value(row); {
	case v != nil:
		return v
	case c.plain == "0":
		return int64(0)
	case c.plain == "''":
		return ""
	}
	return nil
}
