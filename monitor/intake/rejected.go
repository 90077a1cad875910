package intake

import (
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"
)

// WriteRejected copies the rows of a file that begin at, or run over, the
// given lines into a new file beside it: FILE.rejected.csv, or
// FILE.rejected.2.csv and so on where that name is taken; for what came
// through a pipe, stdin.rejected.csv in the current folder. The new file has
// the same header and delimiter, those of a workbook with commas (semicolons
// beside decimal commas), and the reasons, joined by " | ", in a last column.
// It returns the path of the new file, "" where there are no reasons. The
// file must have been read before.
func (f *File) WriteRejected(reasons map[int][]string) (rejectedPath string, err error) {
	if len(reasons) == 0 {
		return "", nil
	}
	again, err := f.again()
	if err != nil {
		return "", err
	}
	defer again.Close()
	again.keep = true
	t, err := openTable(again, &Options{Sheet: f.place.sheet, DecimalComma: f.place.decimalComma},
		func(t *table) headerScore { return headerScore{complete: t.headerLine == f.place.headerLine} })
	if err != nil {
		return "", fmt.Errorf("read %s again for its rejected rows: %w", f.name, err)
	}
	beside := f.path
	if f.copied {
		beside = f.name
	}
	out, err := createFree(beside)
	if err != nil {
		return "", err
	}
	if err := copyRejected(out, t, reasons); err != nil {
		out.Close()
		os.Remove(out.Name())
		return "", err
	}
	return out.Name(), nil
}

// createFree makes a new file under the first free name.
func createFree(inputPath string) (*os.File, error) {
	name := inputPath + ".rejected.csv"
	for n := 2; ; n++ {
		f, err := os.OpenFile(name, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o644)
		if !errors.Is(err, os.ErrExist) {
			return f, err
		}
		name = fmt.Sprintf("%s.rejected.%d.csv", inputPath, n)
	}
}

// copyRejected writes the rows that have reasons and closes the new file.
func copyRejected(out *os.File, t *table, reasons map[int][]string) error {
	if t.text == nil || t.text.bom || t.text.latin || t.text.utf16 { // spreadsheets need it to read what they wrote
		if _, err := out.WriteString(byteOrderMark); err != nil {
			return err
		}
	}
	w := csv.NewWriter(out)
	w.Comma = t.delimiter
	column := "reason"
	if len(find(t.header, column)) > 0 {
		column = "reason of rejection"
	}
	if err := w.Write(append(append([]string(nil), t.header...), column)); err != nil {
		return err
	}
	missed := 0
	for line := range reasons {
		if line > t.headerLine { // others are about the file, not about a row
			missed++
		}
	}
	for {
		cells, first, last, err := t.raw()
		if err == io.EOF {
			break
		}
		if err != nil {
			return fmt.Errorf("read %s again for its rejected rows: %w", t.file.name, err)
		}
		var why []string
		for line := first; line <= last; line++ {
			if len(reasons[line]) > 0 {
				missed--
				why = append(why, reasons[line]...)
			}
		}
		if why == nil {
			continue
		}
		row := append([]string(nil), cells...)
		for len(row) < len(t.header) {
			row = append(row, "")
		}
		if err := w.Write(append(row, strings.Join(why, " | "))); err != nil {
			return err
		}
	}
	if missed > 0 {
		return fmt.Errorf("%s has no row in %d of the lines to reject: it has changed while it was read; import it again", t.file.name, missed)
	}
	w.Flush()
	if err := w.Error(); err != nil {
		return err
	}
	return out.Close()
}

// raw reads the next row for copying, whatever is wrong with it, and the
// lines on which it begins and ends. A row whose quotes do not pair up is
// split as well as it can be, or kept as one cell.
func (t *table) raw() (cells []string, first, last int, err error) {
	if t.sheet != nil {
		cells, first, err = t.sheet.read()
		return cells, first, first, err
	}
	if t.parquet != nil {
		cells, first, err = t.parquet.read()
		return cells, first, first, err
	}
	t.text.forget(t.rows.to)
	cells, _, err = t.read()
	if err == nil {
		return cells, t.rows.first, t.rows.last, nil
	}
	var bad *rowError
	if !errors.As(err, &bad) || bad.ends {
		return nil, 0, 0, err
	}
	text, err := t.bytesAt(t.rows.from, t.rows.to)
	if err != nil {
		return nil, 0, 0, err
	}
	return t.splitBadly(strings.Trim(text, "\n")), t.rows.first, t.rows.last, nil
}

// bytesAt returns a stretch of the text that was kept, its lines ended by LF.
func (t *table) bytesAt(from, to int64) (string, error) {
	from, to = from-t.text.keptFrom, to-t.text.keptFrom
	if from < 0 || to > int64(len(t.text.kept)) {
		return "", fmt.Errorf("read %s again for its rejected rows: a row of it is gone", t.file.name)
	}
	return strings.ReplaceAll(string(t.text.kept[from:to]), "\r\n", "\n"), nil
}

// splitBadly splits the text of a row whose quotes do not pair up, taking
// quotes as they come; where that gives more than one row the text stays whole.
func (t *table) splitBadly(text string) []string {
	r := csv.NewReader(strings.NewReader(text))
	r.Comma, r.FieldsPerRecord, r.LazyQuotes = t.delimiter, -1, true
	rows, err := r.ReadAll()
	if err != nil || len(rows) != 1 {
		return []string{text}
	}
	return rows[0]
}
