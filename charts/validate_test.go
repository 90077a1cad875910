package charts

import (
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// TestRefusals checks that a model that cannot be printed truthfully is
// refused before anything is written.
func TestRefusals(t *testing.T) {
	for _, c := range []struct {
		name, want string
		spoil      func(*Report)
	}{
		{"no unit", "unit", func(r *Report) { r.Unit = " " }},
		{"confidence in percent", "confidence 90", func(r *Report) { r.Confidence = 90 }},
		{"precision NaN", "precision", func(r *Report) { r.PrecisionPct = math.NaN() }},
		{"mean NaN", "mean is NaN", func(r *Report) { r.Sites[0].Series[0].Years[0].Mean = ptr(math.NaN()) }},
		{"limit infinite", "upper limit is +Inf", func(r *Report) { r.Sites[0].Series[0].Years[0].High = ptr(math.Inf(1)) }},
		{"frame infinite", "a frame is -Inf", func(r *Report) { r.Sites[0].Series[0].Years[0].Frames[0] = math.Inf(-1) }},
		{"book range NaN", "lower book values is NaN", func(r *Report) { r.Sites[0].Series[0].Years[0].BookLow = ptr(math.NaN()) }},
		{"site twice", "share the page", func(r *Report) { r.Sites[1].Code = r.Sites[0].Code }},
		{"series twice", "appears twice", func(r *Report) { r.Sites[0].Series[1] = r.Sites[0].Series[0] }},
		{"years backwards", "does not follow", func(r *Report) { r.Sites[0].Series[0].Years[1].Year = 1900 }},
	} {
		r := sampleReport()
		c.spoil(r)
		dir := filepath.Join(t.TempDir(), "report")
		err := Write(dir, r, nil)
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: got error %v, want one with %q", c.name, err, c.want)
		}
		if _, err := os.Stat(dir); err == nil {
			t.Errorf("%s: the folder was made all the same", c.name)
		}
	}
}
