package fieldsheet

import (
	"bytes"
	"encoding/csv"
)

// CSV writes a book as one CSV file. A byte order mark goes first where the
// text is not plain ASCII: without it spreadsheets would misread the letters
// and save them so.
func (b *Book) CSV() ([]byte, error) {
	var out bytes.Buffer
	w := csv.NewWriter(&out)
	columns := b.columns()
	row := make([]string, len(columns))
	for i, c := range columns {
		row[i] = c.name
	}
	if err := w.Write(row); err != nil {
		return nil, err
	}
	for i := range b.Sheets {
		s := &b.Sheets[i]
		for j := range s.Lines {
			for k, c := range columns {
				row[k] = neutral(c.value(s, &s.Lines[j]))
			}
			if err := w.Write(row); err != nil {
				return nil, err
			}
		}
	}
	w.Flush()
	if err := w.Error(); err != nil {
		return nil, err
	}
	for _, c := range out.Bytes() {
		if c >= 0x80 {
			return append([]byte("\ufeff"), out.Bytes()...), nil
		}
	}
	return out.Bytes(), nil
}
