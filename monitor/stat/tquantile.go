// Which t belongs to this probability, and which probability to this t?
//
// Student's t with any positive degrees of freedom, whole or not (Satterthwaite
// gives fractions), and infinite degrees of freedom for the normal curve.
// Below 2,000 degrees of freedom the distribution function is the regularised
// incomplete beta function, taken from whichever end keeps its digits, and the
// quantile is gonum's polished by Newton steps on that function. From 2,000
// upward both come from Fisher's expansions around the normal curve, where the
// incomplete beta function slowly loses digits. Against R's pt and qt the two
// agree to 1e-12 and to a relative 1e-10, which the tests check.

package stat

import (
	"math"
	"sync"

	"gonum.org/v1/gonum/mathext"
	"gonum.org/v1/gonum/stat/distuv"
)

// expansionDF is the degrees of freedom from which the expansions are used.
const expansionDF = 2000

// tableLimit bounds what one TTable remembers: fractional degrees of freedom
// never repeat, and a ledger of a million frames must not fill the memory.
const tableLimit = 1 << 16

// TTable gives quantiles of Student's t and remembers them, since each costs
// many microseconds and the same few are asked for over and over. The zero
// value is ready; it may be used by several goroutines at once. It must not be
// copied after first use. A nil *TTable works and remembers nothing.
type TTable struct {
	mu    sync.RWMutex
	known map[tKey]float64
}

type tKey struct{ p, df float64 }

// Quantile is the t that a Student variable with df degrees of freedom stays
// below with probability p: for a two-sided interval at confidence c, p is
// (1+c)/2. Outside the open interval from 0 to 1 it is an infinity, and so it
// is without degrees of freedom (df not above 0), where nothing is known of
// the spread; at p = 0.5 it is 0.
func (tt *TTable) Quantile(p, df float64) float64 {
	if tt == nil {
		return tQuantile(p, df)
	}
	key := tKey{p, df}
	tt.mu.RLock()
	t, ok := tt.known[key]
	tt.mu.RUnlock()
	if ok {
		return t
	}
	t = tQuantile(p, df)
	tt.mu.Lock()
	defer tt.mu.Unlock()
	if tt.known == nil {
		tt.known = make(map[tKey]float64)
	}
	if len(tt.known) < tableLimit {
		tt.known[key] = t
	}
	return t
}

func tQuantile(p, df float64) float64 {
	switch {
	case p == 0.5 || math.IsNaN(p):
		return 0
	case p > 0.5:
		// Small lower tails keep their digits, upper ones do not.
		return -tQuantile(1-p, df)
	case p <= 0 || !(df > 0):
		return math.Inf(-1)
	case df >= expansionDF:
		return expandQuantile(distuv.UnitNormal.Quantile(p), df)
	}
	unit := distuv.StudentsT{Sigma: 1, Nu: df}
	t := unit.Quantile(p)
	for range 3 {
		density := unit.Prob(t)
		if density == 0 {
			break
		}
		step := (TCDF(t, df) - p) / density
		t -= step
		if math.Abs(step) <= 1e-15*math.Abs(t) {
			break
		}
	}
	return t
}

// expandQuantile turns a normal quantile z into a t quantile by the expansion
// in 1/df of Abramowitz & Stegun (1964) 26.7.5 (from memory).
func expandQuantile(z, df float64) float64 {
	z2 := z * z
	g1 := (z2 + 1) / 4
	g2 := ((5*z2+16)*z2 + 3) / 96
	g3 := (((3*z2+19)*z2+17)*z2 - 15) / 384
	g4 := ((((79*z2+776)*z2+1482)*z2-1920)*z2 - 945) / 92160
	return z + z*(g1+(g2+(g3+g4/df)/df)/df)/df
}

// TCDF is the probability that a Student variable with df degrees of freedom
// stays below t. With y = t²/(df+t²) and I the regularised incomplete beta
// function,
//
//	P(T ≤ t) = ½ ± ½·I_y(½, df/2) = ½·I_{1-y}(df/2, ½) for t < 0
//
// (Abramowitz & Stegun 1964, 26.7.1 and 26.5.2, from memory). Without degrees
// of freedom (df not above 0) it is ½ whatever t.
func TCDF(t, df float64) float64 {
	if !(df > 0) || t == 0 || math.IsNaN(t) {
		return 0.5
	}
	if t > 0 {
		return 1 - lowerTail(t, df)
	}
	return lowerTail(-t, df)
}

// lowerTail is P(T ≤ -t) for t > 0.
func lowerTail(t, df float64) float64 {
	if df >= expansionDF {
		return expandTail(t, df)
	}
	square := t * t
	if square < 1 {
		return 0.5 - 0.5*mathext.RegIncBeta(0.5, df/2, square/(df+square))
	}
	return 0.5 * mathext.RegIncBeta(df/2, 0.5, 1/(1+square/df))
}

// expandTail is P(T ≤ -t) for t > 0 and many degrees of freedom, by Fisher's
// expansion (1925, Metron 5:109-112, from memory) of the tail in 1/df.
func expandTail(t, df float64) float64 {
	normal := math.Erfc(t/math.Sqrt2) / 2
	t2 := t * t
	density := math.Exp(-t2/2) / math.Sqrt(2*math.Pi)
	if density == 0 {
		return normal
	}
	f1 := (t2 + 1) / 4
	f2 := (((3*t2-7)*t2-5)*t2 - 3) / 96
	f3 := (((((t2-11)*t2+14)*t2+6)*t2-3)*t2 - 15) / 384
	return normal + density*t*(f1+(f2+f3/df)/df)/df
}
