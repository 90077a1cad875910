package export

import (
	"fmt"
	"io"
	"time"
	"unicode/utf8"

	"github.com/xuri/excelize/v2"

	"clipledger/monitor"
)

// sheetHead is how many rows stand above the first row of values: the title,
// the note, an empty row and the header.
const sheetHead = 4

// sheetColumn is a column of a sheet.
type sheetColumn struct {
	name   string
	width  float64
	format int // an index of formats
}

// The formats of cells.
const (
	asText = iota
	asWhole
	asNumber1
	asNumber3
	asDate
	asFraction
	formatCount
)

var numberFormats = [formatCount]string{"@", "0", "#,##0.0", "0.###", "yyyy-mm-dd", "0.00"}

// workbook writes the workbook of an office: a summary, the means by year,
// and all bags. Values are typed: no text can become a formula.
func (w *writer) workbook() error {
	f := excelize.NewFile()
	defer f.Close()
	b := &book{writer: w, file: f, most: excelize.TotalRows - sheetHead}
	if w.src.options.sheetRows > 0 {
		b.most = w.src.options.sheetRows
	}
	if err := b.styles(); err != nil {
		return err
	}
	means, err := b.means()
	if err != nil {
		return err
	}
	err = firstError(func() error { return b.summary(means) }, func() error { return b.meansSheet(means) }, b.trends, b.bags,
		func() error { return f.DeleteSheet("Sheet1") })
	if err != nil {
		return fmt.Errorf("write the workbook: %w", err)
	}
	f.SetActiveSheet(0)
	changed, err := w.src.snap.LastChange()
	if err != nil {
		return err
	}
	if err := f.SetDocProps(&excelize.DocProperties{Creator: "clipledger", Title: w.src.called(), Created: changed, Modified: changed}); err != nil {
		return fmt.Errorf("write the workbook: %w", err)
	}
	return w.stage("workbook.xlsx", func(out io.Writer) (int64, error) {
		return b.rows, writeInOrder(f, out)
	})
}

// book is a workbook being written.
type book struct {
	*writer
	file   *excelize.File
	title  int
	note   int
	header int
	cells  [formatCount]int
	most   int // rows that a sheet takes below its header
	rows   int64
}

func (b *book) styles() error {
	var err error
	style := func(into *int, s *excelize.Style) {
		if err == nil {
			*into, err = b.file.NewStyle(s)
		}
	}
	style(&b.title, &excelize.Style{Font: &excelize.Font{Bold: true, Size: 14}})
	style(&b.note, &excelize.Style{Font: &excelize.Font{Italic: true}})
	style(&b.header, &excelize.Style{Font: &excelize.Font{Bold: true}, Fill: excelize.Fill{Type: "pattern", Pattern: 1, Color: []string{"DDE3DA"}},
		Alignment: &excelize.Alignment{WrapText: true, Vertical: "top"}})
	for i, format := range numberFormats {
		style(&b.cells[i], &excelize.Style{CustomNumFmt: &format})
	}
	return err
}

// sheet is one sheet being written, and those that go on where it is full.
type sheet struct {
	book    *book
	name    string
	note    string
	columns []sheetColumn
	out     *excelize.StreamWriter
	part    int
	row     int // rows of values on this sheet
}

func (b *book) sheet(name, note string, columns []sheetColumn) (*sheet, error) {
	s := &sheet{book: b, name: name, note: note, columns: columns}
	return s, s.begin()
}

// begin begins a sheet: title, note and the frozen header.
func (s *sheet) begin() error {
	s.part++
	s.row = 0
	name, note := s.name, s.note
	if s.part > 1 {
		name = fmt.Sprintf("%s %d", s.name, s.part)
		note = fmt.Sprintf("Goes on from the sheet before, which is full (%d rows). %s", s.book.most, s.note)
	}
	if _, err := s.book.file.NewSheet(name); err != nil {
		return err
	}
	var err error
	if s.out, err = s.book.file.NewStreamWriter(name); err != nil {
		return err
	}
	for i, c := range s.columns {
		if err := s.out.SetColWidth(i+1, i+1, c.width); err != nil {
			return err
		}
	}
	err = s.out.SetPanes(&excelize.Panes{Freeze: true, YSplit: sheetHead, TopLeftCell: fmt.Sprintf("A%d", sheetHead+1), ActivePane: "bottomLeft"})
	if err != nil {
		return err
	}
	header := make([]any, len(s.columns))
	for i, c := range s.columns {
		header[i] = excelize.Cell{StyleID: s.book.header, Value: c.name}
	}
	if err := s.out.SetRow("A1", []any{excelize.Cell{StyleID: s.book.title, Value: neutral(s.book.src.called() + ": " + name)}}); err != nil {
		return err
	}
	if err := s.out.SetRow("A2", []any{excelize.Cell{StyleID: s.book.note, Value: neutral(note)}}); err != nil {
		return err
	}
	return s.out.SetRow(fmt.Sprintf("A%d", sheetHead), header)
}

// add writes a row; a full sheet goes on in another.
func (s *sheet) add(cells []Cell) error {
	if s.row == s.book.most {
		if err := s.out.Flush(); err != nil {
			return err
		}
		if err := s.begin(); err != nil {
			return err
		}
	}
	s.row++
	s.book.rows++
	values := make([]any, len(cells))
	for i := range cells {
		values[i] = s.value(i, &cells[i])
	}
	return s.out.SetRow(fmt.Sprintf("A%d", sheetHead+s.row), values)
}

// value makes the value of a cell; nil leaves it empty.
func (s *sheet) value(i int, c *Cell) any {
	if !c.Has {
		return nil
	}
	format := s.columns[i].format
	style := s.book.cells[format]
	switch format {
	case asText:
		return excelize.Cell{StyleID: style, Value: cut(neutral(c.Text))}
	case asDate:
		if day, err := time.Parse(time.DateOnly, c.Text); err == nil && day.Year() >= 1901 {
			return excelize.Cell{StyleID: style, Value: day.Sub(time.Date(1899, 12, 30, 0, 0, 0, 0, time.UTC)).Hours() / 24}
		}
		return excelize.Cell{StyleID: s.book.cells[asText], Value: c.Text} // spreadsheets know no day before 1900
	}
	return excelize.Cell{StyleID: style, Value: c.Number}
}

// cut keeps a text to what a cell takes, and says so.
func cut(s string) string {
	const more = " (cut: longer than a cell takes)"
	if utf8.RuneCountInString(s) <= excelize.TotalCellChars {
		return s
	}
	return string([]rune(s)[:excelize.TotalCellChars-len(more)]) + more
}

func (s *sheet) end() error { return s.out.Flush() }

// unit is the unit of weight per area that the workbook shows.
func (b *book) unit() monitor.Unit {
	for _, name := range []string{b.src.options.Units, b.src.values["units"]} {
		if u, err := monitor.UnitNamed(name); err == nil {
			return u
		}
	}
	return monitor.Units[0]
}

// bags writes the sheet of bags.
func (b *book) bags() error {
	t := tableNamed("bags")
	var columns []sheetColumn
	for i := range t.Columns {
		columns = append(columns, sheetColumnOf(&t.Columns[i]))
	}
	s, err := b.sheet("Bags", "Every bag as it was recorded; dry_used_g is the dry weight that the means rest on, "+b.src.values["basis"]+
		". What each column means stands in README.txt. Estimates from samples: see the cautions there.", columns)
	if err != nil {
		return err
	}
	var rows int64
	if err := t.rows(b.src, b.src.all, b.counting(&rows, s.add)); err != nil {
		return err
	}
	return s.end()
}

func sheetColumnOf(c *Column) sheetColumn {
	out := sheetColumn{name: c.Name, width: 12, format: asText}
	switch c.Type {
	case Whole:
		out.width, out.format = 9, asWhole
	case Number:
		out.format = asNumber3
	case Date:
		out.format = asDate
	}
	if c.Name == "note" {
		out.width = 30
	}
	return out
}
