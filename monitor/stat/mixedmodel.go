// Which variances fit a model with two crossed random factors best?
//
//	y = X·β + Z·b + U·u + e
//
// b belongs to a blocked factor (frames with an intercept each, or sites with
// an intercept and a slope, uncorrelated), u to a second factor that crosses it
// (years), e to the single values. All are normal, independent, with a variance
// for each column of the blocked factor, one for the second factor and one for
// e. The variances are found by restricted maximum likelihood.
//
// With θ the standard deviations relative to that of e, the deviance profiled
// over β and σ² is
//
//	d(θ) = log|Λ(Z,U)′(Z,U)Λ + I| + log|R_X|² + (n-p)·[1 + log(2π·r²/(n-p))]
//
// (Bates, Mächler, Bolker & Walker 2015, J. Stat. Software 67(1), section 3.4,
// from memory), with r² the penalised residual sum of squares. The blocked
// factor is eliminated block by block, by a Schur complement in closed form;
// what remains is one Cholesky factor of years, X and y together, so that
// hundreds of sites cost little more than ten. Jets give the exact gradient
// and curvature of d, and damped Newton steps find its minimum. d is even and
// smooth in each θ: the boundary θ = 0 is an ordinary stationary point, and no
// bounds are needed.

package stat

import (
	"errors"
	"math"
)

// The reasons why a mixed model has no answer.
var (
	// ErrNoVariance: all values are equal, or the groups and years explain
	// them without a rest.
	ErrNoVariance = errors.New("no residual variance: the values are all equal, or groups and years explain them completely")
	// ErrTooFew: not enough groups, years or values for the variances.
	ErrTooFew = errors.New("too few values, groups or years for the variance components")
	// ErrNotConverged: the search for the variances did not settle.
	ErrNotConverged = errors.New("the search for the variance components did not converge")
)

const (
	newtonSteps = 100
	// settled is the fall of the deviance still promised by a Newton step
	// below which the search ends.
	settled = 1e-11
	// lost is the promised fall that may be lost in rounding when no step
	// makes the deviance fall.
	lost = 1e-6
	// noRest is the residual variance, relative to that of y, that is taken
	// for rounding.
	noRest = 1e-13
)

// crossedModel is a model, its data condensed to sums of products. The border
// is the columns [U, X, y].
type crossedModel struct {
	n, fixed, levels int         // values, columns of X, levels of the second factor (0: none)
	columns          int         // of the blocked factor in each block: 1 or 2
	gram             []float64   // border′·border, rows of width
	blocks           []modelPart // of the blocked factor
}

// modelPart is one block: the sums of products of its columns with the border
// and with each other.
type modelPart struct {
	border        []float64 // columns × width
	d11, d12, d22 float64
}

func (m *crossedModel) width() int { return m.levels + m.fixed + 1 }

// parameters is the number of relative standard deviations.
func (m *crossedModel) parameters() int {
	if m.levels > 0 {
		return m.columns + 1
	}
	return m.columns
}

// newCrossedModel condenses the data: x holds the columns of X, z those of the
// blocked factor (value by value), block and level count from 0; level is nil
// without a second factor.
func newCrossedModel(y []float64, x, z [][]float64, block, level []int) *crossedModel {
	m := &crossedModel{n: len(y), fixed: len(x), columns: len(z)}
	for _, l := range level {
		m.levels = max(m.levels, l+1)
	}
	for _, b := range block {
		for b >= len(m.blocks) {
			m.blocks = append(m.blocks, modelPart{border: make([]float64, m.columns*m.width())})
		}
	}
	m.gram = make([]float64, m.width()*m.width())
	for i := range y {
		m.add(y[i], column(x, i), column(z, i), block[i], levelOf(level, i))
	}
	return m
}

func column(x [][]float64, i int) []float64 {
	out := make([]float64, len(x))
	for j := range x {
		out[j] = x[j][i]
	}
	return out
}

func levelOf(level []int, i int) int {
	if level == nil {
		return -1
	}
	return level[i]
}

// add adds one value to the sums.
func (m *crossedModel) add(y float64, x, z []float64, block, level int) {
	w := m.width()
	dense := append(append([]float64{}, x...), y)
	b := &m.blocks[block]
	b.d11 += z[0] * z[0]
	if len(z) == 2 {
		b.d12 += z[0] * z[1]
		b.d22 += z[1] * z[1]
	}
	for c, zc := range z {
		if level >= 0 {
			b.border[c*w+level] += zc
		}
		for j, v := range dense {
			b.border[c*w+m.levels+j] += zc * v
		}
	}
	if level >= 0 {
		m.gram[level*w+level]++
	}
	for i, v := range dense {
		row := m.gram[(m.levels+i)*w:]
		if level >= 0 {
			row[level] += v
		}
		for j := 0; j <= i; j++ {
			row[m.levels+j] += v * dense[j]
		}
	}
}

// fitted is what the model comes to at one θ, with derivatives in θ.
type fitted struct {
	logDet jet // both determinants of the deviance
	rss    jet // r²
	logVar jet // log of the variance of the last coefficient over σ²
	beta   []float64
}

// at evaluates the model. There is no answer where rounding has left nothing
// of a pivot: X without full rank, or no rest.
func (m *crossedModel) at(theta []float64) (fitted, bool) {
	w := m.width()
	s, logDet := m.eliminate(theta)
	if m.levels > 0 {
		m.scaleLevels(s, variable(m.columns, theta[m.columns]))
	}
	if !cholesky(s, w) {
		return fitted{}, false
	}
	for i := range w - 1 {
		logDet.addScaled(ptr(s[i*w+i].log()), 2)
	}
	f := fitted{logDet: logDet}
	last := s[w*w-1]
	f.rss = last.times(last)
	f.logVar = s[(w-2)*w+w-2].log().scaled(-2)
	f.beta = make([]float64, m.fixed)
	for i := m.fixed - 1; i >= 0; i-- {
		at := m.levels + i
		b := s[(w-1)*w+at].v
		for j := i + 1; j < m.fixed; j++ {
			b -= s[(m.levels+j)*w+at].v * f.beta[j]
		}
		f.beta[i] = b / s[at*w+at].v
	}
	return f, true
}

func ptr(j jet) *jet { return &j }

// eliminate gives border′border less what the blocked factor takes out of it,
// Σ C·W·C′ with W = Λ(ΛDΛ + I)⁻¹Λ, and the log determinant of the blocks.
func (m *crossedModel) eliminate(theta []float64) ([]jet, jet) {
	w := m.width()
	s := make([]jet, w*w)
	for i := range s {
		s[i].v = m.gram[i]
	}
	var logDet jet
	for k := range m.blocks {
		b := &m.blocks[k]
		w11, w12, w22, det := b.weights(theta, m.columns)
		logDet.addScaled(ptr(det.log()), 1)
		if m.columns == 1 {
			subOuter(s, w, b.border, &w11)
			continue
		}
		subOuter2(s, w, b.border[:w], b.border[w:], &w11, &w12, &w22)
	}
	return s, logDet
}

// weights is W of one block and the determinant of ΛDΛ + I.
func (b *modelPart) weights(theta []float64, columns int) (w11, w12, w22, det jet) {
	g1 := variable(0, theta[0])
	g1 = g1.times(g1)
	m11 := g1.scaled(b.d11)
	m11.v++
	if columns == 1 {
		return g1.times(m11.inverse()), jet{}, jet{}, m11
	}
	g2 := variable(1, theta[1])
	g2 = g2.times(g2)
	m22 := g2.scaled(b.d22)
	m22.v++
	g12 := g1.times(g2)
	det = m11.times(m22).plus(g12.scaled(-b.d12 * b.d12))
	inverse := det.inverse()
	return g1.times(m22).times(inverse), g12.scaled(-b.d12).times(inverse), g2.times(m11).times(inverse), det
}

// subOuter takes weight·c·c′ from the lower triangle of s.
func subOuter(s []jet, w int, c []float64, weight *jet) {
	for i, ci := range c {
		if ci == 0 {
			continue
		}
		for j := 0; j <= i; j++ {
			if c[j] != 0 {
				s[i*w+j].subFirst(weight, ci*c[j])
			}
		}
	}
}

// subFirst takes c·b from a, where b moves with parameter 0 only.
func (a *jet) subFirst(b *jet, c float64) {
	a.v -= c * b.v
	a.g[0] -= c * b.g[0]
	a.h[0] -= c * b.h[0]
}

// subOuter2 takes the two-column form w11·c·c′ + w12·(c·e′ + e·c′) + w22·e·e′
// from the lower triangle of s. The weights move with parameters 0 and 1 only.
func subOuter2(s []jet, w int, c, e []float64, w11, w12, w22 *jet) {
	for i := range c {
		if c[i] == 0 && e[i] == 0 {
			continue
		}
		for j := 0; j <= i; j++ {
			cc, ce, ee := c[i]*c[j], c[i]*e[j]+e[i]*c[j], e[i]*e[j]
			if cc == 0 && ce == 0 && ee == 0 {
				continue
			}
			a := &s[i*w+j]
			a.v -= cc*w11.v + ce*w12.v + ee*w22.v
			a.g[0] -= cc*w11.g[0] + ce*w12.g[0] + ee*w22.g[0]
			a.g[1] -= cc*w11.g[1] + ce*w12.g[1] + ee*w22.g[1]
			a.h[0] -= cc*w11.h[0] + ce*w12.h[0] + ee*w22.h[0]
			a.h[1] -= cc*w11.h[1] + ce*w12.h[1] + ee*w22.h[1]
			a.h[2] -= cc*w11.h[2] + ce*w12.h[2] + ee*w22.h[2]
		}
	}
}

// scaleLevels multiplies the second factor's rows and columns by its θ and
// adds 1 to its diagonal.
func (m *crossedModel) scaleLevels(s []jet, theta jet) {
	w := m.width()
	square := theta.times(theta)
	for i := range w {
		for j := 0; j <= min(i, m.levels-1); j++ {
			by := &theta
			if i < m.levels {
				by = &square
			}
			s[i*w+j] = s[i*w+j].times(*by)
			if i == j {
				s[i*w+j].v++
			}
		}
	}
}

// cholesky replaces the lower triangle of s by its Cholesky factor.
func cholesky(s []jet, w int) bool {
	for j := range w {
		whole := s[j*w+j].v
		for k := range j {
			s[j*w+j].subProduct(&s[j*w+k], &s[j*w+k])
		}
		if !(s[j*w+j].v > whole*1e-15) {
			return false
		}
		s[j*w+j] = s[j*w+j].sqrt()
		inverse := s[j*w+j].inverse()
		for i := j + 1; i < w; i++ {
			for k := range j {
				s[i*w+j].subProduct(&s[i*w+k], &s[j*w+k])
			}
			s[i*w+j] = s[i*w+j].times(inverse)
		}
	}
	return true
}

// deviance is the part of d(θ) that moves with θ: the determinants and
// (n-p)·log r².
func (m *crossedModel) deviance(f *fitted) jet {
	return f.logDet.plus(f.rss.log().scaled(float64(m.n - m.fixed)))
}

// criterion is the REML criterion, d(θ) in full.
func (m *crossedModel) criterion(f *fitted) float64 {
	df := float64(m.n - m.fixed)
	return f.logDet.v + df*(1+math.Log(2*math.Pi*f.rss.v/df))
}
