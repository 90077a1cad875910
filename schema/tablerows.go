package schema

import "fmt"

// tableRows reads the small tables of records in words: names in place of
// numbers, under the columns' names that files have. Observers stay numbers,
// since they leave the ledger by name only when that is asked for.
var tableRows = map[string]string{
	"frame_types": `SELECT frame_type, area_m2, import_id, line FROM frame_type ORDER BY frame_type_id`,
	"species": `SELECT s.species, s.name, s.growth_form, c.name AS component, s.import_id, s.line
		FROM species s LEFT JOIN component c USING(component) WHERE s.species <> '' ORDER BY s.species_id`,
	"sites": `SELECT s.site, s.name, s.stratum, s.area_ha, s.latitude, s.longitude, s.elevation_m, s.ecological_site, s.components,
		coalesce(s.sampling_unit, s.unit_in_use) AS sampling_unit,
		CASE WHEN s.sampling_unit IS NOT NULL THEN 'declared' WHEN s.unit_in_use IS NOT NULL THEN 'chosen' END AS sampling_unit_from,
		s.units_possible, s.placement, s.selection, t.frame_type, s.year_start_month, s.station, s.rain_months, s.class_scheme, s.growth_curve, s.double_sampling, s.note, s.import_id, s.line
		FROM site s LEFT JOIN frame_type t USING(frame_type_id) ORDER BY s.site_id`,
	"drying_samples": `SELECT s.site, o.growth_year AS year, o.season, d.date, c.name AS component, p.species, d.growth_form, d.stage, d.transect, d.frame, d.bag,
		d.green_g, d.dry_g, d.basis, d.dry_g * n.value / d.green_g AS dry_fraction, d.import_id, d.line
		FROM drying d JOIN occasion o USING(occasion_id) JOIN site s USING(site_id) JOIN component c ON c.component = d.component
		JOIN species p ON p.species_id = d.species_id JOIN rule_number n ON n.name = d.basis
		ORDER BY d.occasion_id, d.component, d.species_id, d.growth_form, d.transect, d.frame, d.bag, d.green_g, d.dry_g`,
	"book_values": `SELECT b.book AS "table", b.growth_form, p.species, b.stage, b.dm_pct, b.basis, b.source, b.import_id, b.line
		FROM book_value b JOIN species p USING(species_id) ORDER BY b.book, b.species_id, b.growth_form, b.stage`,
	"rain": `SELECT station, year, month, rain_mm, import_id, line FROM rain ORDER BY station, year, month`,
	"estimates": `SELECT s.site, o.growth_year AS year, o.season, v.transect, v.frame, iif(v.caged, 'yes', 'no') AS caged, e.date, t.frame_type, c.name AS component, p.species,
		e.observer_id AS observer, iif(e.state = 'green' AND NOT e.per_m2, e.g, NULL) AS estimate_green_g, iif(e.state = 'dry' AND NOT e.per_m2, e.g, NULL) AS estimate_dry_g,
		iif(e.state = 'dry' AND e.per_m2, e.g, NULL) AS estimate_g_m2, e.state, e.basis, e.import_id, e.line
		FROM estimate e JOIN visit v USING(visit_id) JOIN occasion o ON o.occasion_id = e.visit_id >> 20 JOIN site s USING(site_id)
		JOIN component c ON c.component = e.component JOIN species p ON p.species_id = e.species_id LEFT JOIN frame_type t ON t.frame_type_id = e.frame_type_id
		ORDER BY e.visit_id, e.component, e.species_id, e.observer_id, e.state`,
	"classes": `SELECT scheme, component, 'g/m2' AS unit, basis, lower_g_m2 AS lower, upper_g_m2 AS upper, label, import_id, line
		FROM class_bound ORDER BY scheme, component, lower_g_m2`,
	"growth_curves": `SELECT curve, day_of_year, cumulative_pct, import_id, line FROM growth_curve ORDER BY curve, day_of_year`,
	"transects": `SELECT s.site, t.transect, t.latitude, t.longitude, t.bearing, t.length_m, t.side, t.offset_m, t.photo, t.note, t.import_id, t.line
		FROM transect t JOIN site s USING(site_id) ORDER BY s.site_id, t.transect`,
	"events": `SELECT coalesce(s.site, '') AS site, e.stratum, e.start, e.finish AS "end", e.kind, e.note, e.import_id, e.line
		FROM event e LEFT JOIN site s USING(site_id) ORDER BY e.site_id, e.stratum, e.start, e.kind`,
	"settings": `SELECT name, value, import_id FROM setting ORDER BY name`,
}

// TableRows streams a small table by the name that exports give it: first the
// names of its columns, then its rows, each value nil, a string, an int64 or a
// float64.
func (s *Snapshot) TableRows(table string, columns func([]string) error, fn func([]any) error) error {
	query, ok := tableRows[table]
	if !ok {
		return fmt.Errorf("there is no table %q to read", table)
	}
	rows, err := s.tx.QueryContext(s.ctx, query)
	if err != nil {
		return fmt.Errorf("read the table %s: %w", table, Explain(err))
	}
	defer rows.Close()
	names, err := rows.Columns()
	if err != nil {
		return fmt.Errorf("read the table %s: %w", table, Explain(err))
	}
	if err := columns(names); err != nil {
		return err
	}
	values, dest := make([]any, len(names)), make([]any, len(names))
	for i := range values {
		dest[i] = &values[i]
	}
	for rows.Next() {
		if err := rows.Scan(dest...); err != nil {
			return fmt.Errorf("read the table %s: %w", table, err)
		}
		if err := fn(values); err != nil {
			return err
		}
	}
	return Explain(rows.Err())
}
