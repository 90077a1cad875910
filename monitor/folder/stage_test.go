package folder

import (
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"regexp"
	"testing"
)

var testKind = Kind{Noun: "export", Marker: "marker.json", MadeBy: "a test", Ours: regexp.MustCompile(`^([a-z]+\.txt|[a-z]+/[a-z]+\.txt)$`)}

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

// stage stages files and leaves the folder open.
func stage(t *testing.T, dir string, content map[string]string) *Folder {
	t.Helper()
	f, err := Open(dir, testKind)
	if err != nil {
		t.Fatal(err)
	}
	var names []string
	for name := range content {
		names = append(names, name)
	}
	if err := f.Begin(names); err != nil {
		t.Fatal(err)
	}
	for name, text := range content {
		s, err := f.Stage(name)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := s.Write([]byte(text)); err != nil {
			t.Fatal(err)
		}
		if err := s.Close(); err != nil {
			t.Fatal(err)
		}
	}
	return f
}

// TestStagedFilesStandTogether holds that nothing takes its name before
// Commit, and that what is no longer made goes with its folder.
func TestStagedFilesStandTogether(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "x")
	f := stage(t, dir, map[string]string{"a.txt": "one", "parts/b.txt": "two"})
	if _, err := os.Stat(dir + "/a.txt"); err == nil {
		t.Error("a file has its name before Commit")
	}
	if err := f.Commit(); err != nil {
		t.Fatal(err)
	}
	f.Close()
	f = stage(t, dir, map[string]string{"a.txt": "three"})
	if got := files(t, dir); got["a.txt"] != "one" || got["parts/b.txt"] != "two" {
		t.Errorf("before Commit the folder holds %v", got)
	}
	if err := f.Commit(); err != nil {
		t.Fatal(err)
	}
	f.Close()
	got := files(t, dir)
	delete(got, testKind.Marker)
	if !maps.Equal(got, map[string]string{"a.txt": "three"}) {
		t.Errorf("after Commit the folder holds %v", got)
	}
	if _, err := os.Stat(dir + "/parts"); err == nil {
		t.Error("the folder of parts is still there")
	}
}

// TestDiscard holds that a run given up leaves the folder as it was, and none
// where there was none.
func TestDiscard(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "x")
	f := stage(t, dir, map[string]string{"a.txt": "one", "parts/b.txt": "two"})
	f.Discard()
	f.Close()
	if _, err := os.Stat(dir); err == nil {
		t.Errorf("the folder is still there: %v", files(t, dir))
	}
	f = stage(t, dir, map[string]string{"a.txt": "one"})
	if err := f.Commit(); err != nil {
		t.Fatal(err)
	}
	f.Close()
	before := files(t, dir)
	f = stage(t, dir, map[string]string{"a.txt": "two", "parts/b.txt": "three"})
	f.Discard()
	f.Close()
	if got := files(t, dir); !maps.Equal(got, before) {
		t.Errorf("the folder was %v and is %v", before, got)
	}
	if _, err := os.Stat(dir + "/parts"); err == nil {
		t.Error("a folder was left behind")
	}
}

// TestKilledWhileStaging holds that the next run clears what a killed one
// left, the first as well as a later one.
func TestKilledWhileStaging(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "x")
	for range 2 {
		stage(t, dir, map[string]string{"a.txt": "half", "parts/c.txt": "half"}).Close() // and nothing more
		f := stage(t, dir, map[string]string{"a.txt": "whole"})
		if err := f.Commit(); err != nil {
			t.Fatal(err)
		}
		f.Close()
		got := files(t, dir)
		delete(got, testKind.Marker)
		if !maps.Equal(got, map[string]string{"a.txt": "whole"}) {
			t.Errorf("the folder holds %v", got)
		}
	}
}
