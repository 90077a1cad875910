package schema

import "fmt"

// rawRow takes a row as the driver hands it over and gives its columns one
// after the other. Scanning into typed variables asks the type of each again
// by reflection, which over a million rows costs more than reading them.
type rawRow struct {
	values []any
	into   []any // pointers to the values
	next   int
	err    error // first column of another type than was asked for
}

func newRawRow(columns int) *rawRow {
	r := &rawRow{values: make([]any, columns), into: make([]any, columns)}
	for i := range r.values {
		r.into[i] = &r.values[i]
	}
	return r
}

// scan takes the next row.
func (r *rawRow) scan(scan func(...any) error) error {
	r.next = 0
	return scan(r.into...)
}

func (r *rawRow) column() any {
	r.next++
	return r.values[r.next-1]
}

// text is the next column; "" where it is missing.
func (r *rawRow) text() string {
	v := r.column()
	s, ok := v.(string)
	r.expect(ok, v)
	return s
}

// whole is the next column; 0 where it is missing.
func (r *rawRow) whole() int64 {
	v := r.column()
	n, ok := v.(int64)
	r.expect(ok, v)
	return n
}

func (r *rawRow) yes() bool { return r.whole() != 0 }

// number is the next column.
func (r *rawRow) number() Num {
	switch v := r.column().(type) {
	case float64:
		return Some(v)
	case int64:
		return Some(float64(v))
	default:
		r.expect(false, v)
		return Num{}
	}
}

func (r *rawRow) expect(ok bool, v any) {
	if !ok && v != nil && r.err == nil {
		r.err = fmt.Errorf("column %d of a row holds a %T", r.next, v)
	}
}
