package monitor

import (
	"maps"
	"math"
	"slices"

	"clipledger/monitor/stat"
	"clipledger/schema"
)

// Does the observer put frames into the right class? Classes are the site's
// own, for dry weight. An estimate of green weight is classed at the frame's
// own fraction of dry matter, so that a green estimate without error is always
// in the right class. A component that the scheme has no bounds for has no
// answer.

// classes fills in the share of frames in the right class and the weighted
// kappa; kappa needs one scheme, since classes of two do not match.
func (c *calibrator) classes(k *Calibration, pairs []eyePair) {
	right, judged := 0, 0
	tables := map[string][][]float64{}
	for _, p := range pairs {
		bounds := c.boundsOf(p.frame.site.ClassScheme, k.Component)
		estimated, ok := dryOf(p, k.State)
		if len(bounds) < 2 || !ok {
			continue
		}
		i, j := classOf(bounds, estimated), classOf(bounds, p.frame.dry.Float64)
		scheme := p.frame.site.ClassScheme
		if tables[scheme] == nil {
			tables[scheme] = squareTable(len(bounds))
		}
		tables[scheme][i][j]++
		judged++
		if i == j {
			right++
		}
	}
	k.Schemes = slices.Sorted(maps.Keys(tables))
	if judged == 0 {
		return
	}
	k.ClassAgreementPct = schema.Some(100 * float64(right) / float64(judged))
	if len(k.Schemes) == 1 {
		c.kappa(k, tables[k.Schemes[0]])
	}
}

func (c *calibrator) kappa(k *Calibration, table [][]float64) {
	weights := stat.LinearWeights(len(table))
	if c.query.Quadratic {
		weights = stat.QuadraticWeights(len(table))
	}
	if kappa, ok := stat.KappaOf(table, weights); ok {
		k.Kappa = schema.Some(kappa.Kappa)
		k.KappaSE = schema.Some(math.Sqrt(kappa.Variance))
	}
}

// boundsOf are a scheme's classes of one component, lowest first.
func (c *calibrator) boundsOf(scheme, component string) []schema.ClassBound {
	var out []schema.ClassBound
	for _, b := range c.bounds[scheme] {
		if b.Component == component {
			out = append(out, b)
		}
	}
	return out
}

// classOf finds the class [lower, upper) of a value; what is below the lowest
// goes to the lowest, and what is above the highest to the highest.
func classOf(bounds []schema.ClassBound, value float64) int {
	place := 0
	for i, b := range bounds {
		if value >= b.LowerG {
			place = i
		}
	}
	return place
}

// dryOf is the estimate as dry weight. A frame that weighed nothing green has
// no fraction of dry matter; there only nothing is known to be nothing.
func dryOf(p eyePair, state string) (float64, bool) {
	f := p.frame
	switch {
	case !f.dry.Valid:
		return 0, false
	case state == schema.StateDry:
		return p.estimated, true
	case f.green.Valid && f.green.Float64 > 0:
		return p.estimated * f.dry.Float64 / f.green.Float64, true
	}
	return 0, p.estimated == 0
}

func squareTable(size int) [][]float64 {
	t := make([][]float64, size)
	for i := range t {
		t[i] = make([]float64, size)
	}
	return t
}
