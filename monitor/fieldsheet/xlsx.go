package fieldsheet

import (
	"fmt"
	"strings"

	"github.com/xuri/excelize/v2"

	"clipledger/monitor/intake"
	"clipledger/schema"
)

// dataSheet is the sheet that is filled.
const dataSheet = "Field sheet"

// moreLines is for how many added lines the lists to choose from reach below
// the last one.
const moreLines = 200

// XLSX writes a book as a workbook: one sheet to fill, its header frozen, and
// one that says how, which import passes over by its name.
func (b *Book) XLSX() ([]byte, error) {
	f := excelize.NewFile()
	defer f.Close()
	w := &workbook{Book: b, file: f, columns: b.columns()}
	for _, step := range []func() error{w.begin, w.cells, w.lists, w.layout, w.notes} {
		if err := step(); err != nil {
			return nil, fmt.Errorf("make the workbook: %w", err)
		}
	}
	out, err := f.WriteToBuffer()
	if err != nil {
		return nil, fmt.Errorf("make the workbook: %w", err)
	}
	return out.Bytes(), nil
}

// workbook is a book on its way to be one.
type workbook struct {
	*Book
	file    *excelize.File
	columns []column
	rows    int // with the header
	styles  struct{ header, known, fill, last, text, title int }
}

func (w *workbook) begin() error {
	if err := w.file.SetSheetName("Sheet1", dataSheet); err != nil {
		return err
	}
	border := []excelize.Border{{Type: "left", Color: "808080", Style: 1}, {Type: "right", Color: "808080", Style: 1},
		{Type: "top", Color: "808080", Style: 1}, {Type: "bottom", Color: "808080", Style: 1}}
	grey := func(shade string) excelize.Fill {
		return excelize.Fill{Type: "pattern", Pattern: 1, Color: []string{shade}}
	}
	wrap := &excelize.Alignment{WrapText: true, Vertical: "top"}
	for _, s := range []struct {
		into  *int
		style excelize.Style
	}{
		{&w.styles.header, excelize.Style{Border: border, Fill: grey("D9D9D9"), Font: &excelize.Font{Bold: true}, Alignment: wrap}},
		{&w.styles.known, excelize.Style{Border: border, Fill: grey("F2F2F2")}},
		{&w.styles.fill, excelize.Style{Border: border}},
		{&w.styles.last, excelize.Style{Border: border, Font: &excelize.Font{Italic: true, Color: "595959"}}},
		{&w.styles.text, excelize.Style{Alignment: wrap}},
		{&w.styles.title, excelize.Style{Font: &excelize.Font{Bold: true, Size: 13}, Alignment: wrap}},
	} {
		id, err := w.file.NewStyle(&s.style)
		if err != nil {
			return err
		}
		*s.into = id
	}
	return nil
}

// cells writes the header and the lines. Labels are text, so that 01 stays 01.
func (w *workbook) cells() error {
	for k, c := range w.columns {
		if err := w.put(dataSheet, k+1, 1, c.name, w.styles.header); err != nil {
			return err
		}
		if c.help == "" {
			continue
		}
		cell, err := excelize.CoordinatesToCellName(k+1, 1)
		if err != nil {
			return err
		}
		if err := w.file.AddComment(dataSheet, excelize.Comment{Cell: cell, Author: "clipledger", Text: c.help, Width: 240, Height: 90}); err != nil {
			return err
		}
	}
	w.rows = 1
	for i := range w.Sheets {
		s := &w.Sheets[i]
		for j := range s.Lines {
			w.rows++
			for k, c := range w.columns {
				if err := w.put(dataSheet, k+1, w.rows, c.value(s, &s.Lines[j]), w.styleOf(&c)); err != nil {
					return err
				}
			}
		}
	}
	return nil
}

func (w *workbook) styleOf(c *column) int {
	switch {
	case c.fill:
		return w.styles.fill
	case strings.HasPrefix(c.name, intake.LastTimePrefix):
		return w.styles.last
	}
	return w.styles.known
}

// put writes a text, made harmless, into a cell; "" leaves the cell empty.
func (w *workbook) put(sheet string, column, row int, text string, style int) error {
	cell, err := excelize.CoordinatesToCellName(column, row)
	if err != nil {
		return err
	}
	if text != "" {
		if err := w.file.SetCellStr(sheet, cell, neutral(text)); err != nil {
			return err
		}
	}
	return w.file.SetCellStyle(sheet, cell, cell, style)
}

// lists offers the words that a column takes. A list that would be too long
// for the file format is left out; import checks the words in any case.
func (w *workbook) lists() error {
	const longest = 255
	components := make([]string, 0, len(schema.Components))
	for _, c := range schema.Components {
		components = append(components, c.String())
	}
	words := map[string][]string{
		"component": components, "status": {schema.StatusEmpty, schema.StatusLost}, "stage": w.Stages,
		"edge_rule": {intake.EdgeRooted, intake.EdgeVertical}, "caged": {"yes"},
	}
	for k, c := range w.columns {
		list := words[c.name]
		if len(list) == 0 || len(strings.Join(list, ",")) > longest {
			continue
		}
		name, err := excelize.ColumnNumberToName(k + 1)
		if err != nil {
			return err
		}
		v := excelize.NewDataValidation(true)
		v.SetSqref(fmt.Sprintf("%s2:%s%d", name, name, w.rows+moreLines))
		if err := v.SetDropList(list); err != nil {
			return err
		}
		v.SetError(excelize.DataValidationErrorStyleStop, c.name, "Choose one of the list, or leave the cell empty.")
		if err := w.file.AddDataValidation(dataSheet, v); err != nil {
			return err
		}
	}
	return nil
}

// layout freezes the header, sets widths, and says how the sheet prints.
func (w *workbook) layout() error {
	for k, c := range w.columns {
		name, err := excelize.ColumnNumberToName(k + 1)
		if err != nil {
			return err
		}
		if err := w.file.SetColWidth(dataSheet, name, name, c.width); err != nil {
			return err
		}
	}
	err := w.file.SetPanes(dataSheet, &excelize.Panes{Freeze: true, YSplit: 1, TopLeftCell: "A2", ActivePane: "bottomLeft"})
	if err != nil {
		return err
	}
	landscape, wide, high := "landscape", 1, 0
	if err := w.file.SetPageLayout(dataSheet, &excelize.PageLayoutOptions{Orientation: &landscape, FitToWidth: &wide, FitToHeight: &high}); err != nil {
		return err
	}
	fit := true
	if err := w.file.SetSheetProps(dataSheet, &excelize.SheetPropsOptions{FitToPage: &fit}); err != nil {
		return err
	}
	return w.file.SetDefinedName(&excelize.DefinedName{Name: "_xlnm.Print_Titles", RefersTo: "'" + dataSheet + "'!$1:$1", Scope: dataSheet})
}

// notes writes the sheet that says how to fill in the other.
func (w *workbook) notes() error {
	if _, err := w.file.NewSheet(intake.NotesSheet); err != nil {
		return err
	}
	if err := w.file.SetColWidth(intake.NotesSheet, "A", "A", 100); err != nil {
		return err
	}
	row := 0
	say := func(style int, texts ...string) error {
		for _, text := range texts {
			row++
			if err := w.put(intake.NotesSheet, 1, row, text, style); err != nil {
				return err
			}
		}
		return nil
	}
	err := say(w.styles.title, "How to fill in the sheet “"+dataSheet+"”")
	if err == nil {
		err = say(w.styles.text, append(w.howTo(), "Headings carry a note each: point at one. Grey cells are known; correct them where they are wrong.")...)
	}
	for i := range w.Sheets {
		if err != nil || i == mostReminded {
			break
		}
		s := &w.Sheets[i]
		err = say(w.styles.title, title(s))
		if err == nil {
			err = say(w.styles.text, append(append([]string{}, s.Reminders...), s.Cares...)...)
		}
	}
	if err == nil {
		err = say(w.styles.title, "Take care")
	}
	if err == nil {
		err = say(w.styles.text, Cautions, w.footer())
	}
	return err
}

// mostReminded is for how many sites a workbook repeats how it was done.
const mostReminded = 500
