package monitor_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"clipledger/monitor"
	"clipledger/schema"
	"clipledger/schema/ledgertest"
)

// estimated is the decade with two observers who guess every frame of 2015 to
// 2020 a tenth too high or too low, and ten frames a year beside them.
func estimated(change func(*ledgertest.Records)) ledgertest.Records {
	r := decade()
	for _, c := range r.Clippings {
		if c.Date < "2015" {
			continue
		}
		for i, observer := range []string{"Wren", "Tolly"} {
			r.Estimates = append(r.Estimates, schema.Estimate{Site: "A", Date: c.Date, Frame: c.Frame, Component: schema.Herbaceous, Observer: observer,
				G: c.GreenG.Float64 * []float64{1.1, 0.9}[i]},
				schema.Estimate{Site: "A", Date: c.Date, Frame: "only estimated " + c.Frame, Component: schema.Herbaceous, Observer: observer, G: 30})
		}
	}
	change(&r)
	return r
}

func TestEstimatesAsTheyShouldBeRaiseNothing(t *testing.T) {
	for _, f := range findingsAt(t, ledgertest.Path(t, estimated(func(*ledgertest.Records) {})), monitor.Filter{}) {
		t.Errorf("%s %s: %s", f.Severity, f.Check, f.Found)
	}
}

func TestChecksOfEstimates(t *testing.T) {
	for _, c := range []struct {
		name, check, year, words string
		change                   func(*ledgertest.Records)
	}{
		{"ten times", "estimate-slip", "2015", "A 2015 peak frame 1 herbaceous estimate by Wren (estimates.csv line 2)", func(r *ledgertest.Records) { r.Estimates[0].G *= 10 }},
		{"a tenth", "estimate-slip", "2015", "frame 1 herbaceous estimate by Tolly", func(r *ledgertest.Records) { r.Estimates[2].G /= 10 }},
		{"a wrong eye", "estimate-slip", "", "", func(r *ledgertest.Records) { r.Estimates[0].G *= 4 }},
		{"always ten times", "estimate-slip", "", "", func(r *ledgertest.Records) { // a matter of calibration
			for i := range r.Estimates {
				r.Estimates[i].G *= 10
			}
		}},
		{"not looked for", "estimate-not-looked-for", "2015", "frame 1 litter estimate by Wren", func(r *ledgertest.Records) { r.Estimates[0].Component = schema.Litter }},
		{"looked for and not found", "estimate-not-looked-for", "", "", func(r *ledgertest.Records) { r.Estimates[0].Component = schema.Browse }},
		{"not clipped at all", "estimate-not-looked-for", "", "", func(r *ledgertest.Records) { r.Estimates[1].Component = schema.Litter }},
	} {
		t.Run(c.name, func(t *testing.T) {
			found := findingsOf(t, c.check, estimated(c.change))
			if c.year == "" {
				if len(found) > 0 {
					t.Errorf("found %+v", found)
				}
				return
			}
			if len(found) != 1 || found[0].YearsText() != c.year || found[0].Severity != monitor.Look || !strings.Contains(found[0].RecordsText(9), c.words) {
				t.Errorf("found %+v, want one of %s in %s", found, c.words, c.year)
			}
		})
	}
}

func TestCheckOfSiteNames(t *testing.T) {
	named := plant(func(r *ledgertest.Records) {
		r.Sites[0].ClassScheme, r.Sites[0].GrowthCurve, r.Sites[0].Station = "classes", "early", "LOW"
	})
	var found []string
	for _, f := range findingsOf(t, "site-names-unknown", named) {
		found = append(found, f.Found)
	}
	slices.Sort(found)
	want := []string{`the site names the class scheme "classes", of which the ledger holds nothing`, `the site names the growth curve "early", of which the ledger holds nothing`,
		`the site names the rain gauge "LOW", of which the ledger holds nothing`}
	if !slices.Equal(found, want) {
		t.Errorf("found %q", found)
	}
	has := ledgertest.Records{Classes: []schema.ClassBound{{Line: 2, Scheme: "classes", Component: "production", Label: "any"}},
		Curves: []schema.CurvePoint{{Line: 2, Curve: "early", DayOfYear: 60}, {Line: 3, Curve: "early", DayOfYear: 200, Pct: 100}}}
	if left := findingsOf(t, "site-names-unknown", named, has); len(left) != 1 {
		t.Errorf("with both there: %+v, want the rain gauge alone", left)
	}
}

// What is said of the record, means and findings, is the same with estimates
// of clipped frames, of frames beside them and of occasions nobody clipped.
func TestEstimatesChangeNoMeanAndNoFinding(t *testing.T) {
	w := newWorld(3)
	clipped := w.Records()
	var list []schema.Estimate
	for i, c := range w.Clippings {
		if c.Component == schema.NoComponent || i%2 > 0 {
			continue
		}
		e := schema.Estimate{Site: c.Site, Date: c.Date, Year: c.Year, Season: c.Season, Transect: c.Transect, Frame: c.Frame, Caged: c.Caged, Component: schema.Herbaceous,
			Observer: fmt.Sprint("Wren ", i), G: float64(i % 50), FrameType: "1 m2"}
		list = append(list, e)
		e.Frame, e.Component = "only estimated", schema.Browse
		list = append(list, e)
		e.Year, e.Date = 2040, "" // years after all others
		e.Transect = "T99"
		list = append(list, e)
	}
	if len(list) < 300 {
		t.Fatalf("only %d estimates", len(list))
	}
	eyes := ledgertest.Records{Estimates: list}
	alone, after, before := ledgertest.Path(t, clipped...), ledgertest.Path(t, append(slices.Clone(clipped), eyes)...), ledgertest.Path(t, append([]ledgertest.Records{eyes}, clipped...)...)
	want := saidOf(t, alone)
	if len(want) < 100 {
		t.Fatalf("only %d lines are compared", len(want))
	}
	for name, path := range map[string]string{"after": after, "before": before} {
		got := saidOf(t, path)
		for i := range want {
			if i >= len(got) || got[i] != want[i] {
				t.Fatalf("estimates %s, line %d:\ngot  %s\nwant %s", name, i, got[min(i, len(got)-1)], want[i])
			}
		}
		if len(got) != len(want) {
			t.Errorf("estimates %s: %d lines, want %d", name, len(got), len(want))
		}
	}
}

// saidOf lists all means, whole and split, and all findings, apart from those
// of estimates.
func saidOf(t *testing.T, path string) []string {
	t.Helper()
	var out []string
	ledgertest.Read(t, path, func(s *schema.Snapshot) error {
		for _, by := range append([]string{""}, monitor.ByWords...) {
			err := monitor.Means(s, monitor.Query{By: by}, func(m *monitor.Mean) error {
				line := fmt.Sprint(by, m.Site.Site, m.Year, m.Season, m.Component, m.Group, m.N, m.Mean, m.SD, m.CI, m.ZerosInfer, m.Missing, m.Remarks)
				out = append(out, line)
				return nil
			})
			if err != nil {
				return err
			}
		}
		found, err := monitor.Check(s, monitor.Filter{})
		for _, f := range found {
			if !strings.HasPrefix(f.Check, "estimate-") {
				out = append(out, fmt.Sprint(f.ID, f.Severity, f.Check, f.YearsText(), f.Found))
			}
		}
		return err
	})
	return out
}
