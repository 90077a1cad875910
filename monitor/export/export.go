package export

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"hash"
	"io"
	"regexp"
	"slices"
	"strings"
	"sync"
	"sync/atomic"

	"clipledger/monitor/folder"
	"clipledger/schema"
)

// Options say what an export holds.
type Options struct {
	Form        string // one of Forms
	Observers   bool   // names of observers, in place of numbers
	Coordinates bool   // latitudes and longitudes
	Confidence  float64
	Units       string           // of weight per area in the workbook; "": the ledger's
	Ledger      string           // how the ledger is called where it has no name
	Progress    func(rows int64) // called now and then, where not nil
	sheetRows   int              // rows that a sheet takes, in tests
}

// Forms are the forms of an export.
var Forms = []string{"csv", "datapackage", "eml", "darwin-core", "xlsx", "parquet"}

// markerName is the file that tells a folder is an export of ours.
const markerName = "clipledger-export.json"

// ourFile is every name that an export can hold.
var ourFile = regexp.MustCompile(`^(README\.txt|datapackage\.json|eml\.xml|meta\.xml|workbook\.xlsx|means\.sql|[a-z_]+\.(csv|parquet)|[a-z_]+/growth_year=[0-9]+/stratum=[a-z0-9-]+/[a-z0-9_-]+\.parquet)$`)

// Result is what was written.
type Result struct {
	Files   int
	Rows    int64
	Remarks []string
}

// Write writes an export into dir, which must be new, empty or an earlier
// export. Nothing there changes before the last file is written.
func Write(ctx context.Context, dir string, s *schema.Snapshot, o Options) (*Result, error) {
	if !slices.Contains(Forms, o.Form) {
		return nil, fmt.Errorf("there is no form %q; use %s", o.Form, strings.Join(Forms, ", "))
	}
	src, err := newSource(s, o)
	if err != nil {
		return nil, err
	}
	if len(src.sites) == 0 && len(src.all) == 0 {
		return nil, ErrNothing
	}
	f, err := folder.Open(dir, folder.Kind{Noun: "export", Marker: markerName, MadeBy: "clipledger export", Ours: ourFile})
	if err != nil {
		return nil, err
	}
	defer f.Close()
	w := &writer{ctx: ctx, folder: f, src: src, files: map[string]*written{}}
	names, write := w.form()
	err = f.Begin(names)
	if err == nil {
		err = write()
	}
	if err == nil {
		err = ctx.Err()
	}
	if err != nil {
		f.Discard()
		return nil, fmt.Errorf("%w; %s is as it was", err, dir)
	}
	if err := f.Commit(); err != nil {
		return nil, err
	}
	result := &Result{Files: len(names), Remarks: src.remarks()}
	for _, file := range w.files {
		result.Rows += file.rows
	}
	return result, nil
}

// ErrNothing says that the ledger has nothing to export.
var ErrNothing = errors.New("the ledger has neither sites nor clippings: there is nothing to export")

// writer writes the files of one export.
type writer struct {
	ctx    context.Context
	folder *folder.Folder
	src    *source
	rows   atomic.Int64 // for progress
	mu     sync.Mutex   // for folder and files
	files  map[string]*written
}

// written is what is known of a file once it is written.
type written struct {
	bytes int64
	sha   string
	rows  int64
}

// form gives the names of all files of the form, and what writes them.
func (w *writer) form() (names []string, write func() error) {
	tables := csvNames()
	switch w.src.options.Form {
	case "datapackage":
		return append(tables, "datapackage.json", "README.txt"), func() error {
			return firstError(w.allCSV, w.dataPackage, w.readme)
		}
	case "eml":
		return append(tables, "eml.xml", "README.txt"), func() error {
			return firstError(w.allCSV, w.eml, w.readme)
		}
	case "darwin-core":
		return append(slices.Clone(darwinFiles), "README.txt"), func() error {
			return firstError(w.darwinCore, w.readme)
		}
	case "xlsx":
		return []string{"workbook.xlsx", "README.txt"}, func() error {
			return firstError(w.workbook, w.readme)
		}
	case "parquet":
		return append(w.parquetNames(), "means.sql", "README.txt"), func() error {
			return firstError(w.allParquet, w.meansSQL, w.readme)
		}
	default:
		return append(tables, "README.txt"), func() error {
			return firstError(w.allCSV, w.readme)
		}
	}
}

func firstError(steps ...func() error) error {
	for _, step := range steps {
		if err := step(); err != nil {
			return err
		}
	}
	return nil
}

func csvNames() []string {
	var names []string
	for i := range Tables {
		names = append(names, Tables[i].Name+".csv")
	}
	return names
}

// frameNames are the tables that are read together from the frames.
var frameNames = []string{"frames", "bags", "frame_production"}

// meanNames are the tables that are worked out together.
var meanNames = []string{"occasion_means", "trends"}

// allCSV writes every table as CSV: those of the frames on one core, the
// others on another.
func (w *writer) allCSV() error {
	return w.twoCores(func(src *source) error {
		return w.csvs(frameNames, func(emit []func([]Cell) error) error { return frameTables(src, src.all, emit[0], emit[1], emit[2]) })
	}, func(src *source) error {
		err := w.csvs(meanNames, func(emit []func([]Cell) error) error { return meanTables(src, emit[0], emit[1]) })
		if err != nil {
			return err
		}
		for i := range Tables {
			t := &Tables[i]
			if slices.Contains(frameNames, t.Name) || slices.Contains(meanNames, t.Name) {
				continue
			}
			if err := w.csv(t, func(emit func([]Cell) error) error { return t.rows(src, src.all, emit) }); err != nil {
				return err
			}
		}
		return nil
	})
}

// twoCores runs two halves of the work side by side where the snapshot can be
// read twice, else one after the other.
func (w *writer) twoCores(first, second func(*source) error) error {
	twin, giveBack := w.src.snap.Twin()
	defer giveBack()
	if twin == nil {
		return firstError(func() error { return first(w.src) }, func() error { return second(w.src) })
	}
	other := *w.src
	other.snap = twin
	done := make(chan error, 1)
	go func() { done <- first(&other) }()
	err := second(w.src)
	if otherErr := <-done; err == nil {
		err = otherErr
	}
	return err
}

// csvs writes tables whose rows are read together.
func (w *writer) csvs(names []string, read func(emit []func([]Cell) error) error) error {
	return together(names, func(name string, inside func(emit func([]Cell) error) error) error {
		return w.csv(tableNamed(name), inside)
	}, read)
}

// together opens the files of tables one inside the other, and reads with all
// of them open.
func together(names []string, open func(name string, inside func(emit func([]Cell) error) error) error, read func(emit []func([]Cell) error) error) error {
	var emits []func([]Cell) error
	var next func() error
	next = func() error {
		if len(emits) == len(names) {
			return read(emits)
		}
		return open(names[len(emits)], func(emit func([]Cell) error) error {
			emits = append(emits, emit)
			return next()
		})
	}
	return next()
}

// csv writes one table.
func (w *writer) csv(t *Table, read func(emit func([]Cell) error) error) error {
	return w.stage(t.Name+".csv", func(out io.Writer) (int64, error) {
		c, err := newCSV(out, t)
		if err != nil {
			return 0, err
		}
		var rows int64
		if err := read(w.counting(&rows, c.row)); err != nil {
			return 0, err
		}
		return rows, c.close()
	})
}

// counting counts rows, and stops where the run was interrupted.
func (w *writer) counting(rows *int64, emit func([]Cell) error) func([]Cell) error {
	return func(cells []Cell) error {
		if *rows++; *rows%4096 == 0 {
			all := w.rows.Add(4096)
			if w.src.options.Progress != nil {
				w.src.options.Progress(all)
			}
			if err := w.ctx.Err(); err != nil {
				return err
			}
		}
		return emit(cells)
	}
}

// stage writes one file and notes its size, hash and rows.
func (w *writer) stage(name string, write func(io.Writer) (rows int64, err error)) error {
	w.mu.Lock()
	file, err := w.folder.Stage(name)
	w.mu.Unlock()
	if err != nil {
		return err
	}
	m := &metered{w: file, sum: sha256.New()}
	rows, err := write(m)
	if m.err != nil { // not as whoever was reading meanwhile tells it
		err = m.err
	}
	if closeErr := file.Close(); err == nil {
		err = closeErr
	}
	if err != nil {
		return err
	}
	w.mu.Lock()
	defer w.mu.Unlock()
	w.files[name] = &written{m.n, hex.EncodeToString(m.sum.Sum(nil)), rows}
	return nil
}

// stageText writes one file of text.
func (w *writer) stageText(name, content string) error {
	return w.stage(name, func(out io.Writer) (int64, error) {
		_, err := io.WriteString(out, content)
		return 0, err
	})
}

// metered counts and hashes what is written.
type metered struct {
	w   io.Writer
	sum hash.Hash
	n   int64
	err error
}

// Write implements io.Writer.
func (m *metered) Write(p []byte) (int, error) {
	n, err := m.w.Write(p)
	if m.err == nil {
		m.err = err
	}
	m.sum.Write(p[:n])
	m.n += int64(n)
	return n, err
}
