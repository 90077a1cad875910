package monitor

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"clipledger/monitor/stat"
	"clipledger/schema"
)

// Fractions of dry matter, from bags weighed green and dry and from drying
// samples: none can be above 1, none below 0.05 was alive and weighed right
// (common practice), and one far from its like is worth a look. Its like are
// fractions of the same species, else growth form, else component, at the
// same stage: at this site and season where there are eight others, else at
// every site in this season. They are compared as logits, so that 0.90 and
// 0.98 differ as much as they do in water.

const (
	leastFraction = 0.05
	fewestOthers  = 8
	// See spreadOf. It is smaller than for weights, because fractions of one
	// year go together and so tell less than their number says; measured it
	// stays below one in 5,000.
	fractionAlarms = 4e-5
	// Fractions less than ten points apart are not told apart: within one
	// growth form and stage book tables themselves differ by as much (common
	// practice, from memory).
	leastApart = 0.10
)

// fraction is one measured fraction of dry matter. There can be as many as
// bags, so it is kept small.
type fraction struct {
	visit       int64 // of a bag; of a drying sample the number that its occasion's frames begin with
	drying      int32 // the number of the sample, from 1
	local, wide int32 // its groups: of this site, and of all
	value       float32
	low, high   float32 // what rounding of the weights leaves open
}

// inOccasion names the fractions of one group in one occasion.
type inOccasion struct {
	occasion int64
	group    int32
}

func (x *fraction) inOccasion() inOccasion { return inOccasion{x.visit >> 20, x.local} }

// likeness names fractions that should be alike.
type likeness struct {
	site      int64 // 0: every site
	season    string
	component schema.Component
	kind      string // species, growth form or ""
	stage     string
}

// fractions are the fractions of some sites and their groups.
type fractions struct {
	list   chunks[fraction]
	groups map[likeness]int32
	names  []likeness
	wide   *wideFractions
}

func (f *fractions) group(l likeness) int32 {
	n, ok := f.groups[l]
	if !ok {
		n = int32(len(f.names))
		f.groups[l] = n
		f.names = append(f.names, l)
	}
	return n
}

// dried is material that was weighed green and dry.
type dried struct {
	component          schema.Component
	species            int64
	form, stage        string // the form: its own, else its species'
	green, dry, factor float64
}

func (c *checker) driedBag(b *schema.CheckBag) (dried, bool) {
	return dried{b.Component, b.SpeciesID, c.formOf(b.GrowthForm, b.SpeciesID), b.Stage, b.GreenG.Float64, b.DryG.Float64, c.factors[b.Basis]},
		b.GreenG.Float64 > 0 && b.DryG.Valid
}

func (c *checker) driedSample(d *schema.CheckDrying) dried {
	return dried{d.Component, d.SpeciesID, c.formOf(d.GrowthForm, d.SpeciesID), d.Stage, d.GreenG, d.DryG, c.factors[d.Basis]}
}

// fraction is the fraction of dry matter, unless it is one that other checks
// speak of.
func (d *dried) fraction() (float32, bool) {
	value := d.dry * d.factor / d.green
	return float32(value), !(value < leastFraction || value >= 1)
}

// likeness names what it should be like, at every site in a season.
func (c *checker) likeness(d *dried, season string) likeness {
	return likeness{0, season, d.component, cmp.Or(c.names.Species[d.species].Code, d.form), d.stage}
}

// add adds a fraction that there is one of.
func (f *fractions) add(c *checker, x fraction, material dried) {
	var ok bool
	if x.value, ok = material.fraction(); !ok {
		return
	}
	green, dry, factor := material.green, material.dry, material.factor
	g, d := halfStep(green), halfStep(dry)
	x.low, x.high = float32(factor*math.Max(0, dry-d)/(green+g)), float32(factor*(dry+d)/math.Max(green-g, 1e-9))
	o := c.occasions[x.visit>>20]
	l := c.likeness(&material, o.Season)
	x.wide = f.wide.group(l)
	l.site = o.SiteID
	x.local = f.group(l)
	f.list.add(x)
}

// halfStep is half the step that a weight seems to be rounded to: whole
// grams, tenths or hundredths.
func halfStep(g float64) float64 {
	for step := 1.0; step > 0.01; step /= 10 {
		if r := g / step; math.Abs(r-math.Round(r)) < 1e-6 {
			return step / 2
		}
	}
	return 0.005
}

// checkBags looks at each bag and drying sample of the sites at hand, then at
// their fractions beside their like.
func (c *checker) checkBags() error {
	f := &fractions{groups: map[likeness]int32{}, wide: c.surveyed.fractions}
	look := func(b *schema.CheckBag) error {
		if b.Method == schema.MethodNone && b.GreenG.Valid {
			c.unbased = appendOnce(c.unbased, b.Visit)
		}
		c.reportBag(b, c.bagFaults(b))
		c.reportBag(b, c.misplaced(b))
		if material, ok := c.driedBag(b); ok {
			f.add(c, fraction{visit: b.Visit}, material)
		}
		return nil
	}
	if err := c.eachRun(func(from, to int64) error { return c.snap.CheckBags(from, to, look) }); err != nil {
		return err
	}
	samples, err := c.dryingSamples(f)
	if err != nil {
		return err
	}
	return c.farFractions(f, samples)
}

// appendOnce adds a number to an ascending list that may end with it.
func appendOnce(list []int64, n int64) []int64 {
	if len(list) > 0 && list[len(list)-1] == n {
		return list
	}
	return append(list, n)
}

func (c *checker) formOf(own string, species int64) string {
	return cmp.Or(own, c.names.Species[species].GrowthForm)
}

// reportBags reads the bags of some frames again and reports what is wrong
// with each.
func (c *checker) reportBags(visits []int64, faults func(*schema.CheckBag) []Finding) error {
	if len(visits) == 0 {
		return nil
	}
	return c.snap.CheckBagsOf(visits, func(b *schema.CheckBag) error {
		c.reportBag(b, faults(b))
		return nil
	})
}

// reportBag reports what is wrong with a bag.
func (c *checker) reportBag(b *schema.CheckBag, faults []Finding) {
	for _, f := range faults {
		p, year := c.placeOf(b.Visit >> 20)
		f.Years, f.Components = []int{year}, []string{b.Component.String()}
		c.report(p, f, c.ofBag(b))
	}
}

// bagFaults are the faults of a bag's own weights.
func (c *checker) bagFaults(b *schema.CheckBag) []Finding {
	var out []Finding
	if b.GreenG.Valid && b.DryG.Valid {
		if f, wrong := c.weightFault(b.GreenG.Float64, b.DryG.Float64, b.Basis); wrong {
			out = append(out, f)
		}
		if f, wrong := percentConflict(b); wrong {
			out = append(out, f)
		}
	}
	if b.DMPct.Valid && b.DMPct.Float64*c.factors[b.Basis] < 100*leastFraction {
		out = append(out, lowFraction(fmt.Sprintf("the row says %g %% dry matter", b.DMPct.Float64)))
	}
	return out
}

// weightFault judges a green and a dry weight of the same material.
func (c *checker) weightFault(green, dry float64, basis string) (Finding, bool) {
	converted := dry * c.factors[basis]
	switch {
	case dry > green:
		return Finding{Severity: Serious, Check: "dry-above-green",
			Found: fmt.Sprintf("dry %s, green %s: nothing weighs more dry than green", grams(dry), grams(green)),
			Why:   "one of the two weights is wrong, or they belong to different bags; the dry weight is what enters the mean",
			Do:    "look at the sheet and at the lab's list: swapped columns, a slipped decimal, a bag not taken off, two bags exchanged; import the right value with --replace"}, true
	case converted > green*(1+1e-9):
		return Finding{Severity: Look, Check: "dry-above-green",
			Found: fmt.Sprintf("dry %s is below green %s, but %s on the ledger's basis (%s) is above it", grams(dry), grams(green), grams(converted), c.basis),
			Why:   "either the basis on the row is not the right one, or the material was drier when clipped than the ledger's moisture assumes",
			Do:    "look whether the weight is air-dry or oven-dry; if it stands, the setting moisture does not fit this material"}, true
	case green > 0 && dry > 0 && converted/green < leastFraction:
		return lowFraction(fmt.Sprintf("dry %s of green %s is %.1f %% dry matter", grams(dry), grams(green), 100*converted/green)), true
	}
	return Finding{}, false
}

func lowFraction(found string) Finding {
	return Finding{Severity: Serious, Check: "fraction-range", Found: found + "; plants have from 5 to 100 %",
		Why: "no plant holds so much water: a weight has a slipped decimal or another unit, and the mean with it",
		Do:  "look at the sheet and at the unit of the column; import the right value with --replace"}
}

// mostPercentApart is how many points of dry matter the weights of a bag and
// the percentage on its row may differ, beside what rounding does.
const mostPercentApart = 2

// percentConflict compares the percentage on a row with its own weights, both
// on the row's basis.
func percentConflict(b *schema.CheckBag) (Finding, bool) {
	green, dry := b.GreenG.Float64, b.DryG.Float64
	if !b.DMPct.Valid || green <= 0 {
		return Finding{}, false
	}
	g, d := halfStep(green), halfStep(dry)
	low, high := 100*math.Max(0, dry-d)/(green+g), 100*(dry+d)/math.Max(green-g, 1e-9)
	if b.DMPct.Float64 >= low-mostPercentApart && b.DMPct.Float64 <= high+mostPercentApart {
		return Finding{}, false
	}
	return Finding{Severity: Look, Check: "percent-conflict",
		Found: fmt.Sprintf("the row says %g %% dry matter, its own weights %.1f %% (dry %s of green %s)", b.DMPct.Float64, 100*dry/green, grams(dry), grams(green)),
		Why:   "the dry weight is used and the percentage is not; they cannot both be right",
		Do:    "find out which of the three numbers is wrong and import it with --replace"}, true
}

// dryingSamples reads the drying samples: those that cannot be right are
// reported, the others join the fractions.
func (c *checker) dryingSamples(f *fractions) ([]schema.CheckDrying, error) {
	var samples []schema.CheckDrying
	judge := func(d *schema.CheckDrying) error {
		samples = append(samples, *d)
		if x, wrong := c.weightFault(d.GreenG, d.DryG, d.Basis); wrong {
			c.reportDrying(d, x)
			return nil
		}
		f.add(c, fraction{visit: d.Occasion << 20, drying: int32(len(samples))}, c.driedSample(d))
		return nil
	}
	err := c.eachRun(func(from, to int64) error { return c.snap.CheckDryings(from, to, judge) })
	return samples, err
}

func (c *checker) reportDrying(d *schema.CheckDrying, f Finding) {
	p, year := c.placeOf(d.Occasion)
	f.Years, f.Components = []int{year}, []string{d.Component.String()}
	c.report(p, f, c.ofDrying(d))
}

func logit(p float64) float64 {
	p = min(max(p, 0.001), 0.999)
	return math.Log(p / (1 - p))
}

// farFractions finds the fractions far from their like.
func (c *checker) farFractions(f *fractions, samples []schema.CheckDrying) error {
	found := map[bagFraction]Finding{}
	var visits []int64
	for i, why := range f.far() {
		x := f.list.at(i)
		if x.drying > 0 {
			c.reportDrying(&samples[x.drying-1], why)
			continue
		}
		visits = appendOnce(visits, x.visit)
		found[bagFraction{x.visit, f.names[x.local], x.value}] = why
	}
	slices.Sort(visits)
	return c.reportBags(slices.Compact(visits), func(b *schema.CheckBag) []Finding {
		if b.GreenG.Float64 <= 0 || !b.DryG.Valid {
			return nil
		}
		o := c.occasions[b.Visit>>20]
		kind := cmp.Or(c.names.Species[b.SpeciesID].Code, c.formOf(b.GrowthForm, b.SpeciesID))
		key := bagFraction{b.Visit, likeness{o.SiteID, o.Season, b.Component, kind, b.Stage}, float32(b.DryG.Float64 * c.factors[b.Basis] / b.GreenG.Float64)}
		if x, ok := found[key]; ok {
			return []Finding{x}
		}
		return nil
	})
}

// bagFraction finds a bag again by its fraction.
type bagFraction struct {
	visit int64
	like  likeness
	value float32
}

// far judges every fraction and returns the findings by their numbers.
func (f *fractions) far() map[int]Finding {
	values := f.values()
	var t stat.TTable
	spreads := make([]*spread, len(f.names))
	suspects := map[int]yardstick{}
	judgedBy := func(x *fraction) yardstick {
		if len(values[x.local]) <= fewestOthers {
			return f.wide.spread(x.wide, &t)
		}
		if spreads[x.local] == nil {
			s := spreadOf(values[x.local], 1, fractionAlarms, &t)
			spreads[x.local] = &s
		}
		return yardstick{spreads[x.local], f.names[x.local]}
	}
	for i := range f.list.n {
		x := f.list.at(i)
		by := judgedBy(x)
		if s := by.spread; s != nil && s.far(logit(float64(x.low))) && s.far(logit(float64(x.high))) && apart(x, unlogit(s.middle)) {
			suspects[i] = by
		}
	}
	near := f.besides(suspects)
	out := map[int]Finding{}
	for i, by := range suspects {
		x := f.list.at(i)
		// A dry year moves all its fractions: that is no slip.
		if others := without(near[x.inOccasion()], float64(x.value)); len(others) < 2 || apart(x, medianOf(others)) {
			out[i] = farFinding(x, by.spread, by.like)
		}
	}
	return out
}

// yardstick is what a fraction is judged by: the spread of its like; nil where
// they are too few.
type yardstick struct {
	spread *spread
	like   likeness
}

// values are the logits of the fractions by group.
func (f *fractions) values() [][]float64 {
	out := make([][]float64, len(f.names))
	for i := range f.list.n {
		x := f.list.at(i)
		out[x.local] = append(out[x.local], logit(float64(x.value)))
	}
	return out
}

// besides gathers the fractions of the occasions and groups of some of them.
func (f *fractions) besides(some map[int]yardstick) map[inOccasion][]float64 {
	out := map[inOccasion][]float64{}
	for i := range some {
		out[f.list.at(i).inOccasion()] = nil
	}
	for i := range f.list.n {
		x := f.list.at(i)
		if list, ok := out[x.inOccasion()]; ok {
			out[x.inOccasion()] = append(list, float64(x.value))
		}
	}
	return out
}

func unlogit(v float64) float64 { return 1 / (1 + math.Exp(-v)) }

// apart tells whether a fraction is clearly another one, whatever rounding
// did.
func apart(x *fraction, from float64) bool {
	return float64(x.low) > from+leastApart || float64(x.high) < from-leastApart
}

// without returns a copy of values with one of them left out.
func without(values []float64, one float64) []float64 {
	i := slices.Index(values, one)
	return slices.Delete(slices.Clone(values), i, i+1)
}

func farFinding(x *fraction, s *spread, like likeness) Finding {
	what := like.component.String()
	if like.kind != "" {
		what = like.kind
	}
	if like.stage != "" {
		what += " at stage " + like.stage
	}
	where := "at this site"
	if like.site == 0 {
		where = "at all sites"
	}
	scores := (logit(float64(x.value)) - s.middle) / s.scale
	return Finding{Severity: Look, Check: "fraction-far",
		Found: fmt.Sprintf("%.1f %% dry matter, where the middle of %d of %s in this season %s is %.1f %%: %.1f robust standard deviations away (more than %.1f are looked at)",
			100*x.value, s.n, what, where, 100*unlogit(s.middle), math.Abs(scores), s.limit),
		Why: "a bag not dried through, a tare left in, two bags exchanged or a digit misread changes every weight that rests on this fraction",
		Do:  "look at the lab's list; dry and weigh again if the material is kept; correct with --replace, or accept it with what explains it"}
}
