package schema

import (
	"slices"
	"strconv"
)

// rekey moves the dated records of a site to the growth years that a new
// first month of the year gives them. A growth year that a row named itself
// stays. Two records that would come to share a key refuse the change.
func (im *Import) rekey(site int64, s Site, startMonth int) error {
	if err := im.exec(`PRAGMA defer_foreign_keys=ON`); err != nil {
		return err
	}
	moves, parted, err := im.moves(site, startMonth)
	if err != nil {
		return err
	}
	refuse := func(frame string, year int) error {
		im.refuse(s.Line, "year_start_month", strconv.Itoa(startMonth), "the change would bring two records of the frame "+frame+" into the growth year "+strconv.Itoa(year),
			"give those rows their growth year in a year column first")
		return nil
	}
	places := map[int64]int64{}
	for _, m := range moves {
		place, clash, err := im.move(m)
		if err != nil {
			return err
		}
		if clash {
			return refuse(m.frame, m.to.year)
		}
		places[m.visit] = place
	}
	for _, m := range parted {
		if place, moved := places[m.visit]; moved {
			m.visit = place
		}
		clash, err := im.part(m, s.Line)
		if err != nil {
			return err
		}
		if clash {
			return refuse(m.key.frame, m.to.year)
		}
	}
	im.touch.rebuild[site] = true
	return im.rekeyDrying(site, startMonth)
}

// frameMove is a frame on its way to another growth year.
type frameMove struct {
	visit int64
	frame string
	bare  bool // it was estimated and not clipped
	to    occasionKey
}

// estimateMove is the estimates of a frame that part from it: those of one
// day, or those that name their year.
type estimateMove struct {
	visit int64
	key   frameKey
	date  string
	given bool
	to    occasionKey
}

// moves lists the frames that change their growth year, those that free a
// place before those that take it, and the estimates that part from theirs.
func (im *Import) moves(site int64, startMonth int) (frames []frameMove, parted []estimateMove, err error) {
	estimated, err := im.estimatedYears(site, startMonth)
	if err != nil {
		return nil, nil, err
	}
	err = im.each(`SELECT v.visit_id, v.transect, v.frame, v.caged, coalesce(v.date, ''), v.year_given, `+bareVisit+`, o.growth_year, o.season
		FROM visit v JOIN occasion o ON o.occasion_id = v.occasion_id WHERE o.site_id=? ORDER BY o.growth_year DESC`, []any{site}, func(scan func(...any) error) error {
		m := frameMove{to: occasionKey{site: site}}
		var k frameKey
		var date string
		var given bool
		var from int
		if err := scan(&m.visit, &k.transect, &k.frame, &k.caged, &date, &given, &m.bare, &from, &m.to.season); err != nil {
			return err
		}
		m.frame, m.to.year = k.frame, from
		if date != "" && !given {
			if year, err := GrowthYear(date, startMonth); err == nil {
				m.to.year = year
			}
		}
		list := estimated[m.visit]
		if m.bare && len(list) > 0 {
			m.to.year = list[0].to.year
		}
		for _, e := range list {
			if e.to.year != m.to.year {
				e.visit, e.key, e.to.site, e.to.season = m.visit, k, site, m.to.season
				parted = append(parted, e)
			}
		}
		if m.to.year != from {
			frames = append(frames, m)
		}
		return nil
	})
	if len(frames) > 0 && frames[0].to.year < mustYear(im, frames[0].visit) {
		slices.Reverse(frames)
		slices.Reverse(parted)
	}
	return frames, parted, err
}

// estimatedYears are the growth years that the estimates of each frame of a
// site come to.
func (im *Import) estimatedYears(site int64, startMonth int) (map[int64][]estimateMove, error) {
	out := map[int64][]estimateMove{}
	return out, im.each(`SELECT DISTINCT e.visit_id, coalesce(e.date, ''), e.year_given, o.growth_year FROM estimate e JOIN visit v ON v.visit_id = e.visit_id
		JOIN occasion o ON o.occasion_id = v.occasion_id WHERE o.site_id=? ORDER BY 1, 2, 3`, []any{site}, func(scan func(...any) error) error {
		var m estimateMove
		err := scan(&m.visit, &m.date, &m.given, &m.to.year)
		if m.date != "" && !m.given && err == nil {
			m.to.year, err = GrowthYear(m.date, startMonth)
		}
		out[m.visit] = append(out[m.visit], m)
		return err
	})
}

// part gives estimates that do not move with their frame a place of their own.
// It tells whether one is there already.
func (im *Import) part(m estimateMove, line int) (clash bool, err error) {
	to, err := im.visitID(m.to, m.key, line)
	if err != nil {
		return false, err
	}
	clash, err = im.queryRow(`SELECT 1 FROM estimate a JOIN estimate b ON b.visit_id=? AND b.component=a.component AND b.species_id=a.species_id
		AND b.observer_id=a.observer_id AND b.state=a.state WHERE a.visit_id=? AND coalesce(a.date, '')=? AND a.year_given=?`,
		[]any{to, m.visit, m.date, m.given}, new(int))
	if err != nil || clash {
		return clash, err
	}
	return false, im.exec(`UPDATE estimate SET visit_id=? WHERE visit_id=? AND coalesce(date, '')=? AND year_given=?`, to, m.visit, m.date, m.given)
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
// occasion, and returns its number there. It tells whether the place was
// taken: that a frame was estimated there, and not clipped, or only estimated
// here, takes none.
func (im *Import) move(m frameMove) (place int64, clash bool, err error) {
	occasion, _, err := im.occasionID(m.to)
	if err != nil {
		return 0, false, err
	}
	im.touch.drying[occasion], im.touch.drying[m.visit>>20] = true, true
	var there int64
	var bare bool
	taken, err := im.queryRow(`SELECT v.visit_id, `+bareVisit+` FROM visit v JOIN visit w ON w.visit_id=? WHERE v.occasion_id=? AND v.transect=w.transect AND v.frame=w.frame AND v.caged=w.caged`,
		[]any{m.visit, occasion}, &there, &bare)
	switch {
	case err != nil:
		return 0, false, err
	case taken && m.bare:
		clash, err := im.joinEstimates(m.visit, there)
		return there, clash, err
	case taken && !bare:
		return 0, true, nil
	case taken:
		if clash, err := im.joinEstimates(there, m.visit); clash || err != nil {
			return 0, clash, err
		}
	}
	free, err := im.freeVisit(occasion)
	if err != nil {
		return 0, false, err
	}
	for _, q := range []string{`UPDATE visit SET visit_id=? WHERE visit_id=?`, `UPDATE plot SET visit_id=? WHERE visit_id=?`,
		`UPDATE bag SET visit_id=? WHERE visit_id=?`, `UPDATE estimate SET visit_id=? WHERE visit_id=?`} {
		if err := im.exec(q, free, m.visit); err != nil {
			return 0, false, err
		}
	}
	return free, false, nil
}

// joinEstimates gives the estimates of a frame that was not clipped to
// another frame, and takes it away. It tells whether one is there already.
func (im *Import) joinEstimates(from, to int64) (clash bool, err error) {
	clash, err = im.queryRow(`SELECT 1 FROM estimate a JOIN estimate b ON b.visit_id=? AND b.component=a.component AND b.species_id=a.species_id
		AND b.observer_id=a.observer_id AND b.state=a.state WHERE a.visit_id=?`, []any{to, from}, new(int))
	if err != nil || clash {
		return clash, err
	}
	if err := im.exec(`UPDATE estimate SET visit_id=? WHERE visit_id=?`, to, from); err != nil {
		return false, err
	}
	return false, im.exec(`DELETE FROM visit WHERE visit_id=?`, from)
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
