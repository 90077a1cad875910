package monitor

import (
	"cmp"
	"slices"

	"clipledger/monitor/stat"
	"clipledger/schema"
)

// What a record is judged by that stands at other sites: fractions of dry
// matter of every site in a season, where the bags of a species are, what is
// usual for an observer. One reading of the ledger gathers it, and keeps
// counts of the different values in place of the records.

// surveyed is what all sites say together.
type surveyed struct {
	fractions *wideFractions
	species   map[int64]*speciesUse
	estimates *schema.EstimateReader // nil where there are none
	ratios    map[eyeOf]*tally[float64]
	usual     map[eyeOf]float64
}

func newSurveyed() surveyed {
	return surveyed{fractions: &wideFractions{groups: map[likeness]int32{}}, species: map[int64]*speciesUse{},
		ratios: map[eyeOf]*tally[float64]{}, usual: map[eyeOf]float64{}}
}

// occasionsSurveyed bounds the estimates that are sorted at once.
const occasionsSurveyed = 1000

// survey reads the ledger for it, and lists the occasions by site.
func (c *checker) survey() error {
	occasions, err := c.snap.Occasions()
	if err != nil || len(occasions) == 0 {
		return err
	}
	for _, o := range occasions {
		c.bySite[o.SiteID] = append(c.bySite[o.SiteID], o)
	}
	if err := c.surveyDryness(occasions); err != nil {
		return err
	}
	has, err := c.snap.HasEstimates()
	if err != nil || !has {
		return err
	}
	if c.surveyed.estimates, err = c.snap.EstimateReader(); err != nil {
		return err
	}
	for part := range slices.Chunk(occasions, occasionsSurveyed) {
		if err := c.surveyed.estimates.Estimates(part[0].ID, part[len(part)-1].ID, c.surveyed.noteEstimate); err != nil {
			return err
		}
	}
	return nil
}

// surveyDryness reads the bags and the drying samples.
func (c *checker) surveyDryness(occasions []schema.OccasionRecord) error {
	at := 0
	season := func(occasion int64) string {
		if occasions[at].ID != occasion {
			at, _ = slices.BinarySearchFunc(occasions, occasion, func(o schema.OccasionRecord, id int64) int { return cmp.Compare(o.ID, id) })
		}
		return occasions[at].Season
	}
	first, last := occasions[0].ID, occasions[len(occasions)-1].ID
	err := c.snap.CheckBags(first, last, func(b *schema.CheckBag) error {
		c.noteSpecies(b)
		if material, ok := c.driedBag(b); ok {
			c.noteFraction(&material, season(b.Visit>>20))
		}
		return nil
	})
	if err != nil {
		return err
	}
	return c.snap.CheckDryings(first, last, func(d *schema.CheckDrying) error {
		if _, wrong := c.weightFault(d.GreenG, d.DryG, d.Basis); !wrong {
			material := c.driedSample(d)
			c.noteFraction(&material, season(d.Occasion))
		}
		return nil
	})
}

func (c *checker) noteFraction(material *dried, season string) {
	if value, ok := material.fraction(); ok {
		w := c.surveyed.fractions
		w.tallies[w.group(c.likeness(material, season))].add(value)
	}
}

// wideFractions are the fractions of every site, by what they are alike in.
type wideFractions struct {
	groups  map[likeness]int32
	names   []likeness
	tallies []tally[float32]
	spreads []*spread
}

func (w *wideFractions) group(l likeness) int32 {
	n, ok := w.groups[l]
	if !ok {
		n = int32(len(w.names))
		w.groups[l] = n
		w.names, w.tallies, w.spreads = append(w.names, l), append(w.tallies, tally[float32]{}), append(w.spreads, nil)
	}
	return n
}

// spread measures a group, once.
func (w *wideFractions) spread(group int32, t *stat.TTable) yardstick {
	values := &w.tallies[group]
	if values.n <= fewestOthers {
		return yardstick{}
	}
	if w.spreads[group] == nil {
		logits := make([]countOf[float64], 0, len(values.all()))
		for _, x := range values.all() {
			logits = append(logits, countOf[float64]{logit(float64(x.value)), x.times})
		}
		slices.SortFunc(logits, func(a, b countOf[float64]) int { return cmp.Compare(a.value, b.value) })
		s := spreadOfCounted(logits, values.n, 1, fractionAlarms, t)
		w.spreads[group] = &s
		values.counted, values.pending = nil, nil
	}
	return yardstick{w.spreads[group], w.names[group]}
}

// noteEstimate gathers what is usual for an observer.
func (s *surveyed) noteEstimate(e *schema.EstimateRecord) error {
	log, ok := logRatio(e)
	if !ok {
		return nil
	}
	k := eyeOf{e.Observer, e.State, e.Component}
	if s.ratios[k] == nil {
		s.ratios[k] = &tally[float64]{}
	}
	s.ratios[k].add(log)
	return nil
}

// usualOf is the middle of an observer's ratios, as a logarithm; 0 where they
// are few.
func (s *surveyed) usualOf(k eyeOf) float64 {
	ratios := s.ratios[k]
	if ratios == nil || ratios.n < slipFewest {
		return 0
	}
	usual, ok := s.usual[k]
	if !ok {
		usual = countedMedian(ratios.all(), 0, ratios.n)
		s.usual[k] = usual
	}
	return usual
}
