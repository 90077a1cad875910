package schema

import (
	"cmp"
	"slices"
	"strings"
)

// ImportRecord is one entry of the ledger's diary: a file, or a setting made.
type ImportRecord struct {
	ID      int64
	Kind    string
	File    string
	SHA256  string
	At      string
	Options string
	Added   int
	Changed int
}

// Imports lists every import, oldest first.
func (s *Snapshot) Imports() ([]ImportRecord, error) {
	var out []ImportRecord
	err := s.each(`SELECT import_id, kind, file, sha256, at, options, added, changed FROM import ORDER BY import_id`, nil, func(scan func(...any) error) error {
		var r ImportRecord
		err := scan(&r.ID, &r.Kind, &r.File, &r.SHA256, &r.At, &r.Options, &r.Added, &r.Changed)
		out = append(out, r)
		return err
	})
	return out, err
}

// ChangeRecord is one value that an import changed.
type ChangeRecord struct {
	ImportID int64
	At       string
	Record   string // the kind of record
	Key      string // its key in words
	Column   string
	Old      string // "" where it was missing
	New      string // "" where it is missing or gone
	Deleted  bool

	OldImport int64  // the import that the old value came from
	Site      string // whose record it is; "" where it belongs to none
	SiteGone  bool   // it belonged to an occasion that is no longer there
	id        int64
}

// Changes streams what changed, in the order in which it changed, one value a
// call. The new value of a change is the old value of the next change of the
// same record, or what the record holds now.
func (s *Snapshot) Changes(fn func(*ChangeRecord) error) error {
	w, err := s.wordsForKeys()
	if err != nil {
		return err
	}
	var all []ChangeRecord
	for _, t := range recordTables {
		if err := s.changesOf(t, func(c *ChangeRecord) error {
			all = append(all, *c)
			return nil
		}); err != nil {
			return err
		}
	}
	slices.SortStableFunc(all, func(a, b ChangeRecord) int { return cmp.Compare(a.id, b.id) })
	for i := range all {
		if err := w.inWords(&all[i]); err != nil {
			return err
		}
		if err := fn(&all[i]); err != nil {
			return err
		}
	}
	return nil
}

// changesOf reads the changes of one table. A key moved by a new first month
// of the growth year shows as a change of the key.
func (s *Snapshot) changesOf(t recordTable, fn func(*ChangeRecord) error) error {
	on := make([]string, len(t.keys))
	current := make([]string, len(t.values))
	for i, k := range t.keys {
		on[i] = "t." + k + " = json_extract(c.key, '$[" + string(rune('0'+i)) + "]')"
	}
	for i, v := range t.values {
		current[i] = "'" + v + "', t." + v
	}
	query := `WITH c AS (SELECT c.change_id, c.import_id, c.key, c.old,
			lead(c.old) OVER (PARTITION BY c.key ORDER BY c.change_id) AS next FROM change c WHERE c.record = '` + t.name + `')
		SELECT c.change_id, c.import_id, i.at, c.key, e.key, e.value, coalesce(json_extract(coalesce(c.next, json_object(` + strings.Join(current, ",") + `)), '$.' || e.key), ''),
			json_extract(c.old, '$.deleted') IS 1, coalesce(json_extract(c.old, '$.import_id'), 0)
		FROM c JOIN import i ON i.import_id = c.import_id LEFT JOIN ` + t.name + ` t ON ` + strings.Join(on, " AND ") + `, json_each(c.old) e
		WHERE e.key NOT IN ('import_id', 'line', 'deleted')
			AND (json_extract(c.old, '$.deleted') IS 1 OR e.value IS NOT json_extract(coalesce(c.next, json_object(` + strings.Join(current, ",") + `)), '$.' || e.key))
		ORDER BY c.change_id`
	return s.each(query, nil, func(scan func(...any) error) error {
		r := ChangeRecord{Record: t.name}
		var old, now any
		if err := scan(&r.id, &r.ImportID, &r.At, &r.Key, &r.Column, &old, &now, &r.Deleted, &r.OldImport); err != nil {
			return err
		}
		if old != nil {
			r.Old = show(old)
		}
		r.New = show(now)
		return fn(&r)
	})
}
