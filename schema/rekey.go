package schema

import "strconv"

// rekey moves the dated records of a site to the growth years that a new
// first month of the year gives them. A growth year that a row named itself
// stays. Two records that would come to share a key refuse the change.
func (im *Import) rekey(site int64, s Site, startMonth int) error {
	if err := im.exec(`PRAGMA defer_foreign_keys=ON`); err != nil {
		return err
	}
	moves, err := im.moves(site, startMonth)
	if err != nil {
		return err
	}
	for _, m := range moves {
		clash, err := im.move(m)
		if err != nil {
			return err
		}
		if clash {
			im.refuse(s.Line, "year_start_month", strconv.Itoa(startMonth), "the change would bring two records of the frame "+m.frame+" into the growth year "+strconv.Itoa(m.to.year),
				"give those rows their growth year in a year column first")
			return nil
		}
	}
	im.touch.rebuild[site] = true
	return im.rekeyDrying(site, startMonth)
}

// frameMove is a frame on its way to another growth year.
type frameMove struct {
	visit int64
	frame string
	to    occasionKey
}

// moves lists the frames that change their growth year, those that free a
// place before those that take it.
func (im *Import) moves(site int64, startMonth int) ([]frameMove, error) {
	var out []frameMove
	err := im.each(`SELECT v.visit_id, v.frame, v.date, o.growth_year, o.season FROM visit v JOIN occasion o ON o.occasion_id = v.occasion_id
		WHERE o.site_id=? AND v.date IS NOT NULL AND NOT v.year_given ORDER BY o.growth_year DESC`, []any{site}, func(scan func(...any) error) error {
		m := frameMove{to: occasionKey{site: site}}
		var date string
		var from int
		if err := scan(&m.visit, &m.frame, &date, &from, &m.to.season); err != nil {
			return err
		}
		var err error
		if m.to.year, err = GrowthYear(date, startMonth); err == nil && m.to.year != from {
			out = append(out, m)
		}
		return err
	})
	if len(out) > 0 && out[0].to.year < mustYear(im, out[0].visit) {
		for i, j := 0, len(out)-1; i < j; i, j = i+1, j-1 {
			out[i], out[j] = out[j], out[i]
		}
	}
	return out, err
}

// mustYear is the growth year a frame stands in now; 0 where it is unknown.
func mustYear(im *Import, visit int64) int {
	var year int
	if _, err := im.queryRow(`SELECT growth_year FROM occasion WHERE occasion_id=?`, []any{visit >> 20}, &year); err != nil {
		return 0
	}
	return year
}

// move gives a frame, its plots, bags and estimates a place in another
// occasion. It tells whether the place was taken.
func (im *Import) move(m frameMove) (clash bool, err error) {
	occasion, _, err := im.occasionID(m.to)
	if err != nil {
		return false, err
	}
	taken, err := im.queryRow(`SELECT 1 FROM visit w JOIN visit v ON v.visit_id=? WHERE w.occasion_id=? AND w.transect=v.transect AND w.frame=v.frame AND w.caged=v.caged`,
		[]any{m.visit, occasion}, new(int))
	if err != nil || taken {
		return taken, err
	}
	var last int64
	if _, err := im.queryRow(`SELECT coalesce(max(visit_id), ?) FROM visit WHERE visit_id BETWEEN ? AND ?`,
		[]any{occasion << 20, occasion << 20, occasion<<20 + maxSeq}, &last); err != nil {
		return false, err
	}
	for _, q := range []string{`UPDATE visit SET visit_id=? WHERE visit_id=?`, `UPDATE plot SET visit_id=? WHERE visit_id=?`,
		`UPDATE bag SET visit_id=? WHERE visit_id=?`, `UPDATE estimate SET visit_id=? WHERE visit_id=?`} {
		if err := im.exec(q, last+1, m.visit); err != nil {
			return false, err
		}
	}
	im.touch.drying[occasion], im.touch.drying[m.visit>>20] = true, true
	return false, nil
}

// rekeyDrying moves the dated drying samples of a site.
func (im *Import) rekeyDrying(site int64, startMonth int) error {
	type sample struct {
		from int64
		date string
		key  occasionKey
	}
	var list []sample
	err := im.each(`SELECT DISTINCT d.occasion_id, d.date, o.growth_year, o.season FROM drying d JOIN occasion o USING(occasion_id)
		WHERE o.site_id=? AND d.date IS NOT NULL AND NOT d.year_given`, []any{site}, func(scan func(...any) error) error {
		var s sample
		var from int
		if err := scan(&s.from, &s.date, &from, &s.key.season); err != nil {
			return err
		}
		s.key.site = site
		var err error
		if s.key.year, err = GrowthYear(s.date, startMonth); err == nil && s.key.year != from {
			list = append(list, s)
		}
		return err
	})
	if err != nil {
		return err
	}
	for _, s := range list {
		to, _, err := im.occasionID(s.key)
		if err != nil {
			return err
		}
		if err := im.exec(`UPDATE drying SET occasion_id=? WHERE occasion_id=? AND date=? AND NOT year_given`, to, s.from, s.date); err != nil {
			return err
		}
		im.touch.drying[to], im.touch.drying[s.from] = true, true
	}
	return nil
}
