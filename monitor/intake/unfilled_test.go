package intake

import (
	"os"
	"path/filepath"
	"slices"
	"testing"

	"clipledger/schema"
)

// A row that nobody filled in counts as lost, is counted aloud, and is left
// out only where the user says so and nobody wrote in it.
func TestUnfilledRows(t *testing.T) {
	path := filepath.Join(t.TempDir(), "f.csv")
	text := "site,year,frame,frame_type,component,tare_g,green_gross_g,status,components_sampled,note\n" +
		"A,2025,1,1 m2,herbaceous,2,12,,,\n" + "A,2025,2,1 m2,herbaceous,,,,,\n" + "A,2025,3,1 m2,herbaceous,2,,,,\n" +
		"A,2025,4,1 m2,herbaceous,,,,herbaceous,\n" + "A,2025,5,1 m2,herbaceous,,,,,mark gone\n" + "A,2025,6,1 m2,herbaceous,,,empty,,\n" + "A,2025,7,1 m2,herbaceous,,,lost,,\n"
	if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		unfilled string
		lost     []string
		leftOut  int
		notice   string
	}{
		{"", []string{"2", "3", "4", "5", "7"}, 0, "4 rows were found without a weight and a status (first in line 3) and counted as lost: missing, never zero; write empty or 0 where nothing was found, or leave such rows out with --unfilled left-out"},
		{UnfilledLost, []string{"2", "3", "4", "5", "7"}, 0, "4 rows were found without a weight and a status (first in line 3) and counted as lost: missing, never zero; write empty or 0 where nothing was found, or leave such rows out with --unfilled left-out"},
		{UnfilledLeftOut, []string{"3", "4", "5", "7"}, 1, "3 rows were found without a weight and a status, but with a tare, a note or what was looked for (first in line 4), counted as lost: missing, never zero"},
	} {
		f, err := Open(path)
		if err != nil {
			t.Fatal(err)
		}
		var lost []string
		sum, err := Clippings(f, Options{Unfilled: c.unfilled}, nil, func(rec schema.Clipping) error {
			if rec.Status == schema.StatusLost {
				lost = append(lost, rec.Frame)
			}
			return nil
		}, func(p schema.Problem) { t.Error(p) })
		f.Close()
		if err != nil {
			t.Fatal(err)
		}
		if !slices.Equal(lost, c.lost) || sum.LeftOut != c.leftOut {
			t.Errorf("%q: lost are %v, left out %d; want %v, %d", c.unfilled, lost, sum.LeftOut, c.lost, c.leftOut)
		}
		if !slices.Contains(sum.Notices, c.notice) {
			t.Errorf("%q: the summary lacks %q:\n%q", c.unfilled, c.notice, sum.Notices)
		}
	}
}
