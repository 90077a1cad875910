package monitor

import (
	"testing"

	"clipledger/schema"
)

// said makes a series of which ols found a slope with its interval.
type said struct {
	component         string
	years, rainYears  int
	verdict           TrendVerdict
	slope, p          float64
	detectable        float64
	held, low, high   float64 // slope with rain held and its interval
	change, from, to  float64 // change that rain makes and its interval
	alone, aloneTo    float64 // interval of the slope on the years with rain
	rainSlope, r      float64
	station, withRain bool
	why               string
}

func (c said) series() *Series {
	s := &Series{Site: &schema.SiteRecord{Site: "A"}, Component: c.component, Mean: schema.Some(100)}
	t := Trend{Method: MethodOLS, Verdict: c.verdict, YearsUsed: make([]int, c.years)}
	t.setSlope(c.slope, 100)
	if c.verdict != TooFewYears {
		t.Statistic, t.P, t.SE = schema.Some(c.slope), schema.Some(c.p), schema.Some(1)
		t.MinDetectable = schema.Some(c.detectable)
	}
	s.Trends = []Trend{t}
	rainYears := c.rainYears
	if rainYears == 0 {
		rainYears = c.years
	}
	if c.station {
		s.Rain = &SeriesRain{SiteRain: &SiteRain{Station: "LOW"}, Why: c.why, Mean: schema.Some(100), YearsUsed: make([]int, rainYears)}
	}
	if c.withRain {
		r := s.Rain
		i := func(a, b float64) Interval { return Interval{schema.Some(a), schema.Some(b)} }
		r.Held, r.HeldCI = schema.Some(c.held), i(c.low, c.high)
		r.Change, r.ChangeCI = schema.Some(c.change), i(c.from, c.to)
		r.Alone, r.AloneCI = schema.Some(c.held+c.change), i(c.alone, c.aloneTo)
		r.RainSlope, r.Correlation = schema.Some(c.rainSlope), schema.Some(c.r)
	}
	return s
}

func TestSentences(t *testing.T) {
	fell := said{component: "browse", years: 14, verdict: Decreasing, slope: -3.1, p: 0.004, station: true, withRain: true}
	rose := said{component: "production", years: 14, verdict: Increasing, slope: 4, p: 0.02, station: true, withRain: true}
	none := said{component: "herbaceous", years: 12, verdict: NoTrend, slope: 0.4, p: 0.6, detectable: 2.14, station: true, withRain: true}
	with := func(c said, held, low, high, change, from, to float64) said {
		c.held, c.low, c.high, c.change, c.from, c.to = held, low, high, change, from, to
		return c
	}
	without := func(c said, station bool, why string) said {
		c.station, c.withRain, c.why = station, false, why
		return c
	}
	rain := func(c said, slope, r float64) said { c.rainSlope, c.r = slope, r; return c }
	some := func(c said, n int, alone, to float64) said { c.rainYears, c.alone, c.aloneTo = n, alone, to; return c }
	for name, c := range map[string]struct {
		said
		want string
	}{
		"rain does not explain it": {with(fell, -2.9, -4, -1.8, -0.2, -0.5, 0.1),
			"Browse fell 3.1 % a year (p = 0.004), and rain does not explain it."},
		"a change told from 0, too small to matter": {with(fell, -3.0, -4, -2, -0.1, -0.15, -0.05),
			"Browse fell 3.1 % a year (p = 0.004), and rain does not explain it."},
		"part of it": {with(fell, -1.6, -2.9, -0.3, -1.5, -2.4, -0.6),
			"Browse fell 3.1 % a year (p = 0.004), and rain explains part of it: with rain accounted for it fell 1.6 % a year (-2.9 % to -0.3 %)."},
		"rain hides part": {with(fell, -4.6, -5.9, -3.3, 1.5, 0.6, 2.4),
			"Browse fell 3.1 % a year (p = 0.004), and rain hides part of it: with rain accounted for it fell 4.6 % a year (-5.9 % to -3.3 %)."},
		"rain reverses": {with(rose, -1.5, -2.5, -0.5, 5.5, 4, 7),
			"Production rose 4.0 % a year (p = 0.020), but that is the rain and more: with rain accounted for it fell 1.5 % a year (-2.5 % to -0.5 %)."},
		"rain explains": {rain(with(rose, 0.3, -1, 1.6, 3.7, 2, 5.4), 12, 0.74),
			"Production rose 4.0 % a year (p = 0.020), and so did the rain (correlation with year 0.74): with rain accounted for, no trend is detected (0.3 % a year, -1.0 % to 1.6 %)."},
		"less rain explains": {rain(with(rose, 0.3, -1, 1.6, 3.7, 2, 5.4), -12, -0.74),
			"Production rose 4.0 % a year (p = 0.020), and the rain fell (correlation with year -0.74), less rain going with more production: with rain accounted for, no trend is detected (0.3 % a year, -1.0 % to 1.6 %)."},
		"more rain explains a fall": {rain(with(fell, -0.3, -1.6, 1, -2.8, -4, -1.6), 5, 0.5),
			"Browse fell 3.1 % a year (p = 0.004), and the rain rose (correlation with year 0.50), more rain going with less browse: with rain accounted for, no trend is detected (-0.3 % a year, -1.6 % to 1.0 %)."},
		// p below α alone and above it with rain held, but the change itself is
		// not told from 0: nothing is concluded.
		"one p below, one above": {with(fell, -2.4, -5, 0.2, -0.7, -2, 0.6),
			"Browse fell 3.1 % a year (p = 0.004), and whether rain explains it cannot be told: with rain accounted for the slope is -2.4 % a year, -5.0 % to 0.2 %."},
		"rain works against, held unclear": {with(fell, -3.4, -7, 0.2, 0.3, 0.1, 0.5),
			"Browse fell 3.1 % a year (p = 0.004), and whether rain explains it cannot be told: with rain accounted for the slope is -3.4 % a year, -7.0 % to 0.2 %."},
		"fewer years with rain": {some(with(fell, -2.9, -4, -1.8, -0.2, -0.5, 0.1), 9, -5, -1),
			"Browse fell 3.1 % a year (p = 0.004), and rain does not explain it (over the 9 years with rain)."},
		"fewer years, no trend on them": {some(with(fell, -2.9, -4, -1.8, -0.2, -0.5, 0.1), 9, -5, 1),
			"Browse fell 3.1 % a year (p = 0.004), and whether rain explains it cannot be told: with rain accounted for (over the 9 years with rain) the slope is -2.9 % a year, -4.0 % to -1.8 %."},
		"no station": {without(fell, false, ""),
			"Browse fell 3.1 % a year (p = 0.004); whether rain explains it cannot be said: the site declares no rain station."},
		"no rain": {without(fell, true, "rain is known in 4 years with values, and 6 are needed"),
			"Browse fell 3.1 % a year (p = 0.004); whether rain explains it cannot be said: rain is known in 4 years with values, and 6 are needed."},
		"very sure": {without(said{component: "standing-dead", years: 9, verdict: Increasing, slope: 0.02, p: 0.0001}, false, ""),
			"Standing dead rose 0.02 % a year (p < 0.001); whether rain explains it cannot be said: the site declares no rain station."},
		"no trend, with or without": {with(none, 0.1, -1, 1.2, 0.3, -0.1, 0.7),
			"No trend in herbaceous growth is detected over 12 years, with or without rain accounted for; a trend of 2.1 % a year or more, up or down, would have been found four times in five."},
		"rain hides a trend": {with(none, 2.4, 1.2, 3.6, -2, -3, -1),
			"No trend in herbaceous growth is detected over 12 years, but rain hides one: with rain accounted for it rose 2.4 % a year (1.2 % to 3.6 %); a trend of 2.1 % a year or more, up or down, would have been found four times in five."},
		"rain hides by its scatter": {with(none, 0.5, 0.1, 0.9, -0.1, -0.4, 0.2),
			"No trend in herbaceous growth is detected over 12 years; with rain accounted for, and its part of the scatter with it, the slope shows: it rose 0.5 % a year (0.1 % to 0.9 %); a trend of 2.1 % a year or more, up or down, would have been found four times in five."},
		"no trend, no station": {without(none, false, ""),
			"No trend in herbaceous growth is detected over 12 years; a trend of 2.1 % a year or more, up or down, would have been found four times in five."},
		"too few": {said{component: "litter", years: 3, verdict: TooFewYears, slope: -2},
			"Litter: 3 years with values, too few for a verdict on a trend (5 are needed); the line through them fell 2.0 % a year."},
		"level": {said{component: "litter", years: 3, verdict: TooFewYears},
			"Litter: 3 years with values, too few for a verdict on a trend (5 are needed); the line through them stayed level."},
	} {
		if got := Sentence(c.series()); got != c.want {
			t.Errorf("%s:\n%s\nwant\n%s", name, got, c.want)
		}
	}
}

func TestSentencesWithoutNumbers(t *testing.T) {
	site := &schema.SiteRecord{Site: "A"}
	ten := make([]int, 10)
	for want, s := range map[string]*Series{
		"Browse: no year has a value.":                  {Site: site, Component: "browse", Trends: []Trend{{Method: MethodOLS, Verdict: TooFewYears}}},
		"Browse: nothing was found in any of 10 years.": {Site: site, Component: "browse", Mean: schema.Some(0), Trends: []Trend{{Method: MethodOLS, Verdict: NoTrend, YearsUsed: ten}}},
		"Browse: the same value in each of 10 years, so no trend is detected and none could have been.": {Site: site, Component: "browse", Mean: schema.Some(5),
			Trends: []Trend{{Method: MethodOLS, Verdict: NoTrend, Slope: schema.Some(0), YearsUsed: ten}}},
		"Browse: 2 years with values, too few for a verdict on a trend (5 are needed).": {Site: site, Component: "browse", Mean: schema.Some(5), Trends: []Trend{{Method: MethodOLS, Verdict: TooFewYears, YearsUsed: ten[:2]}}},
		"No trend in browse is detected over 10 years; how small a trend could have been found cannot be told.": {Site: site, Component: "browse", Mean: schema.Some(5),
			Trends: []Trend{{Method: MethodOLS, Verdict: NoTrend, Slope: schema.Some(1), SE: schema.Some(1), YearsUsed: ten}}},
		"Browse rose 2.0 % a year; whether rain explains it cannot be said: the site declares no rain station.": {Site: site, Component: "browse", Mean: schema.Some(5),
			Trends: []Trend{{Method: MethodOLS, Verdict: Increasing, Slope: schema.Some(0.1), SlopePct: schema.Some(2), P: schema.Some(0), SE: schema.Some(0), YearsUsed: ten}}},
	} {
		if got := Sentence(s); got != want {
			t.Errorf("%s\nwant\n%s", got, want)
		}
	}
}
