package monitor

import (
	"maps"
	"slices"

	"clipledger/schema"
)

// Means split by treatment, block, transect, observer or species.

// finishBy works out an occasion group by group.
func (c *calculation) finishBy(o *occasion, keep func(*Mean)) error {
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
	b := &speciesBags{weight: map[schema.Component]map[string]map[int64]float64{}, total: map[schema.Component]map[int64]bool{}}
	return b, c.snap.Bags(o.record.ID, o.record.ID, func(r *schema.BagRecord) error {
		if !r.DryG.Valid || !r.AreaM2.Valid {
			return nil
		}
		if b.weight[r.Component] == nil {
			b.weight[r.Component] = map[string]map[int64]float64{}
			b.total[r.Component] = map[int64]bool{}
		}
		if b.weight[r.Component][r.Species] == nil {
			b.weight[r.Component][r.Species] = map[int64]float64{}
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
			s.values = append(s.values, frameSum{frame: f, gPerM2: weight, inferred: !weighed && cell.inferred})
		}
	})
	return s
}
