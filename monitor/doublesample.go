package monitor

import (
	"cmp"
	"math"
	"slices"

	"clipledger/monitor/stat"
	"clipledger/schema"
)

// What is the mean of an occasion on which many frames were judged by eye and
// some of them clipped? Three answers stand side by side, with the formulas of
// monitor/stat/doublesample.go: x is an observer's estimate of a frame, in
// g/m² green or dry, y the dry weight clipped there. The factor between them
// carries the observer's bias, and with green estimates the dry matter too. A
// setting made beforehand says which of the three speaks.

// PooledObserver stands where an observer's name does when observers were
// pooled.
const PooledObserver = "pooled"

// The estimators, in the order in which they are shown.
const (
	EstimatorRatio      = "ratio"
	EstimatorRegression = "regression"
	EstimatorClipped    = "clipped-only"
)

var estimatorNames = []string{EstimatorRatio, EstimatorRegression, EstimatorClipped}

// EstimatorSetting names the setting that says which estimator speaks.
const EstimatorSetting = schema.EstimatorSetting

// DoubleQuery says which double samples are worked out, and how.
type DoubleQuery struct {
	Filter
	Observers  []string // none: all
	Pooled     bool     // pool them: a frame's estimate is the mean of its observers'
	Confidence float64  // 0: the ledger's setting
	CostRatio  float64  // cost of a clipped frame ÷ that of an estimated one; 0: no allocation
	Precision  float64  // wanted half-width as a fraction of the mean; 0: the ledger's setting
	Unit       Unit     // of weights named in remarks; zero: lb/ac
}

// DoubleMean is one estimator's answer for one site × growth year × season ×
// component × observer. Densities are g/m², dry, on the ledger's basis.
type DoubleMean struct {
	Site      *schema.SiteRecord
	Year      int
	Season    string
	Component string
	Observer  string
	State     string // of the estimates

	Estimated  int // n′: all frames that the observer estimated
	Clipped    int // n: those of them that were clipped
	Estimator  string
	Speaks     bool // the setting names this estimator
	Mean       Num
	SE         Num // both phases and drying ratios together
	SEDrying   Num
	DF         Num
	Confidence float64
	CI         Interval
	Factor     Num          // R or b; of one factor for all
	Factors    []PartFactor // of the ratio, where it was corrected part by part
	OneFactor  Num          // the mean by one factor for all, where Factors are used
	Allocation *Allocation
	Remarks    []Remark
}

// PartFactor is what corrects the estimates of one species, or of one
// component of production: clipped ÷ estimated.
type PartFactor struct {
	Component string
	Species   string
	Factor    float64
	Estimated float64 // mean over all estimated frames, g/m²
	weight    float64 // that mean over the clipped frames' own
}

// Allocation is how many frames to estimate and to clip another time, if they
// vary as these did.
type Allocation struct {
	CostRatio           float64
	EstimatedPerClipped float64
	Precision           float64
	Confidence          float64
	Clipped, Estimated  int
	ClippedAlone        int // 0: not to be had
}

// DoubleSamples works out every double sample that the query lets through, in
// the order of site, year, season, component, observer and estimator.
func DoubleSamples(snap *schema.Snapshot, q DoubleQuery) ([]*DoubleMean, error) {
	c, err := newCalculation(snap, Query{Filter: q.Filter, Confidence: q.Confidence, Unit: q.Unit}, nil)
	if err != nil {
		return nil, err
	}
	eye, err := readEye(snap, &q.Filter, q.Observers)
	if err != nil {
		return nil, err
	}
	var out []*DoubleMean
	for _, e := range eye.byOccasion() {
		if q.Pooled {
			e.pool()
		}
		rows, err := c.doubleOccasion(e, &q)
		if err != nil {
			return nil, err
		}
		out = append(out, rows...)
	}
	return out, nil
}

// eyeOccasion is what was estimated on one occasion, by observer.
type eyeOccasion struct {
	record    schema.OccasionRecord
	site      *schema.SiteRecord
	observers map[string][]*eyeStateFrame
}

// eyeStateFrame is a frame's estimate of one component with its state.
type eyeStateFrame struct {
	*eyeFrame
	component schema.Component
	state     string
}

// byOccasion lists the occasions with estimates by site, year and season.
func (r *eyeRecords) byOccasion() []*eyeOccasion {
	found := map[int64]*eyeOccasion{}
	var out []*eyeOccasion
	for _, key := range r.keys() {
		component, ok := schema.ComponentNamed(key.component)
		if !ok {
			continue
		}
		for _, f := range r.frames[key] {
			e := found[f.occasion.ID]
			if e == nil {
				e = &eyeOccasion{record: f.occasion, site: f.site, observers: map[string][]*eyeStateFrame{}}
				found[f.occasion.ID] = e
				out = append(out, e)
			}
			e.observers[key.observer] = append(e.observers[key.observer], &eyeStateFrame{f, component, key.state})
		}
	}
	slices.SortFunc(out, func(a, b *eyeOccasion) int {
		return cmp.Or(cmp.Compare(a.site.Site, b.site.Site), cmp.Compare(a.record.Year, b.record.Year), cmp.Compare(a.record.Season, b.record.Season))
	})
	return out
}

// stateOf is the state in which an observer estimated more frames, dry where
// as many, and the number of estimates in the other.
func stateOf(frames []*eyeStateFrame) (state string, others int) {
	dry := 0
	for _, f := range frames {
		if f.state == schema.StateDry {
			dry++
		}
	}
	if green := len(frames) - dry; green > dry {
		return schema.StateGreen, dry
	}
	return schema.StateDry, len(frames) - dry
}

// pool replaces the observers by one whose estimate of a frame is the mean of
// theirs, in the state in which most was estimated.
func (e *eyeOccasion) pool() {
	var all []*eyeStateFrame
	for _, name := range sortedKeys(e.observers) {
		all = append(all, e.observers[name]...)
	}
	state, _ := stateOf(all)
	type place struct {
		visit     int64
		component schema.Component
	}
	var order []place
	frames := map[place][]*eyeStateFrame{}
	for _, f := range all {
		p := place{f.visit, f.component}
		if f.state != state || f.noArea {
			continue
		}
		if frames[p] == nil {
			order = append(order, p)
		}
		frames[p] = append(frames[p], f)
	}
	var pooled []*eyeStateFrame
	for _, p := range order {
		pooled = append(pooled, meanFrame(frames[p]))
	}
	e.observers = map[string][]*eyeStateFrame{PooledObserver: pooled}
}

// meanFrame is the mean of several observers' estimates of one frame.
func meanFrame(of []*eyeStateFrame) *eyeStateFrame {
	f := *of[0].eyeFrame
	f.parts = map[eyePart]float64{}
	for _, o := range of {
		for p, x := range o.parts {
			f.parts[p] += x / float64(len(of))
		}
	}
	return &eyeStateFrame{&f, of[0].component, of[0].state}
}

// loadOccasion reads the clipped frames of one occasion.
func (c *calculation) loadOccasion(record schema.OccasionRecord, site *schema.SiteRecord) (*occasion, error) {
	var o occasion
	o.reset(record, site)
	err := c.snap.Frames(record.ID, record.ID, func(v *schema.FrameValue) error {
		o.take(v)
		return nil
	})
	return &o, err
}

// doubleOccasion works out all observers and components of one occasion.
func (c *calculation) doubleOccasion(e *eyeOccasion, q *DoubleQuery) ([]*DoubleMean, error) {
	o, err := c.loadOccasion(e.record, e.site)
	if err != nil {
		return nil, err
	}
	d, err := c.newDoubler(o)
	if err != nil {
		return nil, err
	}
	var out []*DoubleMean
	for _, observer := range sortedKeys(e.observers) {
		state, others := stateOf(e.observers[observer])
		for _, set := range d.sets(e.observers[observer], state) {
			if !q.component(set.sample.component) {
				continue
			}
			set.observer, set.otherState = observer, others
			out = append(out, d.estimate(set, q)...)
		}
	}
	slices.SortStableFunc(out, func(a, b *DoubleMean) int {
		return cmp.Or(componentOrder(a.Component)-componentOrder(b.Component), cmp.Compare(a.Observer, b.Observer))
	})
	return out, nil
}

// doubler works out the double samples of one occasion.
type doubler struct {
	c       *calculation
	o       *occasion
	ratios  *occasionRatios
	species *speciesBags
}

func (c *calculation) newDoubler(o *occasion) (*doubler, error) {
	ratios, err := c.ratiosOf(o)
	if err != nil {
		return nil, err
	}
	species, err := c.readSpecies(o)
	return &doubler{c, o, ratios, species}, err
}

// doubleSet is one observer's double sample of one component: the frames
// estimated, the clipped ones of them first.
type doubleSet struct {
	observer, state string
	sample          sample // of all clipped frames, estimated or not
	frames          []doubleFrame
	clipped         int // how many of frames were clipped: the first ones

	otherState, noArea, notStanding, lost, notEstimated int
	bookDry, dry                                        float64 // of the clipped ones
}

// doubleFrame is one estimated frame.
type doubleFrame struct {
	visit int64
	x     float64
	parts map[eyePart]float64
	y     float64 // of a clipped one
}

// sets makes an observer's double samples: each component estimated, and
// production where all parts of it that the occasion has were estimated.
func (d *doubler) sets(frames []*eyeStateFrame, state string) []*doubleSet {
	by := map[schema.Component]map[int64]*eyeFrame{}
	for _, f := range frames {
		if f.state != state {
			continue
		}
		if by[f.component] == nil {
			by[f.component] = map[int64]*eyeFrame{}
		}
		by[f.component][f.visit] = f.eyeFrame
	}
	var out []*doubleSet
	for _, component := range schema.Components {
		if by[component] != nil {
			out = append(out, d.set(d.o.sampleOf(component), by, state))
		}
	}
	names := d.o.productionParts()
	missed := func(c schema.Component) bool { return by[c] == nil }
	if len(names) == 0 || slices.ContainsFunc(names, missed) {
		return out
	}
	if total, shared := d.o.totals(names); shared {
		out = append(out, d.set(total, by, state))
	}
	return out
}

// set gathers the frames in which every part of the sample was estimated.
func (d *doubler) set(s sample, by map[schema.Component]map[int64]*eyeFrame, state string) *doubleSet {
	set := &doubleSet{state: state, sample: s}
	weighed := map[int64]*frameSum{}
	for i := range s.values {
		weighed[s.values[i].frame.visit] = &s.values[i]
	}
	var clipped, rest []doubleFrame
	for visit := range by[s.parts[0]] {
		f, why := d.frame(s.parts, by, visit)
		switch {
		case why != nil:
			*why(set)++
		case weighed[visit] != nil:
			f.y = weighed[visit].gPerM2
			set.dry += f.y
			set.bookDry += weighed[visit].book.dry
			clipped = append(clipped, f)
		default:
			if d.lost(s.parts, visit) {
				set.lost++
			}
			rest = append(rest, f)
		}
	}
	byVisit := func(a, b doubleFrame) int { return cmp.Compare(a.visit, b.visit) }
	slices.SortFunc(clipped, byVisit)
	slices.SortFunc(rest, byVisit)
	set.frames, set.clipped = append(clipped, rest...), len(clipped)
	set.notEstimated = len(s.values) - len(clipped)
	return set
}

// frame adds up what was estimated of some components in a frame; why names
// the count of what keeps it out.
func (d *doubler) frame(parts []schema.Component, by map[schema.Component]map[int64]*eyeFrame, visit int64) (f doubleFrame, why func(*doubleSet) *int) {
	f = doubleFrame{visit: visit, parts: map[eyePart]float64{}}
	for _, component := range parts {
		e := by[component][visit]
		switch {
		case e == nil:
			return f, func(s *doubleSet) *int { return new(int) }
		case e.noArea:
			return f, func(s *doubleSet) *int { return &s.noArea }
		case d.o.caged && !e.caged:
			return f, func(s *doubleSet) *int { return &s.notStanding }
		}
		for p, x := range e.parts {
			f.parts[p] = x
		}
	}
	for _, p := range sortedParts(f.parts) {
		f.x += f.parts[p]
	}
	return f, nil
}

// lost tells whether a frame was clipped and lacks its dry weight.
func (d *doubler) lost(parts []schema.Component, visit int64) bool {
	seq := int(visit & (1<<20 - 1))
	if seq >= len(d.o.frames) || !d.o.frames[seq].seen {
		return false
	}
	return slices.ContainsFunc(parts, func(c schema.Component) bool { return d.o.frames[seq].cells[c].state == missing })
}

// estimate works out the three estimators of a double sample.
func (d *doubler) estimate(set *doubleSet, q *DoubleQuery) []*DoubleMean {
	speaks := d.c.rules.Values[EstimatorSetting]
	var out []*DoubleMean
	for i, name := range estimatorNames {
		m := &DoubleMean{Site: d.o.site, Year: d.o.record.Year, Season: d.o.record.Season, Component: set.sample.component,
			Observer: set.observer, State: set.state, Estimated: len(set.frames), Clipped: set.clipped,
			Estimator: name, Speaks: name == speaks, Confidence: d.c.confidence}
		d.work(m, set, stat.Estimator(i), q)
		out = append(out, m)
	}
	return out
}

// work fills in one estimator's answer.
func (d *doubler) work(m *DoubleMean, set *doubleSet, e stat.Estimator, q *DoubleQuery) {
	s := set.double(func(f *doubleFrame) float64 { return f.x })
	answer, ok := s.Mean(e)
	weight := func(i int, _ eyePart) float64 { return answer.Weights[i] }
	if ok && e != stat.DirectEstimator {
		m.Factor = schema.Some(answer.Factor)
	}
	if ok && e == stat.RatioEstimator {
		if corrected, factors, yes := d.correct(m, set); yes {
			m.OneFactor, m.Factor, m.Factors = schema.Some(answer.Mean), Num{}, factors
			answer, weight = corrected, func(_ int, p eyePart) float64 { return weightOfPart(factors, p) / float64(set.clipped) }
		}
	}
	if ok {
		m.Mean = schema.Some(answer.Mean)
		if m.Site.SamplingUnit != "transect" {
			d.spread(m, &answer, d.drying(set, weight))
			d.allocate(m, &answer, &s, e, q)
		}
	}
	d.remarks(m, set, e, q)
}

// double lays out a set for the estimators.
func (set *doubleSet) double(x func(*doubleFrame) float64) stat.DoubleSample {
	var s stat.DoubleSample
	for i := range set.frames {
		f := &set.frames[i]
		s.All = append(s.All, x(f))
		if i < set.clipped {
			s.Y = append(s.Y, f.y)
		}
	}
	s.X = s.All[:set.clipped:set.clipped]
	return s
}

// drying are the drying ratios' shares of an answer: each clipped frame counts
// as it counts there, which for the regression can be below zero.
func (d *doubler) drying(set *doubleSet, weight func(i int, p eyePart) float64) []dryingPart {
	if d.ratios == nil {
		return nil
	}
	green := map[ratioName]float64{}
	for i := range set.frames[:set.clipped] {
		for _, use := range d.ratios.green[set.frames[i].visit] {
			if slices.Contains(set.sample.parts, use.name.component) {
				green[use.name] += weight(i, eyePart{use.name.component, use.species}) * use.green
			}
		}
	}
	var out []dryingPart
	for _, name := range d.ratios.order {
		if g := green[name]; g != 0 {
			out = append(out, dryingPart{g, d.ratios.ratio[name]})
		}
	}
	return out
}

// spread fills in the standard error and the interval: the two phases of the
// sample, and the drying ratios as in the means.
func (d *doubler) spread(m *DoubleMean, answer *stat.DoubleMean, drying []dryingPart) {
	if !answer.VarianceOK {
		return
	}
	parts := slices.Clone(answer.Parts)
	total, complete := 0.0, true
	for _, r := range drying {
		if !r.ratio.VarianceOK {
			complete = false
			continue
		}
		v := r.green * r.green * r.ratio.Variance
		total += v
		parts = append(parts, stat.VariancePart{Variance: v, DF: float64(r.ratio.M - 1)})
	}
	if complete {
		m.SEDrying = schema.Some(math.Sqrt(total))
	} else {
		m.note("one-drying-sample", "a drying ratio rests on a single sample: its error is unknown and not in the interval")
	}
	variance, df, ok := stat.Satterthwaite(parts)
	if !ok {
		return
	}
	m.SE, m.DF = schema.Some(math.Sqrt(variance)), schema.Some(df)
	m.CI = intervalOf(stat.TInterval(m.Mean.Float64, m.SE.Float64, d.c.t.Quantile((1+m.Confidence)/2, df)))
}
