package charts

import (
	"cmp"
	"fmt"
	"math"
	"slices"
)

// What the latest year brought, in sentences for the head of the index: what
// rose and what fell, what changed most, what the years say together, and
// which sites were not visited. All numbers are those of the sites' headline
// series; nothing is estimated here.

// mostNames is how many names a sentence lists before it counts the rest.
const mostNames = 6

// latestYear is the last growth year in which any site's headline series has
// an occasion.
func (r *Report) latestYear() (int, bool) {
	latest := math.MinInt
	for i := range r.Sites {
		if y := r.Sites[i].headline().latest(); y != nil {
			latest = max(latest, y.Year)
		}
	}
	return latest, latest != math.MinInt
}

// yearFindings are the sentences, in the order they are read.
func yearFindings(r *Report) []string {
	latest, ok := r.latestYear()
	if !ok {
		return nil
	}
	var out []string
	for _, text := range []string{changeText(r, latest), mostChangedText(r, latest), trendsText(r), notVisitedText(r, latest)} {
		if text != "" {
			out = append(out, text)
		}
	}
	return out
}

// siteChange is how a site's mean changed from the year before.
type siteChange struct {
	code       string
	then, now  float64
	pct        float64
	hasPct     bool // the year before had some
	figures    figures
	difference *Difference // as it was tested; nil where it was not
}

// changesInto lists the changes into a year of the sites visited in it and in
// the year before.
func changesInto(r *Report, year int) []siteChange {
	var out []siteChange
	for i := range r.Sites {
		s := &r.Sites[i]
		x := s.headline()
		if x == nil {
			continue
		}
		now, then := x.year(year), x.year(year-1)
		if now == nil || then == nil || now.Mean == nil || then.Mean == nil {
			continue
		}
		c := siteChange{code: s.Code, then: *then.Mean, now: *now.Mean, figures: s.figures(), difference: x.change(year)}
		if c.then > 0 {
			c.pct, c.hasPct = 100*(c.now/c.then-1), true
		}
		out = append(out, c)
	}
	return out
}

// change is the tested difference of a year from the one before.
func (x *Series) change(year int) *Difference {
	for i := range x.Changes {
		if d := &x.Changes[i]; d.Year2 == year && d.Year1 == year-1 {
			return d
		}
	}
	return nil
}

// clear tells whether the interval of a difference leaves out zero.
func (d *Difference) clear() bool {
	return d != nil && d.Low != nil && d.High != nil && (*d.Low > 0 || *d.High < 0)
}

func changeText(r *Report, year int) string {
	changes := changesInto(r, year)
	if len(changes) == 0 {
		return fmt.Sprintf("No site was clipped in both %d and %d, so nothing can be compared with the year before.", year-1, year)
	}
	rose, fell := 0, 0
	var tested int
	var clear []string
	for _, c := range changes {
		switch {
		case c.now > c.then:
			rose++
		case c.now < c.then:
			fell++
		}
		if c.difference != nil && c.difference.Low != nil {
			tested++
			if c.difference.clear() {
				clear = append(clear, c.code)
			}
		}
	}
	text := fmt.Sprintf("Against %d, the mean %s", year-1, roseOrFell(rose, fell, len(changes)))
	switch {
	case tested == 0:
		return text + "."
	case len(clear) == 0:
		return text + "; no single change was beyond what other samples of the same sites could show."
	}
	return fmt.Sprintf("%s; %s beyond what other samples of the same site could show at %s.", text,
		plural(len(clear), "one change was", fmt.Sprintf("%d changes were", len(clear))), someNames(clear))
}

// roseOrFell counts sites whose mean is higher or lower.
func roseOrFell(rose, fell, all int) string {
	of := fmt.Sprintf("%d %s visited in both years", all, plural(all, "site", "sites"))
	switch {
	case all == 1 && rose == 1:
		return "rose at the one site visited in both years"
	case all == 1 && fell == 1:
		return "fell at the one site visited in both years"
	case rose+fell == 0:
		return "is unchanged at the " + of
	case rose == all:
		return "rose at all " + of
	case fell == all:
		return "fell at all " + of
	case fell == 0:
		return fmt.Sprintf("rose at %d of %s", rose, of)
	case rose == 0:
		return fmt.Sprintf("fell at %d of %s", fell, of)
	}
	return fmt.Sprintf("rose at %d and fell at %d of %s", rose, fell, of)
}

// mostChangedText names the site that rose most and the one that fell most,
// in percent.
func mostChangedText(r *Report, year int) string {
	changes := slices.DeleteFunc(changesInto(r, year), func(c siteChange) bool { return !c.hasPct || c.pct == 0 })
	if len(changes) < 2 {
		return ""
	}
	slices.SortStableFunc(changes, func(a, b siteChange) int { return cmp.Compare(b.pct, a.pct) })
	up, down := changes[0], changes[len(changes)-1]
	told := func(c siteChange) string {
		return fmt.Sprintf("%s (%s, from %s to %s%s%s)", c.code, signedPercent(c.pct), c.figures.show(&c.then), c.figures.show(&c.now), nbsp, r.Unit)
	}
	switch {
	case up.pct > 0 && down.pct < 0:
		return fmt.Sprintf("It rose most at %s and fell most at %s.", told(up), told(down))
	case up.pct > 0:
		return fmt.Sprintf("It rose most at %s.", told(up))
	}
	return fmt.Sprintf("It fell most at %s.", told(down))
}

// signedPercent prints a change with its sign.
func signedPercent(v float64) string {
	text := percent(&v)
	if v > 0 {
		text = "+" + text
	}
	return text + nbsp + "%"
}

// trendsText counts what the years of each site say together.
func trendsText(r *Report) string {
	of := map[string][]string{}
	n := 0
	for i := range r.Sites {
		if x := r.Sites[i].headline(); x != nil && x.Trend != nil {
			of[x.Trend.Verdict] = append(of[x.Trend.Verdict], r.Sites[i].Code)
			n++
		}
	}
	if n == 0 {
		return ""
	}
	var parts []string
	if up := of["increasing"]; len(up) > 0 {
		parts = append(parts, "an increase at "+someNames(up))
	}
	if down := of["decreasing"]; len(down) > 0 {
		parts = append(parts, "a decrease at "+someNames(down))
	}
	if len(parts) == 0 {
		text := fmt.Sprintf("Over the years no trend is detected at %s", plural(n, "the one site", fmt.Sprintf("any of %d sites", n)))
		if few := len(of["too few years"]); few > 0 {
			text += fmt.Sprintf("; %d %s too few years", few, plural(few, "has", "have"))
		}
		return text + "."
	}
	text := "Over the years there is " + join(parts)
	if none := len(of["no trend detected"]); none > 0 {
		text += fmt.Sprintf("; at %d %s no trend is detected", none, plural(none, "other", "others"))
	}
	if few := len(of["too few years"]); few > 0 {
		text += fmt.Sprintf("; %d %s too few years", few, plural(few, "has", "have"))
	}
	return text + "."
}

// notVisitedText names the sites that have an earlier year and not the latest.
func notVisitedText(r *Report, year int) string {
	var names []string
	for i := range r.Sites {
		s := &r.Sites[i]
		if last := s.lastVisit(); last != 0 && last < year {
			names = append(names, fmt.Sprintf("%s (last in %d)", s.Code, last))
		}
	}
	if len(names) == 0 {
		return ""
	}
	return fmt.Sprintf("Not visited in %d: %s.", year, someNames(names))
}

// lastVisit is the last year of any of the site's series, 0 where there is
// none.
func (s *Site) lastVisit() int {
	last := 0
	for i := range s.Series {
		if y := s.Series[i].latest(); y != nil {
			last = max(last, y.Year)
		}
	}
	return last
}

// someNames lists names, and counts those beyond the first few.
func someNames(names []string) string {
	if len(names) <= mostNames+1 {
		return join(names)
	}
	return join(append(slices.Clone(names[:mostNames]), fmt.Sprintf("%d more", len(names)-mostNames)))
}
