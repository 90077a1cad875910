package intake

import (
	"bufio"
	"bytes"
	"encoding/csv"
	"errors"
	"strings"
)

// rowReader splits text into rows of cells and knows on which lines of the
// file each begins and ends, and where in the text.
//
// Rows with quotation marks, and the few that run over the end of the buffer,
// go through encoding/csv; all others, which are most, are one line that is
// cut at its delimiters. Both read from one buffer, of which neither keeps
// anything back, so that they can take turns.
type rowReader struct {
	buffered  *bufio.Reader
	csv       *csv.Reader
	delimiter byte

	cells       []string // of the row in hand; reused
	first, last int      // its lines
	from, to    int64    // its bytes, empty lines before it included
	csvLines    int      // lines that csv has read
	csvBytes    int64    // bytes that csv has read
}

// newRowReader makes a rowReader. The buffer must hold 4096 bytes or more, or
// encoding/csv would put one of its own on top.
func newRowReader(buffered *bufio.Reader, delimiter rune) *rowReader {
	r := &rowReader{buffered: buffered, csv: csv.NewReader(buffered), delimiter: byte(delimiter)}
	r.csv.Comma = delimiter
	r.csv.FieldsPerRecord = -1
	r.csv.ReuseRecord = true
	return r
}

// read reads the next row that is not an empty line. Where its quotes do not
// pair up the error is a *csv.ParseError, first and last are its lines, and
// the next call reads on after it. The cells are valid until the next call;
// beside an error they are those before the one that is wrong.
func (r *rowReader) read() (cells []string, err error) {
	r.from = r.to
	if r.readLine() {
		return r.cells, nil
	}
	shift, before := r.last-r.csvLines, r.csvBytes
	cells, err = r.csv.Read()
	r.csvBytes = r.csv.InputOffset()
	r.to += r.csvBytes - before
	var parse *csv.ParseError
	switch {
	case errors.As(err, &parse):
		r.first, r.csvLines = parse.StartLine+shift, parse.Line
	case len(cells) > 0:
		start, _ := r.csv.FieldPos(0)
		r.first, r.csvLines = start+shift, r.lineAfter(cells)
	}
	r.last = r.csvLines + shift
	return cells, err
}

// opened returns the line on which the cell after the given ones begins, in a
// row that csv could not read to its end.
func (r *rowReader) opened(cells []string) int {
	if len(cells) == 0 {
		return r.first
	}
	return r.lineAfter(cells) + r.last - r.csvLines
}

// lineAfter is the line, as csv counts, on which the last of the cells ends.
func (r *rowReader) lineAfter(cells []string) int {
	last := len(cells) - 1
	line, _ := r.csv.FieldPos(last)
	return line + strings.Count(cells[last], "\n")
}

// readLine cuts the next line that is not empty, if the buffer holds it whole
// and without a quotation mark.
func (r *rowReader) readLine() bool {
	ahead, _ := r.buffered.Peek(r.buffered.Buffered())
	end := bytes.IndexByte(ahead, '\n')
	for end == 0 || end == 1 && ahead[0] == '\r' {
		r.skip(end + 1)
		ahead = ahead[end+1:]
		end = bytes.IndexByte(ahead, '\n')
	}
	if end < 0 || bytes.IndexByte(ahead[:end], '"') >= 0 {
		return false
	}
	line := string(bytes.TrimSuffix(ahead[:end], []byte{'\r'}))
	r.skip(end + 1)
	r.first = r.last
	r.cells = r.cells[:0]
	for {
		i := strings.IndexByte(line, r.delimiter)
		if i < 0 {
			r.cells = append(r.cells, line)
			return true
		}
		r.cells = append(r.cells, line[:i])
		line = line[i+1:]
	}
}

// skip passes over a line of n bytes that is in the buffer.
func (r *rowReader) skip(n int) {
	r.buffered.Discard(n) // cannot fail: the bytes are buffered
	r.last++
	r.to += int64(n)
}
