package monitor

import (
	"fmt"
	"math"

	"clipledger/monitor/stat"
	"clipledger/schema"
)

// What do the variances between years, sites and visits mean for next year's
// work? Each has a part in the variance of the slope of year,
//
//	[σ²_year + σ²_rest/N]/Σ(t - t̄)² + σ²_slope/N
//
// (Larsen, Kincaid, Jacobs & Urquhart 2001; stat.TrendVariances), and only some
// of them grow smaller with more sites or frames.

// The sources of variance across sites.
const (
	SourceYear  = "year"
	SourceSite  = "site"
	SourceSlope = "site slope"
	SourceRest  = "site x year"
)

// VarianceSource is one variance component with what it means for planning.
type VarianceSource struct {
	*Region
	Source   string
	Variance float64 // (g/m²)², of slopes (g/m²)² a year squared
	SD       float64
	SDPct    Num // of the mean
	SharePct Num // part in the variance of the slope of year
	Meaning  string
}

// Sources lists the variance components of a region's model, none without it.
func (r *Region) Sources() []VarianceSource {
	m := r.Model
	if m == nil {
		return nil
	}
	squares, sites := r.squares(), float64(len(r.Sites))
	year, rest, slope := m.YearVar/squares, m.ResidualVar/sites/squares, m.SlopeVar/sites
	total := year + rest + slope
	source := func(name string, variance, part float64, meaning string) VarianceSource {
		sd := math.Sqrt(variance)
		return VarianceSource{Region: r, Source: name, Variance: variance, SD: sd, SDPct: percentOf(schema.Some(sd), r.Mean),
			SharePct: percentOf(schema.Some(part), schema.Some(total)), Meaning: meaning}
	}
	return []VarianceSource{
		source(SourceYear, m.YearVar, year, "years differ, all sites together (weather above all): only more years make this smaller"),
		source(SourceSite, m.GroupVar, 0, "sites differ in level for good: no part in the trend while the same sites are visited"),
		source(SourceSlope, m.SlopeVar, slope, "sites change at different rates: more sites make this smaller, more years do not"),
		source(SourceRest, m.ResidualVar, rest, "a site's own ups and downs, with the sampling: more sites make this smaller, more frames only the sampling in it, more years too"),
	}
}

// squares is Σ(t - t̄)² of the years.
func (r *Region) squares() float64 {
	_, x, _ := r.Series.values()
	m := stat.MomentsOf(x)
	v, _ := m.Variance()
	return v * float64(m.N()-1)
}

// variances are the components as planning takes them; sampling stays within
// site × year.
func (r *Region) variances() stat.TrendVariances {
	return stat.TrendVariances{Year: r.Model.YearVar, SiteYear: r.Model.ResidualVar, Slope: r.Model.SlopeVar}
}

// planning says in a sentence what more sites and more years would buy.
func (r *Region) planning() string {
	if r.Model == nil {
		return ""
	}
	sites, years := float64(len(r.Sites)), len(r.Years)
	now, okNow := r.variances().SlopeVariance(years, sites, 1)
	more, okMore := r.variances().SlopeVariance(years, 3*sites, 1)
	longer, okLonger := r.variances().SlopeVariance(years+5, sites, 1)
	if !okNow || !okMore || !okLonger || !(now > 0) {
		return ""
	}
	smaller := func(v float64) float64 { return 100 * (1 - math.Sqrt(v/now)) }
	text := fmt.Sprintf("three times the sites would make the slope's standard error %.0f %% smaller, five more years %.0f %%", smaller(more), smaller(longer))
	if r.Model.YearVar == 0 {
		return "No variance between years is found, which few years cannot exclude: taken so, " + text + "."
	}
	return fmt.Sprintf("Years differ by %s of the mean, all sites together: %s.", percentText(percentOf(schema.Some(math.Sqrt(r.Model.YearVar)), r.Mean).Float64), text)
}

// sentence says what the verdict is.
func (r *Region) sentence() string {
	what := componentTitle(r.Component)
	where := "over " + sitesWord(len(r.Sites))
	if len(r.Sites) == 0 {
		return fmt.Sprintf("%s: no site has values in %d years or more.", what, yearsForSlope)
	}
	t := &r.Trends[0]
	switch {
	case r.Mean.Float64 == 0:
		return fmt.Sprintf("%s: nothing was found %s.", what, where)
	case t.Verdict == TooFewYears:
		return fmt.Sprintf("%s %s: %s with values, too few for a verdict on a trend (%d are needed).", what, where, yearsWord(len(t.YearsUsed)), yearsForTrend)
	case t.Verdict == "":
		return fmt.Sprintf("%s %s: no verdict, the model has no answer.", what, where)
	case t.Verdict == NoTrend:
		return fmt.Sprintf("No trend in %s is detected %s and %s; %s.", componentInText(r.Component), where, yearsWord(len(t.YearsUsed)), r.couldFind(t))
	case t.Statistic.Valid:
		return fmt.Sprintf("%s %s %s (%s).", what, moved(t.SlopePct.Float64), where, pText(t.P.Float64))
	}
	return fmt.Sprintf("%s %s %s.", what, moved(t.SlopePct.Float64), where)
}

// Notes are the remarks of the region and its model, beside its first source.
func (v *VarianceSource) Notes() []Remark {
	if v.Source != SourceYear {
		return nil
	}
	return append(append([]Remark{}, v.Trends[0].Remarks...), v.Region.Remarks...)
}
