// Do good years follow good years more than chance would have it?
//
// The autocorrelation of the residuals of a straight line over pairs of
// consecutive years. Residuals of a fitted line are correlated by the fitting
// alone, and more so in short series; so the significance is not taken from
// ±2/√n, which is for long series of known mean, but from the exact
// distribution of the ratio of quadratic forms for independent normal errors,
// as Durbin & Watson (1971, Biometrika 58:1-19) do for their statistic, by
// Imhof's integral (1961, Biometrika 48:419-426; both from memory). Gaps are
// left out: only years one apart make a pair.

package stat

import (
	"math"

	"gonum.org/v1/gonum/integrate/quad"
	"gonum.org/v1/gonum/mat"
)

// Autocorrelation is the lag-1 autocorrelation of a series about its line.
type Autocorrelation struct {
	R     float64 // Σ e_t·e_(t+1) over consecutive pairs ÷ Σ e²
	Pairs int
	P     float64 // two-sided
}

// leastPairs is the number of consecutive pairs below which nothing is said.
const leastPairs = 3

// LagOne works the autocorrelation of the residuals of y on x out, x in order
// and whole where years; pairs are those whose x are 1 apart. It needs three
// pairs and residuals that are not 0.
func LagOne(x, y []float64) (Autocorrelation, bool) {
	fit, ok := LeastSquares(y, x)
	if !ok || fit.RSS == 0 {
		return Autocorrelation{}, false
	}
	n := len(x)
	a := Autocorrelation{}
	lag := mat.NewSymDense(n, nil)
	for i := 1; i < n; i++ {
		if x[i]-x[i-1] == 1 {
			a.Pairs++
			a.R += fit.Residuals[i] * fit.Residuals[i-1] / fit.RSS
			lag.SetSym(i-1, i, 0.5)
		}
	}
	if a.Pairs < leastPairs {
		return Autocorrelation{}, false
	}
	below, ok := ratioBelow(lag, x, a.R)
	a.P = 2 * min(below, 1-below)
	return a, ok
}

// ratioBelow is P(e'Ae/e'e ≤ r) for the residuals e of a straight line in x
// through independent normal errors. With M the projection on residuals, the
// ratio is below r when Σ(λ_i - r)·z_i² is below 0, λ the eigenvalues of MAM in
// the space of M and z standard normal.
func ratioBelow(a *mat.SymDense, x []float64, r float64) (float64, bool) {
	n := len(x)
	basis := residualBasis(x)
	var half, inner mat.Dense
	half.Mul(a, basis)
	inner.Mul(basis.T(), &half)
	sym := mat.NewSymDense(n-2, nil)
	for i := range n - 2 {
		for j := i; j < n-2; j++ {
			sym.SetSym(i, j, (inner.At(i, j)+inner.At(j, i))/2)
		}
	}
	var eigen mat.EigenSym
	if !eigen.Factorize(sym, false) {
		return 0, false
	}
	weights := eigen.Values(nil)
	for i := range weights {
		weights[i] -= r
	}
	return 1 - imhofAbove(weights), true
}

// residualBasis is an orthonormal basis of what lines in x leave over: the last
// n - 2 columns of Q.
func residualBasis(x []float64) mat.Matrix {
	n := len(x)
	c := centre(x)
	design := mat.NewDense(n, 2, nil)
	for i := range n {
		design.Set(i, 0, 1)
		design.Set(i, 1, c.value[i]/c.length)
	}
	var qr mat.QR
	qr.Factorize(design)
	var q mat.Dense
	qr.QTo(&q)
	return q.Slice(0, n, 2, n)
}

// imhofAbove is P(Σ w_i·z_i² > 0) for independent standard normal z,
//
//	½ + (1/π)·∫₀^∞ sin θ(u)/(u·ρ(u)) du,
//	θ = ½ Σ arctan(w_i·u),  ρ = Π (1 + w_i²·u²)^¼
//
// (Imhof 1961). The half line is brought to [0, 1] by u = (v/(1-v))², in which
// the integrand is smooth at both ends.
func imhofAbove(w []float64) float64 {
	var scale float64
	for _, v := range w {
		scale = max(scale, math.Abs(v))
	}
	if scale == 0 {
		return 0.5
	}
	const panels = 8
	var node, weight [panelNodes]float64
	quad.Legendre{}.FixedLocations(node[:], weight[:], -1, 1)
	var sum float64
	for p := range panels {
		for i, x := range node {
			v := (float64(p) + (1+x)/2) / panels
			root := v / (1 - v)
			u := root * root
			theta, logRho := 0.0, 0.0
			for _, l := range w {
				theta += math.Atan(l / scale * u)
				logRho += math.Log1p(l / scale * u * (l / scale * u))
			}
			// du/u = 2 dv/(v(1-v))
			sum += weight[i] / (2 * panels) * math.Sin(theta/2) * math.Exp(-logRho/4) * 2 / (v * (1 - v))
		}
	}
	return min(1, max(0, 0.5+sum/math.Pi))
}
