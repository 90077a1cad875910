package intake

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"clipledger/schema"
)

// source is where one of our columns comes from: a cell of the row or a
// constant.
type source struct {
	column
	index    int    // the cell, or -1
	constant string // where there is no cell; "" where there is nothing
	theirs   string // the file's name of the column
	given    bool   // set by --set
}

// binding says which column of a file states which of our quantities.
type binding struct {
	kind    *kind
	sources map[string]*source // by quantity
	taken   []bool             // by column of the file: mapped, matched, ignored or used to leave rows out
}

// has tells whether the file or a constant states a quantity.
func (b *binding) has(quantity string) bool { return b.sources[quantity] != nil }

// hasAny tells whether one of the quantities is stated.
func (b *binding) hasAny(quantities ...string) bool { return slices.ContainsFunc(quantities, b.has) }

// source returns where a quantity comes from; where it is not stated, a
// source that is always missing, under the quantity's first name.
func (b *binding) source(quantity string) source {
	if s := b.sources[quantity]; s != nil {
		return *s
	}
	for _, c := range b.kind.columns {
		if c.quantity == quantity {
			return source{column: c, index: -1}
		}
	}
	return source{column: column{name: quantity, quantity: quantity, factor: 1}, index: -1}
}

// used lists which of our columns came from which of theirs.
func (b *binding) used() map[string]string {
	used := map[string]string{}
	for _, s := range b.sources {
		if s.index >= 0 {
			used[s.name] = s.theirs
		}
	}
	return used
}

// matcher matches the header of one file to the columns of its kind.
type matcher struct {
	*binding
	table    *table
	options  *Options
	summary  *Summary
	problems []schema.Problem
}

// match matches a header. The error is a *UsageError; the problems of the
// matcher end the reading.
func match(t *table, k *kind, o *Options, sum *Summary) (*matcher, error) {
	m := &matcher{
		binding: &binding{kind: k, sources: map[string]*source{}, taken: make([]bool, len(t.header))},
		table:   t,
		options: o,
		summary: sum,
	}
	for _, step := range []func() error{m.mapped, m.ignored, m.direct, m.constants} {
		if err := step(); err != nil {
			return nil, err
		}
	}
	// A column that --map could not find is told once, not as missing too.
	if len(m.problems) == 0 {
		k.check(m)
	}
	return m, nil
}

// mapped binds the columns that --map names.
func (m *matcher) mapped() error {
	for _, ours := range slices.Sorted(maps.Keys(m.options.Map)) {
		theirs := trimCell(m.options.Map[ours])
		c, err := m.ours(ours, "--map")
		if err != nil {
			return err
		}
		switch at := find(m.table.header, theirs); {
		case len(at) == 0:
			m.problem(fmt.Sprintf("the header has no column %q, which --map gives for %s", theirs, c.name),
				"the file has "+listHeader(m.table.header))
		case len(at) > 1:
			m.problem(fmt.Sprintf("the header has %d columns named %q, which --map gives for %s", len(at), theirs, c.name),
				"rename all but one in the file")
		default:
			m.bind(c, at[0])
		}
	}
	return nil
}

// ignored marks the columns that --ignore names.
func (m *matcher) ignored() error {
	for _, name := range m.options.Ignore {
		at := find(m.table.header, trimCell(name))
		if len(at) == 0 {
			m.summary.notice("--ignore %q: the file has no such column", name)
		}
		for _, i := range at {
			if m.taken[i] {
				return usagef("column %q is named by both --map and --ignore: name it once", m.table.header[i])
			}
		}
		for _, i := range at {
			m.taken[i] = true
		}
	}
	return nil
}

// direct binds the columns whose own names are ours, and tells which are not.
func (m *matcher) direct() error {
	fromMap := maps.Clone(m.sources)
	for i, name := range m.table.header {
		if m.taken[i] {
			continue
		}
		c, known := m.kind.column(name)
		switch {
		case name == "" && i < m.table.least:
			m.summary.notice("column %d has no name and was ignored", i+1)
		case name == "":
		case !known && m.leavesOut(name):
		case !known:
			m.unknown(name)
		case fromMap[c.quantity] != nil:
			m.summary.notice("column %q was ignored, because --map takes %s from %q", name, fromMap[c.quantity].name, fromMap[c.quantity].theirs)
		default:
			m.bind(c, i)
		}
	}
	return nil
}

// LastTimePrefix begins the names of columns in which a field sheet shows what
// was recorded last time. They are told of and never read, nor is it proposed
// to map them.
const LastTimePrefix = "last_time_"

// unknown tells of a column that is not ours.
func (m *matcher) unknown(name string) {
	if strings.HasPrefix(foldName(name), foldName(LastTimePrefix)) {
		m.summary.notice("column %q shows what was recorded last time and was ignored", name)
		return
	}
	if m.kind.hint != nil {
		if hint := m.kind.hint(name); hint != "" {
			m.summary.notice("column %q is not known and was ignored; %s", name, hint)
			return
		}
	}
	if near := m.kind.nearest(name); near != "" {
		m.summary.notice("column %q is not known and was ignored; if it is %s, add --map %s=%q", name, near, near, name)
		return
	}
	m.summary.notice("column %q is not known and was ignored", name)
}

// leavesOut tells whether --leave-out goes by a column of the file.
func (m *matcher) leavesOut(name string) bool {
	for column := range m.options.LeaveOut {
		if foldName(column) == foldName(name) {
			return true
		}
	}
	return false
}

// constants binds what --set gives.
func (m *matcher) constants() error {
	for _, ours := range slices.Sorted(maps.Keys(m.options.Set)) {
		c, err := m.ours(ours, "--set")
		if err != nil {
			return err
		}
		if s := m.sources[c.quantity]; s != nil && s.given {
			return usagef("--set gives both %s and %s: give one of them", s.name, c.name)
		} else if s != nil {
			return usagef("--set %s: the file has a column %q for it; leave --set away, or ignore the column with --ignore %q", c.name, s.theirs, s.theirs)
		}
		m.sources[c.quantity] = &source{column: c, index: -1, constant: trimCell(m.options.Set[ours]), given: true}
	}
	return nil
}

// ours finds the column that a flag calls ours.
func (m *matcher) ours(name, flag string) (column, error) {
	c, ok := m.kind.column(name)
	if ok {
		return c, nil
	}
	did := ""
	if near := m.kind.nearest(name); near != "" {
		did = "; did you mean " + near + "?"
	}
	return c, usagef("%s %s: there is no column of that name (ours comes first, as in --map dry_g=\"Dry wt (g)\")%s", flag, name, did)
}

// bind takes a quantity from a column of the file.
func (m *matcher) bind(c column, i int) {
	m.taken[i] = true
	if other := m.sources[c.quantity]; other != nil {
		do := fmt.Sprintf("leave one out with --ignore %q", m.table.header[i])
		if other.theirs == m.table.header[i] {
			do = "rename or remove one in the file"
		}
		m.problem(fmt.Sprintf("columns %d %q and %d %q both give %s",
			other.index+1, other.theirs, i+1, m.table.header[i], quantityName(other.column, c)), do)
		return
	}
	m.sources[c.quantity] = &source{column: c, index: i, theirs: m.table.header[i]}
}

// quantityName says what two columns both give.
func quantityName(a, b column) string {
	if a.name == b.name {
		return a.name
	}
	return "the same thing (" + a.name + " and " + b.name + ")"
}

// lacking tells which columns are needed and not there.
func (m *matcher) lacking(lacks []lack) {
	if len(lacks) == 0 {
		return
	}
	var shown []string
	for _, l := range lacks {
		shown = append(shown, l.shown)
	}
	what := "a column is missing: "
	if len(lacks) > 1 {
		what = "columns are missing: "
	}
	m.problem(what+strings.Join(shown, "; "),
		fmt.Sprintf(`name yours with --map %s="...", or give one value for all rows with --set %s="..."; the file has %s`,
			lacks[0].example, lacks[0].example, listHeader(m.table.header)))
}

// problem adds a problem of the header.
func (m *matcher) problem(what, do string) {
	m.problems = append(m.problems, schema.Problem{File: m.table.file.name, Line: m.table.headerLine, What: what, Do: do})
}

// find returns where a name stands in the header: as written, else ignoring
// case, spaces and underscores.
func find(header []string, name string) (at []int) {
	for i, h := range header {
		if h == name && h != "" {
			at = append(at, i)
		}
	}
	if at != nil {
		return at
	}
	for i, h := range header {
		if h != "" && foldName(h) == foldName(name) {
			at = append(at, i)
		}
	}
	return at
}

// listHeader lists the columns of a file for a message.
func listHeader(header []string) string {
	const most = 30
	var names []string
	for _, h := range header {
		if h != "" {
			names = append(names, fmt.Sprintf("%q", h))
		}
	}
	if len(names) > most {
		return strings.Join(names[:most], ", ") + fmt.Sprintf(" and %d more", len(names)-most)
	}
	return strings.Join(names, ", ")
}
