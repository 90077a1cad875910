package monitor

import (
	"math"
	"slices"

	"clipledger/monitor/stat"
	"clipledger/schema"
)

// How good is each observer's eye? Estimates beside the clipped weight of the
// same frame, green with green and dry with dry, per observer, component and
// state: bias, ratio, spread, concordance, classes, whether the errors shrink
// with time, and what the observer should practise. Formulas and sources:
// monitor/stat, agreement.go and kappa.go.

// CalibrateQuery says which estimates are judged, and how.
type CalibrateQuery struct {
	Filter
	Observers  []string // none: all
	Confidence float64  // 0: the ledger's setting
	Quadratic  bool     // quadratic weights of kappa in place of linear ones
	Unit       Unit     // of weights named in remarks; zero: lb/ac
}

// Calibration is what one observer's estimates of one component come to. All
// densities are g/m² in the state of the estimates, dry ones on the ledger's
// basis.
type Calibration struct {
	Observer  string
	Component string
	State     string // schema.StateGreen or schema.StateDry

	N             int // frames estimated and clipped
	Estimated     int // frames estimated
	MeanEstimated Num
	MeanClipped   Num
	Bias          Num // estimated − clipped
	Ratio         Num // of the means
	RMSE          Num // n divisor
	RMSEPct       Num // in percent of the mean clipped
	Limits        Interval
	Concordance   Num // n divisors
	ConcordanceCI Interval
	Confidence    float64
	Correlation   Num

	ClassAgreementPct Num
	Kappa             Num
	KappaSE           Num
	Schemes           []string

	Light, Heavy Third     // of the frames by clipped weight
	Line         ErrorLine // of the error on the clipped weight
	ScatterPct   Num       // what is left around Line, in percent of the mean clipped
	Learning     Learning
	Practice     []Practice // what to practise; empty: nothing stood out, or too few frames to tell
	Remarks      []Remark
}

// Third is the lightest or the heaviest third of the frames.
type Third struct {
	N     int
	Ratio Num // estimated ÷ clipped, of sums
	CI    Interval
}

// ErrorLine is a straight line of estimated − clipped on clipped: a slope of
// −0.2 says that a fifth of every further gram is not seen.
type ErrorLine struct {
	Slope, P Num
}

// judgedFrame is one frame that was both estimated and clipped.
type judgedFrame struct {
	frame              *eyeFrame
	estimated, clipped float64
}

func (p judgedFrame) err() float64 { return p.estimated - p.clipped }

// limitsFactor is how many standard deviations the limits of agreement reach
// to either side: about 95 % of differences lie between them.
const limitsFactor = 1.96

// Calibrate judges every observer's estimates, in the order of observer,
// component and state.
func Calibrate(snap *schema.Snapshot, q CalibrateQuery) ([]*Calibration, error) {
	c, err := newCalibrator(snap, q)
	if err != nil {
		return nil, err
	}
	var out []*Calibration
	for _, key := range c.eye.keys() {
		if q.component(key.component) {
			out = append(out, c.judge(key, c.eye.frames[key]))
		}
	}
	c.worstComponents(out)
	return out, nil
}

// calibrator is what one call of Calibrate works with.
type calibrator struct {
	query      CalibrateQuery
	confidence float64
	t          stat.TTable
	eye        *eyeRecords
	schemes    classes
	clipped    map[occasionComponent]int // frames with a clipped weight
}

type occasionComponent struct {
	occasion  int64
	component string
}

func newCalibrator(snap *schema.Snapshot, q CalibrateQuery) (*calibrator, error) {
	values, err := snap.Settings()
	if err != nil {
		return nil, err
	}
	c := &calibrator{query: q, confidence: q.Confidence}
	if c.confidence == 0 {
		c.confidence = values.Must("confidence")
	}
	if c.eye, err = readEye(snap, &q.Filter, q.Observers); err != nil {
		return nil, err
	}
	var sites []schema.SiteRecord
	for id := range c.eye.occasions {
		sites = append(sites, *c.eye.sites[c.eye.occasions[id].SiteID])
	}
	if c.schemes, err = classesOf(snap, sites); err != nil {
		return nil, err
	}
	c.clipped, err = countClipped(snap, c.eye.occasions)
	return c, err
}

// countClipped counts the frames with a clipped weight on the occasions that
// have estimates.
func countClipped(snap *schema.Snapshot, occasions map[int64]schema.OccasionRecord) (map[occasionComponent]int, error) {
	out := map[occasionComponent]int{}
	var ids []int64
	for id := range occasions {
		ids = append(ids, id)
	}
	slices.Sort(ids)
	for _, run := range ranges(ids) {
		err := snap.Frames(run[0], run[1], func(v *schema.FrameValue) error {
			if v.GPerM2.Valid {
				out[occasionComponent{v.Occasion(), v.Component.String()}]++
			}
			return nil
		})
		if err != nil {
			return nil, err
		}
	}
	return out, nil
}

// judge works out one observer, component and state.
func (c *calibrator) judge(key eyeKey, frames []*eyeFrame) *Calibration {
	k := &Calibration{Observer: key.observer, Component: key.component, State: key.state, Estimated: len(frames), Confidence: c.confidence}
	pairs := pairsOf(frames, key.state)
	k.N = len(pairs)
	c.agree(k, pairs)
	c.classes(k, pairs)
	c.practise(k, pairs)
	k.Learning = learningOf(pairs)
	c.remarks(k, frames, pairs)
	return k
}

// pairsOf takes the frames that have both weights.
func pairsOf(frames []*eyeFrame, state string) []judgedFrame {
	var out []judgedFrame
	for _, f := range frames {
		if clipped := f.against(state); f.clipped && clipped.Valid && !f.noArea {
			out = append(out, judgedFrame{f, f.estimated(), clipped.Float64})
		}
	}
	return out
}

// columns gives the estimated and the clipped weights side by side.
func columns(pairs []judgedFrame) (estimated, clipped []float64) {
	for _, p := range pairs {
		estimated = append(estimated, p.estimated)
		clipped = append(clipped, p.clipped)
	}
	return estimated, clipped
}

func some(x float64, ok bool) Num {
	if !ok {
		return Num{}
	}
	return schema.Some(x)
}

// agree fills in what the pairs say of agreement.
func (c *calibrator) agree(k *Calibration, pairs []judgedFrame) {
	a, ok := stat.AgreementOf(columns(pairs))
	if !ok {
		return
	}
	k.MeanEstimated, k.MeanClipped = schema.Some(a.MeanX), schema.Some(a.MeanY)
	k.Bias, k.RMSE = schema.Some(a.Bias), schema.Some(a.RMSE)
	k.Ratio = some(a.Ratio, a.RatioOK)
	k.RMSEPct = some(100*a.RMSE/a.MeanY, a.MeanY > 0)
	k.Concordance, k.Correlation = some(a.Concordance, a.ConcordanceOK), some(a.Correlation, a.CorrelationOK)
	if limits, ok := a.Limits(limitsFactor); ok {
		k.Limits = intervalOf(limits)
	}
	// The normal quantile is that of t with endless degrees of freedom.
	if i, ok := a.ConcordanceInterval(c.t.Quantile((1+c.confidence)/2, math.Inf(1))); ok {
		k.ConcordanceCI = intervalOf(i)
	}
}
