// How does a result move when the parameters move?
//
// A jet is a number together with its exact first and second derivatives in up
// to three parameters (forward differentiation: every sum and product carries
// its derivatives along by the rules of calculus, so there is no step size and
// no rounding of differences). The mixed models need the gradient and the
// curvature of their deviance, and of the variance of their slope.

package stat

import "math"

// jetParameters is the largest number of parameters a jet differentiates in.
const jetParameters = 3

// jet is a value with its gradient and the lower triangle of its Hessian, in
// the order (0,0), (1,0), (1,1), (2,0), (2,1), (2,2).
type jet struct {
	v float64
	g [jetParameters]float64
	h [jetParameters * (jetParameters + 1) / 2]float64
}

// variable is parameter i at value v.
func variable(i int, v float64) jet {
	j := jet{v: v}
	j.g[i] = 1
	return j
}

// addScaled adds c·b to a in place.
func (a *jet) addScaled(b *jet, c float64) {
	a.v += c * b.v
	for i := range a.g {
		a.g[i] += c * b.g[i]
	}
	for i := range a.h {
		a.h[i] += c * b.h[i]
	}
}

// subProduct takes b·c from a in place.
func (a *jet) subProduct(b, c *jet) {
	a.v -= b.v * c.v
	a.g[0] -= b.v*c.g[0] + b.g[0]*c.v
	a.g[1] -= b.v*c.g[1] + b.g[1]*c.v
	a.g[2] -= b.v*c.g[2] + b.g[2]*c.v
	a.h[0] -= b.v*c.h[0] + b.h[0]*c.v + 2*b.g[0]*c.g[0]
	a.h[1] -= b.v*c.h[1] + b.h[1]*c.v + b.g[1]*c.g[0] + b.g[0]*c.g[1]
	a.h[2] -= b.v*c.h[2] + b.h[2]*c.v + 2*b.g[1]*c.g[1]
	a.h[3] -= b.v*c.h[3] + b.h[3]*c.v + b.g[2]*c.g[0] + b.g[0]*c.g[2]
	a.h[4] -= b.v*c.h[4] + b.h[4]*c.v + b.g[2]*c.g[1] + b.g[1]*c.g[2]
	a.h[5] -= b.v*c.h[5] + b.h[5]*c.v + 2*b.g[2]*c.g[2]
}

func (a jet) plus(b jet) jet {
	a.addScaled(&b, 1)
	return a
}

func (a jet) times(b jet) jet {
	var product jet
	product.subProduct(&a, &b)
	return product.scaled(-1)
}

func (a jet) scaled(c float64) jet {
	var s jet
	s.addScaled(&a, c)
	return s
}

// chain is f(a) from f, f′ and f″ at a's value.
func (a jet) chain(f, f1, f2 float64) jet {
	out := jet{v: f}
	for i := range a.g {
		out.g[i] = f1 * a.g[i]
	}
	k := 0
	for i := range a.g {
		for j := 0; j <= i; j++ {
			out.h[k] = f1*a.h[k] + f2*a.g[i]*a.g[j]
			k++
		}
	}
	return out
}

func (a jet) sqrt() jet {
	r := math.Sqrt(a.v)
	return a.chain(r, 0.5/r, -0.25/(r*a.v))
}

func (a jet) inverse() jet {
	r := 1 / a.v
	return a.chain(r, -r*r, 2*r*r*r)
}

func (a jet) log() jet {
	r := 1 / a.v
	return a.chain(math.Log(a.v), r, -r*r)
}

// hessian is the second derivative in parameters i and j.
func (a *jet) hessian(i, j int) float64 {
	if j > i {
		i, j = j, i
	}
	return a.h[i*(i+1)/2+j]
}
