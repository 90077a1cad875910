package charts

import (
	"slices"
	"strconv"
	"strings"
)

// remarkList numbers the remarks of a site's years, each text once, so that
// a row of the table can point at them.
type remarkList struct {
	site  *Site
	items []*numbered
	byKey map[Remark]*numbered
}

// numbered is a remark with its number and the years it stands at.
type numbered struct {
	Remark
	Number int
	where  []string         // series, in the order met
	years  map[string][]int // by series
}

func newRemarkList(s *Site) *remarkList {
	return &remarkList{site: s, byKey: map[Remark]*numbered{}}
}

// appendRefs notes the year's remarks, with those of the part that the series
// repeats, and appends links to them.
func (l *remarkList) appendRefs(b []byte, v shown, y *Year) []byte {
	name := l.site.label(v.Series)
	var numbers []int
	remarks := y.Remarks
	if v.alone != nil {
		remarks = slices.Concat(remarks, v.alone.year(y.Year).Remarks)
	}
	for _, r := range remarks {
		n, isNew := l.add(r, name, y.Year)
		if isNew {
			numbers = append(numbers, n.Number)
		}
	}
	slices.Sort(numbers)
	for i, n := range numbers {
		if i > 0 {
			b = append(b, ", "...)
		}
		num := strconv.Itoa(n)
		b = append(b, "<a href=\"#remark-"+num+"\">"+num+"</a>"...)
	}
	return b
}

// add notes a remark at a year of the series of that name; isNew is false
// when it stands there already.
func (l *remarkList) add(r Remark, name string, year int) (n *numbered, isNew bool) {
	n = l.byKey[r]
	if n == nil {
		n = &numbered{Remark: r, Number: len(l.items) + 1, years: map[string][]int{}}
		l.byKey[r] = n
		l.items = append(l.items, n)
	}
	at := n.years[name]
	if at == nil {
		n.where = append(n.where, name)
	}
	if len(at) > 0 && at[len(at)-1] == year {
		return n, false
	}
	n.years[name] = append(at, year)
	return n, true
}

// Where says at which years of which series a remark stands; series it stands
// at in the same years are named together.
func (n *numbered) Where() string {
	var order []string
	names := map[string][]string{}
	for _, name := range n.where {
		years := yearList(n.years[name])
		if names[years] == nil {
			order = append(order, years)
		}
		names[years] = append(names[years], name)
	}
	parts := make([]string, len(order))
	for i, years := range order {
		parts[i] = join(names[years]) + " " + years
	}
	return strings.Join(parts, "; ")
}

// urgent are the remarks a reader must see before the charts: the site's own
// loud ones and those of the latest year of its headline series.
func (s *Site) urgent() []Remark {
	var out []Remark
	seen := map[string]bool{}
	take := func(rs []Remark) {
		for _, r := range rs {
			if r.Loud && !seen[r.Text] {
				seen[r.Text] = true
				out = append(out, r)
			}
		}
	}
	take(s.Remarks)
	if last := s.headline().latest(); last != nil {
		take(last.Remarks)
	}
	return out
}

// calm are the site's own remarks that are not urgent.
func (s *Site) calm() []Remark {
	var out []Remark
	for _, r := range s.Remarks {
		if !r.Loud {
			out = append(out, r)
		}
	}
	return out
}

// remarkCount counts the distinct remarks of a site, and the loud among them.
func (s *Site) remarkCount() (all, loud int) {
	seen := map[Remark]bool{}
	take := func(rs []Remark) {
		for _, r := range rs {
			if seen[r] {
				continue
			}
			seen[r] = true
			all++
			if r.Loud {
				loud++
			}
		}
	}
	take(s.Remarks)
	for i := range s.Series {
		for j := range s.Series[i].Years {
			take(s.Series[i].Years[j].Remarks)
		}
	}
	return all, loud
}
