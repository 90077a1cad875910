package monitor

import (
	"fmt"
	"time"

	"clipledger/schema"
)

// How much of the year's growth was done on a day? A growth curve gives the
// cumulative percent at the end of some days of the year; between them growth
// is taken as even. Where the curve comes from is the user's matter: it is a
// description of a kind of site, not a measurement of this year (common
// practice).

// curve is a growth curve laid out from the first day of a site's growth year.
type curve struct {
	name  string
	start time.Month // of the growth year
	days  []int      // since the start of the growth year, ascending
	pct   []float64
}

// newCurve lays out a curve for growth years that start in a month. It is an
// error where the curve does not rise within such a year.
func newCurve(name string, points []schema.CurvePoint, startMonth int) (*curve, error) {
	if len(points) < 2 {
		return nil, fmt.Errorf("the ledger holds no growth curve %q", name)
	}
	c := &curve{name: name, start: time.Month(max(1, startMonth))}
	for _, p := range points {
		day := c.since(p.DayOfYear)
		if n := len(c.days); n > 0 && day <= c.days[n-1] {
			return nil, fmt.Errorf("growth curve %q runs over the start of the site's growth year", name)
		}
		c.days, c.pct = append(c.days, day), append(c.pct, p.Pct)
	}
	return c, nil
}

// since turns a day of a common year into days since the growth year began.
func (c *curve) since(dayOfYear int) int {
	first := time.Date(2001, c.start, 1, 0, 0, 0, 0, time.UTC).YearDay()
	return (min(dayOfYear, 365) - first + 365) % 365
}

// done is the percent of the growth of a growth year that was completed on a
// date; why says why it is not known.
func (c *curve) done(date string, growthYear int) (pct float64, why string) {
	d, err := time.Parse(time.DateOnly, date)
	if err != nil {
		return 0, "no date"
	}
	year, err := schema.GrowthYear(date, int(c.start))
	switch {
	case err != nil || year < growthYear:
		return 0, "clipped before its growth year began"
	case year > growthYear: // residue, cut after the year's growth had ended
		return 100, ""
	}
	return c.at(c.since(commonDay(d)))
}

// commonDay is the day of the year as a common year counts it: the 29th of
// February counts as the 28th.
func commonDay(d time.Time) int {
	if d.Month() == time.February && d.Day() == 29 {
		return 59
	}
	return time.Date(2001, d.Month(), d.Day(), 0, 0, 0, 0, time.UTC).YearDay()
}

func (c *curve) at(day int) (pct float64, why string) {
	last := len(c.days) - 1
	switch {
	case day < c.days[0] && c.pct[0] > 0:
		return 0, "clipped before the growth curve begins"
	case day <= c.days[0]:
		pct = c.pct[0]
	case day >= c.days[last]:
		return c.pct[last], ""
	default:
		i := 1
		for c.days[i] < day {
			i++
		}
		part := float64(day-c.days[i-1]) / float64(c.days[i]-c.days[i-1])
		pct = c.pct[i-1] + part*(c.pct[i]-c.pct[i-1])
	}
	if pct <= 0 {
		return 0, "no growth was completed by then"
	}
	return pct, ""
}
