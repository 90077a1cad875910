package intake

import (
	"slices"

	"clipledger/schema"
)

// dryingRow is a row of a drying file, by quantity.
type dryingRow struct {
	Site       string `csv:"site"`
	Date       string `csv:"date"`
	Year       string `csv:"year"`
	Season     string `csv:"season"`
	Component  string `csv:"component"`
	Species    string `csv:"species"`
	GrowthForm string `csv:"growth_form"`
	Stage      string `csv:"stage"`
	Transect   string `csv:"transect"`
	Frame      string `csv:"frame"`
	Bag        string `csv:"bag"`
	Basis      string `csv:"basis"`
	Green      string `csv:"green"`
	Dry        string `csv:"dry"`
	GreenGross string `csv:"green_gross"`
	DryGross   string `csv:"dry_gross"`
	Tare       string `csv:"tare"`
}

// dryingColumns are the columns of a drying file.
func dryingColumns() []column {
	return slices.Concat(plain("site", "date", "year", "season", "component", "species", "growth_form", "stage", "transect", "frame", "bag", "basis"),
		weightColumns())
}

// dryingKind is the kind of file that Dryings reads.
func dryingKind() *kind {
	k := newKind(dryingColumns(), []string{"site"}, []string{"date", "year"}, []string{"component"}, []string{"green", "green_gross"}, []string{"dry", "dry_gross"})
	k.check = func(m *matcher) { m.lacking(append(m.missing(k.needed...), m.checkTare([]string{""})...)) }
	return k
}

// Dryings reads drying samples: subsamples weighed green and dried. Both
// weights leave net, in grams, above zero, dry no more than green.
func Dryings(f *File, o Options, v *schema.Vocabulary, emit func(schema.Drying) error, problem func(schema.Problem)) (Summary, error) {
	return readSmall(&small[dryingRow, schema.Drying]{
		kind: dryingKind(),
		read: readDrying,
		same: func(d *schema.Drying) string {
			k := *d
			k.Line, k.Basis = 0, ""
			return joinKey(k)
		},
		twice: "the same drying sample, with the same weights,",
		do:    "remove one, or tell two samples apart by bag",
	}, f, o, v, emit, problem)
}

// readDrying reads one drying sample.
func readDrying(c *checker, row *dryingRow) schema.Drying {
	day := c.date("date", row.Date)
	rec := schema.Drying{
		Line: c.line, Site: c.site("site", row.Site), Date: day, Year: c.year("year", row.Year),
		Season: c.season("season", row.Season), Component: c.component("component", row.Component),
		Species: c.species("species", row.Species), GrowthForm: c.growthForm("growth_form", row.GrowthForm),
		Frame: c.key("frame", row.Frame), Bag: c.key("bag", row.Bag), Basis: c.basis("basis", row.Basis),
		Stage: c.stage("stage", row.Stage),
	}
	if row.Date == "" && row.Year == "" {
		c.noDateNorYear()
	}
	c.dateAndYear(day, rec.Year)
	if row.Component == "" {
		c.bad("component", "", "is missing", "write "+listWords(c.known.components.names, "or"))
	}
	transect := c.transect("transect", row.Transect)
	if rec.Frame != "" || row.Transect != "" { // a sample of no frame belongs to no transect unless it says so
		rec.Transect = transect
	}
	rec.GreenG, rec.DryG = c.driedWeights(row)
	return rec
}

// driedWeights reads the two weights of a sample in grams.
func (c *checker) driedWeights(row *dryingRow) (greenG, dryG float64) {
	w := newWeighing(c.binding.source)
	cells := [weighingCells]string{atGreen: row.Green, atDry: row.Dry, atGreenGross: row.GreenGross, atDryGross: row.DryGross, atTare: row.Tare}
	got := c.weigh(&w, &cells)
	if got.bad {
		return 0, 0
	}
	if got.trace != 0 || got.lost {
		c.bad("", "", "a drying sample needs two weights, not a trace or a lost bag", "remove the row, or write the weights")
		return 0, 0
	}
	c.aboveZero(&w, &cells, atGreen, atGreenGross, got.green, "green")
	c.aboveZero(&w, &cells, atDry, atDryGross, got.dry, "dry")
	return got.green.Float64, got.dry.Float64
}

// aboveZero checks that one weight of a sample is there.
func (c *checker) aboveZero(w *weighing, cells *[weighingCells]string, net, gross int, got schema.Num, state string) {
	at := net
	if cells[net] == "" && (cells[gross] != "" || w[net].index < 0 && !w[net].given && w[gross].index >= 0) {
		at = gross
	}
	switch {
	case !got.Valid:
		c.bad(w[at].name, cells[at], "is missing", "write what the sample weighed "+state+", or remove the row")
	case got.Float64 <= 0:
		c.bad(w[at].name, cells[at], "makes a "+state+" weight of zero, from which no dry-matter fraction comes", "correct it, or remove the row")
	}
}
