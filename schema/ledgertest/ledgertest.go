// Package ledgertest makes small ledgers for tests.
package ledgertest

import (
	"cmp"
	"context"
	"path/filepath"
	"testing"

	"clipledger/schema"
)

// At is the time that test imports name.
const At = "2026-01-02T03:04:05Z"

// Records are what one test import brings, in the order of the fields.
type Records struct {
	Settings   map[string]string
	FrameTypes []schema.FrameType
	Species    []schema.Species
	BookValues []schema.BookValue
	Sites      []schema.Site
	Drying     []schema.Drying
	Clippings  []schema.Clipping
	Estimates  []schema.Estimate
	Classes    []schema.ClassBound
	Curves     []schema.CurvePoint
	Transects  []schema.TransectPlace
	Events     []schema.Event
	Rain       []schema.Rain
	Replace    bool
}

// Path makes a ledger file in a directory of the test and returns its path.
func Path(t testing.TB, batches ...Records) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "test.db")
	for _, r := range batches {
		if p := Import(t, path, r); len(p) > 0 {
			t.Fatalf("the ledger refused a test record: %v", p)
		}
	}
	return path
}

// Import brings records into the ledger at path, each kind as an import of
// its own within one transaction, and returns what was refused. Where
// anything was refused the ledger stays as it was.
func Import(t testing.TB, path string, r Records) []schema.Problem {
	t.Helper()
	problems, _ := ImportCounted(t, path, r)
	return problems
}

// ImportCounted is Import that also returns how many records were added,
// changed and found identical.
func ImportCounted(t testing.TB, path string, r Records) (problems []schema.Problem, counts [3]int) {
	t.Helper()
	ctx := context.Background()
	l, err := schema.OpenWrite(ctx, path)
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	err = l.Write(ctx, At, func(tx *schema.Tx) error {
		for _, step := range r.steps() {
			im, err := tx.Import(schema.Source{Kind: step.kind, File: step.kind + ".csv", Name: step.kind + ".csv", Replace: r.Replace || step.kind == "settings",
				Problem: func(p schema.Problem) { problems = append(problems, p) }})
			if err != nil {
				return err
			}
			if err := step.run(im); err != nil {
				return err
			}
			if err := im.Finish("test"); err != nil {
				return err
			}
			counts[0] += im.Added
			counts[1] += im.Changed
			counts[2] += im.Identical
		}
		if len(problems) > 0 {
			return schema.ErrDryRun
		}
		return nil
	})
	if err != nil && len(problems) == 0 {
		t.Fatal(err)
	}
	return problems, counts
}

type step struct {
	kind string
	run  func(*schema.Import) error
}

func (r Records) steps() []step {
	var out []step
	if len(r.Settings) > 0 {
		out = append(out, step{"settings", func(im *schema.Import) error {
			for name, value := range r.Settings {
				if err := im.PutSetting(name, value); err != nil {
					return err
				}
			}
			return nil
		}})
	}
	out = addStep(out, "frame-types", r.FrameTypes, (*schema.Import).FrameType)
	out = addStep(out, "species", r.Species, (*schema.Import).Species)
	out = addStep(out, "book-values", r.BookValues, (*schema.Import).BookValue)
	out = addStep(out, "sites", r.Sites, (*schema.Import).Site)
	out = addStep(out, "drying", r.Drying, (*schema.Import).Drying)
	if len(r.Clippings) > 0 {
		out = append(out, step{"clippings", func(im *schema.Import) error { return clip(im, r.Clippings) }})
	}
	out = addStep(out, "estimates", estimatesAt(r.Estimates), (*schema.Import).Estimate)
	out = addStep(out, "classes", r.Classes, (*schema.Import).ClassBound)
	out = addStep(out, "growth-curves", r.Curves, (*schema.Import).CurvePoint)
	out = addStep(out, "transects", r.Transects, (*schema.Import).TransectPlace)
	out = addStep(out, "events", r.Events, (*schema.Import).Event)
	return addStep(out, "rain", r.Rain, (*schema.Import).Rain)
}

// estimatesAt fills what intake always fills.
func estimatesAt(rows []schema.Estimate) []schema.Estimate {
	rows = append([]schema.Estimate{}, rows...)
	for i := range rows {
		e := &rows[i]
		e.Season, e.Transect = cmp.Or(e.Season, "peak"), cmp.Or(e.Transect, "1")
		e.State, e.Line = cmp.Or(e.State, schema.StateGreen), cmp.Or(e.Line, i+2)
	}
	return rows
}

func addStep[T any](out []step, kind string, records []T, put func(*schema.Import, T) error) []step {
	if len(records) == 0 {
		return out
	}
	return append(out, step{kind, func(im *schema.Import) error {
		for _, rec := range records {
			if err := put(im, rec); err != nil {
				return err
			}
		}
		return nil
	}})
}

func clip(im *schema.Import, rows []schema.Clipping) error {
	w, err := im.Clippings()
	if err != nil {
		return err
	}
	defer w.Stop()
	rows = append([]schema.Clipping{}, rows...)
	for i := range rows {
		Defaults(&rows[i], i+2)
	}
	if err := w.Add(rows); err != nil {
		return err
	}
	return w.Close()
}

// Defaults fills what intake always fills: season, transect and line.
func Defaults(c *schema.Clipping, line int) {
	if c.Season == "" {
		c.Season = "peak"
	}
	if c.Transect == "" {
		c.Transect = "1"
	}
	if c.Line == 0 {
		c.Line = line
	}
}

// Read runs fn on a snapshot of the ledger at path.
func Read(t testing.TB, path string, fn func(*schema.Snapshot) error) {
	t.Helper()
	ctx := context.Background()
	l, err := schema.OpenRead(ctx, path)
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	if err := l.Read(ctx, fn); err != nil {
		t.Fatal(err)
	}
}
