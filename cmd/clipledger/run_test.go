package main

import (
	"bytes"
	"context"
	"errors"
	"os"
	"strings"
	"sync"
	"testing"
	"time"
)

// outcome is what one run of the program came to.
type outcome struct {
	code     int
	out, err string
}

// run runs the program in this process, with the clock of the tests and
// without any environment.
func run(t *testing.T, args ...string) outcome {
	t.Helper()
	return runContext(t, context.Background(), args...)
}

func runContext(t *testing.T, ctx context.Context, args ...string) outcome {
	t.Helper()
	now, err := time.Parse(time.RFC3339, testNow)
	if err != nil {
		t.Fatal(err)
	}
	var out, errs bytes.Buffer
	code := Main(ctx, args, Streams{In: strings.NewReader(""), Out: &out, Err: &errs,
		Getenv: func(string) string { return "" }, Now: func() time.Time { return now }})
	return outcome{code, out.String(), errs.String()}
}

// mustRun runs the program and ends the test where it does not exit with 0.
func mustRun(t *testing.T, args ...string) outcome {
	t.Helper()
	o := run(t, args...)
	if o.code != exitDone {
		t.Fatalf("clipledger %s exited with %d:\n%s%s", strings.Join(args, " "), o.code, o.out, o.err)
	}
	return o
}

// builtDemo builds the demo in a new folder and returns it.
func builtDemo(t *testing.T) string {
	t.Helper()
	dir := t.TempDir() + "/demo"
	mustRun(t, "demo", dir)
	return dir
}

// shared is the demo that tests read together.
var shared struct {
	once sync.Once
	dir  string
}

// sharedDemo returns the folder of a demo that is built once. Nothing may be
// written in it.
func sharedDemo(t *testing.T) string {
	t.Helper()
	shared.once.Do(func() {
		dir, err := os.MkdirTemp("", "clipledger-test")
		if err != nil {
			t.Fatal(err)
		}
		shared.dir = dir
		mustRun(t, "demo", dir+"/demo")
	})
	if _, err := os.Stat(shared.dir + "/demo/report/index.html"); err != nil {
		t.Fatalf("the demo was not built: %v", err)
	}
	return shared.dir + "/demo"
}

// mustRead reads a file of the test.
func mustRead(t *testing.T, path string) string {
	t.Helper()
	content, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return string(content)
}

// TestInterrupted holds that an interrupted run exits with 130, says that the
// ledger is as it was, and tells the truth.
func TestInterrupted(t *testing.T) {
	dir, work := sharedDemo(t), t.TempDir()
	ledger := dir + "/ansel-basin.db"
	before := mustRead(t, ledger)
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	for _, args := range [][]string{
		{"import", "rain", dir + "/files/rain-invented.csv"},
		{"import", "clippings", dir + "/files/clippings-quill-invented.csv", "--set", "season=fall"},
		{"means"}, {"adequacy"}, {"history"}, {"verify"}, {"settings", "units=kg/ha"}, {"backup", work + "/copy.db"},
		{"report", work + "/pages"}, {"export", work + "/tables"},
	} {
		o := runContext(t, ctx, append([]string{"--ledger", ledger}, args...)...)
		if o.code != exitInterrupted || o.out != "" {
			t.Errorf("%s: code %d, stdout %q", args[0], o.code, o.out)
		}
		if want := "clipledger: interrupted; the ledger is as it was\n"; o.err != want {
			t.Errorf("%s: stderr %q, not %q", args[0], o.err, want)
		}
	}
	if mustRead(t, ledger) != before {
		t.Error("the ledger was changed")
	}
	for _, path := range []string{work + "/copy.db", work + "/copy.db.part", work + "/pages", work + "/tables", ledger + "-journal"} {
		if _, err := os.Stat(path); err == nil {
			t.Errorf("%s was left behind", path)
		}
	}
}

// stuckWriter cannot write, like a pipe whose reader is gone or a full disk.
type stuckWriter struct{}

func (stuckWriter) Write([]byte) (int, error) { return 0, errors.New("no space left") }

// TestResultsThatCannotBeWritten holds that results lost on their way out
// are not called done.
func TestResultsThatCannotBeWritten(t *testing.T) {
	dir := sharedDemo(t)
	for _, format := range []string{"table", "csv", "json"} {
		var errs bytes.Buffer
		code := Main(context.Background(), []string{"--ledger", dir + "/ansel-basin.db", "--quiet", "means", "--format", format},
			Streams{In: strings.NewReader(""), Out: stuckWriter{}, Err: &errs, Getenv: func(string) string { return "" }, Now: time.Now})
		if code != exitFailed || !strings.Contains(errs.String(), "no space left") {
			t.Errorf("%s: code %d, stderr %q", format, code, errs.String())
		}
	}
}
