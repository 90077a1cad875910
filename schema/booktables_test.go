package schema_test

import (
	"context"
	"strings"
	"testing"

	"clipledger/schema"
	"clipledger/schema/ledgertest"
)

// Book tables: importing one never changes a number, putting it in force does.

func mine(pct float64) schema.BookValue {
	return schema.BookValue{Line: 2, Table: "mine", GrowthForm: "grass-cool", Stage: "seed-ripe", DMPct: pct}
}

func TestImportingATableChangesNothing(t *testing.T) {
	path := ledgertest.Path(t, ledgertest.Records{Clippings: []schema.Clipping{grass2()}})
	wantDry(t, path, 60, "book value")
	ledgertest.Import(t, path, ledgertest.Records{BookValues: []schema.BookValue{mine(44)}})
	wantDry(t, path, 60, "book value")
	// A later bag does not use it either.
	next := grass2()
	next.Frame = "2"
	ledgertest.Import(t, path, ledgertest.Records{Clippings: []schema.Clipping{next}})
	if got := query[float64](t, path, "SELECT dry_g FROM bag_dry_weight WHERE frame='2'"); got != 60 {
		t.Errorf("a bag after the import of a table weighs %v, want 60 still", got)
	}
}

// grass2 is a bag that names its growth form and stage.
func grass2() schema.Clipping {
	c := grass()
	c.Species, c.GrowthForm = "", "grass-cool"
	return c
}

func TestSettingPutsATableInForce(t *testing.T) {
	path := ledgertest.Path(t, ledgertest.Records{Clippings: []schema.Clipping{grass2()}, BookValues: []schema.BookValue{mine(44)}})
	ledgertest.Import(t, path, ledgertest.Records{Settings: map[string]string{"book-tables": "mine,handbook"}})
	wantDry(t, path, 44, "book value")
	ledgertest.Import(t, path, ledgertest.Records{Settings: map[string]string{"book-tables": "handbook,mine"}})
	wantDry(t, path, 60, "book value")
	if got := query[int](t, path, "SELECT count(*) FROM change WHERE record='setting'"); got != 1 {
		t.Errorf("the history holds %d changes of the setting, want one", got)
	}
}

func TestTableInForceIsClosed(t *testing.T) {
	stranger := mine(44)
	stranger.Stage = "heading"
	for _, tt := range []struct {
		name string
		rec  schema.BookValue
		ok   bool
	}{
		{"a new value", stranger, false},
		{"another value", mine(45), false},
		{"the value it holds", mine(44), true},
		{"the built-in table", schema.BookValue{Line: 2, Table: "handbook", GrowthForm: "grass-cool", Stage: "never-heard", DMPct: 50}, false},
		{"a third table", schema.BookValue{Line: 2, Table: "third", GrowthForm: "grass-cool", Stage: "seed-ripe", DMPct: 1}, true},
	} {
		t.Run(tt.name, func(t *testing.T) {
			path := ledgertest.Path(t, ledgertest.Records{Clippings: []schema.Clipping{grass2()}, BookValues: []schema.BookValue{mine(44)}},
				ledgertest.Records{Settings: map[string]string{"book-tables": "mine"}})
			for _, replace := range []bool{false, true} {
				problems := ledgertest.Import(t, path, ledgertest.Records{BookValues: []schema.BookValue{tt.rec}, Replace: replace})
				if refused := len(problems) > 0; refused == tt.ok {
					t.Errorf("replace %v: problems %v, want refused: %v", replace, problems, !tt.ok)
				} else if refused && !strings.Contains(problems[0].String(), "importing never changes past numbers") {
					t.Errorf("problem %s", problems[0])
				}
			}
			wantDry(t, path, 44, "book value")
		})
	}
}

// What a setting would change is known before it is made: of four bags one is
// measured and one has no stage; two change, from 60 + 30 g to 44 + 22 g.
func TestEffectIsShownBeforehand(t *testing.T) {
	bags := []schema.Clipping{grass2(), grass2(), grass2(), grass2()}
	for i := range bags {
		bags[i].Frame = string(rune('1' + i))
	}
	bags[1].GreenG = schema.Some(50)
	bags[2].DryG = schema.Some(61)
	bags[3].Stage = ""
	path := ledgertest.Path(t, ledgertest.Records{Clippings: bags, BookValues: []schema.BookValue{mine(44)}})
	l, err := schema.OpenWrite(t.Context(), path)
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	var effect schema.Effect
	err = l.Write(context.Background(), ledgertest.At, func(tx *schema.Tx) error {
		im, err := tx.Import(schema.Source{Kind: "settings", Replace: true})
		if err != nil {
			return err
		}
		if err := im.PutSetting("book-tables", "mine"); err != nil {
			return err
		}
		if err := im.Finish(""); err != nil {
			return err
		}
		if effect, err = tx.EffectOnWeights(); err != nil {
			return err
		}
		return schema.ErrDryRun
	})
	if want := (schema.Effect{Bags: 2, Sites: 1, Before: 90, After: 66}); effect != want {
		t.Errorf("effect %+v, want %+v (%v)", effect, want, err)
	}
	if got := query[float64](t, path, "SELECT sum(dry_g) FROM bag_dry_weight"); got != 151 {
		t.Errorf("after looking only, the bags weigh %v, want 151 still", got)
	}
}

func TestNamedTableMustExist(t *testing.T) {
	path := ledgertest.Path(t, ledgertest.Records{BookValues: []schema.BookValue{mine(44)}})
	l, err := schema.OpenWrite(t.Context(), path)
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	l.Write(t.Context(), ledgertest.At, func(tx *schema.Tx) error {
		for list, ok := range map[string]bool{"mine": true, "mine, handbook": true, "yours": false, "mine,mine": false, "": true} {
			if err := tx.CheckBookTables(list); (err == nil) != ok {
				t.Errorf("%q: %v, want it accepted: %v", list, err, ok)
			}
		}
		return schema.ErrDryRun
	})
}

// Percentages never fall as plants ripen, and lie within 0 to 100: what can be
// checked of a table that was written down from memory.
func TestHandbookTableIsInOrder(t *testing.T) {
	path := ledgertest.Path(t, ledgertest.Records{Clippings: []schema.Clipping{grass2()}})
	stages := map[string][]string{
		"grass": {"pre-heading", "heading", "seed-ripe", "drying", "dormant"},
		"forb":  {"pre-flowering", "flowering", "seed-ripe", "drying", "dry"},
	}
	for group, list := range stages {
		for i := 1; i < len(list); i++ {
			falls := query[int](t, path, `SELECT count(*) FROM book_value a JOIN book_value b USING(book, growth_form)
				WHERE a.growth_form LIKE '`+group+`%' AND a.stage='`+list[i-1]+`' AND b.stage='`+list[i]+`' AND b.dm_pct < a.dm_pct`)
			pairs := query[int](t, path, `SELECT count(*) FROM book_value a JOIN book_value b USING(book, growth_form)
				WHERE a.growth_form LIKE '`+group+`%' AND a.stage='`+list[i-1]+`' AND b.stage='`+list[i]+`'`)
			if falls > 0 || pairs == 0 {
				t.Errorf("%s from %s to %s: %d of %d fall", group, list[i-1], list[i], falls, pairs)
			}
		}
	}
	if n := query[int](t, path, "SELECT count(*) FROM book_value WHERE source NOT LIKE '%from memory, not checked against print%'"); n > 0 {
		t.Errorf("%d values of the built-in table do not say that they are from memory", n)
	}
}
