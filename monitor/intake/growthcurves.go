package intake

import (
	"fmt"
	"strconv"
	"strings"

	"clipledger/schema"
)

// curveRow is a row of a growth-curves file, by quantity.
type curveRow struct {
	Curve     string `csv:"curve"`
	DayOfYear string `csv:"day_of_year"`
	MonthDay  string `csv:"month_day"`
	Pct       string `csv:"cumulative_pct"`
}

// curveColumns are the columns of a growth-curves file.
var curveColumns = []string{"curve", "day_of_year", "month_day", "cumulative_pct"}

// curveKind is the kind of file that GrowthCurves reads.
func curveKind() *kind {
	return newKind(plain(curveColumns...), []string{"curve"}, []string{"day_of_year", "month_day"}, []string{"cumulative_pct"})
}

// GrowthCurves reads points of growth curves: how many percent of the year's
// growth are completed by a day. Whether a curve falls or ends short of 100 is
// for the ledger to see, which may hold points of it.
func GrowthCurves(f *File, o Options, v *schema.Vocabulary, emit func(schema.CurvePoint) error, problem func(schema.Problem)) (Summary, error) {
	return readSmall(&small[curveRow, schema.CurvePoint]{
		kind:  curveKind(),
		read:  readCurvePoint,
		same:  func(p *schema.CurvePoint) string { return joinKey(p.Curve, p.DayOfYear) },
		twice: "this day of the same curve",
		do:    "keep one percentage for each day",
	}, f, o, v, emit, problem)
}

// readCurvePoint reads one point.
func readCurvePoint(c *checker, row *curveRow) schema.CurvePoint {
	rec := schema.CurvePoint{
		Line: c.line, Curve: c.needKey("curve", row.Curve, "write a short name for the curve, the same in all its rows"),
		DayOfYear: c.whole("day_of_year", row.DayOfYear, 1, 366),
	}
	day := c.monthDay("month_day", row.MonthDay)
	switch {
	case row.DayOfYear == "" && row.MonthDay == "":
		c.bad("", "", "the row has neither a day of the year nor a month and day", "fill one of them")
	case rec.DayOfYear == 0:
		rec.DayOfYear = day
	case day != 0 && day != rec.DayOfYear:
		c.bad("month_day", row.MonthDay, fmt.Sprintf("is day %d of the year, not %d", day, rec.DayOfYear), "correct the one that is wrong")
	}
	if row.Pct == "" {
		c.bad("cumulative_pct", "", "is missing", "write the percentage of the year's growth that is completed by this day, or remove the row")
	}
	rec.Pct = c.number("cumulative_pct", row.Pct, 0, 100, " %").Float64
	return rec
}

// monthDay reads a month and day as the day of a common year; 0 where it is
// missing or wrong.
func (c *checker) monthDay(column, cell string) int {
	if cell == "" {
		return 0
	}
	form := c.dates
	if c.isoToo && isISODay(cell) {
		form = DatesISO
	}
	month, day, what, do := parseMonthDay(cell, form)
	if what != "" {
		c.bad(column, cell, what, do)
		return 0
	}
	return dayOfYear(month, day)
}

// dayOfYear is the number of a day in a year of 365.
func dayOfYear(month, day int) int {
	for m := 1; m < month; m++ {
		day += daysIn(commonYear, m)
	}
	return day
}

// commonYear is a year without a 29th of February.
const commonYear = 2001

// parseMonthDay reads a day of any year: 4-15 or 4/15 (15.4 or 15/4 where dates
// are day/month/year), a month's name with a number, or a whole date, whose
// year does not matter. Where it is none, what says why and do how to mend it.
func parseMonthDay(s, form string) (month, day int, what, do string) {
	y, m, d, ok := dateParts(s, form)
	if ok {
		if what, do = dayFault(y, m, d, form); what != "" {
			return 0, 0, what, do
		}
	} else if m, d, ok = monthAndDay(s, form); !ok {
		order := "month and day, as in 4-15"
		if form == DatesDMY {
			order = "day and month, as in 15.4"
		}
		return 0, 0, "is not a day of the year", "write " + order + ", or 15 Apr"
	}
	switch {
	case m < 1 || m > 12:
		return 0, 0, fmt.Sprintf("there is no month %d", m), "correct it, or say with --dates which comes first, day or month"
	case m == 2 && d == 29:
		return 0, 0, "is not in every year", "write 2-28 or 3-1"
	case d < 1 || d > daysIn(commonYear, m):
		return 0, 0, fmt.Sprintf("does not exist: %s has %d days", monthNames[m-1], daysIn(commonYear, m)), "correct it"
	}
	return m, d, "", ""
}

// monthAndDay takes apart two numbers, or the name of a month and a number.
func monthAndDay(s, form string) (month, day int, ok bool) {
	parts := strings.FieldsFunc(s, func(r rune) bool { return strings.ContainsRune(" -/.", r) })
	if len(parts) != 2 || len(s) > 20 {
		return 0, 0, false
	}
	isDay := func(p string) bool { return len(p) <= 2 && leadingDigits(p) == len(p) }
	first, second := parts[0], parts[1]
	switch {
	case !isDay(first) && isDay(second): // April 15
	case isDay(first) && !isDay(second): // 15 April
		first, second = second, first
	case isDay(first) && isDay(second):
		if form == DatesDMY {
			first, second = second, first
		}
		month, _ = strconv.Atoi(first) // two digits: cannot fail
		day, _ = strconv.Atoi(second)
		return month, day, true
	default:
		return 0, 0, false
	}
	month, ok = parseMonth(first)
	day, _ = strconv.Atoi(second)
	return month, day, ok
}
