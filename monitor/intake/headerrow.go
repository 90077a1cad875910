package intake

import (
	"errors"
	"fmt"
	"io"
	"slices"
)

// headerRows is among how many rows of a sheet, blank ones aside, the header
// is looked for.
const headerRows = 50

// headerScore says how well a row does for a header.
type headerScore struct {
	complete bool // it has all that is needed
	known    int  // columns that are ours
	width    int  // cells that hold something
}

// better tells whether a score beats another.
func (a headerScore) better(b headerScore) bool {
	switch {
	case a.complete != b.complete:
		return a.complete
	case a.known != b.known:
		return a.known > b.known
	}
	return a.width > b.width
}

// findHeader takes as the header of a sheet the first row that has all
// columns that are needed, since titles often stand above a table; where none
// has them, the row that has most of ours, so that what is missing can be
// told. Rows above it are passed over, and those below it are read next.
func (t *table) findHeader(score func(*table) headerScore) error {
	var rows []sheetRow
	best, bestScore := -1, headerScore{}
	for len(rows) < headerRows && !bestScore.complete {
		cells, line, err := t.read()
		if err == io.EOF {
			break
		}
		if err != nil {
			var bad *rowError
			if errors.As(err, &bad) {
				bad.ends = true
			}
			return err
		}
		if blank(cells) {
			continue
		}
		rows = append(rows, sheetRow{line, slices.Clone(cells), slices.Clone(t.sheet.faults)})
		t.setHeader(cells, line)
		this := score(t)
		for _, c := range cells {
			if trimCell(c) != "" {
				this.width++
			}
		}
		if best < 0 || this.better(bestScore) {
			best, bestScore = len(rows)-1, this
		}
	}
	if best < 0 {
		return t.fatal(0, fmt.Sprintf("the sheet %q is empty", t.sheet.part.name), "fill it, or name another sheet with --sheet")
	}
	t.setHeader(rows[best].cells, rows[best].line)
	t.sheet.replay = append(rows[best+1:], t.sheet.replay...)
	if best > 0 {
		above := "the row above it was"
		if best > 1 {
			above = fmt.Sprintf("the %d rows above it were", best)
		}
		t.sheet.found = append(t.sheet.found, fmt.Sprintf("the header is in row %d; %s passed over", t.headerLine, above))
	}
	return nil
}

// knownColumns scores the header of a table for a kind of file.
func knownColumns(t *table, k *kind, o *Options) (s headerScore) {
	for _, name := range t.header {
		if _, ok := k.column(name); ok && name != "" {
			s.known++
		}
	}
	for _, theirs := range o.Map {
		s.known += len(find(t.header, trimCell(theirs)))
	}
	m, err := match(t, k, o, &Summary{})
	s.complete = err == nil && len(m.problems) == 0
	return s
}
