package charts

import (
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"clipledger/monitor/folder"
	"clipledger/monitor/needtool"
)

// files reads a folder whole.
func files(t *testing.T, dir string) map[string]string {
	t.Helper()
	out := map[string]string{}
	err := filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		rel, _ := filepath.Rel(dir, path)
		content, err := os.ReadFile(path)
		out[filepath.ToSlash(rel)] = string(content)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return out
}

func write(t *testing.T, dir string, r *Report) {
	t.Helper()
	if err := Write(dir, r, nil); err != nil {
		t.Fatal(err)
	}
}

// TestSameModelSameBytes writes two reports from two models made alike.
func TestSameModelSameBytes(t *testing.T) {
	a, b := filepath.Join(t.TempDir(), "a"), filepath.Join(t.TempDir(), "b")
	write(t, a, sampleReport())
	write(t, b, sampleReport())
	one, two := files(t, a), files(t, b)
	if len(one) < 20 {
		t.Fatalf("only %d files were written", len(one))
	}
	if !maps.Equal(one, two) {
		t.Error("the same model gave other bytes")
	}
}

func TestProgress(t *testing.T) {
	r := sampleReport()
	var got []int
	err := Write(filepath.Join(t.TempDir(), "r"), r, func(done, total int) {
		if total != len(r.Sites) {
			t.Errorf("total is %d, want %d", total, len(r.Sites))
		}
		got = append(got, done)
	})
	if err != nil {
		t.Fatal(err)
	}
	if want := []int{1, 2, 3, 4, 5}; !slices.Equal(got, want) {
		t.Errorf("got %v, want %v", got, want)
	}
}

// TestOnlyChangedPagesAreWritten changes one number and looks at time stamps.
func TestOnlyChangedPagesAreWritten(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "r")
	r := sampleReport()
	write(t, dir, r)
	old := time.Date(2001, 2, 3, 4, 5, 6, 0, time.UTC)
	for name := range files(t, dir) {
		if err := os.Chtimes(filepath.Join(dir, name), old, old); err != nil {
			t.Fatal(err)
		}
	}
	written := func() []string {
		var out []string
		for name := range files(t, dir) {
			info, err := os.Stat(filepath.Join(dir, name))
			if err != nil {
				t.Fatal(err)
			}
			if !info.ModTime().Equal(old) {
				out = append(out, name)
			}
		}
		slices.Sort(out)
		return out
	}
	write(t, dir, r)
	if got := written(); len(got) != 0 {
		t.Errorf("nothing changed, but these were written: %v", got)
	}
	r.Sites[2].Series[0].Years[3].SE = ptr(123.25)
	write(t, dir, r)
	page := pageName("DF-03")
	// The marker says in between that a report is being written.
	want := []string{markerName, "data/" + page + ".csv", "sites/" + page + ".html"}
	if got := written(); !slices.Equal(got, want) {
		t.Errorf("got %v, want %v", got, want)
	}
}

// TestStalePagesGo drops a site: its files go, a file of somebody else stays.
func TestStalePagesGo(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "r")
	r := sampleReport()
	write(t, dir, r)
	mine := filepath.Join(dir, "sites", "my notes.html")
	if err := os.WriteFile(mine, []byte("mine"), 0o644); err != nil {
		t.Fatal(err)
	}
	before := files(t, dir)
	gone := pageName(r.Sites[3].Code)
	r.Sites = slices.Delete(r.Sites, 3, 4)
	write(t, dir, r)
	after := files(t, dir)
	for name := range before {
		_, there := after[name]
		if stale := strings.Contains(name, gone); stale == there {
			t.Errorf("%s: stale %v, still there %v", name, stale, there)
		}
	}
	if strings.Contains(after[markerName], gone) {
		t.Error("the marker still lists the page that went")
	}
}

// TestForeignFoldersAreRefused never writes into, or removes from, a folder
// that is not an earlier report.
func TestForeignFoldersAreRefused(t *testing.T) {
	outside := filepath.Join(t.TempDir(), "precious.html")
	if err := os.WriteFile(outside, []byte("precious"), 0o644); err != nil {
		t.Fatal(err)
	}
	for name, content := range map[string]map[string]string{
		"a note":             {"notes.txt": "hello"},
		"a hidden file":      {".hidden": ""},
		"an index of others": {"index.html": "<h1>mine</h1>"},
		"no JSON":            {markerName: "hello"},
		"empty marker":       {markerName: ""},
		"another's marker":   {markerName: `{"made_by":"x","format":1,"files":[]}`},
		"a later format":     {markerName: `{"made_by":"clipledger report","format":2,"files":[]}`},
		"a way out":          {markerName: `{"made_by":"clipledger report","format":1,"complete":true,"files":["../precious.html"]}`},
		"a way out inside":   {markerName: `{"made_by":"clipledger report","format":1,"complete":true,"files":["sites/../../precious.html"]}`},
		"an absolute path":   {markerName: `{"made_by":"clipledger report","format":1,"complete":true,"files":["/etc/hosts"]}`},
		"another's name":     {markerName: `{"made_by":"clipledger report","format":1,"complete":true,"files":["thesis.docx"]}`, "thesis.docx": "x"},
	} {
		dir := filepath.Join(filepath.Dir(outside), strings.ReplaceAll(name, " ", "-"))
		for file, text := range content {
			if err := os.MkdirAll(dir, 0o755); err != nil {
				t.Fatal(err)
			}
			if err := os.WriteFile(filepath.Join(dir, file), []byte(text), 0o644); err != nil {
				t.Fatal(err)
			}
		}
		if err := Write(dir, sampleReport(), nil); err == nil {
			t.Errorf("%s: was not refused", name)
		} else if !strings.Contains(err.Error(), "folder") {
			t.Errorf("%s: the error does not say what to do: %v", name, err)
		}
		if got := files(t, dir); !maps.Equal(got, content) {
			t.Errorf("%s: the folder was changed: %v", name, slices.Collect(maps.Keys(got)))
		}
	}
	if content, err := os.ReadFile(outside); err != nil || string(content) != "precious" {
		t.Errorf("a file outside was touched: %q, %v", content, err)
	}
}

// TestForeignFileInTheWay refuses to replace a file that no report wrote.
func TestForeignFileInTheWay(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "r")
	r := sampleReport()
	r.Sites = r.Sites[:1]
	write(t, dir, r)
	theirs := filepath.Join(dir, "sites", pageName("DF-02")+".html")
	if err := os.WriteFile(theirs, []byte("theirs"), 0o644); err != nil {
		t.Fatal(err)
	}
	if err := Write(dir, sampleReport(), nil); err == nil || !strings.Contains(err.Error(), "in the way") {
		t.Errorf("got %v, want a refusal", err)
	}
	if content, _ := os.ReadFile(theirs); string(content) != "theirs" {
		t.Error("somebody's file was replaced")
	}
}

// TestLinkOutOfTheFolder plants a link where the pages go: nothing may be
// written or removed through it.
func TestLinkOutOfTheFolder(t *testing.T) {
	dir, outside := filepath.Join(t.TempDir(), "r"), t.TempDir()
	write(t, dir, sampleReport())
	if err := os.RemoveAll(filepath.Join(dir, "sites")); err != nil {
		t.Fatal(err)
	}
	victim := filepath.Join(outside, pageName("DF-01")+".html")
	if err := os.WriteFile(victim, []byte("theirs"), 0o644); err != nil {
		t.Fatal(err)
	}
	if err := os.Symlink(outside, filepath.Join(dir, "sites")); err != nil {
		needtool.Missing(t, "a file system with symbolic links") // as on Windows without the right to make them
	}
	if err := Write(dir, sampleReport(), nil); err == nil {
		t.Error("a link out of the folder was followed")
	}
	if content, _ := os.ReadFile(victim); string(content) != "theirs" {
		t.Error("a file outside was replaced")
	}
	if entries, _ := os.ReadDir(outside); len(entries) != 1 {
		t.Errorf("the folder outside now holds %d files", len(entries))
	}
}

// TestAfterAnInterruption rebuilds the state a killed run leaves: some pages
// missing, one half-written beside its name, the marker not complete.
func TestAfterAnInterruption(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "r")
	r := sampleReport()
	write(t, dir, r)
	whole := files(t, dir)
	marker := strings.Replace(whole[markerName], `"complete": true`, `"complete": false`, 1)
	if marker == whole[markerName] {
		t.Fatal("the marker does not say that it is complete")
	}
	for name, text := range map[string]string{markerName: marker, "sites/.clipledger-new-" + pageName("DF-01") + ".html": "<!DOC"} {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	if err := os.Remove(filepath.Join(dir, "sites", pageName("DF-01")+".html")); err != nil {
		t.Fatal(err)
	}
	write(t, dir, r)
	if got := files(t, dir); !maps.Equal(got, whole) {
		t.Error("the folder did not come back to what it was")
	}
}

// TestInterruptedAtTheStart leaves nothing but the half-written marker.
func TestInterruptedAtTheStart(t *testing.T) {
	dir := t.TempDir()
	if err := os.WriteFile(filepath.Join(dir, folder.TempName(markerName)), []byte("{"), 0o644); err != nil {
		t.Fatal(err)
	}
	write(t, dir, sampleReport())
	if _, there := files(t, dir)[folder.TempName(markerName)]; there {
		t.Error("the half-written marker is still there")
	}
}
