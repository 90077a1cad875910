package intake

import (
	"testing"
	"time"
)

func TestParseDate(t *testing.T) {
	for _, c := range []struct{ s, form, want string }{
		{"2019-06-03", DatesISO, "2019-06-03"},
		{"2020-02-29", DatesISO, "2020-02-29"},
		{"2000-02-29", DatesISO, "2000-02-29"},
		{"6/28/12", DatesMDY, "2012-06-28"},
		{"06/28/2012", DatesMDY, "2012-06-28"},
		{"6-8-2012", DatesMDY, "2012-06-08"},
		{"6.8.12", DatesMDY, "2012-06-08"},
		{"6.8.12", DatesDMY, "2012-08-06"},
		{"28/6/2012", DatesDMY, "2012-06-28"},
		{"1/1/99", DatesMDY, "2099-01-01"},
	} {
		got, what, do := parseDate(c.s, c.form)
		if got != c.want || what != "" {
			t.Errorf("%s as %s: %q %s; %s, want %s", c.s, c.form, got, what, do, c.want)
		}
	}
}

func TestDateFaults(t *testing.T) {
	const notISO = "is not a date in the form YYYY-MM-DD; "
	const either = "write it in that form, or say --dates mdy (month/day/year) or --dates dmy (day/month/year) if all dates have that form"
	for _, c := range []struct{ s, form, want string }{
		{"7/711", DatesISO, notISO + either},
		{"June 3, 2019", DatesISO, notISO + either},
		{"20190603", DatesISO, notISO + either},
		{"2019-6-3", DatesISO, notISO + either},
		{"2019/06/03", DatesISO, notISO + either},
		{"2019-06-03 00:00:00", DatesISO, notISO + either},
		{"6/28/12", DatesISO, notISO + "write it in that form, or say --dates mdy if all dates are month/day/year"},
		{"28.6.2012", DatesISO, notISO + "write it in that form, or say --dates dmy if all dates are day/month/year"},
		{"6/7/2012", DatesISO, notISO + "say --dates mdy if dates are month/day/year, or --dates dmy if they are day/month/year"},
		{"2019-02-29", DatesISO, "does not exist: February 2019 has 28 days; correct it"},
		{"1900-02-29", DatesISO, "does not exist: February 1900 has 28 days; correct it"},
		{"2019-06-31", DatesISO, "does not exist: June 2019 has 30 days; correct it"},
		{"2019-06-00", DatesISO, "does not exist: June 2019 has 30 days; correct it"},
		{"2019-13-01", DatesISO, "there is no month 13 (dates are read as YYYY-MM-DD); correct it"},
		{"0211-06-03", DatesISO, "is in the year 211, outside 1850 to 2100; correct it"},
		{"2019-06-03", DatesMDY, "is not a date in the form month/day/year; write it in that form, or leave --dates mdy away if all dates are YYYY-MM-DD"},
		{"7/711", DatesMDY, "is not a date in the form month/day/year; write it in that form"},
		{"6/28/012", DatesMDY, "is not a date in the form month/day/year; write it in that form"},
		{"6/28-12", DatesMDY, "is not a date in the form month/day/year; write it in that form"},
		{"28/6/2012", DatesMDY, "there is no month 28 (dates are read as month/day/year); correct it, or say --dates dmy if all dates are day/month/year"},
		{"6/28/2012", DatesDMY, "there is no month 28 (dates are read as day/month/year); correct it, or say --dates mdy if all dates are month/day/year"},
		{"40/40/2012", DatesDMY, "there is no month 40 (dates are read as day/month/year); correct it"},
		{"2/30/2012", DatesMDY, "does not exist: February 2012 has 29 days; correct it"},
	} {
		got, what, do := parseDate(c.s, c.form)
		if msg := what + "; " + do; got != "" || msg != c.want {
			t.Errorf("%s as %s: %q\n got %s\nwant %s", c.s, c.form, got, msg, c.want)
		}
	}
}

func TestParseMonth(t *testing.T) {
	for s, want := range map[string]int{"1": 1, "04": 4, "12": 12, "Apr": 4, "april": 4, "Sept.": 9, "Sep": 9, "DECEMBER": 12,
		"0": 0, "13": 0, "": 0, "ma": 0, "x": 0, "4.0": 0, "Aprilx": 0} {
		if got, ok := parseMonth(s); got != want && ok || ok != (want > 0) {
			t.Errorf("%q: %d %v, want %d", s, got, ok, want)
		}
	}
}

// What is taken as a date is a real day as the standard library sees it, and
// reads as itself in our own form; what is not has a reason and a remedy.
func FuzzDate(f *testing.F) {
	for _, s := range []string{"2019-06-03", "6/28/12", "28.6.2012", "7/711", "2019-02-29", "1/1/1", "0000-00-00", "6/7/20", "2100-12-31", "1849-12-31", "--", "9/31/2020"} {
		f.Add(s, 0)
		f.Add(s, 1)
		f.Add(s, 2)
	}
	f.Fuzz(func(t *testing.T, s string, n int) {
		form := []string{DatesISO, DatesMDY, DatesDMY}[max(n, -n, 0)%3]
		iso, what, do := parseDate(s, form)
		if what != "" {
			if iso != "" || do == "" {
				t.Fatalf("%q as %s: %q, reason %q without a remedy", s, form, iso, what)
			}
			return
		}
		day, err := time.Parse(time.DateOnly, iso)
		if err != nil || day.Year() < firstYear || day.Year() > lastYear {
			t.Fatalf("%q as %s gave %q: %v", s, form, iso, err)
		}
		if again, what, _ := parseDate(iso, DatesISO); again != iso {
			t.Fatalf("%q was not read again: %s", iso, what)
		}
	})
}
