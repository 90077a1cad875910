package monitor

import "math"

// Percent is a fraction that somebody typed, such as a confidence, in percent
// and as it was meant: 100 times 0.07 is 7.000000000000001 to a computer. It is
// for words; what was computed keeps its digits.
func Percent(fraction float64) float64 { return math.Round(fraction*1e12) / 1e10 }
