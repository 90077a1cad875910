package monitor

import (
	"fmt"
	"strings"
)

// What the choices come to, in plain sentences. They are composed from the
// numbers of the rows, and every branch has a test.

// siteConclusion says what more frames would buy at a site, for the level and
// for the trend.
func (p *planner) siteConclusion(s *plannedSite, rows []*PlanRow) string {
	name := p.nameOf(s)
	if !s.usable {
		return name + ": nothing can be planned: " + s.remarks[0].Text + "."
	}
	e, reachable := p.unitsFor(s)
	level := levelText{
		name: name, half: rows[0].HalfPct, wanted: p.wantedPct(), now: s.now.units, needed: e.units, reachable: reachable, drying: s.drying > 0,
		unit: s.unitWord, minutes: s.minutes(effort{e.units, s.now.frames}) - s.minutes(s.now),
	}
	trend := trendPlanText{name: name, change: p.query.ChangePct, now: rows[0].MoreYears, known: s.yearKnown, differ: "frames", yearsDiffer: s.year >= s.sampling(s.now)}
	for _, row := range rows[1:] {
		if row.Choice == ChoiceFrames || row.Choice == ChoiceTransects {
			trend.better = append(trend.better, betterChoice{row.Choice, row.MoreYears, row.Minutes.Float64 - rows[0].Minutes.Float64})
		}
	}
	return level.String() + " " + trend.String()
}

// nameOf is the code of the site, with the season and component where the site
// is planned for several, so that no two sentences say "M" of different things.
func (p *planner) nameOf(s *plannedSite) string {
	name, seasons, components := s.series.Site.Site, false, false
	for _, other := range p.list {
		if other.series.Site == s.series.Site {
			seasons = seasons || other.series.Season != s.series.Season
			components = components || other.series.Component != s.series.Component
		}
	}
	if seasons {
		name += " " + s.series.Season
	}
	if components {
		name += " " + s.series.Component
	}
	return name
}

// levelText is about the level of a year.
type levelText struct {
	name        string
	half        Num
	wanted      float64
	now, needed float64 // units
	reachable   bool
	drying      bool // drying ratios have a part in the interval
	unit        func(float64) string
	minutes     float64 // more than now
}

func (l levelText) String() string {
	switch {
	case l.half.Valid && l.half.Float64 <= l.wanted:
		return fmt.Sprintf("%s: %s are enough for the level of a year (±%.0f %%, wanted ±%g %%).", l.name, l.unit(l.now), l.half.Float64, l.wanted)
	case !l.reachable && l.drying:
		return fmt.Sprintf("%s: no number of frames brings the level of a year within ±%g %%: the drying samples are too few; dry more bags.", l.name, l.wanted)
	case !l.reachable:
		return fmt.Sprintf("%s: not even 500 frames bring the level of a year within ±%g %%.", l.name, l.wanted)
	case !l.half.Valid:
		return fmt.Sprintf("%s: %s gives no interval; %s would bring the level of a year within ±%g %%.", l.name, l.unit(l.now), l.unit(l.needed), l.wanted)
	}
	return fmt.Sprintf("%s: %s instead of %.0f, %.0f minutes more, would bring the level of a year from ±%.0f to within ±%g %%.", l.name, l.unit(l.needed), l.now, l.minutes, l.half.Float64, l.wanted)
}

// betterChoice is what a choice does for the trend.
type betterChoice struct {
	choice  string
	years   Num
	minutes float64 // more than now
}

func (b *betterChoice) cost() string {
	if !(b.minutes > 0) {
		return ""
	}
	return fmt.Sprintf(" (%.0f minutes more a year)", b.minutes)
}

// trendPlanText is about how soon a change is seen.
type trendPlanText struct {
	name        string
	change      float64
	now         Num // more years
	known       bool
	yearsDiffer bool   // years differ at least as much as sampling does
	differ      string // what years are compared with: frames, or sites
	better      []betterChoice
}

func (t trendPlanText) String() string {
	change := fmt.Sprintf("%g %% a year", t.change)
	switch {
	case !t.known:
		return fmt.Sprintf("How soon a change of %s would be seen is not known yet.", change)
	case t.now.Valid && t.now.Float64 == 0:
		return fmt.Sprintf("A change of %s would be seen by the record as long as it is.", change)
	}
	best := t.best()
	if best == nil {
		return t.nothing() + " " + t.wait(change)
	}
	if !t.now.Valid {
		return fmt.Sprintf("A change of %s would not be seen within %d more years; with %s it would after %.0f%s.", change, farthest, best.choice, best.years.Float64, best.cost())
	}
	return fmt.Sprintf("A change of %s would be seen after %s more; with %s after %.0f%s.", change, yearsWord(int(t.now.Float64)), best.choice, best.years.Float64, best.cost())
}

// best is the choice that sees the change soonest, if it is sooner than now.
func (t trendPlanText) best() *betterChoice {
	var best *betterChoice
	for i := range t.better {
		b := &t.better[i]
		sooner := b.years.Valid && (!t.now.Valid || b.years.Float64 < t.now.Float64)
		if sooner && (best == nil || b.years.Float64 < best.years.Float64) {
			best = b
		}
	}
	return best
}

// nothing says why more frames buy nothing.
func (t trendPlanText) nothing() string {
	var words []string
	for _, b := range t.better {
		words = append(words, b.choice)
	}
	what := capital(strings.Join(words, " or "))
	if t.yearsDiffer {
		return fmt.Sprintf("%s at %s buy nothing for the trend: years differ more than %s do.", what, t.name, t.differ)
	}
	return fmt.Sprintf("%s at %s do not bring a trend into sight any sooner.", what, t.name)
}

func (t trendPlanText) wait(change string) string {
	if !t.now.Valid {
		return fmt.Sprintf("A change of %s would not be seen within %d more years.", change, farthest)
	}
	return fmt.Sprintf("Only years do: a change of %s would be seen after %s more.", change, yearsWord(int(t.now.Float64)))
}

func capital(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}

// regionConclusion says what more frames and more sites would buy.
func (p *planner) regionConclusion(r *Region, rows []*PlanRow) string {
	known := r.Model != nil && len(r.Years) >= yearsForTrend
	t := trendPlanText{name: rows[0].Place, change: p.query.ChangePct, now: rows[0].MoreYears, known: known, differ: "sites"}
	if known {
		t.yearsDiffer = r.Model.YearVar >= r.Model.ResidualVar/float64(len(r.Sites))
	}
	now := p.regionEffort(r, 0)
	for _, row := range rows[1:] {
		if row.Choice == ChoiceFrames && now.known || row.Choice == ChoiceSites {
			t.better = append(t.better, betterChoice{row.Choice, row.MoreYears, row.Minutes.Float64 - rows[0].Minutes.Float64})
		}
	}
	return fmt.Sprintf("%s: %s%s", rows[0].Place, regionLevel(rows), t)
}

// regionLevel says what more sites would do for the mean of a year.
func regionLevel(rows []*PlanRow) string {
	for _, row := range rows {
		if row.Choice == ChoiceSites && row.HalfPct.Valid && rows[0].HalfPct.Valid {
			return fmt.Sprintf("%d sites instead of %d would bring the mean of a year from ±%.0f to ±%.0f %%. ", row.Sites, rows[0].Sites, rows[0].HalfPct.Float64, row.HalfPct.Float64)
		}
	}
	return ""
}
