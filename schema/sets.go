package schema

import (
	"cmp"
	"fmt"
	"slices"
)

// The classes of one component of a scheme, and the points of a growth curve,
// mean something only together. They are gathered while a file is read, looked
// at as they would stand together with what the ledger holds, and then taken
// or refused as one.

// memberRow is one row of such a set.
type memberRow interface {
	set() string // what belongs together
	at() float64 // its place in the set, no two alike
	line() int
}

// broughtRow is a row on its way into the ledger.
type broughtRow[R memberRow] struct {
	row    R
	im     *Import
	theirs int64 // in a merge: the other ledger's number of the import
}

// heldRow is a row that the ledger holds, and the import it came with.
type heldRow[R memberRow] struct {
	row      R
	importID int64
}

// setKind says how one kind of sets is kept.
type setKind[R memberRow] struct {
	table  string
	what   func(R) string // a set in words: `scheme "x", production`
	rows   string         // what it is made of: "classes"
	order  string         // SQL: sets one by one, their rows by at
	same   string         // SQL: the rows of one set
	keys   func(R) []field
	values func(R) []field
	scan   func(row *R) (columns []any, line *int) // where keys and values go
	// fault says what is wrong with a set whose rows come ordered by at.
	fault func([]R) *setFault
	// covers tells whether a set that is in order can stand in for another.
	covers func(set, other []R) bool
}

// setFault is what is wrong with a set: in one row, or between two.
type setFault struct {
	before, row int // before is -1 where one row is at fault
	what, do    string
}

// read lists rows, set by set.
func (k *setKind[R]) read(q eacher, where string, args ...any) ([]heldRow[R], error) {
	var zero R
	columns := ""
	for _, f := range slices.Concat(k.keys(zero), k.values(zero)) {
		columns += f.name + ", "
	}
	var out []heldRow[R]
	err := q.each("SELECT "+columns+"import_id, line FROM "+k.table+where+" ORDER BY "+k.order, args, func(scan func(...any) error) error {
		var h heldRow[R]
		columns, line := k.scan(&h.row)
		err := scan(append(columns, &h.importID, line)...)
		out = append(out, h)
		return err
	})
	return out, err
}

// put takes rows into the ledger, set by set. enter makes the history name
// the import of a row.
func (k *setKind[R]) put(t *Tx, rows []broughtRow[R], enter func(broughtRow[R]) error) error {
	slices.SortStableFunc(rows, func(a, b broughtRow[R]) int {
		return cmp.Or(cmp.Compare(a.row.set(), b.row.set()), cmp.Compare(a.row.at(), b.row.at()))
	})
	for len(rows) > 0 {
		n := 1
		for n < len(rows) && rows[n].row.set() == rows[0].row.set() {
			n++
		}
		if err := k.putSet(t, rows[:n], enter); err != nil {
			return err
		}
		rows = rows[n:]
	}
	return nil
}

func (k *setKind[R]) putSet(t *Tx, brought []broughtRow[R], enter func(broughtRow[R]) error) error {
	names := k.keys(brought[0].row)
	held, err := k.read(t, " WHERE "+k.same, args(names[:len(names)-1])...)
	if err != nil {
		return err
	}
	s := newSet(k, brought, held)
	gone, ok, err := s.settle()
	if err != nil || !ok {
		return err
	}
	for _, h := range gone {
		if err := enter(brought[0]); err != nil {
			return err
		}
		im, keys := brought[0].im, k.keys(h.row)
		im.Changed++
		if err := im.exec("DELETE FROM "+k.table+" WHERE "+where(keys), args(keys)...); err != nil {
			return err
		}
	}
	for _, b := range brought {
		if err := enter(b); err != nil {
			return err
		}
		if _, err := b.im.put(k.table, k.keys(b.row), k.values(b.row), b.row.line()); err != nil {
			return err
		}
	}
	return nil
}

// set is one set on its way into the ledger.
type set[R memberRow] struct {
	*setKind[R]
	brought []broughtRow[R]
	held    []heldRow[R]
	beside  []heldRow[R] // of the held, those that the file does not name
	file    []R          // what is brought, alone
	all     []R          // as the set would stand
}

func newSet[R memberRow](k *setKind[R], brought []broughtRow[R], held []heldRow[R]) *set[R] {
	s := &set[R]{setKind: k, brought: brought, held: held}
	for _, b := range brought {
		s.file = append(s.file, b.row)
	}
	s.all = slices.Clone(s.file)
	for _, h := range held {
		if s.index(h.row) < 0 {
			s.beside = append(s.beside, h)
			s.all = append(s.all, h.row)
		}
	}
	slices.SortStableFunc(s.all, func(a, b R) int { return cmp.Compare(a.at(), b.at()) })
	return s
}

// index finds the brought row at the place of a row; -1 where there is none.
func (s *set[R]) index(row R) int {
	return slices.IndexFunc(s.file, func(r R) bool { return r.at() == row.at() })
}

// settle decides whether the set can be taken, and which held rows it puts
// away. Rows that fit with those held are taken beside them. With --replace, a
// file that states a whole set takes the place of the ledger's.
func (s *set[R]) settle() (gone []heldRow[R], ok bool, err error) {
	var held []R
	for _, h := range s.held {
		held = append(held, h.row)
	}
	whole := s.fault(s.file) == nil && (len(held) == 0 || s.covers(s.file, held))
	if whole && len(s.beside) > 0 && s.brought[0].im.Replace {
		return s.beside, true, nil
	}
	if fault := s.fault(s.all); fault != nil {
		return nil, false, s.refuseFault(fault)
	}
	// Two whole sets, each with rows that the other lacks, are two versions:
	// mixed they would be neither.
	if whole && len(s.beside) > 0 && len(s.file) > len(s.held)-len(s.beside) {
		return nil, false, s.refuseVersion()
	}
	clean, err := s.compareHeld()
	return nil, clean, err
}

// compareHeld reports the rows that contradict held ones.
func (s *set[R]) compareHeld() (clean bool, err error) {
	at := -1
	for i, b := range s.brought {
		stored, importID, line, found, err := b.im.stored(s.table, s.keys(b.row), s.values(b.row))
		if err != nil {
			return false, err
		}
		if !found {
			continue
		}
		_, same, err := b.im.compare(s.values(b.row), stored, importID, line, b.row.line())
		if err != nil {
			return false, err
		}
		if !same {
			at = i
		}
	}
	if at >= 0 {
		s.refuseOthers(at)
	}
	return at < 0, nil
}

func (s *set[R]) refuseVersion() error {
	b := s.brought[0]
	from, err := b.im.provenance(s.beside[0].importID, int64(s.beside[0].row.line()))
	b.im.refuse(b.row.line(), "", "", fmt.Sprintf("%s: the ledger holds it with other %s (%s)", s.what(b.row), s.rows, from),
		"correct the file, give it another name, or use --replace to put the file's in place of the ledger's and keep the old ones in its history")
	s.refuseOthers(0)
	return err
}

// refuseFault reports a set that is not in order: at the last row of the file
// that is part of what is wrong.
func (s *set[R]) refuseFault(f *setFault) error {
	at, other := s.index(s.all[f.row]), f.before
	if at < 0 && f.before >= 0 {
		at, other = s.index(s.all[f.before]), f.row
	}
	if other >= 0 && at >= 0 {
		if i := s.index(s.all[other]); i >= 0 && s.file[i].line() > s.file[at].line() {
			at, other = i, f.row
		}
	}
	what := f.what
	if other >= 0 {
		words, err := s.whence(s.all[other])
		if err != nil {
			return err
		}
		what += " (" + words + ")"
	}
	at = max(at, 0)
	b := s.brought[at]
	do := f.do
	if len(s.beside) > 0 {
		do += "; to put a new one in place of the ledger's, give all its " + s.rows + " and say --replace"
	}
	b.im.refuse(b.row.line(), "", "", s.what(b.row)+": "+what, do)
	s.refuseOthers(at)
	return nil
}

// whence says in words where a row stands.
func (s *set[R]) whence(row R) (string, error) {
	if i := s.index(row); i >= 0 {
		return fmt.Sprintf("line %d", row.line()), nil
	}
	for _, h := range s.beside {
		if h.row.at() == row.at() {
			return s.brought[0].im.provenance(h.importID, int64(row.line()))
		}
	}
	return "", nil
}

// refuseOthers reports the rows that are refused for another one.
func (s *set[R]) refuseOthers(at int) {
	for i, b := range s.brought {
		if i != at {
			b.im.refuse(b.row.line(), "", "", fmt.Sprintf("%s is taken as a whole or not at all", s.what(b.row)), fmt.Sprintf("see line %d", s.file[at].line()))
		}
	}
}

// checkAll looks whether every set in the ledger is in order, as it must be
// after rows were taken away.
func (k *setKind[R]) checkAll(im *Import) error {
	held, err := k.read(im, "")
	for len(held) > 0 && err == nil {
		var rows []R
		for _, h := range held {
			if h.row.set() == held[0].row.set() {
				rows = append(rows, h.row)
			}
		}
		if f := k.fault(rows); f != nil {
			im.refuse(0, "", "", fmt.Sprintf("without it %s would not be whole: %s", k.what(rows[0]), f.what), "undo the import that added to it first")
		}
		held = held[len(rows):]
	}
	return err
}

// checkSets looks over every scheme and growth curve.
func (im *Import) checkSets() error {
	if err := classSets.checkAll(im); err != nil {
		return err
	}
	return curveSets.checkAll(im)
}

// putSets takes what was gathered into the ledger, at the end of an import.
func (im *Import) putSets() error {
	if err := classSets.put(im.Tx, im.bounds, func(broughtRow[ClassBound]) error { return nil }); err != nil {
		return err
	}
	err := curveSets.put(im.Tx, im.points, func(broughtRow[CurvePoint]) error { return nil })
	im.bounds, im.points = nil, nil
	return err
}
