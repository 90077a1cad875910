// How large would an effect have to be for this test to find it?
//
// A t test at level α finds an effect of δ standard errors with probability
// P(|T'| > t(1-α/2, df)), T' noncentral t with df degrees of freedom and
// noncentrality δ. The normal form, δ = z(1-α/2) + z(power), is far too hopeful
// with few degrees of freedom.

package stat

import "math"

// DetectableEffect is the number of standard errors that an effect must measure
// for a two-sided t test at level alpha with df degrees of freedom to find it
// with the given power (from the definition of noncentral t). A slope that can
// be detected is this times the slope's standard error. alpha and power lie
// between 0 and 1, power above alpha.
func DetectableEffect(alpha, power, df float64, tt *TTable) (float64, bool) {
	if !(alpha > 0 && alpha < power && power < 1) || !(df > 0) {
		return 0, false
	}
	t := tt.Quantile(1-alpha/2, df)
	short := func(effect float64) float64 {
		return power - (1 - NoncentralTCDF(t, df, effect)) - NoncentralTCDF(-t, df, effect)
	}
	low, high := 0.0, t+1
	for short(high) > 0 {
		if low, high = high, 2*high; high > 1e9 {
			return 0, false
		}
	}
	return finite(crossing(short, low, high))
}

// crossing finds where a falling function passes 0 between low, where it is
// above, and high, where it is not: false position in the form that halves the
// weight of an end that stays (Illinois; Dowell & Jarratt 1971, from memory).
func crossing(f func(float64) float64, low, high float64) float64 {
	fLow, fHigh := f(low), f(high)
	stays := 0
	for range 100 {
		if fHigh == 0 || high-low <= 1e-12*math.Abs(high) {
			return high
		}
		x := (low*fHigh - high*fLow) / (fHigh - fLow)
		v := f(x)
		if math.Abs(v) < 1e-14 {
			return x
		}
		if v > 0 {
			low, fLow = x, v
			if stays > 0 {
				fHigh /= 2
			}
			stays = 1
		} else {
			high, fHigh = x, v
			if stays < 0 {
				fLow /= 2
			}
			stays = -1
		}
	}
	return (low + high) / 2
}
