package intake

import (
	"fmt"
	"maps"
	"slices"
	"strings"
)

// leaveOut says which rows are left out on purpose: those whose cell in a
// column is one of the values, whatever its case.
type leaveOut struct {
	column string
	index  int            // the cell, or -1 where a constant decides for all rows
	value  string         // the constant
	met    map[string]int // folded value -> rows
}

// leaveOutRules finds the columns of --leave-out: by the file's name, else by
// ours. A column that is not there is a problem, since the rows would come in.
func (m *matcher) leaveOutRules() []*leaveOut {
	var rules []*leaveOut
	for _, name := range slices.Sorted(maps.Keys(m.options.LeaveOut)) {
		rule := &leaveOut{column: name, index: -1, met: map[string]int{}}
		for _, v := range m.options.LeaveOut[name] {
			rule.met[leaveOutKey(v)] = 0
		}
		at := find(m.table.header, trimCell(name))
		c, _ := m.kind.column(name)
		s := m.sources[c.quantity]
		switch {
		case len(at) > 1:
			m.problem(fmt.Sprintf("the header has %d columns named %q, which --leave-out goes by", len(at), name), "rename all but one in the file")
		case len(at) == 1:
			rule.index = at[0]
		case s != nil && c.name == s.name:
			rule.index, rule.value = s.index, s.constant
		default:
			m.problem(fmt.Sprintf("the header has no column %q, which --leave-out goes by", name), "the file has "+listHeader(m.table.header))
		}
		rules = append(rules, rule)
	}
	return rules
}

// leaveOutKey is a cell as --leave-out compares it.
func leaveOutKey(cell string) string { return strings.ToLower(trimCell(cell)) }

// hits tells whether a row is left out, and counts it.
func (r *leaveOut) hits(cells []string) bool {
	cell := r.value
	if r.index >= 0 {
		cell = cells[r.index]
	}
	key := leaveOutKey(cell)
	n, listed := r.met[key]
	if listed {
		r.met[key] = n + 1
	}
	return listed
}

// unmet lists the values that no row had.
func (r *leaveOut) unmet() []string {
	var values []string
	for _, v := range slices.Sorted(maps.Keys(r.met)) {
		if r.met[v] == 0 {
			values = append(values, fmt.Sprintf("%q", v))
		}
	}
	return values
}
