package main

import (
	"encoding/json"
	"math"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"
)

// readTruth decodes the frozen truth.
func readTruth(t *testing.T, files map[string][]byte) truthFile {
	t.Helper()
	var f truthFile
	if err := json.Unmarshal(files["truth.json"], &f); err != nil {
		t.Fatal(err)
	}
	return f
}

// TestPromises works the yearly means out of the frozen files and holds every
// verdict that truth.json promises.
func TestPromises(t *testing.T) {
	files := readDir(t, frozen)
	c := readBack(t, files)
	for _, s := range readTruth(t, files).Sites {
		for _, p := range s.Components {
			if p.Promise.OLS != "too few years" {
				c.hold(t, files, siteOf(s.Site), p.Component, p.Promise)
			}
		}
		c.hold(t, files, siteOf(s.Site), "production", s.Production)
	}
}

// hold tests the promises on one component of a site.
func (c *recount) hold(t *testing.T, files map[string][]byte, s *site, component string, p promise) {
	t.Helper()
	years, means := c.yearly(s, component)
	rain := c.rainOf(t, files, s, years)
	slope, _, pp := ols(years, means)
	held, _, ppHeld := ols(years, means, rain)
	_, _, ppRain := ols(rain, means, years)
	t.Logf("%s %s: %d years, mean %.1f g/m2, slope %+.1f %% p %.4f; rain held %+.1f %% p %.4f; rain p %.4f",
		s.code, component, len(years), mean(means), 100*slope/mean(means), pp, 100*held/mean(means), ppHeld, ppRain)
	if !kept(p.OLS, slope, pp) {
		t.Errorf("%s %s: promised %q, slope %g, p %g", s.code, component, p.OLS, slope, pp)
	}
	if !kept(p.OLSRain, held, ppHeld) {
		t.Errorf("%s %s with rain held: promised %q, slope %g, p %g", s.code, component, p.OLSRain, held, ppHeld)
	}
}

// kept says whether a slope and its p are what was promised.
func kept(promise string, slope, p float64) bool {
	switch promise {
	case "no trend":
		return p > 0.2
	case "increasing":
		return slope > 0 && p < 0.05
	case "decreasing":
		return slope < 0 && p < 0.05
	}
	return promise == "not promised"
}

// TestRainExplains holds that rain itself is detected where it alone makes
// the trend, and that it rises there and nowhere else.
func TestRainExplains(t *testing.T) {
	files := readDir(t, frozen)
	c := readBack(t, files)
	for _, s := range sites {
		years, means := c.yearly(s, "herbaceous")
		rain := c.rainOf(t, files, s, years)
		_, _, pRain := ols(rain, means, years)
		if s.code == "THIMBLE" && pRain > 0.01 {
			t.Errorf("rain is not detected at THIMBLE: p %g", pRain)
		}
		rise, _, p := ols(years, rain)
		if rises := rise > 0 && p < 0.01; rises != (s.code == "THIMBLE") {
			t.Errorf("%s: rain slope %g mm a year, p %g", s.code, rise, p)
		}
	}
}

// TestRealised holds the means of the files against the truth of the frames
// they were drawn from: at sites without faults they agree within the noise
// of drying, book values and rounding.
func TestRealised(t *testing.T) {
	files := readDir(t, frozen)
	c := readBack(t, files)
	for _, s := range readTruth(t, files).Sites {
		for _, p := range s.Components {
			for _, y := range p.Years {
				v := c.values(occasion{s.Site, y.Year, p.Season}, p.Component)
				if s.Clean && len(v) != y.Frames {
					t.Errorf("%s %s %d: %d frames, truth says %d", s.Site, p.Component, y.Year, len(v), y.Frames)
				}
				if off := mean(v)/y.RealisedMean - 1; s.Clean && math.Abs(off) > 0.15 {
					t.Errorf("%s %s %d: mean %.1f, truth %.1f g/m2", s.Site, p.Component, y.Year, mean(v), y.RealisedMean)
				}
			}
		}
	}
}

// TestAdequacyDiffers holds that some occasions have enough frames for ± 20 %
// of the mean at 80 % confidence and that some have not.
func TestAdequacyDiffers(t *testing.T) {
	c := readBack(t, readDir(t, frozen))
	adequate, short := 0, 0
	for _, s := range sites {
		for _, y := range growthYears() {
			v := c.values(occasion{s.code, y, "peak"}, "herbaceous")
			if len(v) == 0 {
				continue
			}
			d := without(v, nil)
			se := math.Sqrt(dot(d, d) / float64(len(v)-1) / float64(len(v)))
			q := distuv.StudentsT{Sigma: 1, Nu: float64(len(v) - 1)}.Quantile(0.9)
			if q*se <= 0.2*mean(v) {
				adequate++
			} else {
				short++
			}
		}
	}
	if adequate < 30 || short < 10 {
		t.Errorf("%d occasions adequate and %d short", adequate, short)
	}
}
