// Package monitor is the ecology: from the values of frames to production per
// area with its interval, and to whether the sample was enough.
//
// In come frame values (g/m², dry, on the ledger's basis, zeros included) as
// the ledger's views define them; out go results that carry their numbers and
// their remarks together, still in g/m². Conversion to display units happens
// where a result is printed.
//
// Missing is an invalid number, never 0 and never NaN. Nothing here reads a
// clock, draws at random or keeps state between calls, so the same ledger
// gives the same numbers in the same order.
package monitor
