package main

import (
	"cmp"
	"maps"
	"slices"
	"strings"

	"clipledger/charts"
	"clipledger/monitor"
	"clipledger/schema"
)

// What a year's production was made of, and what its dry weights rest on, for
// the pages of sites.

func joinWords(words []string) string { return strings.Join(words, ", ") }

// makeup gathers the bags of one site and growth year.
type makeup struct {
	year   int
	weight map[speciesName]float64
	total  float64
	basis  charts.DryBasis
}

type speciesName struct{ component, code, name string }

// makeups are those of every site and growth year the filter lets through.
type makeups struct {
	filter monitor.Filter
	of     map[int64]schema.OccasionRecord
	at     map[siteYearKey]*makeup
}

type siteYearKey struct {
	site int64
	year int
}

// makeupsOf reads them: of production, from the caged frames where an occasion
// has any.
func makeupsOf(s *schema.Snapshot, filter monitor.Filter) (*makeups, error) {
	occasions, err := s.Occasions()
	if err != nil {
		return nil, err
	}
	all := &makeups{filter: filter, of: map[int64]schema.OccasionRecord{}, at: map[siteYearKey]*makeup{}}
	for _, o := range occasions {
		all.of[o.ID] = o
	}
	return all, s.Makeups(all.take)
}

func (all *makeups) take(m *schema.Makeup) error {
	o, f := all.of[m.Occasion], &all.filter
	if !m.Component.IsProduction() || f.FirstYear != 0 && o.Year < f.FirstYear || f.LastYear != 0 && o.Year > f.LastYear {
		return nil
	}
	k := siteYearKey{o.SiteID, o.Year}
	g := all.at[k]
	if g == nil {
		g = &makeup{year: o.Year, weight: map[speciesName]float64{}}
		all.at[k] = g
	}
	g.add(m)
	return nil
}

// addMakeups puts composition and bases on the pages.
func (b *siteBuilder) addMakeups(all *makeups) {
	pages := map[int64]*charts.Site{}
	for code, k := range b.place {
		pages[b.ids[code]] = &b.sites[k]
	}
	keys := slices.SortedFunc(maps.Keys(all.at), func(x, y siteYearKey) int { return cmp.Or(cmp.Compare(x.site, y.site), x.year-y.year) })
	for _, k := range keys {
		if page := pages[k.site]; page != nil {
			page.Composition = append(page.Composition, all.at[k].composition())
			page.DryBasis = append(page.DryBasis, all.at[k].dryBasis())
		}
	}
}

func (g *makeup) add(m *schema.Makeup) {
	name := speciesName{m.Component.String(), m.Species, m.Name}
	g.weight[name] += m.GPerM2
	g.total += m.GPerM2
	b := &g.basis
	b.Bags += m.Bags
	switch m.Method {
	case schema.MethodNone:
		b.Bags -= m.Bags
		b.NoDry += m.Bags
	case schema.Measured, schema.ZeroWeight, schema.TraceWeight:
		b.Measured += m.GPerM2
	case schema.RowPercentage:
		b.Row += m.GPerM2
	case schema.BookValueUsed, schema.BookValueOtherBasis:
		b.Book += m.GPerM2
	case schema.FallbackPercentage:
		b.Fallback += m.GPerM2
	default:
		b.Sample += m.GPerM2
	}
}

func (g *makeup) composition() charts.Composition {
	out := charts.Composition{Year: g.year}
	if g.total <= 0 {
		return out
	}
	unnamed := 0.0
	for name, weight := range g.weight {
		pct := 100 * weight / g.total
		if name.code == "" {
			unnamed += pct
			continue
		}
		out.Species = append(out.Species, charts.SpeciesShare{Code: name.code, Name: name.name, Component: name.component, Pct: pct})
	}
	if unnamed > 0 {
		out.Unnamed = &unnamed
	}
	slices.SortFunc(out.Species, func(a, b charts.SpeciesShare) int {
		return cmp.Or(cmp.Compare(b.Pct, a.Pct), cmp.Compare(a.Code, b.Code), cmp.Compare(a.Component, b.Component))
	})
	return out
}

// dryBasis turns weights into percent of them.
func (g *makeup) dryBasis() charts.DryBasis {
	b := g.basis
	b.Year = g.year
	if g.total > 0 {
		for _, x := range []*float64{&b.Measured, &b.Sample, &b.Row, &b.Book, &b.Fallback} {
			*x *= 100 / g.total
		}
	}
	return b
}
