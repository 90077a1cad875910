package monitor

import (
	"slices"

	"clipledger/monitor/stat"
	"clipledger/schema"
)

// The frames behind a mean, kept until its year has been compared with
// another: which frame weighed what, and which drying ratio converted how much
// of it. They are let go with their group of sites, so that a large ledger
// never holds more than a group's.

// kept is what a mean rests on.
type kept struct {
	occasion int64
	caged    bool
	sample   sample
	ratios   *occasionRatios
	parts    []*Mean // in place of a sample, where production is a sum of means
}

// reads tells whether an occasion is to be read: what a change is counted from
// lies before the years that are shown.
func (q *Query) reads(o *schema.OccasionRecord) bool {
	if q.Change {
		return q.LastYear == 0 || o.Year <= q.LastYear
	}
	return q.year(o.Year)
}

// nameFrames gives the frames their names where years are paired by frame.
func (c *calculation) nameFrames(o *occasion) error {
	if !c.query.compares || o.site.Placement != "same" {
		return nil
	}
	return c.snap.FrameNames(o.record.ID, o.record.ID, func(visit int64, name schema.FrameName) error {
		o.frame(visit).name = name.Frame
		return nil
	})
}

// keep holds on to the frames of a sample. An occasion's own are used again
// for the next one.
func (c *calculation) keep(m *Mean, o *occasion, s *sample, ratios *occasionRatios) {
	if !c.query.compares {
		return
	}
	k := &kept{occasion: o.record.ID, caged: o.caged, sample: *s, ratios: ratios}
	places := make([]identity, len(s.values))
	for i := range s.values {
		places[i] = *s.values[i].frame
		s.values[i].frame, s.values[i].cells = &places[i], nil
	}
	m.kept = k
}

// keepParts holds on to the means of which a mean is the sum.
func (c *calculation) keepParts(m *Mean, parts []*Mean) {
	if c.query.compares {
		m.kept = &kept{parts: parts}
	}
}

// components are the parts of a mean that have a value in it.
func (k *kept) components() []schema.Component {
	if k.parts == nil {
		return k.sample.parts
	}
	var out []schema.Component
	for _, p := range k.parts {
		out = append(out, p.kept.components()...)
	}
	return out
}

// leaves calls fn on the samples that a mean rests on.
func (k *kept) leaves(fn func(*kept)) {
	if k.parts == nil {
		fn(k)
	}
	for _, p := range k.parts {
		p.kept.leaves(fn)
	}
}

// only is the sample with some of its frames, in the order of their names.
func (k *kept) only(want func(*identity) bool) *kept {
	part := *k
	part.sample.values = nil
	for _, v := range k.sample.values {
		if want(v.frame) {
			part.sample.values = append(part.sample.values, v)
		}
	}
	slices.SortFunc(part.sample.values, byPlace)
	return &part
}

// dryingParts are the variances that the drying ratios of some units add to
// their mean; complete is false where a ratio rests on a single sample and its
// error is unknown.
func (k *kept) dryingParts(units []unit) (parts []stat.VariancePart, complete bool) {
	complete = true
	for _, d := range k.ratios.parts(&k.sample, units) {
		if !d.ratio.VarianceOK {
			complete = false
			continue
		}
		if v := d.green * d.green * d.ratio.Variance; v > 0 {
			parts = append(parts, stat.VariancePart{Variance: v, DF: float64(d.ratio.M - 1)})
		}
	}
	return parts, complete
}
