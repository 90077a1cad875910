package monitor_test

import (
	"database/sql"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"testing"

	"clipledger/monitor"
	"clipledger/schema"
	"clipledger/schema/ledgertest"
)

// rows reads clippings from lines "YEAR FRAME COMPONENT WORD...", so that a
// test shows its records at a glance. The component "-" is none. Words are
// lost, empty, blank (a blank cell of a wide row), caged, perm2, traceG,
// traceD, or NAME=VALUE; an underscore in a value is a space. The site is A,
// and the frame one square metre, so that grams are g/m².
func rows(t testing.TB, text string) []schema.Clipping {
	t.Helper()
	var out []schema.Clipping
	for line := range strings.Lines(text) {
		words := strings.Fields(line)
		if len(words) == 0 {
			continue
		}
		c := schema.Clipping{Site: "A", Frame: words[1], FrameType: "1 m2", Line: len(out) + 2}
		if year, date, dated := strings.Cut(words[0], "@"); dated {
			c.Date = date
			c.Year, _ = strconv.Atoi(year)
		} else {
			c.Year = int(number(t, words[0]))
		}
		if words[2] != "-" {
			var ok bool
			if c.Component, ok = schema.ComponentNamed(words[2]); !ok {
				t.Fatalf("no component %q", words[2])
			}
		}
		for _, w := range words[3:] {
			setWord(t, &c, w)
		}
		ledgertest.Defaults(&c, 0)
		out = append(out, c)
	}
	return out
}

func setWord(t testing.TB, c *schema.Clipping, word string) {
	t.Helper()
	name, value, _ := strings.Cut(strings.ReplaceAll(word, "_", " "), "=")
	texts := map[string]*string{"site": &c.Site, "t": &c.Transect, "season": &c.Season, "type": &c.FrameType, "sp": &c.Species, "form": &c.GrowthForm,
		"bag": &c.Bag, "basis": &c.Basis, "stage": &c.Stage, "treatment": &c.Treatment, "observer": &c.Observer, "rule": &c.EdgeRule}
	numbers := map[string]*schema.Num{"green": &c.GreenG, "dry": &c.DryG, "pct": &c.DMPct, "height": &c.ClipHeightCM}
	switch {
	case texts[name] != nil:
		*texts[name] = value
	case numbers[name] != nil:
		*numbers[name] = schema.Some(number(t, value))
	case name == "frames":
		c.FramesInBag = int(number(t, value))
	case name == "sampled":
		for part := range strings.SplitSeq(value, "+") {
			component, _ := schema.ComponentNamed(part)
			c.ComponentsSampled |= component.Bit()
		}
	case name == "lost" || name == "empty":
		c.Status = name
	case name == "blank":
		c.MissingCell = true
	case name == "caged":
		c.Caged = true
	case name == "perm2":
		c.PerM2 = true
	case name == "traceG":
		c.Trace |= schema.TraceGreen
	case name == "traceD":
		c.Trace |= schema.TraceDry
	default:
		t.Fatalf("no word %q", word)
	}
}

func number(t testing.TB, text string) float64 {
	t.Helper()
	f, err := strconv.ParseFloat(text, 64)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

// declared reads what a site declares: "herbaceous@9.6 ft2;browse/fall".
func declared(text string) []schema.DeclaredComponent { return ledgertest.Declared(text) }

// siteA declares the site A, sampled by frames, and what is looked for there.
func siteA(components string) []schema.Site {
	s := schema.Site{Site: "A", SamplingUnit: "frame"}
	if components != "" {
		s.Components = declared(components)
	}
	return []schema.Site{s}
}

// frameLines reads the view frame_production as lines "YEAR FRAME COMPONENT
// VALUE", VALUE being g/m², "0 inferred", or "missing: WHY"; frames in the
// order of their names.
func frameLines(t testing.TB, path string) []string {
	t.Helper()
	db, err := sql.Open("sqlite", path)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	list, err := db.Query(`SELECT growth_year, season, frame, caged, component, g_m2, zero_inferred, missing_because FROM frame_production
		ORDER BY site, growth_year, season, transect, frame, caged, component DESC`)
	if err != nil {
		t.Fatal(err)
	}
	defer list.Close()
	var out []string
	for list.Next() {
		var year int
		var season, frame, component string
		var caged, inferred bool
		var g sql.NullFloat64
		var why sql.NullString
		if err := list.Scan(&year, &season, &frame, &caged, &component, &g, &inferred, &why); err != nil {
			t.Fatal(err)
		}
		value := strconv.FormatFloat(g.Float64, 'g', 10, 64)
		if !g.Valid {
			value = "missing: " + why.String
		}
		if inferred && g.Valid {
			value += " inferred"
		}
		if season != "peak" {
			frame = season + " " + frame
		}
		if caged {
			frame += " caged"
		}
		out = append(out, fmt.Sprintf("%d %s %s %s", year, frame, component, value))
	}
	return out
}

// lines cuts a text into lines without the space around them.
func lines(text string) []string {
	var out []string
	for line := range strings.Lines(text) {
		if line = strings.TrimSpace(line); line != "" {
			out = append(out, line)
		}
	}
	return out
}

func sameLines(t testing.TB, got []string, want string) {
	t.Helper()
	if !slices.Equal(got, lines(want)) {
		t.Errorf("got:\n\t%s\nwant:\n\t%s", strings.Join(got, "\n\t"), strings.Join(lines(want), "\n\t"))
	}
}

// meansOf works out all means of a ledger that the query lets through.
func meansOf(t testing.TB, path string, q monitor.Query) []*monitor.Mean {
	t.Helper()
	var out []*monitor.Mean
	ledgertest.Read(t, path, func(s *schema.Snapshot) error {
		return monitor.Means(s, q, func(m *monitor.Mean) error {
			out = append(out, m)
			return nil
		})
	})
	return out
}

// meanOf finds the only mean of a year and component.
func meanOf(t testing.TB, path string, year int, component string) *monitor.Mean {
	t.Helper()
	q := monitor.Query{KeepValues: true, Assured: true, Classes: true}
	q.Components, q.FirstYear, q.LastYear = []string{component}, year, year
	found := meansOf(t, path, q)
	if len(found) != 1 {
		t.Fatalf("%d means of %s in %d, want one", len(found), component, year)
	}
	return found[0]
}

// soundLedger fails where the ledger's own checks find a fault.
func soundLedger(t testing.TB, path string) {
	t.Helper()
	ledgertest.Read(t, path, func(s *schema.Snapshot) error {
		checks, err := s.Verify()
		if err != nil {
			return err
		}
		means, err := monitor.VerifyMeans(s)
		if err != nil {
			return err
		}
		for _, c := range append(checks, means) {
			for _, f := range c.Faults {
				t.Errorf("verify, %s: %s", c.Name, f)
			}
		}
		return nil
	})
}

// near compares a number that must be there with what it should be.
func near(t testing.TB, what string, got schema.Num, want, tolerance float64) {
	t.Helper()
	if !got.Valid || math.Abs(got.Float64-want) > tolerance {
		t.Errorf("%s: got %v (there: %v), want %v ± %g", what, got.Float64, got.Valid, want, tolerance)
	}
}

// absent fails where a number is there that must not be.
func absent(t testing.TB, what string, got schema.Num) {
	t.Helper()
	if got.Valid {
		t.Errorf("%s: got %v, want none", what, got.Float64)
	}
}

// remark finds a remark of a mean.
func remark(m *monitor.Mean, code string) (monitor.Remark, bool) {
	i := slices.IndexFunc(m.Remarks, func(r monitor.Remark) bool { return r.Code == code })
	if i < 0 {
		return monitor.Remark{}, false
	}
	return m.Remarks[i], true
}

// says fails where a mean lacks a remark, or where the remark is not as loud
// as wanted.
func says(t testing.TB, m *monitor.Mean, code string, loud bool) {
	t.Helper()
	r, ok := remark(m, code)
	if !ok || r.Loud != loud {
		t.Errorf("%s: remark %q there: %v, loud: %v; want it, loud: %v", m.Component, code, ok, r.Loud, loud)
	}
}

// silent fails where a mean has a remark that does not belong to it.
func silent(t testing.TB, m *monitor.Mean, code string) {
	t.Helper()
	if r, ok := remark(m, code); ok {
		t.Errorf("%s: unwanted remark %q", m.Component, r.Text)
	}
}
