package main

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
)

// writeNew writes files that must not be there yet. All names are looked at
// before the first is written; each file is written beside its name and takes
// it when it is whole.
func writeNew(files []newFile) error {
	for _, f := range files {
		if _, err := os.Lstat(f.path); err == nil {
			return fmt.Errorf("%s is there already and is not overwritten; move it, or name another place. Nothing was written", f.path)
		} else if !errors.Is(err, fs.ErrNotExist) {
			return fmt.Errorf("look at %s: %w", f.path, err)
		}
	}
	for i, f := range files {
		if err := writeWhole(f); err != nil {
			if i > 0 {
				return fmt.Errorf("%w (%s written before it)", err, counted(i, "file"))
			}
			return err
		}
	}
	return nil
}

// writeWhole writes one file beside its name, and gives it the name only where
// that is still free.
func writeWhole(f newFile) error {
	if err := os.MkdirAll(filepath.Dir(f.path), 0o755); err != nil {
		return fmt.Errorf("make the folder: %w", err)
	}
	part := f.path + ".part"
	out, err := os.OpenFile(part, os.O_CREATE|os.O_EXCL|os.O_WRONLY, 0o644)
	if errors.Is(err, fs.ErrExist) {
		return fmt.Errorf("%s is left over from a call that was cut short; remove it and try again", part)
	}
	if err != nil {
		return fmt.Errorf("make %s: %w", f.path, err)
	}
	_, err = out.Write(f.content)
	if closed := out.Close(); err == nil {
		err = closed
	}
	if err == nil {
		err = takeName(part, f.path)
	}
	if err != nil {
		return errors.Join(fmt.Errorf("write %s: %w", f.path, err), os.Remove(part))
	}
	return nil
}

// takeName gives a file its name without taking it from another file.
func takeName(part, path string) error {
	err := os.Link(part, path)
	if err == nil {
		return os.Remove(part)
	}
	if errors.Is(err, fs.ErrExist) {
		return err
	}
	// File systems without hard links: hold the name with an empty file of our
	// own, which the rename replaces.
	held, err := os.OpenFile(path, os.O_CREATE|os.O_EXCL|os.O_WRONLY, 0o644)
	if err != nil {
		return err
	}
	held.Close()
	return os.Rename(part, path)
}
