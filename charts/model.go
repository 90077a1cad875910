// Package charts writes the report: a folder of static pages that opens from
// disk with no network.
//
// In: a Report, a plain value whose numbers are already in the units they are
// shown in. Nothing is estimated here: a mean, an interval or a verdict that
// is nil in the model is a blank cell and a gap in a line, never a zero.
//
// Out: index.html, one page a site under sites/, methods.html, the CSV behind
// every chart under data/, and one copy of style, script and chart library
// under assets/. The same Report gives the same bytes: there is no clock and
// no randomness in this package.
//
// Text in the Report is data. It is escaped wherever it is printed and never
// chooses a path: page names are made by pageName.
package charts

import "strings"

// Report is everything the pages say.
type Report struct {
	LedgerName   string
	LastChange   string  // of the ledger, as it is to be printed
	Unit         string  // of every weight per area, e.g. "lb/ac"
	Basis        string  // "air-dry" or "oven-dry"
	Confidence   float64 // of the intervals, e.g. 0.90
	AdequacyText string  // what "enough" means, e.g. "±20 % at 80 % confidence"
	PrecisionPct float64 // the wanted half-width in % of the mean; 0 draws no line
	Settings     []Setting
	Sites        []Site
	BookTables   []BookTable // in force, in their order
	Sources      []Source    // printed on the methods page after those of the formulas
	Title        string      // in place of the ledger's name at the head of pages; blank: that name
	Summaries    []SummaryYear
	Quality      []QualityFinding
	Also         *OtherUnit // a second unit to show; nil: none
	Stamp        string     // of what the report is made from, for Unchanged; printed nowhere

	single *single
}

// Setting is one setting in force.
type Setting struct{ Name, Value, Meaning string }

// BookTable is a table of book values in force, with what must be said of it.
type BookTable struct {
	Name   string
	Remark string
	Loud   bool
}

// Source is a work the numbers rest on.
type Source struct{ Name, Text string }

// Fact is one thing known of a site, e.g. its placement.
type Fact struct{ Name, Value string }

// Remark is something a reader must know beside a number. Loud ones are set
// off from the text.
type Remark struct {
	Text string
	Loud bool
}

// Site is one page.
type Site struct {
	Code         string
	Name         string
	Stratum      string
	SamplingUnit string // "frame" (also when blank) or "transect": what N counts
	Selection    string // "random", "fixed", "chosen" or blank
	Facts        []Fact
	Series       []Series // production first, then its parts, then the rest
	Remarks      []Remark
	Caution      bool // the page shows figures that tempt to a decision on use
	Latitude     *float64
	Longitude    *float64
	ClassScheme  string
	Rain         *Rain
	Events       []Event
	Composition  []Composition // years in ascending order
	DryBasis     []DryBasis
	Eyes         []Eye
	Uses         []Use
}

// Series is one component in one season, year by year in ascending order.
type Series struct {
	Component  string
	Season     string
	Production bool // production or a part of it; false for standing-dead, litter
	Years      []Year
	Trend      *Trend       // nil where no series of years was worked out
	Changes    []Difference // each year with the one before it
	Classes    []ClassBand  // of the site's scheme, where it classes this component
	LongTerm   *float64     // mean of the years before the latest one that has a mean
	Earlier    int          // how many years that is
}

// Year is one occasion's numbers. A nil pointer is a missing number.
type Year struct {
	Year          int
	N             int // sampling units the mean rests on
	Mean          *float64
	SD            *float64
	SE            *float64
	SEDrying      *float64
	DF            *float64
	CVPct         *float64
	Low, High     *float64 // t interval at Report.Confidence, as computed
	HallLow       *float64
	HallHigh      *float64
	HalfWidthPct  *float64 // in % of the mean, at the confidence of "enough"
	Required      *float64 // sampling units; a pilot rule may give a fraction
	Assured       *int
	ShortBy       *int
	Adequate      *bool
	ZerosInferred int
	Missing       int // frames left out
	BookPct       *float64
	BookLow       *float64  // the mean, were the book percentages 5 points lower
	BookHigh      *float64  // and 5 points higher
	SumOfMeans    bool      // a total of parts on frames of their own; N is the smallest of theirs
	Frames        []float64 // the values of the sampling units, drawn as points
	Remarks       []Remark
	Class         string       // blank: none
	ClassShares   []ClassShare // the confidence of every class
	Detectable    *float64     // the change from the year before, in %, that the sample could see
	FullSeason    *float64
	GrowthPct     *float64 // percent of growth completed when clipped
	Effort        []Effort // what other numbers of sampling units would give, by n
}

// unitWord names n sampling units.
func (s *Site) unitWord(n int) string {
	word := s.SamplingUnit
	if word == "" {
		word = "frame"
	}
	if n == 1 {
		return word
	}
	return word + "s"
}

// headline is the series a site is judged by: its first production, else its
// first series, else nil.
func (s *Site) headline() *Series {
	for i := range s.Series {
		if s.Series[i].Component == "production" {
			return &s.Series[i]
		}
	}
	if len(s.Series) > 0 {
		return &s.Series[0]
	}
	return nil
}

// latest is the last year of the series, nil when there is none.
func (s *Series) latest() *Year {
	if s == nil || len(s.Years) == 0 {
		return nil
	}
	return &s.Years[len(s.Years)-1]
}

// latestWithMean is the last year that has a mean, nil when there is none.
func (s *Series) latestWithMean() *Year {
	if s == nil {
		return nil
	}
	for i := len(s.Years) - 1; i >= 0; i-- {
		if s.Years[i].Mean != nil {
			return &s.Years[i]
		}
	}
	return nil
}

// manySeasons tells whether the season must be named to tell series apart.
func (s *Site) manySeasons() bool {
	for i := range s.Series {
		if s.Series[i].Season != s.Series[0].Season {
			return true
		}
	}
	return false
}

// label names a series in a sentence: the component, with its season where
// the site has several.
func (s *Site) label(x *Series) string {
	if s.manySeasons() && x.Season != "" {
		return x.name() + " (" + x.seasonName() + ")"
	}
	return x.name()
}

// name is the component as it is read aloud.
func (x *Series) name() string {
	if x.Component == "standing-dead" {
		return "standing dead"
	}
	return x.Component
}

// seasonName is the season as it is read aloud: a yearly total carries the
// seasons of its parts, joined by "+".
func (x *Series) seasonName() string {
	if x.Component != "production" {
		return x.Season
	}
	return join(strings.Split(x.Season, "+"))
}
