package schema_test

import (
	"context"
	"strings"
	"testing"

	"clipledger/schema"
	"clipledger/schema/ledgertest"
)

func undo(t *testing.T, path string, target int64) []schema.Problem {
	t.Helper()
	ctx := context.Background()
	l, err := schema.OpenWrite(ctx, path)
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	var problems []schema.Problem
	err = l.Write(ctx, ledgertest.At, func(tx *schema.Tx) error {
		im, err := tx.Import(schema.Source{Kind: "undo", Problem: func(p schema.Problem) { problems = append(problems, p) }})
		if err != nil {
			return err
		}
		if err := im.Undo(target); err != nil {
			return err
		}
		if len(problems) > 0 {
			return schema.ErrDryRun
		}
		return im.Finish("")
	})
	if err != nil && len(problems) == 0 {
		t.Fatal(err)
	}
	return problems
}

func digest(t *testing.T, path string) string {
	t.Helper()
	var d string
	ledgertest.Read(t, path, func(s *schema.Snapshot) error {
		checks, err := s.Verify()
		for _, c := range checks {
			for _, f := range c.Faults {
				t.Errorf("verify, %s: %s", c.Name, f)
			}
		}
		if err == nil {
			d, err = s.Digest()
		}
		return err
	})
	return d
}

// Import 1 is built in; the records of each step come as imports 2, 3, ...
func TestUndoIsTheInverseOfImport(t *testing.T) {
	lab := schema.Clipping{Site: "A", Year: 2020, Frame: "1", Component: schema.Herbaceous, DryG: schema.Some(4), Observer: "Wren"}
	browse := schema.Clipping{Site: "A", Year: 2020, Frame: "1", FrameType: "435.6 ft2", Component: schema.Browse, DryG: schema.Some(50)}
	corrected := herb("2", 21)
	steps := map[string]ledgertest.Records{
		"new rows":     {Clippings: []schema.Clipping{herb("3", 30), browse}},
		"completion":   {Clippings: []schema.Clipping{lab}},
		"replacement":  {Clippings: []schema.Clipping{corrected}, Replace: true},
		"another site": {Clippings: []schema.Clipping{{Site: "B", Year: 2021, Frame: "1", FrameType: "0.25 m2", Component: schema.Browse, DryG: schema.Some(1)}}},
		"drying":       {Drying: []schema.Drying{{Line: 2, Site: "A", Year: 2020, Season: "peak", Component: schema.Herbaceous, GreenG: 10, DryG: 3}}},
		"declaration":  {Sites: []schema.Site{{Line: 2, Site: "A", Components: []schema.DeclaredComponent{{Component: schema.Herbaceous}}, Placement: "same"}}},
		"species":      {Species: []schema.Species{{Line: 2, Code: "POA1", GrowthForm: "grass-cool"}}},
		"settings":     {Settings: map[string]string{"basis": schema.OvenDry}},
	}
	for name, step := range steps {
		t.Run(name, func(t *testing.T) {
			path := ledgertest.Path(t, ledgertest.Records{Clippings: []schema.Clipping{herb("1", 10), herb("2", 20)}})
			before := digest(t, path)
			dry := query[float64](t, path, "SELECT sum(dry_g) FROM bag_dry_weight")
			ledgertest.Import(t, path, step)
			if name != "settings" && digest(t, path) == before {
				t.Fatal("the step changed nothing")
			}
			if p := undo(t, path, 3); len(p) > 0 {
				t.Fatalf("refused: %v", p)
			}
			if digest(t, path) != before {
				t.Error("the record is not what it was")
			}
			if got := query[float64](t, path, "SELECT sum(dry_g) FROM bag_dry_weight"); got != dry {
				t.Errorf("dry weights come to %v, want %v again", got, dry)
			}
		})
	}
}

func TestUndoRefusesWhereLaterChangesStandOnIt(t *testing.T) {
	lab := schema.Clipping{Site: "A", Year: 2020, Frame: "1", Component: schema.Herbaceous, DryG: schema.Some(4)}
	path := ledgertest.Path(t, ledgertest.Records{Clippings: []schema.Clipping{herb("1", 10)}}, ledgertest.Records{Clippings: []schema.Clipping{lab}})
	before := digest(t, path)
	p := undo(t, path, 2)
	if len(p) == 0 || !strings.Contains(p[0].Message(), "import 3 changed 1 record of import 2 since") {
		t.Errorf("problems %v, want import 3 named", p)
	}
	if digest(t, path) != before {
		t.Error("a refused undo changed the record")
	}
	for target, want := range map[int64]string{1: "what the ledger began with", 99: "there is no import 99"} {
		if p := undo(t, path, target); len(p) != 1 || !strings.Contains(p[0].Message(), want) {
			t.Errorf("undo %d: %v, want %q", target, p, want)
		}
	}
	undo(t, path, 3)
	if p := undo(t, path, 3); len(p) != 1 || !strings.Contains(p[0].Message(), "was undone already") {
		t.Errorf("second undo: %v", p)
	}
	if p := undo(t, path, 2); len(p) > 0 {
		t.Errorf("with the later one undone: %v", p)
	}
	if got := query[int](t, path, "SELECT count(*) FROM bag"); got != 0 {
		t.Errorf("%d bags left, want none", got)
	}
}
