package schema

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"os"

	_ "modernc.org/sqlite" // the driver
)

// openMemory opens an empty database in memory, on one connection.
func openMemory() (*sql.DB, error) {
	db, err := sql.Open("sqlite", ":memory:")
	if err != nil {
		return nil, fmt.Errorf("open a database in memory: %w", err)
	}
	db.SetMaxOpenConns(1)
	return db, nil
}

// Backup copies the ledger, as it stands in one moment, into a new file while
// others may go on using it. A file that is there is never overwritten; a
// copy that could not be finished leaves nothing behind.
func (l *Ledger) Backup(ctx context.Context, to string) error {
	part := to + ".part"
	if _, err := os.Lstat(to); err == nil {
		return fmt.Errorf("%s is there already: a backup never overwrites; name another file", to)
	} else if !errors.Is(err, fs.ErrNotExist) {
		return fmt.Errorf("look at %s: %w", to, err)
	}
	f, err := os.OpenFile(part, os.O_CREATE|os.O_EXCL|os.O_WRONLY, 0o666)
	if errors.Is(err, fs.ErrExist) {
		return fmt.Errorf("%s is left over from a backup that was cut short; remove it and try again", part)
	}
	if err != nil {
		return fmt.Errorf("make the backup: %w", err)
	}
	f.Close()
	if err := l.vacuumInto(ctx, part); err != nil {
		return errors.Join(fmt.Errorf("%s: %w", to, err), os.Remove(part))
	}
	if err := os.Link(part, to); err == nil {
		return os.Remove(part)
	}
	// File systems without hard links: the name was free a moment ago.
	if err := os.Rename(part, to); err != nil {
		return fmt.Errorf("name the backup: %w", err)
	}
	return nil
}

func (l *Ledger) vacuumInto(ctx context.Context, part string) error {
	conn, err := l.db.Conn(ctx)
	if err != nil {
		return fmt.Errorf("%s: %w", l.path, Explain(err))
	}
	defer conn.Close()
	if _, err := conn.ExecContext(ctx, `PRAGMA query_only(0)`); err != nil {
		return fmt.Errorf("%s: %w", l.path, Explain(err))
	}
	if _, err := conn.ExecContext(ctx, `VACUUM INTO ?`, part); err != nil {
		return fmt.Errorf("copy the ledger: %w", Explain(err))
	}
	return nil
}
