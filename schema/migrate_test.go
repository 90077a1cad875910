package schema

import (
	"context"
	"database/sql"
	"errors"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"testing"
	"time"
)

// Only layout 1 has ever been, so the machinery is tried with steps that are
// made up: to a layout 2 with another table, and to a 3 that fills it.
var madeUp = map[int]migration{
	1: func(ctx context.Context, tx *sql.Tx) error {
		_, err := tx.ExecContext(ctx, `CREATE TABLE extra(x INTEGER PRIMARY KEY, t TEXT) STRICT`)
		return err
	},
	2: func(ctx context.Context, tx *sql.Tx) error {
		_, err := tx.ExecContext(ctx, `WITH RECURSIVE n(x) AS (SELECT 1 UNION ALL SELECT x + 1 FROM n WHERE x < 40000) INSERT INTO extra SELECT x, hex(zeroblob(400)) FROM n`)
		return err
	},
}

// oldLedger makes a ledger of layout 1 with a setting.
func oldLedger(t *testing.T, path string) {
	t.Helper()
	ctx := context.Background()
	l, err := OpenWrite(ctx, path)
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	err = l.Write(ctx, "2026-01-02T03:04:05Z", func(tx *Tx) error {
		im, err := tx.Import(Source{Kind: "settings"})
		if err != nil {
			return err
		}
		if err := im.PutSetting("units", "kg/ha"); err != nil {
			return err
		}
		return im.Finish("")
	})
	if err != nil {
		t.Fatal(err)
	}
}

// migrated migrates a ledger to layout 3.
func migrated(path string, steps map[int]migration) (copied string, err error) {
	ctx := context.Background()
	l, err := open(ctx, path, false)
	if err != nil {
		return "", err
	}
	defer l.Close()
	return l.migrate(ctx, 3, steps)
}

// layoutAndRows reads a ledger's layout, and the rows of extra, -1 where there
// is no such table; it must be whole.
func layoutAndRows(t *testing.T, path string) (layout, rows int) {
	t.Helper()
	db, err := sql.Open("sqlite", path)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	var whole, units string
	var there int
	err = db.QueryRow(`SELECT (SELECT user_version FROM pragma_user_version), (SELECT count(*) FROM sqlite_schema WHERE name = 'extra'),
		(SELECT integrity_check FROM pragma_integrity_check), (SELECT value FROM setting WHERE name = 'units')`).Scan(&layout, &there, &whole, &units)
	if err != nil || whole != "ok" || units != "kg/ha" {
		t.Fatalf("%s: %v, %s, units %s", path, err, whole, units)
	}
	if rows = -1; there > 0 {
		if err := db.QueryRow(`SELECT count(*) FROM extra`).Scan(&rows); err != nil {
			t.Fatal(err)
		}
	}
	return layout, rows
}

func TestMigrate(t *testing.T) {
	path := filepath.Join(t.TempDir(), "l.db")
	oldLedger(t, path)
	if copied, err := migrated(path, map[int]migration{1: madeUp[1]}); !errors.Is(err, ErrNotLedger) || copied != "" {
		t.Errorf("without a way to 3: %q, %v", copied, err)
	}
	broken := errors.New("broken")
	copied, err := migrated(path, map[int]migration{1: madeUp[1], 2: func(context.Context, *sql.Tx) error { return broken }})
	if !errors.Is(err, broken) || copied != path+".layout-1" {
		t.Errorf("a step that fails: %q, %v", copied, err)
	}
	if layout, rows := layoutAndRows(t, path); layout != 1 || rows != -1 {
		t.Errorf("after a step that failed: layout %d, %d rows", layout, rows)
	}
	if copied, err = migrated(path, madeUp); err != nil || copied != path+".layout-1.2" {
		t.Errorf("%q, %v", copied, err)
	}
	if layout, rows := layoutAndRows(t, path); layout != 3 || rows != 40000 {
		t.Errorf("migrated: layout %d, %d rows", layout, rows)
	}
	if layout, rows := layoutAndRows(t, copied); layout != 1 || rows != -1 {
		t.Errorf("the copy: layout %d, %d rows", layout, rows)
	}
	if copied, err = migrated(path, madeUp); err != nil || copied != "" {
		t.Errorf("again: %q, %v", copied, err)
	}
	if l, err := OpenWrite(context.Background(), path); !errors.Is(err, ErrNewer) {
		t.Errorf("opened by this program: %v, %v", l, err)
	}
}

// migrateVariable names the ledger that TestKillMigrate's child migrates.
const migrateVariable = "CLIPLEDGER_TEST_MIGRATE"

// Killed in the middle of a migration, a ledger is what it was before or what
// it is after, and its copy is whole or not there.
func TestKillMigrate(t *testing.T) {
	if path := os.Getenv(migrateVariable); path != "" {
		if _, err := migrated(path, madeUp); err != nil {
			t.Fatal(err)
		}
		return
	}
	rounds := 6
	if n, err := strconv.Atoi(os.Getenv("CLIPLEDGER_KILLS")); err == nil {
		rounds = max(rounds, n/5)
	}
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	r := rand.New(rand.NewPCG(1, 6))
	old := filepath.Join(t.TempDir(), "old.db")
	oldLedger(t, old)
	content, err := os.ReadFile(old)
	if err != nil {
		t.Fatal(err)
	}
	counts := map[string]int{}
	for range rounds {
		path := filepath.Join(t.TempDir(), "l.db")
		if err := os.WriteFile(path, content, 0o666); err != nil {
			t.Fatal(err)
		}
		child := exec.Command(self, "-test.run=^TestKillMigrate$")
		child.Env = append(os.Environ(), migrateVariable+"="+path)
		if err := child.Start(); err != nil {
			t.Fatal(err)
		}
		// From the journal on, the steps are at work.
		for end := time.Now().Add(20 * time.Second); time.Now().Before(end); time.Sleep(200 * time.Microsecond) {
			if _, err := os.Lstat(path + "-journal"); err == nil {
				break
			}
		}
		time.Sleep(time.Duration(r.IntN(60)) * time.Millisecond)
		if err := child.Process.Kill(); err != nil && !errors.Is(err, os.ErrProcessDone) {
			t.Fatal(err)
		}
		child.Wait()
		if _, err := os.Lstat(path + "-journal"); err == nil {
			counts["midway"]++
		}
		switch layout, rows := layoutAndRows(t, path); {
		case layout == 1 && rows == -1:
			counts["old"]++
		case layout == 3 && rows == 40000:
			counts["new"]++
		default:
			t.Errorf("killed: layout %d with %d rows", layout, rows)
		}
		if _, err := os.Lstat(path + ".layout-1"); err == nil {
			if layout, rows := layoutAndRows(t, path+".layout-1"); layout != 1 || rows != -1 {
				t.Errorf("killed: the copy has layout %d, %d rows", layout, rows)
			}
		}
	}
	t.Logf("%d killed: %v", rounds, counts)
	if counts["midway"] == 0 {
		t.Error("none was killed in the middle of a transaction")
	}
}
