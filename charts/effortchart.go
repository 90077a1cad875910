package charts

import (
	"fmt"
	"math"
)

// What would more frames buy? The half-width of the latest year's interval
// against the number of sampling units.

// effortFigure is the chart of one series' latest judged year; ok is false
// where nothing was worked out.
func effortFigure(r *Report, s *Site, x *Series, page string) (f figure, table *smallTable, ok bool, err error) {
	y := x.latestEffort()
	if y == nil {
		return f, nil, false, nil
	}
	js, err := effortChart(r, s, y).script()
	if err != nil {
		return f, nil, false, err
	}
	return figure{Page: page, ID: "chart-effort", Kind: "enough plane", Title: effortTitle(r, s, x, y), Script: js, Table: "effort", CSV: page + "-effort",
		Caption: fmt.Sprintf("With the spread found in %d. The mark is where the sample is.", y.Year)}, effortTable(s, y, page), true, nil
}

func (x *Series) latestEffort() *Year {
	for i := len(x.Years) - 1; i >= 0; i-- {
		if y := &x.Years[i]; len(y.Effort) > 1 && y.HalfWidthPct != nil {
			return y
		}
	}
	return nil
}

// effortTitle states where the sample is, what is needed, and what more would
// buy.
func effortTitle(r *Report, s *Site, x *Series, y *Year) string {
	text := fmt.Sprintf("In %d %d %s gave ±%s%s%%", y.Year, y.N, s.unitWord(y.N), percent(y.HalfWidthPct), nbsp)
	if x != s.headline() {
		text = sentence(s.label(x)) + ": " + "in" + text[2:]
	}
	if y.Required != nil && r.PrecisionPct > 0 {
		verb := "are needed"
		if y.Adequate != nil && *y.Adequate {
			verb = "would do"
		}
		text += fmt.Sprintf("; %s %s for ±%s%s%%", trimmed(*y.Required, 1), verb, percent(&r.PrecisionPct), nbsp)
	}
	if more := y.with(y.N + moreUnits); more != nil {
		text += fmt.Sprintf("; %d more would give ±%s%s%%", moreUnits, percent(more), nbsp)
	}
	return text
}

// moreUnits is the step in which more sampling units are priced.
const moreUnits = 5

func (y *Year) with(n int) *float64 {
	for i := range y.Effort {
		if y.Effort[i].N == n {
			return &y.Effort[i].HalfPct
		}
	}
	return nil
}

func effortChart(r *Report, s *Site, y *Year) block {
	last := y.Effort[len(y.Effort)-1].N
	top := math.Max(r.PrecisionPct*1.5, math.Min(*y.HalfWidthPct*1.3, adequacyCap))
	up := axisFor(top, 4)
	line := plane(spanFor(0, float64(last), 6), s.unitWord(0), up.span(), "half-width, % of mean")
	b := block{}
	var curve []opt
	for _, e := range y.Effort {
		if e.HalfPct <= up.max {
			curve = append(curve, at(e.N, shownAt(e.HalfPct)))
		}
	}
	overlay(line, "curve", "curve", curve)
	if r.PrecisionPct > 0 {
		overlay(line, "wanted", "wanted", []opt{at(0, r.PrecisionPct)})
		b.Wanted = "- - wanted: ±" + percent(&r.PrecisionPct) + nbsp + "% or less"
	}
	overlay(line, "marks", "mark", []opt{at(y.N, shownAt(math.Min(*y.HalfWidthPct, up.max)), y.mark(), shapeCircle)})
	b.Option = options(line)
	return b
}

// effortTable gives the numbers of the curve at round numbers of units, and
// where the sample is.
func effortTable(s *Site, y *Year, page string) *smallTable {
	t := &smallTable{ID: "effort", Title: fmt.Sprintf("What other numbers of %s would give", s.unitWord(0)), Folded: true, CSV: page + "-effort",
		Caption: fmt.Sprintf("Half-width in %% of the mean at the confidence that “enough” asks for, with the spread found in %d", y.Year),
		Head:    []column{{Short: "Half-width\u00a0%", Long: "in % of the mean"}, {Short: "", Long: "what it is", Words: true}}}
	rows := rows{width: 3}
	for i := range y.Effort {
		e := &y.Effort[i]
		said := ""
		if e.N == y.N {
			said = "this sample"
		}
		if y.Required != nil && float64(e.N) == math.Ceil(*y.Required) {
			if said != "" {
				said += ", "
			}
			said += "needed"
		}
		if said == "" && e.N > 6 && e.N%5 != 0 {
			continue
		}
		rows.row(fmt.Sprint(e.N), percent(&e.HalfPct), word(said))
	}
	t.Body = rows.body()
	return t
}
