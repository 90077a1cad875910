package monitor

import (
	"fmt"
	"math"
	"testing"

	"clipledger/monitor/stat"
	"clipledger/schema"
)

func num(x float64) Num { return schema.Some(x) }

func TestLevelSentences(t *testing.T) {
	frames := func(n float64) string { return (&plannedSite{}).unitWord(n) }
	for _, c := range []struct {
		l    levelText
		want string
	}{
		{levelText{name: "A", half: num(15.2), wanted: 20, now: 10, needed: 7, reachable: true, unit: frames},
			"A: 10 frames are enough for the level of a year (±15 %, wanted ±20 %)."},
		{levelText{name: "A", half: num(31), wanted: 20, now: 10, needed: 22, reachable: true, unit: frames, minutes: 180},
			"A: 22 frames instead of 10, 180 minutes more, would bring the level of a year from ±31 to within ±20 %."},
		{levelText{name: "A", half: num(60), wanted: 20, now: 10, unit: frames},
			"A: not even 500 frames bring the level of a year within ±20 %."},
		{levelText{name: "A", half: num(60), wanted: 20, now: 10, unit: frames, drying: true},
			"A: no number of frames brings the level of a year within ±20 %: the drying samples are too few; dry more bags."},
		{levelText{name: "A", wanted: 20, now: 1, needed: 9, reachable: true, unit: frames},
			"A: 1 frame gives no interval; 9 frames would bring the level of a year within ±20 %."},
	} {
		if got := c.l.String(); got != c.want {
			t.Errorf("%s\nwant %s", got, c.want)
		}
	}
}

func TestTrendPlanSentences(t *testing.T) {
	frames := func(years Num, minutes float64) betterChoice { return betterChoice{ChoiceFrames, years, minutes} }
	base := trendPlanText{name: "A", change: 3, known: true, differ: "frames"}
	with := func(now Num, yearsDiffer bool, better ...betterChoice) trendPlanText {
		out := base
		out.now, out.yearsDiffer, out.better = now, yearsDiffer, better
		return out
	}
	for _, c := range []struct {
		t    trendPlanText
		want string
	}{
		{trendPlanText{change: 3}, "How soon a change of 3 % a year would be seen is not known yet."},
		{with(num(0), true, frames(num(0), 50)), "A change of 3 % a year would be seen by the record as long as it is."},
		{with(num(4), true, frames(num(4), 50)), "More frames at A buy nothing for the trend: years differ more than frames do. Only years do: a change of 3 % a year would be seen after 4 years more."},
		{with(num(4), false, frames(num(4), 50), betterChoice{ChoiceTransects, num(4), 70}), "More frames or more transects at A do not bring a trend into sight any sooner. Only years do: a change of 3 % a year would be seen after 4 years more."},
		{with(num(6), false, frames(num(5), 50), betterChoice{ChoiceTransects, num(3), 70}), "A change of 3 % a year would be seen after 6 years more; with more transects after 3 (70 minutes more a year)."},
		{with(num(6), false, frames(num(5), 0)), "A change of 3 % a year would be seen after 6 years more; with more frames after 5."},
		{with(Num{}, true, frames(Num{}, 50)), "More frames at A buy nothing for the trend: years differ more than frames do. A change of 3 % a year would not be seen within 60 more years."},
		{with(Num{}, false, frames(num(50), 50)), "A change of 3 % a year would not be seen within 60 more years; with more frames it would after 50 (50 minutes more a year)."},
	} {
		if got := c.t.String(); got != c.want {
			t.Errorf("%s\nwant %s", got, c.want)
		}
	}
}

func TestRegionSentences(t *testing.T) {
	region := func(mean float64, sites int, trend Trend) *Region {
		r := &Region{Series: Series{Site: &schema.SiteRecord{Site: "stratum Low"}, Component: "browse", Mean: num(mean)}, Sites: make([]*schema.SiteRecord, sites)}
		r.Trends = []Trend{trend}
		return r
	}
	years := []int{2011, 2012, 2013, 2014, 2015, 2016}
	for _, c := range []struct {
		r    *Region
		want string
	}{
		{region(50, 0, Trend{}), "Browse: no site has values in 3 years or more."},
		{region(0, 5, Trend{YearsUsed: years, Verdict: NoTrend}), "Browse: nothing was found over 5 sites."},
		{region(50, 5, Trend{YearsUsed: years[:4], Verdict: TooFewYears}), "Browse over 5 sites: 4 years with values, too few for a verdict on a trend (5 are needed)."},
		{region(50, 5, Trend{YearsUsed: years}), "Browse over 5 sites: no verdict, the model has no answer."},
		{region(50, 5, Trend{YearsUsed: years, Verdict: NoTrend, MinDetectable: num(2)}), "No trend in browse is detected over 5 sites and 6 years; a trend of 4.0 % a year or more, up or down, would have been found four times in five."},
		{region(50, 5, Trend{YearsUsed: years, Verdict: Decreasing, SlopePct: num(-3.1), Statistic: num(-4), P: num(0.0041)}), "Browse fell 3.1 % a year over 5 sites (p = 0.004)."},
		{region(50, 1, Trend{YearsUsed: years, Verdict: Increasing, SlopePct: num(2)}), "Browse rose 2.0 % a year over 1 site."},
	} {
		if got := c.r.sentence(); got != c.want {
			t.Errorf("%s\nwant %s", got, c.want)
		}
	}
}

// Larsen et al. (2001), components of the published scheme: tripling the sites
// from 10 to 30 takes 10 % off the standard error after 10 years.
func TestPlanningSentence(t *testing.T) {
	r := &Region{Series: Series{Site: &schema.SiteRecord{Site: "all sites"}, Mean: num(1)}, Sites: make([]*schema.SiteRecord, 10),
		Model: &stat.MixedTrend{YearVar: 0.04, ResidualVar: 0.16}}
	for i := range 10 {
		r.Years = append(r.Years, SeriesYear{Year: 2011 + i, Value: num(1)})
	}
	if got, want := r.planning(), "Years differ by 20.0 % of the mean, all sites together: three times the sites would make the slope's standard error 10 % smaller, five more years 46 %."; got != want {
		t.Errorf("%s\nwant %s", got, want)
	}
	r.Model.YearVar = 0
	if got, want := r.planning(), "No variance between years is found, which few years cannot exclude: taken so, three times the sites would make the slope's standard error 42 % smaller, five more years 46 %."; got != want {
		t.Errorf("%s\nwant %s", got, want)
	}
	if r.Model = nil; r.planning() != "" {
		t.Error("planning without a model")
	}
}

// The step-by-step share of the hours against every share there is.
func TestBudgetIsBest(t *testing.T) {
	p := &planner{query: PlanQuery{Hours: 7}, math: newTrendMath(0.9)}
	p.rules.Precision = stat.Precision{Relative: 0.01, Confidence: 0.8}
	variances := []float64{900, 2500, 100}
	for i, v := range variances {
		p.list = append(p.list, &plannedSite{usable: true, between: v, costs: PlanCosts{Frame: 10, Travel: 30}, now: effort{5, 1},
			series: &Series{Site: &schema.SiteRecord{ID: int64(i), Site: fmt.Sprint(i)}, Mean: num(100)}})
	}
	var got, best float64
	left := 7*60 - 3*30.0
	for i, row := range p.budget() {
		h := p.halfPct(p.list[i], effort{row.Frames.Float64, 1}).Float64
		got += h * h
		left -= 10 * row.Frames.Float64
	}
	if left < 0 || left >= 10 {
		t.Errorf("%v minutes left of the budget", left)
	}
	best = math.Inf(1)
	square := func(i, n int) float64 { h := p.halfPct(p.list[i], effort{float64(n), 1}).Float64; return h * h }
	for a := 3; a <= 27; a++ {
		for b := 3; a+b <= 30; b++ {
			best = math.Min(best, square(0, a)+square(1, b)+square(2, 33-a-b))
		}
	}
	if math.Abs(got-best) > 1e-9*best {
		t.Errorf("sum of squares %v, the best is %v", got, best)
	}
	p.query.Hours = 2
	if rows := p.budget(); rows[0].Conclusion != "2 hours do not reach for a visit to every site with 3 sampling units: 1.0 hours are missing." {
		t.Error(rows[0].Conclusion)
	}
	p.query.Hours = 2000
	p.rules.Precision.Relative = 0.2
	if rows := p.budget(); rows[0].Conclusion[:45] != "2000 hours bring every site within ±20 %, an" {
		t.Error(rows[0].Conclusion)
	}
}
