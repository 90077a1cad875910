package schema

import (
	"cmp"
	"database/sql"
	"fmt"
	"strconv"
	"strings"
)

// field is one column of a record: a nil value was not given.
type field struct {
	name  string
	value any // nil, string, int64 or float64
	shown string
	// column is what files call it, where that is not name.
	column string
	// orNone says that a missing value is one too: it contradicts others.
	orNone bool
}

// text is a field that is given unless empty.
func text(name, value string) field {
	if value == "" {
		return field{name: name}
	}
	return field{name: name, value: value, shown: value}
}

// number is a field that is given where it is present.
func number(name string, n Num) field {
	if !n.Valid {
		return field{name: name}
	}
	return field{name: name, value: n.Float64, shown: formatNumber(n.Float64)}
}

// whole is a field that is given unless zero.
func whole(name string, n int64) field {
	if n == 0 {
		return field{name: name}
	}
	return field{name: name, value: n, shown: strconv.FormatInt(n, 10)}
}

func formatNumber(f float64) string { return strconv.FormatFloat(f, 'g', -1, 64) }

// put writes one record by its natural key: new ones are inserted, identical
// ones left alone, blanks completed; a contradiction is reported and not
// applied, unless the import replaces. It tells whether anything changed.
func (im *Import) put(table string, keys, values []field, line int) (bool, error) {
	stored, storedImport, storedLine, found, err := im.stored(table, keys, values)
	if err != nil {
		return false, err
	}
	if !found {
		im.Added++
		return true, im.insert(table, keys, values, line)
	}
	changes, clean, err := im.compare(values, stored, storedImport, storedLine, line)
	if err != nil || !clean {
		return false, err
	}
	if len(changes) == 0 {
		im.Identical++
		return false, nil
	}
	im.Changed++
	return true, im.update(table, keys, changes, line)
}

// compare returns the fields to be written and whether the record is free of
// contradictions.
func (im *Import) compare(values []field, stored []any, storedImport, storedLine int64, line int) (changes []field, clean bool, err error) {
	clean = true
	for i, v := range values {
		switch {
		case v.value == nil && !v.orNone || same(stored[i], v.value):
		case stored[i] == nil && !v.orNone || im.Replace:
			changes = append(changes, v)
		default:
			clean = false
			if err := im.contradicts(line, cmp.Or(v.column, v.name), v.shown, show(stored[i]), storedImport, storedLine); err != nil {
				return nil, false, err
			}
		}
	}
	return changes, clean, nil
}

// same compares a stored value with a given one; SQLite hands back integers
// and reals as they were stored.
func same(stored, given any) bool {
	if f, ok := stored.(float64); ok {
		if g, ok := given.(int64); ok {
			return f == float64(g)
		}
	}
	return stored == given
}

func show(v any) string {
	if v == nil {
		return "none"
	}
	if f, ok := v.(float64); ok {
		return formatNumber(f)
	}
	return fmt.Sprint(v)
}

func (im *Import) stored(table string, keys, values []field) (stored []any, importID, line int64, found bool, err error) {
	columns := make([]string, len(values), len(values)+2)
	stored = make([]any, len(values))
	dest := make([]any, len(values), len(values)+2)
	for i, v := range values {
		columns[i], dest[i] = v.name, &stored[i]
	}
	query := fmt.Sprintf("SELECT %s FROM %s WHERE %s", strings.Join(append(columns, "import_id", "line"), ","), table, where(keys))
	found, err = im.queryRow(query, args(keys), append(dest, &importID, &line)...)
	return stored, importID, line, found, err
}

func (im *Import) insert(table string, keys, values []field, line int) error {
	all := append([]field{}, keys...)
	for _, v := range values {
		if v.value != nil { // columns that were not given keep their default
			all = append(all, v)
		}
	}
	columns := make([]string, len(all))
	for i, f := range all {
		columns[i] = f.name
	}
	query := fmt.Sprintf("INSERT INTO %s(%s,import_id,line) VALUES(%s?,?)", table, strings.Join(columns, ","), strings.Repeat("?,", len(all)))
	return im.exec(query, append(args(all), im.id, line)...)
}

func (im *Import) update(table string, keys, changes []field, line int) error {
	sets := make([]string, len(changes))
	for i, f := range changes {
		sets[i] = f.name + "=?"
	}
	query := fmt.Sprintf("UPDATE %s SET %s,import_id=?,line=? WHERE %s", table, strings.Join(sets, ","), where(keys))
	return im.exec(query, append(append(args(changes), im.id, line), args(keys)...)...)
}

func where(keys []field) string {
	parts := make([]string, len(keys))
	for i, k := range keys {
		parts[i] = k.name + "=?"
	}
	return strings.Join(parts, " AND ")
}

func args(fields []field) []any {
	out := make([]any, len(fields), len(fields)+8)
	for i, f := range fields {
		out[i] = f.value
	}
	return out
}

// key is a field that is always given, even where empty or zero.
func key[T string | int64 | float64](name string, value T) field {
	return field{name: name, value: value}
}

// nullID is a foreign key that may be absent.
func nullID(id int64) sql.NullInt64 { return sql.NullInt64{Int64: id, Valid: id != 0} }
