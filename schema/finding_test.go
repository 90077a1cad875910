package schema_test

import (
	"context"
	"testing"

	"clipledger/schema"
	"clipledger/schema/ledgertest"
)

// accept writes one note as the command does, and tells what it came to.
func accept(t *testing.T, path, id, note string) (added, changed int, err error) {
	t.Helper()
	l, openErr := schema.OpenExisting(t.Context(), path)
	if openErr != nil {
		t.Fatal(openErr)
	}
	defer l.Close()
	err = l.Write(context.Background(), ledgertest.At, func(tx *schema.Tx) error {
		im, err := tx.Import(schema.Source{Kind: "accept", Replace: true})
		if err != nil {
			return err
		}
		if err := im.AcceptFinding(id, note); err != nil {
			return err
		}
		added, changed = im.Added, im.Changed
		return im.Finish("")
	})
	return added, changed, err
}

// A note is kept, changed with its history, and never blank.
func TestAcceptFinding(t *testing.T) {
	path := ledgertest.Path(t, ledgertest.Records{Clippings: []schema.Clipping{{Site: "A", Year: 2020, Frame: "1", FrameType: "1 m2",
		Component: schema.Herbaceous, GreenG: schema.Some(10)}}})
	for _, step := range []struct {
		note           string
		added, changed int
	}{{"first", 1, 0}, {"first", 0, 0}, {"second", 0, 1}} {
		added, changed, err := accept(t, path, "abc", step.note)
		if err != nil || added != step.added || changed != step.changed {
			t.Errorf("%q: added %d, changed %d, %v; want %d, %d", step.note, added, changed, err, step.added, step.changed)
		}
	}
	for _, note := range []string{"", "  "} {
		if _, _, err := accept(t, path, "abc", note); err == nil {
			t.Errorf("the note %q was taken", note)
		}
	}
	ledgertest.Read(t, path, func(s *schema.Snapshot) error {
		notes, err := s.AcceptedFindings()
		if err != nil {
			return err
		}
		if len(notes) != 1 || notes["abc"] != "second" {
			t.Errorf("notes %v, want the second", notes)
		}
		var old []string
		err = s.Changes(func(c *schema.ChangeRecord) error {
			if c.Record == "accepted_finding" && c.Column == "note" {
				old = append(old, c.Old+" > "+c.New)
			}
			return nil
		})
		if len(old) != 1 || old[0] != "first > second" {
			t.Errorf("history %q, want the change of the note", old)
		}
		return err
	})
}

// The readers give records as they were written, with their lines.
func TestCheckReaders(t *testing.T) {
	path := ledgertest.Path(t, ledgertest.Records{
		Species: []schema.Species{{Code: "POA1", GrowthForm: "grass-cool", Component: schema.Herbaceous}},
		Drying:  []schema.Drying{{Site: "A", Year: 2020, Season: "peak", Component: schema.Herbaceous, Species: "POA1", GreenG: 20, DryG: 9, Line: 7}},
		Clippings: []schema.Clipping{
			{Site: "A", Year: 2020, Date: "2020-07-01", Frame: "1", FrameType: "1 m2", Component: schema.Herbaceous, Species: "POA1", GreenG: schema.Some(10), Observer: "Wren"},
			{Site: "A", Year: 2020, Date: "2020-07-01", Frame: "1", FrameType: "4 m2", Component: schema.Browse, GreenG: schema.Some(30), Stage: "full-leaf"},
			{Site: "A", Year: 2021, Frame: "2", FrameType: "1 m2", Component: schema.Herbaceous, Status: schema.StatusEmpty},
		}})
	ledgertest.Read(t, path, func(s *schema.Snapshot) error {
		names, err := s.CheckNames()
		if err != nil {
			return err
		}
		const all = 1 << 30 // occasions
		var bags []schema.CheckBag
		if err := s.CheckBags(0, all, func(b *schema.CheckBag) error { bags = append(bags, *b); return nil }); err != nil {
			return err
		}
		var visits []schema.CheckVisit
		if err := s.CheckVisits(0, all, func(v *schema.CheckVisit) error { visits = append(visits, *v); return nil }); err != nil {
			return err
		}
		if len(bags) < 2 || len(visits) != 2 {
			t.Fatalf("%d bags and %d frames, want three rows in two frames", len(bags), len(visits))
		}
		if b := bags[0]; names.Species[b.SpeciesID].Code != "POA1" || b.GreenG.Float64 != 10 || b.Line != 2 || names.Files[b.ImportID] != "clippings.csv" {
			t.Errorf("first bag %+v of %s", b, names.Files[b.ImportID])
		}
		if v := visits[0]; v.Date != "2020-07-01" || !v.Clipped || names.Observers[v.ObserverID] != "Wren" || v.Recorded != 3 {
			t.Errorf("first frame %+v", v)
		}
		var again int
		if err := s.CheckBagsOf([]int64{visits[0].Visit}, func(b *schema.CheckBag) error { again++; return nil }); err != nil {
			return err
		}
		if again != 2 {
			t.Errorf("%d bags of the first frame, want 2", again)
		}
		var plots, samples int
		if err := s.CheckPlots(0, all, func(p *schema.CheckPlot) error {
			plots++
			if names.FrameTypes[p.FrameTypeID] != "4 m2" {
				t.Errorf("plot %+v", p)
			}
			return nil
		}); err != nil {
			return err
		}
		err = s.CheckDryings(0, all, func(d *schema.CheckDrying) error {
			samples++
			if d.Line != 7 || d.DryG != 9 {
				t.Errorf("sample %+v", d)
			}
			return nil
		})
		if plots != 1 || samples != 1 {
			t.Errorf("%d plots, %d samples; want one each", plots, samples)
		}
		return err
	})
}
