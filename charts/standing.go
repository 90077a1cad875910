package charts

import (
	"fmt"
	"html/template"
	"strings"
)

// Where does the site stand in its latest year? Production and its parts with
// their intervals, against the mean of the years before.

// standingPart is the first section of the page; ok is false for a site with
// nothing to set against anything.
func standingPart(r *Report, s *Site, views []shown) (p part, ok bool) {
	head := s.headline()
	last := head.latestWithMean()
	if last == nil {
		return p, false
	}
	f := s.figures()
	scale := standingScale(views)
	t := &smallTable{ID: "standing", Caption: fmt.Sprintf("Dry matter in %s, %s. Bar: the %s interval; mark: the mean; tall tick: the long-term mean, of the years before that have a mean, each counting once.", r.Unit, r.Basis, share(r.Confidence)),
		Head: standingHead(s, scale, r.Unit)}
	classes, changes := hasClass(s), hasChanges(s)
	rows := rows{width: len(t.Head) + 1}
	for _, v := range views {
		y := v.latestWithMean()
		if !v.Production || y == nil || v.brief {
			continue
		}
		name := v.label(s)
		if y.Year != last.Year {
			name += fmt.Sprintf(", %d", y.Year)
		}
		cells := []any{f.show(y.Mean), f.span(y.Low, y.High), standingSVG(v.Series, y, scale, standingLabel(r, f, v.Series, y)), earlier(f, v.Series), ofLongTerm(v.Series, y)}
		if changes {
			cells = append(cells, differenceText(f, v.Series, y.Year))
		}
		if classes {
			cells = append(cells, word(classText(y)))
		}
		rows.row(name, cells...)
	}
	t.Body = rows.body()
	p = part{ID: "standing-now", Heading: standingTitle(s), Tables: []*smallTable{t}}
	if text := rainStanding(s, last.Year); text != "" {
		p.Lead = append(p.Lead, text)
	}
	return p, true
}

func standingHead(s *Site, scale axis, unit string) []column {
	last := s.headline().latestWithMean().Year
	head := []column{
		{Short: "Mean", Long: fmt.Sprintf("mean in %d", last)}, {Short: "Interval", Long: "t interval, as computed"},
		{Short: fmt.Sprintf("0 to %s %s", trimmed(scale.max, 2), unit), Long: "interval, mean and long-term mean on one scale", Words: true},
		{Short: "Long\u2011term mean", Long: "mean of the years before, each counting once"},
		{Short: "%\u00a0of it", Long: "this year in % of the long-term mean"},
	}
	if hasChanges(s) {
		head = append(head, column{Short: "From the year before", Long: "difference from the year before, with its interval"})
	}
	if hasClass(s) {
		head = append(head, column{Short: "Class", Long: "class, and how sure it is", Words: true})
	}
	return head
}

func standingScale(views []shown) axis {
	top := 0.0
	for _, v := range views {
		if y := v.latestWithMean(); y != nil && v.Production {
			for _, x := range []*float64{y.Mean, y.High, v.LongTerm} {
				if x != nil {
					top = max(top, *x)
				}
			}
		}
	}
	return axisFor(top, 5)
}

// standingTitle states the year against the long-term mean.
func standingTitle(s *Site) string {
	x := s.headline()
	y := x.latestWithMean()
	if x.LongTerm == nil || *x.LongTerm <= 0 {
		return fmt.Sprintf("%s in %d", sentence(s.label(x)), y.Year)
	}
	pct := 100 * *y.Mean / *x.LongTerm
	years := fmt.Sprintf("its mean over %d earlier %s", x.Earlier, plural(x.Earlier, "year", "years"))
	return fmt.Sprintf("In %d %s was %s%s%% of %s%s", y.Year, s.label(x), percent(&pct), nbsp, years, beyondInterval(x, y))
}

// beyondInterval says whether the long-term mean lies in this year's interval,
// which is this year's own uncertainty alone.
func beyondInterval(x *Series, y *Year) string {
	switch {
	case y.Low == nil || y.High == nil:
		return ""
	case *x.LongTerm < *y.Low:
		return "; that mean lies below this year’s interval"
	case *x.LongTerm > *y.High:
		return "; that mean lies above this year’s interval"
	}
	return "; that mean lies within this year’s interval"
}

// earlier is the long-term mean with the number of its years.
func earlier(f figures, x *Series) string {
	if x.LongTerm == nil {
		return ""
	}
	return fmt.Sprintf("%s (%d %s)", f.show(x.LongTerm), x.Earlier, plural(x.Earlier, "year", "years"))
}

func ofLongTerm(x *Series, y *Year) string {
	if x.LongTerm == nil || *x.LongTerm <= 0 || y.Mean == nil {
		return ""
	}
	pct := 100 * *y.Mean / *x.LongTerm
	return percent(&pct)
}

func rainStanding(s *Site, year int) string {
	y := s.Rain.year(year)
	if y == nil || y.MM == nil || s.Rain.MeanMM == nil {
		return ""
	}
	text := fmt.Sprintf("Rain, %s: %s%smm; long-term mean %s%smm", s.Rain.Window, fixed(*y.MM, 0), nbsp, fixed(*s.Rain.MeanMM, 0), nbsp)
	if y.Pct != nil {
		text += fmt.Sprintf(", so %s%s%% of it", percent(y.Pct), nbsp)
	}
	return text + "."
}

// differenceText is the change of a year from the one before it, blank where it
// was not compared.
func differenceText(f figures, x *Series, year int) string {
	for i := range x.Changes {
		c := &x.Changes[i]
		if c.Year2 != year || c.Value == nil {
			continue
		}
		text := f.signed(c.Value)
		if span := f.signedSpan(c.Low, c.High); span != "" {
			text += " (" + span + ")"
		}
		if c.Year1 != year-1 {
			text += fmt.Sprintf(" since %d", c.Year1)
		}
		return text
	}
	return ""
}

func hasChanges(s *Site) bool {
	for i := range s.Series {
		if len(s.Series[i].Changes) > 0 {
			return true
		}
	}
	return false
}

func hasClass(s *Site) bool {
	for i := range s.Series {
		for j := range s.Series[i].Years {
			if s.Series[i].Years[j].Class != "" {
				return true
			}
		}
	}
	return false
}

// classText is a year's class with its confidence.
func classText(y *Year) string {
	if y.Class == "" {
		return ""
	}
	for _, c := range y.ClassShares {
		if c.Label == y.Class {
			return y.Class + ", " + sure(c.Share)
		}
	}
	return y.Class
}

// sure prints a confidence, never as certainty.
func sure(share float64) string {
	switch pct := 100 * share; {
	case pct > 99:
		return ">99" + nbsp + "%"
	case pct < 1:
		return "<1" + nbsp + "%"
	default:
		return fixed(pct, 0) + nbsp + "%"
	}
}

func standingLabel(r *Report, f figures, x *Series, y *Year) string {
	text := f.show(y.Mean) + " " + r.Unit
	if span := f.span(y.Low, y.High); span != "" {
		text += ", interval " + span
	}
	if x.LongTerm != nil {
		text += ", long-term mean " + f.show(x.LongTerm)
	}
	return text
}

// standingSVG is the interval of a year, its mean, and the long-term mean as a
// tall tick.
func standingSVG(x *Series, y *Year, scale axis, label string) template.HTML {
	svg := string(intervalSVG(y, scale, label))
	if x.LongTerm == nil {
		return template.HTML(svg)
	}
	place := drawingPad + *x.LongTerm/scale.max*(barWidth-2*drawingPad)
	tick := fmt.Sprintf(`<path class="long" d="M%.1f 1V17"/></svg>`, place)
	return template.HTML(strings.Replace(svg, "</svg>", tick, 1))
}
