package monitor

import (
	"fmt"
	"math"

	"clipledger/monitor/stat"
	"clipledger/schema"
)

// What corrects the estimates of each species? An observer can be right on one
// plant and half wrong on another, so where species were estimated apart, each
// has a factor of its own, clipped ÷ estimated over the clipped frames, and the
// corrected estimates are added up (the weight-unit correction of double-weight
// sampling; formula from memory). Production is corrected component by
// component in the same way, so that its parts add up. The corrected estimate
// z of a frame then stands in place of x: its ratio to y is 1 by construction,
// and the variance is the ratio estimator's with z for R·x.

// correct gives the ratio answer corrected part by part, and false where one
// factor for all has to do, with a remark that says why.
func (d *doubler) correct(m *DoubleMean, set *doubleSet) (stat.DoubleMean, []PartFactor, bool) {
	parts := set.parts()
	if len(parts) == 1 && parts[0].species == "" {
		return stat.DoubleMean{}, nil, false
	}
	factors, why := d.factors(set, parts)
	if why != "" {
		m.note("one-factor", "one factor for all: %s", why)
		return stat.DoubleMean{}, nil, false
	}
	s := set.double(func(f *doubleFrame) float64 {
		z := 0.0
		for i, p := range parts {
			z += factors[i].Factor * f.parts[p]
		}
		return z
	})
	answer, ok := s.Mean(stat.RatioEstimator)
	return answer, factors, ok
}

// parts lists what was estimated apart.
func (set *doubleSet) parts() []eyePart {
	all := map[eyePart]bool{}
	for _, f := range set.frames {
		for p := range f.parts {
			all[p] = true
		}
	}
	return sortedParts(all)
}

// factors works out each part's factor; why says what is in the way.
func (d *doubler) factors(set *doubleSet, parts []eyePart) (out []PartFactor, why string) {
	for i := range set.frames[:set.clipped] {
		f := &set.frames[i]
		sum := 0.0
		for _, p := range parts {
			y, ok := d.partWeight(f.visit, p)
			if !ok {
				return nil, "some frames were clipped without keeping the species apart"
			}
			sum += y
		}
		if math.Abs(sum-f.y) > 1e-9*(1+f.y) {
			return nil, "species were clipped that were not estimated"
		}
	}
	for _, p := range parts {
		factor, ok := d.factor(set, p)
		if !ok {
			return nil, fmt.Sprintf("%s was estimated, and on no clipped frame at more than nothing", partName(p))
		}
		out = append(out, factor)
	}
	return out, ""
}

// factor is clipped ÷ estimated of one part.
func (d *doubler) factor(set *doubleSet, p eyePart) (PartFactor, bool) {
	var x, y, all float64
	for i := range set.frames {
		f := &set.frames[i]
		all += f.parts[p]
		if i < set.clipped {
			weight, _ := d.partWeight(f.visit, p)
			x += f.parts[p]
			y += weight
		}
	}
	if x == 0 {
		return PartFactor{}, false
	}
	mean := all / float64(len(set.frames))
	return PartFactor{p.component.String(), p.species, y / x, mean, mean / (x / float64(set.clipped))}, true
}

// partWeight is the dry weight per area of a part in a clipped frame; false
// where the frame was weighed without species.
func (d *doubler) partWeight(visit int64, p eyePart) (float64, bool) {
	cell := d.o.frame(visit).cells[p.component]
	if p.species == "" {
		return cell.gPerM2, cell.state == known
	}
	if d.species.total[p.component][visit] && cell.gPerM2 > 0 {
		return 0, false
	}
	return d.species.weight[p.component][p.species][visit], true
}

// weightOfPart is x̄′ ÷ x̄ of a part: by how much its clipped frames count more
// than their own number. A species without estimates of its own goes with its
// component.
func weightOfPart(factors []PartFactor, p eyePart) float64 {
	for _, f := range factors {
		if f.Component == p.component.String() && (f.Species == p.species || f.Species == "") {
			return f.weight
		}
	}
	return 0
}

func partName(p eyePart) string {
	if p.species == "" {
		return p.component.String()
	}
	return p.species
}

// shown names what a factor is of.
func (f PartFactor) shown() string {
	c, _ := schema.ComponentNamed(f.Component)
	return partName(eyePart{c, f.Species})
}
