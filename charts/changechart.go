package charts

import (
	"fmt"
	"math"
	"strconv"
)

// Is a year different from the one before it? Differences with their
// intervals about no change.

// changesPart is the section on differences; ok is false where no two years
// were compared.
func changesPart(r *Report, s *Site, page string, views []shown) (p part, ok bool, err error) {
	if !hasChanges(s) {
		return p, false, nil
	}
	p = part{ID: "changes", Heading: "From year to year", Screen: true}
	x := s.headline()
	if !x.compared() {
		for _, v := range views {
			if v.Production && v.compared() {
				x = v.Series
				break
			}
		}
	}
	b, drawn := changeChart(r, s, x)
	if drawn {
		js, err := b.script()
		if err != nil {
			return p, false, err
		}
		p.Figures = append(p.Figures, figure{Page: page, ID: "chart-changes", Kind: kindOf(x.Component) + " low", Wide: true, Title: changeTitle(r, s, x), Caption: changeCaption(r, x), Script: js, Table: "changes-table", CSV: page + "-changes"})
	}
	p.Tables = []*smallTable{changesTable(r, s, views, page)}
	p.Notes = remarksWithYears(s, func(add func(Remark, string, int)) {
		for _, v := range views {
			for i := range v.Changes {
				for _, m := range v.Changes[i].Remarks {
					add(m, s.label(v.Series), v.Changes[i].Year2)
				}
			}
		}
	})
	return p, true, nil
}

func (x *Series) compared() bool {
	for i := range x.Changes {
		if x.Changes[i].Value != nil {
			return true
		}
	}
	return false
}

// differs tells whether the interval of a difference leaves out no change.
func (d *Difference) differs() bool {
	return d.Value != nil && d.Low != nil && d.High != nil && (*d.Low > 0 || *d.High < 0)
}

// changeTitle states how many differences stand out, and the latest.
func changeTitle(r *Report, s *Site, x *Series) string {
	n, out := 0, 0
	var last *Difference
	for i := range x.Changes {
		d := &x.Changes[i]
		if d.Value == nil {
			continue
		}
		last = d
		if d.Low != nil && d.High != nil {
			n++
			if d.differs() {
				out++
			}
		}
	}
	f := s.figures()
	verb, size := "rose", *last.Value
	if size < 0 {
		verb, size = "fell", -size
	}
	now := fmt.Sprintf("%s %s by %s%s%s", sentence(s.label(x)), verb, f.show(&size), nbsp, r.Unit)
	if last.Pct != nil {
		pct := math.Abs(*last.Pct)
		now += fmt.Sprintf(" (%s%s%%)", percent(&pct), nbsp)
	}
	now += fmt.Sprintf(" from %d to %d", last.Year1, last.Year2)
	switch {
	case n == 0:
		return now
	case last.differs():
		now += ", which stands out"
	case last.Low != nil:
		now += ", which does not stand out"
	}
	if n == 1 {
		return now
	}
	return fmt.Sprintf("%s; %d of %d changes do", now, out, n)
}

func changeCaption(r *Report, x *Series) string {
	n := 0
	for i := range x.Changes {
		if x.Changes[i].P != nil {
			n++
		}
	}
	text := fmt.Sprintf("Each year against the one before it that was clipped, with its %s interval. Filled: the interval leaves out no change.", share(r.Confidence))
	if n > 1 {
		text += fmt.Sprintf(" Of %d comparisons, about %s would stand out by chance alone.", n, trimmed(float64(n)*(1-r.Confidence), 1))
	}
	return text
}

func changeChart(r *Report, s *Site, x *Series) (b block, ok bool) {
	years := s.yearSpan()
	lo, hi := 0.0, 0.0
	for i := range x.Changes {
		for _, v := range []*float64{x.Changes[i].Value, x.Changes[i].Low, x.Changes[i].High} {
			if v != nil {
				lo, hi = math.Min(lo, *v), math.Max(hi, *v)
			}
		}
	}
	line := overYears(years, spanFor(lo, hi, 6), r.Unit, "10")
	spanYears(line, years)
	b.Notes = map[string]string{}
	var bars, marks []opt
	f := s.figures()
	for i := range x.Changes {
		d := &x.Changes[i]
		k := d.Year2 - years[0]
		if d.Value == nil || k < 0 || k >= len(years) {
			continue
		}
		state := markTooFew
		if d.differs() {
			state = markEnough
		}
		marks = append(marks, at(k, shownAt(*d.Value), state, shapeOf(x.Component)))
		if d.Low != nil && d.High != nil {
			bars = append(bars, at(k, shownAt(*d.Low), shownAt(*d.High), 0))
		}
		b.Notes[strconv.Itoa(d.Year2)] = fmt.Sprintf("%d to %d: %s%s%s, interval %s", d.Year1, d.Year2, f.signed(d.Value), nbsp, r.Unit, f.signedSpan(d.Low, d.High))
	}
	for _, year := range years {
		if key := strconv.Itoa(year); b.Notes[key] == "" {
			b.Notes[key] = key + ": not compared"
		}
	}
	overlay(line, "zero", "level", []opt{at(0, 0, 1)})
	overlay(line, "interval", "interval", bars)
	overlay(line, "marks", "mark", marks)
	b.Option = options(line)
	return b, len(marks) > 0
}

var designWords = map[string]string{"paired-frames": "same frames", "paired-transects": "same transects", "independent": "independent samples"}

func changesTable(r *Report, s *Site, views []shown, page string) *smallTable {
	f := s.figures()
	t := &smallTable{ID: "changes-table", Title: "All differences, of parts too", Folded: true, CSV: page + "-changes",
		Caption: fmt.Sprintf("Later year less earlier one, in %s, %s, with %s intervals. p (Holm) allows for all comparisons of this report; production, a sum of tested parts, has none", r.Unit, r.Basis, share(r.Confidence)),
		Head: []column{{Short: "Design", Long: "what is compared", Words: true}, {Short: "n", Long: "sampling units used of each year"}, {Short: "Means", Long: "of the units used"}, {Short: "Difference", Long: "later less earlier"},
			{Short: "%", Long: "in % of the earlier"}, {Short: "Interval", Long: "t interval of the difference"}, {Short: "p", Long: "p of this comparison alone"}, {Short: "p (Holm)", Long: "p after Holm’s adjustment"}, {Short: "Could be seen", Long: "smallest difference that would have been found four times in five"}}}
	rows := rows{width: len(t.Head) + 1}
	for _, v := range views {
		if len(v.Changes) == 0 {
			continue
		}
		rows.group(groupTitle(v))
		for i := range v.Changes {
			d := &v.Changes[i]
			if d.Value == nil {
				continue
			}
			design := designWords[d.Design]
			if design == "" {
				design = d.Design
			}
			pct := ""
			if d.Pct != nil {
				pct = plus(percent(d.Pct))
			}
			rows.row(fmt.Sprintf("%d–%d", d.Year1, d.Year2), word(design), fmt.Sprintf("%d, %d", d.N1, d.N2), f.show(d.Mean1)+", "+f.show(d.Mean2), f.signed(d.Value), pct,
				f.signedSpan(d.Low, d.High), probability(d.P), probability(d.PHolm), f.show(d.MinDetectable))
		}
	}
	t.Body = rows.body()
	return t
}
