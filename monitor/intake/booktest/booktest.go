// Package booktest makes small workbooks (XLSX) for tests, out of a text that
// a test can show.
//
// A line of the text is a row of the sheet, with | between cells. A cell is a
// text unless it begins so:
//
//	n:12.5        a number
//	d:45839       a number shown as a date (built-in format 14)
//	c:45839.5     a number shown in a format of the user's own, yyyy-mm-dd hh:mm
//	f:A1+1=13     a formula and the number stored with it
//	f:A1+1        a formula without a stored value
//	s:A1&"x"=ax   a formula and the text stored with it
//	e:#N/A        an error
//	b:1           a truth value
//	i:2025-07-01T00:00:00   a date in the ISO form
//
// Lines that begin with # say other things: "# sheet NAME" begins a sheet,
// "# hide 5" hides a row, "# merge A5:A6" merges cells, "# 1904" counts days
// from 1904, "# hidden NAME" begins a hidden sheet. A blank line is a row that
// the sheet leaves out. What is written is the same for the same text.
package booktest

import (
	"archive/zip"
	"encoding/xml"
	"fmt"
	"io"
	"slices"
	"strings"
)

// sheet is a sheet to write.
type sheet struct {
	name   string
	hidden bool
	rows   []string
	hide   []string
	merge  []string
}

// Write writes the workbook that a text describes.
func Write(w io.Writer, text string) error {
	sheets := []*sheet{}
	from1904 := ""
	last := func() *sheet {
		if len(sheets) == 0 {
			sheets = append(sheets, &sheet{name: "Sheet1"})
		}
		return sheets[len(sheets)-1]
	}
	for _, line := range strings.Split(strings.TrimSuffix(text, "\n"), "\n") {
		word, rest, _ := strings.Cut(strings.TrimPrefix(line, "# "), " ")
		switch {
		case !strings.HasPrefix(line, "# "):
			last().rows = append(last().rows, line)
		case word == "sheet" || word == "hidden":
			sheets = append(sheets, &sheet{name: rest, hidden: word == "hidden"})
		case word == "hide":
			last().hide = append(last().hide, rest)
		case word == "merge":
			last().merge = append(last().merge, rest)
		case word == "1904":
			from1904 = `<workbookPr date1904="1"/>`
		default:
			return fmt.Errorf("booktest: %q is not known", line)
		}
	}
	return writeParts(w, sheets, from1904)
}

// writeParts writes the parts of the workbook.
func writeParts(w io.Writer, sheets []*sheet, props string) error {
	const (
		head = `<?xml version="1.0" encoding="UTF-8" standalone="yes"?>`
		main = `http://schemas.openxmlformats.org/spreadsheetml/2006/main`
		docs = `http://schemas.openxmlformats.org/officeDocument/2006/relationships`
		pack = `http://schemas.openxmlformats.org/package/2006/`
	)
	var types, list, rels strings.Builder
	z := zip.NewWriter(w)
	put := func(name, text string) error {
		part, err := z.Create(name)
		if err != nil {
			return err
		}
		_, err = io.WriteString(part, head+text)
		return err
	}
	for i, s := range sheets {
		state := ""
		if s.hidden {
			state = ` state="hidden"`
		}
		fmt.Fprintf(&types, `<Override PartName="/xl/worksheets/sheet%d.xml" ContentType="application/vnd.openxmlformats-officedocument.spreadsheetml.worksheet+xml"/>`, i+1)
		fmt.Fprintf(&list, `<sheet name="%s" sheetId="%d"%s r:id="rId%d"/>`, escape(s.name), i+1, state, i+1)
		fmt.Fprintf(&rels, `<Relationship Id="rId%d" Type="%s/worksheet" Target="worksheets/sheet%d.xml"/>`, i+1, docs, i+1)
		if err := put(fmt.Sprintf("xl/worksheets/sheet%d.xml", i+1), `<worksheet xmlns="`+main+`">`+s.xml()+`</worksheet>`); err != nil {
			return err
		}
	}
	for _, p := range [][2]string{
		{"[Content_Types].xml", `<Types xmlns="` + pack + `content-types"><Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/><Default Extension="xml" ContentType="application/xml"/><Override PartName="/xl/workbook.xml" ContentType="application/vnd.openxmlformats-officedocument.spreadsheetml.sheet.main+xml"/><Override PartName="/xl/styles.xml" ContentType="application/vnd.openxmlformats-officedocument.spreadsheetml.styles+xml"/>` + types.String() + `</Types>`},
		{"_rels/.rels", `<Relationships xmlns="` + pack + `relationships"><Relationship Id="rId1" Type="` + docs + `/officeDocument" Target="xl/workbook.xml"/></Relationships>`},
		{"xl/workbook.xml", `<workbook xmlns="` + main + `" xmlns:r="` + docs + `">` + props + `<sheets>` + list.String() + `</sheets></workbook>`},
		{"xl/_rels/workbook.xml.rels", `<Relationships xmlns="` + pack + `relationships">` + rels.String() + `<Relationship Id="rIdStyles" Type="` + docs + `/styles" Target="styles.xml"/></Relationships>`},
		{"xl/styles.xml", `<styleSheet xmlns="` + main + `"><numFmts count="1"><numFmt numFmtId="164" formatCode="yyyy\-mm\-dd\ hh:mm"/></numFmts><cellXfs count="3"><xf numFmtId="0"/><xf numFmtId="14" applyNumberFormat="1"/><xf numFmtId="164" applyNumberFormat="1"/></cellXfs></styleSheet>`},
	} {
		if err := put(p[0], p[1]); err != nil {
			return err
		}
	}
	return z.Close()
}

// xml writes what is in the element worksheet.
func (s *sheet) xml() string {
	var b strings.Builder
	b.WriteString("<sheetData>")
	for i, row := range s.rows {
		if row == "" {
			continue
		}
		hidden := ""
		if slices.Contains(s.hide, fmt.Sprint(i+1)) {
			hidden = ` hidden="1"`
		}
		fmt.Fprintf(&b, `<row r="%d"%s>`, i+1, hidden)
		for j, cell := range strings.Split(row, "|") {
			if cell != "" {
				b.WriteString(cellXML(fmt.Sprintf("%c%d", 'A'+j, i+1), cell))
			}
		}
		b.WriteString("</row>")
	}
	b.WriteString("</sheetData>")
	if len(s.merge) > 0 {
		fmt.Fprintf(&b, `<mergeCells count="%d">`, len(s.merge))
		for _, ref := range s.merge {
			fmt.Fprintf(&b, `<mergeCell ref="%s"/>`, ref)
		}
		b.WriteString("</mergeCells>")
	}
	return b.String()
}

// cellXML writes one cell.
func cellXML(ref, cell string) string {
	kind, rest, _ := strings.Cut(cell, ":")
	formula, value, stored := strings.Cut(rest, "=")
	v := ""
	if stored {
		v = "<v>" + escape(value) + "</v>"
	}
	switch kind {
	case "n":
		return `<c r="` + ref + `"><v>` + escape(rest) + `</v></c>`
	case "d":
		return `<c r="` + ref + `" s="1"><v>` + escape(rest) + `</v></c>`
	case "c":
		return `<c r="` + ref + `" s="2"><v>` + escape(rest) + `</v></c>`
	case "f":
		return `<c r="` + ref + `"><f>` + escape(formula) + `</f>` + v + `</c>`
	case "s":
		return `<c r="` + ref + `" t="str"><f>` + escape(formula) + `</f>` + v + `</c>`
	case "e":
		return `<c r="` + ref + `" t="e"><v>` + escape(rest) + `</v></c>`
	case "b":
		return `<c r="` + ref + `" t="b"><v>` + escape(rest) + `</v></c>`
	case "i":
		return `<c r="` + ref + `" t="d"><v>` + escape(rest) + `</v></c>`
	}
	return `<c r="` + ref + `" t="inlineStr"><is><t xml:space="preserve">` + escape(cell) + `</t></is></c>`
}

// escape writes text for XML.
func escape(s string) string {
	var b strings.Builder
	xml.EscapeText(&b, []byte(s)) // a strings.Builder takes everything
	return b.String()
}
