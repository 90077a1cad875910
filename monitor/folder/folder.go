// Package folder writes sets of files that this program can find again: a
// folder must be new, empty or an earlier one of the same kind, which a marker
// file tells. Nothing else in it is ever touched, and a reader never meets
// half a file.
//
// There are two ways of writing. [Folder.Put] takes files whole, writes those
// whose content differs beside their names, and [Folder.Finish] gives them
// their names: for pages. [Folder.Stage] writes all files bit by bit beside
// their names, and [Folder.Commit] gives them theirs: for a dataset. A run that
// breaks off before that leaves the earlier files as they were;
// [Folder.Discard] removes what it wrote.
package folder

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
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
	"sync"
)

// Kind is a kind of folder.
type Kind struct {
	Noun   string         // as messages name it: "report"
	Marker string         // the file that tells a folder is one, and which files in it are ours to replace or remove
	MadeBy string         // what the marker says
	Ours   *regexp.Regexp // every name it can hold; a marker that lists anything else was not written by us, and is not followed
	// Folders are those that it can hold, which a run that was cut short may
	// have left empty.
	Folders []string
}

// marker is what the marker file holds. While a folder is being written it
// lists the old files and the new, so that a run cut short leaves nothing
// unknown.
type marker struct {
	MadeBy   string   `json:"made_by"`
	Format   int      `json:"format"`
	Complete bool     `json:"complete"`
	Files    []string `json:"files"`
	// Of a complete folder, where it was given a stamp: what it was made from,
	// and the digests of the files in their order.
	Stamp   string   `json:"stamp,omitempty"`
	Digests []string `json:"digests,omitempty"`
}

// Folder is a folder open for writing. Every path goes through os.Root, so
// that a link planted inside cannot lead a write out of it.
type Folder struct {
	kind   Kind
	root   *os.Root
	dir    string
	fresh  bool            // this run made the folder itself
	old    map[string]bool // ours from before
	now    map[string]bool // written or kept by this run
	plan   []string        // all that may be there while this run writes
	made   []string        // folders that this run made
	marked bool            // there was a marker before
	begun  bool            // the marker says that a run is writing

	// Stamp, where not blank, says in the marker what the files are made from,
	// for [Whole].
	Stamp string

	mu      sync.Mutex        // of now, begun and what follows
	beside  []string          // put beside their names
	digests map[string]string // of files that were put
}

// Open makes or opens dir. A folder that holds anything and is not an earlier
// one of its kind is refused.
func Open(dir string, k Kind) (*Folder, error) {
	_, there := os.Lstat(dir)
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return nil, fmt.Errorf("make %s folder: %w", k.Noun, err)
	}
	root, err := os.OpenRoot(dir)
	if err != nil {
		return nil, fmt.Errorf("open %s folder: %w", k.Noun, err)
	}
	f := &Folder{kind: k, root: root, dir: dir, fresh: there != nil, old: map[string]bool{}, now: map[string]bool{}, digests: map[string]string{}}
	if err := f.recognise(); err != nil {
		root.Close()
		return nil, err
	}
	return f, nil
}

// Close gives the folder back.
func (f *Folder) Close() error { return f.root.Close() }

// recognise reads the marker of an earlier run, or checks that the folder is
// empty.
func (f *Folder) recognise() error {
	name := f.kind.Marker
	raw, err := f.readSmall(name)
	if errors.Is(err, fs.ErrNotExist) {
		return f.mustBeEmpty()
	}
	if err != nil {
		return fmt.Errorf("read %s: %w", filepath.Join(f.dir, name), err)
	}
	var m marker
	bad := json.Unmarshal(raw, &m) != nil || m.MadeBy != f.kind.MadeBy || m.Format != 1
	bad = bad || slices.ContainsFunc(m.Files, func(name string) bool { return !f.kind.Ours.MatchString(name) })
	if bad {
		return fmt.Errorf("%s was not written by this program; choose another folder", filepath.Join(f.dir, name))
	}
	f.marked = true
	for _, name := range m.Files {
		f.old[name] = true
	}
	if m.Complete {
		return nil
	}
	// A run cut short may have left the files it was writing.
	for _, name := range append(m.Files, f.kind.Marker) {
		_ = f.root.Remove(TempName(name))
	}
	return nil
}

// mustBeEmpty tolerates nothing but what a run leaves that was cut short, or
// found the disk full, before its marker was there: the marker half written,
// and our folders with nothing in them. Any other file may be anyone's.
func (f *Folder) mustBeEmpty() error {
	entries, err := fs.ReadDir(f.root.FS(), ".")
	if err != nil {
		return fmt.Errorf("read %s folder: %w", f.kind.Noun, err)
	}
	for _, e := range entries {
		left := e.Name() == TempName(f.kind.Marker) || e.IsDir() && slices.Contains(f.kind.Folders, e.Name())
		// A folder that holds anything is not removed.
		if !left || f.root.Remove(e.Name()) != nil {
			return fmt.Errorf("%s holds other files (such as %q) and is not an earlier %s; choose an empty or new folder", f.dir, e.Name(), f.kind.Noun)
		}
	}
	return nil
}

// readSmall reads a file of at most 16 MB: a marker cannot be larger.
func (f *Folder) readSmall(name string) ([]byte, error) {
	file, err := f.root.Open(name)
	if err != nil {
		return nil, err
	}
	defer file.Close()
	return io.ReadAll(io.LimitReader(file, 16<<20))
}

// Begin checks what is about to be written and makes the folders for it.
func (f *Folder) Begin(names []string) error {
	for _, name := range names {
		if !f.kind.Ours.MatchString(name) {
			return fmt.Errorf("%s: %q is no name of a file in a %[1]s", f.kind.Noun, name)
		}
		if _, err := f.root.Lstat(name); err == nil && !f.old[name] {
			return fmt.Errorf("%s is in the way and belongs to no earlier %s; move it or choose another folder", filepath.Join(f.dir, name), f.kind.Noun)
		}
		if err := f.makeFor(name); err != nil {
			return fmt.Errorf("make folder in %s: %w", f.kind.Noun, err)
		}
	}
	f.plan = slices.Clone(names)
	for name := range f.old {
		f.plan = append(f.plan, name)
	}
	return nil
}

// makeFor makes the folders above a file, and remembers those that were not
// there.
func (f *Folder) makeFor(name string) error {
	var missing []string
	for dir := path.Dir(name); dir != "."; dir = path.Dir(dir) {
		if _, err := f.root.Lstat(dir); err == nil {
			break
		}
		missing = append(missing, dir)
	}
	if err := f.root.MkdirAll(path.Dir(name), 0o755); err != nil {
		return err
	}
	slices.Reverse(missing)
	f.made = append(f.made, missing...)
	return nil
}

// Finish gives the files that were put their names, removes those of an
// earlier run that are no longer made, then notes in the marker what is there
// now.
func (f *Folder) Finish() error {
	for len(f.beside) > 0 {
		name := f.beside[0]
		if err := f.root.Rename(TempName(name), name); err != nil {
			return f.failed(err)
		}
		f.beside = f.beside[1:]
	}
	var names []string
	for name := range f.now {
		names = append(names, name)
	}
	for name := range f.old {
		if f.now[name] {
			continue
		}
		if err := f.root.Remove(name); err != nil && !errors.Is(err, fs.ErrNotExist) {
			return fmt.Errorf("remove stale file of the %s: %w", f.kind.Noun, err)
		}
		for dir := path.Dir(name); dir != "."; dir = path.Dir(dir) {
			if f.root.Remove(dir) != nil { // it holds something
				break
			}
		}
	}
	return f.mark(names, true)
}

func (f *Folder) mark(names []string, complete bool) error {
	sort.Strings(names)
	m := marker{MadeBy: f.kind.MadeBy, Format: 1, Complete: complete, Files: slices.Compact(names)}
	if complete && f.Stamp != "" {
		m.Stamp = f.Stamp
		for _, name := range m.Files {
			m.Digests = append(m.Digests, f.digests[name])
		}
	}
	raw, err := json.MarshalIndent(m, "", " ")
	if err != nil {
		return fmt.Errorf("write %s: %w", f.kind.Marker, err)
	}
	raw = append(raw, '\n')
	if f.same(f.kind.Marker, raw) {
		return nil
	}
	return f.replace(f.kind.Marker, raw)
}

// begin notes in the marker that a run is writing.
func (f *Folder) begin() error {
	if f.begun {
		return nil
	}
	if err := f.mark(slices.Clone(f.plan), false); err != nil {
		return err
	}
	f.begun = true
	return nil
}

// Put writes one file beside its name unless it is there already, byte for
// byte: an unchanged one keeps its time stamp. Several may be put at once.
func (f *Folder) Put(name string, content []byte) error {
	sum := digest(content)
	f.mu.Lock()
	f.now[name], f.digests[name] = true, sum
	f.mu.Unlock()
	if f.same(name, content) {
		return nil
	}
	f.mu.Lock()
	err := f.begin()
	f.mu.Unlock()
	if err == nil {
		err = f.writeBeside(name, content)
	}
	if err != nil {
		return err
	}
	f.mu.Lock()
	f.beside = append(f.beside, name)
	f.mu.Unlock()
	return nil
}

func digest(content []byte) string {
	sum := sha256.Sum256(content)
	return hex.EncodeToString(sum[:16])
}

func (f *Folder) same(name string, content []byte) bool {
	info, err := f.root.Lstat(name)
	if err != nil || !info.Mode().IsRegular() || info.Size() != int64(len(content)) {
		return false
	}
	had, err := f.root.ReadFile(name)
	return err == nil && bytes.Equal(had, content)
}

// replace writes beside the file and renames, so that a reader never meets
// half of it.
func (f *Folder) replace(name string, content []byte) error {
	if err := f.writeBeside(name, content); err != nil {
		return err
	}
	if err := f.root.Rename(TempName(name), name); err != nil {
		_ = f.root.Remove(TempName(name))
		return f.failed(err)
	}
	return nil
}

func (f *Folder) writeBeside(name string, content []byte) error {
	out, err := f.create(name)
	if err != nil {
		return err
	}
	_, err = out.Write(content)
	if cerr := out.Close(); err == nil {
		err = cerr
	}
	if err != nil {
		_ = f.root.Remove(TempName(name))
		return f.failed(err)
	}
	return nil
}

// create makes the file beside a name.
func (f *Folder) create(name string) (*os.File, error) {
	temp := TempName(name)
	out, err := f.root.OpenFile(temp, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o644)
	if errors.Is(err, fs.ErrExist) {
		return nil, fmt.Errorf("%s is in the way (another %s being written here?); remove it and try again", filepath.Join(f.dir, temp), f.kind.Noun)
	}
	if err != nil {
		return nil, f.failed(err)
	}
	return out, nil
}

// failed words an error of the disk.
func (f *Folder) failed(err error) error { return fmt.Errorf("write %s: %w", f.kind.Noun, err) }

// TempName is where a file is written before it takes its name.
func TempName(name string) string {
	return path.Join(path.Dir(name), ".clipledger-new-"+path.Base(name))
}
