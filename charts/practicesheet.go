package charts

import (
	"fmt"
	"html/template"
	"io"
)

// PracticeSheet is a sheet of past frames to judge by eye. It holds no answer.
type PracticeSheet struct {
	LedgerName string
	Seed       uint64
	Answers    string // base name of the file that holds the answers
	Rows       []PracticeRow
}

// PracticeRow is one frame to judge.
type PracticeRow struct {
	Number    int
	Site      string
	Year      string
	Date      string
	Transect  string
	Frame     string
	Component string
	Plants    string
	Ground    string
	State     string // green or dry
}

// WritePracticeSheet writes the sheet as one page that stands by itself and
// prints in black and white.
func WritePracticeSheet(w io.Writer, s *PracticeSheet) error {
	t, err := template.ParseFS(templateFiles, "templates/practice.html")
	if err == nil {
		err = t.Execute(w, s)
	}
	if err != nil {
		return fmt.Errorf("practice sheet: %w", err)
	}
	return nil
}
