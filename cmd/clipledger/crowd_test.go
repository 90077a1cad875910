package main

import (
	"encoding/csv"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"
)

// crowdVariable sets how many files each writer of TestCrowd imports.
const crowdVariable = "CLIPLEDGER_CROWD"

// crowdFrames is the number of frames in each file of a writer.
const crowdFrames = 10

// Two programs write and four read at once. Each file of a writer is a whole
// year of its site whose frames weigh 1 to 10 g, so that a mean over anything
// but a whole file is wrong. No row is lost, no mean is wrong, no reader sees
// a file half imported or one gone again, and nobody gives up because of a
// lock.
func TestCrowd(t *testing.T) {
	files := 6
	if text := os.Getenv(crowdVariable); text != "" {
		var err error
		if files, err = strconv.Atoi(text); err != nil {
			t.Fatalf("%s: %v", crowdVariable, err)
		}
	}
	dir := t.TempDir()
	ledger := filepath.Join(dir, "l.db")
	mustRun(t, "--ledger", ledger, "import", "clippings", crowdFile(t, dir, "A", 1999))
	var writers, readers sync.WaitGroup
	over := make(chan struct{})
	for _, site := range []string{"A", "B"} {
		writers.Go(func() {
			for year := range files {
				if r, err := crowdRun(ledger, "import", "clippings", crowdFile(t, dir, site, 2000+year)); err != nil || r.code != 0 {
					t.Errorf("writer of %s: %v %v", site, r, err)
					return
				}
			}
		})
	}
	for range 4 {
		readers.Go(func() {
			seen, more := 0, true
			for more {
				select {
				case <-over: // and look once more
					more = false
				default:
				}
				r, err := crowdRun(ledger, "means", "--component", "herbaceous", "--units", "g/m2", "--format", "csv")
				if err != nil || r.code != 0 {
					t.Errorf("reader: %v %v", r, err)
					return
				}
				years, fault := crowdYears(r.out)
				if fault != "" || years < seen {
					t.Errorf("reader: %d years after %d: %s", years, seen, fault)
				}
				seen = years
			}
			if want := 2*files + 1; seen != want {
				t.Errorf("a reader saw %d years in the end, want %d", seen, want)
			}
		})
	}
	writers.Wait()
	close(over)
	readers.Wait()
	if r := mustRun(t, "--ledger", ledger, "verify"); strings.Contains(r.out, "FAULTY") {
		t.Error(r.out)
	}
}

// crowdFile writes one year of a site: frames of 1 m² that weigh 1, 2, 3 g
// and so on.
func crowdFile(t *testing.T, dir, site string, year int) string {
	var b strings.Builder
	b.WriteString("site,year,frame,frame_type,component,dry_g\n")
	for i := range crowdFrames {
		fmt.Fprintf(&b, "%s,%d,%d,1 m2,herbaceous,%d\n", site, year, i+1, i+1)
	}
	path := filepath.Join(dir, fmt.Sprintf("%s-%d.csv", site, year))
	if err := os.WriteFile(path, []byte(b.String()), 0o666); err != nil {
		t.Error(err)
	}
	return path
}

// crowdYears counts the years in a table of means, and says what is wrong
// with the first mean that is not of a whole file.
func crowdYears(table string) (years int, fault string) {
	rows, err := csv.NewReader(strings.NewReader(table)).ReadAll()
	if err != nil {
		return 0, err.Error()
	}
	n, mean := -1, -1
	for i, name := range rows[0] {
		switch name {
		case "n":
			n = i
		case "mean":
			mean = i
		}
	}
	for _, row := range rows[1:] {
		if got, err := strconv.ParseFloat(row[mean], 64); err != nil || got != (crowdFrames+1)/2.0 || row[n] != strconv.Itoa(crowdFrames) {
			fault = fmt.Sprint(row)
		}
	}
	return len(rows) - 1, fault
}

// crowdRun runs the program as a process of its own.
func crowdRun(ledger string, args ...string) (outcome, error) {
	cmd := exec.Command("clipledger", append([]string{"--quiet", "--ledger", ledger}, args...)...)
	cmd.Env = append(os.Environ(), nowVariable+"="+testNow)
	var out, errs strings.Builder
	cmd.Stdout, cmd.Stderr = &out, &errs
	err := cmd.Run()
	if exit := (*exec.ExitError)(nil); errors.As(err, &exit) {
		err = nil
	}
	return outcome{cmd.ProcessState.ExitCode(), out.String(), errs.String()}, err
}

// What TestCrowd looks with does notice a file half imported.
func TestCrowdWouldNotice(t *testing.T) {
	ledger := filepath.Join(t.TempDir(), "l.db")
	path := crowdFile(t, filepath.Dir(ledger), "A", 2000)
	content, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	half := content[:len(content)/2]
	if err := os.WriteFile(path, half[:strings.LastIndexByte(string(half), '\n')+1], 0o666); err != nil {
		t.Fatal(err)
	}
	mustRun(t, "--ledger", ledger, "import", "clippings", path)
	r := mustRun(t, "--ledger", ledger, "means", "--component", "herbaceous", "--units", "g/m2", "--format", "csv")
	if _, fault := crowdYears(r.out); fault == "" {
		t.Errorf("half a file passes:\n%s", r.out)
	}
}

// Who waits for a lock gets it once it is let go, where that is before five
// seconds are over.
func TestLockIsWaitedFor(t *testing.T) {
	ledger := filepath.Join(t.TempDir(), "l.db")
	mustRun(t, "--ledger", ledger, "import", "clippings", crowdFile(t, filepath.Dir(ledger), "A", 2000))
	holder := exec.Command("holdlock", ledger)
	if err := holder.Start(); err != nil {
		t.Fatal(err)
	}
	if !comes(ledger+".held", 20*time.Second) {
		t.Fatal("the other program did not lock the ledger")
	}
	const held = 3 * time.Second
	start := time.Now()
	go func() {
		time.Sleep(held)
		os.WriteFile(ledger+".release", nil, 0o666)
	}()
	r, err := crowdRun(ledger, "settings", "units=kg/ha")
	if took := time.Since(start); err != nil || r.code != 0 || took < held {
		t.Errorf("after %v: %v %v", took, r, err)
	}
	if err := holder.Wait(); err != nil {
		t.Fatal(err)
	}
}
