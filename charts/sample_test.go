package charts

import (
	"math"
	"math/rand/v2"
)

func ptr[T any](v T) *T { return &v }

// sampleReport is an invented report of a realistic size: five sites over 14
// years with gaps, years with too few frames, zeros, lost bags and one site
// that was never clipped. Numbers come from a seeded generator and are put
// together the way a real ledger's would be, but are nobody's data.
func sampleReport() *Report {
	rng := rand.New(rand.NewPCG(7, 11))
	r := &Report{
		LedgerName: "Dry Fork grazing district", LastChange: "2024-11-03 16:20 UTC",
		Unit: "lb/ac", Basis: "air-dry", Confidence: 0.90,
		AdequacyText: "±20\u00a0% at 80\u00a0% confidence", PrecisionPct: 20,
		Settings: []Setting{
			{"basis", "air-dry", "moisture basis of every dry weight"},
			{"units", "lb/ac", "unit of weights per area"},
			{"precision", "0.20", "wanted half-width as a share of the mean"},
			{"adequacy-confidence", "0.80", "confidence of the verdict “enough”"},
			{"assurance", "0.90", "chance that an assured sample reaches the width"},
			{"sample-size-rule", "iterated", "how the number needed is found"},
			{"book-tables", "handbook", "tables of book values, in the order they are searched"},
			{"trace-g", "0", "grams counted for a trace"},
		},
		BookTables: []BookTable{{"handbook", "Percentages by growth form and stage, transcribed from memory and not checked against print.", true}},
	}
	r.Sites = []Site{
		sampleSite(rng, "DF-01", "Upper bench", "North pasture", 620, 0.18, 0.45, 12),
		sampleSite(rng, "DF-02", "Rabbitbrush flat below the old corral", "North pasture", 340, 0.42, 0.6, 10),
		sampleSite(rng, "DF-03", "Creek terrace", "South pasture", 1480, 0.04, 0.35, 15),
		sampleSite(rng, "DF-04", "Burn of 2012", "South pasture", 210, 0.1, 0.95, 8),
		{Code: "DF-05", Name: "Far ridge", Stratum: "South pasture", Facts: []Fact{{"Placement", "new each year"}}},
	}
	r.Sites[0].Selection = "random"
	r.Sites[1].Selection = "chosen"
	r.Sites[1].Caution = true
	r.Sites[1].Remarks = []Remark{
		{"The same spots are clipped every year: clipping to the ground is itself a treatment.", true},
		{"Frames lie on one transect: the interval speaks for this line.", false},
	}
	addMore(&r.Sites[2])
	burnt := &r.Sites[3]
	for i := range burnt.Series {
		for j := range burnt.Series[i].Years {
			if y := &burnt.Series[i].Years[j]; y.Year == 2013 {
				*y = Year{Year: 2013, N: y.N, Mean: ptr(0.0), SD: ptr(0.0), Frames: make([]float64, y.N),
					ZerosInferred: y.N, Remarks: []Remark{{"All zeros of this occasion are inferred, none was written down.", true}}}
			}
		}
	}
	return r
}

func sampleSite(rng *rand.Rand, code, name, stratum string, level, browse, cv float64, n int) Site {
	s := Site{Code: code, Name: name, Stratum: stratum, SamplingUnit: "frame", Facts: []Fact{
		{"Placement", "shifted along the transect"}, {"Selection", "random"}, {"Sampling unit", "frame"},
		{"Frame", "9.6 ft², rooted in the frame"}, {"Components", "herbaceous, browse"}, {"Growth year", "from January"},
	}}
	names := []string{"production", "herbaceous", "browse"}
	series := make([]Series, len(names))
	for i, c := range names {
		series[i] = Series{Component: c, Season: "peak", Production: true}
	}
	for year := 2011; year <= 2024; year++ {
		if year == 2016 && code != "DF-03" || year == 2020 && code == "DF-04" {
			continue
		}
		m := n
		if year == 2013 || year == 2019 && code == "DF-02" {
			m = 4
		}
		if year == 2018 && code == "DF-02" {
			m = 1
		}
		weather := math.Exp(0.28 * rng.NormFloat64())
		herb, brow := make([]float64, m), make([]float64, m)
		total := make([]float64, m)
		for k := range herb {
			herb[k] = level * (1 - browse) * weather * math.Exp(cv*rng.NormFloat64()-cv*cv/2)
			if rng.Float64() < browse+0.25 {
				brow[k] = level * browse / (browse + 0.25) * weather * math.Exp(0.8*rng.NormFloat64()-0.32)
			}
			total[k] = herb[k] + brow[k]
		}
		for i, v := range [][]float64{total, herb, brow} {
			series[i].Years = append(series[i].Years, sampleYear(year, v))
		}
	}
	series[2].Years[3].Mean, series[2].Years[3].Frames = nil, nil
	series[2].Years[3] = Year{Year: series[2].Years[3].Year, Missing: n, Remarks: []Remark{{"All bags of this component were lost before they were weighed.", false}}}
	s.Series = series
	return s
}

// sampleYear computes a year's numbers for the sample, with quantiles good to
// a few percent: the pages only need them plausible.
func sampleYear(year int, v []float64) Year {
	n := float64(len(v))
	mean, ss := 0.0, 0.0
	for _, x := range v {
		mean += x / n
	}
	for _, x := range v {
		ss += (x - mean) * (x - mean)
	}
	y := Year{Year: year, N: len(v), Mean: ptr(mean), Frames: v}
	if len(v) < 2 || ss == 0 {
		return y
	}
	sd := math.Sqrt(ss / (n - 1))
	se := sd / math.Sqrt(n)
	t := func(z float64) float64 { return z + (z*z*z+z)/(4*(n-1)) }
	y.SD, y.SE, y.DF, y.CVPct = ptr(sd), ptr(se), ptr(n-1), ptr(100*sd/mean)
	y.SEDrying = ptr(se * 0.2)
	y.Low, y.High = ptr(mean-t(1.645)*se), ptr(mean+t(1.645)*se)
	y.HallLow, y.HallHigh = ptr(mean-t(1.645)*se*0.9), ptr(mean+t(1.645)*se*1.2)
	half := 100 * t(1.2816) * se / mean
	y.HalfWidthPct = ptr(half)
	need := math.Max(2, math.Ceil(n*half*half/400))
	y.Required, y.Assured = ptr(need), ptr(int(need*1.4)+2)
	y.Adequate = ptr(need <= n)
	if need > n {
		y.ShortBy = ptr(int(need - n))
	}
	y.BookPct = ptr(0.0)
	if year < 2014 {
		y.BookPct, y.BookLow, y.BookHigh = ptr(100.0), ptr(mean*0.86), ptr(mean*1.14)
		y.Remarks = append(y.Remarks, Remark{"All of the weight rests on book values for dry matter.", false})
	}
	return y
}
