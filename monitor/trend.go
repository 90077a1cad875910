package monitor

import (
	"clipledger/monitor/stat"
	"clipledger/schema"
)

// Is production going up or down, by how much, and could this record have
// shown it?
//
// A trend is judged on one value a year: frames of one year share its weather
// and are not independent evidence. Of a site × season × component the values are the means
// of its occasions, or frame-adjusted means where frames stay in place and
// some are missing in some years.

// The methods, in the order in which they are given. The verdict of a series
// is that of OLS.
const (
	MethodOLS      = "ols"       // least squares on the yearly series
	MethodTheilSen = "theil-sen" // Theil-Sen slope, Mann-Kendall test
	MethodOLSRain  = "ols-rain"  // least squares with the rain held
	MethodMixed    = "mixed"     // frames and years random, where frames stay in place
)

// TrendVerdict says what a method finds.
type TrendVerdict string

// The verdicts. A method without an answer has none ("").
const (
	Increasing  TrendVerdict = "increasing"
	Decreasing  TrendVerdict = "decreasing"
	NoTrend     TrendVerdict = "no trend detected"
	TooFewYears TrendVerdict = "too few years"
)

const (
	// yearsForTrend is the number of years with values that a verdict needs,
	// yearsWithRain with values and rain.
	yearsForTrend = 5
	yearsWithRain = 6
	// yearsForSlope is the number of years from which a slope is shown.
	yearsForSlope = 3
	// TrendPower is the power of the smallest trend that is called detectable.
	TrendPower = 0.80
)

// Series is one site × season × component over the years, or a yearly total of
// a site whose components have different seasons. Densities are g/m², slopes
// g/m² a year.
type Series struct {
	Site       *schema.SiteRecord
	Season     string
	Component  string
	Confidence float64 // of intervals; verdicts are at α = 1 - Confidence
	Years      []SeriesYear
	Mean       Num // of the values of the years used
	// FrameAdjusted says that the values are least-squares means of frame +
	// year, not the occasions' means.
	FrameAdjusted   bool
	Trends          []Trend
	Autocorrelation *stat.Autocorrelation // of the residuals of OLS; nil where it cannot be had
	Components      *stat.MixedTrend      // the mixed model's variance components, (g/m²)²; nil without one
	Rain            *SeriesRain           // nil where the site declares no station
	Events          []schema.Event        // within the years, of the site or its stratum
	Transects       []schema.TransectPlace
	Sentence        string // what the numbers say, in plain words
	Remarks         []Remark
}

// SeriesYear is one year of a series.
type SeriesYear struct {
	Year    int
	Mean    *Mean  // the occasion's, with its interval, n and adequacy
	Value   Num    // what trends are worked out from; missing where LeftOut says why
	LeftOut string // why the year has no value
	MeanPct Num    // the value in percent of the series' mean
	RainMM  Num    // missing where RainWhy says why, or the site has no station
	RainWhy string
	RainPct Num // in percent of the station's long-term mean
	RainUse Num // kg/ha of dry matter for each mm
}

// Trend is what one method finds in a series.
type Trend struct {
	Method    string
	YearsUsed []int
	Slope     Num // a year
	SE        Num
	CI        Interval
	SlopePct  Num // in percent of the mean of the years used, a year
	Statistic Num // t, or S of Mann-Kendall
	DF        Num
	P         Num  // two-sided
	PExact    bool // P of Mann-Kendall is the exact one, ties included, not the normal one
	Verdict   TrendVerdict
	// MinDetectable is the slope, up or down, that would be found with
	// TrendPower. Mann-Kendall has no such number without assuming what least
	// squares assumes: it is missing there, and that of OLS speaks.
	MinDetectable Num
	Remarks       []Remark
}

func (t *Trend) note(code, text string) {
	t.Remarks = append(t.Remarks, Remark{Code: code, Text: text})
}

func (t *Trend) warn(code, text string) {
	t.Remarks = append(t.Remarks, Remark{Code: code, Text: text, Loud: true})
}

func (s *Series) note(code, text string) {
	s.Remarks = append(s.Remarks, Remark{Code: code, Text: text})
}

func (s *Series) warn(code, text string) {
	s.Remarks = append(s.Remarks, Remark{Code: code, Text: text, Loud: true})
}

// Trend finds what a method says; nil where it was not used.
func (s *Series) Trend(method string) *Trend {
	for i := range s.Trends {
		if s.Trends[i].Method == method {
			return &s.Trends[i]
		}
	}
	return nil
}

// SeriesRain is the rain beside a series, and what it makes of the slope.
type SeriesRain struct {
	*SiteRain
	YearsUsed   []int // years with a value and rain
	Mean        Num   // of the values of these years
	Correlation Num   // of rain with year
	RainSlope   Num   // mm a year
	PerMM       Num   // g/m² for each mm, with the year held
	PerMMCI     Interval
	Alone       Num // slope of the years used without rain
	AloneCI     Interval
	Held        Num // slope with rain held
	HeldCI      Interval
	Change      Num // Alone - Held: the part of the slope that goes with rain
	ChangeCI    Interval
	Why         string // why there is no answer; "" where there is
}

// PerDecade is a slope for ten years.
func (t *Trend) PerDecade() Num {
	if !t.Slope.Valid {
		return Num{}
	}
	return schema.Some(10 * t.Slope.Float64)
}

// values are the years with values, as floats, and the values.
func (s *Series) values() (years []int, x, y []float64) {
	for i := range s.Years {
		if v := s.Years[i].Value; v.Valid {
			years = append(years, s.Years[i].Year)
			x, y = append(x, float64(s.Years[i].Year)), append(y, v.Float64)
		}
	}
	return years, x, y
}
