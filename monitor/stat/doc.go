// Package stat holds the statistics of the program that know nothing of
// plants: moments, t intervals, sums of variances, ratios, sample sizes, tests
// of a change with their power, many tests together, and variance components.
//
// Numbers come in as float64 in whatever unit the caller keeps and go out in
// the same unit, variances in its square. Inputs must be finite; what is
// missing is left out by the caller before it gets here.
//
// A value that does not exist (the standard deviation of one number, the
// skewness of equal numbers, a sample size beyond reach) comes back with
// ok = false and a zero beside it. No function returns NaN, and none panics.
//
// Nothing here reads a clock, draws a random number or keeps state between
// calls. The one thing that remembers is TTable, which the caller owns.
//
// Each file opens with the question it answers, the assumptions under which
// the answer holds, and the source of its formulas. Section numbers of books
// are given from memory unless the comment says otherwise; the results are
// held to published values and to R and SciPy by the tests.
package stat
