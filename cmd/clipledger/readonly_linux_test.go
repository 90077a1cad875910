package main

import (
	"database/sql"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
)

// On a disk that can only be read everything that reads works, and what
// writes says that it cannot and what to do; the ledger keeps its bytes.
func TestReadOnlyDisk(t *testing.T) {
	if !mayMount(t) {
		return
	}
	dir := t.TempDir()
	more := readOnlyLedger(t, dir)
	disk := mount(t, dir, "", syscall.MS_BIND, "")
	readsOnly(t, "clipledger", nil, dir, disk, more)
}

// The same of a file and a folder that the user may not write.
func TestReadOnlyFile(t *testing.T) {
	dir := openFolder(t)
	more := readOnlyLedger(t, dir)
	program, user := asAnyone(t)
	for path, mode := range map[string]os.FileMode{filepath.Join(dir, "l.db"): 0o444, dir: 0o555} {
		if err := os.Chmod(path, mode); err != nil {
			t.Fatal(err)
		}
		t.Cleanup(func() { os.Chmod(path, 0o755) })
	}
	readsOnly(t, program, user, dir, dir, more)
}

// A file that may be written in a folder that may not: the journal cannot be
// made, and the program says what it is that it needs. And a file that may
// not be read either.
func TestReadOnlyFolder(t *testing.T) {
	dir := openFolder(t)
	readOnlyLedger(t, dir)
	program, user := asAnyone(t)
	ledger := filepath.Join(dir, "l.db")
	before := readFile(t, ledger)
	t.Cleanup(func() { os.Chmod(dir, 0o755) })
	for _, tt := range []struct {
		file os.FileMode
		want [2]string
	}{
		{0o666, [2]string{"this ledger can only be read", "the file and its folder"}},
		{0o000, [2]string{"cannot be opened", "whether you may read the file"}},
	} {
		for path, mode := range map[string]os.FileMode{ledger: tt.file, dir: 0o555} {
			if err := os.Chmod(path, mode); err != nil {
				t.Fatal(err)
			}
		}
		cmd := exec.Command(program, "--ledger", ledger, "settings", "units=kg/ha")
		cmd.SysProcAttr = user
		if r := runProcess(t, cmd); r.code != 1 || !strings.Contains(r.err, tt.want[0]) || !strings.Contains(r.err, tt.want[1]) {
			t.Errorf("mode %o: %v", tt.file, r)
		}
		if err := os.Chmod(ledger, 0o644); err != nil {
			t.Fatal(err)
		}
		if readFile(t, ledger) != before {
			t.Error("the ledger's bytes changed")
		}
	}
}

// readOnlyLedger puts a ledger into a folder and returns a table that could
// be imported.
func readOnlyLedger(t *testing.T, dir string) (more string) {
	t.Helper()
	old := clippingsTable(t, filepath.Join(dir, "old.csv"), "A", 12)
	mustRun(t, "--ledger", filepath.Join(dir, "l.db"), "import", "clippings", old)
	return clippingsTable(t, filepath.Join(dir, "more.csv"), "B", 12)
}

// openFolder is a folder that every user may look into, unlike t.TempDir.
func openFolder(t *testing.T) string {
	t.Helper()
	dir, err := os.MkdirTemp("", "clipledger-test")
	if err == nil {
		err = os.Chmod(dir, 0o777)
	}
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		os.Chmod(dir, 0o755)
		if err := os.RemoveAll(dir); err != nil {
			t.Error(err)
		}
	})
	return dir
}

// asAnyone is the program for a user who is bound by permissions: root is
// not, and becomes nobody.
func asAnyone(t *testing.T) (program string, user *syscall.SysProcAttr) {
	t.Helper()
	if os.Geteuid() != 0 {
		return "clipledger", nil
	}
	found, err := exec.LookPath("clipledger")
	if err != nil {
		t.Fatal(err)
	}
	program = filepath.Join(openFolder(t), "clipledger")
	copyFile(t, found, program)
	if err := os.Chmod(program, 0o755); err != nil {
		t.Fatal(err)
	}
	return program, &syscall.SysProcAttr{Credential: &syscall.Credential{Uid: 65534, Gid: 65534, NoSetGroups: true}}
}

// readsOnly runs everything on a ledger below disk, which is dir as it can
// only be read.
func readsOnly(t *testing.T, program string, user *syscall.SysProcAttr, dir, disk, more string) {
	t.Helper()
	ledger := filepath.Join(disk, "l.db")
	before := readFile(t, filepath.Join(dir, "l.db"))
	elsewhere := openFolder(t)
	for _, args := range [][]string{
		{"means", "--format", "csv"}, {"adequacy"}, {"check"}, {"verify"}, {"history"}, {"settings"},
		{"report", filepath.Join(elsewhere, "pages")}, {"backup", filepath.Join(elsewhere, "copy.db")},
	} {
		cmd := exec.Command(program, append([]string{"--ledger", ledger}, args...)...)
		cmd.SysProcAttr = user
		if r := runProcess(t, cmd); r.code != 0 || r.out == "" {
			t.Errorf("%s: %v", args[0], r)
		}
	}
	for _, args := range [][]string{
		{"import", "clippings", more}, {"settings", "units=kg/ha"}, {"undo", "2"}, {"merge", filepath.Join(elsewhere, "copy.db"), "--prefix", "x"},
		{"backup", filepath.Join(disk, "copy.db")}, {"report", filepath.Join(disk, "pages")}, {"--ledger", filepath.Join(disk, "new.db"), "import", "clippings", more},
	} {
		cmd := exec.Command(program, append([]string{"--ledger", ledger}, args...)...)
		cmd.SysProcAttr = user
		r := runProcess(t, cmd)
		said := strings.Contains(r.err, "can only be read") || strings.Contains(r.err, "read-only file system") || strings.Contains(r.err, "permission denied")
		if r.code != 1 || !said || !strings.Contains(r.err, "Ask for the right") {
			t.Errorf("%s: %v", args[0], r)
		}
	}
	if readFile(t, filepath.Join(dir, "l.db")) != before {
		t.Error("the ledger's bytes changed")
	}
	for _, name := range []string{"new.db", "copy.db", "copy.db.part", "pages", "l.db-journal"} {
		if isThere(dir, name) {
			t.Errorf("%s was made", name)
		}
	}
}

// A ledger that a program left in the middle of a write, on a disk that can
// only be read: what it held before cannot be put back there, and half a
// change must not pass for the record.
func TestHalfwayOnReadOnlyDisk(t *testing.T) {
	if !mayMount(t) {
		return
	}
	dir := t.TempDir()
	readOnlyLedger(t, dir)
	ledger := filepath.Join(dir, "l.db")
	digest := soundState(t, ledger)
	halfway(t, ledger)
	before, journal := readFile(t, ledger), readFile(t, ledger+"-journal")
	there := filepath.Join(mount(t, dir, "", syscall.MS_BIND, ""), "l.db")
	for _, args := range [][]string{{"means"}, {"verify"}, {"settings", "units=kg/ha"}} {
		r := clipledger(t, append([]string{"--ledger", there}, args...)...)
		if r.code != 1 || r.out != "" || !strings.Contains(r.err, "left in the middle of a write") || !strings.Contains(r.err, "Remove neither") {
			t.Errorf("%s: %v", args[0], r)
		}
	}
	if r := clipledger(t, "--ledger", filepath.Join(t.TempDir(), "ours.db"), "merge", there); r.code != 1 || !strings.Contains(r.err, "left in the middle of a write") {
		t.Errorf("merge: %v", r)
	}
	if readFile(t, ledger) != before || readFile(t, ledger+"-journal") != journal {
		t.Error("the files changed")
	}
	// Where it can be written it comes back as it was.
	if got := soundState(t, ledger); got != digest || isThere(ledger+"-journal") {
		t.Error("the record is not what it was before the write")
	}
}

// halfway leaves a ledger as a program does that is killed while it writes:
// with half of a change in the file and the journal that undoes it.
func halfway(t *testing.T, path string) {
	t.Helper()
	db, err := sql.Open("sqlite", path)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	db.SetMaxOpenConns(1)
	clean := readFile(t, path)
	for _, statement := range []string{"PRAGMA cache_size=2", "BEGIN IMMEDIATE",
		"UPDATE import SET options = '{}'", "UPDATE bag SET used_dry_g = used_dry_g + 1", "UPDATE visit SET found = 0"} {
		if _, err := db.Exec(statement); err != nil {
			t.Fatal(err)
		}
	}
	file, journal := readFile(t, path), readFile(t, path+"-journal")
	if _, err := db.Exec("ROLLBACK"); err != nil {
		t.Fatal(err)
	}
	if file == clean {
		t.Fatal("nothing of the change has reached the file")
	}
	for name, content := range map[string]string{path: file, path + "-journal": journal} {
		if err := os.WriteFile(name, []byte(content), 0o644); err != nil {
			t.Fatal(err)
		}
	}
}
