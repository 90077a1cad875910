package monitor

import (
	"fmt"
	"strings"

	"clipledger/schema"
)

// What a reader must know beside a calibration.

func (k *Calibration) note(code, format string, args ...any) {
	k.Remarks = append(k.Remarks, Remark{Code: code, Text: fmt.Sprintf(format, args...)})
}

func (k *Calibration) warn(code, format string, args ...any) {
	k.Remarks = append(k.Remarks, Remark{Code: code, Text: fmt.Sprintf(format, args...), Loud: true})
}

func (c *calibrator) remarks(k *Calibration, frames []*eyeFrame, pairs []judgedFrame) {
	k.remarkFew()
	k.remarkLeftOut(frames)
	c.remarkReverse(k, frames)
	k.remarkValues(pairs)
	c.remarkClasses(k)
	k.remarkLimits(c.query.unit())
	k.remarkLearning()
	for _, p := range k.Practice {
		k.warn("practise-"+p.Code, "practise: %s", p.Text)
	}
}

func (q *CalibrateQuery) unit() Unit {
	if q.Unit.Name == "" {
		return Units[0]
	}
	return q.Unit
}

func (k *Calibration) remarkFew() {
	switch {
	case k.N == 0:
		k.warn("none-clipped", "%s estimated, none of them clipped with a %s weight: nothing to judge by", framesWord(k.Estimated), k.State)
	case k.N == 1:
		k.note("one-frame", "one frame only: a difference, no spread")
	case k.N == 2:
		k.note("two-frames", "2 frames only: limits of agreement on a single degree of freedom, no interval of concordance")
	case k.N < 3*thirdLeast:
		k.note("few-frames", "fewer than %d frames: too few to tell light plots from heavy ones", 3*thirdLeast)
	}
}

// remarkLeftOut counts the estimates without a clipped weight to judge by.
func (k *Calibration) remarkLeftOut(frames []*eyeFrame) {
	notClipped, noWeight, noArea, book := 0, 0, 0, 0
	for _, f := range frames {
		switch {
		case !f.clipped:
			notClipped++
		case !f.against(k.State).Valid:
			noWeight++
		case f.noArea:
			noArea++
		case f.book && k.State == schema.StateDry:
			book++
		}
	}
	if notClipped > 0 && k.N > 0 {
		k.note("not-clipped", "%d estimated and not clipped: not judged", notClipped)
	}
	if noWeight > 0 {
		k.note("no-weight", "%d estimated and clipped, but without a %s weight: not judged", noWeight, k.State)
	}
	if noArea > 0 {
		k.warn("no-area", "%d estimated in grams in a frame of unknown size: not judged; name the frame type in the estimates or declare the site's", noArea)
	}
	if book > 0 {
		k.note("book-values", "%d of the clipped dry weights rest on book values or fallback percentages: not measured", book)
	}
}

// remarkReverse counts frames clipped beside estimated ones and not estimated.
func (c *calibrator) remarkReverse(k *Calibration, frames []*eyeFrame) {
	if k.Component == Production {
		return
	}
	seen := map[int64]int{}
	for _, f := range frames {
		if f.dry.Valid {
			seen[f.occasion.ID]++
		} else {
			seen[f.occasion.ID] += 0
		}
	}
	missed := 0
	for id, n := range seen {
		missed += max(0, c.clipped[occasionComponent{id, k.Component}]-n)
	}
	if missed > 0 {
		k.note("not-estimated", "%s clipped on the same occasions and not estimated", framesWord(missed))
	}
}

// remarkValues says what is odd about the values themselves.
func (k *Calibration) remarkValues(pairs []judgedFrame) {
	alike, zeros, right := len(pairs) > 1, 0, 0
	for _, p := range pairs {
		alike = alike && p.estimated == pairs[0].estimated
		if p.estimated == 0 {
			zeros++
			if p.clipped == 0 {
				right++
			}
		}
	}
	if alike {
		k.note("all-alike", "all estimates are the same: they tell nothing of which frame is heavier")
	}
	if zeros > 0 {
		k.note("zero-estimates", "%s estimated at nothing; in %d of them nothing was found", framesWord(zeros), right)
	}
	if k.N > 0 && k.MeanClipped.Float64 == 0 {
		k.note("nothing-clipped", "every clipped weight is nothing: no ratio")
	}
}

func (c *calibrator) remarkClasses(k *Calibration) {
	switch {
	case k.N == 0:
	case !k.ClassAgreementPct.Valid:
		k.note("no-classes", "no class scheme that the sites name has bounds for %s: no class agreement, no kappa", k.Component)
	case len(k.Schemes) > 1:
		k.note("several-schemes", "classes of more than one scheme (%s): no kappa", strings.Join(k.Schemes, ", "))
	case !k.Kappa.Valid:
		k.note("one-class", "all frames are in one class of %s: no kappa", k.Schemes[0])
	default:
		weights := "linear"
		if c.query.Quadratic {
			weights = "quadratic"
		}
		k.note("classes", "classes of %s, which are meant for means, put on single frames; kappa with %s weights, standard error %.2f", k.Schemes[0], weights, k.KappaSE.Float64)
	}
}

func (k *Calibration) remarkLimits(unit Unit) {
	if k.Limits.Low.Valid {
		k.note("limits", "about 95 %% of estimates lie between %+.*f and %+.*f %s of the clipped weight (limits of agreement, bias ± %g sd)",
			unit.Decimal, unit.Of(k.Limits.Low.Float64), unit.Decimal, unit.Of(k.Limits.High.Float64), unit.Name, limitsFactor)
	}
	if k.ConcordanceCI.Low.Valid {
		k.note("concordance", "concordance %.2f, interval %.2f to %.2f at %g %% confidence", k.Concordance.Float64, k.ConcordanceCI.Low.Float64, k.ConcordanceCI.High.Float64, Percent(k.Confidence))
	}
}

// fewDates is the number of dates below which a line over them is called weak.
const fewDates = 6

// remarkLearning says whether errors shrank over the dates.
func (k *Calibration) remarkLearning() {
	l := k.Learning
	switch {
	case k.N == 0:
	case !l.PctPerYear.Valid:
		k.note("learning", "learning needs estimates of at least 3 dates; dates here: %d", l.Dates)
	case !l.P.Valid:
		k.note("learning", "learning: the mean absolute error went from %.0f to %.0f %% of the weight (%s to %s)", l.FirstPct.Float64, l.LastPct.Float64, l.First, l.Last)
	default:
		word := "no change in the errors was detected"
		if l.P.Float64 < 1-k.Confidence && l.PctPerYear.Float64 < 0 {
			word = "the errors shrank"
		} else if l.P.Float64 < 1-k.Confidence {
			word = "the errors grew"
		}
		few := ""
		if l.Dates < fewDates {
			few = "; few dates prove little"
		}
		k.note("learning", "learning: %s; the mean absolute error of a date went from %.0f to %.0f %% of the weight on a line over %d dates, %s to %s (p = %.2f%s)",
			word, l.FirstPct.Float64, l.LastPct.Float64, l.Dates, l.First, l.Last, l.P.Float64, few)
	}
}

// worstComponents marks, for every observer and state with two components or
// more, the one that is furthest off in percent of its weight. Production
// holds the others and does not take part.
func (c *calibrator) worstComponents(all []*Calibration) {
	type who struct{ observer, state string }
	worst, count := map[who]*Calibration{}, map[who]int{}
	for _, k := range all {
		if k.Component == Production || !k.RMSEPct.Valid || k.N < 2 {
			continue
		}
		w := who{k.Observer, k.State}
		count[w]++
		if b := worst[w]; b == nil || k.RMSEPct.Float64 > b.RMSEPct.Float64 {
			worst[w] = k
		}
	}
	for w, k := range worst {
		if count[w] > 1 {
			k.note("furthest-component", "of what %s estimates, %s is furthest off: by %.0f %% of its weight (root mean square)", k.Observer, k.Component, k.RMSEPct.Float64)
		}
	}
}
