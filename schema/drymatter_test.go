package schema_test

import (
	"math"
	"testing"

	"clipledger/schema"
	"clipledger/schema/ledgertest"
)

// Which way to a dry weight wins. One bag of 100 g green, with every way open
// at first and each giving a number of its own; then the ways are closed one
// by one.

// grass is the bag: a species of the form grass-cool at the stage seed-ripe.
func grass() schema.Clipping {
	c := herb("1", 100)
	c.FrameType, c.GrowthForm, c.Species = "1 m2", "", "POA1"
	return c
}

// dried is a drying sample of the bag's occasion: 100 g green to dry g.
func dried(dry float64, set func(*schema.Drying)) schema.Drying {
	d := schema.Drying{Line: 2, Site: "A", Year: 2020, Season: "peak", Component: schema.Herbaceous, GreenG: 100, DryG: dry}
	if set != nil {
		set(&d)
	}
	return d
}

// soundLedger fails where the ledger's own check finds a fault; it holds the
// rule in Go and the rule in the view together.
func soundLedger(t *testing.T, path string) {
	t.Helper()
	ledgertest.Read(t, path, func(s *schema.Snapshot) error {
		checks, err := s.Verify()
		for _, c := range checks {
			for _, f := range c.Faults {
				t.Errorf("verify, %s: %s", c.Name, f)
			}
		}
		return err
	})
}

// wantDry compares the dry weight of the ledger's only bag and how it was
// come by.
func wantDry(t *testing.T, path string, want float64, method string) {
	t.Helper()
	got := query[*float64](t, path, "SELECT dry_g FROM bag_dry_weight")
	how := query[string](t, path, "SELECT method FROM bag_dry_weight")
	switch {
	case how != method:
		t.Errorf("method %q, want %q", how, method)
	case math.IsNaN(want) && got != nil:
		t.Errorf("dry weight %v, want none", *got)
	case !math.IsNaN(want) && (got == nil || math.Abs(*got-want) > 1e-9):
		t.Errorf("dry weight %v, want %v", got, want)
	}
	soundLedger(t, path)
}

func TestOrderOfWaysToADryWeight(t *testing.T) {
	t.Parallel()
	bag := grass()
	bag.DryG, bag.DMPct = schema.Some(71), schema.Some(40)
	samples := []schema.Drying{
		dried(70, func(d *schema.Drying) { d.Species, d.Transect, d.Frame = "POA1", "1", "1" }),
		dried(60, func(d *schema.Drying) { d.Species = "POA1" }),
		dried(50, func(d *schema.Drying) { d.GrowthForm = "grass-cool" }),
		dried(30, nil),
	}
	records := ledgertest.Records{
		Settings: map[string]string{"fallback-herbaceous": "10", "book-tables": "first,second"},
		Species:  []schema.Species{{Code: "POA1", GrowthForm: "grass-cool"}},
		BookValues: []schema.BookValue{
			{Table: "first", GrowthForm: "grass-cool", Stage: "seed-ripe", DMPct: 20},
			{Table: "first", Species: "POA1", Stage: "seed-ripe", DMPct: 25},
			{Table: "second", GrowthForm: "grass-cool", Stage: "seed-ripe", DMPct: 15},
		},
	}
	steps := []struct {
		dry    float64
		method string
		close  func() // closes this way, for the next step
	}{
		{71, "measured", func() { bag.DryG = schema.Num{} }},
		{70, "drying sample of this bag", func() { samples = samples[1:] }},
		{60, "drying samples of the species", func() { samples = samples[1:] }},
		{50, "drying samples of the growth form", func() { samples = samples[1:] }},
		{40, "percentage on the row", func() { bag.DMPct = schema.Num{} }},
		{30, "drying samples of the component", func() { samples = nil }},
		{25, "book value", func() { records.BookValues = append(records.BookValues[:1:1], records.BookValues[2:]...) }},
		{20, "book value", func() { records.BookValues = records.BookValues[1:] }},
		{15, "book value", func() { records.BookValues = nil }},
		{10, "fallback percentage", func() { records.Settings = map[string]string{"book-tables": "first"} }},
		{math.NaN(), "none", func() {}},
	}
	for _, step := range steps {
		t.Run(step.method, func(t *testing.T) {
			books := records
			books.Settings = nil
			settings := ledgertest.Records{Settings: records.Settings}
			clip := ledgertest.Records{Clippings: []schema.Clipping{bag}}
			dry := ledgertest.Records{Drying: samples}
			// Whatever comes first, the bag or what converts it.
			wantDry(t, ledgertest.Path(t, books, settings, dry, clip), step.dry, step.method)
			wantDry(t, ledgertest.Path(t, clip, dry, books, settings), step.dry, step.method)
		})
		step.close()
	}
}

func TestWhichDryingSamplesCount(t *testing.T) {
	t.Parallel()
	none := math.NaN()
	for _, tt := range []struct {
		name    string
		samples []schema.Drying
		dry     float64
		method  string
	}{
		{"the ratio is of sums, not a mean of ratios", // 45 by the mean of .6 and .3
			[]schema.Drying{dried(60, nil), dried(90, func(d *schema.Drying) { d.GreenG = 300 })}, 37.5, "drying samples of the component"},
		{"a sample of another species does not speak for the component",
			[]schema.Drying{dried(30, func(d *schema.Drying) { d.Species = "FORB9" })}, none, "none"},
		{"nor does one of another growth form",
			[]schema.Drying{dried(30, func(d *schema.Drying) { d.GrowthForm = "forb-leafy" })}, none, "none"},
		{"a sample of another species of the same form speaks for the form",
			[]schema.Drying{dried(55, func(d *schema.Drying) { d.Species = "POA2" })}, 55, "drying samples of the growth form"},
		{"another season", []schema.Drying{dried(30, func(d *schema.Drying) { d.Season = "fall" })}, none, "none"},
		{"another year", []schema.Drying{dried(30, func(d *schema.Drying) { d.Year = 2019 })}, none, "none"},
		{"another component", []schema.Drying{dried(30, func(d *schema.Drying) { d.Component = schema.Browse })}, none, "none"},
		{"another frame's bag speaks for its species only",
			[]schema.Drying{dried(65, func(d *schema.Drying) { d.Species, d.Transect, d.Frame = "POA1", "1", "2" })}, 65, "drying samples of the species"},
		{"another bag of the frame too",
			[]schema.Drying{dried(65, func(d *schema.Drying) { d.Species, d.Transect, d.Frame, d.Bag = "POA1", "1", "1", "b" })}, 65, "drying samples of the species"},
		{"two samples of the bag count together",
			[]schema.Drying{
				dried(40, func(d *schema.Drying) { d.Species, d.Transect, d.Frame = "POA1", "1", "1" }),
				dried(60, func(d *schema.Drying) { d.Species, d.Transect, d.Frame = "POA1", "1", "1" })}, 50, "drying sample of this bag"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			path := ledgertest.Path(t, ledgertest.Records{
				Species: []schema.Species{{Code: "POA1", GrowthForm: "grass-cool"}, {Code: "POA2", GrowthForm: "grass-cool"}},
				Drying:  tt.samples, Clippings: []schema.Clipping{func() schema.Clipping { c := grass(); c.Stage = ""; return c }()}})
			wantDry(t, path, tt.dry, tt.method)
		})
	}
}

// A sample that comes a week later, or a growth form that a species file adds,
// changes the bags that rest on it.
func TestLaterSamplesAndSpeciesSettleTheBags(t *testing.T) {
	clip := grass()
	clip.Stage = ""
	path := ledgertest.Path(t, ledgertest.Records{Clippings: []schema.Clipping{clip}})
	wantDry(t, path, math.NaN(), "none")
	ledgertest.Import(t, path, ledgertest.Records{Drying: []schema.Drying{dried(50, func(d *schema.Drying) { d.GrowthForm = "grass-cool" })}})
	wantDry(t, path, math.NaN(), "none")
	ledgertest.Import(t, path, ledgertest.Records{Species: []schema.Species{{Code: "POA1", GrowthForm: "grass-cool"}}})
	wantDry(t, path, 50, "drying samples of the growth form")
	ledgertest.Import(t, path, ledgertest.Records{Drying: []schema.Drying{dried(60, func(d *schema.Drying) { d.Species = "POA1" })}})
	wantDry(t, path, 60, "drying samples of the species")
	lab := schema.Clipping{Site: "A", Year: 2020, Frame: "1", Component: schema.Herbaceous, Species: "POA1", DryG: schema.Some(58)}
	ledgertest.Import(t, path, ledgertest.Records{Clippings: []schema.Clipping{lab}})
	wantDry(t, path, 58, "measured")
}

func TestBookValuesByTableThenSpeciesThenForm(t *testing.T) {
	form := func(table string, pct float64) schema.BookValue {
		return schema.BookValue{Table: table, GrowthForm: "grass-cool", Stage: "seed-ripe", DMPct: pct}
	}
	species := func(table string, pct float64) schema.BookValue {
		return schema.BookValue{Table: table, Species: "POA1", Stage: "seed-ripe", DMPct: pct}
	}
	for _, tt := range []struct {
		name   string
		tables string
		books  []schema.BookValue
		stage  string
		dry    float64
		method string
	}{
		{"species before form within a table", "first", []schema.BookValue{form("first", 40), species("first", 55)}, "seed-ripe", 55, "book value"},
		{"an earlier table's form before a later one's species", "first,second", []schema.BookValue{form("first", 40), species("second", 55)}, "seed-ripe", 40, "book value"},
		{"the order of the tables is the setting's", "second,first", []schema.BookValue{form("first", 40), species("second", 55)}, "seed-ripe", 55, "book value"},
		{"a table without this stage is passed over", "first,handbook", []schema.BookValue{{Table: "first", GrowthForm: "grass-cool", Stage: "dormant", DMPct: 90}},
			"seed-ripe", 60, "book value"}, // cool-season grass, seed ripe: 60 % by the handbook as remembered
		{"without a stage there is no book value", "first", []schema.BookValue{form("first", 40)}, "", math.NaN(), "none"},
		{"a table not in force is not used", "handbook", []schema.BookValue{species("first", 55)}, "seed-ripe", 60, "book value"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			c := grass()
			c.Stage = tt.stage
			path := ledgertest.Path(t,
				ledgertest.Records{BookValues: tt.books, Species: []schema.Species{{Code: "POA1", GrowthForm: "grass-cool"}}},
				ledgertest.Records{Settings: map[string]string{"book-tables": tt.tables}},
				ledgertest.Records{Clippings: []schema.Clipping{c}})
			wantDry(t, path, tt.dry, tt.method)
		})
	}
}

// Green 0 is dry 0, whatever would convert it, and whatever the basis.
func TestGreenZeroIsDryZero(t *testing.T) {
	for _, basis := range []string{schema.AirDry, schema.OvenDry} {
		c := grass()
		c.GreenG, c.DMPct = schema.Some(0), schema.Some(40)
		path := ledgertest.Path(t, ledgertest.Records{Settings: map[string]string{"basis": basis, "fallback-herbaceous": "50"},
			Drying: []schema.Drying{dried(60, nil)}, Clippings: []schema.Clipping{c}})
		wantDry(t, path, 0, "zero")
	}
}

// The fallback is of one component and does not serve another.
func TestFallbackIsOfItsComponent(t *testing.T) {
	c := grass()
	c.Stage = ""
	path := ledgertest.Path(t, ledgertest.Records{Settings: map[string]string{"fallback-browse": "50"}, Clippings: []schema.Clipping{c}})
	wantDry(t, path, math.NaN(), "none")
}
