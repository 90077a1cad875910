package monitor

import (
	"fmt"
	"math"
	"strings"

	"clipledger/monitor/stat"
	"clipledger/schema"
)

// A total where the components do not share frames: the sum of the component
// means, their variances added, degrees of freedom by Satterthwaite (1946).

// sumOfMeans adds the means of components that sit on frames of their own.
func (c *calculation) sumOfMeans(season string, parts []*Mean) *Mean {
	first := parts[0]
	m := &Mean{Site: first.Site, Year: first.Year, Season: season, Component: Production, Confidence: c.confidence, N: first.N}
	c.keepParts(m, parts)
	var sum, book, dryingVariance float64
	var variances []stat.VariancePart
	dryingKnown, seKnown := true, true
	for _, p := range parts {
		m.N = min(m.N, p.N)
		m.Missing += p.Missing
		m.Caged = m.Caged || p.Caged
		m.ZerosInfer += p.ZerosInfer
		if !p.Mean.Valid {
			m.warn("part-missing", fmt.Sprintf("no total: %s has no mean this year", p.Component))
			return m
		}
		sum += p.Mean.Float64
		book += p.Mean.Float64 * p.BookPct.Float64
		seKnown = seKnown && (p.SE.Valid || p.SD.Valid && p.SD.Float64 == 0)
		if p.SE.Valid {
			variances = append(variances, stat.VariancePart{Variance: p.SE.Float64 * p.SE.Float64, DF: p.DF.Float64})
			dryingKnown = dryingKnown && p.SEDrying.Valid
			dryingVariance += p.SEDrying.Float64 * p.SEDrying.Float64
		}
	}
	m.Mean = schema.Some(sum)
	if sum > 0 {
		m.BookPct = schema.Some(book / sum)
	}
	if seKnown {
		c.sumSpread(m, variances, dryingVariance, dryingKnown)
	}
	m.sumFullSeason(parts)
	m.note("sum-of-means", "the components sit on frames of their own: the total is the sum of their means ("+unitCounts(parts)+"), their variances added")
	return m
}

func (c *calculation) sumSpread(m *Mean, variances []stat.VariancePart, dryingVariance float64, dryingKnown bool) {
	variance, df, ok := stat.Satterthwaite(variances)
	if !ok {
		return
	}
	se := math.Sqrt(variance)
	m.SE, m.DF = schema.Some(se), schema.Some(df)
	if dryingKnown {
		m.SEDrying = schema.Some(math.Sqrt(dryingVariance))
	}
	m.CI = intervalOf(stat.TInterval(m.Mean.Float64, se, c.t.Quantile((1+c.confidence)/2, df)))
}

func unitCounts(parts []*Mean) string {
	words := make([]string, len(parts))
	for i, p := range parts {
		words[i] = fmt.Sprintf("%s n %d", p.Component, p.N)
	}
	return strings.Join(words, ", ")
}

// yearlyTotals adds, for sites whose components are clipped in different
// seasons, a total of the year that takes each in its own season.
func (c *calculation) yearlyTotals(results []*Mean) []*Mean {
	parts := map[siteYear]map[schema.Component]*Mean{}
	var order []siteYear
	for _, m := range results {
		seasons, yearly := c.yearly[m.Site.ID]
		component, ok := schema.ComponentNamed(m.Component)
		if !yearly || !ok || m.Group != "" || seasons[component] != m.Season {
			continue
		}
		k := siteYear{m.Site.ID, m.Year}
		if parts[k] == nil {
			parts[k] = map[schema.Component]*Mean{}
			order = append(order, k)
		}
		parts[k][component] = m
	}
	var out []*Mean
	for _, k := range order {
		out = append(out, c.yearlyTotal(c.yearly[k.site], parts[k]))
	}
	return out
}

func (c *calculation) yearlyTotal(seasons map[schema.Component]string, parts map[schema.Component]*Mean) *Mean {
	var means []*Mean
	var words, absent []string
	for _, component := range schema.Components {
		season, has := seasons[component]
		if !has {
			continue
		}
		words = append(words, season)
		if m := parts[component]; m != nil {
			means = append(means, m)
		} else {
			absent = append(absent, component.String())
		}
	}
	season := strings.Join(words, "+")
	if len(absent) > 0 {
		first := means[0]
		m := &Mean{Site: first.Site, Year: first.Year, Season: season, Component: Production, Confidence: c.confidence}
		m.warn("part-missing", fmt.Sprintf("no total: %s was not clipped in its season this year", strings.Join(absent, " and ")))
		return m
	}
	m := c.sumOfMeans(season, means)
	m.note("yearly-total", "the year's total takes each component in its own season")
	return m
}
