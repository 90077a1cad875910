package monitor

import (
	"maps"
	"slices"
	"strings"

	"clipledger/schema"
)

// Means split by treatment, block, transect, observer or species.

// finishBy works out an occasion group by group.
func (c *calculation) finishBy(o *occasion, keep func(*Mean)) error {
	keep, err := c.splitOfDouble(o, keep)
	if err != nil {
		return err
	}
	ratios, err := c.ratiosOf(o)
	if err != nil {
		return err
	}
	if c.query.By == "species" {
		return c.bySpecies(o, ratios, keep)
	}
	groups, err := c.groupsOf(o)
	if err != nil {
		return err
	}
	names := map[string]bool{}
	for _, g := range groups {
		names[g] = true
	}
	for _, name := range slices.Sorted(maps.Keys(names)) {
		part := o.only(func(f *frame) bool { return groups[f.visit] == name })
		site := *o.site
		if c.query.By == "transect" {
			site.SamplingUnit = "frame"
		}
		part.site = &site
		for _, m := range c.occasionMeans(part, ratios) {
			m.Group = name
			keep(m)
		}
	}
	return nil
}

// only returns the occasion with some of its frames.
func (o *occasion) only(want func(*frame) bool) *occasion {
	part := *o
	part.frames = nil
	for i := range o.frames {
		if f := o.frames[i]; f.seen && want(&f) {
			part.frames = append(part.frames, f)
		}
	}
	return &part
}

// groupsOf reads the group of every frame of an occasion.
func (c *calculation) groupsOf(o *occasion) (map[int64]string, error) {
	groups := map[int64]string{}
	err := c.snap.Visits(o.record.ID, o.record.ID, func(v *schema.VisitRecord) error {
		switch c.query.By {
		case "treatment":
			groups[v.Visit] = v.Treatment
		case "block":
			groups[v.Visit] = v.Block
		case "transect":
			groups[v.Visit] = v.Transect
		case "observer":
			groups[v.Visit] = v.Observer
		}
		return nil
	})
	return groups, err
}

// speciesBags are the dry weights per area of an occasion's species.
type speciesBags struct {
	weight map[schema.Component]map[string]map[int64]float64 // component, species, visit
	book   map[schema.Component]map[string]map[int64]book    // what of it rests on book values
	total  map[schema.Component]map[int64]bool               // frames weighed without species
}

// bySpecies works out each species: a frame in which its component was looked
// for and the species was not found counts as zero; a frame whose component
// was weighed as one total says nothing of its species.
func (c *calculation) bySpecies(o *occasion, ratios *occasionRatios, keep func(*Mean)) error {
	bags, err := c.readSpecies(o)
	if err != nil {
		return err
	}
	for _, component := range schema.Components {
		for _, name := range slices.Sorted(maps.Keys(bags.weight[component])) {
			s := bags.sample(o, component, name)
			m := c.estimate(o, &s, ratios)
			m.Group = name
			keep(m)
		}
	}
	return nil
}

func (c *calculation) readSpecies(o *occasion) (*speciesBags, error) {
	b := &speciesBags{weight: map[schema.Component]map[string]map[int64]float64{}, book: map[schema.Component]map[string]map[int64]book{}, total: map[schema.Component]map[int64]bool{}}
	return b, c.snap.Bags(o.record.ID, o.record.ID, func(r *schema.BagRecord) error {
		if !r.DryG.Valid || !r.AreaM2.Valid {
			return nil
		}
		if b.weight[r.Component] == nil {
			b.weight[r.Component] = map[string]map[int64]float64{}
			b.book[r.Component] = map[string]map[int64]book{}
			b.total[r.Component] = map[int64]bool{}
		}
		if b.weight[r.Component][r.Species] == nil {
			b.weight[r.Component][r.Species] = map[int64]float64{}
			b.book[r.Component][r.Species] = map[int64]book{}
		}
		if r.Method >= schema.BookValueUsed {
			k := b.book[r.Component][r.Species][r.Visit]
			k.dry += r.DryG.Float64 / r.AreaM2.Float64
			k.green += r.GreenG.Float64 / r.AreaM2.Float64 * c.bookFactor(r.Method)
			b.book[r.Component][r.Species][r.Visit] = k
		}
		b.weight[r.Component][r.Species][r.Visit] += r.DryG.Float64 / r.AreaM2.Float64
		if r.Species == "" {
			b.total[r.Component][r.Visit] = true
		}
		return nil
	})
}

// sample gathers the frames of one species.
func (b *speciesBags) sample(o *occasion, component schema.Component, name string) sample {
	s := sample{component: component.String(), parts: []schema.Component{component}, species: []string{name}, missing: map[string]int{}}
	o.standing(func(f *frame) {
		cell := &f.cells[component]
		weight, weighed := b.weight[component][name][f.visit]
		switch {
		case cell.state == missing:
			s.leaveOut(cell.why)
		case cell.state == notLookedFor:
		case name != "" && b.total[component][f.visit] && cell.gPerM2 > 0:
			s.leaveOut("weighed without species")
		case name == "" && !weighed:
			s.leaveOut("weighed by species")
		default:
			s.values = append(s.values, frameSum{frame: &f.identity, cells: &f.cells, gPerM2: weight, inferred: !weighed && cell.inferred, book: b.book[component][name][f.visit]})
		}
	})
	return s
}

// chosenSpecies works out each wanted component from the chosen species only:
// a frame weighs what those species weigh in it, nothing where it holds none.
// The mean names the species as its group, so that it is not taken for the
// component's.
func (c *calculation) chosenSpecies(o *occasion, ratios *occasionRatios, keep func(*Mean)) error {
	bags, err := c.readSpecies(o)
	if err != nil {
		return err
	}
	for _, component := range schema.Components {
		s := bags.sum(o, component, c.query.Species)
		if c.query.component(component.String()) && len(s.values)+s.left > 0 {
			m := c.estimate(o, &s, ratios)
			m.Group = strings.Join(c.query.Species, "+")
			keep(m)
		}
	}
	return nil
}

// sum gathers the frames of several species together.
func (b *speciesBags) sum(o *occasion, component schema.Component, names []string) sample {
	all := sample{component: component.String(), parts: []schema.Component{component}, species: names, missing: map[string]int{}}
	place := map[int64]int{}
	for k, name := range names {
		one := b.sample(o, component, name)
		if k == 0 { // frames are left out for reasons that do not depend on the species
			all.left, all.missing = one.left, one.missing
		}
		for _, v := range one.values {
			i, seen := place[v.frame.visit]
			if !seen {
				place[v.frame.visit] = len(all.values)
				all.values = append(all.values, v)
				continue
			}
			sum := &all.values[i]
			sum.gPerM2 += v.gPerM2
			sum.inferred = sum.inferred && v.inferred
			sum.book.dry += v.book.dry
			sum.book.green += v.book.green
		}
	}
	return all
}

// bookFactor brings a green weight that was converted by a book value on the
// other basis to the ledger's.
func (c *calculation) bookFactor(m schema.Method) float64 {
	if m != schema.BookValueOtherBasis {
		return 1
	}
	return c.rules.Factors[schema.AirDry] * c.rules.Factors[schema.OvenDry] // one of the two is 1
}
