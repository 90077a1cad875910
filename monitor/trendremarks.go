package monitor

import (
	"fmt"
	"slices"
	"strings"

	"clipledger/schema"
)

// What a reader of a trend must know beside it.

// remarks adds what must be said of a series and of its methods.
func (w *trendWork) remarks(s *Series, all []*Series) {
	years, _, _ := s.values()
	s.remarkGaps(years, all)
	s.remarkYears(len(years))
	s.remarkZeros(years)
	w.remarkHow(s, years)
	w.remarkRain(s)
	w.remarkAgreement(s)
	w.remarkAutocorrelation(s)
	s.remarkEvents()
}

// remarkGaps says which years have no value, and that they are gaps.
func (s *Series) remarkGaps(years []int, all []*Series) {
	if n := len(years); n < yearsForTrend {
		s.note("too-few-years", fmt.Sprintf("%s with values: a verdict needs %d", yearsWord(n), yearsForTrend))
		s.remarkOtherSeasons(all)
	}
	for _, y := range s.Years {
		if y.LeftOut == "lacks a part that production has in other years" {
			s.warn("part-absent", "years in which a part of production was not looked for are left out: "+yearsText(s.yearsWhere(func(o *SeriesYear) bool { return o.LeftOut == y.LeftOut })))
			break
		}
	}
	if len(years) < 2 {
		return
	}
	var gaps []int
	for year := years[0] + 1; year < years[len(years)-1]; year++ {
		if !slices.Contains(years, year) {
			gaps = append(gaps, year)
		}
	}
	if len(gaps) > 0 {
		s.note("gaps", "no value in "+yearsText(gaps)+": real gaps, nothing is filled in")
	}
}

// remarkOtherSeasons says where the missing years may be: in other seasons.
func (s *Series) remarkOtherSeasons(all []*Series) {
	var words []string
	for _, o := range all {
		if o.Component == s.Component && o.Season != s.Season {
			if years, _, _ := o.values(); len(years) > 0 {
				words = append(words, fmt.Sprintf("%s (%s)", o.Season, yearsText(years)))
			}
		}
	}
	if len(words) > 0 {
		s.note("other-seasons", fmt.Sprintf("%s was also clipped in other seasons, and only like seasons are compared: %s", s.Component, strings.Join(words, ", ")))
	}
}

// remarkYears carries what the years' own means say: whether their samples
// were enough, how many rest on one unit, on book values or on inferred zeros.
func (s *Series) remarkYears(used int) {
	if used == 0 {
		return
	}
	in := func(ok func(*Mean) bool) []int {
		return s.yearsWhere(func(y *SeriesYear) bool { return y.Value.Valid && ok(y.Mean) })
	}
	if short := in(func(m *Mean) bool { return m.Adequate == No }); len(short) > 0 {
		s.note("inadequate-years", fmt.Sprintf("too few sampling units for the wanted precision in %d of %s: %s", len(short), yearsWord(used), yearsText(short)))
	}
	if one := in(func(m *Mean) bool { return m.N == 1 }); len(one) > 0 {
		s.note("one-unit-years", fmt.Sprintf("a single sampling unit in %d of %s: how well those are known cannot be told", len(one), yearsWord(used)))
	}
	if book := in(func(m *Mean) bool { return m.BookPct.Valid && m.BookPct.Float64 > 50 }); len(book) > 0 {
		s.note("book-years", fmt.Sprintf("book values carry more than half of the weight in %d of %s: a change of stage or table can make a trend", len(book), yearsWord(used)))
	}
	if zeros := in(func(m *Mean) bool { return hasRemark(m.Remarks, "all-zeros-inferred") }); len(zeros) > 0 {
		s.warn("zero-years", fmt.Sprintf("every value is an inferred zero in %d of %s: no row says that %s was looked for (%s)", len(zeros), yearsWord(used), s.Component, yearsText(zeros)))
	}
}

func hasRemark(list []Remark, code string) bool {
	return slices.ContainsFunc(list, func(r Remark) bool { return r.Code == code })
}

// yearsWhere lists the growth years that a condition holds for.
func (s *Series) yearsWhere(ok func(*SeriesYear) bool) []int {
	var out []int
	for i := range s.Years {
		if ok(&s.Years[i]) {
			out = append(out, s.Years[i].Year)
		}
	}
	return out
}

func (s *Series) remarkZeros(years []int) {
	if len(years) > 0 && s.Mean.Float64 == 0 {
		s.note("all-zero", fmt.Sprintf("%s weighs nothing in any year: no percent of a mean", s.Component))
	}
}

// remarkHow says how the site was clipped, where that can make a trend by
// itself.
func (w *trendWork) remarkHow(s *Series, years []int) {
	if len(years) < 2 {
		return
	}
	if s.Site.Placement == "same" {
		s.note("same-spot", "the same spots are clipped every year: clipping to the ground is itself a treatment, and a trend may be its doing")
	}
	caged := s.yearsWhere(func(y *SeriesYear) bool { return y.Value.Valid && y.Mean.Caged })
	open := s.yearsWhere(func(y *SeriesYear) bool { return y.Value.Valid && !y.Mean.Caged })
	if len(caged) > 0 && len(open) > 0 {
		s.warn("caging-changed", fmt.Sprintf("the values are those of caged frames in %s and of open ones in %s: what was grazed before clipping is missing from the latter, and that can make a trend", yearsText(caged), yearsText(open)))
	}
	for _, m := range w.mixings[s.Site.ID] {
		if s.holds(m.season, m.component) && m.within(years[0], years[len(years)-1]) {
			s.Remarks = append(s.Remarks, m.remark)
		}
	}
}

// holds tells whether a component of a season is in the series, itself or as
// part of the total.
func (s *Series) holds(season string, c schema.Component) bool {
	total := s.Component == Production && c.IsProduction()
	return (s.Component == c.String() || total) && (s.Season == season || total && strings.Contains(s.Season, "+"))
}

// within tells whether more than one of the ways was in use between two years.
func (m *mixing) within(first, last int) bool {
	n := 0
	for _, u := range m.uses {
		if u.Last >= first && u.First <= last {
			n++
		}
	}
	return n > 1
}

// remarkRain says which years the rain leaves out, and what its window rests
// on.
func (w *trendWork) remarkRain(s *Series) {
	r := s.Rain
	if r == nil {
		return
	}
	if !r.Known {
		s.warn("rain-unknown", r.Why+": import its months (import rain), or correct the site's station")
		return
	}
	if r.WindowChosen {
		s.note("rain-window", fmt.Sprintf("the site declares no rain_months: the rain of all twelve months of the growth year (%s) is taken", r.Window))
	}
	s.remarkRainMissing()
	if t := s.Trend(MethodOLSRain); t != nil && len(r.YearsUsed) < yearsWithRain {
		t.note("too-few-rain-years", fmt.Sprintf("%s with values and rain: a verdict needs %d", yearsWord(len(r.YearsUsed)), yearsWithRain))
	}
}

func (s *Series) remarkRainMissing() {
	lacking := s.yearsWhere(func(y *SeriesYear) bool { return y.Value.Valid && !y.RainMM.Valid })
	if len(lacking) == 0 {
		return
	}
	var whys []string
	for i := range s.Years {
		if y := &s.Years[i]; y.Value.Valid && !y.RainMM.Valid && len(whys) < 3 {
			whys = append(whys, fmt.Sprintf("%d: %s", y.Year, y.RainWhy))
		}
	}
	text := fmt.Sprintf("the rain of %s is missing, since its window %s lacks months (%s)", yearsText(lacking), s.Rain.Window, strings.Join(whys, "; "))
	if used := s.Rain.YearsUsed; len(used) > 0 {
		text += "; years used with rain: " + yearsText(used)
	}
	if t := s.Trend(MethodOLSRain); t != nil {
		t.note("rain-missing", text)
		return
	}
	s.note("rain-missing", text)
}

// remarkAgreement says where the two ways to test a trend disagree.
func (w *trendWork) remarkAgreement(s *Series) {
	ols, ranks := s.Trend(MethodOLS), s.Trend(MethodTheilSen)
	if ranks == nil || ols.Verdict == TooFewYears || ols.Verdict == ranks.Verdict {
		return
	}
	s.warn("methods-disagree", fmt.Sprintf("least squares says %q and Mann-Kendall %q at α = %.2g: look at the chart for single years that make or hide the trend", ols.Verdict, ranks.Verdict, w.math.alpha()))
}

// remarkAutocorrelation says where good years follow good years, so that the
// years are fewer independent pieces of evidence than they are counted for.
func (w *trendWork) remarkAutocorrelation(s *Series) {
	a := s.Autocorrelation
	if a == nil || a.P >= w.math.alpha() {
		return
	}
	text := fmt.Sprintf("lag-1 autocorrelation of the residuals is %.2f over %d pairs of consecutive years (%s, exact test for a ratio of quadratic forms)", a.R, a.Pairs, pText(a.P))
	if a.R > 0 {
		s.warn("autocorrelation", text+": years follow one another, so p is too small and the interval too narrow")
		return
	}
	s.note("autocorrelation", text+": years alternate, so p is too large and the interval too wide")
}

func (s *Series) remarkEvents() {
	for _, e := range s.Events {
		s.note("event", eventText(e))
	}
}

// eventText writes an event in a line.
func eventText(e schema.Event) string {
	where := e.Site
	if where == "" {
		where = "stratum " + e.Stratum
	}
	when := e.Start
	if e.End != "" && e.End != e.Start {
		when += " to " + e.End
	}
	text := fmt.Sprintf("event: %s at %s, %s", e.Kind, where, when)
	if e.Note != "" {
		text += " (" + e.Note + ")"
	}
	return text
}

// yearsText writes years as "2011–2014, 2016".
func yearsText(years []int) string {
	var words []string
	for i := 0; i < len(years); {
		j := i
		for j+1 < len(years) && years[j+1] == years[j]+1 {
			j++
		}
		switch {
		case j == i:
			words = append(words, fmt.Sprint(years[i]))
		case j == i+1:
			words = append(words, fmt.Sprint(years[i]), fmt.Sprint(years[j]))
		default:
			words = append(words, fmt.Sprintf("%d–%d", years[i], years[j]))
		}
		i = j + 1
	}
	return strings.Join(words, ", ")
}

// pText writes a p value.
func pText(p float64) string {
	if p < 0.001 {
		return "p < 0.001"
	}
	return fmt.Sprintf("p = %.3f", p)
}
