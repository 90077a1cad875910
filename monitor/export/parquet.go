package export

import (
	"fmt"
	"io"
	"slices"
	"strings"
	"time"

	"github.com/parquet-go/parquet-go"

	"clipledger/monitor/folder"
)

// parquetNames are the files of a Parquet export: one for each small table,
// and for the large ones a file for each growth year and stratum.
func (w *writer) parquetNames() []string {
	var names []string
	for i := range Tables {
		t := &Tables[i]
		if !t.Many {
			names = append(names, t.Name+".parquet")
			continue
		}
		for _, p := range w.src.parts() {
			names = append(names, partName(t, p))
		}
	}
	return names
}

// partName is the file of a part of a table. The folders are named as engines
// expect it (growth_year=2015/stratum=...); a stratum stands there by a slug
// and a hash of its name, so that no name can choose a path.
func partName(t *Table, p part) string {
	stratum := folder.Name(p[0].stratum, "none")
	return fmt.Sprintf("%s/growth_year=%d/stratum=%s/%[1]s-%[2]d-%[3]s.parquet", t.Name, p[0].year, stratum)
}

// allParquet writes every table: those of the frames on one core, part by
// part, the others on another.
func (w *writer) allParquet() error {
	return w.twoCores(w.parquetFrames, func(src *source) error {
		outs := parquetWriters(meanNames)
		err := together(meanNames, func(name string, inside func(emit func([]Cell) error) error) error {
			return w.parquet(outs[name], src.all, inside)
		}, func(emit []func([]Cell) error) error { return meanTables(src, emit[0], emit[1]) })
		if err != nil {
			return err
		}
		for i := range Tables {
			t := &Tables[i]
			if slices.Contains(frameNames, t.Name) || slices.Contains(meanNames, t.Name) {
				continue
			}
			if err := w.parquet(newParquet(t), src.all, func(emit func([]Cell) error) error { return t.rows(src, src.all, emit) }); err != nil {
				return err
			}
		}
		return nil
	})
}

// parquetFrames writes the tables of the frames. One part is in hand at a
// time.
func (w *writer) parquetFrames(src *source) error {
	outs := parquetWriters(frameNames)
	for _, p := range src.parts() {
		err := together(frameNames, func(name string, inside func(emit func([]Cell) error) error) error {
			return w.parquet(outs[name], p, inside)
		}, func(emit []func([]Cell) error) error { return frameTables(src, p, emit[0], emit[1], emit[2]) })
		if err != nil {
			return err
		}
	}
	return nil
}

func parquetWriters(names []string) map[string]*parquetWriter {
	out := map[string]*parquetWriter{}
	for _, name := range names {
		out[name] = newParquet(tableNamed(name))
	}
	return out
}

// parquet writes one file of a table.
func (w *writer) parquet(out *parquetWriter, p part, read func(emit func([]Cell) error) error) error {
	name := out.table.Name + ".parquet"
	if out.table.Many {
		name = partName(out.table, p)
	}
	return w.stage(name, func(file io.Writer) (int64, error) {
		out.begin(file)
		var rows int64
		if err := read(w.counting(&rows, out.row)); err != nil {
			return 0, err
		}
		return rows, out.end()
	})
}

// How many rows are handed on at a time, and how many make a row group.
const (
	parquetBatch    = 256
	parquetRowGroup = 1 << 17
)

// parquetWriter writes the files of one table, one after the other, column by
// column.
type parquetWriter struct {
	table   *Table
	w       *parquet.GenericWriter[any]
	columns []parquetColumn
	rows    int // in hand
	group   int // rows in the group in hand
}

// parquetColumn holds the values in hand of one column. Texts and dates often
// come again in the next row: the value made of the last one is kept.
type parquetColumn struct {
	kind   Type
	null   parquet.Value
	values []parquet.Value
	bytes  []byte // of the texts in hand
	text   string
	last   parquet.Value // of text; null where there was none
}

func newParquet(t *Table) *parquetWriter {
	p := &parquetWriter{table: t, columns: make([]parquetColumn, len(t.Columns)),
		w: parquet.NewGenericWriter[any](io.Discard, parquetSchema(t), parquet.Compression(&parquet.Snappy), parquet.CreatedBy("clipledger", "", ""))}
	for i := range p.columns {
		p.columns[i] = parquetColumn{kind: t.Columns[i].Type, null: parquet.NullValue().Level(0, 0, i), values: make([]parquet.Value, 0, parquetBatch)}
	}
	return p
}

// parquetSchema is the schema of a table: every column may be missing.
func parquetSchema(t *Table) *parquet.Schema {
	group := parquet.Group{}
	for i := range t.Columns {
		c := &t.Columns[i]
		var node parquet.Node
		switch c.Type {
		case Whole:
			node = parquet.Int(64)
		case Number:
			node = parquet.Leaf(parquet.DoubleType)
		case Date:
			node = parquet.Date()
		default:
			node = parquet.Encoded(parquet.String(), &parquet.RLEDictionary)
		}
		group[c.Name] = parquet.Optional(node)
	}
	fields := group.Fields() // sorted by name; ours have an order of their own
	at := map[string]int{}
	for i := range t.Columns {
		at[t.Columns[i].Name] = i
	}
	slices.SortFunc(fields, func(a, b parquet.Field) int { return at[a.Name()] - at[b.Name()] })
	return parquet.NewSchema(t.Name, ordered{group, fields})
}

// ordered is a group whose fields keep the order of the table.
type ordered struct {
	parquet.Group
	fields []parquet.Field
}

// Fields lists the fields in the order of the table.
func (o ordered) Fields() []parquet.Field { return o.fields }

func (p *parquetWriter) begin(out io.Writer) {
	p.w.Reset(out)
	p.clear()
	p.group = 0
}

// clear forgets the values in hand.
func (p *parquetWriter) clear() {
	for i := range p.columns {
		c := &p.columns[i]
		c.values, c.bytes, c.text, c.last = c.values[:0], c.bytes[:0], "", c.null
	}
	p.rows = 0
}

func (p *parquetWriter) row(cells []Cell) error {
	for i := range cells {
		c := &p.columns[i]
		v := c.null
		if cells[i].Has {
			v = c.value(i, &cells[i])
		}
		c.values = append(c.values, v)
	}
	if p.rows++; p.rows < parquetBatch {
		return nil
	}
	return p.flush()
}

// value makes the value of a cell of column i. A date that is none stays as it
// is in CSV alone; the ledger lets none in.
func (c *parquetColumn) value(i int, cell *Cell) parquet.Value {
	switch c.kind {
	case Whole:
		return parquet.Int64Value(int64(cell.Number)).Level(0, 1, i)
	case Number:
		return parquet.DoubleValue(cell.Number).Level(0, 1, i)
	}
	if cell.Text == c.text && !c.last.IsNull() {
		return c.last
	}
	if c.text, c.last = cell.Text, c.null; c.kind != Date {
		from := len(c.bytes)
		c.bytes = append(c.bytes, cell.Text...)
		c.last = parquet.ByteArrayValue(c.bytes[from:]).Level(0, 1, i)
	} else if day, err := time.Parse(time.DateOnly, cell.Text); err == nil {
		c.last = parquet.Int32Value(int32(day.Unix()/(24*60*60))).Level(0, 1, i)
	}
	return c.last
}

func (p *parquetWriter) flush() error {
	for i, w := range p.w.ColumnWriters() {
		if _, err := w.WriteRowValues(p.columns[i].values); err != nil {
			return err
		}
	}
	p.group += p.rows
	p.clear()
	if p.group < parquetRowGroup {
		return nil
	}
	p.group = 0
	return p.w.Flush()
}

func (p *parquetWriter) end() error {
	if err := p.flush(); err != nil {
		return err
	}
	return p.w.Close()
}

// filesOf are the files of a table that were written, and their rows.
func (w *writer) filesOf(t *Table) (names []string, rows int64) {
	for _, name := range sortedKeys(w.files) {
		base, _, _ := strings.Cut(name, ".")
		inside, _, _ := strings.Cut(name, "/")
		if base == t.Name || inside == t.Name {
			names = append(names, name)
			rows += w.files[name].rows
		}
	}
	return names, rows
}
