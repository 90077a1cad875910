package monitor

import (
	"fmt"
	"slices"
	"strings"

	"clipledger/schema"
)

// How does a double sample enter the means, and through them the trend? A site
// says in double_sampling whose estimates count: an observer, or pooled. Then
// a mean of that site is the one that the setting's estimator gives, with its
// standard error and interval, on every occasion on which that observer
// estimated frames beyond the clipped ones. Nothing here depends on what the
// numbers turn out to be: where the estimator has no answer there is no mean,
// and no other steps in. A mean of another occasion is of clipped frames alone
// and says so.

// doubles tells whether the means of a site come from double samples, and
// reads the estimates of all such sites at the first one.
func (c *calculation) doubles(site *schema.SiteRecord) (bool, error) {
	if site.DoubleSampling == "" || c.query.Clipped {
		return false, nil
	}
	if c.double != nil {
		return true, nil
	}
	return true, c.loadDouble()
}

// loadDouble reads the estimates of the sites that say double sampling.
func (c *calculation) loadDouble() error {
	c.double = map[int64]*eyeOccasion{}
	f := c.query.Filter
	f.Seasons, f.Components = nil, nil // a yearly total takes its parts from every season
	eye, err := readEye(c.snap, &f, nil)
	if err != nil {
		return err
	}
	for _, e := range eye.byOccasion() {
		switch name := e.site.DoubleSampling; name {
		case "":
			continue
		case PooledObserver:
			e.pool()
		default:
			e.observers = map[string][]*eyeStateFrame{name: e.observers[name]}
		}
		c.double[e.record.ID] = e
	}
	return nil
}

// doubleMeans replaces the means of an occasion by those of its double sample.
func (c *calculation) doubleMeans(o *occasion, means []*Mean) error {
	yes, err := c.doubles(o.site)
	if err != nil || !yes {
		return err
	}
	who := o.site.DoubleSampling
	rows, err := c.doubleRows(o, who)
	if err != nil {
		return err
	}
	done := map[string]*Mean{}
	for _, m := range means {
		row := rows[m.Component]
		switch {
		case m.Component == Production && m.has("sum-of-means"):
			c.sumDoubled(m, o, means, done)
		case row == nil && m.Component == Production && len(done) > 0:
			m.warn("clipped-alone", "the total is of clipped frames alone, since not every part of it was estimated by "+who+": it does not go with its parts")
		case row == nil:
			m.note("clipped-alone", fmt.Sprintf("the site says double sampling by %s, who estimated no %s here: clipped frames alone", who, m.Component))
		case row.Estimated == row.Clipped:
			m.note("clipped-alone", fmt.Sprintf("the site says double sampling by %s, who estimated only frames that were clipped: clipped frames alone", who))
		default:
			c.takeDouble(m, row)
			done[m.Component] = m
		}
	}
	return nil
}

// doubleRows works out the speaking estimator of every component that was
// estimated on an occasion.
func (c *calculation) doubleRows(o *occasion, who string) (map[string]*DoubleMean, error) {
	out := map[string]*DoubleMean{}
	e := c.double[o.record.ID]
	if e == nil {
		return out, nil
	}
	d, err := c.newDoubler(o)
	if err != nil {
		return nil, err
	}
	q := &DoubleQuery{Pooled: who == PooledObserver}
	for observer, frames := range e.observers {
		state, others := stateOf(frames)
		for _, set := range d.sets(frames, state) {
			set.observer, set.otherState = observer, others
			for _, m := range d.estimate(set, q) {
				if m.Speaks {
					out[m.Component] = m
				}
			}
		}
	}
	return out, nil
}

// notDouble are the remarks of a clipped mean that do not hold for the double
// sample in its place.
var notDouble = []string{"one-unit", "few-units", "skewed", "all-alike", "all-zero", "book-sensitivity", "book-values", "units-possible", "one-drying-sample", "parts-differ"}

// takeDouble puts a double sample in the place of a clipped mean. What was
// worked out from the clipped frames' own spread goes: the standard deviation,
// Hall's interval and the sample size.
func (c *calculation) takeDouble(m *Mean, row *DoubleMean) {
	m.Double = &Double{Observer: row.Observer, Estimator: row.Estimator, Estimated: row.Estimated, Clipped: row.Clipped, ClippedMean: m.Mean}
	m.N, m.Mean, m.SE, m.SEDrying, m.DF, m.CI = row.Estimated, row.Mean, row.SE, row.SEDrying, row.DF, row.CI
	m.SD, m.CVPct, m.Hall, m.Transects, m.BookLow, m.BookHigh = Num{}, Num{}, Interval{}, nil, Num{}, Num{}
	m.FrameVisits = nil // the frames' values do not stand for this mean in a trend
	if m.FullSeason != nil {
		m.FullSeason = nil
		m.note("no-full-season", "no full-season figure: the mean is from a double sample")
	}
	m.NRequired, m.NAssured, m.HalfPct, m.Adequate = Num{}, Num{}, Num{}, NoVerdict
	m.Remarks = slices.DeleteFunc(m.Remarks, func(r Remark) bool { return slices.Contains(notDouble, r.Code) })
	m.note("double-sample", fmt.Sprintf("double sample by the estimates of %s, estimator %s: %s estimated, %d of them clipped; n counts the estimated ones, and sd, Hall's interval and sample sizes are left out",
		row.Observer, row.Estimator, framesWord(row.Estimated), row.Clipped))
	for _, r := range row.Remarks { // the factors themselves are for double-sample
		if r.Code != "factor" && r.Code != "part-factors" && !slices.Contains(m.Remarks, r) {
			m.Remarks = append(m.Remarks, r)
		}
	}
	c.doubleAdequacy(m)
}

// doubleAdequacy judges whether the double sample was enough, by its own
// standard error at the adequacy's confidence.
func (c *calculation) doubleAdequacy(m *Mean) {
	if !m.SE.Valid || m.Mean.Float64 <= 0 {
		return
	}
	half := c.t.Quantile(upper(c.rules.Precision), m.DF.Float64) * m.SE.Float64 / m.Mean.Float64
	m.HalfPct = schema.Some(100 * half)
	m.Adequate = verdict(half <= c.rules.Precision.Relative)
}

// splitOfDouble says of means of a group or of some species that they are of
// clipped frames alone, where the whole mean comes from a double sample.
func (c *calculation) splitOfDouble(o *occasion, keep func(*Mean)) (func(*Mean), error) {
	yes, err := c.doubles(o.site)
	if err != nil || !yes || c.double[o.record.ID] == nil {
		return keep, err
	}
	return func(m *Mean) {
		m.note("clipped-alone", "of clipped frames alone, though the site says double sampling by "+o.site.DoubleSampling)
		keep(m)
	}, nil
}

// sumDoubled makes the total anew where its parts sit on frames of their own
// and some of them came from the double sample.
func (c *calculation) sumDoubled(m *Mean, o *occasion, means []*Mean, done map[string]*Mean) {
	if len(done) == 0 {
		return
	}
	var parts []*Mean
	for _, p := range means {
		component, ok := schema.ComponentNamed(p.Component)
		if ok && slices.Contains(o.productionParts(), component) {
			parts = append(parts, p)
		}
	}
	absent := slices.DeleteFunc(slices.Clone(m.Remarks), func(r Remark) bool { return r.Code != "part-absent" })
	values, frames := m.UnitValues, m.FrameValues
	*m = *c.sumOfMeans(m.Season, parts)
	m.UnitValues, m.FrameValues, m.Remarks = values, frames, append(m.Remarks, absent...)
	m.note("double-sample", "some parts come from a double sample: "+strings.Join(sortedKeys(done), ", "))
}
