package schema

import "strings"

// RecordKinds lists the kinds of records whose history is kept, by the names
// that the history gives them.
func RecordKinds() []string {
	names := make([]string, len(recordTables))
	for i, t := range recordTables {
		names[i] = t.name
	}
	return names
}

// Touch is a record of some kind, of a site or of none, that an import brought
// or changed.
type Touch struct {
	ImportID int64
	Record   string
	Site     string
}

// Touches lists what every import brought that is still there, or changed: one
// entry for each import, kind of record and site. What an import changed
// stands there too where later imports changed it again.
func (s *Snapshot) Touches(fn func(Touch) error) error {
	for _, t := range recordTables {
		if err := s.touchesOf(t, fn); err != nil {
			return err
		}
	}
	return s.Changes(func(c *ChangeRecord) error {
		if err := fn(Touch{c.ImportID, c.Record, c.Site}); err != nil || c.OldImport == 0 {
			return err
		}
		return fn(Touch{c.OldImport, c.Record, c.Site})
	})
}

// touchesOf lists those of one table.
func (s *Snapshot) touchesOf(t recordTable, fn func(Touch) error) error {
	query := `SELECT DISTINCT import_id, '' FROM ` + t.name
	switch keys := " " + strings.Join(t.keys, " ") + " "; {
	case strings.Contains(keys, " visit_id "):
		query = `SELECT r.import_id, s.site FROM (SELECT DISTINCT import_id, visit_id >> 20 AS occasion_id FROM ` + t.name + `) r
			JOIN occasion o USING(occasion_id) JOIN site s USING(site_id)`
	case strings.Contains(keys, " occasion_id "):
		query = `SELECT DISTINCT r.import_id, s.site FROM ` + t.name + ` r JOIN occasion o USING(occasion_id) JOIN site s USING(site_id)`
	case strings.Contains(keys, " site_id "):
		query = `SELECT DISTINCT r.import_id, coalesce(s.site, '') FROM ` + t.name + ` r LEFT JOIN site s USING(site_id)`
	case strings.Contains(keys, " site "):
		query = `SELECT import_id, site FROM ` + t.name
	}
	return s.each(query, nil, func(scan func(...any) error) error {
		touch := Touch{Record: t.name}
		if err := scan(&touch.ImportID, &touch.Site); err != nil {
			return err
		}
		return fn(touch)
	})
}
