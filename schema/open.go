package schema

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"net/url"
	"os"
	"path/filepath"

	"modernc.org/sqlite"
	sqlite3 "modernc.org/sqlite/lib"
)

// The ways in which a file can fail to be a usable ledger.
var (
	ErrNoLedger  = errors.New("there is no ledger here yet")
	ErrNotLedger = errors.New("this file is not a clipledger ledger")
	ErrNewer     = errors.New("this ledger was written by a newer clipledger")
	ErrLocked    = errors.New("another program is using this ledger")
	ErrDamaged   = errors.New("this ledger is damaged")
	ErrFull      = errors.New("the disk is full")
	ErrReadOnly  = errors.New("this ledger can only be read")
	ErrHalfway   = errors.New("this ledger was left in the middle of a write, and what undoes it cannot be run where it can only be read")
	ErrNoOpening = errors.New("the ledger, or the file beside it that a write needs, cannot be opened")
	ErrDisk      = errors.New("the disk, or the way to it, failed")
)

// lockWaitMS is how long a lock is waited for before it is named.
const lockWaitMS = 5000

// Ledger is an open ledger file. Close it.
type Ledger struct {
	db      *sql.DB
	path    string
	created bool // the file did not exist before this program opened it
	bulk    bool // foreign keys are checked once, before the commit
}

// bulkBytes is the size of input from which checking all foreign keys once may
// cost less than checking each row's.
const bulkBytes = 4 << 20

// Expect says how many bytes of input are coming. Where they are many against
// what the ledger holds, the next Write checks foreign keys once, before it
// commits, over the whole ledger, in place of row by row.
func (l *Ledger) Expect(bytes int64) error {
	info, err := os.Stat(l.path)
	if err != nil {
		return fmt.Errorf("look at the ledger: %w", err)
	}
	l.bulk = bytes >= bulkBytes && bytes > info.Size()/4
	return nil
}

// Path is the file's name as it was given.
func (l *Ledger) Path() string { return l.path }

// Created tells whether opening made the file.
func (l *Ledger) Created() bool { return l.created }

// Close releases the file. A file that opening made and that never came to
// hold a ledger is removed again.
func (l *Ledger) Close() error {
	err := l.db.Close()
	if l.created {
		if info, statErr := os.Stat(l.path); statErr == nil && info.Size() == 0 {
			err = errors.Join(err, os.Remove(l.path))
		}
	}
	return err
}

// dsn writes the data source name for a path that may hold any character.
// Readers open read-write too, with query_only: a read-only connection could
// not roll back what a killed writer left behind.
func dsn(path string, readOnly bool) (string, error) {
	abs, err := filepath.Abs(path)
	if err != nil {
		return "", fmt.Errorf("find %s: %w", path, err)
	}
	q := url.Values{
		"_txlock": {"immediate"}, "_busy_timeout": {fmt.Sprint(lockWaitMS)}, "_foreign_keys": {"1"}, "_dqs": {"0"},
		"_journal_mode": {"DELETE"}, "_synchronous": {"FULL"},
		"_pragma": {"trusted_schema(0)", "temp_store(2)", "cache_size(-2000)"},
		"mode":    {"rw"},
	}
	if readOnly {
		q.Set("_txlock", "deferred")
		q.Del("_journal_mode")
		q.Add("_pragma", "query_only(1)")
	} else {
		q["_pragma"] = []string{"trusted_schema(0)", "temp_store(2)", "cache_size(-16000)"}
	}
	path = filepath.ToSlash(abs)
	if filepath.VolumeName(abs) != "" {
		path = "/" + path // file:///C:/...
	}
	return (&url.URL{Scheme: "file", Path: path, RawQuery: q.Encode()}).String(), nil
}

// OpenRead opens an existing ledger for reading.
func OpenRead(ctx context.Context, path string) (*Ledger, error) {
	if _, err := os.Stat(path); errors.Is(err, fs.ErrNotExist) {
		return nil, fmt.Errorf("%s: %w", path, ErrNoLedger)
	}
	l, err := open(ctx, path, true)
	if err != nil {
		return nil, err
	}
	if err := l.checkIdentity(ctx, false); err != nil {
		l.db.Close()
		return nil, fmt.Errorf("%s: %w", path, err)
	}
	return l, nil
}

// OpenWrite opens a ledger for writing and makes the file where there is
// none. The tables come with the first transaction, so that a refused import
// leaves nothing behind.
func OpenWrite(ctx context.Context, path string) (*Ledger, error) {
	f, err := os.OpenFile(path, os.O_CREATE|os.O_EXCL|os.O_RDWR, 0o666)
	created := err == nil
	switch {
	case created:
		f.Close()
	case !errors.Is(err, fs.ErrExist):
		return nil, fmt.Errorf("make the ledger: %w", err)
	}
	l, err := open(ctx, path, false)
	if err != nil {
		return nil, err
	}
	l.created = created
	if err := l.checkIdentity(ctx, true); err != nil {
		l.Close()
		return nil, fmt.Errorf("%s: %w", path, err)
	}
	if _, err := l.migrate(ctx, Version, migrations); err != nil {
		return nil, errors.Join(err, l.Close())
	}
	return l, nil
}

// OpenExisting opens a ledger for writing that must be there already.
func OpenExisting(ctx context.Context, path string) (*Ledger, error) {
	if _, err := os.Stat(path); errors.Is(err, fs.ErrNotExist) {
		return nil, fmt.Errorf("%s: %w", path, ErrNoLedger)
	}
	return OpenWrite(ctx, path)
}

// open connects without looking at what the file holds.
func open(ctx context.Context, path string, readOnly bool) (*Ledger, error) {
	if info, err := os.Stat(path); err == nil && info.IsDir() {
		return nil, fmt.Errorf("%s is a folder, not a ledger; name a file in it", path)
	}
	if err := registerRows(); err != nil {
		return nil, fmt.Errorf("prepare the driver: %w", err)
	}
	name, err := dsn(path, readOnly)
	if err != nil {
		return nil, err
	}
	db, err := sql.Open("sqlite", name)
	if err != nil {
		return nil, fmt.Errorf("open %s: %w", path, err)
	}
	if !readOnly {
		db.SetMaxOpenConns(1)
	}
	if err := db.PingContext(ctx); err != nil {
		db.Close()
		return nil, fmt.Errorf("%s: %w", path, Explain(err))
	}
	return &Ledger{db: db, path: path}, nil
}

// checkIdentity refuses what is not a ledger or comes from a newer program.
// An empty file is a ledger to be only where emptyIsNew.
func (l *Ledger) checkIdentity(ctx context.Context, emptyIsNew bool) error {
	var id, version, tables int
	err := l.db.QueryRowContext(ctx, `SELECT (SELECT application_id FROM pragma_application_id),
		(SELECT user_version FROM pragma_user_version), (SELECT count(*) FROM sqlite_schema)`).Scan(&id, &version, &tables)
	switch {
	case err != nil:
		return Explain(err)
	case tables == 0 && id == 0 && emptyIsNew:
		return nil
	case tables == 0 && id == 0:
		return ErrNoLedger
	case id != applicationID:
		return ErrNotLedger
	case version > Version:
		return fmt.Errorf("%w (layout %d, this program knows up to %d)", ErrNewer, version, Version)
	case version < 1:
		return ErrNotLedger
	}
	return nil
}

// isEmpty tells whether the file holds no tables yet.
func isEmpty(ctx context.Context, tx *sql.Tx) (bool, error) {
	var n int
	err := tx.QueryRowContext(ctx, "SELECT count(*) FROM sqlite_schema").Scan(&n)
	return n == 0, Explain(err)
}

// explained are the errors that the driver's codes stand for: whole codes
// first, then the classes that they belong to.
var explained = map[int]error{
	sqlite3.SQLITE_READONLY_ROLLBACK: ErrHalfway,
	sqlite3.SQLITE_IOERR_CORRUPTFS:   ErrDisk,

	sqlite3.SQLITE_BUSY:     ErrLocked,
	sqlite3.SQLITE_LOCKED:   ErrLocked,
	sqlite3.SQLITE_NOTADB:   ErrNotLedger,
	sqlite3.SQLITE_CORRUPT:  ErrDamaged,
	sqlite3.SQLITE_FULL:     ErrFull,
	sqlite3.SQLITE_READONLY: ErrReadOnly,
	sqlite3.SQLITE_CANTOPEN: ErrNoOpening,
	sqlite3.SQLITE_IOERR:    ErrDisk,
}

// Explain turns the driver's codes into the errors of this package, so that
// callers can say what to do. What was explained already stays as it is.
func Explain(err error) error {
	var e *sqlite.Error
	if !errors.As(err, &e) {
		return err
	}
	meaning, ok := explained[e.Code()]
	if !ok {
		meaning, ok = explained[e.Code()&0xff]
	}
	if !ok || errors.Is(err, meaning) {
		return err
	}
	return fmt.Errorf("%w (%w)", meaning, err)
}
