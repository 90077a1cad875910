package charts

import (
	"strings"
	"testing"
)

func headings(t yearTable) string {
	var words []string
	for _, c := range t.Columns {
		word := strings.ReplaceAll(plain(c.Short), "\u00ad", "")
		if c.Screen {
			word = "(" + word + ")"
		}
		words = append(words, word)
	}
	return strings.Join(words, ", ")
}

// TestTableColumns leaves out what has nothing to say, and says that.
func TestTableColumns(t *testing.T) {
	const always = "n, Mean, Interval, Transformed interval, Half-width %, (SD), (CV %), (SE), (SE drying), (df), Needed, (Assured), (Short by), Enough?, "
	year := Year{Year: 2020, N: 4, Mean: ptr(10.0), BookPct: ptr(0.0)}
	zeros, missing, book, sensitive := year, year, year, year
	zeros.ZerosInferred, missing.Missing, book.BookPct = 2, 1, ptr(0.4)
	sensitive.BookPct, sensitive.BookLow, sensitive.BookHigh = ptr(80.0), ptr(8.2), ptr(11.8)
	for _, c := range []struct {
		name, columns, empty string
		year                 Year
	}{
		{"nothing", "Remarks", "No zeros were inferred, no frames were left out and no weight rests on book values.", year},
		{"zeros", "Zeros inferred, Remarks", "No frames were left out and no weight rests on book values.", zeros},
		{"missing", "Missing, Remarks", "No zeros were inferred and no weight rests on book values.", missing},
		{"book", "Book %, Remarks", "No zeros were inferred and no frames were left out.", book},
		{"sensitive", "Book %, Book ±5 pts, Remarks", "No zeros were inferred and no frames were left out.", sensitive},
	} {
		s := oneSeries(Year{Year: 2019, N: 3, Mean: ptr(9.0)}, c.year)
		table := newYearTable(s, s.shown(), newRemarkList(s))
		if got := headings(table); got != always+c.columns {
			t.Errorf("%s:\ngot  %s\nwant %s", c.name, got, always+c.columns)
		}
		if table.Empty != c.empty {
			t.Errorf("%s: got %q, want %q", c.name, table.Empty, c.empty)
		}
		if has := strings.Contains(string(table.Body), "<td>8.20 to 11.80</td>"); has != (c.name == "sensitive") || table.Book != has {
			t.Errorf("%s: the range of book values: %v, said to be %v", c.name, has, table.Book)
		}
	}
}
