package monitor

import (
	"fmt"
	"slices"

	"clipledger/schema"
)

// What is not a fault of a record but of what a mean rests on: whether a
// component was looked for at all, book values, the number of units.

// checkDeclared finds undeclared components in years outside those in which
// they were recorded: nobody can tell whether they were looked for, so they
// are missing there. Parts of production are to be looked at; others are
// worth a note.
func (c *checker) checkDeclared() error {
	for i := range c.series {
		s := &c.series[i]
		years := map[schema.Component][]int{}
		frames := map[schema.Component]int{}
		for _, o := range s.occasions {
			for _, v := range c.framesOf(o.ID) {
				if !v.Clipped {
					continue
				}
				for _, component := range componentsIn(v.Outside) {
					years[component] = append(years[component], o.Year)
					frames[component]++
				}
			}
		}
		for _, component := range schema.Components {
			if len(years[component]) > 0 {
				c.reportUndeclared(s, component, years[component], frames[component])
			}
		}
	}
	return nil
}

func (c *checker) reportUndeclared(s *series, component schema.Component, years []int, frames int) {
	f := Finding{Severity: Look, Check: "declare-component", Years: years, Components: []string{component.String()},
		Why: "nothing tells whether it was looked for and not found, or not clipped: it is missing there, and so is every total that needs it",
		Do:  fmt.Sprintf("write in a sites file what is looked for, such as components = herbaceous;%s; or list components_sampled with the rows", component)}
	if !component.IsProduction() {
		f.Severity, f.Why = Note, "nothing tells whether it was looked for and not found, or not clipped: it is missing there; it is no part of production"
	}
	if component == schema.Herbaceous {
		f.Do = "write in a sites file what is looked for, such as components = herbaceous;browse; or list components_sampled with the rows"
	}
	f.Found = fmt.Sprintf("the site does not declare its components, and %s of these years %s outside the years in which %s was recorded", framesWord(frames), lies(frames), component)
	c.report(s.place, f, evidence{key: s.site.Site + " " + s.season, values: fmt.Sprint(distinct(years))})
}

func lies(n int) string {
	if n == 1 {
		return "lies"
	}
	return "lie"
}

// distinct leaves out repeats of an ascending list.
func distinct(years []int) []int {
	var out []int
	for _, y := range years {
		if len(out) == 0 || out[len(out)-1] != y {
			out = append(out, y)
		}
	}
	return out
}

// fewestUnits is the number of sampling units below which an interval says
// next to nothing (common practice).
const fewestUnits = 3

// meansOfSeries is what the means of one component of a series tell.
type meansOfSeries struct {
	place
	component string
}

// checkMeans looks at the means themselves, component by component.
func (c *checker) checkMeans(sites []*schema.SiteRecord) error {
	c.books, c.few = map[meansOfSeries][]*Mean{}, map[meansOfSeries][]*Mean{}
	if err := c.means.group(sites, c.bySite); err != nil {
		return err
	}
	for k, list := range c.books {
		c.reportBooks(k, list)
	}
	for k, list := range c.few {
		c.reportFew(k, list)
	}
	return nil
}

// noteMean keeps a mean that is worth a word.
func (c *checker) noteMean(m *Mean) error {
	if m.Component == Production {
		return nil
	}
	k := meansOfSeries{place{c.sites[m.Site.ID], m.Season}, m.Component}
	kept := &Mean{Year: m.Year, N: m.N, BookPct: m.BookPct, Missing: m.Missing}
	if m.BookPct.Valid && m.BookPct.Float64 > 50 {
		c.books[k] = append(c.books[k], kept)
	}
	undeclared := slices.ContainsFunc(m.Remarks, func(r Remark) bool { return r.Code == "undeclared" })
	if m.N < fewestUnits && m.N+m.Missing > 0 && !(m.N == 0 && undeclared) { // checkDeclared speaks of those
		c.few[k] = append(c.few[k], kept)
	}
	return nil
}

func yearsOf(list []*Mean) []int {
	var out []int
	for _, m := range list {
		out = append(out, m.Year)
	}
	return out
}

// reportBooks speaks of a practice rather than of a record: its ID does not
// change with the years.
func (c *checker) reportBooks(k meansOfSeries, list []*Mean) {
	low, high := 100.0, 0.0
	for _, m := range list {
		low, high = min(low, m.BookPct.Float64), max(high, m.BookPct.Float64)
	}
	share := fmt.Sprintf("%.0f %%", low)
	if fmt.Sprintf("%.0f", low) != fmt.Sprintf("%.0f", high) {
		share = fmt.Sprintf("%.0f to %.0f %%", low, high)
	}
	c.report(k.place, Finding{Severity: Note, Check: "book-values", Years: yearsOf(list), Components: []string{k.component},
		Found: fmt.Sprintf("%s of the dry weight rests on book values in %s", share, yearsWord(len(list))),
		Why:   "book values differ from the true fraction by several points from place to place and year to year, and no interval shows that",
		Do:    "dry a few bags of each plant at every clipping; means says what 5 points more or less would do"},
		evidence{key: k.site.Site + " " + k.season + " " + k.component})
}

func yearsWord(n int) string {
	if n == 1 {
		return "1 year"
	}
	return fmt.Sprintf("%d years", n)
}

func (c *checker) reportFew(k meansOfSeries, list []*Mean) {
	fewest, most := list[0].N, 0
	var values []string
	for _, m := range list {
		fewest, most = min(fewest, m.N), max(most, m.N)
		values = append(values, fmt.Sprintf("%d:%d", m.Year, m.N))
	}
	number := fmt.Sprint(most)
	if fewest != most {
		number = fmt.Sprintf("%d to %d", fewest, most)
	}
	c.report(k.place, Finding{Severity: Note, Check: "few-units", Years: yearsOf(list), Components: []string{k.component},
		Found: fmt.Sprintf("the mean rests on %s sampling units (each %s counts as one)", number, k.site.SamplingUnit),
		Why:   "with fewer than three units there is no interval, or one so wide that it says nothing",
		Do:    "clip more units; adequacy says how many"},
		evidence{key: k.site.Site + " " + k.season + " " + k.component, values: fmt.Sprint(values)})
}
