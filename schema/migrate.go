package schema

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"os"
)

// How a ledger of an older layout becomes one of this: copied beside itself
// first, then brought up one layout at a time, all in one transaction. A
// migration cut short leaves the ledger as it was, and at worst a copy.

// migration is a step from one layout to the next.
type migration func(context.Context, *sql.Tx) error

// migrations are the steps by the layout that they start from. Version 1 is
// the first that there is.
var migrations = map[int]migration{}

// migrate brings the ledger from its layout to another. It returns the name of
// the copy, "" where nothing was to be done.
func (l *Ledger) migrate(ctx context.Context, to int, steps map[int]migration) (copied string, err error) {
	from, err := layoutOf(ctx, l.db)
	if err != nil || from == 0 || from >= to { // 0: still to be laid out
		return "", err
	}
	for v := from; v < to; v++ {
		if steps[v] == nil {
			return "", fmt.Errorf("%s: %w (layout %d: there is no way to %d)", l.path, ErrNotLedger, v, v+1)
		}
	}
	if copied, err = freeName(fmt.Sprintf("%s.layout-%d", l.path, from)); err != nil {
		return "", err
	}
	if err := l.Backup(ctx, copied); err != nil {
		return "", fmt.Errorf("copy the ledger before it is migrated: %w", err)
	}
	return copied, l.step(ctx, to, steps)
}

// step runs the steps in one transaction. Another program may have done so
// since the layout was looked at.
func (l *Ledger) step(ctx context.Context, to int, steps map[int]migration) error {
	tx, err := l.db.BeginTx(ctx, nil)
	if err != nil {
		return fmt.Errorf("%s: %w", l.path, Explain(err))
	}
	defer tx.Rollback()
	from, err := layoutOf(ctx, tx)
	if err != nil {
		return err
	}
	for v := from; v < to; v++ {
		if err := steps[v](ctx, tx); err != nil {
			return fmt.Errorf("%s: from layout %d to %d: %w", l.path, v, v+1, Explain(err))
		}
	}
	if _, err := tx.ExecContext(ctx, fmt.Sprintf(`PRAGMA user_version=%d`, max(from, to))); err != nil {
		return fmt.Errorf("%s: %w", l.path, Explain(err))
	}
	if err := tx.Commit(); err != nil {
		return fmt.Errorf("%s: %w", l.path, Explain(err))
	}
	return nil
}

// layoutOf reads the number of a ledger's layout.
func layoutOf(ctx context.Context, q querier) (version int, err error) {
	err = each(ctx, q, `SELECT user_version FROM pragma_user_version`, nil, func(scan func(...any) error) error { return scan(&version) })
	return version, Explain(err)
}

// freeName is a name that no file has: the one given, or with .2, .3 and so on.
func freeName(name string) (string, error) {
	free := name
	for n := 2; ; n++ {
		_, err := os.Lstat(free)
		switch {
		case errors.Is(err, fs.ErrNotExist):
			return free, nil
		case err != nil:
			return "", fmt.Errorf("look at %s: %w", free, err)
		}
		free = fmt.Sprintf("%s.%d", name, n)
	}
}
