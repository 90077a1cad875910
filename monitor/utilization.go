package monitor

import (
	"cmp"
	"fmt"
	"slices"

	"clipledger/monitor/stat"
	"clipledger/schema"
)

// How much of the growth was taken? Caged frames stand for what grew, open
// ones for what is left: utilization = 1 − open/caged with Fieller's interval
// (Fieller 1954), paired where the labels of caged and open frames match. A
// drying ratio that converted both kinds of frames is one ratio, so its error
// enters both means and their covariance.

// Utilization is what one occasion's caged and open frames of one component
// come to. Means are g/m²; utilization and its interval are fractions.
type Utilization struct {
	Site        *schema.SiteRecord
	Year        int
	Season      string
	Component   string
	Paired      bool
	NCaged      int // sampling units that the mean of the caged frames rests on
	NOpen       int
	Caged       Num // mean of the caged frames
	Open        Num
	Utilization Num // missing where the caged mean is not significantly above zero
	CI          Interval
	DF          Num
	Confidence  float64
	Since       [2]string // first and last date on which cages went up; blank: not recorded
	Remarks     []Remark
}

func (u *Utilization) note(code, text string) {
	u.Remarks = append(u.Remarks, Remark{Code: code, Text: text})
}

func (u *Utilization) warn(code, text string) {
	u.Remarks = append(u.Remarks, Remark{Code: code, Text: text, Loud: true})
}

// Utilizations works out every occasion that has caged and open frames, in the
// order of site, year, season and component.
func Utilizations(snap *schema.Snapshot, q Query, emit func(*Utilization) error) error {
	c, err := newCalculation(snap, q, nil)
	if err != nil {
		return err
	}
	var out []*Utilization
	err = c.occasions(func(o *occasion) error {
		if !o.caged {
			return nil
		}
		found, err := c.utilizations(o)
		out = append(out, found...)
		return err
	})
	if err != nil {
		return err
	}
	slices.SortStableFunc(out, func(a, b *Utilization) int {
		return cmp.Or(cmp.Compare(a.Site.Site, b.Site.Site), a.Year-b.Year, cmp.Compare(a.Season, b.Season), componentOrder(a.Component)-componentOrder(b.Component))
	})
	for _, u := range out {
		if q.component(u.Component) {
			if err := emit(u); err != nil {
				return err
			}
		}
	}
	return nil
}

// cagePlace names a frame apart from whether it is caged.
type cagePlace struct{ transect, frame string }

// cages is what is known of an occasion's caged and open frames.
type cages struct {
	caged, open *occasion
	place       map[int64]cagePlace
	since       [2]string
	unknown     bool // some cage has no date
	ratios      *occasionRatios
}

func (c *calculation) cagesOf(o *occasion) (*cages, error) {
	k := &cages{caged: o.only(func(f *frame) bool { return f.caged }), open: o.only(func(f *frame) bool { return !f.caged }), place: map[int64]cagePlace{}}
	k.open.caged = false
	err := c.snap.FrameGrowths(o.record.ID, o.record.ID, func(g *schema.FrameGrowth) error {
		if g.Component != schema.NoComponent {
			return nil
		}
		k.place[g.Visit] = cagePlace{g.Transect, g.Frame}
		if !g.Caged {
			return nil
		}
		if g.CagedSince == "" {
			k.unknown = true
			return nil
		}
		if k.since[0] == "" || g.CagedSince < k.since[0] {
			k.since[0] = g.CagedSince
		}
		k.since[1] = max(k.since[1], g.CagedSince)
		return nil
	})
	if err == nil {
		k.ratios, err = c.ratiosOf(o)
	}
	return k, err
}

func (c *calculation) utilizations(o *occasion) ([]*Utilization, error) {
	k, err := c.cagesOf(o)
	if err != nil || len(k.open.frames) == 0 {
		return nil, err
	}
	var out []*Utilization
	for _, component := range schema.Components {
		caged, open := k.caged.sampleOf(component), k.open.sampleOf(component)
		if component.IsProduction() && len(caged.values) > 0 && len(open.values) > 0 {
			out = append(out, c.utilization(o, k, &caged, &open))
		}
	}
	if _, yearly := c.yearly[o.site.ID]; yearly { // an occasion holds a part of the year's production
		return out, nil
	}
	if parts := o.productionParts(); len(parts) > 1 {
		caged, sharedCaged := k.caged.totals(parts)
		open, sharedOpen := k.open.totals(parts)
		if sharedCaged && sharedOpen && len(caged.values) > 0 && len(open.values) > 0 {
			out = append(out, c.utilization(o, k, &caged, &open))
		}
	} else if len(out) == 1 {
		total := *out[0]
		total.Component = Production
		out = append(out, &total)
	}
	return out, nil
}

// utilization works out one component.
func (c *calculation) utilization(o *occasion, k *cages, caged, open *sample) *Utilization {
	u := &Utilization{Site: o.site, Year: o.record.Year, Season: o.record.Season, Component: caged.component, Confidence: c.confidence, Since: k.since}
	left := caged.left + open.left
	caged.sort()
	open.sort()
	cagedUnits, openUnits := caged.units(o.site.SamplingUnit), open.units(o.site.SamplingUnit)
	pairedCaged, pairedOpen := k.pair(o.site.SamplingUnit, caged, open, cagedUnits, openUnits)
	if len(pairedCaged) >= 2 && 2*len(pairedCaged) >= min(len(cagedUnits), len(openUnits)) {
		u.Paired = true
		if n := len(cagedUnits) + len(openUnits) - 2*len(pairedCaged); n > 0 {
			u.note("unpaired", fmt.Sprintf("%s without a partner of the same label left out", unitsWord(o.site.SamplingUnit, n)))
		}
		cagedUnits, openUnits = pairedCaged, pairedOpen
	}
	if left > 0 {
		u.note("missing", framesWord(left)+" left out: their weight is missing")
	}
	if n := inferredZeros(caged) + inferredZeros(open); n > 0 {
		u.note("zeros-inferred", framesWord(n)+" inferred to be zero: nothing was written for them")
	}
	u.NCaged, u.NOpen = len(cagedUnits), len(openUnits)
	c.takenShare(u, k.ratios, caged, open, cagedUnits, openUnits)
	u.remark(k)
	return u
}

func inferredZeros(s *sample) int {
	n := 0
	for i := range s.values {
		if s.values[i].inferred {
			n++
		}
	}
	return n
}

func unitsWord(unit string, n int) string {
	if n == 1 {
		return "1 " + unit
	}
	return fmt.Sprintf("%d %ss", n, unit)
}

// pair brings the units of caged and open frames with the same label together,
// in the same order: transects by their names, frames by transect and frame.
func (k *cages) pair(by string, caged, open *sample, cagedUnits, openUnits []unit) (pairedCaged, pairedOpen []unit) {
	label := func(s *sample, u *unit) cagePlace {
		p := k.place[s.values[u.frames[0]].frame.visit]
		if by == "transect" {
			p.frame = ""
		}
		return p
	}
	partner := map[cagePlace]unit{}
	for i := range openUnits {
		partner[label(open, &openUnits[i])] = openUnits[i]
	}
	for i := range cagedUnits {
		if mate, ok := partner[label(caged, &cagedUnits[i])]; ok {
			pairedCaged, pairedOpen = append(pairedCaged, cagedUnits[i]), append(pairedOpen, mate)
		}
	}
	return pairedCaged, pairedOpen
}

// takenShare fills in the means, the share that was taken and its interval.
func (c *calculation) takenShare(u *Utilization, ratios *occasionRatios, caged, open *sample, cagedUnits, openUnits []unit) {
	x, y := unitMeans(cagedUnits), unitMeans(openUnits)
	mx, my := stat.MomentsOf(x), stat.MomentsOf(y)
	u.Caged, u.Open = schema.Some(mx.Mean()), schema.Some(my.Mean())
	sx, okx := mx.SD()
	sy, oky := my.SD()
	if !okx || !oky {
		u.note("one-unit", "one sampling unit, caged or open: whether the caged mean is above zero cannot be judged, so no utilization")
		return
	}
	if mx.Mean() <= 0 {
		u.note("nothing-grew", "the caged frames weigh nothing: no utilization")
		return
	}
	nx, ny := float64(len(x)), float64(len(y))
	pair := stat.MeanPair{Y: my.Mean(), X: mx.Mean(), VarY: sy * sy / ny, VarX: sx * sx / nx}
	if u.Paired {
		pair = stat.PairOf(y, x)
	}
	ratio := pair.Y / pair.X
	parts := []stat.VariancePart{{Variance: pair.Residual(ratio), DF: nx - 1}}
	if !u.Paired {
		parts = []stat.VariancePart{{Variance: pair.VarY, DF: ny - 1}, {Variance: ratio * ratio * pair.VarX, DF: nx - 1}}
	}
	parts = append(parts, u.addDrying(&pair, ratio, ratios, ratios.greenOf(caged, cagedUnits), ratios.greenOf(open, openUnits))...)
	_, df, ok := stat.Satterthwaite(parts)
	if !ok { // every frame alike: nothing to make an interval of
		u.Utilization = schema.Some(1 - ratio)
		u.note("all-alike", "caged and open frames differ by the same share everywhere: no interval; look whether these were clipped")
		return
	}
	ci, ok := stat.Fieller(pair, c.t.Quantile((1+c.confidence)/2, df))
	if !ok {
		u.warn("caged-near-zero", fmt.Sprintf("the mean of the caged frames is not significantly above zero at %g %% confidence: no utilization", Percent(c.confidence)))
		return
	}
	u.Utilization, u.DF = schema.Some(1-ratio), schema.Some(df)
	u.CI = Interval{Low: schema.Some(1 - ci.High), High: schema.Some(1 - ci.Low)}
}

func unitMeans(units []unit) []float64 {
	out := make([]float64, len(units))
	for i, u := range units {
		out[i] = u.mean
	}
	return out
}

// addDrying adds the errors of the drying ratios to the pair and returns their
// shares of the variance of open − ratio·caged.
func (u *Utilization) addDrying(pair *stat.MeanPair, ratio float64, ratios *occasionRatios, caged, open map[ratioName]float64) []stat.VariancePart {
	if ratios == nil {
		return nil
	}
	var parts []stat.VariancePart
	for _, name := range ratios.order {
		r, gx, gy := ratios.ratio[name], caged[name], open[name]
		if gx == 0 && gy == 0 {
			continue
		}
		if !r.VarianceOK {
			u.note("one-drying-sample", "a drying ratio rests on a single sample: its error is unknown and not in the interval")
			continue
		}
		pair.VarX += gx * gx * r.Variance
		pair.VarY += gy * gy * r.Variance
		pair.Cov += gx * gy * r.Variance
		d := gy - ratio*gx
		parts = append(parts, stat.VariancePart{Variance: d * d * r.Variance, DF: float64(r.M - 1)})
	}
	return parts
}

func (u *Utilization) remark(k *cages) {
	switch {
	case k.since[0] == "":
		u.note("caged-since", "when the cages went up is not recorded: growth eaten before that is not seen")
	case k.unknown:
		u.note("caged-since", "when some cages went up is not recorded: growth eaten before that is not seen")
	case k.since[0] == k.since[1]:
		u.note("caged-since", "growth eaten before the cages went up on "+k.since[0]+" is not seen")
	default:
		u.note("caged-since", "growth eaten before the cages went up, "+k.since[0]+" to "+k.since[1]+", is not seen")
	}
	if u.Utilization.Valid && u.Utilization.Float64 < 0 {
		u.note("open-heavier", "the open frames weigh more than the caged ones: no use is seen")
	}
	if min(u.NCaged, u.NOpen) < 3 && u.Utilization.Valid {
		u.note("few-units", "fewer than 3 sampling units")
	}
	if u.Site.Selection == "chosen" {
		u.note("chosen", "the frames were chosen, not drawn: this speaks for the chosen frames, not for the site or its stratum")
	}
}
