package schema

import "slices"

// What classes, growth curves, events and transects the ledger holds, as they
// are read by those who draw and reckon with them.

// ClassBound is one class of a scheme: [lower, upper).
type ClassBound struct {
	Line      int
	Scheme    string
	Component string  // a component's name, or "production"
	LowerG    float64 // g/m², on Basis
	UpperG    Num     // g/m²; missing: the class is open
	Basis     string  // as it came; "" in an import means the ledger's
	Label     string
}

// ClassScheme names the classes of one component of one scheme.
type ClassScheme struct {
	Scheme    string
	Component string
	Basis     string // on which the bounds were stated; UnknownBasis is to be flagged
	Classes   int
}

// ClassSchemes lists what is classed, in the order of scheme and component.
func (s *Snapshot) ClassSchemes() ([]ClassScheme, error) {
	var out []ClassScheme
	err := s.each(`SELECT scheme, component, min(basis), count(*) FROM class_bound GROUP BY 1, 2 ORDER BY 1, 2`, nil, func(scan func(...any) error) error {
		var c ClassScheme
		err := scan(&c.Scheme, &c.Component, &c.Basis, &c.Classes)
		out = append(out, c)
		return err
	})
	return out, err
}

// ClassBounds lists the classes of a scheme in the order of component and
// bound, none where there is no such scheme. The bounds come on the ledger's
// basis, whatever Basis says they were stated on. Within a component they
// touch: each upper bound is the next one's lower, and only the last is open.
func (s *Snapshot) ClassBounds(scheme string) ([]ClassBound, error) {
	var out []ClassBound
	err := s.each(`SELECT line, scheme, component, lower_g_m2 * n.value, upper_g_m2 * n.value, basis, label
		FROM class_bound JOIN rule_number n ON n.name = basis WHERE scheme = ? ORDER BY component, lower_g_m2`, []any{scheme}, func(scan func(...any) error) error {
		var b ClassBound
		err := scan(&b.Line, &b.Scheme, &b.Component, &b.LowerG, &b.UpperG, &b.Basis, &b.Label)
		out = append(out, b)
		return err
	})
	return out, err
}

// CurvePoint is one point of a growth curve: how much of the year's growth is
// completed at the end of a day.
type CurvePoint struct {
	Line      int
	Curve     string
	DayOfYear int     // 1 to 366; of a common year, 60 is the 1st of March
	Pct       float64 // cumulative, 0 to 100
}

// GrowthCurves lists the names of the growth curves.
func (s *Snapshot) GrowthCurves() ([]string, error) {
	var out []string
	err := s.each(`SELECT DISTINCT curve FROM growth_curve ORDER BY curve`, nil, func(scan func(...any) error) error {
		var name string
		err := scan(&name)
		out = append(out, name)
		return err
	})
	return out, err
}

// GrowthCurve lists the points of a curve in the order in which growth goes
// on: the percentages never fall and end at 100. Growth that begins in fall
// and ends in spring has its days in that order too (280 ... 365, 30 ... 120).
// There are no points where there is no such curve.
func (s *Snapshot) GrowthCurve(name string) ([]CurvePoint, error) {
	var out []CurvePoint
	err := s.each(`SELECT line, curve, day_of_year, cumulative_pct FROM growth_curve WHERE curve = ? ORDER BY day_of_year`, []any{name}, func(scan func(...any) error) error {
		var p CurvePoint
		err := scan(&p.Line, &p.Curve, &p.DayOfYear, &p.Pct)
		out = append(out, p)
		return err
	})
	return inGrowthOrder(out), err
}

// inGrowthOrder turns points that lie in the order of the calendar so that
// they begin after the one fall of a curve that runs over the new year.
func inGrowthOrder(points []CurvePoint) []CurvePoint {
	for i := 1; i < len(points); i++ {
		if points[i].Pct < points[i-1].Pct {
			return slices.Concat(points[i:], points[:i])
		}
	}
	return points
}

// Event is something that happened at a site, or in every site of a stratum.
type Event struct {
	Line    int
	Site    string // code, or "" where Stratum is given
	Stratum string
	Start   string // YYYY-MM-DD
	End     string // "" where it is one day, or not known
	Kind    string
	Note    string
}

// EventFilter says which events are wanted: those of any of these sites and
// of any of these strata. Where both are nil, all are.
type EventFilter struct {
	SiteIDs []int64
	Strata  []string
}

// Events lists events in the order of their start, then site, stratum and
// kind.
func (s *Snapshot) Events(f EventFilter) ([]Event, error) {
	var out []Event
	err := s.each(`SELECT e.site_id, e.line, coalesce(s.site,''), e.stratum, e.start, coalesce(e.finish,''), e.kind, coalesce(e.note,'')
		FROM event e LEFT JOIN site s ON s.site_id = e.site_id ORDER BY e.start, s.site, e.stratum, e.kind`, nil, func(scan func(...any) error) error {
		var site int64
		var e Event
		err := scan(&site, &e.Line, &e.Site, &e.Stratum, &e.Start, &e.End, &e.Kind, &e.Note)
		all := f.SiteIDs == nil && f.Strata == nil
		if all || site != 0 && slices.Contains(f.SiteIDs, site) || site == 0 && slices.Contains(f.Strata, e.Stratum) {
			out = append(out, e)
		}
		return err
	})
	return out, err
}

// TransectPlace says where a transect lies and how its frames are placed.
type TransectPlace struct {
	Line      int
	Site      string
	Transect  string
	Latitude  Num // of its beginning
	Longitude Num
	Bearing   Num // degrees from north
	LengthM   Num
	Side      string // of the line on which frames lie
	OffsetM   Num    // of frames from the line
	Photo     string
	Note      string
}

// TransectPlaces lists the transects of a site, by its number; of every site
// where it is 0.
func (s *Snapshot) TransectPlaces(site int64) ([]TransectPlace, error) {
	var out []TransectPlace
	err := s.each(`SELECT t.line, s.site, t.transect, t.latitude, t.longitude, t.bearing, t.length_m, coalesce(t.side,''), t.offset_m, coalesce(t.photo,''), coalesce(t.note,'')
		FROM transect t JOIN site s ON s.site_id = t.site_id WHERE ?1 IN (0, t.site_id) ORDER BY s.site, t.transect`, []any{site}, func(scan func(...any) error) error {
		var p TransectPlace
		err := scan(&p.Line, &p.Site, &p.Transect, &p.Latitude, &p.Longitude, &p.Bearing, &p.LengthM, &p.Side, &p.OffsetM, &p.Photo, &p.Note)
		out = append(out, p)
		return err
	})
	return out, err
}

// Stations lists the rain gauges of which the ledger holds anything.
func (s *Snapshot) Stations() ([]string, error) {
	var out []string
	err := s.each(`SELECT DISTINCT station FROM rain ORDER BY station`, nil, func(scan func(...any) error) error {
		var name string
		err := scan(&name)
		out = append(out, name)
		return err
	})
	return out, err
}
