package charts

import "testing"

func TestJudgedText(t *testing.T) {
	for _, c := range []struct {
		judged, enough int
		want           string
	}{
		{0, 0, " None could be judged."},
		{1, 0, " The one that could be judged had a sample too small for x."},
		{1, 1, " The one that could be judged had a sample large enough for x."},
		{3, 0, " None of the 3 that could be judged had a sample large enough for x."},
		{3, 3, " All 3 that could be judged had a sample large enough for x."},
		{3, 2, " Of the 3 that could be judged, 2 had a sample large enough for x."},
	} {
		if got := judgedText(c.judged, c.enough, "x"); got != c.want {
			t.Errorf("got %q, want %q", got, c.want)
		}
	}
}
