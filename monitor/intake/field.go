package intake

import "strings"

// fieldSlots is how many recent cells a field remembers.
const fieldSlots = 128

// field reads one column of every row into a T. Columns of labels, words and
// days repeat a few cells over and over, so it remembers what the recent ones
// meant: a repeated cell costs one comparison and no memory, and what it
// remembers has a fixed size. Cells that are wrong are not remembered.
type field[T any] struct {
	source
	parse func(raw string) (T, bool)
	fixed T               // where the file has no such column: its default, or the constant
	slots []remembered[T] // fieldSlots of them
	last  *remembered[T]  // the cell read last: columns repeat themselves
}

// remembered is a cell and what it means.
type remembered[T any] struct {
	raw   string
	value T
	set   bool
}

// newField makes a field of a source. parse takes our name of the column and
// the cell without spaces around it, "" where it is missing, and tells the
// checker what is wrong. Where there is no column it is called once, here.
func newField[T any](c *checker, s source, parse func(column, cell string) T) *field[T] {
	f := &field[T]{source: s}
	f.parse = func(raw string) (T, bool) {
		before := len(c.problems)
		v := parse(s.name, c.missing.value(raw))
		return v, len(c.problems) == before
	}
	if s.index < 0 {
		f.fixed, _ = f.parse(s.constant)
	} else {
		f.slots = make([]remembered[T], fieldSlots)
	}
	return f
}

// read returns what the row says. It must not be called twice for one row
// where the cell can be wrong, or the problem is told twice.
func (f *field[T]) read(cells []string) T {
	if f.index < 0 {
		return f.fixed
	}
	raw := cells[f.index]
	if f.last != nil && f.last.raw == raw {
		return f.last.value
	}
	r := &f.slots[slotOf(raw)]
	if r.set && r.raw == raw {
		f.last = r
		return r.value
	}
	// The cell shares its memory with the row, so what is kept is a copy.
	raw = strings.Clone(raw)
	v, ok := f.parse(raw)
	if ok {
		*r = remembered[T]{raw, v, true}
		f.last = r
	}
	return v
}

// slotOf spreads cells over the slots; long ones by their ends.
func slotOf(s string) uint32 {
	h := uint32(len(s))
	if len(s) > 16 {
		h = h*31 + slotOf(s[:8])
		s = s[len(s)-8:]
	}
	for i := 0; i < len(s); i++ {
		h = h*31 + uint32(s[i])
	}
	h ^= h >> 7
	return h % fieldSlots
}
