package charts

import (
	"fmt"
	"math"
)

// addMore gives a site of the sample everything a page can show beyond means,
// worked out from its own numbers without randomness, good enough to draw.
func addMore(s *Site) {
	s.Rain = &Rain{Station: "HUT", Window: "October of the year before to June", MeanMM: ptr(250.0)}
	for i, year := range s.yearSpan() {
		mm := 180 + 20*float64(i%7)
		y := RainYear{Year: year, MM: ptr(mm), Pct: ptr(mm / 2.5)}
		if year == 2020 {
			y.MM, y.Pct = nil, nil
		}
		s.Rain.Years = append(s.Rain.Years, y)
	}
	s.Events = []Event{{Year: 2015, At: 2015.6, Start: "2015-08-08", End: "2015-08-09", Kind: "fire", Note: "lower edge"},
		{Year: 2018, At: 2018.2, Start: "2018-03-15", Kind: "spraying", Whole: true}}
	s.ClassScheme = "bench"
	for i := range s.Series {
		sampleTrend(s, &s.Series[i])
	}
	head := &s.Series[0]
	head.Classes = []ClassBand{{Label: "low", Low: ptr(0.0), High: ptr(900.0)}, {Label: "middling", Low: ptr(900.0), High: ptr(1500.0)}, {Label: "high", Low: ptr(1500.0)}}
	for i := range head.Years {
		y := &head.Years[i]
		y.Class = "middling"
		y.ClassShares = []ClassShare{{"low", 0.1}, {"middling", 0.75}, {"high", 0.15}}
		y.GrowthPct, y.FullSeason = ptr(85.0), ptr(*y.Mean/0.85)
	}
	last := head.latest()
	for n := 2; n <= 25; n++ {
		last.Effort = append(last.Effort, Effort{n, *last.HalfWidthPct * math.Sqrt(float64(last.N)/float64(n))})
	}
	for i, year := range s.yearSpan() {
		shift := float64(i % 4)
		s.Composition = append(s.Composition, Composition{Year: year, Unnamed: ptr(10 - shift),
			Species: []SpeciesShare{{"WHEA1", "wheatgrass", "herbaceous", 50 + shift}, {"SAGE1", "sagebrush", "browse", 25}, {"BLUE1", "bluegrass", "herbaceous", 15}}})
		s.DryBasis = append(s.DryBasis, DryBasis{Year: year, Measured: 40, Sample: 50 - shift, Book: 10 + shift, Bags: 30, NoDry: i % 2})
		s.Uses = append(s.Uses, Use{Year: year, Season: "peak", Component: "production", NCaged: 6, NOpen: 6, Caged: ptr(700.0), Open: ptr(450 + 10*shift),
			Pct: ptr(100 * (1 - (450+10*shift)/700)), Low: ptr(20.0), High: ptr(48.0), Since: "2011-04-01"})
	}
	for _, who := range []string{"Ola", "Per"} {
		e := Eye{Observer: who, Component: "herbaceous", State: "green", Unit: "lb/ac", Bias: ptr(-31.0), Ratio: ptr(0.9), CCC: ptr(0.88)}
		for k := range 24 {
			clipped := 300 + 50*float64(k)
			e.Pairs = append(e.Pairs, EyePair{Clipped: clipped, Estimated: clipped * (0.8 + 0.01*float64(k)), Year: 2020 + k%4})
		}
		s.Eyes = append(s.Eyes, e)
	}
}

func sampleTrend(s *Site, x *Series) {
	t := &Trend{Verdict: "decreasing", Sentence: fmt.Sprintf("%s fell 2 %% a year (p = 0.010), and rain does not explain it.", sentence(x.name())),
		Slope: ptr(-10.0), Low: ptr(-16.0), High: ptr(-4.0), Pct: ptr(-2.0), P: ptr(0.01), MinDetectable: ptr(8.0)}
	var before *Year
	sum := 0.0
	for i := range x.Years {
		y := &x.Years[i]
		if y.Mean == nil {
			continue
		}
		ty := TrendYear{Year: y.Year, Value: y.Mean, Pct: ptr(95.0)}
		if r := s.Rain.year(y.Year); r.MM != nil {
			ty.RainMM, ty.RainPct, ty.RainUse = r.MM, r.Pct, ptr(*y.Mean / *r.MM)
		}
		t.Years = append(t.Years, ty)
		if before != nil {
			d := *y.Mean - *before.Mean
			x.Changes = append(x.Changes, Difference{Year1: before.Year, Year2: y.Year, Design: "independent", N1: before.N, N2: y.N, Mean1: before.Mean, Mean2: y.Mean, Value: ptr(d),
				Pct: ptr(100 * d / *before.Mean), Low: ptr(d - 120), High: ptr(d + 120), P: ptr(0.2), MinDetectable: ptr(150.0)})
		}
		before = y
		sum += *y.Mean
	}
	n := len(t.Years)
	x.LongTerm, x.Earlier = ptr((sum-*before.Mean)/float64(n-1)), n-1
	t.Line = []TrendPoint{{t.Years[0].Year, sum/float64(n) + 60}, {t.Years[n-1].Year, sum/float64(n) - 60}}
	t.Methods = []TrendMethod{{Name: "ols", Years: n, Slope: t.Slope, Low: t.Low, High: t.High, Pct: t.Pct, P: t.P, DF: ptr(float64(n - 2)), Verdict: t.Verdict, MinDetectable: t.MinDetectable},
		{Name: "ols-rain", Years: n - 1, Slope: ptr(-9.0), Low: ptr(-15.0), High: ptr(-3.0), P: ptr(0.02), Verdict: "decreasing"}}
	t.Rain = &TrendRain{Alone: ptr(-10.0), AloneLow: ptr(-16.0), AloneHigh: ptr(-4.0), Held: ptr(-9.0), HeldLow: ptr(-15.0), HeldHigh: ptr(-3.0), Change: ptr(-1.0), ChangeLow: ptr(-2.0), ChangeHigh: ptr(0.5),
		Correlation: ptr(-0.1), PerMM: ptr(1.5), MeanMM: ptr(240.0), MeanValue: ptr(sum / float64(n)), Years: n - 1}
	x.Trend = t
}
