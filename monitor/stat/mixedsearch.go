// Where is the deviance of a mixed model least?
//
// Newton steps with the exact curvature, each eigenvalue of it made positive
// (so that a saddle is left, not sought), shortened until the deviance falls.

package stat

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// search minimises the deviance over θ from θ = 1 and gives θ ≥ 0; a θ that
// could as well be 0 is exactly 0.
func (m *crossedModel) search() ([]float64, fitted, error) {
	theta := make([]float64, m.parameters())
	for i := range theta {
		theta[i] = 1
	}
	f, ok := m.at(theta)
	for range newtonSteps {
		if !ok || f.rss.v < noRest*float64(m.n) {
			return nil, fitted{}, ErrNoVariance
		}
		d := m.deviance(&f)
		step, promise := newtonStep(&d, theta)
		next, g, found := theta, f, false
		if promise >= settled {
			next, g, found = m.descend(theta, step, d.v)
		}
		if !found {
			if promise >= lost {
				return nil, fitted{}, ErrNotConverged
			}
			theta, f = m.snap(theta, f)
			if next, g, found = m.leaveSaddle(theta, &f); !found {
				return theta, f, nil
			}
		}
		theta, f, ok = next, g, true
	}
	return nil, fitted{}, ErrNotConverged
}

// newtonStep is -|H|⁻¹·g, no component longer than its θ or 1, and the fall of
// the deviance it promises.
func newtonStep(d *jet, theta []float64) (step []float64, promise float64) {
	p := len(theta)
	h := mat.NewSymDense(p, nil)
	for i := range p {
		for j := 0; j <= i; j++ {
			h.SetSym(i, j, d.hessian(i, j))
		}
	}
	step = make([]float64, p)
	var eigen mat.EigenSym
	if !eigen.Factorize(h, true) {
		return step, math.Inf(1)
	}
	var vectors mat.Dense
	eigen.VectorsTo(&vectors)
	for k, value := range eigen.Values(nil) {
		var slope float64
		for i := range p {
			slope += vectors.At(i, k) * d.g[i]
		}
		length := slope / max(math.Abs(value), 1e-9)
		promise += slope * length / 2
		for i := range p {
			step[i] -= length * vectors.At(i, k)
		}
	}
	shorten := 1.0
	for i := range step {
		shorten = min(shorten, max(1, math.Abs(theta[i]))/math.Abs(step[i]))
	}
	for i := range step {
		step[i] *= shorten
	}
	return step, promise
}

// descend halves the step until the deviance falls.
func (m *crossedModel) descend(theta, step []float64, from float64) ([]float64, fitted, bool) {
	next := make([]float64, len(theta))
	for length := 1.0; length > 1e-6; length /= 2 {
		for i := range theta {
			next[i] = math.Abs(theta[i] + length*step[i])
		}
		if f, ok := m.at(next); ok && m.deviance(&f).v < from {
			return next, f, true
		}
	}
	return nil, fitted{}, false
}

// snap sets each small θ to 0 where the deviance is none the worse for it.
func (m *crossedModel) snap(theta []float64, f fitted) ([]float64, fitted) {
	for i := range theta {
		if theta[i] == 0 || theta[i] > 0.02 {
			continue
		}
		try := append([]float64{}, theta...)
		try[i] = 0
		if g, ok := m.at(try); ok && m.deviance(&g).v <= m.deviance(&f).v+1e-9 {
			theta, f = try, g
		}
	}
	return theta, f
}

// leaveSaddle moves a θ of 0 to where the deviance is lower, if it falls on
// leaving 0.
func (m *crossedModel) leaveSaddle(theta []float64, f *fitted) ([]float64, fitted, bool) {
	d := m.deviance(f)
	for i := range theta {
		if theta[i] != 0 || d.hessian(i, i) >= 0 {
			continue
		}
		next := append([]float64{}, theta...)
		for next[i] = 0.2; next[i] > 0.01; next[i] /= 2 {
			if g, ok := m.at(next); ok && m.deviance(&g).v < d.v-2e-9 {
				return next, g, true
			}
		}
	}
	return theta, *f, false
}

// satterthwaite is the degrees of freedom of the variance v = σ²·v(θ) of the
// last coefficient,
//
//	df = 2v²/(g′·A·g),   A = 2·H⁻¹
//
// with g the gradient of v and H the Hessian of the deviance in the variance
// parameters (Kuznetsova, Brockhoff & Christensen 2017, J. Stat. Software
// 82(13), from memory). Here they are θ and log σ², in which
// H = [logDet″ + r²″/σ², -r²′/σ²; ·, n-p]. A θ of 0 is left out: v and the
// deviance are even in it, so it would add nothing. Of an H that is not
// positive definite only the positive part is inverted.
func (m *crossedModel) satterthwaite(theta []float64, f *fitted) (float64, bool) {
	var active []int
	for i := range theta {
		if theta[i] > 0 {
			active = append(active, i)
		}
	}
	rest := float64(m.n - m.fixed)
	sigma2 := f.rss.v / rest
	p := len(active)
	h := mat.NewSymDense(p+1, nil)
	g := make([]float64, p+1)
	// Scaled by θ, so that no eigenvalue is small only by its unit.
	for a, i := range active {
		g[a] = theta[i] * f.logVar.g[i]
		for b, j := range active[:a+1] {
			h.SetSym(a, b, theta[i]*theta[j]*(f.logDet.hessian(i, j)+f.rss.hessian(i, j)/sigma2))
		}
		h.SetSym(p, a, -theta[i]*f.rss.g[i]/sigma2)
	}
	h.SetSym(p, p, rest)
	g[p] = 1
	var eigen mat.EigenSym
	if !eigen.Factorize(h, true) {
		return 0, false
	}
	var vectors mat.Dense
	eigen.VectorsTo(&vectors)
	values := eigen.Values(nil)
	var spread float64 // g′H⁻¹g
	for k, value := range values {
		if value <= 1e-12*values[p] {
			continue
		}
		var along float64
		for i := range g {
			along += vectors.At(i, k) * g[i]
		}
		spread += along * along / value
	}
	return finite(1 / spread)
}
