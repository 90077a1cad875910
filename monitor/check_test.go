package monitor_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"time"

	"clipledger/monitor"
	"clipledger/schema"
	"clipledger/schema/ledgertest"
)

// findingsAt runs the checks on a ledger.
func findingsAt(t testing.TB, path string, filter monitor.Filter) []monitor.Finding {
	t.Helper()
	var out []monitor.Finding
	ledgertest.Read(t, path, func(s *schema.Snapshot) error {
		var err error
		out, err = monitor.Check(s, filter)
		return err
	})
	return out
}

// findingsOf runs the checks on records and keeps the findings of one check.
func findingsOf(t testing.TB, check string, batches ...ledgertest.Records) []monitor.Finding {
	t.Helper()
	return slices.DeleteFunc(findingsAt(t, ledgertest.Path(t, batches...), monitor.Filter{}), func(f monitor.Finding) bool { return f.Check != check })
}

// decade is a site as it should be: ten years of eight frames on one line,
// with weights that differ as plants do, green and dry, and dates in July.
func decade() ledgertest.Records {
	rng := rand.New(rand.NewPCG(7, 8))
	r := ledgertest.Records{Sites: []schema.Site{{Site: "A", SamplingUnit: "frame", Placement: "same", Components: declared("herbaceous;browse")}},
		Species: []schema.Species{{Code: "POA1", GrowthForm: "grass-cool", Component: schema.Herbaceous}}}
	for year := 2011; year <= 2020; year++ {
		for frame := range 8 {
			green := math.Round(10*40*math.Exp(0.3*rng.NormFloat64())) / 10
			r.Clippings = append(r.Clippings, schema.Clipping{Site: "A", Date: fmt.Sprintf("%d-07-%02d", year, 5+year%9), Frame: fmt.Sprint(frame + 1), FrameType: "1 m2",
				Component: schema.Herbaceous, Species: "POA1", GreenG: schema.Some(green), DryG: schema.Some(math.Round(10*green*(0.45+0.03*rng.NormFloat64())) / 10),
				Basis: schema.AirDry, EdgeRule: "rooted", ClipHeightCM: schema.Some(1), Observer: "Wren"})
		}
	}
	return r
}

// at is frame 3 of 2015 of the decade.
const at = 4*8 + 2

// plant changes the decade.
func plant(change func(r *ledgertest.Records)) ledgertest.Records {
	r := decade()
	change(&r)
	return r
}

// eachOf changes every row of one year.
func eachOf(year int, change func(c *schema.Clipping)) func(*ledgertest.Records) {
	return func(r *ledgertest.Records) {
		for i := range r.Clippings {
			if strings.HasPrefix(r.Clippings[i].Date, fmt.Sprint(year)) {
				change(&r.Clippings[i])
			}
		}
	}
}

// A clean record raises nothing.
func TestCleanDecadeRaisesNothing(t *testing.T) {
	for _, f := range findingsAt(t, ledgertest.Path(t, decade()), monitor.Filter{}) {
		t.Errorf("%s %s: %s", f.Severity, f.Check, f.Found)
	}
}

// Every check finds what was planted for it, in the year and with the
// severity expected, and names the record; on the clean decade none of them
// finds anything, as the test above holds.
func TestChecksFindWhatWasPlanted(t *testing.T) {
	row := func(change func(c *schema.Clipping)) func(*ledgertest.Records) {
		return func(r *ledgertest.Records) { change(&r.Clippings[at]) }
	}
	for _, c := range []struct {
		name, check string
		severity    monitor.Severity
		years       string
		word        string // of what was found or of its records
		change      func(*ledgertest.Records)
	}{
		{"more dry than green", "dry-above-green", monitor.Serious, "2015", "frame 3 herbaceous POA1 (clippings.csv line 36)",
			row(func(c *schema.Clipping) { c.GreenG, c.DryG = c.DryG, c.GreenG })},
		{"more dry than green on the ledger's basis only", "dry-above-green", monitor.Look, "2015", "on the ledger's basis",
			row(func(c *schema.Clipping) {
				c.GreenG, c.DryG, c.Basis = schema.Some(40), schema.Some(38), schema.OvenDry
			})},
		{"drying sample with more dry than green", "dry-above-green", monitor.Serious, "2015", "drying sample of herbaceous", func(r *ledgertest.Records) {
			r.Drying = []schema.Drying{{Site: "A", Year: 2015, Season: "peak", Component: schema.Herbaceous, GreenG: 40, DryG: 41, Line: 2}}
		}},
		{"hardly any dry weight", "fraction-range", monitor.Serious, "2015", "4.0 % dry matter",
			row(func(c *schema.Clipping) { c.GreenG, c.DryG = schema.Some(50), schema.Some(2) })},
		{"hardly any percent", "fraction-range", monitor.Serious, "2015", "the row says 4 %",
			row(func(c *schema.Clipping) { c.DryG, c.DMPct = schema.Num{}, schema.Some(4) })},
		{"a bag not dried", "fraction-far", monitor.Look, "2015", "frame 3", row(func(c *schema.Clipping) { c.DryG = schema.Some(0.9 * c.GreenG.Float64) })},
		{"a sample not dried", "fraction-far", monitor.Look, "2015", "drying.csv line 2", func(r *ledgertest.Records) {
			r.Drying = []schema.Drying{{Site: "A", Year: 2015, Season: "peak", Component: schema.Herbaceous, Species: "POA1", GreenG: 40, DryG: 36, Line: 2}}
		}},
		{"percent beside weights", "percent-conflict", monitor.Look, "2015", "the row says 60 %", row(func(c *schema.Clipping) { c.DMPct = schema.Some(60) })},
		{"no basis", "no-dry-matter-basis", monitor.Serious, "2015", "1 bag has", row(func(c *schema.Clipping) { c.DryG = schema.Num{} })},
		{"slipped decimal", "weight-outlier", monitor.Look, "2015", "heavier", row(func(c *schema.Clipping) {
			c.GreenG, c.DryG = schema.Some(10*c.GreenG.Float64), schema.Some(10*c.DryG.Float64)
		})},
		{"slipped the other way", "weight-outlier", monitor.Look, "2015", "lighter", row(func(c *schema.Clipping) {
			c.GreenG, c.DryG = schema.Some(c.GreenG.Float64/10), schema.Some(c.DryG.Float64/10)
		})},
		{"a permanent frame missing", "frames-missing", monitor.Look, "2015", "frame 3",
			func(r *ledgertest.Records) { r.Clippings = slices.Delete(r.Clippings, at, at+1) }},
		{"a permanent frame missing in the latest year", "frames-missing", monitor.Look, "2020", "frame 8",
			func(r *ledgertest.Records) { r.Clippings = r.Clippings[:len(r.Clippings)-1] }},
		{"few frames", "frames-missing", monitor.Look, "2015", "3 frames", func(r *ledgertest.Records) {
			r.Sites[0].Placement = "new"
			r.Clippings = slices.Delete(r.Clippings, 4*8+3, 5*8)
		}},
		{"another frame from 2015 on", "frame-changed", monitor.Look, "2015", "1 m2 (2011–2014), 0.5 m2 (2015–2020)", func(r *ledgertest.Records) {
			for year := 2015; year <= 2020; year++ {
				eachOf(year, func(c *schema.Clipping) { c.FrameType = "0.5 m2" })(r)
			}
		}},
		{"another rule in one year", "edge-rule-changed", monitor.Look, "2015..2016", "above (2015)", eachOf(2015, func(c *schema.Clipping) { c.EdgeRule = "above" })},
		{"another rule in one frame", "edge-rule-changed", monitor.Look, "2015..2016", "above and rooted (2015)", row(func(c *schema.Clipping) { c.EdgeRule = "above" })},
		{"another height", "height-changed", monitor.Look, "2015..2016", "3 cm", eachOf(2015, func(c *schema.Clipping) { c.ClipHeightCM = schema.Some(3) })},
		{"another observer", "observer-changed", monitor.Note, "2015..2016", "Tolly", eachOf(2015, func(c *schema.Clipping) { c.Observer = "Tolly" })},
		{"cages in one year", "caging-changed", monitor.Note, "2015..2016", "caged (2015)", eachOf(2015, func(c *schema.Clipping) { c.Caged = true })},
		{"a frame type once", "frame-type-once", monitor.Look, "2015", "0.5 m2", row(func(c *schema.Clipping) { c.FrameType = "0.5 m2" })},
		{"a shrub's code in a herbaceous bag", "species-component", monitor.Look, "2015", "SAGE1 was bagged as herbaceous; it is declared as browse", func(r *ledgertest.Records) {
			r.Species = append(r.Species, schema.Species{Code: "SAGE1", Component: schema.Browse})
			r.Clippings[at].Species = "SAGE1"
		}},
		{"an undeclared species that is elsewhere herbaceous", "species-component", monitor.Look, "2015", "herbaceous in 79 of its 80 bags", func(r *ledgertest.Records) {
			r.Species = nil
			r.Clippings[at].Component = schema.Browse
		}},
		{"a date months away", "date-within-occasion", monitor.Look, "2015", "1 frame dated", row(func(c *schema.Clipping) { c.Date = "2015-11-13" })},
		{"a year clipped in September", "date-between-years", monitor.Look, "2015", "later in the year",
			eachOf(2015, func(c *schema.Clipping) { c.Date = "2015-09-20" })},
		{"browse from 2014 to 2016 only", "declare-component", monitor.Look, "2011..2013 2017..2020", "browse", func(r *ledgertest.Records) {
			r.Sites[0].Components = nil
			for year := 2014; year <= 2016; year++ {
				r.Clippings = append(r.Clippings, schema.Clipping{Site: "A", Date: fmt.Sprintf("%d-07-10", year), Frame: "1", FrameType: "1 m2", Component: schema.Browse, DryG: schema.Some(9)})
			}
		}},
		{"litter in one year only", "declare-component", monitor.Note, "2011..2014 2016..2020", "litter", func(r *ledgertest.Records) {
			r.Sites[0].Components = nil
			r.Clippings = append(r.Clippings, schema.Clipping{Site: "A", Date: "2015-07-10", Frame: "1", FrameType: "1 m2", Component: schema.Litter, DryG: schema.Some(9)})
		}},
		{"book values", "book-values", monitor.Note, "2015", "100 %",
			eachOf(2015, func(c *schema.Clipping) { c.DryG, c.Stage = schema.Num{}, "heading" })},
		{"two frames", "few-units", monitor.Note, "2015", "2 sampling units", func(r *ledgertest.Records) {
			r.Clippings = slices.Delete(r.Clippings, 4*8+2, 5*8)
			for i := range r.Clippings {
				r.Clippings[i].ComponentsSampled = schema.Herbaceous.Bit()
			}
		}},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			found := findingsOf(t, c.check, plant(c.change))
			i := slices.IndexFunc(found, func(f monitor.Finding) bool {
				return f.Severity == c.severity && f.YearsText() == c.years && strings.Contains(f.Found+" "+f.RecordsText(50), c.word)
			})
			if i < 0 {
				t.Fatalf("not found; %s gave %d findings", c.check, len(found))
				return
			}
			f := found[i]
			if len(f.ID) != 11 || f.Site.Site != "A" || f.Season != "peak" || len(f.Records) == 0 || f.Why == "" || f.Do == "" {
				t.Errorf("finding lacks something: %+v", f)
			}
			for _, other := range found {
				if other.ID != f.ID {
					t.Errorf("%s also found: %s", c.check, other.Found)
				}
			}
		})
	}
}

// What looks like a fault and is none.
func TestChecksLeaveTheUsualAlone(t *testing.T) {
	for _, c := range []struct {
		name, check string
		change      func(*ledgertest.Records)
	}{
		{"a dry year", "fraction-far", eachOf(2015, func(c *schema.Clipping) { c.DryG = schema.Some(math.Round(8*c.GreenG.Float64) / 10) })},
		{"a gram of dry in a gram of green", "fraction-far", func(r *ledgertest.Records) {
			r.Clippings[at].GreenG, r.Clippings[at].DryG = schema.Some(1), schema.Some(1)
		}},
		{"a bad year", "weight-outlier", eachOf(2015, func(c *schema.Clipping) {
			c.GreenG, c.DryG = schema.Some(c.GreenG.Float64/10), schema.Some(c.DryG.Float64/10)
		})},
		{"a permanent frame given up", "frames-missing", func(r *ledgertest.Records) {
			r.Clippings = slices.DeleteFunc(r.Clippings, func(c schema.Clipping) bool { return c.Frame == "8" && c.Date > "2018" })
		}},
		{"a lost bag", "frames-missing", func(r *ledgertest.Records) {
			c := &r.Clippings[at]
			c.GreenG, c.DryG, c.Status = schema.Num{}, schema.Num{}, schema.StatusLost
		}},
		{"the frame changed in the latest year", "frame-type-once", eachOf(2020, func(c *schema.Clipping) { c.FrameType = "0.5 m2" })},
		{"a crew of two weeks", "date-within-occasion", func(r *ledgertest.Records) { r.Clippings[at].Date = "2015-07-25" }},
		{"standing dead of a grass", "species-component", func(r *ledgertest.Records) { r.Clippings[at].Component = schema.StandingDead }},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			for _, f := range findingsOf(t, c.check, plant(c.change)) {
				t.Errorf("%s: %s", f.Check, f.Found)
			}
		})
	}
}

// Labels shared by plots that usually stand apart.
func TestFrameTypesUnderOneLabel(t *testing.T) {
	plots := func(shared int) ledgertest.Records {
		r := ledgertest.Records{Sites: siteA("herbaceous;browse")}
		for frame := range 6 {
			r.Clippings = append(r.Clippings, schema.Clipping{Site: "A", Year: 2020, Frame: fmt.Sprint(frame), FrameType: "1 m2", Component: schema.Herbaceous, DryG: schema.Some(10)})
			label := fmt.Sprint("P", frame)
			if frame < shared {
				label = fmt.Sprint(frame)
			}
			r.Clippings = append(r.Clippings, schema.Clipping{Site: "A", Year: 2020, Frame: label, FrameType: "4 m2", Component: schema.Browse, DryG: schema.Some(10)})
		}
		return r
	}
	for shared, want := range map[int]int{0: 0, 1: 1, 6: 0} { // six of six are nested plots
		if got := len(findingsOf(t, "frame-types-share-label", plots(shared))); got != want {
			t.Errorf("%d of 6 labels shared: %d findings, want %d", shared, got, want)
		}
	}
}

// A finding keeps its ID over a second import and when other years come, and
// gets another when its values change.
func TestFindingIDs(t *testing.T) {
	const check = "fraction-far"
	undried := plant(func(r *ledgertest.Records) {
		r.Clippings[at].GreenG, r.Clippings[at].DryG = schema.Some(40), schema.Some(38)
	})
	path := ledgertest.Path(t, undried, undried)
	idOf := func() string {
		for _, f := range findingsAt(t, path, monitor.Filter{}) {
			if f.Check == check {
				return f.ID
			}
		}
		return ""
	}
	first := idOf()
	if first == "" {
		t.Fatal("nothing found")
	}
	more := decade()
	more.Clippings = []schema.Clipping{{Site: "A", Date: "2021-07-09", Frame: "1", FrameType: "1 m2", Component: schema.Herbaceous, DryG: schema.Some(9)}}
	more.Sites, more.Species = nil, nil
	if p := ledgertest.Import(t, path, more); len(p) > 0 {
		t.Fatal(p)
	}
	if got := idOf(); got != first {
		t.Errorf("ID %s after another year, want %s", got, first)
	}
	undried.Clippings[at].DryG = schema.Some(37)
	undried.Replace = true
	if p := ledgertest.Import(t, path, undried); len(p) > 0 {
		t.Fatal(p)
	}
	if got := idOf(); got == first || got == "" {
		t.Errorf("ID %q after the weight changed, want another than %s", got, first)
	}
}

// The filter chooses findings; it does not change what they are judged by.
func TestCheckFilter(t *testing.T) {
	path := ledgertest.Path(t, plant(func(r *ledgertest.Records) {
		r.Clippings[at].GreenG, r.Clippings[at].DryG = schema.Some(400), schema.Some(180)
		r.Sites[0].Stratum = "Hills"
	}))
	all := findingsAt(t, path, monitor.Filter{})
	if len(all) != 1 {
		t.Fatalf("%d findings, want the outlier", len(all))
	}
	for _, c := range []struct {
		filter monitor.Filter
		want   int
	}{
		{monitor.Filter{FirstYear: 2015, LastYear: 2015}, 1}, {monitor.Filter{FirstYear: 2016}, 0}, {monitor.Filter{Sites: []string{"B*"}}, 0},
		{monitor.Filter{Strata: []string{"H*"}}, 1}, {monitor.Filter{Seasons: []string{"fall"}}, 0}, {monitor.Filter{Components: []string{"herbaceous"}}, 1},
		{monitor.Filter{Components: []string{"production"}}, 1}, {monitor.Filter{Components: []string{"browse"}}, 0},
	} {
		found := findingsAt(t, path, c.filter)
		if len(found) != c.want || len(found) == 1 && found[0].ID != all[0].ID {
			t.Errorf("%+v: %d findings, want %d", c.filter, len(found), c.want)
		}
	}
}

// False alarms of all checks to look at, on clean sites as files bring them:
// the share of frames that raise one.
func TestFalseAlarmsOnCleanSites(t *testing.T) {
	rng := rand.New(rand.NewPCG(8, 9))
	var r ledgertest.Records
	const sites, years, frames = 40, 10, 10
	for s := range sites {
		name := fmt.Sprintf("S%02d", s)
		r.Sites = append(r.Sites, schema.Site{Site: name, SamplingUnit: "frame", Placement: "new", Components: declared("herbaceous")})
		for year := 2011; year < 2011+years; year++ {
			level, fraction := 40*math.Exp(0.4*rng.NormFloat64()), 0.5+0.06*rng.NormFloat64()
			day := time.Date(year, time.July, 10+int(6*rng.NormFloat64()), 0, 0, 0, 0, time.UTC).Format(time.DateOnly)
			for f := range frames {
				green := math.Round(10*level*math.Exp(0.5545*rng.NormFloat64())) / 10
				dry := math.Round(10*green*(fraction+0.04*rng.NormFloat64())) / 10
				r.Clippings = append(r.Clippings, schema.Clipping{Site: name, Year: year, Date: day, Frame: fmt.Sprint(f), FrameType: "1 m2",
					Component: schema.Herbaceous, GreenG: schema.Some(green + 0.1), DryG: schema.Some(dry + 0.1)})
			}
		}
	}
	counts := map[string]int{}
	for _, f := range findingsAt(t, ledgertest.Path(t, r), monitor.Filter{}) {
		counts[f.Check]++
		if f.Severity == monitor.Serious {
			t.Errorf("serious: %s", f.Found)
		}
	}
	t.Logf("in %d clean frames: %v", sites*years*frames, counts)
	// One in 5,000 frames would be 0.8; four and more come by chance once in a hundred.
	for check, n := range counts {
		if n > 3 {
			t.Errorf("%s: %d false alarms in %d clean frames", check, n, sites*years*frames)
		}
	}
}
