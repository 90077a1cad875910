package monitor

import (
	"fmt"
	"math"
	"strings"
)

// What do the numbers of a series say in plain words?
//
// Whether rain explains a trend is read from two intervals: of the slope with
// rain held, and of the change that holding rain makes in the slope. It is
// never read from one p below α beside another above: the difference between a
// slope that is significant and one that is not need not be significant itself
// (Gelman & Stern 2006, Am. Stat. 60:328-331, from memory).

// Sentence composes a plain sentence from the numbers of a series.
func Sentence(s *Series) string {
	t := s.Trend(MethodOLS)
	what := componentTitle(s.Component)
	switch {
	case t == nil || len(t.YearsUsed) == 0:
		return what + ": no year has a value."
	case s.Mean.Float64 == 0:
		return fmt.Sprintf("%s: nothing was found in any of %s.", what, yearsWord(len(t.YearsUsed)))
	case t.Verdict == TooFewYears:
		return tooFewText(what, t)
	case t.Slope.Float64 == 0 && !t.SE.Valid:
		return fmt.Sprintf("%s: the same value in each of %s, so no trend is detected and none could have been.", what, yearsWord(len(t.YearsUsed)))
	case t.Verdict == NoTrend:
		return noTrendText(s, t)
	}
	return trendText(s, t)
}

func tooFewText(what string, t *Trend) string {
	text := fmt.Sprintf("%s: %s with values, too few for a verdict on a trend (%d are needed)", what, yearsWord(len(t.YearsUsed)), yearsForTrend)
	if t.SlopePct.Valid {
		text += fmt.Sprintf("; the line through them %s", moved(t.SlopePct.Float64))
	}
	return text + "."
}

// trendText says what a detected trend is and whether rain explains it.
func trendText(s *Series, t *Trend) string {
	head := fmt.Sprintf("%s %s", componentTitle(s.Component), moved(t.SlopePct.Float64))
	if t.Statistic.Valid {
		head += fmt.Sprintf(" (%s)", pText(t.P.Float64))
	}
	switch s.explains(t) {
	case rainUnknown:
		return head + "; whether rain explains it cannot be said: " + s.whyNoRain() + "."
	case rainExplainsNot:
		return head + ", and rain does not explain it" + s.whereRain() + "."
	case rainExplainsPart:
		return fmt.Sprintf("%s, and rain explains part of it: with rain accounted for%s it %s.", head, s.whereRain(), s.heldText())
	case rainHidesPart:
		return fmt.Sprintf("%s, and rain hides part of it: with rain accounted for%s it %s.", head, s.whereRain(), s.heldText())
	case rainReverses:
		return fmt.Sprintf("%s, but that is the rain and more: with rain accounted for%s it %s.", head, s.whereRain(), s.heldText())
	case rainExplains:
		return fmt.Sprintf("%s, and %s: with rain accounted for%s, no trend is detected (%s).", head, s.rainMoved(t), s.whereRain(), s.heldSlope())
	}
	return fmt.Sprintf("%s, and whether rain explains it cannot be told: with rain accounted for%s the slope is %s.", head, s.whereRain(), s.heldSlope())
}

// explanation is what rain has to do with a detected trend.
type explanation int

const (
	rainUnknown      explanation = iota // no answer of ols-rain
	rainExplainsNot                     // the held slope keeps its sign, no change worth saying is shown
	rainExplainsPart                    // it keeps its sign, and rain makes part of the slope
	rainHidesPart                       // it keeps its sign, and rain works against the slope
	rainReverses                        // the held slope has the other sign
	rainExplains                        // the held slope is not told from 0, and the change is in the trend's direction
	rainUnclear                         // neither is told from 0
)

// explains reads the two intervals. The years with rain can be fewer than the
// trend's; where the slope without rain is not shown on them, nothing is said.
func (s *Series) explains(t *Trend) explanation {
	r := s.Rain
	if r == nil || r.Why != "" || !r.Held.Valid {
		return rainUnknown
	}
	up := sideOf(t.Slope.Float64)
	held, change := r.HeldCI.side(), r.ChangeCI.side()
	switch {
	case len(r.YearsUsed) < len(t.YearsUsed) && r.AloneCI.side() != up:
		return rainUnclear
	case held == -up && change == up:
		return rainReverses
	case held == up && change == up && r.worthSaying():
		return rainExplainsPart
	case held == up && change == -up && r.worthSaying():
		return rainHidesPart
	case held == up:
		return rainExplainsNot
	case held == 0 && change == up:
		return rainExplains
	}
	return rainUnclear
}

// leastChange is the change in a slope, as a part of the larger of the two
// slopes, below which rain is not said to explain or hide any of it. The years
// and their rain are taken as they were, so wherever rain matters at all even a
// tiny change is told from 0.
const leastChange = 0.10

func (r *SeriesRain) worthSaying() bool {
	larger := math.Max(math.Abs(r.Alone.Float64), math.Abs(r.Held.Float64))
	return math.Abs(r.Change.Float64) >= leastChange*larger
}

// side says on which side of 0 an interval lies: 1 above, -1 below, 0 where it
// holds 0 or is missing.
func (i Interval) side() int {
	switch {
	case !i.Low.Valid || !i.High.Valid:
		return 0
	case i.Low.Float64 > 0:
		return 1
	case i.High.Float64 < 0:
		return -1
	}
	return 0
}

func sideOf(x float64) int {
	switch {
	case x > 0:
		return 1
	case x < 0:
		return -1
	}
	return 0
}

// noTrendText says that none is detected, what could have been, and whether
// rain hides one.
func noTrendText(s *Series, t *Trend) string {
	text := fmt.Sprintf("No trend in %s is detected over %s", componentInText(s.Component), yearsWord(len(t.YearsUsed)))
	r := s.Rain
	answered := r != nil && r.Why == "" && r.Held.Valid
	switch {
	case !answered:
	case r.HeldCI.side() == 0:
		text += ", with or without rain accounted for" + s.whereRain()
	case r.ChangeCI.side() == -r.HeldCI.side() && r.worthSaying():
		text += fmt.Sprintf(", but rain hides one: with rain accounted for%s it %s", s.whereRain(), s.heldText())
	default:
		text += fmt.Sprintf("; with rain accounted for%s, and its part of the scatter with it, the slope shows: it %s", s.whereRain(), s.heldText())
	}
	return text + "; " + s.couldFind(t) + "."
}

// couldFind says which trend would have been found.
func (s *Series) couldFind(t *Trend) string {
	d := percentOf(t.MinDetectable, s.Mean)
	if !d.Valid {
		return "how small a trend could have been found cannot be told"
	}
	return fmt.Sprintf("a trend of %s a year or more, up or down, would have been found four times in five", percentText(d.Float64))
}

// moved writes a slope in percent of the mean, such as "fell 3.1 % a year".
func moved(pct float64) string {
	switch {
	case pct > 0:
		return "rose " + percentText(pct) + " a year"
	case pct < 0:
		return "fell " + percentText(-pct) + " a year"
	}
	return "stayed level"
}

// percentText writes a percentage with a decimal, or with the digits that a
// small one needs.
func percentText(pct float64) string {
	if a := math.Abs(pct); a != 0 && a < 0.05 {
		return fmt.Sprintf("%.2g %%", pct)
	}
	return fmt.Sprintf("%.1f %%", pct)
}

// heldText is the slope with rain held as a movement, with its interval.
func (s *Series) heldText() string {
	held, low, high := s.heldPercents()
	return fmt.Sprintf("%s (%s to %s)", moved(held), percentText(low), percentText(high))
}

// heldSlope is the slope with rain held as a number, with its interval.
func (s *Series) heldSlope() string {
	held, low, high := s.heldPercents()
	return fmt.Sprintf("%s a year, %s to %s", percentText(held), percentText(low), percentText(high))
}

// heldPercents is the slope with rain held and its interval in percent of the
// mean of the years with rain.
func (s *Series) heldPercents() (held, low, high float64) {
	r := s.Rain
	return percentOf(r.Held, r.Mean).Float64, percentOf(r.HeldCI.Low, r.Mean).Float64, percentOf(r.HeldCI.High, r.Mean).Float64
}

// rainMoved says how the rain went where it explains a trend.
func (s *Series) rainMoved(t *Trend) string {
	r := s.Rain
	trend, rain := sideOf(t.Slope.Float64), sideOf(r.RainSlope.Float64)
	how := fmt.Sprintf(" (correlation with year %.2f)", r.Correlation.Float64)
	switch {
	case rain == trend:
		return "so did the rain" + how
	case rain < 0:
		return "the rain fell" + how + ", less rain going with more " + componentInText(s.Component)
	}
	return "the rain rose" + how + ", more rain going with less " + componentInText(s.Component)
}

// whereRain names the years with rain where they are fewer than the trend's.
func (s *Series) whereRain() string {
	if t := s.Trend(MethodOLS); len(s.Rain.YearsUsed) == len(t.YearsUsed) {
		return ""
	}
	return " (over the " + yearsWord(len(s.Rain.YearsUsed)) + " with rain)"
}

func (s *Series) whyNoRain() string {
	if s.Rain == nil {
		return "the site declares no rain station"
	}
	return s.Rain.Why
}

// componentTitle begins a sentence with a component.
func componentTitle(name string) string {
	text := componentInText(name)
	return strings.ToUpper(text[:1]) + text[1:]
}

func componentInText(name string) string {
	switch name {
	case "herbaceous":
		return "herbaceous growth"
	case "standing-dead":
		return "standing dead"
	}
	return name
}
