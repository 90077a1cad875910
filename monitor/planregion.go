package monitor

import (
	"math"

	"clipledger/monitor/stat"
	"clipledger/schema"
)

// What many sites together could see: a stratum, or the whole ledger, by the
// variances of the model of sites and years.

// ofRegions tells whether regions are planned by a component.
func (p *planner) ofRegions(component string) bool {
	return len(p.query.Components) > 0 || component == Production
}

// regions hands on the choices of strata and, where there are more than one, of
// the whole ledger.
func (p *planner) regions(emit func(*PlanRow) error) error {
	for _, g := range p.groups {
		list := g.sorted()
		if g.across == AcrossLedger && p.oneStratum() {
			continue
		}
		for _, r := range list {
			p.math.region(r)
			for _, row := range p.regionRows(r) {
				if err := emit(row); err != nil {
					return err
				}
			}
		}
	}
	return nil
}

// oneStratum tells whether all sites are of one stratum, or of none.
func (p *planner) oneStratum() bool {
	for _, s := range p.list {
		if s.series.Site.Stratum != p.list[0].series.Site.Stratum {
			return false
		}
	}
	return true
}

// regionRows are the choices of one region. One site is no region.
func (p *planner) regionRows(r *Region) []*PlanRow {
	if len(r.Sites) < 2 {
		return nil
	}
	now, sites := p.regionEffort(r, 0), len(r.Sites)
	rows := []*PlanRow{
		p.regionRow(r, ChoiceNow, now, sites, p.query.MoreYears),
		p.regionRow(r, ChoiceFrames, p.regionEffort(r, p.query.MoreFrames), sites, p.query.MoreYears),
		p.regionRow(r, ChoiceSites, now, sites+p.query.MoreSites, p.query.MoreYears),
		p.regionRow(r, ChoiceYears, now, sites, 2*p.query.MoreYears),
	}
	rows[0].Remarks = append(rows[0].Remarks, p.regionRemarks(r)...)
	rows[0].Conclusion = p.regionConclusion(r, rows)
	return rows
}

// betweenSites is the variance between the values of sites within a year,
// pooled over the years.
func (r *Region) betweenSites() float64 {
	years := map[int]*stat.Moments{}
	for _, v := range r.values {
		if years[v.year] == nil {
			years[v.year] = &stat.Moments{}
		}
		years[v.year].Add(v.value)
	}
	var squares, df float64
	for _, y := range r.Years {
		m := years[y.Year]
		if v, ok := m.Variance(); ok {
			squares += v * float64(m.N()-1)
			df += float64(m.N() - 1)
		}
	}
	if df == 0 {
		return 0
	}
	return squares / df
}

// regionEffort is the sampling of a region's sites.
type regionEffort struct {
	sampling float64 // variance of a site's yearly value by sampling, mean over sites
	frames   float64 // at all sites together
	minutes  float64
	known    bool // for every site
}

// regionEffort adds up the sites' visits, with so many more frames at each.
func (p *planner) regionEffort(r *Region, more int) regionEffort {
	out := regionEffort{known: true}
	for _, site := range r.Sites {
		s := p.sites[regionKey{"", r.Season, r.Component}][site.ID]
		if s == nil || !s.usable {
			out.known = false
			continue
		}
		e := s.now
		switch {
		case more > 0 && s.transects:
			e.frames += float64(s.framesEach(more))
		case more > 0:
			e.units += float64(more)
		}
		out.sampling += s.sampling(e) / float64(len(r.Sites))
		out.frames += e.units * e.frames
		out.minutes += s.minutes(e)
	}
	return out
}

func (p *planner) regionRow(r *Region, choice string, e regionEffort, sites, ahead int) *PlanRow {
	row := &PlanRow{Place: r.Site.Site, Season: r.Season, Component: r.Component, Choice: choice, Sites: sites, Years: len(r.Years), Mean: r.Mean}
	if e.known && len(r.Sites) > 0 {
		share := float64(sites) / float64(len(r.Sites))
		row.Frames, row.Minutes = schema.Some(math.Round(e.frames*share)), schema.Some(e.minutes*share)
	}
	now := p.regionEffort(r, 0)
	if !e.known || !now.known {
		e.sampling, now.sampling = 0, 0
	}
	n := float64(sites)
	level := math.Max(0, r.betweenSites()-now.sampling) + e.sampling
	if level > 0 {
		row.HalfPct = percentOf(schema.Some(p.math.t.Quantile(upper(p.rules.Precision), n-1)*sqrt(level/n)), r.Mean)
	}
	if r.Model == nil || len(r.Years) < yearsForTrend {
		return row
	}
	siteYear := math.Max(0, r.Model.ResidualVar-now.sampling)
	years, _, _ := r.Series.values()
	p.ahead(row, years, ahead, func(_ int, past bool) float64 {
		if past {
			return r.Model.YearVar + (siteYear+now.sampling)/float64(len(r.Sites))
		}
		return r.Model.YearVar + (siteYear+e.sampling)/n
	}, r.Model.SlopeVar/n)
	return row
}

func (p *planner) regionRemarks(r *Region) []Remark {
	var out []Remark
	switch {
	case r.Model == nil && len(r.Sites) < sitesForModel:
		out = append(out, oneRemark("few-sites", "%s with values in %d years or more: how their trends differ is not known with fewer than %d", sitesWord(len(r.Sites)), yearsForSlope, sitesForModel)...)
	case r.Model == nil:
		out = append(out, oneRemark("no-model", "the model of sites and years has no answer: nothing varies, or sites and years explain all")...)
	case r.Model.YearVar == 0:
		out = append(out, oneRemark("year-zero", "no variance between years that all sites share is found: taken as 0, though few years cannot exclude some")...)
	}
	out = append(out, oneRemark("sites-like", "more sites are taken to be like those in hand and to be clipped like them; they count from next year on")...)
	if !p.regionEffort(r, 0).known {
		out = append(out, oneRemark("sampling-unknown", "the sampling of some sites cannot be told apart: more frames are taken to change nothing")...)
	}
	return append(out, r.Remarks...)
}
