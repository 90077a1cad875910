package monitor

import (
	"fmt"
	"math"

	"clipledger/monitor/stat"
	"clipledger/schema"
)

// Frames that weigh far from the others, on the log scale: weights of clipped
// frames are nearer to lognormal than to normal (common practice), and a
// slipped decimal is the same step at any weight. From each logarithm the
// median of its occasion is taken out (of its caged or open frames and its
// treatment), so that good and bad years do not count; the rest is judged
// beside all years of the site, season and component, by frame type where
// that has enough frames, since small frames spread more. Zeros are not
// judged: they are a usual find. What is judged is the residual over
// √(1 + π/2n), n the frames that the median is of: a frame far out and the
// median beside it vary independently, and π/2n is the large-sample variance
// of a normal sample's median in units of the frames' own (common knowledge,
// from memory).

const (
	weightAlarms = 1.5e-4 // see spreadOf; measured on clean lognormal frames it stays below one in 5,000

	fewestInOccasion = 5  // frames that a median is taken of
	fewestInSeries   = 20 // frames, beside one for each median
	leastFactor      = 2  // less than that from the median is never worth a look
	// Where more than this share of the frames holds nothing, next to nothing
	// is a usual find too, and only heavy frames are looked at.
	mostZeros = 0.05
)

// weighed is one frame's component with a weight above zero.
type weighed struct {
	visit     int64
	residual  float64 // logarithm less the occasion's
	logMedian float32
	widening  float32 // of the residual, for the median's own error
	group     int32
	whole     int32
	component schema.Component
}

// alike names frames that are judged together.
type alike struct {
	site      int64
	season    string
	component schema.Component
	frameType int64 // -1: all of them
}

// weights are all frames to be judged.
type weights struct {
	list   chunks[weighed]
	groups map[alike]int32
	cells  []int // medians taken, by group
	zeros  []int // frames without weight, by group
	n      []int
}

func (w *weights) group(a alike) int32 {
	g, ok := w.groups[a]
	if !ok {
		g = int32(len(w.cells))
		w.groups[a] = g
		w.cells, w.zeros, w.n = append(w.cells, 0), append(w.zeros, 0), append(w.n, 0)
	}
	return g
}

// medianCell is a set of frames that share a median.
type medianCell struct {
	component schema.Component
	caged     bool
	treatment string
}

// cellFrame is a frame in it.
type cellFrame struct {
	visit     int64
	frameType int64
	log       float64
}

func (c *checker) checkOutliers() error {
	w := &weights{groups: map[alike]int32{}}
	cells := map[medianCell][]cellFrame{}
	var occasion int64
	flush := func() {
		o := c.occasions[occasion]
		for k, frames := range cells {
			w.addCell(alike{o.SiteID, o.Season, k.component, -1}, frames)
		}
		clear(cells)
	}
	judge := func(f *schema.FrameValue) error {
		if !f.GPerM2.Valid {
			return nil
		}
		if o := f.Occasion(); o != occasion {
			if occasion != 0 {
				flush()
			}
			occasion = o
		}
		v := c.visit(f.Visit)
		k := medianCell{f.Component, f.Caged, v.Treatment}
		cells[k] = append(cells[k], cellFrame{f.Visit, c.part(v, f.Component).FrameTypeID, math.Log(f.GPerM2.Float64)})
		return nil
	}
	err := c.eachRun(func(from, to int64) error { return c.snap.Frames(from, to, judge) })
	if err != nil {
		return err
	}
	if occasion != 0 {
		flush()
	}
	return c.reportOutliers(w, w.far())
}

// addCell takes the median out of the frames of a cell, and adds them where
// they are enough. The logarithm of a frame without weight is -Inf.
func (w *weights) addCell(a alike, frames []cellFrame) {
	whole := w.group(a)
	var logs []float64
	for _, f := range frames {
		if math.IsInf(f.log, -1) {
			w.zeros[whole]++
		} else {
			logs = append(logs, f.log)
		}
	}
	if len(logs) < fewestInOccasion {
		return
	}
	median := medianOf(logs)
	widening := math.Sqrt(1 + math.Pi/2/float64(len(logs)))
	w.cells[whole]++
	counted := map[int32]bool{}
	for _, f := range frames {
		if math.IsInf(f.log, -1) {
			continue
		}
		a.frameType = f.frameType
		g := w.group(a)
		if !counted[g] {
			counted[g] = true
			w.cells[g]++
		}
		w.n[g]++
		w.n[whole]++
		w.list.add(weighed{f.visit, f.log - median, float32(median), float32(widening), g, whole, a.component})
	}
}

// outlier is a frame far from the others.
type outlier struct {
	weighed
	spread spread
}

// far judges every frame.
func (w *weights) far() []outlier {
	for i := range w.list.n {
		if x := w.list.at(i); w.n[x.group]-w.cells[x.group] < fewestInSeries {
			x.group = x.whole
		}
	}
	values := make([][]float64, len(w.n))
	for i := range w.list.n {
		g := w.list.at(i).group
		if values[g] == nil {
			values[g] = make([]float64, 0, w.n[g])
		}
		values[g] = append(values[g], w.list.at(i).residual)
	}
	for i := range w.list.n { // frames judged by type are part of the whole too
		if x := w.list.at(i); x.group != x.whole && len(values[x.whole]) > 0 {
			values[x.whole] = append(values[x.whole], x.residual)
		}
	}
	var t stat.TTable
	spreads := make([]*spread, len(w.n))
	var out []outlier
	for i := range w.list.n {
		x := w.list.at(i)
		g := x.group
		if len(values[g])-w.cells[g] < fewestInSeries {
			continue
		}
		if spreads[g] == nil {
			s := spreadOf(values[g], w.cells[g], weightAlarms, &t)
			s.middle = 0 // the medians were taken out
			spreads[g] = &s
		}
		zeros := float64(w.zeros[x.whole]) > mostZeros*float64(w.zeros[x.whole]+w.n[x.whole])
		if spreads[g].far(x.residual/float64(x.widening)) && math.Abs(x.residual) > math.Log(leastFactor) && !(zeros && x.residual < 0) {
			out = append(out, outlier{*x, *spreads[g]})
		}
	}
	return out
}

// reportOutliers names the bags of the frames that were found.
func (c *checker) reportOutliers(w *weights, found []outlier) error {
	if len(found) == 0 {
		return nil
	}
	type frameComponent struct {
		visit     int64
		component schema.Component
	}
	bags := map[frameComponent][]evidence{}
	visits := make([]int64, len(found))
	for i, x := range found {
		visits[i] = x.visit
		bags[frameComponent{x.visit, x.component}] = nil
	}
	err := c.snap.CheckBagsOf(uniqueInts(visits), func(b *schema.CheckBag) error {
		k := frameComponent{b.Visit, b.Component}
		if list, ok := bags[k]; ok {
			bags[k] = append(list, c.ofBag(b))
		}
		return nil
	})
	for _, x := range found {
		p, year := c.placeOf(x.visit >> 20)
		factor, word := math.Exp(x.residual), "heavier"
		if factor < 1 {
			factor, word = 1/factor, "lighter"
		}
		c.report(p, Finding{Severity: Look, Check: "weight-outlier", Years: []int{year}, Components: []string{x.component.String()},
			Found: fmt.Sprintf("%.4g g/m² dry, %.3g times %s than the median of the frames with weight beside it (%.4g g/m²): %.1f robust standard deviations on the log scale, by %d frames (more than %.1f are looked at)",
				math.Exp(float64(x.logMedian)+x.residual), factor, word, math.Exp(float64(x.logMedian)), math.Abs(x.residual)/float64(x.widening)/x.spread.scale, x.spread.n, x.spread.limit),
			Why: "one wrong frame can carry a whole mean; a slipped decimal is ten times, ounces read as grams are 28 times",
			Do:  "look at the sheet; correct a slip with --replace; a frame that was so stays, and is accepted with a note"}, bags[frameComponent{x.visit, x.component}]...)
	}
	return err
}
