package monitor

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"clipledger/schema"
)

// What goes on the field sheet of a coming occasion: the frames, components
// and frame types of the last occasions of the same site and season, so that
// next time is clipped as last time was. Nothing here is computed from weights
// but the number of frames that SheetQuery.Required asks for.

// sheetOccasions is over how many of the last occasions of a site and season
// frames, components and species are gathered.
const sheetOccasions = 3

// SheetQuery says for which sites, and for when, field sheets are made.
type SheetQuery struct {
	Filter     Filter // sites, strata and seasons; no season: every one in use
	Year       int    // growth year; 0: the one after the last recorded at these sites, else anywhere
	Frames     int    // frames of a site whose spots are new; 0: as many as last time
	Required   bool   // as many frames as adequacy asks for, where that is more
	Estimates  bool   // for eye estimates: frames that were only estimated last time are on it too
	OneSpecies bool   // one line a component, even where species were kept apart
}

// FieldSheet is the sheet of one site and season.
type FieldSheet struct {
	Site      *schema.SiteRecord
	Year      int
	Season    string
	LastYear  int      // growth year of the last occasion; 0: none
	Reminders []string // how it was done last time
	Cares     []string // what to beware of at this site
	Species   []string // kept apart last time
	Lines     []FieldLine
}

// FieldLine is one bag to come.
type FieldLine struct {
	Transect    string
	Frame       string
	Caged       bool
	Treatment   string
	Block       string
	FrameType   string
	FramesInBag int
	Component   schema.Component
	Species     string

	LastYear     int // when this line was last recorded; 0: never, or another spot
	LastGreenG   Num
	LastDryG     Num
	LastEdgeRule string
	LastHeightCM Num
}

// FieldSheets makes the sheets that a query asks for, by site and season, and
// says what it could not make and why.
func FieldSheets(snap *schema.Snapshot, q SheetQuery) (sheets []FieldSheet, notices []string, err error) {
	sites, err := snap.Sites()
	if err != nil {
		return nil, nil, err
	}
	occasions, err := snap.Occasions()
	if err != nil {
		return nil, nil, err
	}
	m := &sheetMaker{snap: snap, query: q}
	bySite := map[int64][]schema.OccasionRecord{}
	for _, o := range occasions {
		bySite[o.SiteID] = append(bySite[o.SiteID], o)
	}
	for i := range sites {
		if s := &sites[i]; q.Filter.site(s) {
			m.newest = max(m.newest, newestYear(bySite[s.ID]))
		}
	}
	if m.newest == 0 { // sites that are new to a ledger go along with the others
		m.newest = newestYear(occasions)
	}
	for i := range sites {
		if s := &sites[i]; q.Filter.site(s) {
			if err := m.site(s, bySite[s.ID]); err != nil {
				return nil, nil, err
			}
		}
	}
	return m.sheets, m.notices, nil
}

// sheetMaker gathers the sheets of one query.
type sheetMaker struct {
	snap    *schema.Snapshot
	query   SheetQuery
	newest  int // growth year recorded at the chosen sites, else anywhere
	sheets  []FieldSheet
	notices []string
}

func (m *sheetMaker) say(format string, args ...any) {
	m.notices = append(m.notices, fmt.Sprintf(format, args...))
}

// newestYear is the newest growth year of some occasions; 0 where there are
// none.
func newestYear(occasions []schema.OccasionRecord) int {
	newest := 0
	for _, o := range occasions {
		newest = max(newest, o.Year)
	}
	return newest
}

// coming is the growth year that the sheets are for; 0 where nothing tells.
func (m *sheetMaker) coming() int {
	if m.query.Year != 0 || m.newest == 0 {
		return m.query.Year
	}
	return m.newest + 1
}

// site makes the sheets of one site, one for each season.
func (m *sheetMaker) site(s *schema.SiteRecord, occasions []schema.OccasionRecord) error {
	year := m.coming()
	if year == 0 {
		m.say("%s: nothing was clipped yet, so no growth year follows; say --year", s.Site)
		return nil
	}
	before := map[string][]schema.OccasionRecord{}
	newest := 0
	for _, o := range occasions {
		if o.Year < year {
			before[o.Season] = append(before[o.Season], o)
			newest = max(newest, o.Year)
		} else if o.Year == year && m.query.Filter.season(o.Season) {
			m.say("%s: %d %s has records already; a weight that differs from them will be a conflict", s.Site, year, o.Season)
		}
	}
	seasons := m.seasons(s, before, newest)
	for _, season := range seasons {
		if err := m.sheet(s, year, season, before[season]); err != nil {
			return err
		}
	}
	return nil
}

// seasons are the seasons that a site gets sheets for: those asked for, else
// those it was clipped in of late, else those it declares.
func (m *sheetMaker) seasons(s *schema.SiteRecord, before map[string][]schema.OccasionRecord, newest int) []string {
	if len(m.query.Filter.Seasons) > 0 {
		return m.query.Filter.Seasons
	}
	var out []string
	for season, occasions := range before {
		last := slices.MaxFunc(occasions, func(a, b schema.OccasionRecord) int { return cmp.Compare(a.Year, b.Year) }).Year
		if newest-last < sheetOccasions {
			out = append(out, season)
		} else {
			m.say("%s: %s was last clipped in %d and gets no sheet; --season %s makes one", s.Site, season, last, season)
		}
	}
	if len(before) == 0 {
		for _, d := range s.Declared {
			if d.Season != "" && !slices.Contains(out, d.Season) {
				out = append(out, d.Season)
			}
		}
		if len(out) == 0 {
			out = []string{"peak"}
		}
	}
	slices.Sort(out)
	return out
}

// sheet makes the sheet of one site and season.
func (m *sheetMaker) sheet(s *schema.SiteRecord, year int, season string, before []schema.OccasionRecord) error {
	slices.SortFunc(before, func(a, b schema.OccasionRecord) int { return cmp.Compare(b.Year, a.Year) })
	l := &sheetLayout{site: s, season: season, parts: map[schema.Component]*sheetPart{}}
	for _, o := range before[:min(len(before), sheetOccasions)] {
		frames, err := m.snap.LaidFrames(o.ID)
		if err != nil {
			return err
		}
		if !m.query.Estimates {
			frames = slices.DeleteFunc(frames, onlyEstimated)
		}
		if len(frames) > 0 {
			l.add(o.Year, frames)
		}
	}
	sheet := FieldSheet{Site: s, Year: year, Season: season, LastYear: l.lastYear}
	frames, err := m.frames(l)
	if err != nil {
		return err
	}
	l.declare()
	if !m.query.OneSpecies {
		sheet.Species = l.speciesApart()
	}
	for i := range frames {
		sheet.Lines = append(sheet.Lines, l.lines(&frames[i], m.query.OneSpecies)...)
	}
	if len(sheet.Lines) == 0 {
		m.say("%s: nothing is known of its frames and components in %s; %s", s.Site, season, l.lacking(m.query.Frames))
		return nil
	}
	sheet.Reminders, sheet.Cares = l.reminders(m.query.Estimates), l.cares()
	if slices.ContainsFunc(sheet.Lines, func(f FieldLine) bool { return f.FrameType == "" }) {
		sheet.Cares = append(sheet.Cares, "The size of a frame is not known: write down which frame is used")
	}
	m.sheets = append(m.sheets, sheet)
	return nil
}

// onlyEstimated tells whether nobody clipped a frame: it has no bag, and is not
// called empty.
func onlyEstimated(f schema.LaidFrame) bool { return f.Recorded == 0 && !f.Empty }

// frames are the frames of a sheet: those of last time, and of a site with new
// spots as many as were asked for.
func (m *sheetMaker) frames(l *sheetLayout) ([]sheetFrame, error) {
	frames := l.frames
	wanted := m.query.Frames
	if l.site.Placement == "same" && l.lastYear != 0 {
		if wanted > 0 || m.query.Required {
			m.say("%s: its frames stay on the same spots; they are as last time", l.site.Site)
		}
		return frames, nil
	}
	if m.query.Required && l.lastYear != 0 {
		n, err := m.required(l)
		if err != nil {
			return nil, err
		}
		wanted = max(n, len(frames))
	}
	if wanted == 0 {
		return frames, nil
	}
	return l.renumber(wanted), nil
}

// required is how many frames adequacy asks for, by the last occasion; 0 where
// it counts transects or gives none.
func (m *sheetMaker) required(l *sheetLayout) (int, error) {
	if l.site.SamplingUnit == "transect" {
		m.say("%s: its sampling units are transects, so adequacy gives no number of frames; they are as last time", l.site.Site)
		return 0, nil
	}
	n := 0
	err := Means(m.snap, Query{Filter: Filter{Sites: []string{l.site.Site}, Seasons: []string{l.season}, FirstYear: l.lastYear, LastYear: l.lastYear}}, func(mean *Mean) error {
		if mean.Site.ID == l.site.ID && mean.NRequired.Valid && mean.Component == Production {
			n = int(mean.NRequired.Float64 + 0.999999)
		}
		return nil
	})
	if n > mostSheetFrames {
		m.say("%s: adequacy asks for %d frames; the sheet has %d", l.site.Site, n, mostSheetFrames)
		n = mostSheetFrames
	}
	return n, err
}

// mostSheetFrames is how many frames a sheet is given at most where nobody
// has clipped as many.
const mostSheetFrames = 60

// lacking says what would make a sheet possible.
func (l *sheetLayout) lacking(frames int) string {
	var do []string
	if len(l.parts) == 0 {
		do = append(do, "declare its components in a sites file")
	}
	if len(l.frames) == 0 && frames == 0 {
		do = append(do, "say how many frames with --frames")
	}
	return strings.Join(do, ", and ")
}
