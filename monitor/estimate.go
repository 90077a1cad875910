package monitor

import (
	"cmp"
	"math"
	"slices"

	"clipledger/monitor/stat"
	"clipledger/schema"
)

// finish works out everything that one occasion comes to.
func (c *calculation) finish(o *occasion, keep func(*Mean)) error {
	if c.query.By != "" {
		return c.finishBy(o, keep)
	}
	if err := c.nameFrames(o); err != nil {
		return err
	}
	ratios, err := c.ratiosOf(o)
	if err != nil {
		return err
	}
	if c.query.Species != nil {
		if keep, err = c.splitOfDouble(o, keep); err != nil {
			return err
		}
		return c.chosenSpecies(o, ratios, keep)
	}
	if c.query.FullSeason {
		if c.season, err = c.seasonsOf(o); err != nil {
			return err
		}
	}
	means := c.occasionMeans(o, ratios)
	if err := c.doubleMeans(o, means); err != nil {
		return err
	}
	for _, m := range means {
		keep(m)
	}
	return nil
}

// occasionMeans works out the components of an occasion and their total.
func (c *calculation) occasionMeans(o *occasion, ratios *occasionRatios) []*Mean {
	var out []*Mean
	parts := map[schema.Component]*Mean{}
	for _, component := range schema.Components {
		s := o.sampleOf(component)
		if len(s.values)+s.left == 0 {
			continue
		}
		parts[component] = c.estimate(o, &s, ratios)
		out = append(out, parts[component])
	}
	if total := c.total(o, parts, ratios); total != nil {
		out = append(out, total)
	}
	return out
}

// total works out production: from frame totals where the components share
// frames, else as the sum of the component means. Where a site clips its
// components in different seasons the total is a yearly one, made later.
func (c *calculation) total(o *occasion, parts map[schema.Component]*Mean, ratios *occasionRatios) *Mean {
	names := o.productionParts()
	if _, yearly := c.yearly[o.site.ID]; yearly || len(names) == 0 {
		return nil
	}
	s, shared := o.totals(names)
	if shared {
		m := c.estimate(o, &s, ratios)
		m.noteParts(names, parts)
		c.warnAbsent(m, names)
		return m
	}
	means := make([]*Mean, len(names))
	for i, n := range names {
		means[i] = parts[n]
	}
	m := c.sumOfMeans(o.record.Season, means)
	c.warnAbsent(m, names)
	return m
}

// estimate works out one sample: the mean over sampling units, its standard
// error from frames and drying ratios, its intervals and whether the sample
// was enough. Sources: Cochran (1977) ch. 2 and 6; Satterthwaite (1946); Hall
// (1992).
func (c *calculation) estimate(o *occasion, s *sample, ratios *occasionRatios) *Mean {
	m := &Mean{Site: o.site, Year: o.record.Year, Season: o.record.Season, Component: s.component, Confidence: c.confidence, Missing: s.left, Caged: o.caged}
	s.sort()
	units := s.units(o.site.SamplingUnit)
	var moments stat.Moments
	for _, u := range units {
		moments.Add(u.mean)
	}
	m.N = moments.N()
	c.counts(m, s)
	if c.query.KeepValues {
		m.keepValues(units, s)
	}
	if m.N > 0 {
		m.Mean = schema.Some(moments.Mean())
		c.spread(m, &moments, ratios.parts(s, units))
		c.adequacy(m)
		c.transects(m, s, units)
		c.season.fullSeason(m, s, units)
	}
	c.remarks(m, o, s, ratios)
	c.keep(m, o, s, ratios)
	return m
}

// unit is one sampling unit: a frame, or the mean over a transect's frames.
type unit struct {
	mean   float64
	frames []int // places in sample.values
}

// sort brings the frames into an order of their values, so that sums round
// alike in whichever order the rows came.
func (s *sample) sort() {
	slices.SortFunc(s.values, func(a, b frameSum) int {
		switch {
		case a.gPerM2 < b.gPerM2:
			return -1
		case a.gPerM2 > b.gPerM2:
			return 1
		}
		return cmp.Or(cmp.Compare(a.book.dry, b.book.dry), cmp.Compare(a.book.green, b.book.green))
	})
}

// units makes the sampling units of a sample, transects in the order of their
// names.
func (s *sample) units(by string) []unit {
	if by != "transect" {
		out := make([]unit, len(s.values))
		places := make([]int, len(s.values))
		for i := range s.values {
			places[i] = i
			out[i] = unit{s.values[i].gPerM2, places[i : i+1]}
		}
		return out
	}
	place := map[string]int{}
	var names []string
	var out []unit
	for i := range s.values {
		t := s.values[i].frame.transect
		k, ok := place[t]
		if !ok {
			k = len(out)
			place[t] = k
			names = append(names, t)
			out = append(out, unit{})
		}
		u := &out[k]
		u.frames = append(u.frames, i)
		u.mean += (s.values[i].gPerM2 - u.mean) / float64(len(u.frames))
	}
	sorted := make([]unit, 0, len(out))
	slices.Sort(names)
	for _, n := range names {
		sorted = append(sorted, out[place[n]])
	}
	return sorted
}

// counts fills in what is counted over frames: zeros, and weight by book
// values.
func (c *calculation) counts(m *Mean, s *sample) {
	var sum, book float64
	for i := range s.values {
		v := &s.values[i]
		sum += v.gPerM2
		book += v.book.dry
		if v.gPerM2 == 0 {
			m.ZerosAll++
		}
		if v.inferred {
			m.ZerosInfer++
		}
	}
	if sum > 0 {
		m.BookPct = schema.Some(100 * book / sum)
	}
}

func (m *Mean) keepValues(units []unit, s *sample) {
	for _, u := range units {
		m.UnitValues = append(m.UnitValues, u.mean)
	}
	for i := range s.values {
		m.FrameValues = append(m.FrameValues, s.values[i].gPerM2)
		m.FrameVisits = append(m.FrameVisits, s.values[i].frame.visit)
	}
}

// spread fills in the standard deviation, the standard error and the
// intervals. One unit, or units that are all alike, have no interval.
func (c *calculation) spread(m *Mean, moments *stat.Moments, drying []dryingPart) {
	sd, ok := moments.SD()
	if !ok {
		m.note("one-unit", "one sampling unit: no interval")
		return
	}
	m.SD = schema.Some(sd)
	if m.Mean.Float64 > 0 {
		m.CVPct = schema.Some(100 * sd / m.Mean.Float64)
	}
	if sd == 0 {
		return
	}
	n := float64(m.N)
	frames := sd * sd / n * c.unsampled(m)
	parts := []stat.VariancePart{{Variance: frames, DF: n - 1}}
	dryingVariance, complete := 0.0, true
	for _, d := range drying {
		if !d.ratio.VarianceOK {
			complete = false
			continue
		}
		v := d.green * d.green * d.ratio.Variance
		dryingVariance += v
		parts = append(parts, stat.VariancePart{Variance: v, DF: float64(d.ratio.M - 1)})
	}
	if complete {
		m.SEDrying = schema.Some(math.Sqrt(dryingVariance))
	} else {
		m.note("one-drying-sample", "a drying ratio rests on a single sample: its error is unknown and not in the interval")
	}
	variance, df, ok := stat.Satterthwaite(parts)
	if !ok {
		return
	}
	se := math.Sqrt(variance)
	m.SE, m.DF = schema.Some(se), schema.Some(df)
	c.intervals(m, moments, se, df)
}

// unsampled is the finite population correction, 1 − n/N, where the site says
// how many units there could be. It is never used with transects.
func (c *calculation) unsampled(m *Mean) float64 {
	if n := c.possible(m); n > 0 {
		return 1 - float64(m.N)/float64(n)
	}
	return 1
}

// possible is N where it may be used: with frames, and not below n.
func (c *calculation) possible(m *Mean) int {
	if n := m.Site.UnitsPossible; n > m.N && m.Site.SamplingUnit == "frame" {
		return n
	}
	return 0
}

func (c *calculation) intervals(m *Mean, moments *stat.Moments, se, df float64) {
	t := c.t.Quantile((1+c.confidence)/2, df)
	m.CI = intervalOf(stat.TInterval(m.Mean.Float64, se, t))
	g1, ok := moments.Skewness()
	if !ok {
		return
	}
	hall, ok := stat.HallInterval(m.Mean.Float64, se, g1, m.N, t)
	if !ok {
		return
	}
	m.Hall = intervalOf(hall)
	if fifth := t * se / 5; math.Abs(hall.Low-m.CI.Low.Float64) > fifth || math.Abs(hall.High-m.CI.High.Float64) > fifth {
		m.note("skewed", "the values are skewed: few frames, many zeros or long tails make the t interval too narrow; see Hall's interval beside it")
	}
}
