package monitor

import (
	"fmt"
	"slices"

	"clipledger/monitor/stat"
	"clipledger/schema"
)

// Where does next year's clipping time do most good: more frames, more
// transects, more sites, or only more years?
//
// Two things can be wanted of a site: the level of a year within the wanted
// precision, and a change seen soon. Frames serve the first. The second is
// limited by what all frames of a year share, its weather, which no number of
// frames makes smaller. The variances come from the ledger; that they hold on
// is an assumption, and so are the minutes.

// What can be chosen.
const (
	ChoiceNow       = "as now"
	ChoiceFrames    = "more frames"
	ChoiceTransects = "more transects"
	ChoiceSites     = "more sites"
	ChoiceYears     = "more years"
	ChoiceBudget    = "within budget"
)

// PlanCosts are minutes of work.
type PlanCosts struct {
	Frame    float64 // for each frame clipped, weighed and bagged
	Travel   float64 // for each visit to a site, out and back
	Transect float64 // for laying out each transect
}

// PlanQuery says what is to be planned.
type PlanQuery struct {
	Query
	Costs         PlanCosts
	SiteCosts     map[string]PlanCosts // of sites that have costs of their own
	Hours         float64              // of work next year; 0: no budget
	MoreFrames    int                  // in the choice of more frames, at each site
	MoreTransects int
	MoreSites     int
	MoreYears     int     // after which what can be seen is compared
	ChangePct     float64 // the change a year to be seen, in percent of the mean
	Curves        bool    // work out power curves: they cost more than all the rest
}

// PlanRow is one choice at one place.
type PlanRow struct {
	Place      string // a site, a stratum, or all sites
	Season     string
	Component  string
	Choice     string
	Sites      int
	Transects  Num // at a visit, where they are the sampling units
	Frames     Num // at a visit; of strata, at all sites together
	Minutes    Num // of work a year
	Years      int // with values in the record
	Mean       Num // g/m², over those years
	HalfPct    Num // half-width of a year's interval, in percent of the mean
	MoreYears  Num // until ChangePct is seen with TrendPower; 0: the record is long enough
	AfterYears int // years of record after which DetectPct holds
	DetectPct  Num // the smallest change a year that is seen then
	Curve      []PowerPoint
	Conclusion string // beside the first choice of a place
	Remarks    []Remark
}

// PowerPoint is the chance that ChangePct is seen with so many years.
type PowerPoint struct {
	Years int
	Power float64
}

// planner is what one call of Plan works with.
type planner struct {
	query PlanQuery
	rules Rules
	math  *trendMath
	sites map[regionKey]map[int64]*plannedSite // by season and component, then site
	list  []*plannedSite                       // that are shown, in order
	// groups gather strata and the whole ledger as the sites are read.
	groups [2]*regionGroups
}

// certain is the power at which a curve ends.
const certain = 0.995

// farthest is how many more years are looked into.
const farthest = 60

// Plan works out the choices of every site and of every stratum, and of the
// whole ledger, and hands them on. Without components in the filter, production
// is planned, or its parts where they sit on frames of their own.
func Plan(snap *schema.Snapshot, q PlanQuery, emit func(*PlanRow) error) error {
	values, err := snap.Settings()
	if err != nil {
		return err
	}
	p := &planner{query: q, rules: RulesOf(values), sites: map[regionKey]map[int64]*plannedSite{}}
	if p.math, err = regionMath(snap, q.Query); err != nil {
		return err
	}
	p.groups = [2]*regionGroups{newRegionGroups(AcrossStratum, p.math.confidence), newRegionGroups(AcrossLedger, p.math.confidence)}
	if err := p.readSites(snap); err != nil {
		return err
	}
	for _, s := range p.list {
		if p.onlySite() {
			s.note("only-site", "one site alone: what more sites would buy is not known")
		}
		for _, row := range p.siteRows(s) {
			if err := emit(row); err != nil {
				return err
			}
		}
	}
	if err := p.regions(emit); err != nil || q.Hours == 0 {
		return err
	}
	for _, row := range p.budget() {
		if err := emit(row); err != nil {
			return err
		}
	}
	return nil
}

// readSites reads the series of all sites and picks those to be shown.
func (p *planner) readSites(snap *schema.Snapshot) error {
	var site []*plannedSite
	pick := func() {
		p.list = append(p.list, p.shown(site)...)
		site = nil
	}
	err := Trends(snap, p.query.Query, func(s *Series) error {
		if len(site) > 0 && site[0].series.Site != s.Site {
			pick()
		}
		for _, g := range p.groups {
			if p.ofRegions(s.Component) {
				g.take(s)
			}
		}
		planned := p.planned(s)
		k := regionKey{"", s.Season, s.Component}
		if p.sites[k] == nil {
			p.sites[k] = map[int64]*plannedSite{}
		}
		p.sites[k][s.Site.ID] = planned
		site = append(site, planned)
		return nil
	})
	pick()
	return err
}

// shown picks from the series of a site.
func (p *planner) shown(site []*plannedSite) []*plannedSite {
	if len(p.query.Components) > 0 {
		return site
	}
	whole := slices.ContainsFunc(site, func(s *plannedSite) bool { return s.series.Component == Production && !s.apart })
	var out []*plannedSite
	for _, s := range site {
		c, isPart := schema.ComponentNamed(s.series.Component)
		if whole && s.series.Component == Production && !s.apart || !whole && isPart && c.IsProduction() {
			out = append(out, s)
		}
	}
	return out
}

// onlySite tells whether one site is all there is.
func (p *planner) onlySite() bool {
	return len(p.list) > 0 && p.list[0].series.Site == p.list[len(p.list)-1].series.Site
}

// costs are the minutes of a site.
func (p *planner) costs(site string) PlanCosts {
	if c, ok := p.query.SiteCosts[site]; ok {
		return c
	}
	return p.query.Costs
}

// siteRows are the choices of one site.
func (p *planner) siteRows(s *plannedSite) []*PlanRow {
	now := s.now
	rows := []*PlanRow{p.siteRow(s, ChoiceNow, now, p.query.MoreYears)}
	if !s.apart && s.usable {
		more := now
		more.frames += float64(s.framesEach(p.query.MoreFrames))
		if !s.transects {
			more = effort{units: now.units + float64(p.query.MoreFrames), frames: 1}
		}
		rows = append(rows, p.siteRow(s, ChoiceFrames, more, p.query.MoreYears))
		if s.transects {
			rows = append(rows, p.siteRow(s, ChoiceTransects, effort{now.units + float64(p.query.MoreTransects), now.frames}, p.query.MoreYears))
		}
		rows = append(rows, p.siteRow(s, ChoiceYears, now, 2*p.query.MoreYears))
	}
	rows[0].Remarks = append(rows[0].Remarks, s.remarks...)
	rows[0].Conclusion = p.siteConclusion(s, rows)
	return rows
}

func (p *planner) siteRow(s *plannedSite, choice string, e effort, ahead int) *PlanRow {
	row := &PlanRow{Place: s.series.Site.Site, Season: s.series.Season, Component: s.series.Component, Choice: choice, Sites: 1, Years: len(s.years), Mean: s.series.Mean}
	if e.units > 0 {
		row.Frames = schema.Some(e.units * e.frames)
		if s.transects {
			row.Transects = schema.Some(e.units)
		}
		row.Minutes = schema.Some(s.minutes(e))
	}
	if !s.usable {
		return row
	}
	row.HalfPct = p.halfPct(s, e)
	if s.yearKnown {
		p.ahead(row, s.years, ahead, func(year int, past bool) float64 {
			if past {
				return s.yearly(s.pastEffort(year))
			}
			return s.yearly(e)
		}, 0)
	}
	return row
}

// ahead fills in what the trend needs: years until the wanted change is seen,
// and what is seen after some more. variance is that of a yearly value about
// the trend, in a year of the record or a later one; always is what more years
// do not make smaller.
func (p *planner) ahead(row *PlanRow, years []int, more int, variance func(year int, past bool) float64, always float64) {
	mean := row.Mean.Float64
	slope := func(n int) float64 {
		var t, v []float64
		last := years[len(years)-1]
		for i := range n {
			year, past := last+i-len(years)+1, i < len(years)
			if past {
				year = years[i]
			}
			t, v = append(t, float64(year)), append(v, variance(year, past))
		}
		out, _ := stat.LeastSquaresVariance(t, v)
		return out + always
	}
	wanted := p.query.ChangePct / 100 * mean
	detectable := func(n int) Num { return p.math.detectable(sqrt(slope(n)), float64(n-2)) }
	for n := max(len(years), yearsForSlope); n <= len(years)+farthest; n++ {
		if d := detectable(n); d.Valid && d.Float64 <= wanted || slope(n) == 0 {
			row.MoreYears = schema.Some(float64(n - len(years)))
			break
		}
	}
	row.AfterYears = len(years) + more
	row.DetectPct = percentOf(detectable(row.AfterYears), row.Mean)
	if !p.query.Curves {
		return
	}
	for n := len(years); n <= len(years)+2*p.query.MoreYears+10; n++ {
		if power, ok := stat.TrendPower(wanted, sqrt(slope(n)), p.math.alpha(), float64(n-2), &p.math.t); ok {
			row.Curve = append(row.Curve, PowerPoint{n, power})
			if power >= certain {
				break
			}
		}
	}
}

// oneRemark makes one remark.
func oneRemark(code, format string, args ...any) []Remark {
	return []Remark{{Code: code, Text: fmt.Sprintf(format, args...)}}
}
