package monitor

import (
	"clipledger/monitor/stat"
	"clipledger/schema"
)

// Production is the word for the sum of the production components, used where
// a component's name stands.
const Production = "production"

// Num is a number that may be missing.
type Num = schema.Num

// Mean is what one site × growth year × season × component comes to. All
// densities are g/m², dry, on the ledger's basis.
type Mean struct {
	Site      *schema.SiteRecord
	Year      int
	Season    string
	Component string
	Group     string // of --by; "" otherwise

	N           int // sampling units
	Mean        Num
	SD          Num // n − 1
	SE          Num // frames and drying ratios together
	SEDrying    Num // the drying ratios' part
	DF          Num
	CVPct       Num
	Confidence  float64
	CI          Interval
	Hall        Interval
	ZerosInfer  int  // sampling frames whose zero no row wrote
	ZerosAll    int  // frames that weigh nothing
	Missing     int  // frames left out
	Caged       bool // the frames are the occasion's caged ones
	BookPct     Num  // percent of the weight that rests on book values
	NRequired   Num
	NAssured    Num
	Adequate    Verdict
	HalfPct     Num // half-width in percent of the mean, at the adequacy's confidence
	Transects   *Transects
	Double      *Double // where the mean is from a double sample
	Remarks     []Remark
	BookLow     Num         // the mean were the book percentages 5 points lower
	BookHigh    Num         // and 5 points higher
	Class       *ClassOf    // where the site names a scheme that classes the component
	FullSeason  *FullSeason // where asked for
	UnitValues  []float64   // the sampling units' values, where asked for
	FrameValues []float64   // the frames' values, where asked for
	FrameVisits []int64     // the numbers of these frames' visits, in the same order
	ChangePct   Num         // the change from ChangeFrom that this sample could see, in percent; where asked for
	ChangeFrom  int         // the growth year before it, 0 where there is none

	kept *kept // the frames behind it, while years are compared
}

// Interval is a confidence interval that may be missing.
type Interval struct {
	Low, High Num
}

func intervalOf(i stat.Interval) Interval {
	return Interval{schema.Some(i.Low), schema.Some(i.High)}
}

// Verdict is yes, no, or not to be had.
type Verdict int8

// The verdicts.
const (
	NoVerdict Verdict = iota
	No
	Yes
)

func verdict(yes bool) Verdict {
	if yes {
		return Yes
	}
	return No
}

// String writes yes, no, or nothing.
func (v Verdict) String() string { return [...]string{"", "no", "yes"}[v] }

// Double says how a mean came out of a double sample.
type Double struct {
	Observer           string
	Estimator          string
	Estimated, Clipped int
	ClippedMean        Num // of the clipped frames alone, as it would be without estimates
}

// Transects are the two stages of a sample by transects.
type Transects struct {
	Between, Within   float64 // variance components, (g/m²)²
	BetweenClipped    bool    // the estimate was below zero and is shown as 0
	FramesPerTransect float64
	BestFrames        Num // best frames per transect at the cost ratio
	CostRatio         float64
}
