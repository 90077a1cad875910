package schema

import (
	"cmp"
	"fmt"
)

// What was estimated by eye, and beside it what the same frame weighed where
// it was clipped. Estimates are for calibration and double sampling: nothing
// that is read through another reader or view counts them.

// The states in which a weight is estimated.
const (
	StateGreen = "green"
	StateDry   = "dry"
)

// EstimateRecord is one eye estimate, with the clipped weight of the same
// frame, component and, where the estimate names one, species.
type EstimateRecord struct {
	SiteID    int64
	Site      string
	Occasion  int64
	Year      int // growth year
	Season    string
	Visit     int64
	Transect  string
	Frame     string
	Caged     bool
	Component Component
	Species   string // "" where the component was estimated as a whole
	Observer  string
	State     string // StateGreen or StateDry
	Date      string // of the estimate; "" where only the year is known
	Basis     string // of a dry estimate, as it came
	ImportID  int64
	Line      int64
	G         float64
	PerM2     bool // G is grams in one square metre, else in the frame

	// FrameType and AreaM2 say what ground a G in grams speaks for, and
	// AreaFrom how that is known: AreaRow, AreaFrame, AreaOccasion, AreaSite,
	// or "" where it is not known or not needed (PerM2).
	FrameType string
	AreaM2    Num
	AreaFrom  string

	// GPerM2 is the estimate in g/m², a dry one on the ledger's basis; missing
	// where the area is not known.
	GPerM2 Num

	// FrameClipped tells whether anything was looked for in the frame with
	// scissors in hand, LookedFor whether this component was.
	FrameClipped bool
	LookedFor    bool

	// Clipped tells whether the frame was clipped with the component looked
	// for: then ClippedGreen and ClippedDry are what it weighed, in g/m² (dry on
	// the ledger's basis, as the means count it). A component looked for and not
	// found weighs 0. Each is missing where a bag lacks that weight.
	Clipped      bool
	ClippedGreen Num
	ClippedDry   Num
	// ClippedBook tells whether ClippedDry rests on a book value or a fallback
	// percentage, so that it is no measured dry weight.
	ClippedBook bool
}

// How the ground of an estimate in grams is known.
const (
	AreaRow      = "row"      // its row names a frame type
	AreaFrame    = "frame"    // the frame was clipped for the component, on this type
	AreaOccasion = "occasion" // the one type on which the occasion clipped the component
	AreaSite     = "site"     // what the site declares
)

// Against is the clipped weight that the estimate is compared with: green with
// green, dry with dry, in g/m².
func (e *EstimateRecord) Against() Num {
	if e.State == StateGreen {
		return e.ClippedGreen
	}
	return e.ClippedDry
}

// estimateQuery reads estimates with the bags of their frames. "Mine" are the
// bags that the estimate speaks of: all of the component, or of its species.
const estimateQuery = `WITH mine AS (
	SELECT e.*, b.visit_id IS NOT NULL AND (e.species_id = 0 OR b.species_id = e.species_id) AS is_mine,
		b.species_id = 0 AND b.status IS NOT 'empty' AND b.used_dry_g IS NOT 0 AS is_unsorted,
		coalesce(b.green_g, iif(b.trace & 1, (SELECT value FROM rule_number WHERE name = 'trace-g'), iif(b.status IS 'empty', 0.0, NULL))) AS bag_green,
		b.used_dry_g AS bag_dry, b.per_m2 AS bag_per_m2, b.used_method
	FROM estimate e LEFT JOIN bag b ON b.visit_id = e.visit_id AND b.component = e.component WHERE e.visit_id BETWEEN ? AND ?)
	SELECT o.site_id, s.site, o.occasion_id, o.growth_year, o.season, v.visit_id, v.transect, v.frame, v.caged,
	m.component, x.species, w.observer, m.state, coalesce(m.date,''), coalesce(m.basis,''), m.import_id, m.line, m.g, m.per_m2,
	coalesce(te.frame_type,''), te.area_m2, coalesce(tc.frame_type,''), tc.area_m2, coalesce(p.frames_in_bag, 1),
	iif(m.state = 'dry', (SELECT value FROM rule_number WHERE name = coalesce(m.basis, 'unknown')), 1.0),
	v.found, v.found OR v.empty OR v.components_sampled IS NOT NULL, coalesce(v.components_sampled, l.mask, 0),
	coalesce(sum(m.is_mine), 0), coalesce(sum(m.is_unsorted), 0),
	coalesce(sum(m.is_mine AND m.bag_green IS NULL), 0), coalesce(sum(iif(m.is_mine, m.bag_green, 0.0)), 0.0),
	coalesce(sum(m.is_mine AND m.bag_dry IS NULL), 0), coalesce(sum(iif(m.is_mine, m.bag_dry, 0.0)), 0.0),
	coalesce(max(m.is_mine AND m.bag_per_m2), 0), coalesce(max(m.is_mine AND m.used_method >= 9), 0)
	FROM mine m JOIN visit v ON v.visit_id = m.visit_id JOIN occasion o ON o.occasion_id = v.occasion_id JOIN site s ON s.site_id = o.site_id
	JOIN species x ON x.species_id = m.species_id JOIN observer w ON w.observer_id = m.observer_id
	LEFT JOIN plot p ON p.visit_id = m.visit_id AND p.component = m.component
	LEFT JOIN frame_type te ON te.frame_type_id = m.frame_type_id
	LEFT JOIN frame_type tc ON tc.frame_type_id = coalesce(p.frame_type_id, v.frame_type_id)
	LEFT JOIN looked_for l ON l.occasion_id = o.occasion_id AND l.frame_type_id = coalesce(v.frame_type_id, 0)
	GROUP BY m.visit_id, m.component, m.species_id, m.observer_id, m.state
	ORDER BY s.site, o.growth_year, o.season, m.component, x.species, w.observer, m.state, v.transect, v.frame, v.caged`

// Estimates streams the eye estimates in the order of site, growth year,
// season, component, species, observer, state, and then frame: what belongs
// together in a calibration comes together. The record is the reader's only
// until fn returns.
func (s *Snapshot) Estimates(fn func(*EstimateRecord) error) error {
	r, err := s.EstimateReader()
	if err != nil {
		return err
	}
	return r.Estimates(0, lastOccasion, fn)
}

// HasEstimates tells whether the ledger holds any.
func (s *Snapshot) HasEstimates() (bool, error) {
	var has bool
	err := s.each(`SELECT EXISTS(SELECT 1 FROM estimate)`, nil, func(scan func(...any) error) error { return scan(&has) })
	return has, err
}

// EstimateReader reads estimates by ranges of occasions.
type EstimateReader struct {
	snap    *Snapshot
	grounds *estimateGrounds
}

// EstimateReader makes one; it may be asked many times.
func (s *Snapshot) EstimateReader() (*EstimateReader, error) {
	grounds, err := s.grounds()
	return &EstimateReader{s, grounds}, err
}

// Estimates streams those of a range of occasions, as Snapshot.Estimates does
// all.
func (r *EstimateReader) Estimates(fromOccasion, toOccasion int64, fn func(*EstimateRecord) error) error {
	return r.snap.each(estimateQuery, []any{fromOccasion << 20, toOccasion<<20 + maxSeq}, func(scan func(...any) error) error {
		var e EstimateRecord
		var c clippedBags
		var ownType string
		var ownArea Num
		var factor float64
		err := scan(&e.SiteID, &e.Site, &e.Occasion, &e.Year, &e.Season, &e.Visit, &e.Transect, &e.Frame, &e.Caged,
			&e.Component, &e.Species, &e.Observer, &e.State, &e.Date, &e.Basis, &e.ImportID, &e.Line, &e.G, &e.PerM2,
			&ownType, &ownArea, &c.frameType, &c.areaM2, &c.framesInBag, &factor,
			&c.found, &c.clipped, &c.sampled, &c.mine, &c.unsorted, &c.lackGreen, &c.green, &c.lackDry, &c.dry, &c.perM2, &e.ClippedBook)
		if err != nil {
			return err
		}
		r.grounds.place(&e, &c, ownType, ownArea)
		switch {
		case e.PerM2:
			e.GPerM2 = Some(e.G * factor)
		case e.G == 0: // nothing is nothing, whatever the area
			e.GPerM2 = Some(0)
		case e.AreaM2.Valid:
			e.GPerM2 = Some(e.G * factor / e.AreaM2.Float64)
		}
		c.compare(&e)
		return fn(&e)
	})
}

// clippedBags is what the ledger holds of the clipping of an estimated frame
// and component.
type clippedBags struct {
	frameType          string
	areaM2             Num
	framesInBag        float64
	found              uint8
	clipped            bool
	sampled            uint8 // the components looked for
	mine, unsorted     int
	lackGreen, lackDry int
	green, dry         float64
	perM2              bool
}

// compare works out what the estimate is compared with.
func (c *clippedBags) compare(e *EstimateRecord) {
	hasBags := c.found&e.Component.Bit() != 0
	e.FrameClipped, e.LookedFor = c.clipped, c.clipped && (hasBags || c.sampled&e.Component.Bit() != 0)
	switch {
	case !c.clipped:
	case c.mine > 0:
		ground := Some(1)
		if !c.perM2 {
			ground = Num{Float64: c.areaM2.Float64 * c.framesInBag, Valid: c.areaM2.Valid}
		}
		e.ClippedGreen, e.ClippedDry = perGround(c.green, c.lackGreen, ground), perGround(c.dry, c.lackDry, ground)
		e.Clipped = true
	case hasBags && c.unsorted > 0: // weighed without species: nothing is known of one
	case e.LookedFor: // looked for and not found
		e.Clipped, e.ClippedGreen, e.ClippedDry = true, Some(0), Some(0)
	}
	e.ClippedBook = e.ClippedBook && e.ClippedDry.Valid
}

// perGround is a sum of weights per area, missing where some bag lacks its own.
func perGround(g float64, lacking int, ground Num) Num {
	switch {
	case lacking > 0:
		return Num{}
	case g == 0:
		return Some(0)
	case !ground.Valid:
		return Num{}
	}
	return Some(g / ground.Float64)
}

// estimateGrounds knows on what frame types estimates in grams may stand.
type estimateGrounds struct {
	areas     map[string]float64
	sites     map[int64]SiteDefaults
	occasions map[occasionPart]string // the one type of an occasion and component
}

type occasionPart struct {
	occasion  int64
	component Component
}

// grounds reads the frame types of sites and of occasions with estimates.
func (s *Snapshot) grounds() (*estimateGrounds, error) {
	g := &estimateGrounds{areas: map[string]float64{}, sites: map[int64]SiteDefaults{}, occasions: map[occasionPart]string{}}
	sites, err := s.Sites()
	if err != nil {
		return nil, err
	}
	for i := range sites {
		g.sites[sites[i].ID] = SiteDefaults{FrameType: sites[i].FrameType, Declared: sites[i].Declared}
	}
	err = s.each(`SELECT frame_type, area_m2 FROM frame_type`, nil, func(scan func(...any) error) error {
		var name string
		var area float64
		err := scan(&name, &area)
		g.areas[name] = area
		return err
	})
	if err != nil {
		return nil, err
	}
	err = s.each(`SELECT v.visit_id >> 20 AS occasion_id, c.component, min(t.frame_type) FROM visit v JOIN component c ON v.recorded & c.bit
		LEFT JOIN plot p ON p.visit_id = v.visit_id AND p.component = c.component
		JOIN frame_type t ON t.frame_type_id = coalesce(p.frame_type_id, v.frame_type_id)
		WHERE v.visit_id >> 20 IN (SELECT visit_id >> 20 FROM estimate WHERE NOT per_m2)
		GROUP BY 1, 2 HAVING count(DISTINCT t.frame_type_id) = 1`, nil, func(scan func(...any) error) error {
		var k occasionPart
		var name string
		err := scan(&k.occasion, &k.component, &name)
		g.occasions[k] = name
		return err
	})
	if err != nil {
		return nil, fmt.Errorf("read the frame types of estimates: %w", err)
	}
	return g, nil
}

// place finds the ground of an estimate in grams, the surest way first.
func (g *estimateGrounds) place(e *EstimateRecord, c *clippedBags, ownType string, ownArea Num) {
	site := g.sites[e.SiteID]
	occasion := g.occasions[occasionPart{e.Occasion, e.Component}]
	declared := site.FrameTypeFor(e.Component, e.Season)
	switch {
	case e.PerM2:
		return
	case ownType != "":
		e.FrameType, e.AreaM2, e.AreaFrom = ownType, ownArea, AreaRow
		return
	case c.found&e.Component.Bit() != 0 && c.frameType != "":
		e.FrameType, e.AreaM2, e.AreaFrom = c.frameType, c.areaM2, AreaFrame
		return
	case occasion != "":
		e.AreaFrom = AreaOccasion
	case declared != "":
		e.AreaFrom = AreaSite
	default:
		return
	}
	e.FrameType = cmp.Or(occasion, declared)
	e.AreaM2 = Some(g.areas[e.FrameType])
}

// EstimatedFrames counts the frames that one observer estimated on one
// occasion, and those of them that were clipped as well.
type EstimatedFrames struct {
	SiteID    int64
	Site      string
	Occasion  int64
	Year      int
	Season    string
	Component Component
	Species   string
	Observer  string
	State     string
	Frames    int // n′ of double sampling
	Clipped   int // n: those with a clipped weight in the same state
}

// EstimatedFrames counts estimated frames in the order of Estimates.
func (s *Snapshot) EstimatedFrames() ([]EstimatedFrames, error) {
	var out []EstimatedFrames
	err := s.Estimates(func(e *EstimateRecord) error {
		k := EstimatedFrames{SiteID: e.SiteID, Site: e.Site, Occasion: e.Occasion, Year: e.Year, Season: e.Season, Component: e.Component,
			Species: e.Species, Observer: e.Observer, State: e.State}
		n := len(out)
		if n > 0 {
			last := out[n-1]
			k.Frames, k.Clipped = last.Frames, last.Clipped
			if k != last {
				k.Frames, k.Clipped, n = 0, 0, n+1
			}
		}
		if n == 0 || n > len(out) {
			out = append(out, k)
		}
		last := &out[len(out)-1]
		last.Frames++
		if e.Against().Valid {
			last.Clipped++
		}
		return nil
	})
	return out, err
}
