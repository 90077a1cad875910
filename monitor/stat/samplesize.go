// How many sampling units does a wanted precision take?
//
// Three answers, all from the coefficient of variation (sd ÷ mean, a fraction):
// the smallest n whose interval is narrow enough if the next sample varies like
// this one (RequiredN); the same with the t of the sample in hand, as some
// reclamation rules print it (PilotN); and the smallest n that will turn out
// narrow enough with a stated probability (AssuredN). The first is met only
// about half the time, since the standard deviation of the next sample is as
// often above as below.
//
// Assumes about normal unit values or means, and units drawn at random.
// Formulas: n = (t·CV/d)² with t at n-1 degrees of freedom (Krebs 1998,
// Ecological Methodology, pp. 173-178, as cited by Univ. of Missouri sheet
// nr3110); finite populations after Cochran (1977) ch. 2 and 4 (from memory).

package stat

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// MaxN is the largest sample size that is looked for; beyond it there is no
// answer.
const MaxN = 1_000_000

// Precision is what is asked of a mean: a half-width of the interval not above
// Relative × mean, at a Confidence.
type Precision struct {
	Relative   float64 // d, a fraction of the mean; 0.20 is ± 20 %
	Confidence float64 // of the interval, between 0 and 1
	OneSided   bool    // t(Confidence) in place of t((1+Confidence)/2)
	Possible   int     // N, the units there are in all; 0 for no limit
}

// valid tells whether the question has an answer. A single possible unit has
// no interval; a one-sided confidence of a half or less asks for nothing.
func (p Precision) valid() bool {
	finiteD := p.Relative > 0 && !math.IsInf(p.Relative, 1)
	return finiteD && p.Confidence > 0 && p.probability() > 0.5 && p.probability() < 1 &&
		p.Possible >= 0 && p.Possible != 1
}

// probability is the one that the quantile is taken at.
func (p Precision) probability() float64 {
	if p.OneSided {
		return p.Confidence
	}
	return (1 + p.Confidence) / 2
}

// unsampled is √(1 - n/N), the finite population correction of a standard
// error.
func (p Precision) unsampled(n int) float64 {
	if p.Possible == 0 {
		return 1
	}
	return math.Sqrt(max(0, 1-float64(n)/float64(p.Possible)))
}

// largest is the sample size at which the search ends.
func (p Precision) largest() int {
	if p.Possible == 0 {
		return MaxN
	}
	return min(MaxN, p.Possible)
}

// fewer shrinks a sample size meant for endless units to n/(1 + n/N)
// (Cochran 1977 ch. 4, from memory), written so that an infinite n gives N.
func (p Precision) fewer(n float64) float64 {
	if p.Possible == 0 {
		return n
	}
	return 1 / (1/n + 1/float64(p.Possible))
}

// HalfWidth is the half-width of the interval as a fraction of the mean,
//
//	t(n-1)·CV/√n·√(1 - n/N)
//
// for n units of coefficient of variation cv, two at least. It falls with n.
func HalfWidth(cv float64, n int, p Precision, tt *TTable) (float64, bool) {
	if !p.valid() || !validCV(cv) || n < 2 || p.Possible != 0 && n > p.Possible {
		return 0, false
	}
	return p.halfWidth(cv, n, tt), true
}

func (p Precision) halfWidth(cv float64, n int, tt *TTable) float64 {
	t := tt.Quantile(p.probability(), float64(n-1))
	return t * cv / math.Sqrt(float64(n)) * p.unsampled(n)
}

// RequiredN is the smallest n of two or more with
//
//	t(1-α/2, n-1)·CV/√n·√(1 - n/N) ≤ d
//
// (t(1-α, n-1) if one-sided). It is the exact smallest, not one step of an
// iteration. With N given it is never above N, where the interval has no width.
// There is no answer above MaxN.
func RequiredN(cv float64, p Precision, tt *TTable) (int, bool) {
	if !p.valid() || !validCV(cv) {
		return 0, false
	}
	// The normal quantile is below every t: the size it gives is at most a
	// little too small.
	z := distuv.UnitNormal.Quantile(p.probability())
	start := p.fewer(math.Pow(z*cv/p.Relative, 2))
	return smallest(start, p.largest(), func(n int) bool {
		return p.halfWidth(cv, n, tt) <= p.Relative
	})
}

// PilotN is (t·CV/d)² with t at the n-1 degrees of freedom of the sample in
// hand, not rounded up; with N given, that number divided by 1 + itself/N. It
// is the form of bond-release reports (Colorado Division of Reclamation, Mining
// and Safety, file 1250747, p. 52, table SA).
func PilotN(cv float64, n int, p Precision, tt *TTable) (float64, bool) {
	if !p.valid() || !validCV(cv) || n < 2 {
		return 0, false
	}
	t := tt.Quantile(p.probability(), float64(n-1))
	return finite(p.fewer(math.Pow(t*cv/p.Relative, 2)))
}

// Assurance is the probability that a sample of n units, two at least, turns
// out as precise as asked. The half-width of its interval is t·s/√n·f with
// f = √(1 - n/N), so it is at most d times the sample's own mean when
// ȳ√n/(s·f) ≥ t/d, and that ratio is noncentral t:
//
//	P[T′(n-1; √n/(CV·f)) ≥ t/d]
//
// (from the definition of noncentral t; cv is that of the population).
func Assurance(cv float64, n int, p Precision, tt *TTable) (float64, bool) {
	if !p.valid() || !validCV(cv) || n < 2 || p.Possible != 0 && n > p.Possible {
		return 0, false
	}
	return p.assurance(cv, n, tt), true
}

func (p Precision) assurance(cv float64, n int, tt *TTable) float64 {
	f := p.unsampled(n)
	if cv == 0 || f == 0 {
		return 1
	}
	df := float64(n - 1)
	limit := tt.Quantile(p.probability(), df) / p.Relative
	return 1 - NoncentralTCDF(limit, df, math.Sqrt(float64(n))/(cv*f))
}

// AssuredN is the smallest n of two or more whose Assurance is at least the one
// wanted, which must lie between 0.5 and 1 (1 itself only if every unit is
// taken, so it is refused).
//
// Assurance is not increasing everywhere: with two or three units s can be tiny
// by luck, and a few more units make that luck rarer. A scan of n = 2 to 150
// over 8 confidences, one- and two-sided, 12 precisions from 0.02 to 3 and 15
// CVs from 0.01 to 10 found it falling only where it was below 0.34. From 0.5
// upward what holds at n therefore holds at every larger n, and the search,
// which doubles its steps and then halves them, finds the smallest.
func AssuredN(cv, assurance float64, p Precision, tt *TTable) (int, bool) {
	if !(assurance >= 0.5 && assurance < 1) {
		return 0, false
	}
	start, ok := RequiredN(cv, p, tt)
	if !ok {
		return 0, false
	}
	return smallest(float64(start), p.largest(), func(n int) bool {
		return p.assurance(cv, n, tt) >= assurance
	})
}

// smallest is the least n from 2 to most for which enough(n) holds, given that
// it holds for every n above one for which it holds. It begins near start.
func smallest(start float64, most int, enough func(int) bool) (int, bool) {
	if most < 2 || !(start <= float64(most)) {
		return 0, false
	}
	// Throughout: low is not enough (or 1, which never is), high is.
	low, high := 1, max(2, int(start))
	for step := 1; !enough(high); step *= 2 {
		if high == most {
			return 0, false
		}
		low, high = high, min(high+step, most)
	}
	for step := 1; low == 1 && high-step > low; step *= 2 {
		if enough(high - step) {
			high -= step
		} else {
			low = high - step
		}
	}
	for high-low > 1 {
		middle := low + (high-low)/2
		if enough(middle) {
			high = middle
		} else {
			low = middle
		}
	}
	return high, true
}

func validCV(cv float64) bool { return cv >= 0 && !math.IsInf(cv, 1) }
