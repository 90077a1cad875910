package charts

// What a page says beyond its means: the trend and the rain, changes between
// years, classes, composition, what the dry weights rest on, eyes against
// clippings, use, and the yearly summary of the strata. As in the rest of the
// model, numbers are in the units they are shown in, and nil is missing.

// Trend is what the years of a series say together.
type Trend struct {
	Sentence string // composed where the numbers were; printed as it is
	Verdict  string // "increasing", "decreasing", "no trend detected", "too few years"
	Slope    *float64
	Low      *float64 // interval of the slope
	High     *float64
	Pct      *float64 // slope in % of the mean of the years used
	P        *float64
	// MinDetectable is the smallest slope the record could have shown.
	MinDetectable *float64
	// Line holds the ends of the trend line; drawn only where a trend was
	// detected.
	Line    []TrendPoint
	Methods []TrendMethod
	Years   []TrendYear // the yearly series that trends are worked out from
	Rain    *TrendRain  // nil where the site has no rain
	Remarks []Remark
}

// Detected tells whether a trend is to be drawn.
func (t *Trend) Detected() bool {
	return t != nil && (t.Verdict == "increasing" || t.Verdict == "decreasing")
}

// TrendPoint is one end of a trend line.
type TrendPoint struct {
	Year  int
	Value float64
}

// TrendMethod is what one method finds.
type TrendMethod struct {
	Name          string // "ols", "theil-sen", "ols-rain", "mixed"
	Years         int
	Slope         *float64
	Low, High     *float64
	Pct           *float64
	Statistic     *float64
	DF            *float64
	P             *float64
	Verdict       string
	MinDetectable *float64
	Remarks       []Remark
}

// TrendYear is one year of the yearly series with its rain.
type TrendYear struct {
	Year    int
	Value   *float64 // frame-adjusted where the series is
	Pct     *float64 // of the mean of the series
	RainMM  *float64
	RainPct *float64 // of the station's long-term mean
	RainUse *float64 // kg/ha for each mm
	LeftOut string
}

// TrendRain is what rain makes of a slope.
type TrendRain struct {
	Alone               *float64 // slope of the years with rain
	AloneLow, AloneHigh *float64
	Held                *float64 // with rain held
	HeldLow, HeldHigh   *float64
	Change              *float64 // Alone − Held
	ChangeLow           *float64
	ChangeHigh          *float64
	Correlation         *float64 // of rain with year
	PerMM               *float64 // unit of display for each mm
	MeanMM              *float64 // of the years used
	MeanValue           *float64
	Years               int
	Why                 string // why there is no answer
}

// Rain is the rain that counts at a site.
type Rain struct {
	Station string
	Window  string // in words, e.g. "October before to June"
	MeanMM  *float64
	Years   []RainYear // ascending, those of the site's record
}

// RainYear is the rain of one growth year; nil where a month is missing.
type RainYear struct {
	Year int
	MM   *float64
	Pct  *float64
}

// Event is something that happened at a site or in its stratum.
type Event struct {
	Year       int     // growth year in which it began
	At         float64 // year and part of it, for drawing
	Start, End string  // ISO dates
	Kind, Note string
	Whole      bool // of the whole stratum
}

// Difference is the change of a series between two growth years.
type Difference struct {
	Year1, Year2  int
	Design        string
	N1, N2        int
	Mean1, Mean2  *float64
	Value         *float64
	Pct           *float64
	Low, High     *float64
	P             *float64
	PHolm         *float64
	MinDetectable *float64
	Remarks       []Remark
}

// ClassBand is one class of a scheme, lowest first. Low is nil where the
// lowest class has no floor, High where the highest has no ceiling.
type ClassBand struct {
	Label     string
	Low, High *float64
}

// ClassShare is the confidence of one class.
type ClassShare struct {
	Label string
	Share float64
}

// Effort is the half-width, in % of the mean, that N sampling units would give
// with the spread found.
type Effort struct {
	N       int
	HalfPct float64
}

// Composition is what one year's production was made of, by species.
type Composition struct {
	Year    int
	Species []SpeciesShare // heaviest first
	Unnamed *float64       // % weighed without species
}

// SpeciesShare is one species of a year.
type SpeciesShare struct {
	Code, Name, Component string
	Pct                   float64
}

// DryBasis is what one year's dry weight rests on, in % of the weight.
type DryBasis struct {
	Year                                  int
	Measured, Sample, Row, Book, Fallback float64
	Bags                                  int // bags with a dry weight
	NoDry                                 int // bags without any
}

// Eye is one observer's estimates beside the clipped weight of the same frame.
type Eye struct {
	Observer  string
	Component string
	State     string // "green" or "dry"
	Unit      string
	Pairs     []EyePair
	Bias      *float64
	Ratio     *float64
	CCC       *float64 // Lin's concordance
	Remarks   []Remark
}

// EyePair is one frame.
type EyePair struct {
	Clipped, Estimated float64
	Year               int
}

// Use is the share taken in one year of one component.
type Use struct {
	Year      int
	Season    string
	Component string
	NCaged    int
	NOpen     int
	Caged     *float64
	Open      *float64
	Pct       *float64
	Low, High *float64
	Since     string
	Remarks   []Remark
}

// SummaryYear is the office's summary of one growth year.
type SummaryYear struct {
	Year int
	Rows []SummaryRow
}

// SummaryRow is one stratum, or all of them, in one season and component.
type SummaryRow struct {
	Stratum    string
	All        bool
	Season     string
	Component  string
	Sites      int
	N          int
	Mean       *float64
	Low, High  *float64
	ChangePct  *float64
	ChangeOf   int
	LongTerm   *float64
	PctOfMean  *float64
	RainPct    *float64
	Adequate   int
	Judged     int
	NotVisited []string
	Classes    []ClassCount
	Each       []SummarySite
	Remarks    []Remark
}

// ClassCount is how many sites fall in a class.
type ClassCount struct {
	Label string
	Sites int
}

// SummarySite is one site of a row.
type SummarySite struct {
	Code, Name string
	N          int
	Mean       *float64
	Low, High  *float64
	Class      string
	Adequate   *bool
	Required   *float64
	ShortBy    *int
	ChangePct  *float64
	LongTerm   *float64
	PctOfMean  *float64
	RainPct    *float64
}

// QualityFinding is one finding of the quality checks.
type QualityFinding struct {
	ID         string
	Severity   string // "serious", "look", "note"
	Site       string
	Years      string
	Season     string
	Components string
	Records    string
	Found      string
	Why        string
	Do         string
	Accepted   bool
	Note       string
}
