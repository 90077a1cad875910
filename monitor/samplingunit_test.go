package monitor_test

import (
	"fmt"
	"strings"
	"testing"

	"clipledger/schema"
	"clipledger/schema/ledgertest"
)

// Means over sampling units: frames, or transects that count alike however
// many frames each has.

func TestTransectMeansCountAlike(t *testing.T) {
	text := `2020 1 herbaceous dry=10 t=A
		2020 1 herbaceous dry=20 t=B
		2020 2 herbaceous dry=30 t=B
		2020 3 herbaceous dry=40 t=B
		2020 1 herbaceous dry=50 t=C
		2020 2 herbaceous dry=70 t=C
		2020 3 herbaceous lost t=C`
	for _, tt := range []struct {
		unit string
		n    int
		mean float64
		sd2  float64
	}{
		// Transect means 10, 30 and 60: deviations -70/3, -10/3, 80/3.
		{"transect", 3, 100.0 / 3, (4900 + 100 + 6400) / 9.0 / 2},
		// Frames 10, 20, 30, 40, 50, 70: squares 10,400, less 220²/6.
		{"frame", 6, 220.0 / 6, (10400 - 220*220/6.0) / 5},
	} {
		path := ledgertest.Path(t, ledgertest.Records{Sites: []schema.Site{{Site: "A", SamplingUnit: tt.unit, Components: declared("herbaceous")}}, Clippings: rows(t, text)})
		m := meanOf(t, path, 2020, "herbaceous")
		if m.N != tt.n || m.Missing != 1 {
			t.Errorf("%s: n %d, missing %d; want %d and 1", tt.unit, m.N, m.Missing, tt.n)
		}
		near(t, tt.unit+" mean", m.Mean, tt.mean, 1e-12)
		near(t, tt.unit+" variance", schema.Some(m.SD.Float64*m.SD.Float64), tt.sd2, 1e-9)
		soundLedger(t, path)
	}
}

// transects makes one frame in each of some transects a year.
func transects(year int, names string) string {
	var b strings.Builder
	for i, name := range strings.Fields(names) {
		fmt.Fprintf(&b, "%d 1 herbaceous dry=%d t=%s\n", year, 10+i, name)
	}
	return b.String()
}

func TestUnitIsChosenOnce(t *testing.T) {
	for _, tt := range []struct {
		name        string
		first, then string
		want        string
	}{
		{"three transects on every occasion", transects(2019, "A B C") + transects(2020, "A B C D"), "", "transect"},
		{"two on one occasion", transects(2019, "A B C") + transects(2020, "A B"), "", "frame"},
		{"one lost later does not flip it", transects(2019, "A B C"), transects(2020, "A B"), "transect"},
		{"more later do not flip it", transects(2019, "A B"), transects(2020, "A B C"), "frame"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			path := ledgertest.Path(t, ledgertest.Records{Clippings: rows(t, tt.first)})
			if tt.then != "" {
				ledgertest.Import(t, path, ledgertest.Records{Clippings: rows(t, tt.then)})
			}
			ledgertest.Read(t, path, func(s *schema.Snapshot) error {
				sites, err := s.Sites()
				if err == nil && (sites[0].SamplingUnit != tt.want || sites[0].UnitDeclared) {
					t.Errorf("unit %q (declared: %v), want %q chosen", sites[0].SamplingUnit, sites[0].UnitDeclared, tt.want)
				}
				return err
			})
			soundLedger(t, path)
		})
	}
}

// A transect of which every bag was lost is still a transect of the occasion,
// and a declaration overrules the choice at any time.
func TestUnitDeclaredLater(t *testing.T) {
	path := ledgertest.Path(t, ledgertest.Records{Clippings: rows(t, "2020 1 herbaceous dry=10 t=A\n2020 1 herbaceous dry=20 t=B\n2020 1 herbaceous lost t=C")})
	if m := meanOf(t, path, 2020, "herbaceous"); m.Site.SamplingUnit != "transect" || m.N != 2 {
		t.Errorf("unit %q, n %d; want two transects", m.Site.SamplingUnit, m.N)
	}
	ledgertest.Import(t, path, ledgertest.Records{Sites: siteA("")})
	if m := meanOf(t, path, 2020, "herbaceous"); m.Site.SamplingUnit != "frame" || !m.Site.UnitDeclared {
		t.Errorf("unit %q (declared: %v) after the declaration, want frame", m.Site.SamplingUnit, m.Site.UnitDeclared)
	}
}

// Transects of three frames each. Within variance 400 in each. Means 10, 40,
// 70: between (3·900 - 400)/3 = 2300/3, best √(5·400/(2300/3)) frames at the
// default cost ratio of 5. Means 20, 30, 40: (3·100 - 400)/3 is below zero.
func TestBetweenAndWithinTransects(t *testing.T) {
	frames := func(year int, means ...int) string {
		var b strings.Builder
		for i, mean := range means {
			for j, d := range []int{-20, 0, 20} {
				fmt.Fprintf(&b, "%d %d herbaceous dry=%d t=%c\n", year, j+1, mean+d+100, 'A'+i)
			}
		}
		return b.String()
	}
	path := ledgertest.Path(t, ledgertest.Records{Sites: []schema.Site{{Site: "A", SamplingUnit: "transect"}}, Clippings: rows(t, frames(2020, 10, 40, 70)+frames(2021, 20, 30, 40))})
	two := meanOf(t, path, 2020, "herbaceous").Transects
	near(t, "between", schema.Some(two.Between), 2300.0/3, 1e-9)
	near(t, "within", schema.Some(two.Within), 400, 1e-9)
	near(t, "best frames per transect", two.BestFrames, 1.6151457061744964, 1e-12) // √(60/23)
	if two.FramesPerTransect != 3 || two.BetweenClipped {
		t.Errorf("frames per transect %v, clipped %v; want 3 and not", two.FramesPerTransect, two.BetweenClipped)
	}
	two = meanOf(t, path, 2021, "herbaceous").Transects
	if !two.BetweenClipped || two.Between != 0 {
		t.Errorf("between %v, clipped %v; want 0, clipped", two.Between, two.BetweenClipped)
	}
	absent(t, "best frames where transects do not differ", two.BestFrames)
}

// What the interval speaks for is said.
func TestOneLineAndChosenFrames(t *testing.T) {
	line := rows(t, "2020 1 herbaceous dry=10 t=North\n2020 2 herbaceous dry=20 t=North")
	path := ledgertest.Path(t, ledgertest.Records{Sites: []schema.Site{{Site: "A", SamplingUnit: "frame", Selection: "chosen"}}, Clippings: line})
	m := meanOf(t, path, 2020, "herbaceous")
	says(t, m, "one-line", false)
	says(t, m, "chosen", false)

	line[1].Transect = "South"
	path = ledgertest.Path(t, ledgertest.Records{Sites: []schema.Site{{Site: "A", SamplingUnit: "frame", Selection: "random"}}, Clippings: line})
	m = meanOf(t, path, 2020, "herbaceous")
	silent(t, m, "one-line")
	silent(t, m, "chosen")
}
