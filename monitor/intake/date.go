package intake

import (
	"fmt"
	"strconv"
	"strings"
)

// The years that are taken for years of a record.
const (
	firstYear = 1850
	lastYear  = 2100
)

// parseDate reads a date in the form that was said (DatesISO and so on) into
// YYYY-MM-DD. Where it is none, what says why and do how to mend it.
func parseDate(s, form string) (iso, what, do string) {
	if form == DatesISO && isISODay(s) {
		return s, "", ""
	}
	y, m, d, ok := dateParts(s, form)
	if !ok {
		what, do = dateFormFault(s, form)
		return "", what, do
	}
	if what, do = dayFault(y, m, d, form); what != "" {
		return "", what, do
	}
	return fmt.Sprintf("%04d-%02d-%02d", y, m, d), "", ""
}

// isISODay tells, the quick way, whether s is a real day written YYYY-MM-DD.
func isISODay(s string) bool {
	if len(s) != 10 || s[4] != '-' || s[7] != '-' {
		return false
	}
	var n [10]int
	for i := range n {
		if i == 4 || i == 7 {
			continue
		}
		c := s[i] - '0'
		if c > 9 {
			return false
		}
		n[i] = int(c)
	}
	y := n[0]*1000 + n[1]*100 + n[2]*10 + n[3]
	m, d := n[5]*10+n[6], n[8]*10+n[9]
	return y >= firstYear && y <= lastYear && m >= 1 && m <= 12 && d >= 1 && d <= daysIn(y, m)
}

// dateParts takes a date of the form apart; ok is false where the text does
// not have that form at all. The parts need not make a real day.
func dateParts(s, form string) (year, month, day int, ok bool) {
	if form == DatesISO {
		p, ok := threeNumbers(s, "-", [3]int{4, 2, 2}, [3]int{4, 2, 2})
		return p[0], p[1], p[2], ok
	}
	for _, sep := range []string{"/", "-", "."} {
		p, ok := threeNumbers(s, sep, [3]int{1, 1, 2}, [3]int{2, 2, 4})
		if !ok {
			continue
		}
		last := s[strings.LastIndex(s, sep)+1:]
		switch len(last) {
		case 2:
			p[2] += 2000
		case 3:
			return 0, 0, 0, false
		}
		if form == DatesDMY {
			p[0], p[1] = p[1], p[0]
		}
		return p[2], p[0], p[1], true
	}
	return 0, 0, 0, false
}

// threeNumbers splits a text at a separator into exactly three runs of
// digits, each with a length between the given ones.
func threeNumbers(s, sep string, least, most [3]int) (p [3]int, ok bool) {
	parts := strings.Split(s, sep)
	if len(parts) != 3 {
		return p, false
	}
	for i, part := range parts {
		if n := len(part); n < least[i] || n > most[i] || leadingDigits(part) != n {
			return p, false
		}
		p[i], _ = strconv.Atoi(part) // at most four digits: cannot fail
	}
	return p, true
}

// dayFault says why year, month and day are not a day of the record.
func dayFault(y, m, d int, form string) (what, do string) {
	if m < 1 || m > 12 {
		do = "correct it"
		if form != DatesISO && d >= 1 && d <= 12 {
			other := map[string]string{DatesMDY: DatesDMY, DatesDMY: DatesMDY}[form]
			do = fmt.Sprintf("correct it, or say --dates %s if all dates are %s", other, formName(other))
		}
		return fmt.Sprintf("there is no month %d (dates are read as %s)", m, formName(form)), do
	}
	if y < firstYear || y > lastYear {
		return fmt.Sprintf("is in the year %d, outside %d to %d", y, firstYear, lastYear), "correct it"
	}
	if d < 1 || d > daysIn(y, m) {
		return fmt.Sprintf("does not exist: %s %d has %d days", monthNames[m-1], y, daysIn(y, m)), "correct it"
	}
	return "", ""
}

// dateFormFault says what form a date should have and which flag would read
// the form it has.
func dateFormFault(s, form string) (what, do string) {
	what = "is not a date in the form " + formName(form)
	readable := func(f string) bool {
		y, m, d, ok := dateParts(s, f)
		what, _ := dayFault(y, m, d, f)
		return ok && what == ""
	}
	mdy, dmy := readable(DatesMDY), readable(DatesDMY)
	switch {
	case form != DatesISO && readable(DatesISO):
		return what, fmt.Sprintf("write it in that form, or leave --dates %s away if all dates are YYYY-MM-DD", form)
	case form != DatesISO:
		return what, "write it in that form"
	case mdy && dmy:
		return what, "say --dates mdy if dates are month/day/year, or --dates dmy if they are day/month/year"
	case mdy:
		return what, "write it in that form, or say --dates mdy if all dates are month/day/year"
	case dmy:
		return what, "write it in that form, or say --dates dmy if all dates are day/month/year"
	}
	return what, "write it in that form, or say --dates mdy (month/day/year) or --dates dmy (day/month/year) if all dates have that form"
}

// formName writes a form of dates as people do.
func formName(form string) string {
	switch form {
	case DatesMDY:
		return "month/day/year"
	case DatesDMY:
		return "day/month/year"
	}
	return "YYYY-MM-DD"
}

// monthNames are the months, from January.
var monthNames = [...]string{"January", "February", "March", "April", "May", "June",
	"July", "August", "September", "October", "November", "December"}

// daysIn returns the number of days of a month from 1 to 12.
func daysIn(year, month int) int {
	switch month {
	case 2:
		if year%4 == 0 && (year%100 != 0 || year%400 == 0) {
			return 29
		}
		return 28
	case 4, 6, 9, 11:
		return 30
	}
	return 31
}

// parseMonth reads a month as a number from 1 to 12 or by its English name,
// whole or cut to three letters or more.
func parseMonth(s string) (month int, ok bool) {
	if n := len(s); n >= 1 && n <= 2 && leadingDigits(s) == n {
		month, _ = strconv.Atoi(s) // two digits: cannot fail
		return month, month >= 1 && month <= 12
	}
	lower := strings.ToLower(strings.TrimSuffix(s, "."))
	if len(lower) < 3 {
		return 0, false
	}
	for i, name := range monthNames {
		if strings.HasPrefix(strings.ToLower(name), lower) {
			return i + 1, true
		}
	}
	return 0, false
}
