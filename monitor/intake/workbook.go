package intake

import (
	"archive/zip"
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"math"
	"path"
	"strconv"
	"strings"

	"github.com/xuri/excelize/v2"

	"clipledger/schema"
)

// How large a workbook may be. A packed one is held in memory; parts of it
// that unpack to more than workbookPartBytes go to a temporary file.
const (
	mostWorkbookBytes = 256 << 20
	workbookPartBytes = 16 << 20
)

// workbook is an XLSX file. excelize reads texts, formats and properties; what
// it does not give while streaming (formulas, types and formats of cells,
// where a sheet breaks off) is read beside it from the same parts.
type workbook struct {
	file     *excelize.File
	parts    map[string]*zip.File
	sheets   []sheetPart
	date1904 bool
	dates    map[int]bool // by format of a cell
	texts    int          // how many texts its cells can refer to; -1 until counted
}

// sheetPart is a sheet and the part of the file that holds it.
type sheetPart struct {
	name, part string
	hidden     bool
}

// openWorkbook reads what a workbook is made of.
func openWorkbook(raw io.Reader) (*workbook, error) {
	packed, err := io.ReadAll(io.LimitReader(raw, mostWorkbookBytes+1))
	if err != nil {
		return nil, err
	}
	if len(packed) > mostWorkbookBytes {
		return nil, &notText{0, fmt.Sprintf("the workbook is larger than %d million bytes", mostWorkbookBytes/1_000_000), "save the sheet as CSV, and import that"}
	}
	archive, err := zip.NewReader(bytes.NewReader(packed), int64(len(packed)))
	if err != nil {
		return nil, damaged("it is cut off, or not a zipped file at all")
	}
	w := &workbook{parts: map[string]*zip.File{}, dates: map[int]bool{}, texts: -1}
	limit := unpackLimit(int64(len(packed)))
	var unpacked uint64
	for _, part := range archive.File {
		if unpacked += part.UncompressedSize64; part.UncompressedSize64 > uint64(limit) || unpacked > uint64(limit) {
			return nil, &notText{0, fmt.Sprintf("the workbook unpacks to more than %d million bytes, which no table of this packed size does", limit/1_000_000),
				"save the sheet as CSV, and import that"}
		}
		w.parts[strings.ReplaceAll(part.Name, "\\", "/")] = part
	}
	if w.parts["[Content_Types].xml"] == nil {
		return nil, &notText{0, "this is a zipped file, but no workbook (XLSX)", "unpack it, and import the CSV files or workbooks in it"}
	}
	err = guarded(func() (err error) {
		w.file, err = excelize.OpenReader(bytes.NewReader(packed),
			excelize.Options{RawCellValue: true, UnzipSizeLimit: limit, UnzipXMLSizeLimit: min(workbookPartBytes, limit)})
		if err != nil {
			return damaged(err.Error())
		}
		props, err := w.file.GetWorkbookProps()
		w.date1904 = err == nil && props.Date1904 != nil && *props.Date1904
		return w.findSheets()
	})
	if err != nil {
		w.close()
		return nil, err
	}
	return w, nil
}

// close removes what excelize keeps in temporary files.
func (w *workbook) close() {
	if w.file != nil {
		w.file.Close() // what cannot be removed is in the folder for temporary files
	}
}

// damaged says that a workbook cannot be read, and why.
func damaged(why string) error {
	return &notText{0, "the workbook is damaged (" + why + ")", "open it in the program it came from, save it again, and import that file"}
}

// guarded calls what reads a workbook. A file made to break its reader must
// not break the import: a panic is told as a damaged workbook.
func guarded(read func() error) (err error) {
	defer func() {
		if p := recover(); p != nil {
			err = damaged(fmt.Sprint(p))
		}
	}()
	return read()
}

// relations are the parts that a part of the file refers to.
type relations struct {
	Relation []struct {
		ID     string `xml:"Id,attr"`
		Type   string `xml:"Type,attr"`
		Target string `xml:"Target,attr"`
	} `xml:"Relationship"`
}

// findSheets lists the sheets, in the order of their tabs.
func (w *workbook) findSheets() error {
	main := "xl/workbook.xml"
	var root relations
	if err := w.decode("_rels/.rels", &root); err != nil {
		return err
	}
	for _, r := range root.Relation {
		if strings.HasSuffix(r.Type, "/officeDocument") {
			main = strings.TrimPrefix(r.Target, "/")
			break
		}
	}
	var book struct {
		Sheets []struct {
			Name  string `xml:"name,attr"`
			State string `xml:"state,attr"`
			ID    string `xml:"id,attr"`
		} `xml:"sheets>sheet"`
	}
	var targets relations
	dir, base := path.Split(main)
	if err := w.decode(main, &book); err != nil {
		return err
	}
	if err := w.decode(dir+"_rels/"+base+".rels", &targets); err != nil {
		return err
	}
	for _, s := range book.Sheets {
		for _, r := range targets.Relation {
			if r.ID != s.ID || !strings.HasSuffix(r.Type, "/worksheet") {
				continue // a chart on a sheet of its own has no cells
			}
			part := path.Join(dir, r.Target)
			if strings.HasPrefix(r.Target, "/") {
				part = strings.TrimPrefix(r.Target, "/")
			}
			w.sheets = append(w.sheets, sheetPart{s.Name, part, s.State != "" && s.State != "visible"})
			break
		}
	}
	if len(w.sheets) == 0 {
		return damaged("it has no sheets")
	}
	return nil
}

// open opens a part.
func (w *workbook) open(name string) (io.ReadCloser, error) {
	part := w.parts[name]
	if part == nil {
		return nil, damaged("it lacks the part " + name)
	}
	r, err := part.Open()
	if err != nil {
		return nil, damaged(name + ": " + err.Error())
	}
	return r, nil
}

// decode reads a small part.
func (w *workbook) decode(name string, into any) error {
	r, err := w.open(name)
	if err != nil {
		return err
	}
	defer r.Close()
	d := xml.NewDecoder(r)
	d.CharsetReader = w.file.CharsetReader
	if err := d.Decode(into); err != nil {
		return damaged(name + ": " + err.Error())
	}
	return nil
}

// hasText tells whether the workbook has the text that a cell refers to.
func (w *workbook) hasText(index string) bool {
	n, err := strconv.Atoi(strings.TrimSpace(index))
	if err != nil || n < 0 {
		return false
	}
	if w.texts < 0 {
		w.texts = w.countTexts()
	}
	return n < w.texts
}

// countTexts counts the texts that cells can refer to.
func (w *workbook) countTexts() (n int) {
	for name := range w.parts {
		if !strings.EqualFold(name, "xl/sharedStrings.xml") {
			continue
		}
		r, err := w.open(name)
		if err != nil {
			return 0
		}
		defer r.Close()
		d := xml.NewDecoder(r)
		d.CharsetReader = w.file.CharsetReader
		for {
			token, err := d.RawToken()
			if err != nil {
				return n
			}
			if start, ok := token.(xml.StartElement); ok && start.Name.Local == "si" {
				n++
			}
		}
	}
	return 0
}

// isDate tells whether cells of a format show their number as a day.
func (w *workbook) isDate(format int) bool {
	is, known := w.dates[format]
	if !known {
		style, err := w.file.GetStyle(format)
		is = err == nil && style != nil && (dateFormat(style.NumFmt) || style.CustomNumFmt != nil && dateCode(*style.CustomNumFmt))
		w.dates[format] = is
	}
	return is
}

// dateFormat tells whether a built-in number format shows a day (ECMA-376
// part 1, 18.8.30; 27 to 36 and 50 to 58 are those of East Asian languages).
func dateFormat(id int) bool {
	return id >= 14 && id <= 17 || id == 22 || id >= 27 && id <= 31 || id == 36 || id >= 50 && id <= 54 || id == 57 || id == 58
}

// dateCode tells whether a number format that a user has made shows a day: it
// has years or days, or months and no hours, minutes or seconds. Quoted text,
// escaped signs and what stands in brackets does not count.
func dateCode(code string) bool {
	var months, clock bool
	code, _, _ = strings.Cut(strings.ToLower(code), ";") // what follows is for negative numbers
	for i := 0; i < len(code); i++ {
		switch code[i] {
		case '\\', '_', '*':
			i++ // the next sign stands for itself
		case '"', '[':
			end := strings.IndexByte(code[i+1:], map[byte]byte{'"': '"', '[': ']'}[code[i]])
			if end < 0 {
				return false
			}
			inside := code[i+1 : i+1+end]
			clock = clock || code[i] == '[' && strings.Trim(inside, "hms") == "" // hours that go on beyond a day
			i += end + 1
		case 'y', 'd':
			return true
		case 'm':
			months = true
		case 'h', 's':
			clock = true
		case 'g': // General, in which no letter is a day
			if strings.HasPrefix(code[i:], "general") {
				i += len("general") - 1
			}
		}
	}
	return months && !clock
}

// serialDay turns the number of a day into YYYY-MM-DD. Days count from the
// last of 1899, and February 1900 is taken to have 29 days; or, where the
// workbook says so, from the first of 1904. clock tells that the number has a
// time of day.
func serialDay(serial float64, from1904 bool) (iso string, clock, ok bool) {
	whole := math.Floor(serial + 0.5/86400) // half a second: sums of hours are not exact
	clock = serial-whole > 0.5/86400
	day := int(whole)
	switch {
	case !(whole >= 0 && whole < 2_958_466): // the year 10000
		return "", clock, false
	case from1904:
		day += epoch1904
	case day == 0 || day == 60: // no day at all, and the 29 February 1900 that never was
		return "", clock, false
	case day > 60:
		day--
	}
	y, m, d := dayOf(day)
	return fmt.Sprintf("%04d-%02d-%02d", y, m, d), clock, true
}

// epoch1904 is how many days the first of 1904 comes after the last of 1899.
const epoch1904 = 1461

// dayOf returns the day that comes so many days after the last of 1899.
func dayOf(n int) (year, month, day int) {
	year, month, day = 1900, 1, n
	for day > daysInYear(year) {
		day -= daysInYear(year)
		year++
	}
	if day == 0 {
		return 1899, 12, 31
	}
	for day > daysIn(year, month) {
		day -= daysIn(year, month)
		month++
	}
	return year, month, day
}

// daysInYear returns the number of days of a year.
func daysInYear(year int) int { return 337 + daysIn(year, 2) }

// choose picks the sheet that --sheet names, or the only one that holds
// anything.
func (w *workbook) choose(wanted string) (sheetPart, error) {
	if wanted != "" {
		for _, s := range w.sheets {
			if strings.EqualFold(s.name, wanted) {
				return s, nil
			}
		}
		if n, err := strconv.Atoi(wanted); err == nil && n >= 1 && n <= len(w.sheets) {
			return w.sheets[n-1], nil
		}
		return sheetPart{}, &notText{0, fmt.Sprintf("the workbook has no sheet %q, which --sheet names", wanted), "it has " + listSheets(w.sheets)}
	}
	var holding []sheetPart
	for _, s := range w.sheets {
		holds, err := w.holdsAnything(s)
		if err != nil {
			return s, err
		}
		if holds {
			holding = append(holding, s)
		}
	}
	holding = withoutNotes(holding)
	switch len(holding) {
	case 0:
		return w.sheets[0], nil // which is then told to be empty
	case 1:
		return holding[0], nil
	}
	return sheetPart{}, &notText{0, fmt.Sprintf("%d sheets hold something, and none is named", len(holding)), fmt.Sprintf("say --sheet %q, or another: it has %s", holding[0].name, listSheets(holding))}
}

// NotesSheet is the sheet of a field sheet's workbook that says how to fill in
// the other. It is never the one to read unless it is named.
const NotesSheet = "How to fill in"

// withoutNotes leaves out the notes of a field sheet where other sheets hold
// something.
func withoutNotes(holding []sheetPart) []sheetPart {
	var out []sheetPart
	for _, s := range holding {
		if s.name != NotesSheet {
			out = append(out, s)
		}
	}
	if len(out) == 0 {
		return holding
	}
	return out
}

// listSheets lists sheets for a message.
func listSheets(sheets []sheetPart) string {
	const most = 20
	var names []string
	for i, s := range sheets {
		if i == most {
			return strings.Join(names, ", ") + fmt.Sprintf(" and %d more", len(sheets)-most)
		}
		name := fmt.Sprintf("%q", s.name)
		if s.hidden {
			name += " (hidden)"
		}
		names = append(names, name)
	}
	return listWords(names, "and")
}

// holdsAnything tells whether a sheet has a cell with something in it.
func (w *workbook) holdsAnything(s sheetPart) (bool, error) {
	scan, err := w.scan(s)
	if err != nil {
		return false, err
	}
	defer scan.close()
	for {
		row, err := scan.next()
		if err == io.EOF {
			return false, nil
		}
		if err != nil {
			return false, err
		}
		for _, c := range row.cells {
			if c.value != "" || c.inline || c.formula {
				return true, nil
			}
		}
	}
}

// wrongWorkbook words an error of reading a workbook, at a row of its sheet.
func (t *table) wrongWorkbook(line int, err error) error {
	var text *notText
	if errors.As(err, &text) {
		return &rowError{Problem: schema.Problem{File: t.file.name, Line: max(line, text.line), What: text.what, Do: text.do}, ends: true}
	}
	return fmt.Errorf("read %s: %w", t.file.name, err)
}
