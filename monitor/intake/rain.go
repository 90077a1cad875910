package intake

import (
	"slices"
	"strings"

	"clipledger/schema"
)

// mostRainMM is more than has ever fallen in a month.
const mostRainMM = 10_000

// rainRow is a row of a rain file, by quantity.
type rainRow struct {
	Station string `csv:"station"`
	Year    string `csv:"year"`
	Month   string `csv:"month"`
	Rain    string `csv:"rain"`
}

// rainColumns are the columns of a rain file.
func rainColumns() []column {
	return slices.Concat(plain("station", "year", "month"), inUnits("rain", "rain", rainUnits))
}

// rainKind is the kind of file that Rains reads.
func rainKind() *kind {
	return newKind(rainColumns(), []string{"station"}, []string{"year"}, []string{"month"}, []string{"rain"})
}

// Rains reads monthly rain, in mm. A month without a value stays missing: its
// row gives no record, and the summary says so.
func Rains(f *File, o Options, v *schema.Vocabulary, emit func(schema.Rain) error, problem func(schema.Problem)) (Summary, error) {
	blank := 0
	sum, err := readSmall(&small[rainRow, schema.Rain]{
		kind: rainKind(),
		read: func(c *checker, row *rainRow) schema.Rain {
			if row.Rain == "" && c.line > 0 {
				c.nothing = true
				blank++
			}
			return readRain(c, row)
		},
		same:  func(r *schema.Rain) string { return joinKey(r.Station, r.Year, r.Month) },
		twice: "the rain of this station, year and month",
		do:    "keep one value for each month",
	}, f, o, v, emit, problem)
	if blank == 1 {
		sum.notice("1 row has no rain value: that month stays missing")
	} else if blank > 1 {
		sum.notice("%d rows have no rain value: those months stay missing", blank)
	}
	return sum, err
}

// readRain reads one month. A trace (T) is rain too little to measure: 0 mm.
func readRain(c *checker, row *rainRow) schema.Rain {
	rec := schema.Rain{
		Line:    c.line,
		Station: c.needKey("station", row.Station, "write the name of the rain gauge"),
		Year:    c.year("year", row.Year),
		Month:   c.month("month", row.Month),
	}
	if row.Year == "" {
		c.bad("year", "", "is missing", "write the calendar year")
	}
	if row.Month == "" {
		c.bad("month", "", "is missing", "write a number from 1 to 12")
	}
	if lower := strings.ToLower(row.Rain); lower == "t" || lower == "trace" {
		return rec
	}
	s := c.binding.source("rain")
	if v, ok := c.anyNumber(s.name, row.Rain); ok {
		rec.RainMM = v * s.factor
		if rec.RainMM < 0 || rec.RainMM > mostRainMM {
			c.bad(s.name, row.Rain, "is not rain that can fall in a month (0 to "+showNumber(mostRainMM)+" mm)", "check the digits and the unit; a code for missing values is named with --missing")
		}
	}
	return rec
}
