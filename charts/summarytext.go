package charts

import (
	"cmp"
	"fmt"
	"math"
	"slices"
)

// The sentences of the annual summary, composed from its numbers alone.

// summaryFinding is the sentence at the head: the level of all strata, how it
// changed, where it stands against earlier years, and the rain.
func summaryFinding(r *Report, y *SummaryYear) string {
	row := y.main()
	if row == nil || row.Mean == nil {
		return fmt.Sprintf("No mean over sites could be computed for %d.", y.Year)
	}
	f := y.figures()
	name := (&Series{Component: row.Component}).name()
	text := fmt.Sprintf("In %d the mean %s of %d %s was %s%s%s", y.Year, name, row.Sites, plural(row.Sites, "site", "sites"), f.show(row.Mean), nbsp, r.Unit)
	if span := f.span(row.Low, row.High); span != "" {
		text += fmt.Sprintf(" (%s interval %s, %s)", share(r.Confidence), span, r.Basis)
	} else {
		text += fmt.Sprintf(" (%s; no interval)", r.Basis)
	}
	if also := r.also(row.Mean); also != "" {
		text += ", or " + also
	}
	text += summaryChange(row, y.Year) + summaryLongTerm(row) + "."
	if row.RainPct != nil {
		text += fmt.Sprintf(" Rain was %s%s%% of its long-term mean.", percent(row.RainPct), nbsp)
	}
	return text
}

func summaryChange(row *SummaryRow, year int) string {
	if row.ChangePct == nil {
		return ""
	}
	at := ""
	if row.ChangeOf != row.Sites {
		at = fmt.Sprintf(" at the %d visited in both", row.ChangeOf)
		if row.ChangeOf == 1 {
			at = " at the one visited in both"
		}
	}
	size := math.Abs(*row.ChangePct)
	switch {
	case percent(&size) == "0":
		return fmt.Sprintf(", as in %d%s", year-1, at)
	case *row.ChangePct > 0:
		return fmt.Sprintf(", %s%s%% more than in %d%s", percent(&size), nbsp, year-1, at)
	}
	return fmt.Sprintf(", %s%s%% less than in %d%s", percent(&size), nbsp, year-1, at)
}

func summaryLongTerm(row *SummaryRow) string {
	if row.PctOfMean == nil {
		return ""
	}
	joint := ", and "
	if row.ChangePct == nil {
		joint = ", "
	}
	return fmt.Sprintf("%s%s%s%% of the mean of earlier years", joint, percent(row.PctOfMean), nbsp)
}

// summaryFindings are the sentences beneath it.
func summaryFindings(r *Report, y *SummaryYear) []string {
	row := y.main()
	if row == nil {
		return nil
	}
	var out []string
	for _, text := range []string{strataText(y, row), mostOfYearText(r, y, row), classesText(row), enoughText(r, row), notVisitedOf(row, y.Year)} {
		if text != "" {
			out = append(out, text)
		}
	}
	return out
}

// strataText says where the strata stand against earlier years.
func strataText(y *SummaryYear, main *SummaryRow) string {
	var above, below []string
	n := 0
	for i := range y.Rows {
		row := &y.Rows[i]
		if row.All || row.Component != main.Component || row.Season != main.Season || row.PctOfMean == nil {
			continue
		}
		n++
		word := fmt.Sprintf("%s (%s%s%%)", row.stratumName(), percent(row.PctOfMean), nbsp)
		if *row.PctOfMean >= 100 {
			above = append(above, word)
		} else {
			below = append(below, word)
		}
	}
	switch {
	case n < 2:
		return ""
	case len(below) == 0:
		return "At or above the mean of earlier years: " + someNames(above) + "."
	case len(above) == 0:
		return "Below the mean of earlier years: " + someNames(below) + "."
	}
	return fmt.Sprintf("At or above the mean of earlier years: %s; below it: %s.", someNames(above), someNames(below))
}

// mostOfYearText names the sites that changed most from the year before.
func mostOfYearText(r *Report, y *SummaryYear, main *SummaryRow) string {
	var all []*SummarySite
	for i := range y.Rows {
		row := &y.Rows[i]
		if row.All || row.Component != main.Component {
			continue
		}
		for j := range row.Each {
			if x := &row.Each[j]; x.ChangePct != nil && *x.ChangePct != 0 {
				all = append(all, x)
			}
		}
	}
	if len(all) < 2 {
		return ""
	}
	slices.SortStableFunc(all, func(a, b *SummarySite) int { return cmp.Compare(*b.ChangePct, *a.ChangePct) })
	up, down := all[0], all[len(all)-1]
	f := y.figures()
	told := func(x *SummarySite) string {
		return fmt.Sprintf("%s (%s, to %s%s%s)", x.Code, signedPercent(*x.ChangePct), f.show(x.Mean), nbsp, r.Unit)
	}
	switch {
	case *up.ChangePct > 0 && *down.ChangePct < 0:
		return fmt.Sprintf("From %d it rose most at %s and fell most at %s.", y.Year-1, told(up), told(down))
	case *up.ChangePct > 0:
		return fmt.Sprintf("From %d it rose most at %s.", y.Year-1, told(up))
	}
	return fmt.Sprintf("From %d it fell most at %s.", y.Year-1, told(down))
}

func classesText(row *SummaryRow) string {
	if len(row.Classes) == 0 {
		return ""
	}
	var words []string
	n := 0
	for _, c := range row.Classes {
		words = append(words, fmt.Sprintf("%d in class “%s”", c.Sites, c.Label))
		n += c.Sites
	}
	if n == 1 {
		return fmt.Sprintf("The one classed site is in class “%s”.", row.Classes[0].Label)
	}
	return fmt.Sprintf("Of %d classed sites, %s.", n, join(words))
}

func enoughText(r *Report, row *SummaryRow) string {
	if row.Judged == 0 {
		return "Whether the samples were large enough could be judged at no site."
	}
	text := judgedText(row.Judged, row.Adequate, r.enough())
	return text[1:]
}

func notVisitedOf(row *SummaryRow, year int) string {
	if len(row.NotVisited) == 0 {
		return fmt.Sprintf("Every site with earlier years was visited in %d.", year)
	}
	return fmt.Sprintf("Not visited in %d: %s.", year, someNames(row.NotVisited))
}

// moreText says what the samples that were short add up to.
func moreText(r *Report, year int, short []shortRow, judged bool) string {
	if !judged {
		return fmt.Sprintf("No sample of %d could be judged.", year)
	}
	if len(short) == 0 {
		return fmt.Sprintf("No sample of %d was short of %s.", year, r.enough())
	}
	counts := map[string]int{}
	var units []string
	for _, s := range short {
		unit := s.Units
		if unit[len(unit)-1] != 's' {
			unit += "s"
		}
		if counts[unit] == 0 {
			units = append(units, unit)
		}
		counts[unit] += s.ShortBy
	}
	var words []string
	for _, u := range units {
		word := u
		if counts[u] == 1 {
			word = u[:len(u)-1]
		}
		words = append(words, fmt.Sprintf("%d more %s", counts[u], word))
	}
	return fmt.Sprintf("With the spread of %d, %s in %d %s would have reached %s. A year with another spread needs another number.", year, join(words),
		len(short), plural(len(short), "sample", "samples"), r.enough())
}
