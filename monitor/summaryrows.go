package monitor

import (
	"cmp"
	"maps"
	"math"
	"slices"

	"clipledger/monitor/stat"
	"clipledger/schema"
)

// How the rows of a summary are worked out of the means of its sites.

// rows are the strata's rows of a year and series, and the row of all.
func (r *record) rows(k seriesKey, year int, confidence float64) []*Summary {
	byStratum := map[string][]SummarySite{}
	var names []string
	for i := range r.sites {
		site := &r.sites[i]
		years, of := r.series[k][site.ID]
		if !of {
			continue
		}
		if !slices.Contains(names, site.Stratum) {
			names = append(names, site.Stratum)
		}
		if s, visited := years[year]; visited {
			byStratum[site.Stratum] = append(byStratum[site.Stratum], r.complete(s, years, year))
		}
	}
	slices.Sort(names)
	var out []*Summary
	for _, name := range names {
		s := &Summary{Stratum: name, Year: year, Season: k.season, Component: k.component, Confidence: confidence, Sites: byStratum[name]}
		r.fill(s, []string{name}, k)
		if len(s.Sites)+len(s.NotVisited) > 0 {
			out = append(out, s)
		}
	}
	if len(out) == 0 {
		return nil
	}
	all := &Summary{All: true, Year: year, Season: k.season, Component: k.component, Confidence: confidence}
	for _, s := range out {
		all.Sites = append(all.Sites, s.Sites...)
	}
	r.fill(all, names, k)
	return append(out, all)
}

// complete adds what a site's other years and its rain tell.
func (r *record) complete(s SummarySite, years siteYears, year int) SummarySite {
	if before, ok := years[year-1]; ok && before.Mean.Float64 > 0 {
		s.ChangePct = schema.Some(100 * (s.Mean.Float64/before.Mean.Float64 - 1))
	}
	sum := 0.0
	for _, y := range slices.Sorted(maps.Keys(years)) { // in order, so that the sum has the same last digit every time
		if y < year {
			sum += years[y].Mean.Float64
			s.Earlier++
		}
	}
	if s.Earlier > 0 {
		s.LongTerm = schema.Some(sum / float64(s.Earlier))
		s.PctOfMean = percentOf(s.Mean, s.LongTerm)
	}
	if rain := r.rain[s.Site.ID]; rain != nil {
		mm, _ := rain.Of(year)
		s.RainPct = percentOf(mm, rain.MeanMM)
	}
	return s
}

// fill works out a row from its sites.
func (r *record) fill(s *Summary, strata []string, k seriesKey) {
	for i := range s.Sites {
		site := &s.Sites[i]
		s.N += site.N
		if site.Adequate != NoVerdict {
			s.Judged++
		}
		if site.Adequate == Yes {
			s.Adequate++
		}
	}
	s.Classes = classCounts(s.Sites)
	s.NotVisited = r.notVisited(s, strata, k)
	s.RainPct = meanOfSites(s.Sites, func(x *SummarySite) Num { return x.RainPct })
	r.level(s)
	r.change(s, k)
	r.longTerm(s)
	s.remark()
}

func classCounts(sites []SummarySite) []ClassCount {
	var out []ClassCount
	for i := range sites {
		label := sites[i].Class
		if label == "" {
			continue
		}
		if k := slices.IndexFunc(out, func(c ClassCount) bool { return c.Label == label }); k >= 0 {
			out[k].Sites++
			continue
		}
		out = append(out, ClassCount{label, 1})
	}
	slices.SortFunc(out, func(a, b ClassCount) int { return cmp.Or(b.Sites-a.Sites, cmp.Compare(a.Label, b.Label)) })
	return out
}

// notVisited names the sites that have this series in an earlier year and
// nothing at all in this one.
func (r *record) notVisited(s *Summary, strata []string, k seriesKey) []string {
	var out []string
	for i := range r.sites {
		site := &r.sites[i]
		if r.visited[siteYear{site.ID, s.Year}] || !slices.Contains(strata, site.Stratum) {
			continue
		}
		for y := range r.series[k][site.ID] {
			if y < s.Year {
				out = append(out, site.Site)
				break
			}
		}
	}
	return out
}

// meanOfSites is the mean over the sites that have a number.
func meanOfSites(sites []SummarySite, of func(*SummarySite) Num) Num {
	sum, n := 0.0, 0
	for i := range sites {
		if x := of(&sites[i]); x.Valid {
			sum += x.Float64
			n++
		}
	}
	if n == 0 {
		return Num{}
	}
	return schema.Some(sum / float64(n))
}

// stratified is the stratified mean of some number of the row's sites, over
// those that have it.
func (r *record) stratified(s *Summary, of func(*SummarySite) Num) (stat.StratifiedMean, bool) {
	var strata []stat.StratumSample
	place := map[string]int{}
	for i := range s.Sites {
		x := of(&s.Sites[i])
		if !x.Valid {
			continue
		}
		name := s.Sites[i].Site.Stratum
		k, seen := place[name]
		if !seen {
			k = len(strata)
			place[name] = k
			strata = append(strata, stat.StratumSample{Area: r.areaOf(name)})
		}
		strata[k].Values = append(strata[k].Values, x.Float64)
	}
	return stat.Stratified(strata)
}

// areaOf is the area of a stratum: that of all its sites, 0 where one of them
// declares none.
func (r *record) areaOf(stratum string) float64 {
	sum := 0.0
	for i := range r.sites {
		if r.sites[i].Stratum != stratum {
			continue
		}
		if !r.sites[i].AreaHa.Valid {
			return 0
		}
		sum += r.sites[i].AreaHa.Float64
	}
	return sum
}

// level fills in the mean and its interval.
func (r *record) level(s *Summary) {
	m, ok := r.stratified(s, func(x *SummarySite) Num { return x.Mean })
	if !ok {
		return
	}
	s.Mean, s.Weighted = schema.Some(m.Mean), !m.Unweighted
	if !m.VarianceOK || !(m.Variance > 0) || math.IsInf(m.DF, 0) {
		return
	}
	s.DF = schema.Some(m.DF)
	var t stat.TTable
	s.CI = intervalOf(stat.TInterval(m.Mean, math.Sqrt(m.Variance), t.Quantile((1+s.Confidence)/2, m.DF)))
}

// change compares with the year before, over the sites visited in both.
func (r *record) change(s *Summary, k seriesKey) {
	before := func(x *SummarySite) Num {
		last, ok := r.series[k][x.Site.ID][s.Year-1]
		if !ok {
			return Num{}
		}
		return last.Mean
	}
	now, ok := r.stratified(s, func(x *SummarySite) Num {
		if before(x).Valid {
			return x.Mean
		}
		return Num{}
	})
	then, okThen := r.stratified(s, before)
	if !ok || !okThen {
		return
	}
	for i := range s.Sites {
		if before(&s.Sites[i]).Valid {
			s.ChangeOf++
		}
	}
	if then.Mean > 0 {
		s.ChangePct = schema.Some(100 * (now.Mean/then.Mean - 1))
	}
}

// longTerm compares with the mean of earlier years, over the sites that have
// earlier years.
func (r *record) longTerm(s *Summary) {
	now, ok := r.stratified(s, func(x *SummarySite) Num {
		if x.LongTerm.Valid {
			return x.Mean
		}
		return Num{}
	})
	then, okThen := r.stratified(s, func(x *SummarySite) Num { return x.LongTerm })
	if !ok || !okThen {
		return
	}
	s.LongTerm = schema.Some(then.Mean)
	s.PctOfMean = percentOf(schema.Some(now.Mean), s.LongTerm)
}
