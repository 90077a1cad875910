package intake

import (
	"errors"
	"fmt"
	"io"
	"math"
	"strconv"
	"time"

	"github.com/parquet-go/parquet-go"
)

// parquetMagic is what a Parquet file begins with.
const parquetMagic = "PAR1"

// mostParquetBytes is how large a Parquet file, and one of its row groups
// unpacked, may be.
const mostParquetBytes = 1 << 30

// parquetTable is a Parquet file seen as rows of text. Lines are rows, counted
// from 1 as those of a table with a header in line 0 would be.
type parquetTable struct {
	table  *table
	rows   parquet.Rows
	types  []parquet.Type
	buffer []parquet.Row
	held   []parquet.Row // of the buffer, not yet given
	line   int
	cells  []string
	ended  error
}

// openParquet makes the rows of a Parquet file readable.
func (t *table) openParquet() error {
	p := &parquetTable{table: t, buffer: make([]parquet.Row, 64)}
	err := guarded(func() error {
		if t.file.size > mostParquetBytes {
			return damaged(fmt.Sprintf("it is larger than %d million bytes", mostParquetBytes/1_000_000))
		}
		file, err := parquet.OpenFile(t.file.f, t.file.size)
		if err != nil {
			return damaged(err.Error())
		}
		for _, g := range file.Metadata().RowGroups {
			if g.TotalByteSize > mostParquetBytes || g.TotalByteSize > unpackLimit(t.file.size) {
				return damaged("it unpacks to more than a table of its size holds")
			}
		}
		for _, f := range file.Schema().Fields() {
			if !f.Leaf() || f.Repeated() {
				return damaged(fmt.Sprintf("its column %q holds lists or records", f.Name()))
			}
			t.header = append(t.header, f.Name())
			p.types = append(p.types, f.Type())
		}
		t.least = len(t.header)
		p.cells = make([]string, len(t.header))
		p.rows = parquet.MultiRowGroup(file.RowGroups()...).Rows()
		return nil
	})
	if err != nil {
		return t.wrongParquet(err)
	}
	t.file.closers = append(t.file.closers, func() { p.rows.Close() })
	t.parquet = p
	return nil
}

// wrongParquet words what is wrong with a Parquet file.
func (t *table) wrongParquet(err error) error {
	var text *notText
	if errors.As(err, &text) {
		return t.fatal(0, "the Parquet file cannot be read: "+text.what, "write it again, or save the table as CSV, and import that")
	}
	return fmt.Errorf("read %s: %w", t.file.name, err)
}

// read returns the next row. The cells are valid until the next call.
func (p *parquetTable) read() (cells []string, line int, err error) {
	if len(p.held) == 0 {
		if p.ended != nil {
			return nil, 0, p.ended
		}
		err := guarded(func() error {
			n, err := p.rows.ReadRows(p.buffer)
			p.held = p.buffer[:n]
			if err != nil && err != io.EOF {
				return damaged(err.Error())
			}
			if err == io.EOF {
				p.ended = io.EOF
			}
			return nil
		})
		if err != nil {
			p.ended = p.table.wrongParquet(err)
			return nil, 0, p.ended
		}
		if len(p.held) == 0 {
			p.ended = io.EOF
			return nil, 0, io.EOF
		}
	}
	row := p.held[0]
	p.held = p.held[1:]
	p.line++
	clear(p.cells)
	for _, v := range row {
		if i := v.Column(); i >= 0 && i < len(p.cells) {
			p.cells[i] = parquetText(p.types[i], v)
		}
	}
	return p.cells, p.line, nil
}

// parquetText writes a value as a CSV file would have it. A text that a CSV
// export would have made harmless with a ' is as it is here.
func parquetText(t parquet.Type, v parquet.Value) string {
	if v.IsNull() {
		return ""
	}
	switch v.Kind() {
	case parquet.Boolean:
		return map[bool]string{true: "yes", false: "no"}[v.Boolean()]
	case parquet.Int32:
		if l := t.LogicalType(); l != nil && l.String() == "DATE" {
			return time.Unix(int64(v.Int32())*24*60*60, 0).UTC().Format(time.DateOnly)
		}
		return strconv.FormatInt(int64(v.Int32()), 10)
	case parquet.Int64:
		return strconv.FormatInt(v.Int64(), 10)
	case parquet.Float:
		return parquetNumber(float64(v.Float()), 32)
	case parquet.Double:
		return parquetNumber(v.Double(), 64)
	}
	return string(v.ByteArray())
}

// parquetNumber writes a number; one that is none is missing, as engines write
// it.
func parquetNumber(f float64, bits int) string {
	if math.IsNaN(f) {
		return ""
	}
	return strconv.FormatFloat(f, 'g', -1, bits)
}
