package charts

import (
	"strconv"
	"strings"
)

// The files behind the sections of a site's page. A file is written where the
// site has something for it.

// dataFile is one kind of file of a site.
type dataFile struct {
	suffix string // after the page's name
	has    func(s *Site) bool
	make   func(r *Report, s *Site) []byte
}

var dataFiles = []dataFile{
	{"", func(*Site) bool { return true }, yearsCSV},
	{"-frames", func(*Site) bool { return true }, framesCSV},
	{"-trends", (*Site).hasTrends, trendsCSV},
	{"-rain", (*Site).hasTrendYears, rainCSV},
	{"-events", func(s *Site) bool { return len(s.Events) > 0 }, eventsCSV},
	{"-changes", hasChanges, changesCSV},
	{"-effort", (*Site).hasEffort, effortCSV},
	{"-composition", func(s *Site) bool { return len(s.Composition) > 0 }, compositionCSV},
	{"-basis", func(s *Site) bool { return len(s.DryBasis) > 0 }, basisCSV},
	{"-eyes", func(s *Site) bool { return len(s.Eyes) > 0 }, eyesCSV},
	{"-use", func(s *Site) bool { return len(s.Uses) > 0 }, usesCSV},
}

// dataNames lists the files of a site's data.
func (s *Site) dataNames() []string {
	var out []string
	for _, d := range dataFiles {
		if d.has(s) {
			out = append(out, "data/"+pageName(s.Code)+d.suffix+".csv")
		}
	}
	return out
}

// writeData writes them.
func writeData(f store, r *Report, s *Site) error {
	for _, d := range dataFiles {
		if !d.has(s) {
			continue
		}
		if err := f.Put("data/"+pageName(s.Code)+d.suffix+".csv", d.make(r, s)); err != nil {
			return err
		}
	}
	return nil
}

func (s *Site) hasTrends() bool {
	for i := range s.Series {
		if t := s.Series[i].Trend; t != nil && (len(t.Methods) > 0 || t.Rain != nil) {
			return true
		}
	}
	return false
}

func (s *Site) hasTrendYears() bool {
	for i := range s.Series {
		if t := s.Series[i].Trend; t != nil && len(t.Years) > 0 {
			return true
		}
	}
	return false
}

func (s *Site) hasEffort() bool {
	for i := range s.Series {
		if s.Series[i].latestEffort() != nil {
			return true
		}
	}
	return false
}

func remarkTexts(remarks []Remark) string {
	words := make([]string, len(remarks))
	for i, m := range remarks {
		words[i] = m.Text
	}
	return text(strings.Join(words, "; "))
}

// trendsCSV has a row for every method, and rows for what rain makes of the
// slope.
func trendsCSV(r *Report, s *Site) []byte {
	header := []string{"site", "season", "component", "unit", "basis", "method", "years", "slope", "slope_low", "slope_high", "slope_pct", "statistic", "df", "p", "verdict", "min_detectable", "confidence", "remarks"}
	return table(header, func(row func(...string)) {
		for i := range s.Series {
			x := &s.Series[i]
			if x.Trend == nil {
				continue
			}
			head := []string{text(s.Code), text(x.Season), text(x.Component), text(r.Unit), text(r.Basis)}
			for k := range x.Trend.Methods {
				m := &x.Trend.Methods[k]
				row(append(head[:5:5], text(m.Name), strconv.Itoa(m.Years), number(m.Slope), number(m.Low), number(m.High), number(m.Pct), number(m.Statistic), number(m.DF), number(m.P),
					text(m.Verdict), number(m.MinDetectable), full(r.Confidence), remarkTexts(m.Remarks))...)
			}
			if t := x.Trend.Rain; t != nil && t.Held != nil {
				for _, e := range []struct {
					name         string
					v, low, high *float64
				}{{"rain-left-out", t.Alone, t.AloneLow, t.AloneHigh}, {"rain-held", t.Held, t.HeldLow, t.HeldHigh}, {"what-rain-makes", t.Change, t.ChangeLow, t.ChangeHigh}} {
					row(append(head[:5:5], e.name, strconv.Itoa(t.Years), number(e.v), number(e.low), number(e.high), "", "", "", "", "", "", full(r.Confidence), "")...)
				}
			}
		}
	})
}

func rainCSV(r *Report, s *Site) []byte {
	header := []string{"site", "year", "season", "component", "unit", "basis", "value", "pct_of_mean", "rain_mm", "rain_pct", "rain_use_kg_ha_mm", "left_out"}
	return table(header, func(row func(...string)) {
		for i := range s.Series {
			x := &s.Series[i]
			if x.Trend == nil {
				continue
			}
			for k := range x.Trend.Years {
				y := &x.Trend.Years[k]
				row(text(s.Code), strconv.Itoa(y.Year), text(x.Season), text(x.Component), text(r.Unit), text(r.Basis), number(y.Value), number(y.Pct), number(y.RainMM), number(y.RainPct), number(y.RainUse), text(y.LeftOut))
			}
		}
	})
}

func eventsCSV(_ *Report, s *Site) []byte {
	return table([]string{"site", "year", "start", "end", "kind", "of_stratum", "note"}, func(row func(...string)) {
		for _, e := range s.Events {
			row(text(s.Code), strconv.Itoa(e.Year), text(e.Start), text(e.End), text(e.Kind), strconv.FormatBool(e.Whole), text(e.Note))
		}
	})
}

func changesCSV(r *Report, s *Site) []byte {
	header := []string{"site", "season", "component", "unit", "basis", "year_1", "year_2", "design", "n_1", "n_2", "mean_1", "mean_2", "difference", "difference_pct", "ci_low", "ci_high", "p", "p_holm", "min_detectable", "confidence", "remarks"}
	return table(header, func(row func(...string)) {
		for i := range s.Series {
			x := &s.Series[i]
			for k := range x.Changes {
				d := &x.Changes[k]
				row(text(s.Code), text(x.Season), text(x.Component), text(r.Unit), text(r.Basis), strconv.Itoa(d.Year1), strconv.Itoa(d.Year2), text(d.Design), strconv.Itoa(d.N1), strconv.Itoa(d.N2),
					number(d.Mean1), number(d.Mean2), number(d.Value), number(d.Pct), number(d.Low), number(d.High), number(d.P), number(d.PHolm), number(d.MinDetectable), full(r.Confidence), remarkTexts(d.Remarks))
			}
		}
	})
}

func effortCSV(_ *Report, s *Site) []byte {
	return table([]string{"site", "year", "season", "component", "sampling_unit", "n", "half_width_pct"}, func(row func(...string)) {
		for i := range s.Series {
			x := &s.Series[i]
			y := x.latestEffort()
			if y == nil {
				continue
			}
			for k := range y.Effort {
				row(text(s.Code), strconv.Itoa(y.Year), text(x.Season), text(x.Component), text(s.unitWord(1)), strconv.Itoa(y.Effort[k].N), full(y.Effort[k].HalfPct))
			}
		}
	})
}

func compositionCSV(_ *Report, s *Site) []byte {
	return table([]string{"site", "year", "component", "species", "name", "pct"}, func(row func(...string)) {
		for i := range s.Composition {
			c := &s.Composition[i]
			for _, x := range c.Species {
				row(text(s.Code), strconv.Itoa(c.Year), text(x.Component), text(x.Code), text(x.Name), full(x.Pct))
			}
			if c.Unnamed != nil {
				row(text(s.Code), strconv.Itoa(c.Year), "", "", "", full(*c.Unnamed))
			}
		}
	})
}

func basisCSV(_ *Report, s *Site) []byte {
	header := []string{"site", "year", "measured_pct", "drying_samples_pct", "row_pct", "book_values_pct", "fallback_pct", "bags", "bags_without_dry"}
	return table(header, func(row func(...string)) {
		for i := range s.DryBasis {
			d := &s.DryBasis[i]
			row(text(s.Code), strconv.Itoa(d.Year), full(d.Measured), full(d.Sample), full(d.Row), full(d.Book), full(d.Fallback), strconv.Itoa(d.Bags), strconv.Itoa(d.NoDry))
		}
	})
}

func eyesCSV(_ *Report, s *Site) []byte {
	return table([]string{"site", "observer", "component", "state", "unit", "year", "estimated", "clipped"}, func(row func(...string)) {
		for i := range s.Eyes {
			e := &s.Eyes[i]
			for _, v := range e.Pairs {
				row(text(s.Code), text(e.Observer), text(e.Component), text(e.State), text(e.Unit), strconv.Itoa(v.Year), full(v.Estimated), full(v.Clipped))
			}
		}
	})
}

func usesCSV(r *Report, s *Site) []byte {
	header := []string{"site", "year", "season", "component", "unit", "basis", "caged_since", "n_caged", "n_open", "mean_caged", "mean_open", "utilization_pct", "ci_low", "ci_high", "confidence", "remarks"}
	return table(header, func(row func(...string)) {
		for i := range s.Uses {
			u := &s.Uses[i]
			row(text(s.Code), strconv.Itoa(u.Year), text(u.Season), text(u.Component), text(r.Unit), text(r.Basis), text(u.Since), strconv.Itoa(u.NCaged), strconv.Itoa(u.NOpen),
				number(u.Caged), number(u.Open), number(u.Pct), number(u.Low), number(u.High), full(r.Confidence), remarkTexts(u.Remarks))
		}
	})
}
