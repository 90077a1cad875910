package charts

import (
	"html/template"
	"strconv"
)

// part is a section of a site's page: what it says, its charts, and the table
// of their numbers.
type part struct {
	ID, Heading string
	Lead        []string // sentences before the charts
	Figures     []figure
	Tables      []*smallTable
	Notes       []string // remarks, each once, with its years
	Caution     bool
	Class       string // of the section
	Screen      bool   // left out on paper; the CSV has its numbers
}

// smallTable is the table of a section. Folded ones open at a click or a key.
type smallTable struct {
	ID      string
	Title   string // of a folded one
	Caption string
	Folded  bool
	Screen  bool   // left out on paper
	CSV     string // file below data/, without its ending
	Head    []column
	Body    template.HTML
}

// rows builds the body of a table. Numbers are appended as they are, words
// escaped.
type rows struct {
	b     []byte
	width int
}

func (r *rows) group(title string) {
	r.b = append(r.b, `<tr class="group"><th scope="rowgroup" colspan="`...)
	r.b = strconv.AppendInt(r.b, int64(r.width), 10)
	r.b = append(r.b, `">`...)
	r.b = append(r.b, template.HTMLEscapeString(title)...)
	r.b = append(r.b, "</th></tr>\n"...)
}

func (r *rows) row(head string, cells ...any) {
	r.b = append(r.b, `<tr><th scope="row">`...)
	r.b = append(r.b, template.HTMLEscapeString(head)...)
	r.b = append(r.b, "</th>"...)
	for _, c := range cells {
		switch c := c.(type) {
		case word:
			r.b = append(r.b, `<td class="left">`...)
			r.b = append(r.b, template.HTMLEscapeString(string(c))...)
			r.b = append(r.b, "</td>"...)
		case template.HTML:
			r.b = append(r.b, `<td class="left">`...)
			r.b = append(r.b, c...)
			r.b = append(r.b, "</td>"...)
		case string:
			r.b = cell(r.b, template.HTMLEscapeString(c), false)
		}
	}
	r.b = append(r.b, "</tr>\n"...)
}

// word is a cell of text, set to the left.
type word string

func (r *rows) body() template.HTML {
	return template.HTML("<tbody>\n" + string(r.b) + "</tbody>\n")
}

// remarksWithYears lists remarks once each, with the years they stand at; those
// that differ in their numbers alone are one.
func remarksWithYears(site *Site, each func(add func(r Remark, name string, year int))) []string {
	type standing struct {
		Remark
		name string
		year int
	}
	var all []standing
	var texts []string
	each(func(r Remark, name string, year int) {
		all = append(all, standing{r, name, year})
		texts = append(texts, r.Text)
	})
	l := newRemarkList(site)
	for i, text := range condense(texts) {
		l.add(Remark{Text: text}, all[i].name, all[i].year)
	}
	var out []string
	for _, n := range l.items {
		out = append(out, sentence(n.Text)+" ("+n.Where()+")")
	}
	return out
}

// signed prints a difference with its sign.
func (f figures) signed(v *float64) string {
	if v == nil {
		return ""
	}
	return plus(f.show(v))
}

// plus puts the sign before a number that has none; nothing has none.
func plus(digits string) string {
	if digits == "" || digits == "0" || digits[0] < '0' || digits[0] > '9' || isZero(digits) {
		return digits
	}
	return "+" + digits
}

func isZero(digits string) bool {
	for _, c := range digits {
		if c >= '1' && c <= '9' {
			return false
		}
	}
	return true
}

func (f figures) signedSpan(low, high *float64) string {
	if low == nil || high == nil {
		return ""
	}
	return f.signed(low) + " to " + f.signed(high)
}

// probability prints a p value.
func probability(p *float64) string {
	switch {
	case p == nil:
		return ""
	case *p < 0.001:
		return "<0.001"
	}
	return fixed(*p, 3)
}

// finer shows slopes a year, which are smaller than what they change.
func (f figures) finer() figures { return figures{f.decimals + 1} }
