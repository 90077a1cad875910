package schema_test

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"clipledger/schema"
	"clipledger/schema/ledgertest"
)

func class(line int, lower, upper float64, label string) schema.ClassBound {
	b := schema.ClassBound{Line: line, Scheme: "s", Component: "production", LowerG: lower, UpperG: schema.Some(upper), Basis: schema.AirDry, Label: label}
	if upper == 0 {
		b.UpperG = schema.Num{}
	}
	return b
}

func point(line, day int, pct float64) schema.CurvePoint {
	return schema.CurvePoint{Line: line, Curve: "c", DayOfYear: day, Pct: pct}
}

// classesIn lists the classes as the reader gives them.
func classesIn(t *testing.T, path string) string {
	t.Helper()
	var out []string
	ledgertest.Read(t, path, func(s *schema.Snapshot) error {
		list, err := s.ClassBounds("s")
		for _, b := range list {
			out = append(out, fmt.Sprintf("%s %.4g-%.4g", b.Label, b.LowerG, b.UpperG.Float64))
		}
		return err
	})
	return strings.Join(out, ", ")
}

// What a ledger that holds two classes makes of other rows of the scheme.
func TestClassesStandAsASet(t *testing.T) {
	held := ledgertest.Records{Classes: []schema.ClassBound{class(2, 0, 30, "low"), class(3, 30, 70, "middle")}}
	for name, c := range map[string]struct {
		rows     []schema.ClassBound
		want     string // of the classes; "" where it is refused
		problem  string
		replaced string // with --replace; "" where that is refused too
	}{
		"the same":          {[]schema.ClassBound{class(2, 0, 30, "low")}, "low 0-30, middle 30-70", "", ""},
		"on top":            {[]schema.ClassBound{class(2, 70, 0, "high")}, "low 0-30, middle 30-70, high 70-0", "", ""},
		"within rounding":   {[]schema.ClassBound{class(2, 70*(1+1e-12), 0, "high")}, "low 0-30, middle 30-70, high 70-0", "", ""},
		"with a gap":        {[]schema.ClassBound{class(2, 71, 0, "high")}, "", "there is a gap between the classes \"middle\" and \"high\" (import 2, classes.csv line 3)", ""},
		"another label":     {[]schema.ClassBound{class(2, 0, 30, "poor")}, "", `column label: "poor": the ledger holds "low" (import 2, classes.csv line 2)`, "poor 0-30, middle 30-70"},
		"a bound moved":     {[]schema.ClassBound{class(2, 0, 40, "low")}, "", "overlap", ""},
		"another scheme":    {[]schema.ClassBound{class(2, 0, 40, "low"), class(3, 40, 0, "high")}, "", "overlap", "low 0-40, high 40-0"},
		"one for all":       {[]schema.ClassBound{class(2, 0, 0, "any")}, "", `the class "any" has no upper bound`, "any 0-0"},
		"short of the last": {[]schema.ClassBound{class(2, 0, 40, "low"), class(3, 40, 60, "high")}, "", "overlap", ""},
		"below the others":  {[]schema.ClassBound{class(2, 0, 20, "poor"), class(3, 20, 30, "fair")}, "", `column upper: "20": the ledger holds "30"`, "poor 0-20, fair 20-30, middle 30-70"},
		"opened":            {[]schema.ClassBound{class(2, 30, 0, "middle")}, "", `column upper: "none": the ledger holds "70" (import 2, classes.csv line 3)`, "low 0-30, middle 30-0"},
	} {
		t.Run(name, func(t *testing.T) {
			for _, replace := range []bool{false, true} {
				path := ledgertest.Path(t, held)
				before := digest(t, path)
				problems := ledgertest.Import(t, path, ledgertest.Records{Classes: c.rows, Replace: replace})
				want := c.want
				if replace && c.want == "" {
					want = c.replaced
				}
				if want == "" {
					if len(problems) < len(c.rows) || !strings.Contains(fmt.Sprint(problems), c.problem) || digest(t, path) != before {
						t.Errorf("replace %v: problems %v, want %s", replace, problems, c.problem)
					}
					continue
				}
				if got := classesIn(t, path); len(problems) > 0 || got != want {
					t.Errorf("replace %v: %s (%v), want %s", replace, got, problems, want)
				}
			}
		})
	}
}

// Bounds come back on the ledger's basis.
func TestClassBoundsOnTheLedgersBasis(t *testing.T) {
	oven := class(2, 9, 18, "low")
	oven.Basis = schema.OvenDry
	path := ledgertest.Path(t, ledgertest.Records{Classes: []schema.ClassBound{oven}})
	if got := classesIn(t, path); got != "low 10-20" { // 9 / (1 - 0.10)
		t.Errorf("bounds %s, want 10 to 20 air-dry", got)
	}
}

// A curve comes back in the order of growth; what is no curve is refused.
func TestGrowthCurves(t *testing.T) {
	for name, c := range map[string]struct {
		points []schema.CurvePoint
		want   string
	}{
		"of a summer":           {[]schema.CurvePoint{point(2, 200, 100), point(3, 60, 0), point(4, 120, 50)}, "60 120 200"},
		"flat for a while":      {[]schema.CurvePoint{point(2, 60, 0), point(3, 120, 50), point(4, 150, 50), point(5, 200, 100)}, "60 120 150 200"},
		"complete early":        {[]schema.CurvePoint{point(2, 60, 0), point(3, 120, 100), point(4, 300, 100)}, "60 120 300"},
		"over the new year":     {[]schema.CurvePoint{point(2, 30, 60), point(3, 120, 100), point(4, 280, 0), point(5, 365, 40)}, "280 365 30 120"},
		"that falls":            {[]schema.CurvePoint{point(2, 60, 0), point(3, 120, 50), point(4, 150, 40), point(5, 200, 100)}, ""},
		"that ends early":       {[]schema.CurvePoint{point(2, 60, 0), point(3, 120, 96)}, ""},
		"of one point":          {[]schema.CurvePoint{point(2, 60, 100)}, ""},
		"that falls to the new": {[]schema.CurvePoint{point(2, 30, 60), point(3, 120, 100), point(4, 280, 0), point(5, 365, 70)}, ""},
	} {
		t.Run(name, func(t *testing.T) {
			path := filepath.Join(t.TempDir(), "c.db")
			problems := ledgertest.Import(t, path, ledgertest.Records{Curves: c.points})
			if c.want == "" {
				if len(problems) != len(c.points) {
					t.Errorf("problems %v, want one for each row", problems)
				}
				return
			}
			var days []string
			ledgertest.Read(t, path, func(s *schema.Snapshot) error {
				list, err := s.GrowthCurve("c")
				for _, p := range list {
					days = append(days, fmt.Sprint(p.DayOfYear))
				}
				return err
			})
			if got := strings.Join(days, " "); len(problems) > 0 || got != c.want {
				t.Errorf("days %s (%v), want %s", got, problems, c.want)
			}
		})
	}
}

// Two ledgers that hold another scheme, curve, estimate, transect or event
// under one name: both values are named, and --replace takes the other's.
func TestMergeConflictsOfOtherKinds(t *testing.T) {
	ours := ledgertest.Records{Classes: []schema.ClassBound{class(2, 0, 30, "low"), class(3, 30, 0, "high")}, Curves: []schema.CurvePoint{point(2, 60, 0), point(3, 100, 50), point(4, 200, 100)},
		Estimates: []schema.Estimate{eye("1", "Wren", 12)}, Transects: []schema.TransectPlace{{Line: 2, Site: "A", Transect: "1", Bearing: schema.Some(90)}},
		Events: []schema.Event{{Line: 2, Site: "A", Start: "2020-05-01", Kind: "fire", Note: "small"}}}
	for name, c := range map[string]struct {
		theirs ledgertest.Records
		word   string
	}{
		"scheme":   {ledgertest.Records{Classes: []schema.ClassBound{class(2, 0, 40, "low"), class(3, 40, 0, "high")}}, `scheme "s" for production: the classes "low" and "high" overlap`},
		"label":    {ledgertest.Records{Classes: []schema.ClassBound{class(2, 0, 30, "poor"), class(3, 30, 0, "high")}}, `column label: "poor": the ledger holds "low" (import 3`},
		"curve":    {ledgertest.Records{Curves: []schema.CurvePoint{point(2, 60, 0), point(3, 110, 50), point(4, 200, 100)}}, `growth curve "c": the ledger holds it with other points`},
		"percent":  {ledgertest.Records{Curves: []schema.CurvePoint{point(2, 60, 0), point(3, 100, 55), point(4, 200, 100)}}, `column cumulative_pct: "55"`},
		"estimate": {eyes(eye("1", "Wren", 13)), `site A 2020 peak, transect 1, frame 1, estimate of herbaceous by Wren: the ledger holds "12"`},
		"transect": {ledgertest.Records{Transects: []schema.TransectPlace{{Line: 2, Site: "A", Transect: "1", Bearing: schema.Some(95)}}}, `column bearing: "95": transect 1: the ledger holds "90"`},
		"event":    {ledgertest.Records{Events: []schema.Event{{Line: 2, Site: "A", Start: "2020-05-01", Kind: "fire", Note: "large"}}}, `column note: "large": event 2020-05-01 fire: the ledger holds "small"`},
	} {
		t.Run(name, func(t *testing.T) {
			path, other := ledgertest.Path(t, ours), ledgertest.Path(t, c.theirs)
			before := mustReadFile(t, path)
			problems, _ := mergeInto(t, path, schema.MergeOptions{}, other)
			if len(problems) == 0 || !strings.Contains(fmt.Sprint(problems), c.word) {
				t.Errorf("problems %v\nwant %s", problems, c.word)
			}
			if string(mustReadFile(t, path)) != string(before) {
				t.Error("the refused merge changed the file")
			}
			if p, _ := mergeInto(t, path, schema.MergeOptions{Replace: true}, other); len(p) > 0 {
				t.Fatalf("with --replace: %v", p)
			}
			twice := digest(t, path)
			if p, sum := mergeInto(t, path, schema.MergeOptions{}, other); len(p) > 0 || sum.Added+sum.Changed > 0 || digest(t, path) != twice {
				t.Errorf("merged again: %v %+v", p, sum)
			}
		})
	}
	// A prefix goes before the sites of transects, events and estimates.
	path := filepath.Join(t.TempDir(), "new.db")
	if p, _ := mergeInto(t, path, schema.MergeOptions{Prefix: "N-"}, ledgertest.Path(t, ours)); len(p) > 0 {
		t.Fatal(p)
	}
	if _, err := os.Stat(path); err != nil {
		t.Fatal(err)
	}
	if got := query[string](t, path, `SELECT (SELECT site FROM transect JOIN site USING(site_id)) || (SELECT site FROM event JOIN site USING(site_id)) ||
		(SELECT site FROM estimate JOIN visit v USING(visit_id) JOIN occasion o ON o.occasion_id = v.occasion_id JOIN site USING(site_id))`); got != "N-AN-AN-A" {
		t.Errorf("sites %s", got)
	}
}

// Each of the kinds leaves its old values in the history, in words.
func TestHistoryOfOtherKinds(t *testing.T) {
	path := ledgertest.Path(t, ledgertest.Records{Transects: []schema.TransectPlace{{Line: 2, Site: "A", Transect: "1", Bearing: schema.Some(90)}},
		Events:  []schema.Event{{Line: 2, Site: "A", Start: "2020-05-01", Kind: "fire"}, {Line: 3, Stratum: "low", Start: "2020-05-01", Kind: "fire", Note: "x"}},
		Classes: []schema.ClassBound{class(2, 0, 30, "low")}, Curves: []schema.CurvePoint{point(2, 60, 0), point(3, 200, 100)}})
	if p := ledgertest.Import(t, path, ledgertest.Records{Replace: true, Transects: []schema.TransectPlace{{Line: 2, Site: "A", Transect: "1", Bearing: schema.Some(95)}},
		Events:  []schema.Event{{Line: 2, Site: "A", Start: "2020-05-01", Kind: "fire", End: "2020-05-02"}, {Line: 3, Stratum: "low", Start: "2020-05-01", Kind: "fire", Note: "y"}},
		Classes: []schema.ClassBound{class(2, 0, 30, "poor")}, Curves: []schema.CurvePoint{point(2, 60, 5), point(3, 200, 100)}}); len(p) > 0 {
		t.Fatal(p)
	}
	got := strings.Join(keyedChanges(t, path), "\n")
	for _, want := range []string{"transect A 1 bearing: 90 -> 95", "event A 2020-05-01 fire finish:  -> 2020-05-02", "event low 2020-05-01 fire note: x -> y",
		"class_bound s production 0 label: low -> poor", "growth_curve c 60 cumulative_pct: 0 -> 5"} {
		if !strings.Contains(got, want) {
			t.Errorf("the history lacks %q:\n%s", want, got)
		}
	}
	ledgertest.Read(t, path, func(s *schema.Snapshot) error {
		all, err := s.Events(schema.EventFilter{})
		if err != nil || len(all) != 2 {
			t.Errorf("events %+v (%v), want two", all, err)
		}
		low, err := s.Events(schema.EventFilter{Strata: []string{"low"}})
		if err != nil || len(low) != 1 || low[0].Stratum != "low" || low[0].Site != "" {
			t.Errorf("events of the stratum %+v (%v)", low, err)
		}
		places, err := s.TransectPlaces(0)
		if err != nil || len(places) != 1 || places[0].Bearing != schema.Some(95) {
			t.Errorf("transects %+v (%v)", places, err)
		}
		return err
	})
}
