package schema

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
)

// ErrDryRun, returned by the function given to Write, rolls back on purpose:
// everything was tried and nothing is kept.
var ErrDryRun = errors.New("dry run: nothing was kept")

// Tx is one writing transaction: all of it is kept, or nothing.
type Tx struct {
	ctx   context.Context
	tx    *sql.Tx
	at    string
	stmts map[string]*sql.Stmt
	names nameCaches
	touch touched
	wrote bool // some record was added or changed
	// Notices say what was settled unasked, once Write has settled.
	Notices []string
}

// touched collects what must be settled before the transaction ends.
type touched struct {
	rules   bool           // settings or book tables: every bag
	sites   map[int64]bool // spans, declarations
	drying  map[int64]bool // occasions with new drying samples
	species map[int64]bool // species whose growth form changed
	spans   map[spanKey]yearSpan
	pairs   map[pairKey]bool
	rebuild map[int64]bool // sites whose spans must be read anew from the records
}

// Write runs fn in one transaction and settles what follows from it. Where fn
// changes no record the transaction is rolled back, so that the file keeps
// its bytes; the same holds where fn returns an error. at is the time that
// the records will name.
func (l *Ledger) Write(ctx context.Context, at string, fn func(*Tx) error) error {
	if l.bulk { // the pragma does nothing inside a transaction
		if _, err := l.db.ExecContext(ctx, `PRAGMA foreign_keys=OFF`); err != nil {
			return fmt.Errorf("%s: %w", l.path, Explain(err))
		}
		defer l.db.ExecContext(context.WithoutCancel(ctx), `PRAGMA foreign_keys=ON`)
	}
	tx, err := l.db.BeginTx(ctx, nil)
	if err != nil {
		return fmt.Errorf("%s: %w", l.path, Explain(err))
	}
	defer tx.Rollback()
	t := newTx(ctx, tx, at)
	// Asked inside the transaction: two first imports may start at once.
	empty, err := isEmpty(ctx, tx)
	if err != nil {
		return fmt.Errorf("%s: %w", l.path, err)
	}
	if empty {
		if err := create(ctx, tx, at); err != nil {
			return fmt.Errorf("%s: %w", l.path, Explain(err))
		}
	}
	if err := fn(t); err != nil {
		return l.named(Explain(err))
	}
	if !t.wrote {
		return nil
	}
	if err := t.settle(); err != nil {
		return l.named(Explain(err))
	}
	if l.bulk {
		if err := t.checkKeys(); err != nil {
			return err
		}
	}
	if err := tx.Commit(); err != nil {
		return fmt.Errorf("%s: %w", l.path, Explain(err))
	}
	l.created = false
	return nil
}

// named puts the ledger's name before what went wrong with its file; other
// errors say themselves what they are about.
func (l *Ledger) named(err error) error {
	for _, e := range explained {
		if errors.Is(err, e) {
			return fmt.Errorf("%s: %w", l.path, err)
		}
	}
	return err
}

// checkKeys checks every foreign key of the ledger.
func (t *Tx) checkKeys() error {
	return t.each(`SELECT "table", parent FROM pragma_foreign_key_check LIMIT 1`, nil, func(scan func(...any) error) error {
		var table, parent string
		if err := scan(&table, &parent); err != nil {
			return err
		}
		return fmt.Errorf("a row of %s would point to a missing row of %s", table, parent)
	})
}

func newTx(ctx context.Context, tx *sql.Tx, at string) *Tx {
	return &Tx{ctx: ctx, tx: tx, at: at, stmts: map[string]*sql.Stmt{}, names: newNameCaches(),
		touch: touched{species: map[int64]bool{}, sites: map[int64]bool{}, drying: map[int64]bool{}, spans: map[spanKey]yearSpan{},
			pairs: map[pairKey]bool{}, rebuild: map[int64]bool{}}}
}

// stmt prepares a statement once in this transaction.
func (t *Tx) stmt(query string) (*sql.Stmt, error) {
	if s, ok := t.stmts[query]; ok {
		return s, nil
	}
	s, err := t.tx.PrepareContext(t.ctx, query)
	if err != nil {
		return nil, fmt.Errorf("prepare %q: %w", query, err)
	}
	t.stmts[query] = s
	return s, nil
}

// exec runs a prepared statement.
func (t *Tx) exec(query string, args ...any) error {
	s, err := t.stmt(query)
	if err != nil {
		return err
	}
	if _, err := s.ExecContext(t.ctx, args...); err != nil {
		return fmt.Errorf("write the ledger: %w", err)
	}
	return nil
}

// queryRow reads one row into dest and tells whether there was one.
func (t *Tx) queryRow(query string, args []any, dest ...any) (bool, error) {
	s, err := t.stmt(query)
	if err != nil {
		return false, err
	}
	switch err := s.QueryRowContext(t.ctx, args...).Scan(dest...); {
	case errors.Is(err, sql.ErrNoRows):
		return false, nil
	case err != nil:
		return false, fmt.Errorf("read the ledger: %w", err)
	}
	return true, nil
}

// Source describes a file that is imported, as the ledger remembers it.
type Source struct {
	Kind    string         // what it holds: clippings, sites, settings, ...
	File    string         // base name
	Name    string         // as typed, for messages
	Options map[string]any // maps, constants and rows left out on purpose
	Replace bool           // contradictions are applied, the old values kept in the history
	// Problem receives contradictions and other faults that only the ledger
	// can see; the row is then left out.
	Problem func(Problem)
	// Notice receives what was done unasked, such as a site created.
	Notice func(string)
}

// Import is one file on its way into the ledger.
type Import struct {
	*Tx
	Source
	id                        int64
	Added, Changed, Identical int
	Refused                   int
	SitesMade                 int // sites that were not declared
	namesMade                 int // species and frame types that rows named first
	bounds                    []broughtRow[ClassBound]
	points                    []broughtRow[CurvePoint]
}

// Import starts the import of a file. Finish it before starting another.
func (t *Tx) Import(src Source) (*Import, error) {
	options, err := json.Marshal(src.Options)
	if err != nil {
		return nil, fmt.Errorf("note the options of the import: %w", err)
	}
	if src.Options == nil {
		options = []byte("{}")
	}
	res, err := t.tx.ExecContext(t.ctx, `INSERT INTO import(kind,file,sha256,at,options) VALUES(?,?,'',?,?)`,
		src.Kind, src.File, t.at, string(options))
	if err != nil {
		return nil, fmt.Errorf("note the import: %w", err)
	}
	id, err := res.LastInsertId()
	if err != nil {
		return nil, fmt.Errorf("note the import: %w", err)
	}
	if src.Problem == nil {
		src.Problem = func(Problem) {}
	}
	if src.Notice == nil {
		src.Notice = func(string) {}
	}
	return &Import{Tx: t, Source: src, id: id}, t.exec(`INSERT INTO writing(one,import_id) VALUES(1,?)`, id)
}

// ID is the import's number in the ledger.
func (im *Import) ID() int64 { return im.id }

// Finish ends the import of a file. An import that changed nothing leaves no
// trace.
func (im *Import) Finish(sha256 string) error {
	if err := im.putSets(); err != nil {
		return err
	}
	if err := im.exec(`DELETE FROM writing`); err != nil {
		return err
	}
	if im.Added+im.Changed+im.SitesMade == 0 {
		if im.namesMade > 0 {
			return nil // refused rows named something new: gone with the transaction, unless another file is kept
		}
		return im.exec(`DELETE FROM import WHERE import_id=?`, im.id)
	}
	im.wrote = true
	return im.exec(`UPDATE import SET sha256=?, added=?, changed=? WHERE import_id=?`, sha256, im.Added, im.Changed, im.id)
}

// refuse reports a row that the ledger cannot take.
func (im *Import) refuse(line int, column, value, what, do string) {
	im.Refused++
	im.Problem(Problem{File: im.Name, Line: line, Column: column, Value: value, What: what, Do: do})
}

// contradicts reports a value that differs from the stored one.
func (im *Import) contradicts(line int, column, given, stored string, storedImport, storedLine int64) error {
	from, err := im.provenance(storedImport, storedLine)
	if err != nil {
		return err
	}
	im.refuse(line, column, given, fmt.Sprintf("the ledger holds %q (%s)", shorten(stored), from),
		"correct the file, or use --replace to change the ledger and keep the old value in its history")
	return nil
}

// provenance says in words where a stored row came from.
func (im *Import) provenance(importID, line int64) (string, error) {
	if importID == im.id {
		return fmt.Sprintf("line %d of this file", line), nil
	}
	var kind, file string
	if _, err := im.queryRow(`SELECT kind, file FROM import WHERE import_id=?`, []any{importID}, &kind, &file); err != nil {
		return "", err
	}
	if file == "" {
		return fmt.Sprintf("import %d, %s", importID, kind), nil
	}
	return fmt.Sprintf("import %d, %s line %d", importID, file, line), nil
}
