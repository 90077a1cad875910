package intake

import (
	"encoding/xml"
	"fmt"
	"io"
	"strconv"
	"strings"

	"github.com/xuri/excelize/v2"
)

// The widest sheet that is read.
const mostSheetColumns = 2000

// sheetScan reads the part that holds a sheet, row by row, for what cells are
// beside their values.
type sheetScan struct {
	part   io.ReadCloser
	xml    *xml.Decoder
	name   string
	number int // of the row before
	inRows bool
	row    scannedRow
	merged []mergedCells
}

// scannedRow is a row of a sheet.
type scannedRow struct {
	number int
	hidden bool
	cells  []scannedCell
}

// scannedCell is a cell that has a format, a value or a formula.
type scannedCell struct {
	column  int // from 1
	format  int
	kind    string // "s" a text of the workbook, "str" a text, "b", "e" an error, "d" a date, "n" or "" a number
	value   string // its first bytes, which is all where it is not a text
	inline  bool   // it holds its own text
	formula bool
}

// mergedCells is a block of cells of which only the first has a value.
type mergedCells struct {
	ref                      string
	left, top, right, bottom int
}

// scan begins to read a sheet.
func (w *workbook) scan(s sheetPart) (*sheetScan, error) {
	part, err := w.open(s.part)
	if err != nil {
		return nil, err
	}
	d := xml.NewDecoder(part)
	d.CharsetReader = w.file.CharsetReader
	return &sheetScan{part: part, xml: d, name: s.name}, nil
}

func (s *sheetScan) close() { s.part.Close() }

// token reads on; the part must not end before its sheet does.
func (s *sheetScan) token() (xml.Token, error) {
	token, err := s.xml.RawToken()
	if err == io.EOF {
		err = fmt.Errorf("it breaks off after row %d", s.number)
	}
	if err != nil {
		return nil, damaged("sheet " + s.name + ": " + err.Error())
	}
	return token, nil
}

// next reads the next row that the part has. The error after the last is
// io.EOF; merged cells are known then. The row is valid until the next call.
func (s *sheetScan) next() (*scannedRow, error) {
	for {
		token, err := s.token()
		if err != nil {
			return nil, err
		}
		switch e := token.(type) {
		case xml.StartElement:
			switch e.Name.Local {
			case "sheetData":
				s.inRows = true
			case "row":
				if s.inRows {
					return s.readRow(e)
				}
			case "mergeCell":
				s.merge(attribute(e, "ref"))
			}
		case xml.EndElement:
			switch e.Name.Local {
			case "sheetData":
				s.inRows = false
			case "worksheet":
				return nil, io.EOF
			}
		}
	}
}

// readRow reads a row to its end.
func (s *sheetScan) readRow(start xml.StartElement) (*scannedRow, error) {
	s.row = scannedRow{number: s.number + 1, hidden: isTrue(attribute(start, "hidden")), cells: s.row.cells[:0]}
	if r := attribute(start, "r"); r != "" {
		n, err := strconv.Atoi(r)
		if err != nil || n <= s.number || n > excelize.TotalRows {
			return nil, damaged(fmt.Sprintf("sheet %s: row %q comes after row %d", s.name, r, s.number))
		}
		s.row.number = n
	}
	s.number = s.row.number
	column := 0
	for {
		token, err := s.token()
		if err != nil {
			return nil, err
		}
		switch e := token.(type) {
		case xml.StartElement:
			if e.Name.Local != "c" {
				continue
			}
			cell, err := s.readCell(e, column)
			if err != nil {
				return nil, err
			}
			column = cell.column
			s.row.cells = append(s.row.cells, cell)
		case xml.EndElement:
			if e.Name.Local == "row" {
				return &s.row, nil
			}
		}
	}
}

// readCell reads a cell to its end; before is the column of the one before.
func (s *sheetScan) readCell(start xml.StartElement, before int) (scannedCell, error) {
	c := scannedCell{column: before + 1, kind: attribute(start, "t")}
	if ref := attribute(start, "r"); ref != "" {
		column, row, err := excelize.CellNameToCoordinates(ref)
		if err != nil || column <= before || row != s.number {
			return c, damaged(fmt.Sprintf("sheet %s: the cell %q stands in row %d", s.name, ref, s.number))
		}
		c.column = column
	}
	if format := attribute(start, "s"); format != "" {
		n, err := strconv.Atoi(format)
		if err != nil {
			return c, damaged(fmt.Sprintf("sheet %s: the format %q in row %d", s.name, format, s.number))
		}
		c.format = n
	}
	inValue := false
	for {
		token, err := s.token()
		if err != nil {
			return c, err
		}
		switch e := token.(type) {
		case xml.StartElement:
			switch e.Name.Local {
			case "v":
				inValue = true
			case "f":
				c.formula = true
			case "is":
				c.inline = true
			}
		case xml.CharData:
			if inValue && len(c.value) < 64 {
				c.value += string(e[:min(len(e), 64)])
			}
		case xml.EndElement:
			switch e.Name.Local {
			case "v":
				inValue = false
			case "c":
				if c.column > mostSheetColumns && (c.value != "" || c.inline || c.formula) {
					return c, &notText{s.number, fmt.Sprintf("cell %s stands further right than the %d columns that are read", cellName(c.column, s.number), mostSheetColumns),
						"empty it, or move the table to a sheet of its own"}
				}
				return c, nil
			}
		}
	}
}

// merge notes a block of merged cells.
func (s *sheetScan) merge(ref string) {
	from, to, _ := strings.Cut(ref, ":")
	m := mergedCells{ref: ref}
	var err1, err2 error
	m.left, m.top, err1 = excelize.CellNameToCoordinates(from)
	m.right, m.bottom, err2 = excelize.CellNameToCoordinates(to)
	if err1 == nil && err2 == nil && len(s.merged) < 10_000 {
		s.merged = append(s.merged, m)
	}
}

// attribute returns an attribute of an element, "" where it has none.
func attribute(e xml.StartElement, name string) string {
	for _, a := range e.Attr {
		if a.Name.Local == name {
			return a.Value
		}
	}
	return ""
}

// isTrue reads a truth value as XML writes it.
func isTrue(s string) bool { return s == "1" || s == "true" }

// cellName names a cell as spreadsheets do.
func cellName(column, row int) string {
	name, err := excelize.CoordinatesToCellName(column, row)
	if err != nil {
		return fmt.Sprintf("%d in row %d", column, row)
	}
	return name
}
