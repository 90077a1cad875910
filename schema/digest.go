package schema

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"slices"
	"strings"
)

// digestQueries write every record by its natural key and its values, without
// numbers of rows, imports, lines and settings. Two ledgers hold the same
// record where these give the same lines in any order.
var digestQueries = []string{
	`SELECT json_array('frame_type', frame_type, area_m2) FROM frame_type`,
	`SELECT json_array('site', site, name, stratum, area_ha, latitude, longitude, elevation_m, ecological_site, components, sampling_unit, units_possible,
		placement, selection, t.frame_type, year_start_month, station, rain_months, class_scheme, growth_curve, double_sampling, s.note)
		FROM site s LEFT JOIN frame_type t USING(frame_type_id)`,
	`SELECT json_array('species', species, s.name, growth_form, c.name) FROM species s LEFT JOIN component c USING(component) WHERE species <> ''`,
	// How a frame was clipped is said of each of its components, and of the
	// frame as a whole only where it has none: whether it is stored with the
	// frame or with the component hangs on the order in which rows came.
	`SELECT json_array('visit', s.site, o.growth_year, o.season, v.transect, v.frame, v.caged, v.caged_since, v.year_given,
		v.components_sampled, v.empty, v.treatment, v.block, v.note, iif(b.visit_id IS NULL, json_array(v.date, t.frame_type, w.observer,
		v.edge_rule, v.clip_height_cm, v.ungrazed_pct), NULL))
		FROM visit v JOIN occasion o ON o.occasion_id = v.occasion_id JOIN site s USING(site_id)
		LEFT JOIN (SELECT visit_id FROM bag UNION SELECT visit_id FROM plot) b ON b.visit_id = v.visit_id
		LEFT JOIN frame_type t ON t.frame_type_id = v.frame_type_id LEFT JOIN observer w USING(observer_id) WHERE NOT ` + bareVisit + ` OR v.visit_id IN (SELECT visit_id FROM plot)`,
	`SELECT json_array('plot', s.site, o.growth_year, o.season, v.transect, v.frame, v.caged, c.name, t.frame_type, nullif(p.frames_in_bag, 1),
		coalesce(p.date, v.date), w.observer, coalesce(p.edge_rule, v.edge_rule), coalesce(p.clip_height_cm, v.clip_height_cm), coalesce(p.ungrazed_pct, v.ungrazed_pct))
		FROM (SELECT visit_id, component FROM bag UNION SELECT visit_id, component FROM plot) b JOIN visit v ON v.visit_id = b.visit_id
		JOIN occasion o ON o.occasion_id = v.occasion_id JOIN site s USING(site_id) JOIN component c ON c.component = b.component
		LEFT JOIN plot p ON p.visit_id = b.visit_id AND p.component = b.component
		LEFT JOIN frame_type t ON t.frame_type_id = coalesce(p.frame_type_id, v.frame_type_id)
		LEFT JOIN observer w ON w.observer_id = coalesce(p.observer_id, v.observer_id)`,
	`SELECT json_array('bag', s.site, o.growth_year, o.season, v.transect, v.frame, v.caged, c.name, x.species, b.bag, b.growth_form, b.per_m2, b.green_g,
		b.dry_g, b.trace, b.dm_pct, b.basis, b.stage, b.status, b.note)
		FROM bag b JOIN visit v USING(visit_id) JOIN occasion o ON o.occasion_id = v.occasion_id JOIN site s USING(site_id)
		JOIN component c ON c.component = b.component JOIN species x ON x.species_id = b.species_id`,
	`SELECT json_array('drying', s.site, o.growth_year, o.season, c.name, x.species, d.growth_form, d.transect, d.frame, d.bag, d.green_g, d.dry_g, d.basis,
		d.stage, d.date, d.year_given)
		FROM drying d JOIN occasion o USING(occasion_id) JOIN site s USING(site_id) JOIN component c ON c.component = d.component
		JOIN species x ON x.species_id = d.species_id`,
	`SELECT json_array('book_value', book, x.species, b.growth_form, stage, dm_pct, basis, source) FROM book_value b JOIN species x USING(species_id)`,
	`SELECT json_array('rain', station, year, month, rain_mm) FROM rain`,
	`SELECT json_array('estimate', s.site, o.growth_year, o.season, v.transect, v.frame, v.caged, c.name, x.species, w.observer, e.state, e.date, e.year_given,
		t.frame_type, e.g, e.per_m2, e.basis)
		FROM estimate e JOIN visit v USING(visit_id) JOIN occasion o ON o.occasion_id = v.occasion_id JOIN site s USING(site_id)
		JOIN component c ON c.component = e.component JOIN species x ON x.species_id = e.species_id JOIN observer w ON w.observer_id = e.observer_id
		LEFT JOIN frame_type t ON t.frame_type_id = e.frame_type_id`,
	`SELECT json_array('class_bound', scheme, component, lower_g_m2, upper_g_m2, basis, label) FROM class_bound`,
	`SELECT json_array('growth_curve', curve, day_of_year, cumulative_pct) FROM growth_curve`,
	`SELECT json_array('transect', s.site, t.transect, t.latitude, t.longitude, bearing, length_m, side, offset_m, photo, t.note) FROM transect t JOIN site s USING(site_id)`,
	`SELECT json_array('event', s.site, e.stratum, start, kind, finish, e.note) FROM event e LEFT JOIN site s USING(site_id)`,
}

// Digest is a hash of the record: of natural keys and values, without
// settings, numbers of rows, imports and history.
func (s *Snapshot) Digest() (string, error) {
	var lines []string
	for _, q := range digestQueries {
		err := s.each(q, nil, func(scan func(...any) error) error {
			var line string
			err := scan(&line)
			lines = append(lines, line)
			return err
		})
		if err != nil {
			return "", fmt.Errorf("digest: %w", err)
		}
	}
	slices.Sort(lines)
	sum := sha256.Sum256([]byte(strings.Join(lines, "\n")))
	return hex.EncodeToString(sum[:]), nil
}
