// What would the yearly means be if every frame had been there every year?
//
// Frames that stay in place differ among themselves, and a heavy one lost in a
// year lowers that year's plain mean. Least squares of value = frame + year
// takes the frames' differences out; the mean of a year is then its effect plus
// the average of the frame effects, each frame counting alike (least-squares
// means; Searle, Speed & Milliken 1980, Am. Stat. 34:216-221, from memory).
// With all frames there every year these are the plain means.
//
// Assumes that frames and years add: a good year is as good for every frame.

package stat

import (
	"gonum.org/v1/gonum/mat"
)

// FrameYearMeans gives the adjusted mean of each year from values of frames,
// frame and year counted from 0 without gaps. weight is how much each frame
// counts in the level, nil for all alike; it has no part in the differences
// between years. There is no answer where the years fall into groups that share
// no frame: then nothing tells the years of one group from the frames of it.
//
// The frame effects are eliminated first, which leaves one equation a year:
//
//	(diag(n_t) - Σ_f n_tf·n_t'f/n_f)·τ = Σ y_t - Σ_f n_tf·ȳ_f.
func FrameYearMeans(y []float64, frame, year []int, weight []float64) ([]float64, bool) {
	d, ok := newFrameYears(y, frame, year, weight)
	if !ok || !d.connected() {
		return nil, false
	}
	effects, ok := d.yearEffects()
	if !ok {
		return nil, false
	}
	// The level: frame effects ȳ_f - mean of its years' effects, averaged.
	var level, total float64
	for f, rows := range d.rows {
		var sum float64
		for _, i := range rows {
			sum += d.y[i] - effects[d.year[i]]
		}
		level += d.weight[f] * sum / float64(len(rows))
		total += d.weight[f]
	}
	for t := range effects {
		effects[t] += d.origin + level/total
		if _, ok := finite(effects[t]); !ok {
			return nil, false
		}
	}
	return effects, true
}

// frameYears is an unbalanced table of frames by years.
type frameYears struct {
	y      []float64 // relative to origin
	origin float64
	year   []int
	years  int
	rows   [][]int // by frame
	weight []float64
}

func newFrameYears(y []float64, frame, year []int, weight []float64) (*frameYears, bool) {
	if len(y) == 0 || len(frame) != len(y) || len(year) != len(y) {
		return nil, false
	}
	m := MomentsOf(y)
	d := &frameYears{origin: m.Mean(), year: year, y: make([]float64, len(y)), weight: weight}
	for i, v := range y {
		d.y[i] = v - d.origin
		d.years = max(d.years, year[i]+1)
		for len(d.rows) <= frame[i] {
			d.rows = append(d.rows, nil)
		}
		d.rows[frame[i]] = append(d.rows[frame[i]], i)
	}
	if d.weight == nil {
		d.weight = make([]float64, len(d.rows))
		for f := range d.weight {
			d.weight[f] = 1
		}
	}
	for _, rows := range d.rows {
		if len(rows) == 0 {
			return nil, false
		}
	}
	return d, len(d.weight) == len(d.rows)
}

// connected tells whether every year can be reached from every other by frames
// that they share.
func (d *frameYears) connected() bool {
	of := make([]int, d.years)
	for t := range of {
		of[t] = t
	}
	var root func(int) int
	root = func(t int) int {
		if of[t] != t {
			of[t] = root(of[t])
		}
		return of[t]
	}
	for _, rows := range d.rows {
		for _, i := range rows {
			of[root(d.year[i])] = root(d.year[rows[0]])
		}
	}
	for t := range of {
		if root(t) != root(0) {
			return false
		}
	}
	return true
}

// yearEffects solves for the effects of the years, the first one 0.
func (d *frameYears) yearEffects() ([]float64, bool) {
	effects := make([]float64, d.years)
	if d.years == 1 {
		return effects, true
	}
	a := mat.NewSymDense(d.years-1, nil)
	b := mat.NewVecDense(d.years-1, nil)
	add := func(t, u int, v float64) {
		if t > 0 && u >= t {
			a.SetSym(t-1, u-1, a.At(t-1, u-1)+v)
		}
	}
	for _, rows := range d.rows {
		var mean float64
		for _, i := range rows {
			mean += d.y[i] / float64(len(rows))
		}
		for _, i := range rows {
			t := d.year[i]
			add(t, t, 1)
			for _, j := range rows {
				add(t, d.year[j], -1/float64(len(rows)))
			}
			if t > 0 {
				b.SetVec(t-1, b.AtVec(t-1)+d.y[i]-mean)
			}
		}
	}
	var c mat.Cholesky
	if !c.Factorize(a) {
		return nil, false
	}
	var x mat.VecDense
	if c.SolveVecTo(&x, b) != nil {
		return nil, false
	}
	for t := range d.years - 1 {
		effects[t+1] = x.AtVec(t)
	}
	return effects, true
}
