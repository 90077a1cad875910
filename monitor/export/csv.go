package export

import (
	"bufio"
	"io"
	"strconv"
)

// csvWriter writes rows as CSV: UTF-8, LF, commas, empty for missing, numbers
// in as few digits as give them back exactly.
type csvWriter struct {
	w     *bufio.Writer
	types []Type
	buf   []byte
}

func newCSV(w io.Writer, t *Table) (*csvWriter, error) {
	c := &csvWriter{w: bufio.NewWriterSize(w, 1<<16)}
	for i, col := range t.Columns {
		if i > 0 {
			c.buf = append(c.buf, ',')
		}
		c.buf = append(c.buf, col.Name...)
		c.types = append(c.types, col.Type)
	}
	_, err := c.w.Write(append(c.buf, '\n'))
	return c, err
}

func (c *csvWriter) row(cells []Cell) error {
	b := c.buf[:0]
	for i := range cells {
		if i > 0 {
			b = append(b, ',')
		}
		switch cell := &cells[i]; {
		case !cell.Has:
		case c.types[i] == Whole:
			b = strconv.AppendInt(b, int64(cell.Number), 10)
		case c.types[i] == Number:
			b = strconv.AppendFloat(b, cell.Number, 'g', -1, 64)
		default:
			b = appendText(b, cell.Text)
		}
	}
	c.buf = append(b, '\n')
	_, err := c.w.Write(c.buf)
	return err
}

func (c *csvWriter) close() error { return c.w.Flush() }

// appendText writes a text, quoted where it must be. One that begins like a
// formula gets a ' before it, so that no spreadsheet runs it; our import takes
// exactly one off.
func appendText(b []byte, s string) []byte {
	s = neutral(s)
	quote := s != "" && (s[0] == ' ' || s[len(s)-1] == ' ')
	for i := 0; i < len(s) && !quote; i++ {
		quote = s[i] == ',' || s[i] == '"' || s[i] == '\n' || s[i] == '\r'
	}
	if !quote {
		return append(b, s...)
	}
	b = append(b, '"')
	for i := range len(s) {
		if s[i] == '"' {
			b = append(b, '"')
		}
		b = append(b, s[i])
	}
	return append(b, '"')
}

// neutral puts ' before a text that begins like a formula.
func neutral(s string) string {
	if s != "" && (s[0] == '=' || s[0] == '+' || s[0] == '-' || s[0] == '@') {
		return "'" + s
	}
	return s
}
