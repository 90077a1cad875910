package schema

import (
	"context"
	"database/sql"
	"fmt"
)

// Method says how a dry weight was come by; the codes are those of the table
// dry_method, in the order in which the ways are tried.
type Method int

// The ways to a dry weight.
const (
	MethodNone Method = iota
	Measured
	ZeroWeight
	TraceWeight
	SampleOfBag
	SamplesOfSpecies
	SamplesOfForm
	RowPercentage
	SamplesOfComponent
	BookValueUsed
	BookValueOtherBasis
	FallbackPercentage
)

// rules are the numbers that turn a bag into a dry weight: those of the whole
// ledger, read once in a transaction, and the drying ratios of one occasion.
// dryWeight below and the view bag_rule are one rule in two languages; Verify
// compares every stored result with the view.
type rules struct {
	number   map[string]float64 // table rule_number
	fallback [len(componentNames)]Num
	books    map[bookKey]bookEntry
	forms    map[int64]string // growth form by species
}

type bookKey struct {
	species int64
	form    string
	stage   string
}

type bookEntry struct {
	rank     int
	fraction float64
	method   Method
}

// ratioKey names a ratio of drying samples within an occasion.
type ratioKey struct {
	component       Component
	level           Method
	species         int64
	form            string
	transect, frame string
	bag             string
}

// dryWeight finds the dry weight of a bag in grams on the ledger's basis, and
// how it was come by: design rule "dry weight, in this order".
func (r *rules) dryWeight(b *bagRow, transect, frame string, ratios map[ratioKey]float64) (Num, Method) {
	switch {
	case b.dry.Valid:
		return Some(b.dry.Float64 * r.factor(b.basis)), Measured
	case b.status == StatusEmpty:
		return Some(0), ZeroWeight
	case b.trace&TraceDry != 0, !b.green.Valid && b.trace&TraceGreen != 0:
		return Some(r.number["trace-g"]), TraceWeight
	case !b.green.Valid:
		return Num{}, MethodNone
	case b.green.Float64 == 0:
		return Some(0), ZeroWeight
	}
	form := r.form(b)
	green := b.green.Float64
	if len(ratios) > 0 {
		for _, k := range [...]ratioKey{
			{b.component, SampleOfBag, b.species, "", transect, frame, b.bag},
			{b.component, SamplesOfSpecies, b.species, "", "", "", ""},
			{b.component, SamplesOfForm, 0, form, "", "", ""},
		} {
			if ratio, ok := ratios[k]; ok {
				return Some(green * ratio), k.level
			}
		}
	}
	if b.dm.Valid {
		return Some(green * b.dm.Float64 / 100 * r.factor(b.basis)), RowPercentage
	}
	if ratio, ok := ratios[ratioKey{component: b.component, level: SamplesOfComponent}]; ok {
		return Some(green * ratio), SamplesOfComponent
	}
	if e, ok := r.book(b, form); ok {
		return Some(green * e.fraction), e.method
	}
	if f := r.fallback[b.component]; f.Valid {
		return Some(green * f.Float64), FallbackPercentage
	}
	return Num{}, MethodNone
}

// factor turns a weight on a basis into the ledger's; no basis said is the
// ledger's own.
func (r *rules) factor(basis string) float64 {
	if basis == "" {
		basis = UnknownBasis
	}
	return r.number[basis]
}

// form is the bag's growth form: its own, else its species'.
func (r *rules) form(b *bagRow) string {
	if b.form != "" {
		return b.form
	}
	return r.forms[b.species]
}

// book finds the book value: within the first table in force that has one, by
// species before growth form.
func (r *rules) book(b *bagRow, form string) (bookEntry, bool) {
	if b.stage == "" {
		return bookEntry{}, false
	}
	bySpecies, okS := r.books[bookKey{b.species, "", b.stage}]
	byForm, okF := r.books[bookKey{0, form, b.stage}]
	okS = okS && b.species > 0
	if okS && (!okF || bySpecies.rank <= byForm.rank) {
		return bySpecies, true
	}
	return byForm, okF && form != ""
}

// loadRules reads the numbers of the whole ledger.
func (t *Tx) loadRules() (*rules, error) {
	r := &rules{number: map[string]float64{}, books: map[bookKey]bookEntry{}, forms: map[int64]string{}}
	err := t.each(`SELECT name, value FROM rule_number`, nil, func(scan func(...any) error) error {
		var name string
		var value float64
		err := scan(&name, &value)
		r.number[name] = value
		return err
	})
	if err != nil {
		return nil, err
	}
	for _, c := range Components {
		if f, ok := r.number["fallback-"+c.String()]; ok {
			r.fallback[c] = Some(f)
		}
	}
	err = t.each(`SELECT species_id, growth_form, stage, rank, fraction, method FROM book_in_force ORDER BY rank DESC`, nil, func(scan func(...any) error) error {
		var k bookKey
		var e bookEntry
		err := scan(&k.species, &k.form, &k.stage, &e.rank, &e.fraction, &e.method)
		r.books[k] = e
		return err
	})
	if err != nil {
		return nil, err
	}
	return r, t.each(`SELECT species_id, growth_form FROM species WHERE growth_form IS NOT NULL`, nil, func(scan func(...any) error) error {
		var id int64
		var form string
		err := scan(&id, &form)
		r.forms[id] = form
		return err
	})
}

// loadRatios reads the drying ratios of one occasion.
func (t *Tx) loadRatios(occasion int64) (map[ratioKey]float64, error) {
	var out map[ratioKey]float64
	err := t.each(`SELECT component, level, species_id, growth_form, transect, frame, bag, ratio FROM drying_ratio WHERE occasion_id=?`,
		[]any{occasion}, func(scan func(...any) error) error {
			var k ratioKey
			var ratio float64
			err := scan(&k.component, &k.level, &k.species, &k.form, &k.transect, &k.frame, &k.bag, &ratio)
			if out == nil {
				out = map[ratioKey]float64{}
			}
			out[k] = ratio
			return err
		})
	return out, err
}

// each runs a query, prepared once in this transaction, and calls fn on every
// row.
func (t *Tx) each(query string, args []any, fn func(scan func(...any) error) error) error {
	s, err := t.stmt(query)
	if err != nil {
		return err
	}
	rows, err := s.QueryContext(t.ctx, args...)
	if err != nil {
		return fmt.Errorf("read the ledger: %w", Explain(err))
	}
	return eachRow(rows, fn)
}

// querier is a connection, a transaction or a pool.
type querier interface {
	QueryContext(ctx context.Context, query string, args ...any) (*sql.Rows, error)
}

func each(ctx context.Context, q querier, query string, args []any, fn func(scan func(...any) error) error) error {
	rows, err := q.QueryContext(ctx, query, args...)
	if err != nil {
		return fmt.Errorf("read the ledger: %w", Explain(err))
	}
	return eachRow(rows, fn)
}

// eachRow calls fn on every row and closes the rows.
func eachRow(rows *sql.Rows, fn func(scan func(...any) error) error) error {
	defer rows.Close()
	for rows.Next() {
		if err := fn(rows.Scan); err != nil {
			return fmt.Errorf("read the ledger: %w", err)
		}
	}
	if err := rows.Err(); err != nil {
		return fmt.Errorf("read the ledger: %w", Explain(err))
	}
	return nil
}
