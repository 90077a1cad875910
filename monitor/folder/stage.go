package folder

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
)

// Staged is a file that stands beside its name until [Folder.Commit].
type Staged struct {
	folder *Folder
	name   string
	file   *os.File
}

// Stage begins a file of the plan that Begin was given. It must be closed
// before Commit.
func (f *Folder) Stage(name string) (*Staged, error) {
	if err := f.begin(); err != nil {
		return nil, err
	}
	file, err := f.create(name)
	if err != nil {
		return nil, err
	}
	f.now[name] = true
	return &Staged{f, name, file}, nil
}

// Write implements io.Writer.
func (s *Staged) Write(p []byte) (int, error) {
	n, err := s.file.Write(p)
	if err != nil {
		err = s.folder.failed(asIfAt(err, filepath.Join(s.folder.dir, s.name)))
	}
	return n, err
}

// Close ends the file.
func (s *Staged) Close() error {
	if err := s.file.Close(); err != nil {
		return s.folder.failed(asIfAt(err, filepath.Join(s.folder.dir, s.name)))
	}
	return nil
}

// asIfAt names the file that the user knows in place of the one beside it.
func asIfAt(err error, path string) error {
	var at *fs.PathError
	if errors.As(err, &at) {
		return &fs.PathError{Op: at.Op, Path: path, Err: at.Err}
	}
	return err
}

// Commit gives all staged files their names, removes those of an earlier run
// that are no longer made, and notes what is there now. Until then the earlier
// files are as they were.
func (f *Folder) Commit() error {
	for name := range f.now {
		if err := f.root.Rename(TempName(name), name); err != nil {
			return f.failed(err)
		}
	}
	return f.Finish()
}

// Discard removes what was staged and brings the folder back to what it was.
func (f *Folder) Discard() {
	for name := range f.now {
		_ = f.root.Remove(TempName(name))
	}
	for i := len(f.made) - 1; i >= 0; i-- {
		_ = f.root.Remove(f.made[i]) // only where it is empty
	}
	if !f.marked {
		if f.begun {
			_ = f.root.Remove(f.kind.Marker)
		}
		if f.fresh {
			_ = os.Remove(f.dir)
		}
		return
	}
	if !f.begun {
		return
	}
	var names []string
	for name := range f.old {
		names = append(names, name)
	}
	_ = f.mark(names, true)
}
