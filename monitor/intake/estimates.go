package intake

import (
	"fmt"
	"slices"

	"clipledger/schema"
)

// estimateRow is a row of an estimates file, by quantity.
type estimateRow struct {
	Site      string `csv:"site"`
	Date      string `csv:"date"`
	Year      string `csv:"year"`
	Season    string `csv:"season"`
	Transect  string `csv:"transect"`
	Frame     string `csv:"frame"`
	Caged     string `csv:"caged"`
	FrameType string `csv:"frame_type"`
	Component string `csv:"component"`
	Species   string `csv:"species"`
	Observer  string `csv:"observer"`
	Basis     string `csv:"basis"`
	Green     string `csv:"estimate_green"`
	Dry       string `csv:"estimate_dry"`
	Area      string `csv:"estimate_area"`
}

// estimateColumns are the columns of an estimates file.
func estimateColumns() []column {
	return slices.Concat(plain("site", "date", "year", "season", "transect", "frame", "caged", "frame_type", "component", "species", "observer", "basis"),
		inUnits("estimate_green", "estimate_green", weightUnits), inUnits("estimate_dry", "estimate_dry", weightUnits),
		inUnits("estimate_area", "estimate", perArea))
}

// estimateKind is the kind of file that Estimates reads.
func estimateKind() *kind {
	return newKind(estimateColumns(), []string{"site"}, []string{"date", "year"}, []string{"frame"}, []string{"component"}, []string{"observer"},
		[]string{"estimate_green", "estimate_dry", "estimate_area"})
}

// Estimates reads what observers guessed by eye: green or dry weights of a
// frame, in grams, or dry ones per area, in g/m². Zero is an estimate like
// any other. A row without one gives no record, and the summary says so.
func Estimates(f *File, o Options, v *schema.Vocabulary, emit func(schema.Estimate) error, problem func(schema.Problem)) (Summary, error) {
	blank := 0
	sum, err := readSmall(&small[estimateRow, schema.Estimate]{
		kind: estimateKind(),
		read: func(c *checker, row *estimateRow) schema.Estimate {
			if row.Green == "" && row.Dry == "" && row.Area == "" && c.line > 0 {
				c.nothing = true
				blank++
				if row.Observer == "" { // a line of a field sheet that nobody filled in
					return schema.Estimate{}
				}
			}
			return readEstimate(c, row)
		},
		same: func(e *schema.Estimate) string {
			return joinKey(e.Site, e.Date, e.Year, e.Season, e.Transect, e.Frame, e.Caged, e.Component, e.Species, e.Observer, e.State)
		},
		twice: "this observer's estimate of the same frame and component",
		do:    "keep one of them",
	}, f, o, v, emit, problem)
	if blank == 1 {
		sum.notice("1 row has no estimate: nothing is kept of it")
	} else if blank > 1 {
		sum.notice("%d rows have no estimate: nothing is kept of them", blank)
	}
	return sum, err
}

// readEstimate reads one estimate.
func readEstimate(c *checker, row *estimateRow) schema.Estimate {
	day := c.date("date", row.Date)
	rec := schema.Estimate{
		Line: c.line, Site: c.site("site", row.Site), Date: day, Year: c.year("year", row.Year), Season: c.season("season", row.Season),
		Transect: c.transect("transect", row.Transect), Frame: c.frame("frame", row.Frame), Caged: c.yesNo("caged", row.Caged),
		FrameType: c.frameType("frame_type", row.FrameType), Component: c.component("component", row.Component),
		Species: c.species("species", row.Species), Observer: c.needKey("observer", row.Observer, "write who estimated"),
		Basis: c.basis("basis", row.Basis),
	}
	if row.Date == "" && row.Year == "" {
		c.noDateNorYear()
	}
	c.dateAndYear(day, rec.Year)
	if row.Component == "" {
		c.bad("component", "", "is missing", "write "+listWords(c.known.components.names, "or"))
	}
	c.estimated(row, &rec)
	return rec
}

// estimated reads the one estimate of a row.
func (c *checker) estimated(row *estimateRow, rec *schema.Estimate) {
	found := ""
	for _, e := range []struct {
		quantity, cell, state string
		perM2                 bool
		most                  float64
	}{
		{"estimate_green", row.Green, schema.StateGreen, false, mostBagG},
		{"estimate_dry", row.Dry, schema.StateDry, false, mostBagG},
		{"estimate_area", row.Area, schema.StateDry, true, mostDryGPerM2},
	} {
		if e.cell == "" {
			continue
		}
		s := c.binding.source(e.quantity)
		if found != "" {
			c.bad(s.name, e.cell, "is a second estimate beside "+found, "give each a row of its own")
			continue
		}
		found = s.name
		v, ok := c.anyNumber(s.name, e.cell)
		v *= s.factor
		switch {
		case !ok:
		case v < 0:
			c.bad(s.name, e.cell, "an estimate cannot be below zero", "correct it, or empty the cell if it means missing")
		case v > e.most:
			unit := "g in a frame"
			if e.perM2 {
				unit = "g/m²"
			}
			c.bad(s.name, e.cell, fmt.Sprintf("is %s %s, more than vegetation can weigh (%s %s)", showNumber(v), unit, showNumber(e.most), unit), "check the decimal point, the unit and the column")
		}
		rec.G, rec.State, rec.PerM2 = v, e.state, e.perM2
	}
	if rec.State == schema.StateGreen {
		rec.Basis = "" // a green weight has none
	}
}
