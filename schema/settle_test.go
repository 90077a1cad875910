package schema_test

import (
	"fmt"
	"testing"

	"clipledger/schema"
	"clipledger/schema/ledgertest"
)

// A change of rules reaches every bag, also where there are more occasions
// than are settled at once: a new basis, a book table put in force, a species
// that got a growth form.
func TestRulesReachEveryOccasion(t *testing.T) {
	t.Parallel()
	const occasions = 250
	r := ledgertest.Records{Species: []schema.Species{{Code: "POA1"}, {Code: "FORB1", GrowthForm: "forb-leafy"}}}
	for i := range occasions {
		bag := schema.Clipping{Site: fmt.Sprint("S", i/10), Year: 2010 + i%10, Frame: "1", FrameType: "1 m2", Component: schema.Herbaceous,
			Species: "FORB1", GreenG: schema.Some(100), DryG: schema.Some(45), Basis: schema.AirDry}
		booked := bag
		booked.Species, booked.DryG, booked.Basis, booked.Stage = "POA1", schema.Num{}, "", "seed-ripe"
		r.Clippings = append(r.Clippings, bag, booked)
	}
	path := ledgertest.Path(t, r)
	count := func(where string) int { return query[int](t, path, "SELECT count(*) FROM bag_dry_weight WHERE "+where) }
	expect := func(what, where string) {
		t.Helper()
		if n := count(where); n != occasions {
			t.Errorf("%s: %d bags, want %d", what, n, occasions)
		}
		soundLedger(t, path)
	}
	expect("as imported", "method='measured' AND abs(dry_g-45) < 1e-9")
	expect("no growth form", "method='none' AND dry_g IS NULL")
	change := func(r ledgertest.Records) {
		t.Helper()
		r.Replace = true
		if p := ledgertest.Import(t, path, r); len(p) > 0 {
			t.Fatal(p)
		}
	}
	change(ledgertest.Records{Settings: map[string]string{"basis": schema.OvenDry}})
	expect("another basis", "method='measured' AND abs(dry_g-40.5) < 1e-9")
	change(ledgertest.Records{Species: []schema.Species{{Code: "POA1", GrowthForm: "grass-cool"}}})
	expect("a growth form", "method='book value, other basis' AND abs(dry_g-54) < 1e-9")
	change(ledgertest.Records{BookValues: []schema.BookValue{{Table: "mine", GrowthForm: "grass-cool", Stage: "seed-ripe", DMPct: 50, Basis: schema.OvenDry}}})
	change(ledgertest.Records{Settings: map[string]string{"book-tables": "mine"}})
	expect("another book table", "method='book value' AND abs(dry_g-50) < 1e-9")
}
