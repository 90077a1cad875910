// Along which straight line do the values run, and how sure is its slope?
//
// Ordinary least squares of y on an intercept and one or more covariates.
// Assumes that the errors are independent, about normal and of one variance;
// the covariates are taken as they are, without error. Columns are centred and
// brought to length one before a QR factorisation, so that calendar
// years and other large, nearly equal numbers cost no digits: the normal
// equations would lose half of them (NIST's Longley). Formulas: Draper & Smith
// (1998), Applied Regression Analysis, ch. 1, 5 and 6 (from memory); held to
// NIST's certified values by the tests.

package stat

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// Coefficient is an estimate with its standard error.
type Coefficient struct {
	Estimate, SE float64
}

// LinearFit is a straight line, or a plane, through values.
type LinearFit struct {
	N         int
	DF        float64 // N - 1 - number of covariates, 1 at least
	Intercept Coefficient
	Slopes    []Coefficient // one for each covariate
	Residuals []float64
	RSS       float64 // residual sum of squares
	TSS       float64 // Σ(y - ȳ)²
	// Exact says that what is left beside the line is rounding: RSS and the
	// standard errors are set to 0, and so are slopes that are rounding.
	Exact bool
	size  float64 // √Σy², against which rounding is judged
}

const (
	// collinear is the length that a centred covariate of length one keeps
	// beside the others when it is taken as a mixture of them.
	collinear = 1e-10
	// rounding is the residual, relative to the values, that is taken as none.
	rounding = 1e-12
)

// LeastSquares fits y = intercept + Σ slope·x by least squares: with X the
// centred covariates, b = (X'X)⁻¹X'y, s² = RSS/df, var(b) = s²(X'X)⁻¹ and
// var(intercept) = s²(1/n + x̄'(X'X)⁻¹x̄). It needs a degree of freedom for the
// error, and covariates that vary and are not mixtures of one another.
func LeastSquares(y []float64, x ...[]float64) (LinearFit, bool) {
	n, k := len(y), len(x)
	df := n - 1 - k
	if k == 0 || df < 1 {
		return LinearFit{}, false
	}
	columns := make([]centred, k)
	for j, c := range x {
		columns[j] = centre(c)
		if len(c) != n || !(columns[j].length > 0) {
			return LinearFit{}, false
		}
	}
	r, qty, left, ok := factor(centre(y), columns)
	if !ok {
		return LinearFit{}, false
	}
	f := LinearFit{N: n, DF: float64(df), Residuals: left}
	yc := centre(y)
	f.TSS = yc.length * yc.length
	for _, e := range left {
		f.RSS += e * e
	}
	f.setExact(y)
	f.solve(r, qty, columns, yc.mean)
	return f, f.allFinite()
}

// centred is a column about its mean.
type centred struct {
	mean   float64
	value  []float64
	length float64
}

func centre(x []float64) centred {
	m := MomentsOf(x)
	c := centred{mean: m.Mean(), value: make([]float64, len(x))}
	var rest float64
	for i, v := range x {
		c.value[i] = v - c.mean
		rest += c.value[i]
	}
	// What rounding of the mean left in every deviation.
	rest /= float64(max(1, len(x)))
	var sum float64
	for i := range c.value {
		c.value[i] -= rest
		sum += c.value[i] * c.value[i]
	}
	c.mean += rest
	c.length = math.Sqrt(sum)
	return c
}

// factor gives R of the QR factorisation of the columns brought to length one,
// Q'y and the residuals, by Gram-Schmidt done twice, which is as orthogonal as
// Householder's way ("twice is enough"; Giraud, Langou & Rozložník 2005, from
// memory) and takes no n × n matrix.
func factor(y centred, columns []centred) (r *mat.TriDense, qty []float64, left []float64, ok bool) {
	k := len(columns)
	r = mat.NewTriDense(k, mat.Upper, nil)
	q := make([][]float64, k)
	for j, c := range columns {
		q[j] = make([]float64, len(c.value))
		for i, v := range c.value {
			q[j][i] = v / c.length
		}
		for range 2 {
			for i := range j {
				r.SetTri(i, j, r.At(i, j)+takeOut(q[j], q[i]))
			}
		}
		length := math.Sqrt(dot(q[j], q[j]))
		if !(length > collinear) {
			return nil, nil, nil, false
		}
		r.SetTri(j, j, length)
		for i := range q[j] {
			q[j][i] /= length
		}
	}
	qty, left = make([]float64, k), append([]float64{}, y.value...)
	for range 2 {
		for j := range k {
			qty[j] += takeOut(left, q[j])
		}
	}
	return r, qty, left, true
}

// takeOut removes from v its part along the unit vector q and returns how long
// that part was.
func takeOut(v, q []float64) float64 {
	part := dot(v, q)
	for i := range v {
		v[i] -= part * q[i]
	}
	return part
}

func dot(a, b []float64) float64 {
	var sum float64
	for i := range a {
		sum += a[i] * b[i]
	}
	return sum
}

// setExact looks whether anything but rounding is left beside the line.
func (f *LinearFit) setExact(y []float64) {
	f.size = math.Sqrt(dot(y, y))
	limit := rounding * rounding * f.size * f.size
	if f.TSS <= limit {
		f.TSS = 0
	}
	if f.RSS > limit {
		return
	}
	f.Exact, f.RSS = true, 0
	clear(f.Residuals)
}

// solve fills in the coefficients from R·(length·b) = Q'y.
func (f *LinearFit) solve(r *mat.TriDense, qty []float64, columns []centred, mean float64) {
	k := len(columns)
	var inverse mat.TriDense
	if inverse.InverseTri(r) != nil {
		return
	}
	sigma := math.Sqrt(f.RSS / f.DF)
	f.Slopes = make([]Coefficient, k)
	f.Intercept.Estimate = mean
	for j, c := range columns {
		var b, square float64
		for i := j; i < k; i++ {
			b += inverse.At(j, i) * qty[i]
			square += inverse.At(j, i) * inverse.At(j, i)
		}
		if f.Exact && math.Abs(b) <= 10*rounding*f.size {
			b = 0
		}
		f.Slopes[j] = Coefficient{b / c.length, sigma * math.Sqrt(square) / c.length}
		f.Intercept.Estimate -= f.Slopes[j].Estimate * c.mean
	}
	// x̄'(X'X)⁻¹x̄ is the squared length of R'⁻¹·(x̄/length).
	variance := 1 / float64(f.N)
	for i := range k {
		var part float64
		for j := 0; j <= i; j++ {
			part += inverse.At(j, i) * columns[j].mean / columns[j].length
		}
		variance += part * part
	}
	f.Intercept.SE = sigma * math.Sqrt(variance)
}

func (f *LinearFit) allFinite() bool {
	if len(f.Slopes) == 0 {
		return false
	}
	for _, c := range append([]Coefficient{f.Intercept}, f.Slopes...) {
		if _, ok := finite(c.Estimate); !ok {
			return false
		}
		if _, ok := finite(c.SE); !ok {
			return false
		}
	}
	return true
}

// Test is the t ratio of a coefficient and its two-sided p at df degrees of
// freedom. There is none without a standard error.
func (c Coefficient) Test(df float64) (t, p float64, ok bool) {
	if !(c.SE > 0) || !(df > 0) {
		return 0, 0, false
	}
	t, ok = finite(c.Estimate / c.SE)
	return t, 2 * TCDF(-math.Abs(t), df), ok
}

// Interval is the t interval of a coefficient at df degrees of freedom.
func (c Coefficient) Interval(confidence, df float64, tt *TTable) Interval {
	return TInterval(c.Estimate, c.SE, tt.Quantile((1+confidence)/2, df))
}

// Correlation is Pearson's r; there is none where one of the two does not
// vary.
func Correlation(x, y []float64) (float64, bool) {
	a, b := centre(x), centre(y)
	if len(x) != len(y) || !(a.length > 0) || !(b.length > 0) {
		return 0, false
	}
	var sum float64
	for i := range a.value {
		sum += a.value[i] / a.length * (b.value[i] / b.length)
	}
	return finite(max(-1, min(1, sum)))
}
