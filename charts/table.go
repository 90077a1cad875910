package charts

import (
	"html/template"
	"strconv"
)

// yearTable is a site's table of all years.
type yearTable struct {
	Columns []column
	Body    template.HTML
	Empty   string // what the columns left out as empty would have said
	Book    bool   // there is a column for book values 5 points off
}

// column is a column of the table, after the year.
type column struct {
	Short, Long string
	Words       bool   // not a number: set to the left
	Screen      bool   // left out on paper, where the CSV is not a click away but the sheet is full
	Optional    bool   // left out of the table of a site that has nothing in it in any year
	None        string // what is then said in its place
	show        func(f figures, y *Year) string
}

// Columns of words are made by appendYear itself.
const (
	verdictColumn = "Enough?"
	remarksColumn = "Re\u00admarks"
	bookColumn    = "Book ±5\u00a0pts"
)

var yearColumns = []column{
	{Short: "n", Long: "number of sampling units the mean rests on", show: func(_ figures, y *Year) string { return y.units() }},
	{Short: "Mean", Long: "mean", show: func(f figures, y *Year) string { return f.show(y.Mean) }},
	{Short: "Interval", Long: "t interval, as computed", show: func(f figures, y *Year) string { return f.span(y.Low, y.High) }},
	{Short: "Trans\u00adformed interval", Long: "Hall's transformed interval", show: func(f figures, y *Year) string { return f.span(y.HallLow, y.HallHigh) }},
	{Short: "Half-width\u00a0%", Long: "half-width in % of the mean, at the confidence of “enough”", show: func(_ figures, y *Year) string { return percent(y.HalfWidthPct) }},
	{Short: "SD", Long: "standard deviation between sampling units", Screen: true, show: func(f figures, y *Year) string { return f.show(y.SD) }},
	{Short: "CV\u00a0%", Long: "coefficient of variation", Screen: true, show: func(_ figures, y *Year) string { return percent(y.CVPct) }},
	{Short: "SE", Long: "standard error of the mean", Screen: true, show: func(f figures, y *Year) string { return f.show(y.SE) }},
	{Short: "SE drying", Long: "the part of the standard error that comes from drying", Screen: true, show: func(f figures, y *Year) string { return f.show(y.SEDrying) }},
	{Short: "df", Long: "degrees of freedom", Screen: true, show: func(_ figures, y *Year) string { return decimalOrBlank(y.DF) }},
	{Short: "Needed", Long: "sampling units needed", show: func(_ figures, y *Year) string { return decimalOrBlank(y.Required) }},
	{Short: "Assured", Long: "sampling units needed for an assured width", Screen: true, show: func(_ figures, y *Year) string { return count(y.Assured) }},
	{Short: "Short by", Long: "sampling units short of the number needed", Screen: true, show: func(_ figures, y *Year) string { return count(y.ShortBy) }},
	{Short: verdictColumn, Long: "verdict on the number of sampling units", Words: true},
	{Short: "Zeros in\u00adferred", Long: "zeros that follow from what was looked for", Optional: true, None: "no zeros were inferred",
		show: func(_ figures, y *Year) string { return strconv.Itoa(y.ZerosInferred) }},
	{Short: "Miss\u00ading", Long: "frames left out", Optional: true, None: "no frames were left out",
		show: func(_ figures, y *Year) string { return strconv.Itoa(y.Missing) }},
	{Short: "Book\u00a0%", Long: "share of the weight that rests on book values", Optional: true, None: "no weight rests on book values",
		show: func(_ figures, y *Year) string { return percent(y.BookPct) }},
	{Short: bookColumn, Long: "the mean, were the book percentages of dry matter 5 points lower or higher", Optional: true,
		show: func(f figures, y *Year) string { return f.span(y.BookLow, y.BookHigh) }},
	{Short: remarksColumn, Long: "numbers of the remarks above the table", Words: true},
}

// newYearTable leaves out the columns that have nothing in any year of the
// site, and says so.
func newYearTable(s *Site, series []shown, notes *remarkList) yearTable {
	f := s.figures()
	var t yearTable
	var empty []string
	for _, c := range yearColumns {
		if c.Optional && !c.says(f, series) {
			if c.None != "" {
				empty = append(empty, c.None)
			}
			continue
		}
		t.Book = t.Book || c.Short == bookColumn
		t.Columns = append(t.Columns, c)
	}
	if len(empty) > 0 {
		t.Empty = sentence(join(empty)) + "."
	}
	t.Body = t.body(f, series, notes)
	return t
}

// says tells whether any year has something in the column.
func (c column) says(f figures, series []shown) bool {
	for _, v := range series {
		for i := range v.Years {
			if text := c.show(f, &v.Years[i]); text != "" && text != "0" {
				return true
			}
		}
	}
	return false
}

// body writes the rows of all series, one body each. Numbers are appended as
// bytes: at hundreds of pages a template engine spends most of its time on
// cells that need no escaping.
func (t *yearTable) body(f figures, series []shown, notes *remarkList) template.HTML {
	b := make([]byte, 0, 16<<10)
	for _, v := range series {
		b = append(b, "<tbody>\n<tr class=\"group\"><th scope=\"rowgroup\" colspan=\""...)
		b = strconv.AppendInt(b, int64(len(t.Columns)+1), 10)
		b = append(b, "\">"...)
		b = append(b, template.HTMLEscapeString(groupTitle(v))...)
		b = append(b, "</th></tr>\n"...)
		for i := range v.Years {
			b = t.appendYear(b, f, v, &v.Years[i], notes)
		}
		b = append(b, "</tbody>\n"...)
	}
	return template.HTML(b)
}

func groupTitle(v shown) string {
	title := sentence(v.name())
	if v.Season != "" {
		title += ", " + v.seasonName()
	}
	switch {
	case v.alone != nil:
		title += ": " + v.alone.name() + " alone"
	case !v.Production:
		title += " (no part of production)"
	}
	return title
}

func (t *yearTable) appendYear(b []byte, f figures, v shown, y *Year, notes *remarkList) []byte {
	b = append(b, "<tr><th scope=\"row\">"...)
	b = strconv.AppendInt(b, int64(y.Year), 10)
	b = append(b, "</th>"...)
	for i := range t.Columns {
		switch c := &t.Columns[i]; c.Short {
		case verdictColumn:
			b = append(b, "<td class=\"word\">"...)
			b = append(b, verdictMark(y)...)
			b = append(b, y.verdict()...)
			b = append(b, "</td>"...)
		case remarksColumn:
			b = append(b, "<td class=\"refs\">"...)
			b = notes.appendRefs(b, v, y)
			b = append(b, "</td>"...)
		default:
			b = cell(b, c.show(f, y), c.Screen)
		}
	}
	return append(b, "</tr>\n"...)
}

// cell appends a number's cell. Callers pass digits and signs only.
func cell(b []byte, digits string, screen bool) []byte {
	if screen {
		b = append(b, "<td class=\"screen\">"...)
	} else {
		b = append(b, "<td>"...)
	}
	b = append(b, digits...)
	return append(b, "</td>"...)
}

// units is what n says: of a total of parts on frames of their own, the
// smallest of theirs.
func (y *Year) units() string {
	if y.SumOfMeans {
		return "≥" + strconv.Itoa(y.N)
	}
	return strconv.Itoa(y.N)
}

func decimalOrBlank(v *float64) string {
	if v == nil {
		return ""
	}
	return trimmed(*v, 1)
}
