package monitor

import (
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"

	"clipledger/schema"
)

// Eye estimates that do not go with what was clipped in the same frame: a
// slip of the decimal point, and a component that the clipping did not look
// for. That an eye is wrong is no finding: calibration is for that.

// An estimate whose ratio to the clipped weight is about ten times, or a
// tenth of, what is usual for its observer: within a fifth of a unit of the
// logarithm, so 6.3 to 15.8 times. Our own limits; below a gram a m² honest
// guesses differ by that much.
const (
	slipLog       = 1.0
	slipWithin    = 0.2
	slipLeastGPM2 = 1.0
	slipFewest    = 5 // pairs that tell what is usual; below, a ratio of 1 is
)

// eyeOf is an observer at work on one component in one state.
type eyeOf struct {
	observer, state string
	component       schema.Component
}

// logRatio compares an estimate with its clipped weight, where both are heavy
// enough to tell.
func logRatio(e *schema.EstimateRecord) (float64, bool) {
	against := e.Against()
	if !e.GPerM2.Valid || !against.Valid || min(e.GPerM2.Float64, against.Float64) < slipLeastGPM2 {
		return 0, false
	}
	return math.Log10(e.GPerM2.Float64 / against.Float64), true
}

// checkEstimates judges the estimates of the sites at hand.
func (c *checker) checkEstimates() error {
	if c.surveyed.estimates == nil {
		return nil
	}
	apart := map[int64][]schema.EstimateRecord{}
	err := c.eachRun(func(from, to int64) error {
		return c.surveyed.estimates.Estimates(from, to, func(e *schema.EstimateRecord) error {
			if e.FrameClipped && !e.LookedFor && c.visit(e.Visit).Outside&e.Component.Bit() == 0 {
				apart[e.Occasion] = append(apart[e.Occasion], *e)
			}
			if log, ok := logRatio(e); ok {
				c.judgeSlip(e, log, c.surveyed.usualOf(eyeOf{e.Observer, e.State, e.Component}))
			}
			return nil
		})
	})
	for _, occasion := range slices.Sorted(maps.Keys(apart)) {
		c.reportApart(occasion, apart[occasion])
	}
	return err
}

// judgeSlip reports an estimate that is about ten times off what is usual.
func (c *checker) judgeSlip(e *schema.EstimateRecord, log, usual float64) {
	if math.Abs(math.Abs(log-usual)-slipLog) > slipWithin {
		return
	}
	p, year := c.placeOf(e.Occasion)
	c.report(p, Finding{Severity: Look, Check: "estimate-slip", Years: []int{year}, Components: []string{e.Component.String()},
		Found: fmt.Sprintf("%s estimated %.3g g/m² %s where %.3g was clipped: %.2g times, with %.2g times usual for this observer", e.Observer, e.GPerM2.Float64, e.State,
			e.Against().Float64, math.Pow(10, log), math.Pow(10, usual)),
		Why: "ten times too much or too little is more often a slipped decimal point than an eye; one such pair can carry a calibration",
		Do:  "look at both sheets; correct the slip with --replace, or accept it if it was guessed so"}, c.ofEstimate(e))
}

func (c *checker) reportApart(occasion int64, list []schema.EstimateRecord) {
	p, year := c.placeOf(occasion)
	for _, component := range schema.Components {
		var records []evidence
		for i := range list {
			if list[i].Component == component {
				records = append(records, c.ofEstimate(&list[i]))
			}
		}
		if len(records) == 0 {
			continue
		}
		c.report(p, Finding{Severity: Look, Check: "estimate-not-looked-for", Years: []int{year}, Components: []string{component.String()},
			Found: fmt.Sprintf("%s of %s in frames that were clipped without looking for it", estimatesWord(len(records)), component),
			Why:   "either the component was looked for and the clippings do not say so, which changes a mean, or the estimates are of another component or frame",
			Do:    "name the component in the site's components or in components_sampled if it was looked for; else look at the estimates' sheet"}, records...)
	}
}

func estimatesWord(n int) string {
	if n == 1 {
		return "1 estimate"
	}
	return fmt.Sprintf("%d estimates", n)
}

// ofEstimate is an estimate as evidence.
func (c *checker) ofEstimate(e *schema.EstimateRecord) evidence {
	v := &schema.CheckVisit{Visit: e.Visit, Transect: e.Transect, Frame: e.Frame, Caged: e.Caged}
	words := strings.Join(strings.Fields(fmt.Sprintf("%s %s %s %s estimate by %s", c.occasionWords(e.Occasion), label(v), e.Component, e.Species, e.Observer)), " ")
	return evidence{words + " (" + c.source(e.ImportID, e.Line) + ")",
		strings.Join([]string{c.frameKey(v), e.Component.String(), e.Species, e.Observer, e.State}, "\x1d"),
		fmt.Sprint(e.G, e.PerM2, exact(e.ClippedGreen), exact(e.ClippedDry))}
}
