package charts

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"regexp"
	"slices"
	"sort"
)

// markerName is the file that tells a folder is a report of ours, and which
// files in it are ours to replace or remove.
const markerName = "clipledger-report.json"

const madeBy = "clipledger report"

// marker is what markerName holds. While a report is being written it lists
// the old files and the new, so that a run cut short leaves nothing unknown.
type marker struct {
	MadeBy   string   `json:"made_by"`
	Format   int      `json:"format"`
	Complete bool     `json:"complete"`
	Files    []string `json:"files"`
}

// ourFile is every name a report can hold. A marker that lists anything else
// was not written by us, and is not followed.
var ourFile = regexp.MustCompile(`^(index\.html|methods\.html|sites/[a-z0-9-]+\.html|data/[a-z0-9-]+\.csv|assets/[A-Za-z0-9-]+(\.[a-z]+)*)$`)

// folder is a report's folder open for writing. Every path goes through
// os.Root, so that a link planted inside cannot lead a write out of it.
type folder struct {
	root  *os.Root
	dir   string
	old   map[string]bool // ours from before
	now   map[string]bool // written or kept by this run
	plan  []string        // all that may be there while this run writes
	begun bool            // the marker says so
}

// openFolder makes or opens dir. A folder that holds anything and is not an
// earlier report is refused.
func openFolder(dir string) (*folder, error) {
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return nil, fmt.Errorf("make report folder: %w", err)
	}
	root, err := os.OpenRoot(dir)
	if err != nil {
		return nil, fmt.Errorf("open report folder: %w", err)
	}
	f := &folder{root: root, dir: dir, old: map[string]bool{}, now: map[string]bool{}}
	if err := f.recognise(); err != nil {
		root.Close()
		return nil, err
	}
	return f, nil
}

func (f *folder) close() error { return f.root.Close() }

// recognise reads the marker of an earlier report, or checks that the folder
// is empty.
func (f *folder) recognise() error {
	raw, err := f.readSmall(markerName)
	if errors.Is(err, fs.ErrNotExist) {
		return f.mustBeEmpty()
	}
	if err != nil {
		return fmt.Errorf("read %s: %w", filepath.Join(f.dir, markerName), err)
	}
	var m marker
	bad := json.Unmarshal(raw, &m) != nil || m.MadeBy != madeBy || m.Format != 1
	bad = bad || slices.ContainsFunc(m.Files, func(name string) bool { return !ourFile.MatchString(name) })
	if bad {
		return fmt.Errorf("%s was not written by this program; choose another folder", filepath.Join(f.dir, markerName))
	}
	for _, name := range m.Files {
		f.old[name] = true
	}
	if m.Complete {
		return nil
	}
	// A run cut short may have left the file it was writing.
	for _, name := range append(m.Files, markerName) {
		_ = f.root.Remove(tempName(name))
	}
	return nil
}

// ourFolders are the folders of a report.
var ourFolders = []string{"assets", "data", "sites"}

// mustBeEmpty tolerates nothing but what a run leaves that was cut short, or
// found the disk full, before its marker was there: the marker half written,
// and our folders with nothing in them. Any other file may be anyone's.
func (f *folder) mustBeEmpty() error {
	entries, err := fs.ReadDir(f.root.FS(), ".")
	if err != nil {
		return fmt.Errorf("read report folder: %w", err)
	}
	for _, e := range entries {
		left := e.Name() == tempName(markerName) || e.IsDir() && slices.Contains(ourFolders, e.Name())
		// A folder that holds anything is not removed.
		if !left || f.root.Remove(e.Name()) != nil {
			return fmt.Errorf("%s holds other files (such as %q) and is not an earlier report; choose an empty or new folder", f.dir, e.Name())
		}
	}
	return nil
}

// readSmall reads a file of at most 16 MB: a marker cannot be larger.
func (f *folder) readSmall(name string) ([]byte, error) {
	file, err := f.root.Open(name)
	if err != nil {
		return nil, err
	}
	defer file.Close()
	return io.ReadAll(io.LimitReader(file, 16<<20))
}

// begin checks what is about to be written and makes the folders for it.
func (f *folder) begin(names []string) error {
	for _, name := range names {
		if !ourFile.MatchString(name) {
			return fmt.Errorf("report: %q is no name of a report's file", name)
		}
		if _, err := f.root.Lstat(name); err == nil && !f.old[name] {
			return fmt.Errorf("%s is in the way and belongs to no earlier report; move it or choose another folder", filepath.Join(f.dir, name))
		}
		if err := f.root.MkdirAll(path.Dir(name), 0o755); err != nil {
			return fmt.Errorf("make folder in report: %w", err)
		}
	}
	f.plan = slices.Clone(names)
	for name := range f.old {
		f.plan = append(f.plan, name)
	}
	return nil
}

// finish removes pages of an earlier report that are no longer made, then
// notes in the marker what is there now.
func (f *folder) finish() error {
	var names []string
	for name := range f.now {
		names = append(names, name)
	}
	for name := range f.old {
		if f.now[name] {
			continue
		}
		if err := f.root.Remove(name); err != nil && !errors.Is(err, fs.ErrNotExist) {
			return fmt.Errorf("remove stale page: %w", err)
		}
	}
	return f.mark(names, true)
}

func (f *folder) mark(names []string, complete bool) error {
	sort.Strings(names)
	raw, err := json.MarshalIndent(marker{madeBy, 1, complete, slices.Compact(names)}, "", " ")
	if err != nil {
		return fmt.Errorf("write %s: %w", markerName, err)
	}
	raw = append(raw, '\n')
	if f.same(markerName, raw) {
		return nil
	}
	return f.replace(markerName, raw)
}

// put writes one file of the report unless it is there already, byte for
// byte: an unchanged page keeps its time stamp.
func (f *folder) put(name string, content []byte) error {
	f.now[name] = true
	if f.same(name, content) {
		return nil
	}
	if !f.begun {
		if err := f.mark(f.plan, false); err != nil {
			return err
		}
		f.begun = true
	}
	return f.replace(name, content)
}

func (f *folder) same(name string, content []byte) bool {
	info, err := f.root.Lstat(name)
	if err != nil || !info.Mode().IsRegular() || info.Size() != int64(len(content)) {
		return false
	}
	had, err := f.root.ReadFile(name)
	return err == nil && bytes.Equal(had, content)
}

// replace writes beside the file and renames, so that a reader never meets
// half a page.
func (f *folder) replace(name string, content []byte) error {
	temp := tempName(name)
	out, err := f.root.OpenFile(temp, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o644)
	if errors.Is(err, fs.ErrExist) {
		return fmt.Errorf("%s is in the way (another report being written here?); remove it and try again", filepath.Join(f.dir, temp))
	}
	if err != nil {
		return fmt.Errorf("write report: %w", err)
	}
	_, err = out.Write(content)
	if cerr := out.Close(); err == nil {
		err = cerr
	}
	if err == nil {
		err = f.root.Rename(temp, name)
	}
	if err != nil {
		_ = f.root.Remove(temp)
		return fmt.Errorf("write report: %w", err)
	}
	return nil
}

// tempName is where a file is written before it takes its name.
func tempName(name string) string {
	return path.Join(path.Dir(name), ".clipledger-new-"+path.Base(name))
}
