package schema

import (
	"errors"
	"fmt"
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
	moves, err := im.moves(site, startMonth)
	var split *splitFrame
	if errors.As(err, &split) {
		im.refuse(s.Line, "year_start_month", strconv.Itoa(startMonth), split.Error(), "give the rows of that frame, estimates and clippings, one growth year in a year column first")
		return nil
	}
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
	bare  bool // it was estimated and not clipped
	to    occasionKey
}

// moves lists the frames that change their growth year, those that free a
// place before those that take it.
func (im *Import) moves(site int64, startMonth int) ([]frameMove, error) {
	estimated, err := im.estimatedYears(site, startMonth)
	if err != nil {
		return nil, err
	}
	var out []frameMove
	err = im.each(`SELECT v.visit_id, v.frame, coalesce(v.date, ''), v.year_given, `+bareVisit+`, o.growth_year, o.season
		FROM visit v JOIN occasion o ON o.occasion_id = v.occasion_id WHERE o.site_id=? ORDER BY o.growth_year DESC`, []any{site}, func(scan func(...any) error) error {
		m := frameMove{to: occasionKey{site: site}}
		var date string
		var given bool
		var from int
		if err := scan(&m.visit, &m.frame, &date, &given, &m.bare, &from, &m.to.season); err != nil {
			return err
		}
		m.to.year = from
		if date != "" && !given {
			if year, err := GrowthYear(date, startMonth); err == nil {
				m.to.year = year
			}
		}
		years := estimated[m.visit]
		if m.bare && len(years) > 0 {
			m.to.year = years[0]
		}
		if slices.ContainsFunc(years, func(y int) bool { return y != m.to.year }) {
			return &splitFrame{m.frame, m.to.year}
		}
		if m.to.year != from {
			out = append(out, m)
		}
		return nil
	})
	if len(out) > 0 && out[0].to.year < mustYear(im, out[0].visit) {
		slices.Reverse(out)
	}
	return out, err
}

// splitFrame says that the estimates of a frame would come to another growth
// year than the frame.
type splitFrame struct {
	frame string
	year  int
}

func (e *splitFrame) Error() string {
	return fmt.Sprintf("the change would bring the frame %s into the growth year %d and leave an estimate of it in another", e.frame, e.year)
}

// estimatedYears are the growth years that the estimates of each frame of a
// site come to.
func (im *Import) estimatedYears(site int64, startMonth int) (map[int64][]int, error) {
	out := map[int64][]int{}
	return out, im.each(`SELECT DISTINCT e.visit_id, coalesce(e.date, ''), e.year_given, o.growth_year FROM estimate e JOIN visit v ON v.visit_id = e.visit_id
		JOIN occasion o ON o.occasion_id = v.occasion_id WHERE o.site_id=? ORDER BY 1, 2, 3`, []any{site}, func(scan func(...any) error) error {
		var visit int64
		var date string
		var given bool
		var year int
		err := scan(&visit, &date, &given, &year)
		if date != "" && !given && err == nil {
			year, err = GrowthYear(date, startMonth)
		}
		out[visit] = append(out[visit], year)
		return err
	})
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
// occasion. It tells whether the place was taken: that a frame was estimated
// there, and not clipped, or only estimated here, takes none.
func (im *Import) move(m frameMove) (clash bool, err error) {
	occasion, _, err := im.occasionID(m.to)
	if err != nil {
		return false, err
	}
	im.touch.drying[occasion], im.touch.drying[m.visit>>20] = true, true
	var there int64
	var bare bool
	taken, err := im.queryRow(`SELECT v.visit_id, `+bareVisit+` FROM visit v JOIN visit w ON w.visit_id=? WHERE v.occasion_id=? AND v.transect=w.transect AND v.frame=w.frame AND v.caged=w.caged`,
		[]any{m.visit, occasion}, &there, &bare)
	switch {
	case err != nil:
		return false, err
	case taken && m.bare:
		return im.joinEstimates(m.visit, there)
	case taken && !bare:
		return true, nil
	case taken:
		if clash, err := im.joinEstimates(there, m.visit); clash || err != nil {
			return clash, err
		}
	}
	free, err := im.freeVisit(occasion)
	if err != nil {
		return false, err
	}
	for _, q := range []string{`UPDATE visit SET visit_id=? WHERE visit_id=?`, `UPDATE plot SET visit_id=? WHERE visit_id=?`,
		`UPDATE bag SET visit_id=? WHERE visit_id=?`, `UPDATE estimate SET visit_id=? WHERE visit_id=?`} {
		if err := im.exec(q, free, m.visit); err != nil {
			return false, err
		}
	}
	return false, nil
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
