package charts

import (
	"fmt"
	"html/template"
	"strconv"
	"strings"
)

// The table of all years for paper: one row a year with production, its parts
// and the rain beside each other, so that a site prints on two sheets. On
// screen the full table stands in its place.

// paperTable is made of finished pieces, as the full table is.
type paperTable struct {
	Head, Body template.HTML
}

// mostPaper is how many series fit across a sheet.
const mostPaper = 4

// newPaperTable takes the series of production first.
func newPaperTable(s *Site, views []shown) paperTable {
	var across []shown
	for _, production := range []bool{true, false} {
		for _, v := range views {
			if v.Production == production && !v.brief && len(across) < mostPaper {
				across = append(across, v)
			}
		}
	}
	rain := s.Rain.has()
	return paperTable{paperHead(s, across, rain), paperBody(s, across, rain)}
}

func paperHead(s *Site, across []shown, rain bool) template.HTML {
	var top, sub strings.Builder
	for i, v := range across {
		columns := []string{"Mean", "Interval"}
		if i == 0 {
			columns = []string{"n", "Mean", "Interval", "Needed", "Enough?"}
		}
		fmt.Fprintf(&top, `<th scope="colgroup" class="left" colspan="%d">%s</th>`, len(columns), template.HTMLEscapeString(v.label(s)))
		for _, c := range columns {
			class := ""
			if c == "Enough?" {
				class = ` class="left"`
			}
			fmt.Fprintf(&sub, `<th scope="col"%s>%s</th>`, class, c)
		}
	}
	if rain {
		top.WriteString("<td></td>")
		sub.WriteString(`<th scope="col">Rain, mm</th>`)
	}
	return template.HTML("<tr><td></td>" + top.String() + "</tr>\n<tr><th scope=\"col\">Year</th>" + sub.String() + "</tr>")
}

func paperBody(s *Site, across []shown, rain bool) template.HTML {
	f := s.figures()
	b := []byte("<tbody>\n")
	for _, year := range s.yearSpan() {
		b = append(b, `<tr><th scope="row">`+strconv.Itoa(year)+`</th>`...)
		for i, v := range across {
			y := v.year(year)
			if y == nil {
				y = &Year{}
			}
			if i == 0 {
				b = cell(b, unitsOf(v, year), false)
			}
			b = cell(b, f.show(y.Mean), false)
			b = cell(b, f.span(y.Low, y.High), false)
			if i == 0 {
				b = cell(b, decimalOrBlank(y.Required), false)
				b = append(b, `<td class="word">`...)
				if v.year(year) != nil {
					b = append(b, verdictMark(y)+y.verdict()...)
				} else {
					b = append(b, "not clipped"...)
				}
				b = append(b, "</td>"...)
			}
		}
		if rain {
			mm := ""
			if y := s.Rain.year(year); y != nil && y.MM != nil {
				mm = fixed(*y.MM, 0)
			}
			b = cell(b, mm, false)
		}
		b = append(b, "</tr>\n"...)
	}
	return template.HTML(append(b, "</tbody>\n"...))
}

func unitsOf(v shown, year int) string {
	if y := v.year(year); y != nil {
		return y.units()
	}
	return ""
}
