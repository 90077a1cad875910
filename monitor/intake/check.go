package intake

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"clipledger/schema"
)

// checker reads the cells of one row after the other and gathers what is
// wrong with the row in hand. Its methods take the name of our column and the
// cell; they return a zero value where the cell is missing or wrong.
type checker struct {
	file     string
	line     int
	problems []schema.Problem
	nothing  bool // the row is in order and has nothing to record
	missing  missingWords
	dates    string // the form of dates
	isoToo   bool   // a workbook's own dates come as YYYY-MM-DD whatever the form
	comma    bool   // numbers have a decimal comma
	known    *known
	binding  *binding
	summary  *Summary
}

// newChecker makes the checker of one input.
func newChecker(in *input, v *schema.Vocabulary) checker {
	dates := in.options.Dates
	if dates == "" {
		dates = DatesISO
	}
	return checker{file: in.table.file.name, missing: in.missing, dates: dates,
		isoToo: in.table.sheet != nil, comma: in.options.DecimalComma,
		known: newKnown(v), binding: in.binding, summary: &in.summary}
}

// start begins a row.
func (c *checker) start(line int) {
	c.line = line
	c.problems = c.problems[:0]
	c.nothing = false
}

// bad notes that a cell is wrong; column "" speaks of the whole row.
func (c *checker) bad(column, value, what, do string) {
	c.problems = append(c.problems, schema.Problem{File: c.file, Line: c.line, Column: column, Value: value, What: what, Do: do})
}

// cell returns what a row says under a source: without spaces around it, ""
// where it is missing.
func (c *checker) cell(s *source, cells []string) string {
	if s.index < 0 {
		return s.constant
	}
	return c.missing.value(cells[s.index])
}

// key reads a label: a site, a frame, a species.
func (c *checker) key(column, cell string) string {
	return c.text(column, cell, maxKeyLength, false)
}

// needKey reads a label that must be there.
func (c *checker) needKey(column, cell, do string) string {
	if cell == "" {
		c.bad(column, "", "is missing", do)
		return ""
	}
	return c.key(column, cell)
}

// note reads free text, line breaks included.
func (c *checker) note(column, cell string) string {
	return c.text(column, cell, maxNoteLength, true)
}

// text reads a text and checks that it can be seen and kept.
func (c *checker) text(column, cell string, longest int, lines bool) string {
	v := unquoteText(cell)
	if !lines {
		v = strings.ReplaceAll(v, "\u00a0", " ") // looks like a space, and would tell two labels apart
	}
	if what, do := textFault(v, longest, lines); what != "" {
		c.bad(column, cell, what, do)
		return ""
	}
	return v
}

// number reads a number within limits, both included; unit follows the limits
// in the message ("%", " cm").
func (c *checker) number(column, cell string, lowest, highest float64, unit string) schema.Num {
	v, ok := c.anyNumber(column, cell)
	if ok && (v < lowest || v > highest) {
		c.bad(column, cell, fmt.Sprintf("is outside %s to %s%s", showNumber(lowest), showNumber(highest), unit), "check the digits, the unit and the column")
		ok = false
	}
	if !ok {
		return schema.Num{}
	}
	return schema.Some(v)
}

// positive reads a number above zero, up to a limit.
func (c *checker) positive(column, cell string, highest float64, unit string) schema.Num {
	v, ok := c.anyNumber(column, cell)
	if ok && (v <= 0 || v > highest) {
		c.bad(column, cell, fmt.Sprintf("must be above 0 and at most %s%s", showNumber(highest), unit), "check the digits, the unit and the column")
		ok = false
	}
	if !ok {
		return schema.Num{}
	}
	return schema.Some(v)
}

// anyNumber reads a number; ok is false where the cell is missing or wrong.
func (c *checker) anyNumber(column, cell string) (v float64, ok bool) {
	if cell == "" {
		return 0, false
	}
	parse := parseNumber
	if c.comma {
		parse = parseCommaNumber
	}
	v, what, do := parse(cell)
	if what != "" {
		c.bad(column, cell, what, do)
		return 0, false
	}
	return v, true
}

// whole reads a whole number within limits; 0 where it is missing or wrong.
func (c *checker) whole(column, cell string, lowest, highest int) int {
	v, ok := c.anyNumber(column, cell)
	if !ok {
		return 0
	}
	if v != math.Trunc(v) {
		c.bad(column, cell, "is not a whole number", fmt.Sprintf("write a whole number from %d to %d", lowest, highest))
		return 0
	}
	if v < float64(lowest) || v > float64(highest) {
		c.bad(column, cell, fmt.Sprintf("is outside %d to %d", lowest, highest), "check the digits and the column")
		return 0
	}
	return int(v)
}

// year reads a year.
func (c *checker) year(column, cell string) int {
	return c.whole(column, cell, firstYear, lastYear)
}

// month reads a month, by number or English name.
func (c *checker) month(column, cell string) int {
	if cell == "" {
		return 0
	}
	m, ok := parseMonth(cell)
	if !ok {
		c.bad(column, cell, "is not a month", "write a number from 1 to 12")
	}
	return m
}

// date reads a day. Where a file has a column of years too, or could have,
// the message says that the dates can be left out.
func (c *checker) date(column, cell string) (iso string) {
	if cell == "" {
		return ""
	}
	if c.isoToo && isISODay(cell) {
		return cell
	}
	iso, what, do := parseDate(cell, c.dates)
	if what == "" {
		return iso
	}
	if s := c.binding.source("date"); column == "date" && s.index >= 0 {
		if c.binding.has("year") {
			do += fmt.Sprintf("; or say --ignore %q: the file has years in a column of their own", s.theirs)
		} else {
			do += fmt.Sprintf("; or say --ignore %q and give the year with --set year=... or --map year=...", s.theirs)
		}
	}
	c.bad(column, cell, what, do)
	return ""
}

// dateAndYear checks that a date and a growth year that stand together are
// not years apart. A growth year can begin in the calendar year before the one
// it is named for, and a late cut can count for the year before.
func (c *checker) dateAndYear(date string, year int) {
	if date == "" || year == 0 {
		return
	}
	calendar, _ := strconv.Atoi(date[:4]) // our own YYYY-MM-DD
	if year < calendar-1 || year > calendar+1 {
		c.bad("year", strconv.Itoa(year), "does not go with the date "+date, "correct the one that is wrong")
	}
}

// noDateNorYear tells that a row does not say when.
func (c *checker) noDateNorYear() {
	c.bad("", "", "the row has neither a date nor a year", "fill one of them")
}

// constantFault returns what is wrong with a value of --set as the user's
// error: it would be wrong in every row.
func (c *checker) constantFault() error {
	for _, p := range c.problems {
		for _, s := range c.binding.sources {
			if s.given && s.name == p.Column {
				return usagef("--set %s=%q: %s", p.Column, s.constant, p.Message())
			}
		}
	}
	return nil
}

// yesNo reads whether a frame is caged.
func (c *checker) yesNo(column, cell string) bool {
	switch strings.ToLower(cell) {
	case "", "no", "n", "0", "false", "open", "uncaged":
		return false
	case "yes", "y", "1", "true", "caged":
		return true
	}
	c.bad(column, cell, "is neither yes nor no", "write yes or no (also 1 or 0, caged or open)")
	return false
}
