package charts

import (
	"fmt"
	"math"
	"strings"
)

// What of a site its page shows, and how large: numbers that would stand
// there twice stand there once, and a few single years beside a long record
// get a sentence in place of a chart. The CSV files hold every series.

// shown is a series as a page shows it.
type shown struct {
	*Series
	index int     // in Site.Series
	alone *Series // the only part of production, whose numbers this total repeats
	brief bool    // a sentence and a block of the table, without a chart
}

// shown lists the series of a page, in the order of the model.
func (s *Site) shown() []shown {
	var out []shown
	folded := map[*Series]bool{}
	for i := range s.Series {
		x := &s.Series[i]
		if len(x.Years) == 0 {
			continue
		}
		alone := s.onlyPart(x)
		folded[alone] = true
		out = append(out, shown{Series: x, index: i, alone: alone})
	}
	kept := out[:0]
	most := 0
	for _, v := range out {
		if !folded[v.Series] {
			kept = append(kept, v)
			most = max(most, v.means())
		}
	}
	for i := range kept {
		kept[i].brief = kept[i].Series != s.headline() && isBrief(kept[i].means(), most)
	}
	return kept
}

// isBrief tells whether so many years are too few for a chart of their own
// on a page where the longest record has most.
func isBrief(n, most int) bool { return n == 0 || n <= 2 && 3*n < most }

// means counts the years that have a mean.
func (x *Series) means() int {
	_, _, n := x.extremes()
	return n
}

// onlyPart finds the part of production that a total repeats number by
// number, because it is the only one; nil where there is none.
func (s *Site) onlyPart(total *Series) *Series {
	if total.Component != "production" {
		return nil
	}
	var only *Series
	for i := range s.Series {
		x := &s.Series[i]
		if x == total || !x.Production || x.Season != total.Season || len(x.Years) == 0 {
			continue
		}
		if only != nil {
			return nil
		}
		only = x
	}
	if only == nil || !sameYears(total.Years, only.Years) {
		return nil
	}
	return only
}

func sameYears(a, b []Year) bool {
	if len(a) != len(b) {
		return false
	}
	for i := range a {
		if !a[i].sameNumbers(&b[i]) {
			return false
		}
	}
	return true
}

// sameNumbers compares everything the table and the charts show of a year.
func (y *Year) sameNumbers(o *Year) bool {
	a, b := y.numbers(), o.numbers()
	for i := range a {
		if !same(a[i], b[i]) {
			return false
		}
	}
	if len(y.Frames) != len(o.Frames) {
		return false
	}
	for i := range y.Frames {
		if !same(&y.Frames[i], &o.Frames[i]) {
			return false
		}
	}
	return y.Year == o.Year && y.N == o.N && y.Missing == o.Missing && y.ZerosInferred == o.ZerosInferred &&
		y.verdict() == o.verdict() && count(y.Assured) == count(o.Assured) && count(y.ShortBy) == count(o.ShortBy)
}

func (y *Year) numbers() [15]*float64 {
	return [...]*float64{y.Mean, y.SD, y.SE, y.SEDrying, y.DF, y.CVPct, y.Low, y.High, y.HallLow, y.HallHigh,
		y.HalfWidthPct, y.Required, y.BookPct, y.BookLow, y.BookHigh}
}

// same tells whether two numbers differ by no more than rounding does.
func same(a, b *float64) bool {
	if a == nil || b == nil {
		return a == b
	}
	return math.Abs(*a-*b) <= 1e-9*math.Max(math.Abs(*a), math.Abs(*b))
}

// label names the series, and the part it repeats, at the head of a title.
func (v shown) label(s *Site) string {
	name := sentence(s.label(v.Series))
	if v.alone != nil {
		name += ", " + v.alone.name() + " alone"
	}
	return name
}

// briefText says in a sentence what a chart would have shown.
func briefText(r *Report, s *Site, v shown) string {
	f := s.figures()
	var words []string
	for i := range v.Years {
		y := &v.Years[i]
		if y.Mean == nil {
			continue
		}
		word := fmt.Sprintf("%s%s%s in %d", f.show(y.Mean), nbsp, r.Unit, y.Year)
		if span := f.span(y.Low, y.High); span != "" {
			word += " (" + share(r.Confidence) + " interval " + span + ")"
		}
		words = append(words, word)
	}
	if len(words) == 0 {
		return v.label(s) + ": no mean could be computed in any year."
	}
	return v.label(s) + ": " + join(words) + ". Too few years for a chart."
}

// onlyPartNote says why the part has no chart of its own.
func onlyPartNote(s *Site, v shown) string {
	if v.alone == nil {
		return ""
	}
	where := "here"
	for i := range s.Series {
		x := &s.Series[i]
		if x.Production && x.Component != "production" && x.Component != v.alone.Component && len(x.Years) > 0 {
			where = "in this season"
		}
	}
	return fmt.Sprintf("%s is the only part of production recorded %s, so this is its chart too. ", sentence(v.alone.name()), where)
}

// incompleteNote names the years in which a total lacks a part that other
// years have.
func incompleteNote(s *Site, v shown) string {
	if v.Component != "production" || v.alone != nil {
		return ""
	}
	var order []string
	years := map[string][]int{}
	for i := range v.Years {
		y := &v.Years[i]
		have, lack := s.partsOf(v.Series, y.Year)
		if y.Mean == nil || len(have) == 0 || len(lack) == 0 {
			continue
		}
		text := fmt.Sprintf("production is %s alone: %s %s not clipped", join(have), join(lack), plural(len(lack), "was", "were"))
		if years[text] == nil {
			order = append(order, text)
		}
		years[text] = append(years[text], y.Year)
	}
	var b strings.Builder
	for _, text := range order {
		fmt.Fprintf(&b, "In %s %s. ", yearList(years[text]), text)
	}
	return b.String()
}

// partsOf lists the parts of a total that were clipped in a year, and those
// clipped in other years only.
func (s *Site) partsOf(total *Series, year int) (have, lack []string) {
	for i := range s.Series {
		x := &s.Series[i]
		if !x.Production || x.Component == "production" || x.Season != total.Season || len(x.Years) == 0 {
			continue
		}
		if x.year(year) == nil {
			lack = append(lack, x.name())
		} else {
			have = append(have, x.name())
		}
	}
	return have, lack
}
