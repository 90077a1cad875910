package intake

import (
	"fmt"
	"strings"

	"github.com/gocarina/gocsv"

	"clipledger/schema"
)

// smallBatch is how many rows of a small kind are bound to their structs in
// one go.
const smallBatch = 256

// small says how a small kind of file becomes records. R has one string field
// for every quantity of the kind, tagged with its name for gocsv, which puts
// the cells where they belong; what the cells mean is read here, since gocsv
// would take a blank for 0, 1.9 for 1 and NaN for a number.
type small[R, T any] struct {
	kind *kind

	// read makes a record of a row; what is wrong goes to the checker.
	read func(c *checker, row *R) T

	// same tells rows of one file apart; two alike are a problem.
	same func(rec *T) string
	// twice says what it is that stands twice, and do how to mend it.
	twice, do string
}

// smallReader reads one file of a small kind.
type smallReader[R, T any] struct {
	*small[R, T]
	checker
	in    *input
	emit  func(T) error
	order []*source // the columns of the batch
	batch batch
	lines []int // of the batch's rows
	first map[string]int
}

// readSmall reads a whole file of a small kind.
func readSmall[R, T any](s *small[R, T], f *File, o Options, v *schema.Vocabulary, emit func(T) error, problem func(schema.Problem)) (Summary, error) {
	in, err := openInput(f, s.kind, &o, problem)
	if err != nil {
		return in.summary, err
	}
	r := &smallReader[R, T]{small: s, checker: newChecker(in, v), in: in, emit: emit, first: map[string]int{}}
	var header []string
	for _, c := range s.kind.columns {
		if src := in.binding.sources[c.quantity]; src != nil && src.name == c.name {
			r.order = append(r.order, src)
			header = append(header, c.quantity)
		}
	}
	r.batch = batch{header}
	if err := r.tryConstants(); err != nil {
		return in.summary, err
	}
	err = in.each(r.collect, r.settle)
	return in.summary, err
}

// batch is a header and rows, as gocsv takes them.
type batch [][]string

// ReadAll returns the header and the rows.
func (b batch) ReadAll() ([][]string, error) { return b, nil }

// Read is not needed to unmarshal a batch.
func (b batch) Read() ([]string, error) { return nil, fmt.Errorf("a batch is read as a whole") }

// tryConstants reads a row that holds nothing but the values of --set, so
// that a wrong one is the user's error and not one in every row.
func (r *smallReader[R, T]) tryConstants() error {
	cells := make([]string, len(r.order))
	for i, s := range r.order {
		cells[i] = s.constant
	}
	rows, err := r.bind(append(r.batch[:1:1], cells))
	if err != nil {
		return err
	}
	r.start(0)
	r.read(&r.checker, &rows[0])
	return r.constantFault()
}

// bind puts the cells of rows into structs.
func (r *smallReader[R, T]) bind(b batch) (rows []R, err error) {
	if err := gocsv.UnmarshalCSV(b, &rows); err != nil {
		return nil, fmt.Errorf("bind the columns of %s: %w", r.file, err)
	}
	return rows, nil
}

// collect adds a row to the batch.
func (r *smallReader[R, T]) collect(cells []string, line int) error {
	row := make([]string, len(r.order))
	for i, s := range r.order {
		row[i] = strings.Clone(r.cell(s, cells))
	}
	r.batch = append(r.batch, row)
	r.lines = append(r.lines, line)
	if len(r.lines) < smallBatch {
		return nil
	}
	return r.settle()
}

// settle turns the rows of the batch into records.
func (r *smallReader[R, T]) settle() error {
	if len(r.lines) == 0 {
		return nil
	}
	rows, err := r.bind(r.batch)
	if err != nil {
		return err
	}
	for i := range rows {
		if err := r.record(&rows[i], r.lines[i]); err != nil {
			return err
		}
	}
	r.batch, r.lines = r.batch[:1], r.lines[:0]
	return nil
}

// record turns one row into a record and gives it out.
func (r *smallReader[R, T]) record(row *R, line int) error {
	r.start(line)
	rec := r.read(&r.checker, row)
	if len(r.problems) == 0 && !r.nothing {
		key := r.same(&rec)
		if before, ok := r.first[key]; ok {
			r.bad("", "", fmt.Sprintf("%s stands in line %d already", r.twice, before), r.do)
		} else {
			r.first[key] = line
		}
	}
	if len(r.problems) > 0 {
		r.in.refuse(r.problems...)
		return nil
	}
	if r.nothing {
		return nil
	}
	r.in.summary.Records++
	return r.emit(rec)
}

// name returns the file's column of a quantity by our name, for messages.
func (c *checker) name(quantity string) string { return c.binding.source(quantity).name }

// joinKey makes one text of the parts of a key.
func joinKey(parts ...any) string {
	var b strings.Builder
	for _, p := range parts {
		fmt.Fprintf(&b, "%v\x00", p)
	}
	return b.String()
}
