package main

import (
	"cmp"
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

// addMakeups puts composition and bases on the pages: of production, from the
// caged frames where an occasion has any.
func (b *siteBuilder) addMakeups(s *schema.Snapshot, filter monitor.Filter) error {
	occasions, err := s.Occasions()
	if err != nil {
		return err
	}
	site := map[int64]int{}
	for code, k := range b.place {
		site[b.ids[code]] = k
	}
	of := map[int64]schema.OccasionRecord{}
	for _, o := range occasions {
		of[o.ID] = o
	}
	var gathered []*makeup
	byYear := map[[2]int]*makeup{}
	owner := map[*makeup]int{}
	err = s.Makeups(func(m *schema.Makeup) error {
		o := of[m.Occasion]
		k, wanted := site[o.SiteID]
		if !wanted || !m.Component.IsProduction() || filter.FirstYear != 0 && o.Year < filter.FirstYear || filter.LastYear != 0 && o.Year > filter.LastYear {
			return nil
		}
		g := byYear[[2]int{k, o.Year}]
		if g == nil {
			g = &makeup{year: o.Year, weight: map[speciesName]float64{}}
			byYear[[2]int{k, o.Year}] = g
			owner[g] = k
			gathered = append(gathered, g)
		}
		g.add(m)
		return nil
	})
	if err != nil {
		return err
	}
	slices.SortStableFunc(gathered, func(x, y *makeup) int { return cmp.Or(owner[x]-owner[y], x.year-y.year) })
	for _, g := range gathered {
		page := &b.sites[owner[g]]
		page.Composition = append(page.Composition, g.composition())
		page.DryBasis = append(page.DryBasis, g.dryBasis())
	}
	return nil
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
