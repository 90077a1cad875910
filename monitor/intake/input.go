package intake

import (
	"errors"
	"io"

	"clipledger/schema"
)

// input is one file being read as one kind: its table, what its columns are,
// and the tally.
type input struct {
	table   *table
	binding *binding
	leave   []*leaveOut
	missing missingWords
	options *Options
	problem func(schema.Problem)
	summary Summary
}

// openInput reads and matches the header. Problems that end the reading have
// been told where the error is ErrUnreadable.
func openInput(f *File, k *kind, o *Options, problem func(schema.Problem)) (*input, error) {
	switch o.Dates {
	case "", DatesISO, DatesMDY, DatesDMY:
	default:
		return &input{}, usagef("--dates %s: dates are iso (YYYY-MM-DD), mdy (month/day/year) or dmy (day/month/year)", o.Dates)
	}
	in := &input{options: o, missing: newMissingWords(o.Missing), problem: problem}
	var err error
	if in.table, err = openTable(f, o, func(t *table) headerScore { return knownColumns(t, k, o) }); err != nil {
		return in, in.end(err)
	}
	in.summary.Delimiter = in.table.delimiter
	in.layoutNotices()
	m, err := match(in.table, k, o, &in.summary)
	if err != nil {
		return in, err
	}
	in.binding, in.leave = m.binding, m.leaveOutRules()
	for _, s := range in.binding.sources {
		s.constant = in.missing.value(s.constant)
	}
	for _, p := range m.problems {
		problem(p)
	}
	if len(m.problems) > 0 {
		return in, in.end(ErrUnreadable)
	}
	in.summary.Used = in.binding.used()
	return in, nil
}

// layoutNotices tells in what form the table was found.
func (in *input) layoutNotices() {
	t := in.table
	switch {
	case t.sheet != nil:
		for _, text := range t.sheet.found {
			in.summary.notice("%s", text)
		}
		return
	case t.parquet != nil:
		return
	case in.options.Sheet != "":
		in.summary.notice("--sheet was not needed: this is not a workbook")
	}
	if t.text.utf16 {
		in.summary.notice("read as UTF-16")
	}
	if t.delimiter != ',' {
		in.summary.notice("cells are separated by %ss, not commas", delimiterName(t.delimiter))
	}
}

// each gives every row that is neither unusable nor left out to handle.
// Before an unusable row is told of, settle (where not nil) finishes what
// handle has put off, so that problems come in the order of the file.
func (in *input) each(handle func(cells []string, line int) error, settle func() error) error {
	if settle == nil {
		settle = func() error { return nil }
	}
	for {
		cells, line, err := in.table.next()
		if err == io.EOF {
			break
		}
		if err != nil {
			if err := in.unusable(err, settle); err != nil {
				return err
			}
			continue
		}
		in.summary.Rows++
		if in.leftOut(cells) {
			in.summary.LeftOut++
			continue
		}
		if faults := in.cellFaults(line); len(faults) > 0 {
			if err := settle(); err != nil {
				return err
			}
			in.refuse(faults...)
			continue
		}
		if err := handle(cells, line); err != nil {
			return err
		}
	}
	if err := settle(); err != nil {
		return err
	}
	return in.finish()
}

// unusable tells of a row that cannot be used; the error it returns is not
// nil where the reading ends.
func (in *input) unusable(err error, settle func() error) error {
	if err := settle(); err != nil {
		return err
	}
	var bad *rowError
	if !errors.As(err, &bad) || bad.ends {
		return in.end(err)
	}
	in.summary.Rows++
	in.refuse(bad.Problem)
	return nil
}

// leftOut tells whether --leave-out names the row.
func (in *input) leftOut(cells []string) bool {
	out := false
	for _, rule := range in.leave {
		out = rule.hits(cells) || out
	}
	return out
}

// cellFaults lists the cells of a sheet's row that have no value, in columns
// that are used. A word that --missing names is missing there too.
func (in *input) cellFaults(line int) (problems []schema.Problem) {
	if in.table.sheet == nil {
		return nil
	}
	for _, f := range in.table.sheet.faults {
		for _, s := range in.binding.sources {
			if s.index == f.column && (f.value == "" || in.missing.value(f.value) != "") {
				problems = append(problems, schema.Problem{File: in.table.file.name, Line: line, Column: s.name, Value: f.value, What: f.what, Do: f.do})
			}
		}
	}
	return problems
}

// refuse tells the problems of a row that gives no record.
func (in *input) refuse(problems ...schema.Problem) {
	in.summary.Refused++
	for _, p := range problems {
		in.problem(p)
	}
}

// finish closes the account after the last row.
func (in *input) finish() error {
	for _, text := range in.table.remarks() {
		in.summary.notice("%s", text)
	}
	if in.summary.Rows == 0 {
		in.problem(schema.Problem{File: in.table.file.name, What: "the file has a header and no rows below it", Do: "export it again, or name another file"})
		return in.end(ErrUnreadable)
	}
	for _, rule := range in.leave {
		for _, v := range rule.unmet() {
			in.summary.notice("--leave-out %s: no row has %s", rule.column, v)
		}
	}
	return in.table.file.drain()
}

// end tells why the reading ends early, and reads the rest of the file so
// that its hash is known. Errors that are not about the content pass through.
func (in *input) end(err error) error {
	var bad *rowError
	if errors.As(err, &bad) {
		in.problem(bad.Problem)
		err = ErrUnreadable
	}
	if errors.Is(err, ErrUnreadable) {
		if err := in.table.file.drain(); err != nil {
			return err
		}
	}
	return err
}
