package intake

import (
	"fmt"
	"io"
	"strconv"
	"strings"

	"github.com/xuri/excelize/v2"
)

// sheet is the sheet of a workbook from which a table is read. Two readers go
// through it side by side: excelize gives the values of cells, sheetScan what
// cells are. Where one of them ends before the other, the sheet is damaged.
type sheet struct {
	table    *table
	book     *workbook
	part     sheetPart
	rows     *excelize.Rows
	scan     *sheetScan
	at       int        // the row that rows stands on
	replay   []sheetRow // rows that were read to find the header
	comma    bool       // numbers are written with a decimal comma
	found    []string   // how the table was found
	hidden   []int      // hidden rows that were read
	clock    string     // the first cell with a date and a time
	cells    []string
	faults   []cellFault // of the row in hand
	finished error
}

// sheetRow is a row with its cells as text.
type sheetRow struct {
	line   int
	cells  []string
	faults []cellFault
}

// cellFault is a cell that has no value that could be read.
type cellFault struct {
	column   int // from 0
	value    string
	what, do string
}

// openSheet opens the sheet of a workbook that is to be read.
func (t *table) openSheet(raw io.Reader, wanted string, comma bool) error {
	book, err := openWorkbook(raw)
	if err != nil {
		return t.wrongWorkbook(0, err)
	}
	t.file.closers = append(t.file.closers, book.close)
	s := &sheet{table: t, book: book, comma: comma}
	err = guarded(func() (err error) {
		if s.part, err = book.choose(wanted); err != nil {
			return err
		}
		if s.scan, err = book.scan(s.part); err != nil {
			return err
		}
		t.file.closers = append(t.file.closers, s.scan.close)
		if s.rows, err = book.file.Rows(s.part.name); err != nil {
			return damaged(err.Error())
		}
		t.file.closers = append(t.file.closers, func() { s.rows.Close() })
		return nil
	})
	if err != nil {
		return t.wrongWorkbook(0, err)
	}
	t.sheet, t.file.place.sheet = s, s.part.name
	switch {
	case s.part.hidden:
		s.found = append(s.found, fmt.Sprintf("read from the sheet %q, which is hidden", s.part.name))
	case len(book.sheets) > 1:
		s.found = append(s.found, fmt.Sprintf("read from the sheet %q", s.part.name))
	}
	return nil
}

// read returns the next row that the sheet has, whatever it holds. The cells
// are valid until the next call, as are the faults.
func (s *sheet) read() (cells []string, line int, err error) {
	if len(s.replay) > 0 {
		row := s.replay[0]
		s.replay = s.replay[1:]
		s.cells, s.faults = row.cells, row.faults
		return s.cells, row.line, nil
	}
	if s.finished != nil {
		return nil, 0, s.finished
	}
	err = guarded(func() (err error) {
		line, err = s.readRow()
		return err
	})
	switch {
	case err == io.EOF:
		s.finished = io.EOF
		if m := s.mergedInTable(); m != nil {
			s.finished = s.table.fatal(m.top, fmt.Sprintf("the cells %s are merged, so that all but the first of them are empty", m.ref),
				"unmerge them, write the value into each, and save the workbook")
		}
		return nil, 0, s.finished
	case err != nil:
		s.finished = s.table.wrongWorkbook(s.scan.number, err)
		return nil, 0, s.finished
	}
	return s.cells, line, nil
}

// readRow reads a row into cells and faults.
func (s *sheet) readRow() (line int, err error) {
	row, err := s.scan.next()
	if err != nil {
		return 0, err
	}
	var values []string
	for s.at < row.number {
		if !s.rows.Next() {
			return 0, damaged(fmt.Sprintf("sheet %s cannot be read from row %d on", s.part.name, row.number))
		}
		s.at++
		if values, err = s.rows.Columns(); err != nil {
			return 0, damaged(fmt.Sprintf("sheet %s, row %d: %v", s.part.name, row.number, err))
		}
	}
	s.cells, s.faults = s.cells[:0], s.faults[:0]
	for i := range row.cells {
		c := &row.cells[i]
		value := ""
		if c.column <= len(values) {
			value = values[c.column-1]
		}
		text, what, do := s.text(c, value, row.number)
		if text == "" && what == "" {
			continue
		}
		for len(s.cells) < c.column {
			s.cells = append(s.cells, "")
		}
		s.cells[c.column-1] = text
		if what != "" {
			s.faults = append(s.faults, cellFault{c.column - 1, text, "cell " + cellName(c.column, row.number) + " " + what, do})
		}
	}
	if row.hidden && !blank(s.cells) {
		s.hidden = append(s.hidden, row.number)
	}
	return row.number, nil
}

// text writes the value of a cell as a CSV file would have it: numbers in as
// few digits as give them back exactly, days as YYYY-MM-DD. Where the cell has
// no value, what says why.
func (s *sheet) text(c *scannedCell, value string, row int) (text, what, do string) {
	const mend = "mend the formula and save the workbook again, or empty the cell"
	switch c.kind {
	case "e":
		return value, "holds a spreadsheet's error message", mend
	case "s":
		if c.value != "" && !s.book.hasText(c.value) {
			return c.value, "refers to a text that the workbook does not have", "open it in the program it came from, and type the cell again"
		}
	case "b":
		value = map[string]string{"1": "TRUE", "0": "FALSE"}[value]
	case "d":
		day, clock, _ := strings.Cut(value, "T")
		s.sawClock(strings.Trim(clock, "0:.Z") != "", c.column, row)
		return day, "", ""
	case "", "n":
		if c.value != "" {
			return s.number(c, c.value, row) // not as excelize gives it, which may have rounded
		}
	}
	if value == "" && c.formula && c.kind != "str" {
		return "", "has a formula and no stored value", "open the workbook in a spreadsheet program, let it calculate, and save it there"
	}
	if strings.Contains(value, "\r") {
		value = strings.ReplaceAll(strings.ReplaceAll(value, "\r\n", "\n"), "\r", "\n")
	}
	return value, "", ""
}

// number writes a number or a day.
func (s *sheet) number(c *scannedCell, value string, row int) (text, what, do string) {
	v, err := strconv.ParseFloat(value, 64)
	if err != nil || !isDecimal(value) {
		return value, "should hold a number and does not", "open the workbook in the program it came from, and type the cell again"
	}
	if c.format > 0 && s.book.isDate(c.format) {
		day, clock, ok := serialDay(v, s.book.date1904)
		if !ok {
			return value, "is shown as a date and is no day that exists", "correct it, or give the cell the format of a number"
		}
		s.sawClock(clock, c.column, row)
		return day, "", ""
	}
	text = strconv.FormatFloat(v, 'f', -1, 64)
	if len(text) > 40 {
		text = strconv.FormatFloat(v, 'g', -1, 64)
	}
	if s.comma {
		text = strings.Replace(text, ".", ",", 1)
	}
	return text, "", ""
}

// sawClock notes the first cell that has a time of day beside its date.
func (s *sheet) sawClock(clock bool, column, row int) {
	if clock && s.clock == "" {
		s.clock = cellName(column, row)
	}
}

// pad lengthens the row in hand to the width of the header.
func (s *sheet) pad(width int) []string {
	for len(s.cells) < width {
		s.cells = append(s.cells, "")
	}
	return s.cells
}

// besideTable words a row that holds something right of the table.
func (t *table) besideTable(line int, cells []string) error {
	for i := len(t.header); i < len(cells); i++ {
		if v := trimCell(cells[i]); v != "" {
			return t.bad(line, fmt.Sprintf("cell %s holds %q, right of the last column with a name", cellName(i+1, line), v),
				"name its column, or empty it")
		}
	}
	return t.bad(line, fmt.Sprintf("the row has %s where the header has %d", cellsWord(len(cells)), len(t.header)), "fill the cells that it lacks, or empty the row")
}

// mergedInTable returns merged cells below the header that hide values.
func (s *sheet) mergedInTable() *mergedCells {
	for i := range s.scan.merged {
		m := &s.scan.merged[i]
		if m.bottom > s.table.headerLine && m.left <= len(s.table.header) && (m.top != m.bottom || m.left != m.right) {
			return m
		}
	}
	return nil
}

// remarks are what there is to say once the sheet has been read.
func (s *sheet) remarks() (texts []string) {
	if n := len(s.hidden); n > 0 {
		const most = 10
		var rows []string
		for _, row := range s.hidden[:min(n, most)] {
			rows = append(rows, strconv.Itoa(row))
		}
		list := listWords(rows, "and")
		if n > most {
			list = strings.Join(rows, ", ") + fmt.Sprintf(" and %d more", n-most)
		}
		if n == 1 {
			texts = append(texts, "row "+list+" is hidden in the sheet and was read")
		} else {
			texts = append(texts, "rows "+list+" are hidden in the sheet and were read")
		}
	}
	if s.clock != "" {
		texts = append(texts, fmt.Sprintf("cell %s has a time of day beside its date; times were left off", s.clock))
	}
	return texts
}
