package schema_test

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"clipledger/schema"
	"clipledger/schema/ledgertest"
)

// killsVariable sets how often TestKill kills the program.
const killsVariable = "CLIPLEDGER_KILLS"

// buildProgram builds the program under test.
func buildProgram(t *testing.T) string {
	t.Helper()
	if _, err := exec.LookPath("go"); err != nil {
		t.Skip("skipped: the go tool, which builds the program to be killed, is not installed")
	}
	program := filepath.Join(t.TempDir(), "clipledger.exe")
	if out, err := exec.Command("go", "build", "-o", program, "clipledger/cmd/clipledger").CombinedOutput(); err != nil {
		t.Fatalf("build the program: %v\n%s", err, out)
	}
	return program
}

// writing is a call of the program that writes: what it makes of the ledger is
// old before and new after, and nothing between.
type writing struct {
	name     string
	args     []string
	old, new string        // digests
	takes    time.Duration // when nobody kills it
}

// killGround is a folder with a ledger and what is written into it.
type killGround struct {
	program  string
	ledger   string // as it is before each round
	writings []writing
}

// manyRows are clippings of a site, a few hundred frames a year.
func manyRows(r *rand.Rand, site string, n int) []schema.Clipping {
	out := make([]schema.Clipping, n)
	for i := range out {
		out[i] = schema.Clipping{Line: i + 2, Site: site, Year: 2000 + i/200, Frame: strconv.Itoa(i % 200), FrameType: "9.6 ft2", Component: schema.Herbaceous,
			DryG: schema.Some(float64(r.IntN(500)) / 10)}
	}
	return out
}

func newKillGround(t *testing.T, r *rand.Rand) *killGround {
	t.Helper()
	dir := t.TempDir()
	g := &killGround{program: buildProgram(t), ledger: filepath.Join(dir, "before.db")}
	first, second := ledgertest.Records{Clippings: manyRows(r, "A", 600)}, ledgertest.Records{Clippings: manyRows(r, "B", 900)}
	if err := os.Rename(ledgertest.Path(t, first, second), g.ledger); err != nil {
		t.Fatal(err)
	}
	other := ledgertest.Path(t, ledgertest.Records{Clippings: append(manyRows(r, "C", 900), first.Clippings[:300]...)})
	var table strings.Builder
	table.WriteString("site,year,frame,frame_type,component,dry_g\n")
	for _, c := range manyRows(r, "D", 2000) {
		fmt.Fprintf(&table, "%s,%d,%s,%s,%s,%g\n", c.Site, c.Year, c.Frame, c.FrameType, c.Component, c.DryG.Float64)
	}
	file := filepath.Join(dir, "clip.csv")
	if err := os.WriteFile(file, []byte(table.String()), 0o666); err != nil {
		t.Fatal(err)
	}
	old := digest(t, g.ledger)
	for _, w := range []writing{{name: "import", args: []string{"import", "clippings", file}}, {name: "merge", args: []string{"merge", other}},
		{name: "undo", args: []string{"undo", "3"}}, {name: "backup", args: []string{"backup", "copy.db"}}} {
		path := g.fresh(t)
		start := time.Now()
		if out, err := g.call(path, w).CombinedOutput(); err != nil {
			t.Fatalf("%s: %v\n%s", w.name, err, out)
		}
		w.takes, w.old, w.new = time.Since(start), old, digest(t, path)
		if (w.new == w.old) != (w.name == "backup") {
			t.Fatalf("%s: what it makes of the record cannot tell whether it was done", w.name)
		}
		g.writings = append(g.writings, w)
	}
	return g
}

// fresh puts a copy of the ledger into a folder of its own.
func (g *killGround) fresh(t *testing.T) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "ledger.db")
	if err := os.WriteFile(path, mustReadFile(t, g.ledger), 0o666); err != nil {
		t.Fatal(err)
	}
	return path
}

func (g *killGround) call(path string, w writing) *exec.Cmd {
	cmd := exec.Command(g.program, append([]string{"--quiet", "--ledger", path}, w.args...)...)
	cmd.Dir = filepath.Dir(path)
	return cmd
}

// kill starts a writing, kills it at a random moment, and tells whether it
// died in the middle of a transaction. Every second time it waits for the
// transaction to begin, so that most of the moments lie within.
func (g *killGround) kill(t *testing.T, r *rand.Rand, path string, w writing) (midway bool) {
	t.Helper()
	cmd := g.call(path, w)
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	ended := make(chan error, 1)
	go func() { ended <- cmd.Wait() }()
	wait := time.Duration(r.Float64() * 1.1 * float64(w.takes))
	if r.IntN(2) == 0 {
		for end := time.Now().Add(w.takes); time.Now().Before(end) && !isThere(path+"-journal"); {
			time.Sleep(200 * time.Microsecond)
		}
		wait = time.Duration(r.Float64() * float64(w.takes))
	}
	select {
	case err := <-ended:
		if err != nil {
			t.Errorf("%s failed before it was killed: %v", w.name, err)
		}
		return false
	case <-time.After(wait):
	}
	if err := cmd.Process.Kill(); err != nil && !errors.Is(err, os.ErrProcessDone) {
		t.Fatal(err)
	}
	<-ended
	return isThere(path + "-journal")
}

func isThere(path string) bool {
	_, err := os.Lstat(path)
	return !errors.Is(err, fs.ErrNotExist)
}

// stateOf verifies a ledger as the next program finds it.
func stateOf(path string) (digest string, faults []string) {
	ctx := context.Background()
	l, err := schema.OpenRead(ctx, path)
	if err != nil {
		return "", []string{err.Error()}
	}
	defer l.Close()
	err = l.Read(ctx, func(s *schema.Snapshot) error {
		checks, err := s.Verify()
		for _, c := range checks {
			faults = append(faults, c.Faults...)
		}
		if err == nil {
			digest, err = s.Digest()
		}
		return err
	})
	if err != nil {
		faults = append(faults, err.Error())
	}
	return digest, faults
}

// Whenever the program is killed, the ledger is what it was before or what it
// is after, and verify passes it; a backup is whole, or is not there.
func TestKill(t *testing.T) {
	rounds := 30
	if text := os.Getenv(killsVariable); text != "" {
		var err error
		if rounds, err = strconv.Atoi(text); err != nil {
			t.Fatalf("%s: %v", killsVariable, err)
		}
	}
	r := rand.New(rand.NewPCG(1, 9))
	g := newKillGround(t, r)
	midway := map[string]int{}
	for i := range rounds {
		w := g.writings[i%len(g.writings)]
		path := g.fresh(t)
		if g.kill(t, r, path, w) {
			midway[w.name]++
		}
		got, faults := stateOf(path)
		if len(faults) > 0 {
			t.Errorf("round %d, %s killed: %v", i, w.name, faults)
		}
		if got != w.old && got != w.new {
			t.Errorf("round %d, %s killed: the record is neither what it was nor what it was to be", i, w.name)
		}
		if copied := filepath.Join(filepath.Dir(path), "copy.db"); w.name == "backup" && isThere(copied) {
			if got, faults := stateOf(copied); got != w.old || len(faults) > 0 {
				t.Errorf("round %d: the backup is not whole: %v", i, faults)
			}
		}
	}
	t.Logf("killed in the middle of a transaction: %v", midway)
	if rounds >= 30 && (midway["import"] == 0 || midway["merge"] == 0 || midway["undo"] == 0) {
		t.Errorf("of %d rounds none of some kind fell into a transaction: %v", rounds, midway)
	}
}

// What TestKill looks with does notice half a transaction: a journal that is
// lost while the file is half written, and a record between the two.
func TestKillWouldNotice(t *testing.T) {
	path := ledgertest.Path(t, ledgertest.Records{Clippings: []schema.Clipping{herb("1", 10), herb("2", 20)}})
	before, faults := stateOf(path)
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	edit(t, path, `INSERT INTO writing VALUES(1, 2); DELETE FROM bag WHERE visit_id IN (SELECT visit_id FROM visit WHERE frame = '2')`)
	after, faults := stateOf(path)
	if after == before || !strings.Contains(strings.Join(faults, "\n"), "half written") {
		t.Errorf("half of a change passes: %v", faults)
	}
}
