package monitor

import (
	"cmp"
	"slices"
	"strings"

	"clipledger/schema"
)

// Where does every stratum stand this year? One row a stratum, growth year,
// season and component, and one for all strata: the mean over its sites with
// its interval (Cochran 1977 ch. 5: strata by the areas of their sites, sites
// of a stratum alike), against last year and the long-term mean of the same
// sites, with the rain, the classes, how many sites had enough frames and which
// were not visited.
//
// A site whose components are clipped in different seasons has a yearly total;
// it counts with the season of its first part.

// Summary is one row.
type Summary struct {
	Stratum    string
	All        bool // of all strata; Stratum is blank
	Year       int
	Season     string
	Component  string
	N          int // sampling units of all sites
	Mean       Num // g/m²
	CI         Interval
	DF         Num
	Confidence float64
	Weighted   bool // strata count by their areas
	ChangePct  Num  // from the year before, sites visited in both
	ChangeOf   int  // those sites
	LongTerm   Num  // mean of earlier years, equal weights, of the sites that have any
	PctOfMean  Num  // of the same sites
	RainPct    Num  // of the sites' rain in percent of its long-term mean
	Adequate   int  // sites with enough sampling units
	Judged     int  // sites whose adequacy could be judged
	NotVisited []string
	Classes    []ClassCount
	Sites      []SummarySite
	Remarks    []Remark
}

// ClassCount is how many sites fall in a class.
type ClassCount struct {
	Label string
	Sites int
}

// SummarySite is one site of a row.
type SummarySite struct {
	Site      *schema.SiteRecord
	N         int
	Mean      Num
	CI        Interval
	Class     string
	Adequate  Verdict
	NRequired Num
	ShortBy   Num
	ChangePct Num // from the year before
	LongTerm  Num // mean of its earlier years
	Earlier   int // how many
	PctOfMean Num
	RainPct   Num
	Season    string // as the site's mean has it
	Remarks   []Remark
}

func (s *Summary) note(code, text string) {
	s.Remarks = append(s.Remarks, Remark{Code: code, Text: text})
}

func (s *Summary) warn(code, text string) {
	s.Remarks = append(s.Remarks, Remark{Code: code, Text: text, Loud: true})
}

// seriesKey is what is summed up over sites.
type seriesKey struct{ season, component string }

// siteYears are the means of one site's series by year.
type siteYears map[int]SummarySite

// record gathers what summaries are made of.
type record struct {
	sites   []schema.SiteRecord
	series  map[seriesKey]map[int64]siteYears
	rain    map[int64]*SiteRain
	visited map[siteYear]bool
	years   map[int]bool
	latest  int
}

type siteYear struct {
	site int64
	year int
}

// Summaries works out the rows of the wanted years; of the last year of the
// ledger where none is asked for. Rows come by year, season and component,
// strata in the order of their names, all strata last.
func Summaries(snap *schema.Snapshot, q Query, emit func(*Summary) error) error {
	r, confidence, err := readRecord(snap, q)
	if err != nil {
		return err
	}
	return r.emit(q, confidence, emit)
}

// emit works out the rows of the wanted years and hands them on.
func (r *record) emit(q Query, confidence float64, emit func(*Summary) error) error {
	keys := make([]seriesKey, 0, len(r.series))
	for k := range r.series {
		keys = append(keys, k)
	}
	slices.SortFunc(keys, func(a, b seriesKey) int {
		return cmp.Or(cmp.Compare(a.season, b.season), componentOrder(a.component)-componentOrder(b.component))
	})
	for _, year := range r.wanted(q) {
		for _, k := range keys {
			for _, s := range r.rows(k, year, confidence) {
				if err := emit(s); err != nil {
					return err
				}
			}
		}
	}
	return nil
}

// wanted are the years asked for that have a mean.
func (r *record) wanted(q Query) []int {
	var out []int
	for year := range r.years {
		if q.FirstYear == 0 && q.LastYear == 0 && year != r.latest || year < q.FirstYear || q.LastYear != 0 && year > q.LastYear {
			continue
		}
		out = append(out, year)
	}
	slices.Sort(out)
	return out
}

// readRecord reads the means of every year up to the last one wanted.
func readRecord(snap *schema.Snapshot, q Query) (*record, float64, error) {
	r, confidence, err := newRecord(snap, q)
	if err != nil {
		return nil, 0, err
	}
	all := q
	all.FirstYear, all.Seasons, all.Classes = 0, nil, true
	err = Means(snap, all, func(m *Mean) error {
		r.take(m, &q)
		return nil
	})
	return r, confidence, err
}

// newRecord reads what summaries need beside the means.
func newRecord(snap *schema.Snapshot, q Query) (*record, float64, error) {
	r := &record{series: map[seriesKey]map[int64]siteYears{}, rain: map[int64]*SiteRain{}, visited: map[siteYear]bool{}, years: map[int]bool{}}
	values, err := snap.Settings()
	if err != nil {
		return nil, 0, err
	}
	if q.Confidence == 0 {
		q.Confidence = values.Must("confidence")
	}
	sites, err := snap.Sites()
	if err != nil {
		return nil, 0, err
	}
	gauges, err := snap.Gauges()
	if err != nil {
		return nil, 0, err
	}
	for i := range sites {
		if q.site(&sites[i]) {
			r.sites = append(r.sites, sites[i])
			r.rain[sites[i].ID] = rainOfSite(&sites[i], gauges)
		}
	}
	return r, q.Confidence, nil
}

// take keeps what a summary needs of a mean.
func (r *record) take(m *Mean, q *Query) {
	season, _, _ := strings.Cut(m.Season, "+")
	r.visited[siteYear{m.Site.ID, m.Year}] = true
	if !q.season(season) && !q.season(m.Season) || !m.Mean.Valid {
		return
	}
	r.years[m.Year] = true
	r.latest = max(r.latest, m.Year)
	k := seriesKey{season, m.Component}
	if r.series[k] == nil {
		r.series[k] = map[int64]siteYears{}
	}
	if r.series[k][m.Site.ID] == nil {
		r.series[k][m.Site.ID] = siteYears{}
	}
	s := SummarySite{Site: m.Site, N: m.N, Mean: m.Mean, CI: m.CI, Adequate: m.Adequate, NRequired: m.NRequired, ShortBy: m.ShortBy(), Season: m.Season, Remarks: m.Remarks}
	if m.Class != nil {
		s.Class = m.Class.Label
	}
	r.series[k][m.Site.ID][m.Year] = s
}
