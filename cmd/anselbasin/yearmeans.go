package main

import (
	"math"
)

// trueMeans gives the true mean of one component of a site for each growth
// year, in air-dry g/m²:
//
//	base · exp(slope·(year − middle)) · (1 + rain·(fall/mean fall − 1) + e)
//
// The year effect e is part shared by all sites and part the site's own, made
// free of any straight line on year and on rain. So a trend is in the truth
// only where a slope or rain put it, and frames and drying blur it again.
func trueMeans(s *site, p plant, g rainGauge) []float64 {
	years := centredYears()
	falls := g.falls(s.window)
	effect := yearEffects(s, p, years, falls)
	usual := mean(falls)
	out := make([]float64, yearCount)
	for i := range out {
		factor := 1 + float64(p.rain*(falls[i]/usual-1)) + effect[i]
		trend := math.Exp(float64(p.slope * years[i]))
		out[i] = float64(float64(p.base*trend) * math.Max(factor, 0.2))
	}
	return out
}

// yearEffects draws what the years do beyond rain and trend.
func yearEffects(s *site, p plant, years, falls []float64) []float64 {
	shared := normals(stream(sharedSeed, "years"), yearCount)
	own := normals(stream(s.seed, s.code+p.component+p.season+"years"), yearCount)
	for i := range own {
		own[i] += shared[i]
	}
	return residual(own, p.spread, years, falls)
}
