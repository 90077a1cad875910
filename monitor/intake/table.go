package intake

import (
	"bufio"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"strings"

	"clipledger/schema"
)

// table is a file seen as a header and rows of cells, each with the line on
// which it begins as an editor counts it.
type table struct {
	file       *File
	text       *textReader // of a text file
	rows       *rowReader
	sheet      *sheet // of a workbook
	parquet    *parquetTable
	delimiter  rune
	header     []string // as in the file, without surrounding spaces
	headerLine int
	least      int // cells a row needs: nameless columns at the end may be left off
}

// rowError is a row that cannot be used, or, where ends is set, the reason
// why nothing more of the file can.
type rowError struct {
	schema.Problem
	ends bool
}

func (e *rowError) Error() string { return e.String() }

// openTable reads the header of a file. Of a workbook it is in the sheet that
// the options name, and score says how well a row does for one.
func openTable(f *File, o *Options, score func(*table) headerScore) (*table, error) {
	raw := bufio.NewReaderSize(f, textBufferBytes)
	t := &table{file: f, delimiter: ','}
	var err error
	if startsWith(raw, parquetMagic) {
		err = t.openParquet()
	} else if startsWith(raw, zipMagic) {
		if o.DecimalComma {
			t.delimiter = ';' // of the rows that are rejected
		}
		if err = t.openSheet(raw, o.Sheet, o.DecimalComma); err == nil {
			err = t.findHeader(score)
		}
	} else {
		t.openRows(openText(raw, f.size))
		if err = t.readHeader(); err == nil && o.DecimalComma && t.delimiter == ',' {
			err = t.fatal(t.headerLine, "cells are separated by commas, so a comma cannot be the decimal mark",
				"save the file with semicolons or tabs between cells, or leave --decimal-comma away")
		}
	}
	f.place.headerLine, f.place.decimalComma = t.headerLine, o.DecimalComma
	return t, err
}

// openRows makes the rows of a text readable.
func (t *table) openRows(text *textReader) {
	buffered := bufio.NewReaderSize(text, textBufferBytes)
	// An error here comes again when the first row is read.
	text.keep = t.file.keep
	start, _ := buffered.Peek(textBufferBytes)
	t.text, t.delimiter = text, sniffDelimiter(start)
	t.rows = newRowReader(buffered, t.delimiter)
}

// readHeader takes the first row that holds anything as the header. A first
// line "sep=;", which spreadsheets write to announce their delimiter, is
// passed over.
func (t *table) readHeader() error {
	for {
		cells, line, err := t.read()
		if err == io.EOF {
			return t.fatal(0, "the file is empty", "export it again, or name another file")
		}
		if err != nil {
			var bad *rowError
			if errors.As(err, &bad) {
				bad.ends = true // without a header there is nothing to go by
			}
			return err
		}
		if blank(cells) || (len(cells) == 2 && strings.EqualFold(cells[0], "sep=") && cells[1] == "") {
			continue
		}
		t.setHeader(cells, line)
		return nil
	}
}

// setHeader takes a row as the header.
func (t *table) setHeader(cells []string, line int) {
	t.headerLine, t.header, t.least = line, nil, 0
	for i, name := range cells {
		name = strings.Clone(trimCell(name))
		t.header = append(t.header, name)
		if name != "" {
			t.least = i + 1
		}
	}
}

// next returns the next row that holds anything, cut or checked to the width
// of the header. The cells are valid until the next call. At the end the
// error is io.EOF; a row that cannot be used is a *rowError.
func (t *table) next() (cells []string, line int, err error) {
	for {
		cells, line, err = t.read()
		if err != nil {
			return nil, line, err
		}
		if blank(cells) {
			continue
		}
		if t.sheet != nil {
			cells = t.sheet.pad(len(t.header)) // a sheet ends its rows where nothing follows
		}
		if n := len(cells); n < t.least || n > len(t.header) && !blank(cells[len(t.header):]) {
			return nil, line, t.ragged(line, cells)
		}
		if len(cells) > len(t.header) {
			cells = cells[:len(t.header)]
		}
		return cells, line, nil
	}
}

// read reads one row, whatever its width.
func (t *table) read() (cells []string, line int, err error) {
	if t.sheet != nil {
		return t.sheet.read()
	}
	if t.parquet != nil {
		return t.parquet.read()
	}
	t.text.rowDone()
	cells, err = t.rows.read()
	if err == io.EOF {
		return nil, 0, err
	}
	if err != nil {
		return nil, 0, t.wrong(cells, err)
	}
	if t.rows.to-t.rows.from > maxRowBytes {
		return nil, 0, t.bad(t.rows.first, fmt.Sprintf("the row is longer than %d bytes", maxRowBytes),
			"shorten it, or look for a quotation mark that is not closed")
	}
	return cells, t.rows.first, nil
}

// wrong words an error of reading a row; cells are those before it.
func (t *table) wrong(cells []string, err error) error {
	var parse *csv.ParseError
	var text *notText
	switch {
	case errors.As(err, &text):
		return t.fatal(text.line, text.what, text.do)
	case errors.Is(err, errRowTooLong):
		return t.fatal(t.rows.opened(cells), "no row ends within the next million bytes; most likely a quotation mark (\") is opened here and never closed",
			"close it, or remove it")
	case !errors.As(err, &parse):
		return fmt.Errorf("read %s: %w", t.file.name, err)
	case errors.Is(err, csv.ErrBareQuote):
		return t.bad(t.rows.last, `a quotation mark (") stands inside a cell that does not begin with one`,
			`remove it, or put the whole text in quotation marks and write the inner one twice ("")`)
	}
	opened := t.rows.opened(cells)
	what := `a quotation mark (") opens a cell here and is not closed properly`
	if t.rows.last > opened {
		what += fmt.Sprintf(", so that the cell runs on to line %d", t.rows.last)
	}
	return t.bad(opened, what, `close it before the delimiter, and write a quotation mark that belongs to the text twice ("")`)
}

// ragged words a row with too many or too few cells.
func (t *table) ragged(line int, cells []string) error {
	if t.sheet != nil {
		return t.besideTable(line, cells)
	}
	do := "leave no cell out: a missing value is an empty cell between two delimiters"
	if len(cells) > len(t.header) {
		do = fmt.Sprintf("put a text that contains a %s in quotation marks", delimiterName(t.delimiter))
		if t.delimiter == ',' {
			do += ", and write numbers with a decimal point"
		}
	}
	return t.bad(line, fmt.Sprintf("the row has %s where the header has %d", cellsWord(len(cells)), len(t.header)), do)
}

// remarks are what there is to say, once all of it has been read, about how
// the table was read.
func (t *table) remarks() []string {
	if t.sheet != nil {
		return t.sheet.remarks()
	}
	if t.parquet != nil {
		return nil
	}
	if t.text.latin {
		return []string{fmt.Sprintf("read as Windows-1252, by its bytes (line %d is the first that is not UTF-8); if letters look wrong, save it as UTF-8 and import that", t.text.latinLine)}
	}
	return nil
}

// bad makes the error of one row.
func (t *table) bad(line int, what, do string) error {
	return &rowError{Problem: schema.Problem{File: t.file.name, Line: line, What: what, Do: do}}
}

// fatal makes the error that ends the reading.
func (t *table) fatal(line int, what, do string) error {
	return &rowError{Problem: schema.Problem{File: t.file.name, Line: line, What: what, Do: do}, ends: true}
}

// blank tells whether all cells are empty.
func blank(cells []string) bool {
	for _, c := range cells {
		if c != "" && trimCell(c) != "" {
			return false
		}
	}
	return true
}

// sniffDelimiter returns the delimiter that stands most often, outside of
// quotation marks, in the first line that is not empty; the comma where none
// stands there or two stand equally often.
func sniffDelimiter(start []byte) rune {
	var commas, semicolons, tabs int
	quoted, any := false, false
scan:
	for _, c := range start {
		switch {
		case c == '"':
			quoted = !quoted
		case quoted:
		case c == ',':
			commas++
		case c == ';':
			semicolons++
		case c == '\t':
			tabs++
		case c == '\n' || c == '\r':
			if any {
				break scan
			}
			continue
		}
		any = true
	}
	switch {
	case semicolons > commas && semicolons >= tabs:
		return ';'
	case tabs > commas && tabs > semicolons:
		return '\t'
	}
	return ','
}

// delimiterName names a delimiter in a sentence.
func delimiterName(d rune) string {
	switch d {
	case ';':
		return "semicolon"
	case '\t':
		return "tab"
	}
	return "comma"
}

// cellsWord counts cells in words.
func cellsWord(n int) string {
	if n == 1 {
		return "1 cell"
	}
	return fmt.Sprintf("%d cells", n)
}
