package charts

import (
	"fmt"
	"math"
	"strconv"
)

// How much was taken? Caged frames beside open ones, with a caution.

// usePart is the section; ok is false where no frames were caged beside open
// ones.
func usePart(r *Report, s *Site, page string) (p part, ok bool, err error) {
	if len(s.Uses) == 0 {
		return p, false, nil
	}
	p = part{ID: "use", Heading: "How much was taken?", Caution: true, Screen: true}
	head := s.usesOf()
	if b, drawn := useChart(r, s, head); drawn {
		js, err := b.script()
		if err != nil {
			return p, false, err
		}
		p.Figures = append(p.Figures, figure{Page: page, ID: "chart-use", Kind: kindOf(head[0].Component) + " low", Wide: true, Title: useTitle(r, head), Script: js, Table: "uses", CSV: page + "-use",
			Caption: fmt.Sprintf("Taken by the time of clipping: 1 − open ÷ caged, with its %s interval. What was eaten before the cages stood is not seen.", share(r.Confidence))})
	} else {
		p.Lead = append(p.Lead, useTitle(r, head)+".")
	}
	p.Tables = []*smallTable{useTable(r, s, page)}
	p.Notes = remarksWithYears(s, func(add func(Remark, string, int)) {
		for i := range s.Uses {
			for _, m := range s.Uses[i].Remarks {
				add(m, s.Uses[i].Component, s.Uses[i].Year)
			}
		}
	})
	return p, true, nil
}

// usesOf are the uses of production where there are any, else of the first
// component.
func (s *Site) usesOf() []*Use {
	name, season := s.Uses[0].Component, s.Uses[0].Season
	for i := range s.Uses {
		if s.Uses[i].Component == "production" {
			name, season = "production", s.Uses[i].Season
			break
		}
	}
	var out []*Use
	for i := range s.Uses {
		if s.Uses[i].Component == name && s.Uses[i].Season == season {
			out = append(out, &s.Uses[i])
		}
	}
	return out
}

func useTitle(r *Report, uses []*Use) string {
	last := uses[len(uses)-1]
	name := sentence(last.Component)
	if last.Pct == nil {
		return fmt.Sprintf("%s: how much was taken in %d cannot be said", name, last.Year)
	}
	text := fmt.Sprintf("%s: %s%s%% was taken in %d", name, percent(last.Pct), nbsp, last.Year)
	if last.Low != nil && last.High != nil {
		text += fmt.Sprintf(" (%s interval %s%s%% to %s%s%%)", share(r.Confidence), percent(last.Low), nbsp, percent(last.High), nbsp)
	}
	return text
}

func useChart(r *Report, s *Site, uses []*Use) (b block, ok bool) {
	years := s.yearSpan()
	lo := 0.0
	for _, u := range uses {
		if u.Low != nil {
			lo = math.Min(lo, math.Max(*u.Low, -50))
		}
	}
	line := overYears(years, spanFor(lo, 100, 6), "taken, %", "10")
	spanYears(line, years)
	b.Notes = map[string]string{}
	var bars, marks []opt
	for _, u := range uses {
		k := u.Year - years[0]
		if u.Pct == nil || k < 0 || k >= len(years) {
			continue
		}
		marks = append(marks, at(k, shownAt(math.Max(*u.Pct, -50)), markEnough, shapeOf(u.Component)))
		note := fmt.Sprintf("%d: %s%s%% taken", u.Year, percent(u.Pct), nbsp)
		if u.Low != nil && u.High != nil {
			cut := 0
			if *u.Low < -50 {
				cut = 1
			}
			bars = append(bars, at(k, shownAt(math.Max(*u.Low, -50)), shownAt(math.Min(*u.High, 100)), cut))
			note += fmt.Sprintf(", interval %s to %s", percent(u.Low), percent(u.High))
		}
		b.Notes[strconv.Itoa(u.Year)] = note
	}
	for _, year := range years {
		if key := strconv.Itoa(year); b.Notes[key] == "" {
			b.Notes[key] = key + ": no figure"
		}
	}
	if lo < 0 {
		overlay(line, "zero", "level", []opt{at(0, 0, 1)})
	}
	overlay(line, "interval", "interval", bars)
	overlay(line, "marks", "mark", marks)
	b.Option = options(line)
	return b, len(marks) > 1
}

func useTable(r *Report, s *Site, page string) *smallTable {
	f := s.figures()
	t := &smallTable{ID: "uses", Title: "Caged and open, of parts too", Folded: true, CSV: page + "-use",
		Caption: fmt.Sprintf("Means in %s, %s; taken in %% with its %s interval", r.Unit, r.Basis, share(r.Confidence)),
		Head: []column{{Short: "Caged since", Long: "date the cages stood from", Words: true}, {Short: "n caged, open", Long: "sampling units"}, {Short: "Caged", Long: "mean of caged frames"}, {Short: "Open", Long: "mean of open frames"},
			{Short: "Taken\u00a0%", Long: "1 − open ÷ caged"}, {Short: "Interval", Long: "Fieller’s interval"}}}
	rows := rows{width: len(t.Head) + 1}
	for _, x := range s.Series {
		first := true
		for i := range s.Uses {
			u := &s.Uses[i]
			if u.Component != x.Component || u.Season != x.Season {
				continue
			}
			if first {
				rows.group(groupTitle(shown{Series: &x}))
				first = false
			}
			span := ""
			if u.Low != nil && u.High != nil {
				span = percent(u.Low) + " to " + percent(u.High)
			}
			rows.row(strconv.Itoa(u.Year), word(u.Since), fmt.Sprintf("%d, %d", u.NCaged, u.NOpen), f.show(u.Caged), f.show(u.Open), percent(u.Pct), span)
		}
	}
	t.Body = rows.body()
	return t
}
