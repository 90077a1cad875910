package monitor

import (
	"cmp"
	"math"
	"slices"
	"sync"

	"clipledger/monitor/stat"
	"clipledger/schema"
)

// Which frames of two years belong together, by how the site declares its
// frames are placed:
//
//	same     the frames present in both years, one by one; where the site's
//	         sampling unit is the transect, its transects, each as the mean over
//	         those of its frames that are present in both years. Frames of one
//	         transect share what the transect went through, so to count each as
//	         a witness of its own would call a wet spot a change of the site.
//	shifted  the transects present in both years, where there are three or
//	         more: the spots differ, the lines do not. Two pairs would leave one
//	         degree of freedom, fewer than their frames or transects have apart.
//	new      none: the units of each year on their own (Welch).
//
// Means, difference and percent are of the frames used. The drying ratios'
// errors of both years are added whatever the pairing, with the green weight
// of the frames used: each year's ratio errs on its own, and for all frames of
// the year alike. Where production is a sum of means on frames of their own,
// its change is the sum of their changes, variances added.

// change is what two years come to, before it is tested.
type change struct {
	design         string
	n1, n2         int
	mean1, mean2   float64
	difference     float64
	known          bool                // both years' units have a variance
	units          []stat.VariancePart // of the difference, from the sampling units
	perUnit        []float64           // the same variances for one unit a year
	drying         []stat.VariancePart // from the drying ratios of both years
	dryingComplete bool
	flat1, flat2   bool // the units of the year are all alike
	paired         bool
	left1, left2   int // frames left out because the other year has no value
}

// test holds the change against its standard error. There is none where a
// year's spread is unknown, or where nothing varies at all.
func (ch *change) test() (stat.TTest, bool) {
	if !ch.known || !slices.ContainsFunc(ch.units, func(p stat.VariancePart) bool { return p.Variance > 0 }) {
		return stat.TTest{}, false
	}
	return stat.TTestOf(ch.difference, slices.Concat(ch.units, ch.drying))
}

func (ch *change) dryingSE() float64 {
	sum := 0.0
	for _, p := range ch.drying {
		sum += p.Variance
	}
	return math.Sqrt(sum)
}

// changeOf works out the change from one year to another, nil where the two
// cannot be compared, and what must be said of it.
func (c *calculation) changeOf(one, two *Mean) (*change, []Remark) {
	a, b := one.kept, two.kept
	if one.Component == Production && !sameComponents(a, b) {
		return nil, []Remark{{Code: "part-absent", Text: "a part of production was looked for in one of the years only: the totals are not comparable, and no difference is given", Loud: true}}
	}
	var ch *change
	switch {
	case a.parts == nil && b.parts == nil:
		ch = c.changeOfSamples(one.Site, a, b)
	case a.parts != nil && b.parts != nil:
		ch = c.changeOfSums(one.Site, a, b)
	default:
		ch = independent(one.Site.SamplingUnit, a, b)
	}
	return ch, ch.remarks(one.Site)
}

func sameComponents(a, b *kept) bool {
	x, y := a.components(), b.components()
	slices.Sort(x)
	slices.Sort(y)
	return slices.Equal(x, y)
}

// changeOfSamples pairs the frames of two samples as the site's placement says.
func (c *calculation) changeOfSamples(site *schema.SiteRecord, a, b *kept) *change {
	switch site.Placement {
	case "same":
		in := inBoth(a, b, (*identity).key)
		return paired(site.SamplingUnit, a, b, func(p *identity) bool { return in[p.key()] })
	case "shifted":
		if in := inBoth(a, b, (*identity).line); len(in) >= 3 {
			return paired("transect", a, b, func(p *identity) bool { return in[p.line()] })
		}
	}
	return independent(site.SamplingUnit, a, b)
}

// key tells the frames of a site apart from year to year.
func (p *identity) key() identity {
	return identity{transect: p.transect, name: p.name, caged: p.caged}
}

// line is the transect of a frame.
func (p *identity) line() identity { return identity{transect: p.transect} }

// inBoth finds the frames, or the transects, that have a value in both years.
func inBoth(a, b *kept, key func(*identity) identity) map[identity]bool {
	first, out := map[identity]bool{}, map[identity]bool{}
	for i := range a.sample.values {
		first[key(a.sample.values[i].frame)] = true
	}
	for i := range b.sample.values {
		if k := key(b.sample.values[i].frame); first[k] {
			out[k] = true
		}
	}
	return out
}

// paired compares the units of two years one by one. Those that are wanted are
// in both years, and both list them in the order of their names.
func paired(unit string, a, b *kept, want func(*identity) bool) *change {
	x, y := a.only(want), b.only(want)
	ch := &change{design: PairedFrames, paired: true, dryingComplete: true}
	ch.left1 = len(a.sample.values) - len(x.sample.values)
	ch.left2 = len(b.sample.values) - len(y.sample.values)
	if unit == "transect" {
		ch.design = PairedTransects
	}
	one, two := x.sample.units(unit), y.sample.units(unit)
	ch.n1, ch.n2 = len(one), len(two)
	if ch.n1 == 0 {
		return ch
	}
	first, second := meansOf(one), meansOf(two)
	ch.mean1, ch.mean2 = stat.MomentsOf(first).Mean(), stat.MomentsOf(second).Mean()
	difference, part, ok := stat.PairedDifference(first, second)
	ch.difference, ch.known = difference, ok
	ch.addUnits(part, ch.n1)
	ch.addDrying(x, one)
	ch.addDrying(y, two)
	return ch
}

// independent compares the units of two years as two samples, or as two sums
// of samples.
func independent(unit string, a, b *kept) *change {
	ch := &change{design: Independent, known: true, dryingComplete: true, flat1: true, flat2: true}
	ch.mean1, ch.n1 = ch.addYear(unit, a, &ch.flat1)
	ch.mean2, ch.n2 = ch.addYear(unit, b, &ch.flat2)
	ch.difference = ch.mean2 - ch.mean1
	return ch
}

// addYear adds the parts of one year and returns its mean and the smallest
// number of units that a part of it has.
func (ch *change) addYear(unit string, k *kept, flat *bool) (mean float64, n int) {
	n = math.MaxInt
	k.leaves(func(k *kept) {
		units := k.sample.units(unit)
		m, part, ok := stat.MeanPart(meansOf(units))
		mean += m
		n = min(n, len(units))
		ch.known = ch.known && ok
		*flat = *flat && part.Variance == 0
		ch.addUnits(part, len(units))
		ch.addDrying(k, units)
	})
	return mean, n
}

func (ch *change) addUnits(part stat.VariancePart, n int) {
	ch.units = append(ch.units, part)
	ch.perUnit = append(ch.perUnit, part.Variance*float64(n))
}

func (ch *change) addDrying(k *kept, units []unit) {
	parts, complete := k.dryingParts(units)
	ch.drying = append(ch.drying, parts...)
	ch.dryingComplete = ch.dryingComplete && complete
}

func meansOf(units []unit) []float64 {
	out := make([]float64, len(units))
	for i, u := range units {
		out[i] = u.mean
	}
	return out
}

// changeOfSums adds the changes of the components that sit on frames of their
// own. Their design is named where they share one.
func (c *calculation) changeOfSums(site *schema.SiteRecord, a, b *kept) *change {
	sum := &change{n1: math.MaxInt, n2: math.MaxInt, known: true, dryingComplete: true, flat1: true, flat2: true, paired: true}
	for _, x := range a.parts {
		for _, y := range b.parts {
			if x.Component == y.Component {
				sum.add(c.changeOfSamples(site, x.kept, y.kept))
			}
		}
	}
	return sum
}

func (ch *change) add(part *change) {
	if ch.units == nil && ch.design == "" {
		ch.design = part.design
	} else if ch.design != part.design {
		ch.design = Independent
	}
	ch.n1, ch.n2 = min(ch.n1, part.n1), min(ch.n2, part.n2)
	ch.mean1 += part.mean1
	ch.mean2 += part.mean2
	ch.difference += part.difference
	ch.known = ch.known && part.known
	ch.units = append(ch.units, part.units...)
	ch.perUnit = append(ch.perUnit, part.perUnit...)
	ch.drying = append(ch.drying, part.drying...)
	ch.dryingComplete = ch.dryingComplete && part.dryingComplete
	ch.flat1, ch.flat2, ch.paired = ch.flat1 && part.flat1, ch.flat2 && part.flat2, ch.paired && part.paired
	ch.left1 += part.left1
	ch.left2 += part.left2
}

// byPlace is the order of frames by their names.
func byPlace(a, b frameSum) int {
	x, y := a.frame, b.frame
	return cmp.Or(cmp.Compare(x.transect, y.transect), cmp.Compare(x.name, y.name), cmp.Compare(b2i(x.caged), b2i(y.caged)))
}

func b2i(b bool) int {
	if b {
		return 1
	}
	return 0
}

// deltaCache remembers the changes, in standard errors, that degrees of freedom
// can see: without drying samples the same few come back over and over.
type deltaCache struct {
	mu    sync.Mutex
	known map[float64]float64
}

// of is the detectable change in standard errors.
func (d *deltaCache) of(df, alpha float64, t *stat.TTable) (float64, bool) {
	if df != math.Trunc(df) {
		return stat.DetectableChange(1, df, alpha, ChangePower, t)
	}
	d.mu.Lock()
	defer d.mu.Unlock()
	if delta, ok := d.known[df]; ok {
		return delta, true
	}
	delta, ok := stat.DetectableChange(1, df, alpha, ChangePower, t)
	if ok {
		if d.known == nil {
			d.known = map[float64]float64{}
		}
		d.known[df] = delta
	}
	return delta, ok
}
