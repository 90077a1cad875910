// How much do groups differ, how much the units within them, and how many
// units per group are best?
//
// Frames within transects: unit = overall mean + group effect + rest, both
// random and independent. Groups may have different numbers of units. The
// components are the analysis-of-variance ones, unbiased without any
// assumption of normality; they equal restricted maximum likelihood where the
// groups are of one size and the between part is positive.

package stat

import "math"

// OneWay splits the sum of squares of grouped values into the part between
// group means and the part within groups, with their degrees of freedom (a-1
// and N-a for N values in a groups):
//
//	SSB = Σ nᵢ(ȳᵢ - ȳ)²,  SSW = ΣΣ(yᵢⱼ - ȳᵢ)²
//
// (Snedecor & Cochran 1967, Statistical Methods, ch. 10, from memory). Values
// are taken relative to the first one, so that a large common level costs no
// digits. Empty groups are left out. It needs two groups, and one of them with
// two values.
func OneWay(groups [][]float64) (ssb, ssw float64, dfb, dfw int, ok bool) {
	var origin float64
	var units, used int
	for _, g := range groups {
		if len(g) == 0 {
			continue
		}
		if used == 0 {
			origin = g[0]
		}
		used++
		units += len(g)
	}
	if used < 2 || units == used {
		return 0, 0, 0, 0, false
	}

	means := make([]float64, len(groups))
	var grand float64
	for i, g := range groups {
		var m Moments
		for _, y := range g {
			m.Add(y - origin)
		}
		means[i] = m.Mean()
		ssw += m.m2
		grand += means[i] * float64(len(g)) / float64(units)
	}
	for i, g := range groups {
		d := means[i] - grand
		ssb += float64(len(g)) * d * d
	}
	return ssb, ssw, used - 1, units - used, true
}

// TwoStage holds the variance components of units within groups.
type TwoStage struct {
	Between float64 // variance of the group effects, never below 0
	Within  float64 // variance of units within a group
	// BetweenClipped says that the estimate of Between was negative and was
	// set to 0: the groups differ less than their units would make them by
	// chance.
	BetweenClipped bool
	Groups         int     // groups with values
	Units          int     // values in all
	PerGroup       float64 // n₀, the effective number of units per group
}

// TwoStageOf estimates the components from the mean squares,
//
//	Within = MSW,  Between = (MSB - MSW)/n₀,  n₀ = (N - Σnᵢ²/N)/(a-1)
//
// (Snedecor & Cochran 1967 ch. 10; Searle, Casella & McCulloch 1992, Variance
// Components, ch. 3; from memory). It needs what OneWay needs.
func TwoStageOf(groups [][]float64) (TwoStage, bool) {
	ssb, ssw, dfb, dfw, ok := OneWay(groups)
	if !ok {
		return TwoStage{}, false
	}
	s := TwoStage{Groups: dfb + 1, Units: dfb + 1 + dfw, Within: ssw / float64(dfw)}
	var squares float64
	for _, g := range groups {
		squares += float64(len(g)) * float64(len(g))
	}
	total := float64(s.Units)
	s.PerGroup = (total - squares/total) / float64(dfb)
	s.Between = (ssb/float64(dfb) - s.Within) / s.PerGroup
	if s.Between < 0 {
		s.Between, s.BetweenClipped = 0, true
	}
	return s, true
}

// OptimalPerGroup is the number of units per group that gives the most precise
// mean for a budget,
//
//	m = √(costRatio · Within/Between)
//
// where costRatio is the cost of adding a group (the walk to a new transect)
// over the cost of adding a unit to it (one more frame); Cochran 1977 ch. 10,
// from memory. It is not rounded, and never below 1. There is no answer where
// Between is 0: then groups do not matter, and the more units share one the
// cheaper.
func (s TwoStage) OptimalPerGroup(costRatio float64) (float64, bool) {
	if !(costRatio > 0) || math.IsInf(costRatio, 1) || !(s.Between > 0) {
		return 0, false
	}
	m, ok := finite(math.Sqrt(costRatio * (s.Within / s.Between)))
	if !ok {
		return 0, false
	}
	return max(1, m), true
}
