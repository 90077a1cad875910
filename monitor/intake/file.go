package intake

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"hash"
	"io"
	"os"
	"path/filepath"
	"sync/atomic"
)

// File is one input file. It is read once, from start to end, and hashed on
// the way. Only its base name is kept: folders say things about people's
// machines that a ledger need not carry.
type File struct {
	name string
	f    *os.File
	sum  hash.Hash
	done bool // read to its end
	size int64
	read atomic.Int64
}

// Open opens a file for reading.
func Open(path string) (*File, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	info, err := f.Stat()
	if err == nil && info.IsDir() {
		err = fmt.Errorf("open %s: is a folder, not a file", path)
	}
	if err != nil {
		f.Close()
		return nil, err
	}
	return &File{name: filepath.Base(path), f: f, sum: sha256.New(), size: info.Size()}, nil
}

// Name returns the base name of the file.
func (f *File) Name() string { return f.name }

// Close closes the file.
func (f *File) Close() error { return f.f.Close() }

// SHA256 returns the hash of the file's bytes in hexadecimal once it has been
// read to its end, and "" before.
func (f *File) SHA256() string {
	if !f.done {
		return ""
	}
	return hex.EncodeToString(f.sum.Sum(nil))
}

// Progress returns how many bytes have been read and how many there are. It
// may be called while another goroutine reads.
func (f *File) Progress() (read, size int64) { return f.read.Load(), f.size }

// Read reads and hashes; it makes a File an io.Reader for what lies on top.
func (f *File) Read(p []byte) (int, error) {
	n, err := f.f.Read(p)
	f.sum.Write(p[:n])
	f.read.Add(int64(n))
	if err == io.EOF {
		f.done = true
	}
	return n, err
}

// drain reads what is left, so that the hash is that of the whole file even
// where reading it as a table ended early.
func (f *File) drain() error {
	if f.done {
		return nil
	}
	if _, err := io.Copy(io.Discard, f); err != nil {
		return fmt.Errorf("read %s: %w", f.name, err)
	}
	return nil
}
