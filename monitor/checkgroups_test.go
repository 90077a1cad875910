package monitor

import (
	"fmt"
	"math"
	"math/rand/v2"
	"runtime"
	"slices"
	"testing"

	"clipledger/schema"
	"clipledger/schema/ledgertest"
)

// manySites are sites with five years of a few frames each, whose rows come
// year by year, so that the occasions of a site lie apart on disk. Each site
// has few fractions of dry matter, so that they are judged by those of all;
// where odd is set, some of what a check looks for is among them.
func manySites(sites int, odd bool) ledgertest.Records {
	rng := rand.New(rand.NewPCG(5, uint64(sites)))
	r := ledgertest.Records{}
	for s := range sites {
		r.Sites = append(r.Sites, schema.Site{Site: fmt.Sprintf("S%04d", s), SamplingUnit: "frame", Placement: "new",
			Components: []schema.DeclaredComponent{{Component: schema.Herbaceous}}})
	}
	for year := 2015; year < 2020; year++ {
		for s := range sites {
			for frame := range 4 {
				green := 40 * math.Exp(0.3*rng.NormFloat64())
				c := schema.Clipping{Site: fmt.Sprintf("S%04d", s), Date: fmt.Sprintf("%d-07-10", year), Frame: fmt.Sprint(frame + 1), FrameType: "1 m2", Component: schema.Herbaceous,
					Species: "POA1", GreenG: schema.Some(math.Round(10*green) / 10), Basis: schema.AirDry, DMPct: schema.Some(50), Line: len(r.Clippings) + 2}
				if frame == 0 {
					c.DryG, c.DMPct = schema.Some(math.Round(10*green*(0.5+0.03*rng.NormFloat64()))/10), schema.Num{}
				}
				if odd {
					plantOdd(&c, s, year, frame)
				}
				r.Clippings = append(r.Clippings, c)
			}
		}
	}
	return r
}

// plantOdd plants something to find at every seventh site.
func plantOdd(c *schema.Clipping, site, year, frame int) {
	if site%7 > 0 || year != 2017 || frame > 0 {
		return
	}
	switch site / 7 % 4 {
	case 0:
		c.DryG = schema.Some(0.93 * c.GreenG.Float64)
	case 1:
		c.DryG = schema.Some(2 * c.GreenG.Float64)
	case 2:
		c.Date = "2017-11-20"
	case 3:
		c.Component = schema.Browse
	}
}

// findingsInGroups runs the checks with groups of so many occasions.
func findingsInGroups(t *testing.T, path string, occasions int, done func(*checker)) []Finding {
	t.Helper()
	var out []Finding
	ledgertest.Read(t, path, func(s *schema.Snapshot) error {
		var err error
		out, err = checkInGroups(s, Filter{}, occasions, done)
		return err
	})
	return out
}

// How sites are cut into groups changes no finding.
func TestGroupsOfSitesChangeNoFinding(t *testing.T) {
	path := ledgertest.Path(t, manySites(60, true))
	groups := 0
	whole, cut := findingsInGroups(t, path, 1<<30, func(*checker) {}), findingsInGroups(t, path, 12, func(*checker) { groups++ })
	if groups != 30 {
		t.Errorf("%d groups, want 30", groups)
	}
	for _, check := range []string{"fraction-far", "dry-above-green", "date-within-occasion", "species-component"} {
		if !slices.ContainsFunc(whole, func(f Finding) bool { return f.Check == check }) {
			t.Errorf("nothing found by %s, which this test is to compare", check)
		}
	}
	text := func(list []Finding) []string {
		var out []string
		for _, f := range list {
			out = append(out, fmt.Sprint(f.ID, f.Severity, f.Check, f.Site.Site, f.Years, f.Season, f.Components, f.Records, f.More, f.Found))
		}
		return out
	}
	if got, want := text(cut), text(whole); !slices.Equal(got, want) {
		t.Errorf("in groups of 12 occasions:\n%q\nall at once:\n%q", got, want)
	}
}

// However many sites a ledger has, checking the next ones takes no more
// memory.
func TestCheckMemoryDoesNotGrow(t *testing.T) {
	const sites, inGroup = 240, 20 // occasions in a group
	path := ledgertest.Path(t, manySites(sites, false))
	var inUse []int64
	var frames int
	findings := findingsInGroups(t, path, inGroup, func(c *checker) {
		runtime.GC()
		var m runtime.MemStats
		runtime.ReadMemStats(&m)
		inUse, frames = append(inUse, int64(m.HeapAlloc)), max(frames, len(c.visits))
	})
	if len(inUse) != sites*5/inGroup || frames != inGroup*4 || len(findings) > 20 {
		t.Fatalf("%d groups of up to %d frames and %d findings; want %d, %d and next to none", len(inUse), frames, len(findings), sites*5/inGroup, inGroup*4)
	}
	early, late := inUse[len(inUse)/10], inUse[len(inUse)-1]
	if grown := late - early; grown > 128<<10 {
		t.Errorf("%d bytes more in use after %d groups than after %d", grown, len(inUse), len(inUse)/10+1)
	}
}

// A tally gives what sorting the values gives.
func TestTallyCounts(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 9))
	var counts tally[float32]
	var values []float32
	for range 20_000 {
		v := float32(rng.IntN(3000)) / 3000
		counts.add(v)
		values = append(values, v)
	}
	slices.Sort(values)
	var got []float32
	for _, c := range counts.all() {
		for range c.times {
			got = append(got, c.value)
		}
	}
	if !slices.Equal(got, values) || counts.n != len(values) {
		t.Errorf("%d values counted (%d), want the %d that were added", len(got), counts.n, len(values))
	}
	var logits []float64
	list := make([]countOf[float64], 0)
	for _, c := range counts.all() {
		list = append(list, countOf[float64]{float64(c.value), c.times})
	}
	for _, v := range values {
		logits = append(logits, float64(v))
	}
	for from := range 4 {
		if got, want := countedMedian(list, from, len(values)), medianOf(slices.Clone(logits[from:])); got != want {
			t.Errorf("median without the first %d: %g, want %g", from, got, want)
		}
	}
}
