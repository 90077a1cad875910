package charts

import (
	"bytes"
	"strings"
	"testing"
)

// Typed text stays text, and a row has a blank to fill.
func TestPracticeSheet(t *testing.T) {
	const hostile = `</td><script>alert(1)</script>`
	var b bytes.Buffer
	err := WritePracticeSheet(&b, &PracticeSheet{LedgerName: hostile, Seed: 7, Answers: "answers.csv",
		Rows: []PracticeRow{{Number: 1, Site: hostile, Year: "2024", Date: "2024-07-01", Transect: hostile, Frame: hostile, Component: "browse", Plants: hostile, Ground: "1 m²", State: "green"}}})
	if err != nil {
		t.Fatal(err)
	}
	page := b.String()
	if strings.Contains(page, "<script") || strings.Count(page, "&lt;script&gt;") != 6 {
		t.Errorf("typed text is not text:\n%s", page)
	}
	for _, want := range []string{"draw 7", "answers.csv", `<td class="blank"></td>`, "Content-Security-Policy", `<html lang="en">`} {
		if !strings.Contains(page, want) {
			t.Errorf("the sheet lacks %q", want)
		}
	}
}
