package schema_test

import (
	"bytes"
	"context"
	"database/sql"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"clipledger/schema"
	"clipledger/schema/ledgertest"
)

// mergeInto merges ledgers into the one at path, in one transaction, and
// returns what was refused; then the ledger stays as it was.
func mergeInto(t *testing.T, path string, o schema.MergeOptions, others ...string) (problems []schema.Problem, sum schema.Merged) {
	t.Helper()
	ctx := context.Background()
	l, err := schema.OpenWrite(ctx, path)
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	o.Problem = func(p schema.Problem) { problems = append(problems, p) }
	err = l.Write(ctx, "2026-05-05T05:05:05Z", func(tx *schema.Tx) error {
		for _, other := range others {
			f, err := schema.OpenForeign(ctx, other)
			if err != nil {
				return err
			}
			o.Name = filepath.Base(other)
			err = f.Read(ctx, func(s *schema.Snapshot) error {
				m, err := tx.MergeLedger(s, o)
				sum.Added += m.Added
				sum.Changed += m.Changed
				sum.Identical += m.Identical
				sum.Imports += m.Imports
				return err
			})
			if err := errors.Join(err, f.Close()); err != nil {
				return err
			}
		}
		if len(problems) > 0 {
			return schema.ErrDryRun
		}
		return nil
	})
	if err != nil && len(problems) == 0 {
		t.Fatal(err)
	}
	return problems, sum
}

// merged merges ledgers one after the other into a copy of the first, or into
// a new ledger, and returns its path.
func merged(t *testing.T, first string, others ...string) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "merged.db")
	if first != "" {
		if err := os.WriteFile(path, mustReadFile(t, first), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	for _, other := range others {
		if p, _ := mergeInto(t, path, schema.MergeOptions{}, other); len(p) > 0 {
			t.Fatalf("merging %s was refused: %v", other, p)
		}
	}
	return path
}

func mustReadFile(t *testing.T, path string) []byte {
	t.Helper()
	b, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// world is what really was: ledgers hold parts of it, with blanks, and never
// contradict one another.
type world struct {
	sites     []schema.Site
	species   []schema.Species
	clippings []schema.Clipping
	drying    []schema.Drying
	estimates []schema.Estimate // of frames that were clipped, and of others
	places    []schema.TransectPlace
	events    []schema.Event
}

func pick[T any](r *rand.Rand, from ...T) T { return from[r.IntN(len(from))] }

func inventWorld(r *rand.Rand) *world {
	w := &world{species: []schema.Species{{Code: "POA1", Name: "blue grass", GrowthForm: "grass-cool"}, {Code: "ART1", Name: "sage", GrowthForm: "shrub-deciduous", Component: schema.Browse}}}
	for i := range 3 {
		w.sites = append(w.sites, schema.Site{Site: fmt.Sprint("S", i), Name: fmt.Sprint("Site ", i), Stratum: pick(r, "low", "high"), DoubleSampling: pick(r, "", "Ann", "pooled"), AreaHa: schema.Some(float64(10 + i)),
			Placement: pick(r, "", "same", "new"), YearStartMonth: pick(r, 0, 10), Note: pick(r, "", "gate")})
	}
	for i := range 24 {
		w.inventFrame(r, fmt.Sprint(i))
	}
	w.inventEstimates(r)
	for _, s := range w.sites {
		w.places = append(w.places, schema.TransectPlace{Line: 2, Site: s.Site, Transect: "1", Bearing: schema.Some(90), LengthM: schema.Some(50), Side: "left", Photo: "p.jpg"})
		w.events = append(w.events, schema.Event{Line: 2, Site: s.Site, Start: "2019-05-01", Kind: "fire", End: "2019-05-02", Note: "small"})
	}
	w.events = append(w.events, schema.Event{Line: 3, Stratum: "low", Start: "2020-05-01", Kind: "grazing"})
	return w
}

// inventEstimates has the frames that were clipped, and as many others beside
// them, estimated by eye.
func (w *world) inventEstimates(r *rand.Rand) {
	for _, c := range w.clippings {
		for _, observer := range []string{"Wren", "Finch"} {
			e := schema.Estimate{Site: c.Site, Date: c.Date, Season: c.Season, Transect: c.Transect, Frame: c.Frame, Component: schema.Herbaceous, Observer: observer,
				State: schema.StateGreen, G: float64(r.IntN(80)), FrameType: pick(r, "", "9.6 ft2", "loop")}
			if r.IntN(3) == 0 {
				e.State, e.PerM2, e.FrameType, e.Basis = schema.StateDry, true, "", schema.AirDry
			}
			if r.IntN(2) == 0 {
				e.Frame = "only estimated " + e.Frame
			}
			if !slices.ContainsFunc(w.estimates, func(o schema.Estimate) bool {
				return o.Site == e.Site && o.Date == e.Date && o.Season == e.Season && o.Transect == e.Transect && o.Frame == e.Frame && o.Observer == e.Observer && o.State == e.State
			}) {
				w.estimates = append(w.estimates, e)
			}
		}
	}
}

// lowHigh is a scheme of two classes, and a curve of three points.
var (
	lowHigh = []schema.ClassBound{{Line: 2, Scheme: "two", Component: "production", UpperG: schema.Some(50), Basis: schema.AirDry, Label: "low"},
		{Line: 3, Scheme: "two", Component: "production", LowerG: 50, Basis: schema.AirDry, Label: "high"}}
	early = []schema.CurvePoint{{Line: 2, Curve: "early", DayOfYear: 60}, {Line: 3, Curve: "early", DayOfYear: 120, Pct: 60}, {Line: 4, Curve: "early", DayOfYear: 200, Pct: 100}}
)

// inventFrame makes a frame with its bags. What may stay blank in a ledger is
// the same for all components of a frame, since a file's row that is silent
// takes it from the frame's other rows.
func (w *world) inventFrame(r *rand.Rand, label string) {
	date := fmt.Sprintf("%d-%02d-15", 2018+r.IntN(3), pick(r, 5, 7, 11))
	base := schema.Clipping{Site: pick(r, w.sites...).Site, Date: date, Season: pick(r, "peak", "fall"), Transect: pick(r, "1", "2"), Frame: label,
		Treatment: pick(r, "", "burnt"), Observer: pick(r, "", "Wren", "Finch"), ClipHeightCM: schema.Some(float64(r.IntN(4)))}
	if r.IntN(8) == 0 {
		base.Status, base.FrameType = schema.StatusEmpty, "9.6 ft2"
		w.clippings = append(w.clippings, base)
		return
	}
	for _, c := range schema.Components[:1+r.IntN(3)] {
		row := base
		row.Component, row.FrameType, row.EdgeRule = c, pick(r, "9.6 ft2", "0.25 m2", "loop"), pick(r, "rooted", "above")
		for _, species := range pick(r, []string{""}, []string{"POA1"}, []string{"POA1", "ART1"}) {
			row.Species, row.Note = species, pick(r, "", "wet")
			row.Stage, row.GrowthForm = pick(r, "", "heading"), pick(r, "", "grass-cool")
			row.GreenG, row.Trace = schema.Some(float64(10+r.IntN(90))), 0
			row.DryG, row.Basis = schema.Some(row.GreenG.Float64/2), pick(r, schema.AirDry, schema.OvenDry)
			if r.IntN(6) == 0 {
				row.GreenG, row.Trace, row.DryG, row.Basis = schema.Num{}, schema.TraceGreen, schema.Num{}, ""
			}
			w.clippings = append(w.clippings, row)
		}
	}
	w.drying = append(w.drying, schema.Drying{Site: base.Site, Date: date, Season: base.Season, Component: schema.Herbaceous, Species: pick(r, "", "POA1"),
		GreenG: float64(20 + r.IntN(20)), DryG: float64(5 + r.IntN(10)), Basis: schema.AirDry, Stage: "heading"})
}

// office makes a ledger of parts of the world, in several imports.
func (w *world) office(t *testing.T, r *rand.Rand) string {
	t.Helper()
	first := ledgertest.Records{FrameTypes: []schema.FrameType{{Line: 2, Name: "loop", AreaM2: 0.5}},
		BookValues: []schema.BookValue{{Line: 2, Table: "mine", GrowthForm: "grass-cool", Stage: "heading", DMPct: 47, Source: "dried by ourselves"}}}
	for i, s := range w.species {
		s.Line = i + 2
		blank(r, &s.Name)
		first.Species = append(first.Species, s)
	}
	second := ledgertest.Records{}
	for i, s := range w.sites {
		if r.IntN(3) == 0 {
			continue
		}
		s.Line = i + 2
		blank(r, &s.Name)
		blank(r, &s.Stratum)
		blank(r, &s.Note)
		if r.IntN(3) == 0 {
			s.YearStartMonth = 0
		}
		pick(r, &first, &second).Sites = append(first.Sites, s)
		first.Sites, second.Sites = dropTwice(first.Sites), dropTwice(second.Sites)
	}
	for i, c := range w.clippings {
		if r.IntN(2) == 0 {
			continue
		}
		c.Line = i + 2
		blank(r, &c.Treatment)
		blank(r, &c.Observer)
		blank(r, &c.Note)
		blank(r, &c.Stage)
		if r.IntN(3) == 0 && c.GreenG.Valid {
			c.DryG, c.Basis = schema.Num{}, ""
		}
		if r.IntN(3) == 0 {
			c.ClipHeightCM = schema.Num{}
		}
		to := pick(r, &first, &second)
		to.Clippings = append(to.Clippings, c)
	}
	for i, d := range w.drying {
		if r.IntN(2) == 0 {
			d.Line = i + 2
			blank(r, &d.Stage)
			second.Drying = append(second.Drying, d)
		}
	}
	for i, e := range w.estimates {
		if e.Line = i + 2; r.IntN(2) == 0 {
			blank(r, &e.FrameType)
			to := pick(r, &first, &second)
			to.Estimates = append(to.Estimates, e)
		}
	}
	for i := range w.places {
		if r.IntN(2) == 0 {
			p, e := w.places[i], w.events[i]
			blank(r, &p.Side)
			blank(r, &e.Note)
			second.Transects, second.Events = append(second.Transects, p), append(second.Events, e, w.events[len(w.places)])
			second.Events = slices.CompactFunc(second.Events, func(a, b schema.Event) bool { return a == b })
		}
	}
	if r.IntN(2) == 0 {
		second.Classes = lowHigh
	}
	if r.IntN(2) == 0 {
		first.Curves = early
	}
	return ledgertest.Path(t, first, second)
}

// dropTwice keeps the first of sites that came in twice.
func dropTwice(sites []schema.Site) []schema.Site {
	seen := map[string]bool{}
	var out []schema.Site
	for _, s := range sites {
		if !seen[s.Site] {
			seen[s.Site] = true
			out = append(out, s)
		}
	}
	return out
}

func blank(r *rand.Rand, s *string) {
	if r.IntN(3) == 0 {
		*s = ""
	}
}

// Digest looks at how a frame was clipped component by component, so that it
// must not matter whose ledger said it first.
func TestMergeInAnyOrder(t *testing.T) {
	for seed := range uint64(worlds(t, 5)) {
		t.Run(fmt.Sprint("seed ", seed), func(t *testing.T) {
			r := rand.New(rand.NewPCG(seed, 7))
			w := inventWorld(r)
			a, b, c := w.office(t, r), w.office(t, r), w.office(t, r)
			if digest(t, a) == digest(t, b) {
				t.Fatal("the ledgers do not differ")
			}
			for _, one := range []string{a, b, c} {
				if digest(t, merged(t, "", one)) != digest(t, one) {
					t.Error("merged into an empty ledger it is not the same record")
				}
			}
			ab, bc := merged(t, a, b), merged(t, b, c)
			if digest(t, ab) != digest(t, merged(t, b, a)) {
				t.Error("A and B is not B and A")
			}
			if digest(t, ab) == digest(t, a) {
				t.Error("B brought nothing to A")
			}
			all := merged(t, ab, c)
			for name, other := range map[string]string{"A and (B and C)": merged(t, a, bc), "C, B, A into an empty one": merged(t, "", c, b, a), "twice over": merged(t, bc, ab, a, c)} {
				if digest(t, other) != digest(t, all) {
					t.Errorf("(A and B) and C is not %s", name)
				}
			}
			before := mustReadFile(t, all)
			for _, again := range []string{a, b, c, bc, ab} {
				if _, sum := mergeInto(t, all, schema.MergeOptions{}, again); sum.Added+sum.Changed+sum.Imports > 0 {
					t.Errorf("merged again: %+v", sum)
				}
			}
			if !bytes.Equal(mustReadFile(t, all), before) {
				t.Error("merging again changed the file")
			}
		})
	}
}

// The same rows, split between ledgers and imported into one, come to the same
// dry weights.
func TestMergeSettlesLikeImport(t *testing.T) {
	rows := []schema.Clipping{herb("1", 10), herb("2", 20), {Site: "A", Year: 2020, Frame: "3", FrameType: "9.6 ft2", Component: schema.Herbaceous, GreenG: schema.Some(8)}}
	dried := []schema.Drying{{Line: 2, Site: "A", Year: 2020, Season: "peak", Component: schema.Herbaceous, GreenG: 10, DryG: 3}}
	one := ledgertest.Path(t, ledgertest.Records{Drying: dried, Clippings: rows})
	two := merged(t, ledgertest.Path(t, ledgertest.Records{Clippings: rows[:2]}), ledgertest.Path(t, ledgertest.Records{Drying: dried, Clippings: rows[2:]}))
	if digest(t, one) != digest(t, two) {
		t.Error("not the same record")
	}
	for _, q := range []string{"SELECT total(dry_g) FROM bag_dry_weight", "SELECT total(mean_g_m2) FROM occasion_mean", "SELECT total(mask) FROM looked_for"} {
		if got, want := query[float64](t, two, q), query[float64](t, one, q); got != want || want == 0 {
			t.Errorf("%s: %v, want %v", q, got, want)
		}
	}
}

func TestMergeLeavesComponentsApart(t *testing.T) {
	grass := schema.Clipping{Site: "A", Year: 2020, Frame: "1", FrameType: "9.6 ft2", Component: schema.Herbaceous, DryG: schema.Some(5), Observer: "Wren"}
	shrub := schema.Clipping{Site: "A", Year: 2020, Frame: "1", FrameType: "435.6 ft2", Component: schema.Browse, DryG: schema.Some(50)}
	a, b := ledgertest.Path(t, ledgertest.Records{Clippings: []schema.Clipping{grass}}), ledgertest.Path(t, ledgertest.Records{Clippings: []schema.Clipping{shrub}})
	ab, ba := merged(t, a, b), merged(t, b, a)
	if digest(t, ab) != digest(t, ba) {
		t.Error("A and B is not B and A")
	}
	for _, path := range []string{ab, ba} {
		const g = `SELECT group_concat(round(g_m2, 3)) FROM (SELECT g_m2 FROM frame_production ORDER BY g_m2)`
		if got := query[string](t, path, g); !strings.HasPrefix(got, "1.236,5.606") {
			t.Errorf("g/m2 are %s", got)
		}
	}
}

func TestMergeConflicts(t *testing.T) {
	base := herb("1", 10)
	base.FramesInBag = 2
	with := func(change func(*schema.Clipping)) ledgertest.Records {
		c := base
		change(&c)
		return ledgertest.Records{Clippings: []schema.Clipping{c}}
	}
	ours := with(func(c *schema.Clipping) { c.Observer, c.Treatment, c.ClipHeightCM = "Wren", "burnt", schema.Some(2) })
	for name, c := range map[string]struct {
		theirs  ledgertest.Records
		words   []string
		settles bool // --replace settles it
	}{
		"weight":    {with(func(c *schema.Clipping) { c.GreenG = schema.Some(11) }), []string{`column green_g: "11"`, `holds "10" (import 2, clippings.csv line 2)`, "other.db, import 2, clippings.csv:2:", "site A 2020 peak, transect 1, frame 1"}, true},
		"observer":  {with(func(c *schema.Clipping) { c.Observer = "Finch" }), []string{`column observer: "Finch"`, `holds "Wren"`}, true},
		"treatment": {with(func(c *schema.Clipping) { c.Treatment = "unburnt" }), []string{`column treatment: "unburnt"`, `holds "burnt"`}, true},
		"height":    {with(func(c *schema.Clipping) { c.ClipHeightCM = schema.Some(3) }), []string{`column clip_height_cm: "3"`, `holds "2"`}, true},
		"type":      {with(func(c *schema.Clipping) { c.FrameType = "0.25 m2" }), []string{`column frame_type: "0.25 m2"`, `holds "9.6 ft2"`}, true},
		"composite": {with(func(c *schema.Clipping) { c.FramesInBag = 3 }), []string{`column frames_in_bag: "3"`, `holds "2"`}, true},
		"species":   {with(func(c *schema.Clipping) { c.Species = "POA1" }), []string{"one bag of this component of this frame names a species and another names none"}, false},
		"per area":  {with(func(c *schema.Clipping) { c.PerM2 = true }), []string{"per area"}, false},
		"dry above": {with(func(c *schema.Clipping) { c.GreenG, c.DryG = schema.Num{}, schema.Some(12) }), []string{"above the green weight"}, false},
		"empty": {ledgertest.Records{Clippings: []schema.Clipping{{Site: "A", Year: 2020, Frame: "1", FrameType: "9.6 ft2", Status: schema.StatusEmpty}}},
			[]string{"empty"}, false},
	} {
		t.Run(name, func(t *testing.T) {
			path, other := ledgertest.Path(t, ours), ledgertest.Path(t, c.theirs)
			named := filepath.Join(t.TempDir(), "other.db")
			if err := os.Rename(other, named); err != nil {
				t.Fatal(err)
			}
			before, theirs := mustReadFile(t, path), mustReadFile(t, named)
			problems, _ := mergeInto(t, path, schema.MergeOptions{}, named)
			if len(problems) != 1 {
				t.Fatalf("problems %v, want one", problems)
			}
			for _, word := range c.words {
				if !strings.Contains(problems[0].String(), word) {
					t.Errorf("%s\nlacks %s", problems[0], word)
				}
			}
			if back, _ := mergeInto(t, named, schema.MergeOptions{}, path); len(back) == 0 {
				t.Error("the other way round nothing is refused")
			}
			if !bytes.Equal(mustReadFile(t, path), before) || !bytes.Equal(mustReadFile(t, named), theirs) {
				t.Error("a refused merge changed a file")
			}
			problems, _ = mergeInto(t, path, schema.MergeOptions{Replace: true}, named)
			if (len(problems) == 0) != c.settles {
				t.Errorf("with --replace: %v", problems)
			}
			if d := digest(t, path); c.settles && name != "composite" && query[int](t, path, "SELECT count(*) FROM change") == 0 {
				t.Errorf("no history of what was replaced (%s)", d)
			}
		})
	}
}

func TestMergeConflictsOfSmallRecords(t *testing.T) {
	ours := ledgertest.Records{FrameTypes: []schema.FrameType{{Line: 2, Name: "loop", AreaM2: 0.5}}, Species: []schema.Species{{Line: 2, Code: "POA1", GrowthForm: "grass-cool"}},
		Sites: []schema.Site{{Line: 2, Site: "1", Name: "Mill"}}, BookValues: []schema.BookValue{{Line: 2, Table: "mine", GrowthForm: "forb", Stage: "heading", DMPct: 40}}}
	for name, theirs := range map[string]ledgertest.Records{
		"frame type loop": {FrameTypes: []schema.FrameType{{Line: 2, Name: "loop", AreaM2: 0.6}}},
		"species POA1":    {Species: []schema.Species{{Line: 2, Code: "POA1", GrowthForm: "grass-warm"}}},
		"site 1":          {Sites: []schema.Site{{Line: 2, Site: "1", Name: "Bridge"}}},
		"book table mine": {BookValues: []schema.BookValue{{Line: 2, Table: "mine", GrowthForm: "forb", Stage: "heading", DMPct: 41}}},
	} {
		path := ledgertest.Path(t, ours)
		problems, _ := mergeInto(t, path, schema.MergeOptions{}, ledgertest.Path(t, theirs))
		if len(problems) != 1 || !strings.HasPrefix(problems[0].What, name) {
			t.Errorf("%s: %v", name, problems)
		}
		if name == "site 1" && !strings.Contains(problems[0].Do, "--prefix") {
			t.Errorf("no way out is named: %v", problems)
		}
	}
	// A table in force is closed, whatever the other says beside it.
	path := ledgertest.Path(t, ours, ledgertest.Records{Settings: map[string]string{"book-tables": "mine,handbook"}})
	theirs := ledgertest.Records{BookValues: []schema.BookValue{{Line: 2, Table: "mine", GrowthForm: "forb", Stage: "dry", DMPct: 80}}}
	if problems, _ := mergeInto(t, path, schema.MergeOptions{Replace: true}, ledgertest.Path(t, theirs)); len(problems) != 1 || !strings.Contains(problems[0].Do, "out of force") {
		t.Errorf("a table in force: %v", problems)
	}
}

func TestMergePrefix(t *testing.T) {
	path := ledgertest.Path(t, ledgertest.Records{Sites: []schema.Site{{Line: 2, Site: "A", Name: "Mill"}}, Clippings: []schema.Clipping{herb("1", 10)}})
	other := ledgertest.Path(t, ledgertest.Records{Sites: []schema.Site{{Line: 2, Site: "A", Name: "Bridge"}}, Clippings: []schema.Clipping{herb("1", 30)}})
	for range 2 {
		if p, _ := mergeInto(t, path, schema.MergeOptions{Prefix: "north-"}, other); len(p) > 0 {
			t.Fatal(p)
		}
	}
	digest(t, path)
	if got := query[string](t, path, `SELECT group_concat(site || ' ' || name || ' ' || green_g) FROM (SELECT site, s.name, green_g FROM bag b JOIN occasion o ON o.occasion_id = b.visit_id >> 20
		JOIN site s USING(site_id) ORDER BY site)`); got != "A Mill 10.0,north-A Bridge 30.0" {
		t.Errorf("sites are %s", got)
	}
	if got := query[int](t, path, `SELECT count(*) FROM import WHERE json_extract(options, '$.prefix') = 'north-' AND kind <> 'merge'`); got != 2 {
		t.Errorf("%d imports name the prefix, want 2", got)
	}
}

func TestMergeNeedsLikeSettings(t *testing.T) {
	rows := []schema.Clipping{herb("1", 10)}
	path := ledgertest.Path(t, ledgertest.Records{Clippings: rows, Settings: map[string]string{"moisture": "0.1", "units": "kg/ha"}})
	ctx := context.Background()
	for name, value := range map[string]string{"basis": schema.OvenDry, "moisture": "0.12", "trace-g": "0.1"} {
		other := ledgertest.Path(t, ledgertest.Records{Clippings: rows, Settings: map[string]string{name: value}})
		l, err := schema.OpenWrite(ctx, path)
		if err != nil {
			t.Fatal(err)
		}
		f, err := schema.OpenForeign(ctx, other)
		if err != nil {
			t.Fatal(err)
		}
		err = l.Write(ctx, ledgertest.At, func(tx *schema.Tx) error {
			return f.Read(ctx, func(s *schema.Snapshot) error {
				_, err := tx.MergeLedger(s, schema.MergeOptions{Name: "other.db"})
				return err
			})
		})
		var unlike *schema.UnlikeError
		if !errors.As(err, &unlike) || len(unlike.Settings) != 1 || !strings.Contains(err.Error(), name) || !strings.Contains(err.Error(), value) {
			t.Errorf("%s=%s: %v", name, value, err)
		}
		f.Close()
		l.Close()
	}
	if p, sum := mergeInto(t, path, schema.MergeOptions{}, ledgertest.Path(t, ledgertest.Records{Clippings: rows})); len(p) > 0 || sum.Identical == 0 {
		t.Errorf("0.1 is not 0.10: %v %+v", p, sum)
	}
}

func TestMergeProvenance(t *testing.T) {
	lab := schema.Clipping{Line: 9, Site: "A", Year: 2020, Frame: "1", Component: schema.Herbaceous, DryG: schema.Some(4)}
	north := ledgertest.Path(t, ledgertest.Records{Clippings: []schema.Clipping{herb("1", 10), herb("2", 20)}}, ledgertest.Records{Clippings: []schema.Clipping{lab}},
		ledgertest.Records{Settings: map[string]string{"units": "kg/ha"}})
	path := merged(t, ledgertest.Path(t, ledgertest.Records{Species: []schema.Species{{Line: 2, Code: "POA1"}}}), north)

	const bags = `SELECT group_concat(v.frame || ':' || b.line || ':' || i.file || ':' || i.origin_import || ':' || i.sha256 || ':' || i.at, ' ' ORDER BY v.frame)
		FROM visit v JOIN bag b USING(visit_id) JOIN import i ON i.import_id = b.import_id`
	want := "1:9:clippings.csv:3:test:" + ledgertest.At + " 2:3:clippings.csv:2:test:" + ledgertest.At
	if got := query[string](t, path, bags); got != want {
		t.Errorf("bags come from\n%s, want\n%s", got, want)
	}
	const imports = `SELECT group_concat(kind || added || '/' || changed, ' ') FROM (SELECT * FROM import ORDER BY import_id)`
	if got := query[string](t, path, imports); got != "built-in0/0 species1/0 clippings3/0 clippings1/0 merge0/0" {
		t.Errorf("imports are %s", got)
	}

	// Through a third office, and from a copy, the same imports are the same.
	const origins = `SELECT group_concat(origin || origin_import, ' ') FROM (SELECT * FROM import WHERE origin <> '' ORDER BY origin)`
	third := merged(t, "", path)
	backup := filepath.Join(t.TempDir(), "backup.db")
	if err := os.WriteFile(backup, mustReadFile(t, north), 0o666); err != nil {
		t.Fatal(err)
	}
	if _, sum := mergeInto(t, third, schema.MergeOptions{}, north, backup, path); sum.Imports != 0 {
		t.Errorf("the third office took %+v twice", sum)
	}
	ours := strings.Fields(query[string](t, path, origins))
	theirs := query[string](t, third, origins)
	if len(ours) != 2 {
		t.Errorf("%d imports came from elsewhere, want 2", len(ours))
	}
	for _, o := range ours {
		if strings.Count(theirs, o) != 1 {
			t.Errorf("%s is not one of %s", o, theirs)
		}
	}
	// Undone, an import can be merged again.
	if p := undo(t, path, 4); len(p) > 0 {
		t.Fatal(p)
	}
	if p := undo(t, path, 3); len(p) > 0 {
		t.Fatal(p)
	}
	if p := undo(t, path, 5); len(p) != 1 || !strings.Contains(p[0].Message(), "notes that a ledger was merged") {
		t.Errorf("undoing the note of a merge: %v", p)
	}
	if _, sum := mergeInto(t, path, schema.MergeOptions{}, north); sum.Imports != 2 {
		t.Errorf("merged again after undoing: %+v", sum)
	}
	if digest(t, path) != digest(t, third) {
		t.Error("undone and merged again it is not the same record")
	}
}

// What no import kind of a file may have filled yet comes along all the same.
func TestMergePlainTables(t *testing.T) {
	other := ledgertest.Path(t, ledgertest.Records{Sites: []schema.Site{{Line: 2, Site: "A"}}, Clippings: []schema.Clipping{{Site: "A", Year: 2020, Frame: "1", FrameType: "9.6 ft2",
		Component: schema.Herbaceous, DryG: schema.Some(5), Observer: "Wren"}}})
	for _, insert := range []string{
		`INSERT INTO rain VALUES('Mill', 2020, 5, 33.5, 2, 7)`,
		`INSERT INTO class_bound VALUES('range', 'production', 0, NULL, 'air-dry', 'poor', 2, 2)`,
		`INSERT INTO growth_curve VALUES('cool', 120, 40, 2, 2), ('cool', 200, 100, 2, 3)`,
		`INSERT INTO transect(site_id,transect,bearing,import_id,line) SELECT site_id, '1', 90, 2, 2 FROM site`,
		`INSERT INTO event(site_id,stratum,start,kind,note,import_id,line) SELECT site_id, '', '2019-08-01', 'fire', 'hot', 2, 2 FROM site`,
		`INSERT INTO event(site_id,stratum,start,kind,import_id,line) VALUES(0, 'low', '2018', 'flood', 2, 3)`,
		`INSERT INTO estimate(visit_id,component,species_id,observer_id,state,year_given,basis,g,per_m2,import_id,line) SELECT visit_id, 1, 0, observer_id, 'dry', 1, 'air-dry', 6, 0, 2, 4 FROM visit`,
	} {
		edit(t, other, insert)
	}
	own := ledgertest.Path(t, ledgertest.Records{Sites: []schema.Site{{Line: 2, Site: "Z"}}, Clippings: []schema.Clipping{herb("9", 1)}})
	path := merged(t, "", other)
	if digest(t, path) != digest(t, other) {
		t.Error("not the same record")
	}
	both := merged(t, own, other)
	digest(t, both)
	for table, want := range map[string]int{"rain": 1, "class_bound": 1, "growth_curve": 2, "transect": 1, "event": 2, "estimate": 1} {
		if got := query[int](t, both, "SELECT count(*) FROM "+table); got != want {
			t.Errorf("%d rows of %s, want %d", got, table, want)
		}
	}
	if got := query[string](t, both, `SELECT site || frame FROM estimate e JOIN visit v USING(visit_id) JOIN occasion o ON o.occasion_id = v.occasion_id JOIN site s USING(site_id)`); got != "A1" {
		t.Errorf("the estimate stands at %s", got)
	}
	edit(t, other, `UPDATE writing SET import_id=2; INSERT INTO writing VALUES(1, 2); UPDATE rain SET rain_mm=34; DELETE FROM writing`)
	if p, _ := mergeInto(t, both, schema.MergeOptions{}, other); len(p) != 1 || !strings.Contains(p[0].String(), `rain Mill 2020 5: the ledger holds "33.5"`) {
		t.Errorf("other rain: %v", p)
	}
}

// edit changes a ledger behind the program's back.
func edit(t *testing.T, path, statement string) {
	t.Helper()
	db, err := sql.Open("sqlite", path)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	if _, err := db.Exec(statement); err != nil {
		t.Fatalf("%s: %v", statement, err)
	}
}

func TestMergeRefusesForeignFiles(t *testing.T) {
	good := ledgertest.Path(t, ledgertest.Records{Clippings: []schema.Clipping{herb("1", 10)}})
	spoil := func(name string, change func(path string)) string {
		path := filepath.Join(t.TempDir(), name)
		if err := os.WriteFile(path, mustReadFile(t, good), 0o666); err != nil {
			t.Fatal(err)
		}
		change(path)
		return path
	}
	for path, want := range map[string]string{
		filepath.Join(t.TempDir(), "none.db"):                                                                          "there is no ledger",
		spoil("text.db", func(p string) { os.WriteFile(p, []byte("site,date\n"), 0o666) }):                             "not a clipledger ledger",
		spoil("empty.db", func(p string) { os.Truncate(p, 0) }):                                                        "there is no ledger",
		spoil("newer.db", func(p string) { edit(t, p, "PRAGMA user_version=99") }):                                     "newer clipledger",
		spoil("id.db", func(p string) { edit(t, p, "PRAGMA application_id=7") }):                                       "not a clipledger ledger",
		spoil("view.db", func(p string) { edit(t, p, "DROP VIEW bag_dry_weight") }):                                    "bag_dry_weight is missing",
		spoil("trigger.db", func(p string) { edit(t, p, "CREATE TRIGGER x AFTER INSERT ON bag BEGIN SELECT 1; END") }): "x was added by another program",
		spoil("keys.db", func(p string) {
			edit(t, p, "PRAGMA foreign_keys=0; UPDATE visit SET found=found; DELETE FROM observer; INSERT INTO plot(visit_id,component,import_id,line) VALUES(77,1,2,2)")
		}): "points to a missing row",
		spoil("torn.db", func(p string) {
			b := mustReadFile(t, p)
			clear(b[len(b)/2:])
			os.WriteFile(p, b, 0o666)
		}): "damaged",
	} {
		l, err := schema.OpenForeign(context.Background(), path)
		if err == nil {
			l.Close()
			t.Errorf("%s was opened", filepath.Base(path))
			continue
		}
		var foreign *schema.ForeignError
		if !errors.As(err, &foreign) || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %v, want %q", filepath.Base(path), err, want)
		}
	}
}
