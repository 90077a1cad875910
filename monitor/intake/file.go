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
	name    string
	path    string
	copied  bool // path is a temporary copy of what came through a pipe
	keep    bool // the text of rows is kept while they are read
	f       *os.File
	sum     hash.Hash
	done    bool // read to its end
	size    int64
	read    atomic.Int64
	place   place    // where its table stands, once that is known
	closers []func() // what else is to be closed
}

// place says where in a file its table stands, so that rejected rows can be
// copied from there.
type place struct {
	sheet        string // of a workbook
	headerLine   int
	decimalComma bool
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
	return &File{name: filepath.Base(path), path: path, f: f, sum: sha256.New(), size: info.Size()}, nil
}

// PipeName is the name of a file that came through a pipe.
const PipeName = "stdin"

// OpenPipe opens what comes through a pipe, under the name [PipeName]. It is
// copied to a temporary file first, which Close removes, because rows to
// reject are read a second time.
func OpenPipe(r io.Reader) (*File, error) {
	spool, err := os.CreateTemp("", "clipledger-*")
	if err != nil {
		return nil, fmt.Errorf("make a temporary file for the standard input: %w", err)
	}
	_, err = io.Copy(spool, r)
	if closeErr := spool.Close(); err == nil {
		err = closeErr
	}
	if err != nil {
		os.Remove(spool.Name())
		return nil, fmt.Errorf("read the standard input: %w", err)
	}
	f, err := Open(spool.Name())
	if err != nil {
		os.Remove(spool.Name())
		return nil, err
	}
	f.name, f.copied = PipeName, true
	return f, nil
}

// again opens the same file once more.
func (f *File) again() (*File, error) {
	g, err := Open(f.path)
	if err != nil {
		return nil, err
	}
	g.name = f.name
	return g, nil
}

// Name returns the base name of the file.
func (f *File) Name() string { return f.name }

// Close closes the file.
func (f *File) Close() error {
	for _, c := range f.closers {
		c()
	}
	f.closers = nil
	err := f.f.Close()
	if f.copied {
		os.Remove(f.path)
	}
	return err
}

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
