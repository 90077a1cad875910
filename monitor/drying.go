package monitor

import (
	"cmp"
	"slices"

	"clipledger/monitor/stat"
	"clipledger/schema"
)

// dryingPart is one drying ratio's share of a mean: the mean green weight per
// area that it converted, and the ratio with its variance.
type dryingPart struct {
	green float64 // g/m² of green weight
	ratio stat.Ratio
}

// ratioName tells the drying ratios of an occasion apart.
type ratioName struct {
	component       schema.Component
	level           schema.Method
	of              string // species or growth form
	transect, frame string
	bag             string
}

// occasionRatios are the drying ratios that an occasion used, and the green
// weight per area that each converted in every frame.
type occasionRatios struct {
	ratio map[ratioName]stat.Ratio
	order []ratioName
	green map[int64][]greenUse // by visit, in the order of the bags
	bases map[string]bool      // on which the samples used were dried
}

// greenUse is the green weight per area of a species that a ratio converted.
type greenUse struct {
	name    ratioName
	species string
	green   float64 // g/m²
}

// ratiosOf reads the ratios behind an occasion's dry weights; nil where no bag
// was converted by drying samples.
func (c *calculation) ratiosOf(o *occasion) (*occasionRatios, error) {
	if !o.ways.Sampled() {
		return nil, nil
	}
	samples, err := c.snap.DryingSamples(o.record.ID)
	if err != nil {
		return nil, err
	}
	slices.SortFunc(samples, func(a, b schema.DryingRecord) int { // sums round alike in whichever order samples came
		return cmp.Or(cmp.Compare(a.GreenG, b.GreenG), cmp.Compare(a.DryG, b.DryG))
	})
	r := &occasionRatios{ratio: map[ratioName]stat.Ratio{}, green: map[int64][]greenUse{}, bases: map[string]bool{}}
	err = c.snap.Bags(o.record.ID, o.record.ID, func(b *schema.BagRecord) error {
		if name, ok := nameOfRatio(b); ok && b.AreaM2.Valid {
			r.convert(o, b, name, samples)
		}
		return nil
	})
	return r, err
}

// nameOfRatio says which ratio converted a bag, if one did.
func nameOfRatio(b *schema.BagRecord) (ratioName, bool) {
	n := ratioName{component: b.Component, level: b.Method}
	switch b.Method {
	case schema.SampleOfBag:
		n.of, n.transect, n.frame, n.bag = b.Species, b.Transect, b.Frame, b.Bag
	case schema.SamplesOfSpecies:
		n.of = b.Species
	case schema.SamplesOfForm:
		n.of = b.GrowthForm
	case schema.SamplesOfComponent:
	default:
		return n, false
	}
	return n, true
}

// convert counts a bag's green weight towards its ratio, and notes on which
// bases the ratio's samples came.
func (r *occasionRatios) convert(o *occasion, b *schema.BagRecord, name ratioName, samples []schema.DryingRecord) {
	if _, known := r.ratio[name]; !known {
		var d, g []float64
		for i := range samples {
			if name.has(&samples[i]) {
				d, g = append(d, samples[i].DryG), append(g, samples[i].GreenG)
				r.bases[samples[i].Basis] = true
				o.noteBasis(samples[i].Basis)
			}
		}
		ratio, ok := stat.RatioOf(d, g)
		if !ok {
			return
		}
		r.ratio[name] = ratio
		r.order = append(r.order, name)
	}
	r.green[b.Visit] = append(r.green[b.Visit], greenUse{name, b.Species, b.GreenG.Float64 / b.AreaM2.Float64})
}

// has tells whether a drying sample belongs to the ratio; the same choice as
// the view drying_ratio_now makes, and a test holds the two together.
func (n ratioName) has(d *schema.DryingRecord) bool {
	if d.Component != n.component {
		return false
	}
	switch n.level {
	case schema.SampleOfBag:
		return d.Species == n.of && d.Transect == n.transect && d.Frame == n.frame && d.Bag == n.bag
	case schema.SamplesOfSpecies:
		return d.Species == n.of
	case schema.SamplesOfForm:
		return d.GrowthForm == n.of
	}
	return d.Species == "" && d.OwnForm == ""
}

// greenOf is the mean green weight per area that each ratio converted in a
// sample. Each frame counts as it counts in the mean: 1/n, or within transects
// 1/(units × frames of its own).
func (r *occasionRatios) greenOf(s *sample, units []unit) map[ratioName]float64 {
	if r == nil {
		return nil
	}
	green := map[ratioName]float64{}
	for _, u := range units {
		weight := 1 / float64(len(units)) / float64(len(u.frames))
		for _, i := range u.frames {
			for _, use := range r.green[s.values[i].frame.visit] {
				if slices.Contains(s.parts, use.name.component) && (s.species == nil || slices.Contains(s.species, use.species)) {
					green[use.name] += weight * use.green
				}
			}
		}
	}
	return green
}

// parts are the ratios' shares of a sample's mean.
func (r *occasionRatios) parts(s *sample, units []unit) []dryingPart {
	if r == nil {
		return nil
	}
	green := r.greenOf(s, units)
	var out []dryingPart
	for _, name := range r.order {
		if g := green[name]; g > 0 {
			out = append(out, dryingPart{g, r.ratio[name]})
		}
	}
	slices.SortFunc(out, func(a, b dryingPart) int {
		return cmp.Or(cmp.Compare(a.green, b.green), cmp.Compare(a.ratio.R, b.ratio.R))
	})
	return out
}
