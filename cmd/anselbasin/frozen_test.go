package main

import (
	"bytes"
	"io"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// frozen is where the files lie as they were delivered.
const frozen = "../../testdata/ansel-basin"

// TestFrozen writes the scenario anew and compares it with what is frozen.
func TestFrozen(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "basin")
	if code := run([]string{dir}, io.Discard); code != 0 {
		t.Fatalf("exit %d", code)
	}
	got, want := readDir(t, dir), readDir(t, frozen)
	gotNames, wantNames := slices.Sorted(maps.Keys(got)), slices.Sorted(maps.Keys(want))
	if !slices.Equal(gotNames, wantNames) {
		t.Fatalf("files %v, frozen are %v", gotNames, wantNames)
	}
	for _, name := range wantNames {
		if !bytes.Equal(got[name], want[name]) {
			t.Errorf("%s differs from the frozen file; go run ./cmd/anselbasin testdata/ansel-basin writes it anew", name)
		}
	}
}

// readDir reads a folder's files, hidden ones left out.
func readDir(t *testing.T, dir string) map[string][]byte {
	t.Helper()
	entries, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	out := map[string][]byte{}
	for _, e := range entries {
		if strings.HasPrefix(e.Name(), ".") {
			continue
		}
		data, err := os.ReadFile(filepath.Join(dir, e.Name()))
		if err != nil {
			t.Fatal(err)
		}
		out[e.Name()] = data
	}
	return out
}

// TestRunFails holds the exit codes of wrong use and of a folder that cannot
// be made.
func TestRunFails(t *testing.T) {
	var stderr bytes.Buffer
	if code := run(nil, &stderr); code != 2 || !strings.Contains(stderr.String(), "usage") {
		t.Errorf("no folder: exit %d, %q", code, stderr.String())
	}
	file := filepath.Join(t.TempDir(), "taken")
	if err := os.WriteFile(file, nil, 0o644); err != nil {
		t.Fatal(err)
	}
	if code := run([]string{file}, io.Discard); code != 1 {
		t.Errorf("folder is a file: exit %d, want 1", code)
	}
}

// TestSaysInvented holds that every file owns up in its name or its text.
func TestSaysInvented(t *testing.T) {
	for name, data := range readDir(t, frozen) {
		first := strings.ToLower(string(data[:min(len(data), 200)]))
		if !strings.Contains(name, "invented") && !strings.Contains(first, "invented") {
			t.Errorf("%s does not say that it is invented", name)
		}
	}
}
