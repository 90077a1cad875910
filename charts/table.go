package charts

import (
	"html/template"
	"strconv"
)

// yearColumns are the columns of a site's table of years, after the year.
var yearColumns = []struct {
	Short, Long string
	Words       bool // not a number: set to the left
}{
	{"n", "number of sampling units the mean rests on", false},
	{"Mean", "mean", false},
	{"Interval", "t interval, as computed", false},
	{"Trans\u00adformed interval", "Hall's transformed interval", false},
	{"Half-width %", "half-width in % of the mean, at the confidence of “enough”", false},
	{"SD", "standard deviation between sampling units", false},
	{"CV %", "coefficient of variation", false},
	{"SE", "standard error of the mean", false},
	{"SE drying", "the part of the standard error that comes from drying", false},
	{"df", "degrees of freedom", false},
	{"Needed", "sampling units needed", false},
	{"Assured", "sampling units needed for an assured width", false},
	{"Short by", "sampling units short of the number needed", false},
	{"Enough?", "verdict on the number of sampling units", true},
	{"Zeros in\u00adferred", "zeros that follow from what was looked for", false},
	{"Miss\u00ading", "frames left out", false},
	{"Book %", "share of the weight that rests on book values", false},
	{"Re\u00admarks", "numbers of the remarks below the table", true},
}

// tableBody writes the rows of all series, one body each. Numbers are
// appended as bytes: at hundreds of pages a template engine spends most of
// its time on cells that need no escaping.
func tableBody(s *Site, notes *remarkList) template.HTML {
	b := make([]byte, 0, 16<<10)
	f := s.figures()
	for i := range s.Series {
		x := &s.Series[i]
		b = append(b, "<tbody>\n<tr class=\"group\"><th scope=\"rowgroup\" colspan=\""...)
		b = strconv.AppendInt(b, int64(len(yearColumns)+1), 10)
		b = append(b, "\">"...)
		b = append(b, template.HTMLEscapeString(groupTitle(x))...)
		b = append(b, "</th></tr>\n"...)
		for j := range x.Years {
			b = appendYear(b, f, x, &x.Years[j], notes)
		}
		b = append(b, "</tbody>\n"...)
	}
	return template.HTML(b)
}

func groupTitle(x *Series) string {
	title := sentence(x.Component)
	if x.Season != "" {
		title += ", " + x.Season
	}
	if !x.Production {
		title += " (no part of production)"
	}
	return title
}

func appendYear(b []byte, f figures, x *Series, y *Year, notes *remarkList) []byte {
	b = append(b, "<tr><th scope=\"row\">"...)
	b = strconv.AppendInt(b, int64(y.Year), 10)
	b = append(b, "</th>"...)
	b = cell(b, strconv.Itoa(y.N))
	b = cell(b, f.show(y.Mean))
	b = cell(b, f.span(y.Low, y.High))
	b = cell(b, f.span(y.HallLow, y.HallHigh))
	b = cell(b, percent(y.HalfWidthPct))
	b = cell(b, f.show(y.SD))
	b = cell(b, percent(y.CVPct))
	b = cell(b, f.show(y.SE))
	b = cell(b, f.show(y.SEDrying))
	b = cell(b, decimalOrBlank(y.DF))
	b = cell(b, decimalOrBlank(y.Required))
	b = cell(b, count(y.Assured))
	b = cell(b, count(y.ShortBy))
	b = append(b, "<td class=\"word\">"...)
	b = append(b, verdictMark(y)...)
	b = append(b, y.verdict()...)
	b = append(b, "</td>"...)
	b = cell(b, strconv.Itoa(y.ZerosInferred))
	b = cell(b, strconv.Itoa(y.Missing))
	b = cell(b, percent(y.BookPct))
	b = append(b, "<td class=\"refs\">"...)
	b = notes.appendRefs(b, x, y)
	return append(b, "</td></tr>\n"...)
}

// cell appends a number's cell. Callers pass digits and signs only.
func cell(b []byte, digits string) []byte {
	b = append(b, "<td>"...)
	b = append(b, digits...)
	return append(b, "</td>"...)
}

func decimalOrBlank(v *float64) string {
	if v == nil {
		return ""
	}
	return trimmed(*v, 1)
}
