package intake

import "fmt"

// unfilledRows are rows of long clippings that nobody filled in, such as those
// of a field sheet for frames that were not reached: neither a weight nor a
// status. They count as lost, which is missing and never zero, unless the user
// has them left out. Either way the summary says how many there were.
type unfilledRows struct {
	leaveOut bool
	here     bool // the row in hand is one
	lost     int
	left     int
	first    int // line of the first that counts as lost
}

// written tells whether somebody wrote in a row that has no weight: a tare, a
// note or what was looked for.
func (c *clippings) written(cells []string) bool {
	for _, s := range []*source{&c.groups[0].weighing[atTare], &c.noteAt, &c.sampledAt} {
		if s.index >= 0 && c.cell(s, cells) != "" {
			return true
		}
	}
	return false
}

// count counts the row in hand and tells whether it is left out.
func (u *unfilledRows) count(line int, written bool) (out bool) {
	if u.leaveOut && !written {
		u.left++
		return true
	}
	if u.lost++; u.lost == 1 {
		u.first = line
	}
	return false
}

// tell says in the summary what became of the rows.
func (u *unfilledRows) tell(sum *Summary, line string) {
	if u.left > 0 {
		sum.notice("%s without a weight and a status and left out, as --unfilled left-out says", rowsWere(u.left))
	}
	switch where := fmt.Sprintf("(first in %s %d)", line, u.first); {
	case u.lost > 0 && u.leaveOut:
		sum.notice("%s without a weight and a status, but with a tare, a note or what was looked for %s, counted as lost: missing, never zero", rowsWere(u.lost), where)
	case u.lost > 0:
		sum.notice("%s without a weight and a status %s and counted as lost: missing, never zero; write empty or 0 where nothing was found, or leave such rows out with --unfilled left-out", rowsWere(u.lost), where)
	}
}

// rowsWere begins a sentence about some rows.
func rowsWere(n int) string {
	if n == 1 {
		return "1 row was found"
	}
	return fmt.Sprintf("%d rows were found", n)
}
