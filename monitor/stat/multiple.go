// Which of many small p are more than chance among many tests?
//
// Of m tests of nothing, m·α come out below α. Holm's adjusted p keep the
// chance of even one false alarm at α, whatever ties the tests together;
// Benjamini and Hochberg's keep the share of false ones among those called
// real at α, for tests that are independent or lean the same way.

package stat

import (
	"cmp"
	"slices"
)

// Holm gives the adjusted p of each of m tests, in the order they came:
//
//	sorted p(1) ≤ ... ≤ p(m):  max over j ≤ i of min(1, (m-j+1)·p(j))
//
// (Holm 1979, Scand. J. Statist. 6:65-70, from memory).
func Holm(p []float64) []float64 {
	out := make([]float64, len(p))
	var reached float64
	for j, place := range ascending(p) {
		reached = max(reached, min(1, float64(len(p)-j)*p[place]))
		out[place] = reached
	}
	return out
}

// BenjaminiHochberg gives the adjusted p of each of m tests, in the order they
// came:
//
//	min over j ≥ i of min(1, m/j·p(j))
//
// (Benjamini & Hochberg 1995, J. R. Statist. Soc. B 57:289-300, from memory).
func BenjaminiHochberg(p []float64) []float64 {
	out := make([]float64, len(p))
	reached := 1.0
	m := float64(len(p))
	for j, place := range slices.Backward(ascending(p)) {
		reached = min(reached, m/float64(j+1)*p[place])
		out[place] = reached
	}
	return out
}

// ascending lists the places of p from its smallest value on.
func ascending(p []float64) []int {
	places := make([]int, len(p))
	for i := range places {
		places[i] = i
	}
	slices.SortStableFunc(places, func(a, b int) int { return cmp.Compare(p[a], p[b]) })
	return places
}
