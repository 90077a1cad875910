package schema

import (
	"fmt"
	"strings"
)

// each hands the rows of a query on the other ledger, one by one, to fn, which
// returns what takes the record in. The query's first column is the import.
func (m *ledgerMerge) each(query string, fn func(scan func(...any) error) (theirs int64, put func(*Import) error, err error)) error {
	defer func() { m.place = "" }()
	return m.from.each(query, nil, func(scan func(...any) error) error {
		theirs, put, err := fn(scan)
		if err != nil {
			return err
		}
		im, err := m.as(theirs)
		if err != nil {
			return err
		}
		return put(im)
	})
}

func (m *ledgerMerge) frameTypes() error {
	return m.each(`SELECT import_id, line, frame_type, area_m2 FROM frame_type ORDER BY frame_type_id`, func(scan func(...any) error) (int64, func(*Import) error, error) {
		var theirs int64
		var f FrameType
		err := scan(&theirs, &f.Line, &f.Name, &f.AreaM2)
		m.place = "frame type " + f.Name
		return theirs, func(im *Import) error { return im.FrameType(f) }, err
	})
}

func (m *ledgerMerge) speciesRecords() error {
	return m.each(`SELECT import_id, line, species, coalesce(name,''), coalesce(growth_form,''), coalesce(component,0) FROM species
		WHERE species <> '' ORDER BY species_id`, func(scan func(...any) error) (int64, func(*Import) error, error) {
		var theirs int64
		var s Species
		err := scan(&theirs, &s.Line, &s.Code, &s.Name, &s.GrowthForm, &s.Component)
		m.place = "species " + s.Code
		return theirs, func(im *Import) error { return im.Species(s) }, err
	})
}

func (m *ledgerMerge) siteRecords() error {
	return m.each(`SELECT s.import_id, s.line, s.site_id, s.site, coalesce(name,''), coalesce(stratum,''), area_ha, latitude, longitude, elevation_m,
		coalesce(ecological_site,''), coalesce(components,''), coalesce(sampling_unit,''), coalesce(units_possible,0), coalesce(placement,''),
		coalesce(selection,''), coalesce(t.frame_type,''), coalesce(year_start_month,0), coalesce(station,''), coalesce(rain_months,''),
		coalesce(class_scheme,''), coalesce(growth_curve,''), coalesce(double_sampling,''), coalesce(note,'')
		FROM site s LEFT JOIN frame_type t USING(frame_type_id) ORDER BY site`, func(scan func(...any) error) (int64, func(*Import) error, error) {
		var theirs, id int64
		var components string
		var s Site
		err := scan(&theirs, &s.Line, &id, &s.Site, &s.Name, &s.Stratum, &s.AreaHa, &s.Latitude, &s.Longitude, &s.ElevationM,
			&s.EcologicalSite, &components, &s.SamplingUnit, &s.UnitsPossible, &s.Placement, &s.Selection, &s.FrameType, &s.YearStartMonth,
			&s.Station, &s.RainMonths, &s.ClassScheme, &s.GrowthCurve, &s.DoubleSampling, &s.Note)
		s.Site = m.Prefix + s.Site
		s.Components = declaredOf(components)
		m.place = "site " + s.Site
		return theirs, func(im *Import) error {
			if err := im.Site(s); err != nil {
				return err
			}
			ours, _, err := im.lookUp(`SELECT site_id FROM site WHERE site=?`, s.Site)
			m.sites[id] = ours
			return err
		}, err
	})
}

func (m *ledgerMerge) bookValues() error {
	return m.each(`SELECT b.import_id, b.line, book, b.growth_form, s.species, stage, dm_pct, basis, coalesce(source,'') FROM book_value b JOIN species s USING(species_id)
		WHERE book <> '`+HandbookTable+`' ORDER BY book, species, b.growth_form, stage`, func(scan func(...any) error) (int64, func(*Import) error, error) {
		var theirs int64
		var b BookValue
		err := scan(&theirs, &b.Line, &b.Table, &b.GrowthForm, &b.Species, &b.Stage, &b.DMPct, &b.Basis, &b.Source)
		m.place = strings.Join(strings.Fields("book table "+b.Table+" "+b.GrowthForm+" "+b.Species+" "+b.Stage), " ")
		return theirs, func(im *Import) error { return im.BookValue(b) }, err
	})
}

func (m *ledgerMerge) drying() error {
	return m.each(`SELECT d.import_id, d.line, s.site, coalesce(d.date,''), o.growth_year, d.year_given, o.season, d.component, x.species, d.growth_form,
		d.transect, d.frame, d.bag, d.green_g, d.dry_g, d.basis, coalesce(d.stage,'')
		FROM drying d JOIN occasion o USING(occasion_id) JOIN site s USING(site_id) JOIN species x ON x.species_id = d.species_id
		ORDER BY d.occasion_id`, func(scan func(...any) error) (int64, func(*Import) error, error) {
		var theirs int64
		var given bool
		var d Drying
		err := scan(&theirs, &d.Line, &d.Site, &d.Date, &d.Year, &given, &d.Season, &d.Component, &d.Species, &d.GrowthForm,
			&d.Transect, &d.Frame, &d.Bag, &d.GreenG, &d.DryG, &d.Basis, &d.Stage)
		if !given && d.Date != "" {
			d.Year = 0 // the date decides, by the month in which the year starts here
		}
		d.Site = m.Prefix + d.Site
		m.place = fmt.Sprintf("site %s %d %s, drying sample of %s", d.Site, d.Year, d.Season, d.Component)
		return theirs, func(im *Import) error { return im.Drying(d) }, err
	})
}

// plainTables are merged row by row, by their keys.
func (m *ledgerMerge) plainTables() error {
	for _, t := range recordTables {
		switch t.name {
		case "rain", "transect", "event":
			if err := m.plainTable(t); err != nil {
				return err
			}
		}
	}
	return nil
}

func (m *ledgerMerge) plainTable(t recordTable) error {
	columns := append(append([]string{}, t.keys...), t.values...)
	query := fmt.Sprintf("SELECT import_id, line, %s FROM %s ORDER BY %s", strings.Join(columns, ","), t.name, strings.Join(t.keys, ","))
	return m.each(query, func(scan func(...any) error) (int64, func(*Import) error, error) {
		var theirs int64
		var line int
		row := make([]any, len(columns))
		dest := []any{&theirs, &line}
		for i := range row {
			dest = append(dest, &row[i])
		}
		if err := scan(dest...); err != nil {
			return 0, nil, err
		}
		return theirs, func(im *Import) error {
			fields := make([]field, len(columns))
			var words []string
			for i, name := range columns {
				value, err := m.ours(name, row[i])
				if err != nil {
					return err
				}
				fields[i] = field{name: name, value: value}
				if value != nil {
					fields[i].shown = show(value)
				}
				if i < len(t.keys) && !strings.HasSuffix(name, "_id") && fields[i].shown != "" {
					words = append(words, fields[i].shown)
				}
			}
			m.place = strings.Join(append([]string{t.name}, words...), " ")
			_, err := im.put(t.name, fields[:len(t.keys)], fields[len(t.keys):], line)
			return err
		}, nil
	})
}

// ours turns a number of the other ledger into the one that stands for the
// same thing here.
func (m *ledgerMerge) ours(column string, value any) (any, error) {
	id, isNumber := value.(int64)
	var known bool
	switch {
	case !isNumber:
		return value, nil
	case column == "site_id":
		id, known = m.sites[id]
	default:
		return value, nil
	}
	if !known {
		return nil, fmt.Errorf("a record names the number %v in %s, which is not there", value, column)
	}
	return id, nil
}

// readNames reads what the numbers of the other ledger stand for.
func (m *ledgerMerge) readNames() error {
	for query, names := range map[string]map[int64]string{
		`SELECT observer_id, observer FROM observer`:       m.people,
		`SELECT frame_type_id, frame_type FROM frame_type`: m.types,
	} {
		err := m.from.each(query, nil, func(scan func(...any) error) error {
			var id int64
			var name string
			err := scan(&id, &name)
			names[id] = name
			return err
		})
		if err != nil {
			return err
		}
	}
	return m.from.each(`SELECT species_id, species FROM species`, nil, func(scan func(...any) error) error {
		var id, ours int64
		var code string
		if err := scan(&id, &code); err != nil {
			return err
		}
		found, err := m.t.queryRow(`SELECT species_id FROM species WHERE species=?`, []any{code}, &ours)
		if err == nil && !found {
			err = fmt.Errorf("species %q was not taken", code)
		}
		m.species[id] = ours
		return err
	})
}
