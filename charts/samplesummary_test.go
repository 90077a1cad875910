package charts

import (
	"math"
)

// withSummaries adds to a report of invented sites what only many sites
// together have: coordinates, classes, trends, annual summaries and findings
// of checks. The numbers are put together simply, and are nobody's data.
func withSummaries(r *Report) *Report {
	for i := range r.Sites {
		s := &r.Sites[i]
		if i < 4 {
			s.Latitude, s.Longitude = ptr(44+0.05*float64(i*i)), ptr(-110-0.04*float64(i))
		}
		x := s.headline()
		if x == nil {
			continue
		}
		verdict := []string{"no trend detected", "decreasing", "increasing", "too few years"}[i%4]
		x.Trend = &Trend{Sentence: "A sentence on the years.", Verdict: verdict, Slope: ptr(4.5 - float64(i)), Pct: ptr(0.7 - float64(i)), P: ptr(0.04 * float64(i))}
		x.Classes = []ClassBand{{"poor", nil, ptr(400.0)}, {"fair", ptr(400.0), ptr(900.0)}, {"good", ptr(900.0), nil}}
		for j := range x.Years {
			if m := x.Years[j].Mean; m != nil {
				x.Years[j].Class = []string{"poor", "fair", "good"}[min(2, int(*m/450))]
			}
		}
	}
	for year := 2011; year <= 2024; year++ {
		r.Summaries = append(r.Summaries, sampleSummary(r, year))
	}
	r.Quality = []QualityFinding{
		{ID: "f1", Severity: "serious", Site: r.Sites[0].Code, Years: "2012", Season: "peak", Components: "herbaceous", Records: "frame 3 (clip.csv line 12)", Found: "dry above green", Why: "it cannot be", Do: "look at the sheet"},
		{ID: "f2", Severity: "look", Site: r.Sites[1].Code, Years: "2012..2015", Found: "the observer changed", Why: "hands differ", Do: "compare"},
		{ID: "f3", Severity: "note", Found: "something of the ledger", Why: "as it is"},
		{ID: "f4", Severity: "look", Site: r.Sites[2].Code, Years: "2019", Found: "a heavy frame", Why: "it carries the mean", Do: "look", Accepted: true, Note: "seen on the photo"},
	}
	return r
}

func sampleSummary(r *Report, year int) SummaryYear {
	y := SummaryYear{Year: year}
	all := SummaryRow{All: true, Season: "peak", Component: "production", RainPct: ptr(92.0)}
	for _, stratum := range []string{"North pasture", "South pasture"} {
		row := SummaryRow{Stratum: stratum, Season: "peak", Component: "production", RainPct: ptr(92.0), Remarks: []Remark{{"the mean of these sites, not of the stratum", stratum == "North pasture"}}}
		for i := range r.Sites {
			s := &r.Sites[i]
			if s.Stratum == stratum && s.headline() != nil {
				row.addSample(s, year)
			}
		}
		row.sum()
		all.Each = append(all.Each, row.Each...)
		all.NotVisited = append(all.NotVisited, row.NotVisited...)
		y.Rows = append(y.Rows, row)
	}
	all.sum()
	y.Rows = append(y.Rows, all)
	return y
}

func (row *SummaryRow) addSample(s *Site, year int) {
	now, before := s.headline().year(year), s.headline().year(year-1)
	if now == nil || now.Mean == nil {
		row.NotVisited = append(row.NotVisited, s.Code)
		return
	}
	x := SummarySite{Code: s.Code, Name: s.Name, N: now.N, Mean: now.Mean, Low: now.Low, High: now.High, Class: now.Class, Adequate: now.Adequate,
		Required: now.Required, ShortBy: now.ShortBy, RainPct: ptr(92.0)}
	if before != nil && before.Mean != nil && *before.Mean > 0 {
		x.ChangePct = ptr(100 * (*now.Mean / *before.Mean - 1))
	}
	row.Each = append(row.Each, x)
}

func (row *SummaryRow) sum() {
	row.Sites = len(row.Each)
	mean, ss := 0.0, 0.0
	for _, x := range row.Each {
		row.N += x.N
		mean += *x.Mean / float64(row.Sites)
		if x.Adequate != nil {
			row.Judged++
			if *x.Adequate {
				row.Adequate++
			}
		}
		if x.ChangePct != nil {
			row.ChangeOf++
			row.ChangePct = x.ChangePct
		}
		if x.Class != "" {
			row.Classes = append(row.Classes, ClassCount{x.Class, 1})
		}
	}
	if row.Sites == 0 {
		return
	}
	row.Mean, row.LongTerm, row.PctOfMean = ptr(mean), ptr(700.0), ptr(mean/7)
	for _, x := range row.Each {
		ss += (*x.Mean - mean) * (*x.Mean - mean)
	}
	if row.Sites > 1 {
		half := 2 * math.Sqrt(ss/float64(row.Sites-1)/float64(row.Sites))
		row.Low, row.High = ptr(mean-half), ptr(mean+half)
	}
}
