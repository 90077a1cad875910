package schema

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
)

// Merging brings the records of another office's ledger into this one, by the
// rules of an import: what is the same changes nothing, blanks are completed,
// a contradiction is listed with both values and their sources. Every import
// of the other ledger that brought records becomes an import here, and the
// records name it and its line. Settings, accepted findings and the history of
// old values stay where they are.
//
// How a frame was clipped is compared component by component, and a component
// that is silent stays silent: so the outcome does not depend on the order in
// which ledgers come.

// mergeKind is the kind of the import that notes a merge and when it was made.
const mergeKind = "merge"

// MergeOptions say how another ledger is merged.
type MergeOptions struct {
	Name    string        // of the other ledger, for messages
	Prefix  string        // put before its site codes
	Replace bool          // its values win over contradicting ones of this ledger
	Problem func(Problem) // receives contradictions
	Notice  func(string)  // receives what was done unasked
}

// Merged is what a merge came to.
type Merged struct {
	Added, Changed, Identical int
	Imports                   int // imports that came along
}

// UnlikeError says which settings keep two ledgers from being merged.
type UnlikeError struct {
	Name     string
	Settings []string // name, theirs and ours in words
}

func (e *UnlikeError) Error() string {
	return fmt.Sprintf("%s cannot be merged as long as the ledgers differ in %s", e.Name, strings.Join(e.Settings, ", "))
}

// mustAgree are the settings that two ledgers must share to be merged: they
// say what a written weight means.
var mustAgree = []string{"basis", "moisture", "trace-g"}

// mayDiffer are the settings that change numbers and do not merge.
var mayDiffer = []string{"book-tables", "fallback-herbaceous", "fallback-browse", "fallback-standing-dead", "fallback-litter"}

// ledgerMerge is another ledger on its way into this one.
type ledgerMerge struct {
	MergeOptions
	t       *Tx
	from    *Snapshot
	imports map[int64]*Import // theirs, by their numbers
	wrote   map[int64]bool    // by our numbers
	writing int64             // the import that the table writing names; 0 for none
	place   string            // of the record in hand, for messages
	sites   map[int64]int64   // theirs to ours; and so on
	species map[int64]int64
	people  map[int64]string // their observers' names
	types   map[int64]string // their frame types' names
}

// MergeLedger merges another ledger, as it stands in a snapshot, into this
// one. Contradictions are reported; the caller then gives the transaction up.
func (t *Tx) MergeLedger(from *Snapshot, o MergeOptions) (Merged, error) {
	if o.Problem == nil {
		o.Problem = func(Problem) {}
	}
	if o.Notice == nil {
		o.Notice = func(string) {}
	}
	m := &ledgerMerge{MergeOptions: o, t: t, from: from, imports: map[int64]*Import{}, wrote: map[int64]bool{}, sites: map[int64]int64{0: 0},
		species: map[int64]int64{}, people: map[int64]string{}, types: map[int64]string{}}
	if err := m.compareSettings(); err != nil {
		return Merged{}, err
	}
	for _, step := range []func() error{m.openImports, m.frameTypes, m.speciesRecords, m.siteRecords, m.bookValues, m.readNames, m.drying, m.frames, m.estimates, m.classes, m.curves, m.plainTables} {
		if err := step(); err != nil {
			return Merged{}, fmt.Errorf("merge %s: %w", o.Name, err)
		}
	}
	out, err := m.closeImports()
	if err != nil {
		return out, fmt.Errorf("merge %s: %w", o.Name, err)
	}
	return out, m.noteHistory(out)
}

// compareSettings refuses a ledger whose weights mean something else.
func (m *ledgerMerge) compareSettings() error {
	ours, err := readSettings(m.t.ctx, m.t.tx)
	if err != nil {
		return err
	}
	theirs, err := m.from.Settings()
	if err != nil {
		return err
	}
	unlike := &UnlikeError{Name: m.Name}
	for _, name := range mustAgree {
		if !sameSetting(ours, theirs, name) {
			unlike.Settings = append(unlike.Settings, fmt.Sprintf("%s (%q there, %q here)", name, theirs[name], ours[name]))
		}
	}
	if len(unlike.Settings) > 0 {
		return unlike
	}
	for _, name := range mayDiffer {
		if !sameSetting(ours, theirs, name) {
			m.Notice(fmt.Sprintf("%s is %q there and %q here: settings do not merge, and this one can make its dry weights come out otherwise here", name, theirs[name], ours[name]))
		}
	}
	return nil
}

// sameSetting compares numbers as numbers: 0.1 is 0.10.
func sameSetting(a, b Values, name string) bool {
	x, isX := a.Number(name)
	y, isY := b.Number(name)
	return a[name] == b[name] || isX && isY && x == y
}

// as returns the import here that stands for one of theirs, and makes the
// history name it.
func (m *ledgerMerge) as(theirs int64) (*Import, error) {
	im := m.imports[theirs]
	if im == nil {
		return nil, fmt.Errorf("a record names the import %d, which brought none", theirs)
	}
	if m.writing == im.id {
		return im, nil
	}
	query := `UPDATE writing SET import_id=?`
	if m.writing == 0 {
		query = `INSERT INTO writing(one,import_id) VALUES(1,?)`
	}
	m.writing = im.id
	return im, m.t.exec(query, im.id)
}

// problem words a problem for two ledgers, where imports word it for a file.
func (m *ledgerMerge) problem(p Problem) {
	if m.place != "" {
		p.What = m.place + ": " + p.What
	}
	switch {
	case p.Column == "table":
		p.Do = "give the table the same values in both ledgers, or take it out of force here first"
	case strings.Contains(p.Do, "--replace"):
		p.Do = "settle it in one of the two ledgers, or use --replace to take the other's value and keep this one's in the history"
		if strings.HasPrefix(m.place, "site ") && m.Prefix == "" {
			p.Do += "; if two sites share a code, use --prefix"
		}
	}
	m.Problem(p)
}

// noteHistory says what was left behind.
func (m *ledgerMerge) noteHistory(out Merged) error {
	if out.Added+out.Changed == 0 {
		return nil
	}
	return m.from.each(`SELECT count(*) FROM change WHERE record <> 'setting'`, nil, func(scan func(...any) error) error {
		var n int
		err := scan(&n)
		if n > 0 {
			m.Notice(fmt.Sprintf("its history holds %d earlier states of records; they stay there, and only what it holds now came along", n))
		}
		return err
	})
}

// OpenForeign opens another office's ledger for merging: only for reading,
// and only where it is whole and laid out as this program does it.
func OpenForeign(ctx context.Context, path string) (*Ledger, error) {
	l, err := OpenRead(ctx, path)
	if err != nil {
		return nil, foreign(path, err)
	}
	if err := l.Read(ctx, (*Snapshot).checkForeign); err != nil {
		return nil, errors.Join(foreign(path, err), l.Close())
	}
	return l, nil
}

// ForeignError says why a ledger cannot be merged, and what to do.
type ForeignError struct{ what, do string }

func (e *ForeignError) Error() string { return e.what + "\n" + e.do }

// foreign words an error of opening for a ledger that is not the user's own.
func foreign(path string, err error) error {
	text := strings.TrimPrefix(err.Error(), path+": ")
	do := ""
	switch {
	case errors.Is(err, ErrNoLedger):
		text, do = "there is no ledger", "Look at how its name is written."
	case errors.Is(err, ErrNotLedger):
		do = "Only ledgers are merged; tables come in with clipledger import."
	case errors.Is(err, ErrNewer):
		do = "Get the newer clipledger; this one cannot read the file."
	case errors.Is(err, errLayout):
		do = "Take the change out again, or ask the other office for a backup that clipledger verify passes."
	case errors.Is(err, ErrDamaged):
		do = "Ask the other office for a backup that clipledger verify passes."
	default:
		return err
	}
	return &ForeignError{path + ": " + text, do}
}

// errLayout says that tables, views or triggers are not those of this program.
var errLayout = errors.New("this ledger was altered by another program")

// checkForeign looks whether a ledger is whole and ours in its layout.
func (s *Snapshot) checkForeign() error {
	fault := ""
	err := s.each(`PRAGMA quick_check(1)`, nil, func(scan func(...any) error) error {
		var text string
		err := scan(&text)
		if text != "ok" {
			fault = text
		}
		return err
	})
	if err != nil {
		return err
	}
	if fault != "" {
		return fmt.Errorf("%w: %s", ErrDamaged, fault)
	}
	layout, err := s.verifyLayout()
	if err != nil {
		return err
	}
	if len(layout.Faults) > 0 {
		slices.Sort(layout.Faults)
		return fmt.Errorf("%w: %s", errLayout, layout.Faults[0])
	}
	keys, err := s.verifyKeys()
	if err == nil && len(keys.Faults) > 0 {
		err = fmt.Errorf("%w: %s", ErrDamaged, keys.Faults[0])
	}
	return err
}
