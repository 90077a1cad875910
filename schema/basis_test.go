package schema_test

import (
	"fmt"
	"math"
	"testing"

	"clipledger/schema"
	"clipledger/schema/ledgertest"
)

// fourWays is one bag of 100 g green a year, whose dry weight is 45 g on the
// basis it says, come by in four ways.
func fourWays(basis string) ledgertest.Records {
	bags := []schema.Clipping{grass2(), grass2(), grass2(), grass2()}
	for i := range bags {
		bags[i].Year = 2020 + i
	}
	bags[0].DryG, bags[0].Basis = schema.Some(45), basis
	bags[1].DMPct, bags[1].Basis = schema.Some(45), basis
	sample := dried(45, func(d *schema.Drying) { d.Year, d.Basis = 2022, basis })
	book := mine(45)
	book.Basis = basis
	return ledgertest.Records{Clippings: bags, Drying: []schema.Drying{sample}, BookValues: []schema.BookValue{book}}
}

// Oven-dry = air-dry × (1 - m), m = 0.10 unless set. Whatever carries a basis
// is brought to the ledger's.
func TestBasisIsConvertedBothWays(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		ledger, record, moisture string
		want                     float64
	}{
		{schema.AirDry, schema.AirDry, "0.10", 45},
		{schema.AirDry, schema.OvenDry, "0.10", 50},     // 45 / 0.9
		{schema.OvenDry, schema.AirDry, "0.10", 40.5},   // 45 × 0.9
		{schema.OvenDry, schema.OvenDry, "0.10", 45},    //
		{schema.AirDry, schema.OvenDry, "0.25", 60},     // 45 / 0.75
		{schema.OvenDry, schema.AirDry, "0.2", 36},      // 45 × 0.8
		{schema.AirDry, schema.UnknownBasis, "0.1", 45}, // taken as the ledger's
		{schema.OvenDry, schema.UnknownBasis, "0.1", 45},
		{schema.AirDry, "", "0.1", 45}, // not said: the ledger's
		{schema.OvenDry, "", "0.1", 45},
	} {
		t.Run(fmt.Sprintf("%q in a ledger that is %s, m %s", tt.record, tt.ledger, tt.moisture), func(t *testing.T) {
			path := ledgertest.Path(t, ledgertest.Records{Settings: map[string]string{"basis": tt.ledger, "moisture": tt.moisture}}, fourWays(tt.record),
				ledgertest.Records{Settings: map[string]string{"book-tables": "mine"}})
			book := "book value"
			if tt.record == schema.AirDry && tt.ledger == schema.OvenDry || tt.record == schema.OvenDry && tt.ledger == schema.AirDry {
				book = "book value, other basis"
			}
			for i, method := range []string{"measured", "percentage on the row", "drying samples of the component", book} {
				where := fmt.Sprintf(" FROM bag_dry_weight WHERE growth_year=%d", 2020+i)
				if got := query[string](t, path, "SELECT method"+where); got != method {
					t.Errorf("method %q, want %q", got, method)
				}
				if got := query[float64](t, path, "SELECT dry_g"+where); math.Abs(got-tt.want) > 1e-9 {
					t.Errorf("%s: %v, want %v", method, got, tt.want)
				}
			}
			soundLedger(t, path)
		})
	}
}

// A weight that came without a basis was meant on the ledger's of that day,
// and keeps what it meant when the ledger's changes; one of unknown basis is
// taken as the ledger's whichever that is.
func TestChangingTheLedgersBasis(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		basis string
		want  float64
	}{{"", 40.5}, {schema.AirDry, 40.5}, {schema.OvenDry, 45}, {schema.UnknownBasis, 45}} {
		c := grass2()
		c.DryG, c.Basis = schema.Some(45), tt.basis
		path := ledgertest.Path(t, ledgertest.Records{Clippings: []schema.Clipping{c}}, ledgertest.Records{Settings: map[string]string{"basis": schema.OvenDry}})
		wantDry(t, path, tt.want, "measured")
		if got := query[string](t, path, "SELECT basis FROM bag_dry_weight"); got != schema.OvenDry {
			t.Errorf("the view names the basis %q, want the ledger's", got)
		}
	}
}

// The handbook is air-dry: 100 g of ripe grass are 60 g air-dry, 54 g oven-dry.
// A trace and a fallback are on the ledger's basis whichever that is.
func TestWhatIsOnTheLedgersOwnBasis(t *testing.T) {
	path := ledgertest.Path(t, ledgertest.Records{Settings: map[string]string{"basis": schema.OvenDry}, Clippings: []schema.Clipping{grass2()}})
	wantDry(t, path, 54, "book value, other basis")

	c := grass2()
	c.Stage = ""
	path = ledgertest.Path(t, ledgertest.Records{Settings: map[string]string{"basis": schema.OvenDry, "fallback-herbaceous": "30"}, Clippings: []schema.Clipping{c}})
	wantDry(t, path, 30, "fallback percentage")

	c.GreenG, c.Trace = schema.Num{}, schema.TraceDry
	path = ledgertest.Path(t, ledgertest.Records{Settings: map[string]string{"basis": schema.OvenDry, "trace-g": "0.5"}, Clippings: []schema.Clipping{c}})
	wantDry(t, path, 0.5, "trace")
}
