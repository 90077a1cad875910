package charts

import "fmt"

// A second unit beside the first, where one is asked for: on the index and the
// annual summary beneath every mean, on a site's page as a table of its own.

// OtherUnit is a unit of weight per area and what one of the report's unit is
// in it.
type OtherUnit struct {
	Name   string
	Factor float64
}

// also prints a value in the other unit, with its name; empty where no other
// unit is asked for.
func (r *Report) also(v *float64) string {
	if r.Also == nil || v == nil {
		return ""
	}
	return r.alsoFigures(*v).show(r.other(v)) + nbsp + r.Also.Name
}

func (r *Report) other(v *float64) *float64 {
	if v == nil {
		return nil
	}
	out := *v * r.Also.Factor
	return &out
}

func (r *Report) alsoFigures(largest float64) figures { return figuresFor(largest * r.Also.Factor) }

// alsoTable is a site's means of all years in the other unit.
type alsoTable struct {
	Unit, Finding string
	Rows          []alsoRow
}

type alsoRow struct{ Series, Year, Mean, Interval string }

// AlsoTable is empty but on the pages of sites.
func (p *sitePage) AlsoTable() *alsoTable {
	r, s := p.Report, p.Site
	if r.Also == nil || len(s.Series) == 0 {
		return nil
	}
	largest := 0.0
	for i := range s.Series {
		if _, high, n := s.Series[i].extremes(); n > 0 {
			largest = max(largest, *high.Mean)
		}
	}
	t, f := &alsoTable{Unit: r.Also.Name}, r.alsoFigures(largest)
	for i := range s.Series {
		x := &s.Series[i]
		for j := range x.Years {
			y := &x.Years[j]
			row := alsoRow{Series: sentence(x.name()), Year: fmt.Sprint(y.Year), Mean: f.show(r.other(y.Mean)), Interval: f.span(r.other(y.Low), r.other(y.High))}
			if s.manySeasons() {
				row.Series = sentence(s.label(x))
			}
			t.Rows = append(t.Rows, row)
		}
	}
	t.Finding = alsoFinding(r, s, f)
	return t
}

// alsoFinding is the latest mean of the headline series in the other unit.
func alsoFinding(r *Report, s *Site, f figures) string {
	x := s.headline()
	y := x.latestWithMean()
	if y == nil {
		return ""
	}
	text := fmt.Sprintf("In %d %s was %s%s%s", y.Year, s.label(x), f.show(r.other(y.Mean)), nbsp, r.Also.Name)
	if span := f.span(r.other(y.Low), r.other(y.High)); span != "" {
		text += fmt.Sprintf(" (%s interval %s)", share(r.Confidence), span)
	}
	return text + "."
}
