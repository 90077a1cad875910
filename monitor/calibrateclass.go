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
// kappa; kappa needs one scheme, since classes of two do not match. What lies outside all
// classes is left out.
func (c *calibrator) classes(k *Calibration, pairs []judgedFrame) {
	right, judged := 0, 0
	tables := map[string][][]float64{}
	for _, p := range pairs {
		scheme := p.frame.site.ClassScheme
		s := c.schemes[scheme][k.Component]
		estimated, ok := dryOf(p, k.State)
		if s == nil || !ok {
			continue
		}
		i, inside := stat.ClassOf(estimated, s.bounds)
		j, clippedInside := stat.ClassOf(p.frame.dry.Float64, s.bounds)
		if !inside || !clippedInside {
			continue
		}
		if tables[scheme] == nil {
			tables[scheme] = squareTable(len(s.labels))
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

// dryOf is the estimate as dry weight. A frame that weighed nothing green has
// no fraction of dry matter; there only nothing is known to be nothing.
func dryOf(p judgedFrame, state string) (float64, bool) {
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
