package charts

import (
	"fmt"
	"math"
	"strings"
)

// validate refuses a Report that cannot be printed truthfully: numbers that
// are not finite (a chart library drops such a chart without a word), years
// out of order, sites or series that appear twice.
func (r *Report) validate() error {
	if strings.TrimSpace(r.Unit) == "" || strings.TrimSpace(r.Basis) == "" {
		return fmt.Errorf("report: unit and basis must be named")
	}
	if !(r.Confidence > 0 && r.Confidence < 1) {
		return fmt.Errorf("report: confidence %v is not between 0 and 1", r.Confidence)
	}
	if !finite(r.PrecisionPct) || r.PrecisionPct < 0 {
		return fmt.Errorf("report: wanted precision %v is not a percentage", r.PrecisionPct)
	}
	if r.Also != nil && !(r.Also.Factor > 0 && finite(r.Also.Factor)) {
		return fmt.Errorf("report: one %s is %v %s", r.Unit, r.Also.Factor, r.Also.Name)
	}
	names := map[string]string{}
	for i := range r.Sites {
		s := &r.Sites[i]
		name := pageName(s.Code)
		if other, taken := names[name]; taken {
			return fmt.Errorf("report: sites %q and %q would share the page %s", other, s.Code, name)
		}
		names[name] = s.Code
		if err := s.validate(); err != nil {
			return fmt.Errorf("report: site %q: %w", s.Code, err)
		}
	}
	return nil
}

func (s *Site) validate() error {
	seen := map[[2]string]bool{}
	for i := range s.Series {
		x := &s.Series[i]
		key := [2]string{x.Component, x.Season}
		if seen[key] {
			return fmt.Errorf("%s in season %q appears twice", x.Component, x.Season)
		}
		seen[key] = true
		for j := range x.Years {
			if j > 0 && x.Years[j].Year <= x.Years[j-1].Year {
				return fmt.Errorf("%s: year %d does not follow %d", x.Component, x.Years[j].Year, x.Years[j-1].Year)
			}
			if err := x.Years[j].validate(); err != nil {
				return fmt.Errorf("%s %d: %w", x.Component, x.Years[j].Year, err)
			}
		}
		if err := x.validateMore(); err != nil {
			return fmt.Errorf("%s: %w", x.Component, err)
		}
	}
	return s.validateMore()
}

func (y *Year) validate() error {
	for _, f := range []struct {
		name  string
		value *float64
	}{
		{"mean", y.Mean}, {"sd", y.SD}, {"se", y.SE}, {"se of drying", y.SEDrying}, {"df", y.DF},
		{"cv", y.CVPct}, {"lower limit", y.Low}, {"upper limit", y.High},
		{"lower transformed limit", y.HallLow}, {"upper transformed limit", y.HallHigh},
		{"half-width", y.HalfWidthPct}, {"number needed", y.Required}, {"book share", y.BookPct},
		{"mean at lower book values", y.BookLow}, {"mean at higher book values", y.BookHigh},
		{"detectable change", y.Detectable}, {"full season", y.FullSeason}, {"growth completed", y.GrowthPct},
	} {
		if f.value != nil && !finite(*f.value) {
			return fmt.Errorf("%s is %v", f.name, *f.value)
		}
	}
	for _, v := range y.Frames {
		if !finite(v) {
			return fmt.Errorf("a frame is %v", v)
		}
	}
	for _, c := range y.ClassShares {
		if !(c.Share >= 0 && c.Share <= 1+1e-9) {
			return fmt.Errorf("the confidence of class %q is %v", c.Label, c.Share)
		}
	}
	for i, e := range y.Effort {
		if !finite(e.HalfPct) || i > 0 && e.N <= y.Effort[i-1].N {
			return fmt.Errorf("the half-width of %d units is %v, or out of order", e.N, e.HalfPct)
		}
	}
	return nil
}

func finite(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }
