package schema

import (
	"fmt"
	"strconv"
	"strings"
	"sync"
	"sync/atomic"

	"modernc.org/sqlite/vtab"
)

// Rows in memory as a table that SQLite reads: an INSERT … SELECT from it
// costs about half of binding the same values to an INSERT … VALUES, since
// nothing is copied into parameters first.

// rowModule is the name of the virtual table module.
const rowModule = "clipledger_rows"

// registerRows makes the module known to the driver, once in a process:
// connections opened later have it.
var registerRows = sync.OnceValue(func() error { return vtab.RegisterModule(nil, rowModule, rowsModule{}) })

// rowSources finds the source behind a virtual table by its number, since the
// driver hands a module nothing but text.
var (
	rowSources sync.Map // int64 -> *rowSource
	lastSource atomic.Int64
)

// rowSource is a batch of rows on offer to SQLite. It is filled and read by
// one goroutine.
type rowSource struct {
	id      int64
	columns []string
	count   int
	value   func(row, column int) any // nil, int64, float64 or string
}

// newRowSource puts a source on offer as the temporary table named table.
func newRowSource(t *Tx, table string, columns []string) (*rowSource, error) {
	s := &rowSource{id: lastSource.Add(1), columns: columns}
	rowSources.Store(s.id, s)
	return s, t.exec(fmt.Sprintf("CREATE VIRTUAL TABLE temp.%s USING %s(%d)", table, rowModule, s.id))
}

// close takes the source back.
func (s *rowSource) close() { rowSources.Delete(s.id) }

type rowsModule struct{}

// Create implements vtab.Module.
func (m rowsModule) Create(ctx vtab.Context, args []string) (vtab.Table, error) {
	return m.Connect(ctx, args)
}

// Connect implements vtab.Module: the last argument is the source's number.
func (rowsModule) Connect(ctx vtab.Context, args []string) (vtab.Table, error) {
	id, err := strconv.ParseInt(args[len(args)-1], 10, 64)
	if err != nil {
		return nil, fmt.Errorf("rows: %w", err)
	}
	s, ok := rowSources.Load(id)
	if !ok {
		return nil, fmt.Errorf("rows: there is no source %d", id)
	}
	source := s.(*rowSource)
	return rowsTable{source}, ctx.Declare("CREATE TABLE x(" + strings.Join(source.columns, ",") + ")")
}

type rowsTable struct{ source *rowSource }

// BestIndex implements vtab.Table: there is one way, from first to last.
func (t rowsTable) BestIndex(*vtab.IndexInfo) error { return nil }

// Open implements vtab.Table.
func (t rowsTable) Open() (vtab.Cursor, error) { return &rowsCursor{source: t.source}, nil }

// Disconnect implements vtab.Table.
func (t rowsTable) Disconnect() error { return nil }

// Destroy implements vtab.Table.
func (t rowsTable) Destroy() error { return nil }

type rowsCursor struct {
	source *rowSource
	at     int
}

// Filter implements vtab.Cursor: it begins a pass.
func (c *rowsCursor) Filter(int, string, []vtab.Value) error { c.at = 0; return nil }

// Next implements vtab.Cursor.
func (c *rowsCursor) Next() error { c.at++; return nil }

// Eof implements vtab.Cursor.
func (c *rowsCursor) Eof() bool { return c.at >= c.source.count }

// Column implements vtab.Cursor.
func (c *rowsCursor) Column(col int) (vtab.Value, error) { return c.source.value(c.at, col), nil }

// Rowid implements vtab.Cursor.
func (c *rowsCursor) Rowid() (int64, error) { return int64(c.at), nil }

// Close implements vtab.Cursor.
func (c *rowsCursor) Close() error { return nil }
