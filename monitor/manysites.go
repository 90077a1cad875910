package monitor

import (
	"cmp"
	"errors"
	"fmt"
	"slices"
	"strings"

	"clipledger/monitor/stat"
	"clipledger/schema"
)

// Is a whole stratum changing, or the whole ledger, beyond what its sites do
// one by one?
//
// Sites of one year share its weather: ten sites that fell in the same dry year
// are not ten witnesses. The verdict is that of a mixed model of site-year
// values (sites differ in level and slope, years are shared by all; Urquhart &
// Kincaid 1999); the regional Kendall test with covariances between sites
// stands beside it (Dietz & Killeen 1981). Every site counts alike, whatever
// its area.

// What trends can be worked out across.
const (
	AcrossStratum = "stratum"
	AcrossLedger  = "ledger"
)

// MethodKendall is the regional Kendall test.
const MethodKendall = "regional-kendall"

// sitesForModel is the number of sites that the mixed model needs: from fewer
// the variance between sites cannot be told.
const sitesForModel = 5

// AllSites names the whole ledger in the place of a site.
const AllSites = "all sites"

// StratumPlace names a stratum in the place of a site.
func StratumPlace(stratum string) string {
	if stratum == "" {
		return "no stratum"
	}
	return "stratum " + stratum
}

// Region is a stratum, or the whole ledger, over the years: one season and
// component. Its Series names the place as its site, holds the years' means
// over sites, adjusted where sites miss years, and carries the trends.
type Region struct {
	Series
	Across   string
	Sites    []*schema.SiteRecord // that count
	LeftOut  []string             // sites with too few years
	Model    *stat.MixedTrend     // nil without an answer
	Planning string               // what its variances mean for planning; "" without a model
	values   []regionValue
}

// regionValue is the value of one site in one year.
type regionValue struct {
	site, year int // place among Sites; growth year
	value      float64
}

// Regions works out the trends of strata, or of the whole ledger, and hands
// them on in the order of stratum, season and component. Of the query, Filter,
// Confidence and Unit count.
func Regions(snap *schema.Snapshot, q Query, across string, emit func(*Region) error) error {
	c, err := regionMath(snap, q)
	if err != nil {
		return err
	}
	g := newRegionGroups(across, c.confidence)
	err = eachSeries(snap, q, true, func(s *Series) error {
		g.take(s)
		return nil
	})
	if err != nil {
		return err
	}
	for _, r := range g.sorted() {
		c.region(r)
		if err := emit(r); err != nil {
			return err
		}
	}
	return nil
}

func regionMath(snap *schema.Snapshot, q Query) (*trendMath, error) {
	if q.Confidence != 0 {
		return newTrendMath(q.Confidence), nil
	}
	values, err := snap.Settings()
	if err != nil {
		return nil, err
	}
	return newTrendMath(values.Must("confidence")), nil
}

type regionKey struct{ place, season, component string }

// regionGroups gathers series into regions.
type regionGroups struct {
	across     string
	at         map[regionKey]*Region
	confidence float64
}

func newRegionGroups(across string, confidence float64) *regionGroups {
	return &regionGroups{across: across, at: map[regionKey]*Region{}, confidence: confidence}
}

// take adds the values of a site's series to its region.
func (g *regionGroups) take(s *Series) {
	place, stratum := AllSites, ""
	if g.across == AcrossStratum {
		stratum = s.Site.Stratum
		place = StratumPlace(stratum)
	}
	years, _, y := s.values()
	if len(years) == 0 {
		return
	}
	k := regionKey{place, s.Season, s.Component}
	r := g.at[k]
	if r == nil {
		r = &Region{Across: g.across, Series: Series{Site: &schema.SiteRecord{Site: place, Stratum: stratum}, Season: s.Season, Component: s.Component, Confidence: g.confidence}}
		g.at[k] = r
	}
	if len(years) < yearsForSlope {
		r.LeftOut = append(r.LeftOut, s.Site.Site)
		return
	}
	for i, year := range years {
		r.values = append(r.values, regionValue{len(r.Sites), year, y[i]})
	}
	r.Sites = append(r.Sites, s.Site)
}

func (g *regionGroups) sorted() []*Region {
	var out []*Region
	for _, r := range g.at {
		out = append(out, r)
	}
	slices.SortFunc(out, func(a, b *Region) int {
		return cmp.Or(strings.Compare(a.Site.Site, b.Site.Site), strings.Compare(a.Season, b.Season), componentOrder(a.Component)-componentOrder(b.Component))
	})
	return out
}

// arrays gives values, sites and growth years as monitor/stat takes them.
func (r *Region) arrays() (y []float64, site, year []int) {
	for _, v := range r.values {
		y, site, year = append(y, v.value), append(site, v.site), append(year, v.year)
	}
	return y, site, year
}

// region works out everything about one region.
func (c *trendMath) region(r *Region) {
	r.fillYears()
	r.remarkSites()
	switch t, ok := c.siteModel(r); {
	case ok:
		r.Trends = append(r.Trends, t)
	case len(r.Sites) == 0:
		r.Trends = append(r.Trends, c.ols(&r.Series))
	case len(r.Sites) == 1:
		t := c.ols(&r.Series)
		t.warn("few-sites", "one site with values in "+yearsWord(yearsForSlope)+" or more: this is its own trend")
		r.Trends = append(r.Trends, t)
	default:
		t := c.ols(&r.Series)
		t.warn("few-sites", fmt.Sprintf("%s with values in %d years or more, and a model of sites needs %d: this is least squares on their yearly means and speaks for these sites only",
			sitesWord(len(r.Sites)), yearsForSlope, sitesForModel))
		r.Trends = append(r.Trends, t)
	}
	if t, ok := c.regionalKendall(r); ok {
		r.Trends = append(r.Trends, t)
	}
	r.Sentence = r.sentence()
	r.Planning = r.planning()
}

// fillYears works out the yearly means over sites. Where sites miss years they
// are least-squares means of site + year, every site counting alike: a rich
// site first visited in year 4 otherwise makes a trend.
func (r *Region) fillYears() {
	y, site, year := r.arrays()
	years := slices.Compact(slices.Sorted(slices.Values(year)))
	sum, n := make([]float64, len(years)), make([]int, len(years))
	at := make([]int, len(year))
	for i := range y {
		at[i], _ = slices.BinarySearch(years, year[i])
		sum[at[i]] += y[i]
		n[at[i]]++
	}
	adjusted, ok := stat.FrameYearMeans(y, site, at, nil)
	switch full := len(y) == len(r.Sites)*len(years); {
	case full || len(y) == 0:
		ok = false
	case ok:
		r.FrameAdjusted = true
		r.note("site-adjusted", "some sites miss some years: yearly means are least-squares means of site + year")
	default:
		r.warn("not-site-adjusted", "some years share no site with the others: the plain yearly means are used, and a change of sites can make a trend")
	}
	var all stat.Moments
	for i, growth := range years {
		value := sum[i] / float64(n[i])
		if ok {
			value = adjusted[i]
		}
		all.Add(value)
		mean := &Mean{Site: r.Site, Year: growth, Season: r.Season, Component: r.Component, N: n[i], Mean: schema.Some(sum[i] / float64(n[i]))}
		r.Years = append(r.Years, SeriesYear{Year: growth, Mean: mean, Value: schema.Some(value)})
	}
	if all.N() > 0 {
		r.Mean = schema.Some(all.Mean())
	}
}

// remarkSites says which sites are behind the numbers.
func (r *Region) remarkSites() {
	if len(r.Sites) == 0 {
		r.warn("no-sites", fmt.Sprintf("no site has values in %d years or more", yearsForSlope))
	}
	if len(r.LeftOut) > 0 {
		r.note("sites-left-out", fmt.Sprintf("left out, with values in fewer than %d years: %s", yearsForSlope, strings.Join(r.LeftOut, ", ")))
	}
	var chosen []string
	areas := false
	for _, s := range r.Sites {
		if s.Selection == "chosen" {
			chosen = append(chosen, s.Site)
		}
		areas = areas || s.AreaHa.Valid
	}
	if len(chosen) > 0 {
		r.note("chosen", "chosen sites, not drawn: "+strings.Join(chosen, ", ")+"; the trend speaks for the sites, not for the area")
	}
	if areas {
		r.note("sites-alike", "every site counts alike: a trend across sites is not weighted by area")
	}
	if r.Across == AcrossStratum && r.Site.Stratum == "" {
		r.note("no-stratum", "these sites declare no stratum")
	}
}

// siteModel is the verdict: the mixed model of sites and years.
func (c *trendMath) siteModel(r *Region) (Trend, bool) {
	y, site, year := r.arrays()
	m, err := stat.SiteYearTrend(y, site, year)
	if errors.Is(err, stat.ErrTooFew) {
		return Trend{}, false
	}
	years, _, _ := r.Series.values()
	t := newTrend(MethodMixed, years)
	if err != nil {
		t.warn("mixed-no-answer", "the mixed model has no answer: "+err.Error())
		return t, true
	}
	r.Model, r.Components = &m, &m
	t.setSlope(m.Slope, r.Mean.Float64)
	c.judge(&t, stat.Coefficient{Estimate: m.Slope, SE: m.SE}, m.DF, yearsForTrend)
	t.note("mixed-sites", "sites differ in level and slope, years are shared by all sites; restricted maximum likelihood, degrees of freedom by Satterthwaite")
	if m.YearSingular {
		t.note("years-alike", "the model finds no variance between years that all sites share: taken as 0, and the test is cautious then")
	}
	if m.SlopeSingular {
		t.note("slopes-alike", "the model finds no difference between the slopes of the sites: taken as 0")
	}
	return t, true
}

// regionalKendall stands beside the verdict.
func (c *trendMath) regionalKendall(r *Region) (Trend, bool) {
	y, site, year := r.arrays()
	years, _, _ := r.Series.values()
	k, ok := stat.RegionalKendallOf(y, site, year)
	if !ok || len(r.Sites) < 2 || len(years) < yearsForSlope {
		return Trend{}, false
	}
	t := newTrend(MethodKendall, years)
	t.setSlope(k.Slope, r.Mean.Float64)
	t.Statistic = schema.Some(float64(k.S))
	switch {
	case len(years) < yearsForTrend:
		t.Statistic, t.Verdict = Num{}, TooFewYears
	case !k.CorrectedOK:
		t.warn("kendall-no-variance", "the sites work against each other so much that the variance of S, with their covariances, is not above 0: no p")
	default:
		t.P = schema.Some(k.P)
		t.Verdict = c.verdict(float64(k.S), k.P)
		t.note("regional-kendall", fmt.Sprintf("S adds Kendall's S over %s; its variance holds the covariances of sites that share weather (%.4g, without them %.4g); the slope is the median over pairs of years within sites", sitesWord(k.Sites), k.Corrected, k.Variance))
	}
	return t, true
}
