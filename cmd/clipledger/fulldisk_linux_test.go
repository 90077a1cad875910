package main

import (
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
)

// fullDisk is a small disk with a ledger on it, and what its calls need.
type fullDisk struct {
	disk   string
	before string // the ledger as it is before each call
	digest string // of it
}

// A disk that fills up in the middle of a call: the program says so and what
// to do, exits with 1, leaves the ledger as it was and nothing half written in
// the place of something whole; once there is room the same call works.
func TestFullDisk(t *testing.T) {
	if !mayMount(t) {
		return
	}
	dir := t.TempDir()
	d := &fullDisk{mount(t, "none", "tmpfs", 0, "size=8m"), filepath.Join(dir, "before.db"), ""}
	old, more := clippingsTable(t, filepath.Join(dir, "old.csv"), "A", 60), clippingsTable(t, filepath.Join(dir, "more.csv"), "B", 200)
	other := filepath.Join(dir, "other.db")
	mustRun(t, "--ledger", d.before, "import", "clippings", old)
	mustRun(t, "--ledger", other, "import", "clippings", more)
	d.digest = soundState(t, d.before)

	ledger, copied, pages := filepath.Join(d.disk, "l.db"), filepath.Join(d.disk, "copy.db"), filepath.Join(d.disk, "pages")
	for _, call := range []struct {
		name    string
		args    []string
		changes bool // the record
		made    string
	}{
		{"import", []string{"--ledger", ledger, "import", "clippings", more}, true, ""},
		{"merge", []string{"--ledger", ledger, "merge", other}, true, ""},
		{"undo", []string{"--ledger", ledger, "undo", "2"}, true, ""},
		{"settings", []string{"--ledger", ledger, "settings", "basis=oven-dry", "--yes"}, false, ""},
		{"backup", []string{"--ledger", ledger, "backup", copied}, false, copied},
		{"report", []string{"--ledger", ledger, "report", pages}, false, pages},
		{"first import", []string{"--ledger", copied, "import", "clippings", more}, false, copied},
	} {
		t.Run(call.name, func(t *testing.T) {
			refused := 0
			for _, kib := range []int64{0, 60, 400, 7000} {
				d.prepare(t, ledger, kib)
				r := clipledger(t, append([]string{"--quiet"}, call.args...)...)
				state := soundState(t, ledger)
				if r.code == 0 {
					if (state != d.digest) != call.changes {
						t.Errorf("%d KiB free: done, and the record does not show it", kib)
					}
					continue
				}
				refused++
				if r.code != 1 || !strings.Contains(r.err, "the disk is full") && !strings.Contains(r.err, "no space left") || !strings.Contains(r.err, "Make room") {
					t.Errorf("%d KiB free: %v", kib, r)
				}
				if state != d.digest {
					t.Errorf("%d KiB free: refused, and the record is not what it was", kib)
				}
				if call.made == copied && (isThere(copied) || isThere(copied+".part")) {
					t.Errorf("%d KiB free: half a file was left", kib)
				}
				if isThere(ledger + "-journal") {
					t.Errorf("%d KiB free: a journal was left", kib)
				}
				d.room(t)
				if r := clipledger(t, append([]string{"--quiet"}, call.args...)...); r.code != 0 {
					t.Errorf("with room again: %v", r)
				}
				soundState(t, ledger)
			}
			if refused == 0 || refused == 4 {
				t.Errorf("%d of 4 calls met a full disk; some must, and one with room must not", refused)
			}
		})
	}
	t.Run("results", func(t *testing.T) { // to a file that the shell opened
		d.prepare(t, ledger, 0)
		full, err := os.OpenFile("/dev/full", os.O_WRONLY, 0)
		if err != nil {
			t.Fatal(err)
		}
		defer full.Close()
		cmd := exec.Command("clipledger", "--ledger", ledger, "means", "--format", "csv")
		cmd.Stdout = full
		if got := runProcess(t, cmd); got.code != 1 || !strings.Contains(got.err, "no space left") || !strings.Contains(got.err, "Make room") {
			t.Errorf("means into a full disk: %v", got)
		}
	})
}

// prepare empties the disk, puts the ledger on it and leaves so much room.
func (d *fullDisk) prepare(t *testing.T, ledger string, freeKiB int64) {
	t.Helper()
	entries, err := os.ReadDir(d.disk)
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range entries {
		if err := os.RemoveAll(filepath.Join(d.disk, e.Name())); err != nil {
			t.Fatal(err)
		}
	}
	copyFile(t, d.before, ledger)
	var s syscall.Statfs_t
	if err := syscall.Statfs(d.disk, &s); err != nil {
		t.Fatal(err)
	}
	fill := int64(s.Bavail)*s.Bsize - freeKiB<<10
	if fill <= 0 {
		t.Fatalf("the disk is too small for %d KiB of room", freeKiB)
	}
	if err := os.WriteFile(filepath.Join(d.disk, "filler"), make([]byte, fill), 0o644); err != nil {
		t.Fatal(err)
	}
}

// room makes room again.
func (d *fullDisk) room(t *testing.T) {
	t.Helper()
	if err := os.Remove(filepath.Join(d.disk, "filler")); err != nil {
		t.Fatal(err)
	}
}
