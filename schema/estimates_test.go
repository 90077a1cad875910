package schema_test

import (
	"database/sql"
	"fmt"
	"slices"
	"strings"
	"testing"

	"clipledger/schema"
	"clipledger/schema/ledgertest"
)

// eye is an estimate of a frame that herb clips.
func eye(frame, observer string, g float64) schema.Estimate {
	return schema.Estimate{Site: "A", Year: 2020, Frame: frame, Component: schema.Herbaceous, Observer: observer, G: g}
}

func eyes(list ...schema.Estimate) ledgertest.Records { return ledgertest.Records{Estimates: list} }

func clips(list ...schema.Clipping) ledgertest.Records {
	return ledgertest.Records{Clippings: list}
}

// clippedOnly is everything that is said of clipping: every view, everything
// derived, and what the readers of frames give, in words.
func clippedOnly(t *testing.T, path string) string {
	t.Helper()
	var out []string
	for _, q := range []string{
		`SELECT * FROM bag_dry_weight`, `SELECT component, transect, caged, g_m2, why, ways FROM frame_weighed`,
		`SELECT component, transect, caged, g_m2, why, inferred FROM frame_zero`, `SELECT * FROM frame_production`, `SELECT * FROM occasion_mean`,
		`SELECT component, transect, g_m2 FROM frame_standing`, `SELECT component, transect, g_m2 FROM frame_or_total`,
		`SELECT season, component, frame_type, first_year, last_year FROM type_span LEFT JOIN frame_type USING(frame_type_id)`,
		`SELECT min(t.frame_type, u.frame_type), max(t.frame_type, u.frame_type) FROM type_pair JOIN frame_type t ON t.frame_type_id = a JOIN frame_type u ON u.frame_type_id = b`,
		`SELECT growth_year, season, frame_type, mask, outside FROM looked_for JOIN occasion o USING(occasion_id) LEFT JOIN frame_type USING(frame_type_id) WHERE EXISTS (SELECT 1 FROM visit v WHERE v.visit_id >> 20 = o.occasion_id AND v.found)`, `SELECT site, unit_in_use FROM site`,
	} {
		out = append(out, rowsOf(t, path, q)...)
	}
	ledgertest.Read(t, path, func(s *schema.Snapshot) error {
		occasions, err := s.Occasions()
		if err != nil {
			return err
		}
		for _, o := range occasions {
			out = append(out, fmt.Sprint("occasion ", o.SiteID, o.Year, o.Season))
			if err := s.Visits(o.ID, o.ID, func(v *schema.VisitRecord) error {
				c := *v
				c.Visit = 0
				out = append(out, fmt.Sprintf("frame %+v", c))
				return nil
			}); err != nil {
				return err
			}
		}
		return s.CheckVisits(0, 1<<30, func(v *schema.CheckVisit) error {
			out = append(out, fmt.Sprint("checked ", v.Transect, v.Frame, v.Caged, v.Clipped, v.Recorded, v.Sampled, v.Outside, v.Date))
			return nil
		})
	})
	slices.Sort(out)
	return strings.Join(out, "\n")
}

// rowsOf reads the rows of a query as text.
func rowsOf(t *testing.T, path, q string) []string {
	t.Helper()
	db, err := sql.Open("sqlite", path)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	rows, err := db.Query(q)
	if err != nil {
		t.Fatalf("%s: %v", q, err)
	}
	defer rows.Close()
	names, err := rows.Columns()
	if err != nil {
		t.Fatal(err)
	}
	var out []string
	for rows.Next() {
		cells, dest := make([]any, len(names)), make([]any, len(names))
		for i := range cells {
			dest[i] = &cells[i]
		}
		if err := rows.Scan(dest...); err != nil {
			t.Fatal(err)
		}
		text := strings.TrimPrefix(q, "SELECT ")
		for i, c := range cells {
			if names[i] != "import_id" && names[i] != "line" { // the order of imports shifts them
				text += fmt.Sprintf(" %v", c)
			}
		}
		out = append(out, text)
	}
	if err := rows.Err(); err != nil {
		t.Fatal(err)
	}
	return out
}

// A layout with all that zeros, spans and units hang on: two components, two
// frame types, three transects, a site without a declaration.
func clippedWorld() []schema.Clipping {
	var out []schema.Clipping
	for year := 2018; year <= 2021; year++ {
		for i := range 6 {
			c := herb(fmt.Sprint(i), float64(10+i+year%7))
			c.Year, c.Transect = year, fmt.Sprint("T", i%3)
			out = append(out, c)
			if i == 0 && year != 2018 {
				b := c
				b.Component, b.FrameType, b.GrowthForm, b.Stage, b.DryG = schema.Browse, "40 m2", "", "", schema.Some(30)
				out = append(out, b)
			}
		}
	}
	return out
}

// Estimates of clipped frames, of others beside them, of components nobody
// clipped, before and after the clipped years, caged, on a transect and on an
// occasion of their own.
func estimatesAround() []schema.Estimate {
	var out []schema.Estimate
	for year := 2015; year <= 2023; year++ {
		for i := range 9 {
			for _, observer := range []string{"Wren", "Tolly"} {
				e := eye(fmt.Sprint(i), observer, float64(i))
				e.Year, e.Transect = year, fmt.Sprint("T", i%4)
				out = append(out, e)
				e.Component, e.FrameType = schema.Litter, "0.25 m2"
				out = append(out, e)
				e.Component, e.Caged, e.State, e.PerM2 = schema.Browse, true, schema.StateDry, true
				out = append(out, e)
				e.Season = "fall"
				out = append(out, e)
			}
		}
	}
	return out
}

func TestEstimatesChangeNothingClipped(t *testing.T) {
	clipped, estimated := clips(clippedWorld()...), eyes(estimatesAround()...)
	alone := ledgertest.Path(t, clipped)
	want := clippedOnly(t, alone)
	if strings.Count(want, "\n") < 100 || !strings.Contains(want, "browse") {
		t.Fatalf("too little is compared:\n%s", want)
	}
	// Two imports of clippings choose the sampling unit by the first.
	first, second := clips(clipped.Clippings[:15]...), clips(clipped.Clippings[15:]...)
	inTwo := clippedOnly(t, ledgertest.Path(t, first, second))
	for name, order := range map[string][]ledgertest.Records{
		"estimates after": {clipped, estimated}, "estimates before": {estimated, clipped}, "estimates between": {first, estimated, second},
	} {
		path := ledgertest.Path(t, order...)
		digest(t, path) // verifies
		want := want
		if len(order) == 3 {
			want = inTwo
		}
		if got := clippedOnly(t, path); got != want {
			t.Errorf("%s: what is said of clipping differs:\n%s", name, firstDifference(got, want))
		}
		if n := query[int](t, path, `SELECT count(*) FROM estimate`); n != len(estimated.Estimates) {
			t.Errorf("%s: %d estimates", name, n)
		}
	}
}

func firstDifference(got, want string) string {
	a, b := strings.Split(got, "\n"), strings.Split(want, "\n")
	for i := range a {
		if i >= len(b) || a[i] != b[i] {
			return fmt.Sprintf("got  %s\nwant %s", a[i], b[min(i, len(b)-1)])
		}
	}
	return "got fewer lines"
}

// In whichever order estimates, clippings, declarations and drying samples
// come, the record is the same, and so is what is read of it.
func TestEstimatesInAnyOrder(t *testing.T) {
	wide := herb("7", 12)
	wide.Date, wide.Year, wide.FrameType, wide.Note, wide.Treatment = "2020-11-05", 0, "0.25 m2", "steep", "burnt"
	dated := eye("7", "Wren", 3)
	dated.Date, dated.Year = "2020-11-05", 0
	unclipped := eye("8", "Wren", 0)
	unclipped.Date, unclipped.Year, unclipped.FrameType = "2020-11-06", 0, "1 m2"
	parts := []ledgertest.Records{
		clips(herb("1", 10), wide, schema.Clipping{Site: "A", Year: 2020, Frame: "3", FrameType: "1 m2", Status: schema.StatusEmpty}),
		eyes(eye("1", "Wren", 12), eye("3", "Wren", 1), dated, unclipped),
		eyes(eye("1", "Tolly", 8), eye("2", "Tolly", 9)),
		{Sites: []schema.Site{{Line: 2, Site: "A", FrameType: "9.6 ft2", YearStartMonth: 10}}, FrameTypes: []schema.FrameType{{Line: 2, Name: "9.6 ft2", AreaM2: 9.6 * 0.3048 * 0.3048}}},
		{Drying: []schema.Drying{{Line: 2, Site: "A", Year: 2020, Season: "peak", Component: schema.Herbaceous, GreenG: 10, DryG: 4}}},
	}
	var record, said string
	orders := permutations(len(parts))
	for i, order := range orders {
		if i%5 > 0 {
			continue // each part comes first, last and between often enough
		}
		var batches []ledgertest.Records
		for _, j := range order {
			batches = append(batches, parts[j])
		}
		path := ledgertest.Path(t, batches...)
		d, lines := digest(t, path), strings.Join(estimatesIn(t, path), "\n")
		if i == 0 {
			record, said = d, lines
			if strings.Count(lines, "\n") != 5 || !strings.Contains(lines, "A 2021 frame 7") {
				t.Fatalf("estimates:\n%s", lines)
			}
		}
		if d != record {
			t.Fatalf("order %v: another record than %v", order, orders[0])
		}
		if lines != said {
			t.Fatalf("order %v: %s\nwant %s", order, lines, said)
		}
	}
}

func permutations(n int) [][]int {
	if n == 0 {
		return [][]int{{}}
	}
	var out [][]int
	for _, p := range permutations(n - 1) {
		for i := range n {
			out = append(out, slices.Insert(slices.Clone(p), i, n-1))
		}
	}
	return out
}

// estimatesIn reads the estimates as SITE YEAR frame LABEL COMPONENT OBSERVER:
// estimate in g/m2 by what ground, and what it is compared with.
func estimatesIn(t *testing.T, path string) []string {
	t.Helper()
	var out []string
	num := func(n schema.Num) string {
		if !n.Valid {
			return "-"
		}
		return fmt.Sprintf("%.4g", n.Float64)
	}
	ledgertest.Read(t, path, func(s *schema.Snapshot) error {
		return s.Estimates(func(e *schema.EstimateRecord) error {
			caged := ""
			if e.Caged {
				caged = " caged"
			}
			out = append(out, strings.Join(strings.Fields(fmt.Sprintf("%s %d frame %s%s %s %s %s %s: %s by %s %s, clipped %v %s %s book %v",
				e.Site, e.Year, e.Frame, caged, e.Component, e.Species, e.Observer, e.State, num(e.GPerM2), e.AreaFrom, e.FrameType,
				e.Clipped, num(e.ClippedGreen), num(e.ClippedDry), e.ClippedBook)), " "))
			return nil
		})
	})
	return out
}

// What an estimate is compared with, worked out by hand: frames of 1 m2.
func TestEstimatesBesideTheirClippings(t *testing.T) {
	bag := func(frame string, c schema.Component, species string, green, dry float64) schema.Clipping {
		return schema.Clipping{Site: "A", Year: 2020, Frame: frame, FrameType: "0.5 m2", Component: c, Species: species, GreenG: schema.Some(green), DryG: schema.Some(dry), Basis: schema.AirDry}
	}
	composite := bag("4", schema.Herbaceous, "", 40, 20)
	composite.FramesInBag = 4
	lost := bag("5", schema.Herbaceous, "", 0, 0)
	lost.GreenG, lost.DryG, lost.Status = schema.Num{}, schema.Num{}, schema.StatusLost
	booked := herb("6", 10)
	booked.FrameType = "0.5 m2"
	of := func(frame string, c schema.Component, species string, g float64) schema.Estimate {
		e := eye(frame, "Wren", g)
		e.Component, e.Species = c, species
		return e
	}
	dry := of("2", schema.Herbaceous, "", 6)
	dry.State, dry.Basis = schema.StateDry, schema.OvenDry
	area := of("1", schema.Browse, "", 33)
	area.State, area.PerM2 = schema.StateDry, true
	own := of("9", schema.Litter, "", 2)
	own.FrameType = "0.25 m2"
	path := ledgertest.Path(t, ledgertest.Records{Species: []schema.Species{{Line: 2, Code: "P1"}, {Line: 3, Code: "P2"}, {Line: 4, Code: "P3"}},
		Clippings: []schema.Clipping{bag("1", schema.Herbaceous, "P1", 10, 5), bag("1", schema.Herbaceous, "P2", 6, 2), bag("2", schema.Herbaceous, "", 8, 3),
			bag("3", schema.Browse, "", 12, 6), composite, lost, booked}},
		eyes(of("1", schema.Herbaceous, "P1", 4), of("1", schema.Herbaceous, "P3", 1), of("2", schema.Herbaceous, "P1", 1), dry, area,
			of("3", schema.Herbaceous, "", 0), of("4", schema.Herbaceous, "", 6), of("5", schema.Herbaceous, "", 6), of("6", schema.Herbaceous, "", 6),
			of("7", schema.Herbaceous, "", 6), of("7", schema.Litter, "", 6), own))
	want := []string{
		"A 2020 frame 2 herbaceous Wren dry: 13.33 by frame 0.5 m2, clipped true 16 6 book false",   // 6/0.5/0.9
		"A 2020 frame 3 herbaceous Wren green: 0 by occasion 0.5 m2, clipped true 0 0 book false",   // looked for, not found
		"A 2020 frame 4 herbaceous Wren green: 12 by frame 0.5 m2, clipped true 20 10 book false",   // one frame beside a bag of four
		"A 2020 frame 5 herbaceous Wren green: 12 by frame 0.5 m2, clipped true - - book false",     // lost
		"A 2020 frame 6 herbaceous Wren green: 12 by frame 0.5 m2, clipped true 20 - book false",    // see below
		"A 2020 frame 7 herbaceous Wren green: 12 by occasion 0.5 m2, clipped false - - book false", // not clipped
		"A 2020 frame 1 herbaceous P1 Wren green: 8 by frame 0.5 m2, clipped true 20 10 book false", // of its species alone
		"A 2020 frame 2 herbaceous P1 Wren green: 2 by frame 0.5 m2, clipped false - - book false",  // weighed without species
		"A 2020 frame 1 herbaceous P3 Wren green: 2 by frame 0.5 m2, clipped true 0 0 book false",   // sorted, not among them
		"A 2020 frame 1 browse Wren dry: 33 by , clipped true 0 0 book false",                       // per area; recorded at the site
		"A 2020 frame 7 litter Wren green: - by , clipped false - - book false",                     // on what ground nobody knows
		"A 2020 frame 9 litter Wren green: 8 by row 0.25 m2, clipped false - - book false",
	}
	got := estimatesIn(t, path)
	// grass-cool seed-ripe is in the built-in table: the dry weight rests on it.
	for i := range want {
		if strings.Contains(want[i], "frame 6 ") {
			want[i] = strings.Replace(want[i], "20 - book false", "20 "+fmt.Sprintf("%.4g", 20*query[float64](t, path, `SELECT dm_pct/100 FROM book_value WHERE growth_form='grass-cool' AND stage='seed-ripe'`))+" book true", 1)
		}
	}
	if !slices.Equal(got, want) {
		t.Errorf("got\n%s\nwant\n%s", strings.Join(got, "\n"), strings.Join(want, "\n"))
	}
	ledgertest.Read(t, path, func(s *schema.Snapshot) error {
		counts, err := s.EstimatedFrames()
		if err != nil {
			return err
		}
		if c := counts[1]; c.Component != schema.Herbaceous || c.Frames != 5 || c.Clipped != 3 || c.State != schema.StateGreen {
			t.Errorf("counted %+v, want five frames, three of them weighed", c)
		}
		if len(counts) != 6 {
			t.Errorf("%d groups, want six: %+v", len(counts), counts)
		}
		return nil
	})
}

func TestEstimatesContradictAndComplete(t *testing.T) {
	first := eye("1", "Wren", 12)
	with := func(change func(*schema.Estimate)) schema.Estimate {
		e := first
		change(&e)
		return e
	}
	for name, c := range map[string]struct {
		again                     schema.Estimate
		want                      string // of the problem; "" where there is none
		added, changed, identical int
	}{
		"again":        {first, "", 0, 0, 1},
		"other":        {eye("1", "Tolly", 12), "", 1, 0, 0},
		"state":        {with(func(e *schema.Estimate) { e.State, e.G = schema.StateDry, 5 }), "", 1, 0, 0},
		"date":         {with(func(e *schema.Estimate) { e.Date = "2020-06-01" }), "", 0, 1, 0},
		"frame type":   {with(func(e *schema.Estimate) { e.FrameType = "1 m2" }), "", 0, 1, 0},
		"weight":       {with(func(e *schema.Estimate) { e.G = 13 }), `estimates.csv:2: column estimate_green_g: "13": the ledger holds "12" (import 2, estimates.csv line 2); correct the file, or use --replace to change the ledger and keep the old value in its history`, 0, 0, 0},
		"with species": {with(func(e *schema.Estimate) { e.Species = "P1" }), `estimates.csv:2: column species: "P1": this observer's estimates of the component in this frame name a species once and none once (import 2, estimates.csv line 2); a total beside its species would count twice: leave out the total, or name the rest as a species of its own`, 0, 0, 0},
		"per area":     {with(func(e *schema.Estimate) { e.PerM2 = true }), `estimates.csv:2: the ledger holds this estimate in grams a frame, this row gives it per area (import 2, estimates.csv line 2); give it in the same form, or use --replace to change the ledger and keep the old value in its history`, 0, 0, 0},
	} {
		t.Run(name, func(t *testing.T) {
			path := ledgertest.Path(t, eyes(first))
			problems, counts := ledgertest.ImportCounted(t, path, eyes(c.again))
			if got := fmt.Sprint(problems); c.want == "" && len(problems) > 0 || c.want != "" && got != "["+c.want+"]" {
				t.Errorf("problems\n%s\nwant\n%s", got, c.want)
			}
			if want := [3]int{c.added, c.changed, c.identical}; counts != want && c.want == "" {
				t.Errorf("added, changed, identical %v, want %v", counts, want)
			}
		})
	}
	// That a later row names the year contradicts nothing, and is remembered.
	dated := eye("1", "Wren", 12)
	dated.Date, dated.Year = "2020-06-01", 0
	path := ledgertest.Path(t, eyes(dated))
	dated.Year = 2020
	if p, counts := ledgertest.ImportCounted(t, path, eyes(dated)); len(p) > 0 || counts != [3]int{0, 1, 0} {
		t.Errorf("problems %v, counts %v", p, counts)
	}
	// --replace changes, and the history says from what.
	again := eyes(eye("1", "Wren", 20))
	again.Replace = true
	if p := ledgertest.Import(t, path, again); len(p) > 0 {
		t.Fatal(p)
	}
	got := strings.Join(keyedChanges(t, path), "\n")
	if want := "estimate A 2020 peak transect 1 frame 1 herbaceous Wren green g: 12 -> 20"; !strings.Contains(got, want) {
		t.Errorf("history\n%s\nlacks %s", got, want)
	}
}

// keyedChanges lists the history with the keys of records.
func keyedChanges(t *testing.T, path string) []string {
	t.Helper()
	var out []string
	ledgertest.Read(t, path, func(s *schema.Snapshot) error {
		return s.Changes(func(c *schema.ChangeRecord) error {
			now := c.New
			if c.Deleted {
				now = "(deleted)"
			}
			out = append(out, fmt.Sprintf("%s %s %s: %s -> %s", c.Record, c.Key, c.Column, c.Old, now))
			return nil
		})
	})
	return out
}

// Estimates and clippings of one frame are taken back in any order, and leave
// what the other import alone would have made.
func TestUndoEstimates(t *testing.T) {
	site := ledgertest.Records{Sites: []schema.Site{{Line: 2, Site: "A"}}}
	parts := []ledgertest.Records{clips(herb("1", 10), herb("2", 20)), eyes(eye("1", "Wren", 12), eye("3", "Wren", 0)), eyes(eye("1", "Tolly", 9), eye("3", "Tolly", 1))}
	only := func(which []int) string {
		batches := []ledgertest.Records{site}
		for _, i := range which {
			batches = append(batches, parts[i])
		}
		return digest(t, ledgertest.Path(t, batches...))
	}
	for i, order := range permutations(3) {
		undone := permutations(3)[i]
		for _, undone := range [][]int{undone, {undone[1], undone[0], undone[2]}} {
			path := ledgertest.Path(t, site, parts[order[0]], parts[order[1]], parts[order[2]])
			left := slices.Clone(order)
			for _, i := range undone {
				if p := undo(t, path, int64(slices.Index(order, i)+3)); len(p) > 0 {
					t.Fatalf("imported %v, undone %v: undoing %d was refused: %v", order, undone, i, p)
				}
				left = slices.DeleteFunc(left, func(j int) bool { return j == i })
				if digest(t, path) != only(left) {
					t.Errorf("imported %v, undone %v: with %d taken back the record is not that of %v alone", order, undone, i, left)
				}
			}
			if n := query[int](t, path, `SELECT count(*) FROM visit`); n != 0 {
				t.Errorf("imported %v, undone %v: %d frames are left", order, undone, n)
			}
		}
	}
}

// A new first month of the growth year moves estimates by their dates, with
// their frames and without.
func TestAnotherFirstMonthMovesEstimates(t *testing.T) {
	on := func(frame, date string, year int) schema.Estimate {
		e := eye(frame, "Wren", 5)
		e.Date, e.Year = date, year
		return e
	}
	bags := clips(cut("1", "2019-11-20", 0, 1), cut("2", "2019-11-20", 0, 2))
	list := eyes(on("1", "2019-11-20", 0), on("2", "", 2020), on("3", "2019-11-20", 0), on("4", "2019-11-20", 2019))
	years := func(path string) string {
		return query[string](t, path, `SELECT group_concat(growth_year || ':' || frame, ' ') FROM (SELECT growth_year, frame FROM estimate JOIN visit v USING(visit_id) JOIN occasion o ON o.occasion_id = v.occasion_id ORDER BY 1, 2)`)
	}
	const want = "2019:4 2020:1 2020:2 2020:3"
	moved := ledgertest.Path(t, startsIn(1), bags, list)
	if p := ledgertest.Import(t, moved, startsIn(10)); len(p) > 0 {
		t.Fatal(p)
	}
	if got := years(moved); got != want {
		t.Errorf("moved: %s, want %s", got, want)
	}
	start := ledgertest.Path(t, startsIn(10), bags, list)
	if got := years(start); got != want {
		t.Errorf("from the start: %s, want %s", got, want)
	}
	if digest(t, moved) != digest(t, start) {
		t.Error("moved, it is another record than declared from the start")
	}
	if p := undo(t, moved, 5); len(p) == 0 || !strings.Contains(p[0].Message(), "moved frames to other growth years") {
		t.Errorf("undoing the move: %v", p)
	}
	// Estimates of one frame part from one another, and from what was clipped,
	// where their dates come to other years, and back again.
	tolly := on("7", "2019-05-20", 0)
	tolly.Observer = "Tolly"
	apart := []ledgertest.Records{clips(cut("8", "2019-11-20", 2019, 1)), eyes(on("7", "2019-11-20", 0), tolly, on("8", "2019-11-20", 0))}
	moved = ledgertest.Path(t, startsIn(1), apart[0], apart[1])
	january := digest(t, moved)
	if p := ledgertest.Import(t, moved, startsIn(10)); len(p) > 0 {
		t.Fatal(p)
	}
	if got, want := years(moved), "2019:7 2020:7 2020:8"; got != want {
		t.Errorf("parted: %s, want %s", got, want)
	}
	if digest(t, moved) != digest(t, ledgertest.Path(t, startsIn(10), apart[0], apart[1])) {
		t.Error("parted, it is another record than declared from the start")
	}
	if p := undo(t, moved, 5); len(p) == 0 {
		t.Error("a change that parted estimates was undone as if it had not")
	}
	if p := ledgertest.Import(t, moved, startsIn(1)); len(p) > 0 {
		t.Fatal(p)
	}
	if got := years(moved); got != "2019:7 2019:7 2019:8" || digest(t, moved) != january {
		t.Errorf("and back again: %s", got)
	}
}

// Counts at import: a frame that was only estimated is new to whoever clips.
func TestClippingAnEstimatedFrameIsAdded(t *testing.T) {
	path := ledgertest.Path(t, eyes(eye("1", "Wren", 12), eye("2", "Wren", 3)))
	empty := schema.Clipping{Site: "A", Year: 2020, Frame: "2", FrameType: "1 m2", Status: schema.StatusEmpty}
	if p, counts := ledgertest.ImportCounted(t, path, clips(herb("1", 10), empty)); len(p) > 0 || counts != [3]int{2, 0, 0} {
		t.Errorf("problems %v, added, changed, identical %v; want two added", p, counts)
	}
	if p, counts := ledgertest.ImportCounted(t, path, clips(herb("1", 10), empty)); len(p) > 0 || counts != [3]int{0, 0, 2} {
		t.Errorf("again: problems %v, counts %v; want two identical", p, counts)
	}
}
