package charts

import (
	"maps"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"clipledger/monitor/folder"
)

// laterReport is the sample with another number on every page.
func laterReport() *Report {
	r := sampleReport()
	for i := range r.Sites {
		r.Sites[i].Name += " later"
	}
	return r
}

// TestKilledInTheMiddle kills a run, without any last word, while it writes
// over an earlier report: every page must be the earlier one, whole, and the
// next run must end as if nothing had happened.
func TestKilledInTheMiddle(t *testing.T) {
	if dir := os.Getenv("CHARTS_TEST_WRITE"); dir != "" {
		err := Write(dir, laterReport(), func(done, _ int) {
			if done == 3 {
				os.WriteFile(dir+".reached", nil, 0o644)
				time.Sleep(time.Minute)
			}
		})
		t.Fatalf("not killed: %v", err)
	}
	dir := filepath.Join(t.TempDir(), "r")
	write(t, dir, sampleReport())
	before := files(t, dir)
	child := exec.Command(os.Args[0], "-test.run", "^TestKilledInTheMiddle$")
	child.Env = append(os.Environ(), "CHARTS_TEST_WRITE="+dir)
	if err := child.Start(); err != nil {
		t.Fatal(err)
	}
	for start := time.Now(); ; time.Sleep(10 * time.Millisecond) {
		if _, err := os.Stat(dir + ".reached"); err == nil {
			break
		}
		if time.Since(start) > 40*time.Second {
			child.Process.Kill()
			t.Fatal("the run never came to its third page")
		}
	}
	child.Process.Kill()
	child.Wait()
	after := files(t, dir)
	beside := 0
	for name, content := range after {
		if strings.Contains(name, "/.clipledger-new-") {
			beside++
			delete(after, name)
			continue
		}
		if name != markerName && content != before[name] {
			t.Errorf("%s is no longer the earlier page", name)
		}
	}
	if beside < 3 || len(after) != len(before) {
		t.Errorf("%d files beside, %d of %d in place", beside, len(after), len(before))
	}
	write(t, dir, laterReport())
	fresh := filepath.Join(t.TempDir(), "fresh")
	write(t, fresh, laterReport())
	if !maps.Equal(files(t, dir), files(t, fresh)) {
		t.Error("the next run did not end as a first one does")
	}
}

// TestBrokenOff lets a run fail: nothing of it may stay.
func TestBrokenOff(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "r")
	write(t, dir, sampleReport())
	before := files(t, dir)
	r := laterReport()
	blocked := filepath.Join(dir, folder.TempName("sites/"+pageName("DF-03")+".html"))
	if err := os.WriteFile(blocked, []byte("theirs"), 0o644); err != nil {
		t.Fatal(err)
	}
	if err := Write(dir, r, nil); err == nil || !strings.Contains(err.Error(), "in the way") {
		t.Fatalf("got %v", err)
	}
	after := files(t, dir)
	delete(after, filepath.ToSlash(strings.TrimPrefix(blocked, dir+string(filepath.Separator))))
	if !maps.Equal(before, after) {
		t.Error("a run that failed left something")
	}
}

// TestUnchanged asks whether a report still stands as it was made.
func TestUnchanged(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "r")
	if _, ok := Unchanged(dir, "one"); ok {
		t.Error("a folder that is not there is unchanged")
	}
	r := sampleReport()
	write(t, dir, r)
	if _, ok := Unchanged(dir, ""); ok {
		t.Error("a report without a stamp is unchanged")
	}
	r.Stamp = "one"
	write(t, dir, r)
	if n, ok := Unchanged(dir, "one"); !ok || n != len(r.Sites) {
		t.Errorf("got %d pages, %v", n, ok)
	}
	if _, ok := Unchanged(dir, "two"); ok {
		t.Error("another stamp is taken for the same")
	}
	page := filepath.Join(dir, "sites", pageName("DF-03")+".html")
	whole, _ := os.ReadFile(page)
	for what, spoil := range map[string]func(){
		"changed": func() { os.WriteFile(page, append(whole[:len(whole)-1:len(whole)-1], 'x'), 0o644) },
		"lost":    func() { os.Remove(page) },
	} {
		spoil()
		if _, ok := Unchanged(dir, "one"); ok {
			t.Errorf("a %s page was not noticed", what)
		}
		write(t, dir, r)
		if _, ok := Unchanged(dir, "one"); !ok {
			t.Errorf("after a %s page was written again, the report is not unchanged", what)
		}
	}
}
