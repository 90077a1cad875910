package schema

import "fmt"

// estimates merges eye estimates, after the frames: one of a frame that
// nobody clipped makes its place by itself.
func (m *ledgerMerge) estimates() error {
	return m.each(`SELECT e.import_id, e.line, s.site, coalesce(e.date,''), o.growth_year, e.year_given, o.season, v.transect, v.frame, v.caged, e.component,
		x.species, w.observer, e.state, e.g, e.per_m2, coalesce(e.basis,''), coalesce(t.frame_type,'')
		FROM estimate e JOIN visit v USING(visit_id) JOIN occasion o ON o.occasion_id = v.occasion_id JOIN site s USING(site_id)
		JOIN species x ON x.species_id = e.species_id JOIN observer w ON w.observer_id = e.observer_id
		LEFT JOIN frame_type t ON t.frame_type_id = e.frame_type_id ORDER BY e.visit_id, e.component, x.species, w.observer, e.state`,
		func(scan func(...any) error) (int64, func(*Import) error, error) {
			var theirs int64
			var given bool
			var e Estimate
			err := scan(&theirs, &e.Line, &e.Site, &e.Date, &e.Year, &given, &e.Season, &e.Transect, &e.Frame, &e.Caged, &e.Component,
				&e.Species, &e.Observer, &e.State, &e.G, &e.PerM2, &e.Basis, &e.FrameType)
			if !given && e.Date != "" {
				e.Year = 0 // the date decides, by the month in which the year starts here
			}
			e.Site = m.Prefix + e.Site
			m.place = fmt.Sprintf("site %s %s %s, transect %s, frame %s, estimate of %s by %s", e.Site, yearOr(e.Year, e.Date), e.Season, e.Transect, e.Frame, e.Component, e.Observer)
			return theirs, func(im *Import) error { return im.Estimate(e) }, err
		})
}

func yearOr(year int, date string) string {
	if year == 0 {
		return date
	}
	return fmt.Sprint(year)
}

func (m *ledgerMerge) classes() error { return mergeSets(m, classSets) }

func (m *ledgerMerge) curves() error { return mergeSets(m, curveSets) }

// mergeSets merges schemes or growth curves, each as a whole.
func mergeSets[R memberRow](m *ledgerMerge, k *setKind[R]) error {
	theirs, err := k.read(m.from, "")
	if err != nil {
		return err
	}
	var rows []broughtRow[R]
	for _, h := range theirs {
		im := m.imports[h.importID]
		if im == nil {
			return fmt.Errorf("a record names the import %d, which brought none", h.importID)
		}
		rows = append(rows, broughtRow[R]{h.row, im, h.importID})
	}
	return k.put(m.t, rows, func(b broughtRow[R]) error {
		_, err := m.as(b.theirs)
		return err
	})
}
