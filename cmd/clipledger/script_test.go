package main

import (
	"context"
	"flag"
	"fmt"
	"os"
	"runtime"
	"strings"
	"testing"
	"time"

	"github.com/rogpeppe/go-internal/testscript"
)

// update rewrites what scripts and golden files compare with:
//
//	go test ./cmd/clipledger -update
//
// Read the difference before keeping it: it is what users will read.
var update = flag.Bool("update", false, "rewrite the golden files and the outputs in the scripts")

// nowVariable names the variable that sets the clock of the program in the
// scripts. Only this test binary reads it.
const nowVariable = "CLIPLEDGER_TEST_NOW"

// testNow is the time at which everything in the tests happens.
const testNow = "2025-11-25T09:00:00Z"

// TestMain makes this test binary stand in for the programs that scripts run:
// called as clipledger it is the real program with a clock that stands still.
func TestMain(m *testing.M) {
	testscript.Main(tidy{m}, map[string]func(){
		"clipledger": standIn,
		"holdlock":   holdLock,
	})
}

// tidy removes what tests share once all of them have run.
type tidy struct{ *testing.M }

// Run runs the tests.
func (t tidy) Run() int {
	defer func() { os.RemoveAll(shared.dir) }()
	return t.M.Run()
}

// standIn runs the program as main does.
func standIn() {
	now, err := time.Parse(time.RFC3339, os.Getenv(nowVariable))
	if err != nil {
		fmt.Fprintf(os.Stderr, "%s: %v\n", nowVariable, err)
		os.Exit(99)
	}
	os.Exit(Main(context.Background(), os.Args[1:], Streams{In: os.Stdin, Out: os.Stdout, Err: os.Stderr, Getenv: os.Getenv,
		Now: func() time.Time { return now }}))
}

// scriptParams are what every script runs under. Beside the commands that
// testscript brings, scripts know those of scriptCommands.
func scriptParams() testscript.Params {
	return testscript.Params{
		RequireUniqueNames: true,
		UpdateScripts:      *update,
		Cmds:               scriptCommands,
		Setup: func(env *testscript.Env) error {
			env.Setenv(nowVariable, testNow)
			return nil
		},
	}
}

// TestScripts runs every script of testdata/scripts. A script is a text
// archive: commands first, then the files that it starts with and the outputs
// that it must give, word for word.
func TestScripts(t *testing.T) {
	p := scriptParams()
	p.Dir = "../../testdata/scripts"
	testscript.Run(t, p)
}

// trial stands in for a test, to see whether a script fails.
type trial struct {
	failed bool
	log    strings.Builder
}

func (t *trial) Skip(args ...any)  { t.Log(args...); runtime.Goexit() }
func (t *trial) Fatal(args ...any) { t.Log(args...); t.FailNow() }
func (t *trial) Parallel()         {}
func (t *trial) Log(args ...any)   { fmt.Fprintln(&t.log, args...) }
func (t *trial) FailNow()          { t.failed = true; runtime.Goexit() }
func (t *trial) Verbose() bool     { return false }

func (t *trial) Run(_ string, f func(testscript.T)) {
	done := make(chan struct{})
	go func() {
		defer close(done)
		f(t)
	}()
	<-done
}

// TestScriptCommandsFail holds that the commands which scripts check with
// fail where they should: a check that cannot fail proves nothing.
func TestScriptCommandsFail(t *testing.T) {
	for _, c := range []struct {
		name, script string
		word         string // of the failure; "" where the script must pass
	}{
		{"right code", "exits 1 clipledger means\n", ""},
		{"wrong code", "exits 2 clipledger means\n", "exited with 1, not 2"},
		{"failure taken for success", "exits 0 clipledger means\n", "exited with 1, not 0"},
		{"success taken for failure", "exits 1 clipledger --help\n", "exited with 0, not 1"},
		{"no such program", "exits 1 clipledgers means\n", "did not run"},
		{"nothing touched", "refused 1 clipledger means\n", ""},
		{"refused with another code", "refused 2 clipledger means\n", "exited with 1, not 2"},
		{"file added", "refused 0 clipledger settings units=kg/ha\n", "clipledger.db was added"},
		{"file changed", "clipledger settings units=kg/ha\nrefused 0 clipledger settings units=g/m2\n", "clipledger.db was changed"},
		{"same bytes written again", "refused 0 cp a.txt b.txt\n-- a.txt --\na\n-- b.txt --\na\n", "b.txt was changed"},
		{"file removed", "refused 0 mv a.txt d/a.txt\n-- a.txt --\na\n-- d/b.txt --\nb\n", "a.txt was removed"},
		{"other bytes", "same a.txt b.txt\n-- a.txt --\na\n-- b.txt --\nb\n", "a.txt and b.txt differ"},
		{"same bytes", "same a.txt b.txt\n-- a.txt --\na\n-- b.txt --\na\n", ""},
		{"another tenth digit", "sql l.db 'SELECT 1.2345678912345'\nrounded\ncmp stdout a.txt\n-- a.txt --\n1.234567892\n", "stdout and a.txt differ"},
		{"another last digit", "sql l.db 'SELECT 1.2345678912345'\nrounded\ncmp stdout a.txt\n-- a.txt --\n1.234567891\n", ""},
		{"SQL taken for broken", "! sql l.db 'SELECT 1'\n", "did not fail"},
		{"broken SQL", "sql l.db 'SELEC 1'\n", "syntax error"},
		{"never comes", "await a.txt 50ms\n", "a.txt did not come"},
	} {
		t.Run(c.name, func(t *testing.T) {
			file := t.TempDir() + "/trial.txtar"
			if err := os.WriteFile(file, []byte(c.script), 0o600); err != nil {
				t.Fatal(err)
			}
			p := scriptParams()
			p.Files, p.UpdateScripts = []string{file}, false
			var tried trial
			testscript.RunT(&tried, p)
			log := tried.log.String()
			switch {
			case c.word == "" && tried.failed:
				t.Errorf("the script fails:\n%s", log)
			case c.word != "" && !tried.failed:
				t.Errorf("the script passes:\n%s", log)
			case !strings.Contains(log, c.word):
				t.Errorf("the failure does not say %q:\n%s", c.word, log)
			}
		})
	}
}
