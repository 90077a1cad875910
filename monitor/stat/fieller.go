package stat

import "math"

// What is the ratio of two means, and how sure is that? Fieller's interval:
// all ρ for which y − ρ·x does not differ significantly from zero. Assumes
// that both means are about normal; unlike x̄ ± t·se it does not assume that
// the denominator is known well.

// MeanPair is a numerator Y and a denominator X: their means, and the
// variances and the covariance of these means.
type MeanPair struct {
	Y, X       float64
	VarY, VarX float64
	Cov        float64
}

// Residual is the variance of Y − ratio·X.
func (p MeanPair) Residual(ratio float64) float64 {
	return p.VarY - 2*ratio*p.Cov + ratio*ratio*p.VarX
}

// Fieller is the interval of the ratio Y/X, with t the quantile of the wanted
// confidence:
//
//	[R − g·Cov/VarX ± (t/X)·√(VarY − 2R·Cov + R²·VarX − g·(VarY − Cov²/VarX))] / (1 − g),  g = t²·VarX/X²
//
// ok is false where X is not above zero by more than t standard errors (g ≥ 1):
// then the ratios that fit are unbounded and no interval exists. Source:
// Fieller (1954), formula from memory; held to its definition by the tests,
// which solve (Y − ρX)² = t²·Var(Y − ρX) by other means.
func Fieller(p MeanPair, t float64) (Interval, bool) {
	if p.X <= 0 {
		return Interval{}, false
	}
	g := t * t * p.VarX / (p.X * p.X)
	if g >= 1 {
		return Interval{}, false
	}
	r, shift, rest := p.Y/p.X, 0.0, p.VarY
	if p.VarX > 0 {
		shift = g * p.Cov / p.VarX
		rest = p.Residual(r) - g*(p.VarY-p.Cov*p.Cov/p.VarX)
	}
	half := t / p.X * math.Sqrt(math.Max(0, rest))
	return Interval{Low: (r - shift - half) / (1 - g), High: (r - shift + half) / (1 - g)}, true
}

// PairOf is the pair of the means of n ≥ 2 values measured together, with the
// variances and covariance of these means: s²/n (Cochran 1977 ch. 2).
func PairOf(y, x []float64) MeanPair {
	n := float64(min(len(y), len(x)))
	if n < 2 {
		return MeanPair{}
	}
	my, mx := MomentsOf(y), MomentsOf(x)
	p := MeanPair{Y: my.Mean(), X: mx.Mean()}
	for i := range int(n) {
		dy, dx := y[i]-p.Y, x[i]-p.X
		p.VarY += dy * dy
		p.VarX += dx * dx
		p.Cov += dy * dx
	}
	p.VarY, p.VarX, p.Cov = p.VarY/(n-1)/n, p.VarX/(n-1)/n, p.Cov/(n-1)/n
	return p
}
