package monitor

import (
	"fmt"
	"math"
	"strings"
)

// How should so many hours be shared among the sites?
//
// Every site is visited, with the fewest units first; each further unit goes
// to the site where it takes most off the squared half-width for its minutes,
// among the sites that are not yet within the wanted precision. The gain of a
// unit falls with each one added, so that this one-step search gives the best
// sum (greedy allocation of a concave gain; Ibaraki & Katoh 1988, Resource
// Allocation Problems, from memory).

// leastUnits is the number of sampling units below which no site is planned.
const leastUnits = 3

// share is one site's part of the budget.
type share struct {
	*plannedSite
	effort effort
	gain   float64 // of the next unit, squared percent for a minute
}

// budget shares the hours. A site counts once, by the first of its series
// that can be planned.
func (p *planner) budget() []*PlanRow {
	var shares []*share
	left := 60 * p.query.Hours
	seen := map[int64]bool{}
	for _, s := range p.list {
		if !s.usable || seen[s.series.Site.ID] {
			continue
		}
		seen[s.series.Site.ID] = true
		h := &share{plannedSite: s, effort: effort{leastUnits, s.now.frames}}
		h.gain = p.gain(h)
		left -= s.minutes(h.effort)
		shares = append(shares, h)
	}
	if len(shares) == 0 {
		return nil
	}
	short := left < 0
	for !short {
		best := p.bestShare(shares, left)
		if best == nil {
			break
		}
		left -= best.unitMinutes()
		best.effort.units++
		best.gain = p.gain(best)
	}
	return p.budgetRows(shares, left, short)
}

// unitMinutes is what one more unit costs.
func (h *share) unitMinutes() float64 {
	e := h.effort
	e.units++
	return h.minutes(e) - h.minutes(h.effort)
}

// gain is what the next unit takes off the squared half-width, for a minute; 0
// where the wanted precision is reached, or is out of reach.
func (p *planner) gain(h *share) float64 {
	now := p.halfPct(h.plannedSite, h.effort)
	next := p.halfPct(h.plannedSite, effort{h.effort.units + 1, h.effort.frames})
	if !now.Valid || !next.Valid || now.Float64 <= p.wantedPct() || h.effort.units >= 500 {
		return 0
	}
	return (now.Float64*now.Float64 - next.Float64*next.Float64) / math.Max(h.unitMinutes(), 1e-9)
}

func (p *planner) bestShare(shares []*share, left float64) *share {
	var best *share
	for _, h := range shares {
		if h.gain > 0 && h.unitMinutes() <= left && (best == nil || h.gain > best.gain) {
			best = h
		}
	}
	return best
}

func (p *planner) budgetRows(shares []*share, left float64, short bool) []*PlanRow {
	var out []*PlanRow
	for _, h := range shares {
		row := p.siteRow(h.plannedSite, ChoiceBudget, h.effort, p.query.MoreYears)
		row.Remarks = append(row.Remarks, oneRemark("budget", "of the %g hours: every site is visited with %d sampling units at least and counts once, by the component shown; further units go where they narrow the interval most for their minutes, until it is within ±%g %%", p.query.Hours, leastUnits, p.wantedPct())...)
		out = append(out, row)
	}
	out[0].Conclusion = p.budgetConclusion(shares, left, short) + p.notPlanned(shares)
	if short {
		for _, row := range out {
			row.Remarks = append(row.Remarks, Remark{Code: "budget-short", Loud: true,
				Text: fmt.Sprintf("the hours do not reach: visiting every site with %d sampling units takes %.1f more", leastUnits, -left/60)})
		}
	}
	return out
}

// budgetConclusion says what the hours come to.
func (p *planner) budgetConclusion(shares []*share, left float64, short bool) string {
	if short {
		return fmt.Sprintf("%g hours do not reach for a visit to every site with %d sampling units: %.1f hours are missing.", p.query.Hours, leastUnits, -left/60)
	}
	wide := 0
	for _, h := range shares {
		if half := p.halfPct(h.plannedSite, h.effort); half.Valid && half.Float64 > p.wantedPct() {
			wide++
		}
	}
	if wide == 0 {
		return fmt.Sprintf("%g hours bring every site within ±%g %%, and %.1f are left.", p.query.Hours, p.wantedPct(), left/60)
	}
	return fmt.Sprintf("%g hours leave %s wider than ±%g %%.", p.query.Hours, sitesWord(wide), p.wantedPct())
}

// notPlanned names the sites that the budget leaves out.
func (p *planner) notPlanned(shares []*share) string {
	planned := map[string]bool{}
	for _, h := range shares {
		planned[h.series.Site.Site] = true
	}
	var names []string
	for _, s := range p.list {
		if name := s.series.Site.Site; !planned[name] {
			names, planned[name] = append(names, name), true
		}
	}
	if len(names) == 0 {
		return ""
	}
	return " Not planned, for want of numbers: " + strings.Join(names, ", ") + "."
}
