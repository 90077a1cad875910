package schema

import (
	"context"
	"database/sql"
	"fmt"
)

// Snapshot is a ledger as it stood at one moment: all that is read through it
// belongs together, whatever others write meanwhile.
type Snapshot struct {
	ctx context.Context
	tx  *sql.Tx
	db  *sql.DB
	how map[How][]Use // what HowClipped has read
}

// Read runs fn on a snapshot of the ledger.
func (l *Ledger) Read(ctx context.Context, fn func(*Snapshot) error) error {
	tx, err := l.db.BeginTx(ctx, nil)
	if err != nil {
		return fmt.Errorf("%s: %w", l.path, Explain(err))
	}
	defer tx.Rollback()
	s := &Snapshot{ctx: ctx, tx: tx, db: l.db}
	if err := s.hold(); err != nil {
		return fmt.Errorf("%s: %w", l.path, Explain(err))
	}
	return Explain(fn(s))
}

// hold makes the transaction begin in earnest: from here on no other program
// can commit a change until it ends.
func (s *Snapshot) hold() error {
	var n int
	return s.tx.QueryRowContext(s.ctx, `SELECT count(*) FROM sqlite_schema`).Scan(&n)
}

// Twin is the same snapshot on a second connection, for reading on a second
// core, and what gives it back. Since this one keeps every change from being
// committed, both see the same. It is not to be had while another program
// waits to write; nil then.
func (s *Snapshot) Twin() (*Snapshot, func()) {
	conn, err := s.db.Conn(s.ctx)
	if err != nil {
		return nil, func() {}
	}
	giveBack := func() {
		conn.ExecContext(context.WithoutCancel(s.ctx), fmt.Sprintf(`PRAGMA busy_timeout=%d`, lockWaitMS))
		conn.Close()
	}
	// Waiting for a writer that waits for this very snapshot would be in vain.
	if _, err := conn.ExecContext(s.ctx, `PRAGMA busy_timeout=0`); err != nil {
		giveBack()
		return nil, func() {}
	}
	tx, err := conn.BeginTx(s.ctx, nil)
	if err != nil {
		giveBack()
		return nil, func() {}
	}
	end := func() { tx.Rollback(); giveBack() }
	twin := &Snapshot{ctx: s.ctx, tx: tx, db: s.db}
	if err := twin.hold(); err != nil {
		end()
		return nil, func() {}
	}
	return twin, end
}

func (s *Snapshot) each(query string, args []any, fn func(scan func(...any) error) error) error {
	return each(s.ctx, s.tx, query, args, fn)
}

// preparedQueries runs queries that come again and again: each is read by the
// database once, and given back when the snapshot ends.
type preparedQueries struct {
	snap  *Snapshot
	known map[string]*sql.Stmt
}

func (s *Snapshot) prepared() *preparedQueries {
	return &preparedQueries{snap: s, known: map[string]*sql.Stmt{}}
}

func (p *preparedQueries) each(query string, args []any, fn func(scan func(...any) error) error) error {
	stmt := p.known[query]
	if stmt == nil {
		var err error
		if stmt, err = p.snap.tx.PrepareContext(p.snap.ctx, query); err != nil {
			return fmt.Errorf("read the ledger: %w", Explain(err))
		}
		p.known[query] = stmt
	}
	rows, err := stmt.QueryContext(p.snap.ctx, args...)
	if err != nil {
		return fmt.Errorf("read the ledger: %w", Explain(err))
	}
	return eachRow(rows, fn)
}

// Settings are the settings in force.
func (s *Snapshot) Settings() (Values, error) { return readSettings(s.ctx, s.tx) }

// SiteRecord is a declared or created site with what holds for it.
type SiteRecord struct {
	ID             int64
	Site           string
	Name           string
	Stratum        string
	AreaHa         Num
	Latitude       Num
	Longitude      Num
	EcologicalSite string
	Components     string
	SamplingUnit   string // in use: declared, else chosen once; "frame" before any clipping
	UnitDeclared   bool
	UnitsPossible  int
	Placement      string // "new" where not declared
	Selection      string
	FrameType      string
	YearStartMonth int
	Station        string
	RainMonths     string
	ClassScheme    string
	GrowthCurve    string
	DoubleSampling string // the observer whose estimates the means rest on, or "pooled"
	Note           string
	Declared       []DeclaredComponent
}

// Sites lists every site by its code.
func (s *Snapshot) Sites() ([]SiteRecord, error) {
	var out []SiteRecord
	byID := map[int64]int{}
	err := s.each(`SELECT s.site_id, s.site, coalesce(s.name,''), coalesce(s.stratum,''), s.area_ha, s.latitude, s.longitude, coalesce(s.ecological_site,''),
		coalesce(s.components,''), coalesce(s.sampling_unit, s.unit_in_use, 'frame'), s.sampling_unit IS NOT NULL, coalesce(s.units_possible,0),
		coalesce(s.placement,'new'), coalesce(s.selection,''), coalesce(t.frame_type,''), coalesce(s.year_start_month,1), coalesce(s.station,''),
		coalesce(s.rain_months,''), coalesce(s.class_scheme,''), coalesce(s.growth_curve,''), coalesce(s.double_sampling,''), coalesce(s.note,'')
		FROM site s LEFT JOIN frame_type t USING(frame_type_id) ORDER BY s.site`, nil, func(scan func(...any) error) error {
		var r SiteRecord
		err := scan(&r.ID, &r.Site, &r.Name, &r.Stratum, &r.AreaHa, &r.Latitude, &r.Longitude, &r.EcologicalSite, &r.Components, &r.SamplingUnit,
			&r.UnitDeclared, &r.UnitsPossible, &r.Placement, &r.Selection, &r.FrameType, &r.YearStartMonth, &r.Station, &r.RainMonths, &r.ClassScheme, &r.GrowthCurve, &r.DoubleSampling, &r.Note)
		byID[r.ID] = len(out)
		out = append(out, r)
		return err
	})
	if err != nil {
		return nil, err
	}
	return out, s.each(`SELECT d.site_id, d.component, d.season, coalesce(t.frame_type,'') FROM site_component d LEFT JOIN frame_type t USING(frame_type_id)
		ORDER BY d.site_id, d.component, d.season`, nil, func(scan func(...any) error) error {
		var id int64
		var e DeclaredComponent
		err := scan(&id, &e.Component, &e.Season, &e.FrameType)
		r := &out[byID[id]]
		r.Declared = append(r.Declared, e)
		return err
	})
}

// OccasionRecord is one site × growth year × season.
type OccasionRecord struct {
	ID     int64
	SiteID int64
	Year   int
	Season string
}

// Occasions lists every occasion by its number, which is the order in which
// frames and bags lie on disk. One that was only estimated is none: see
// Estimates.
func (s *Snapshot) Occasions() ([]OccasionRecord, error) {
	var out []OccasionRecord
	err := s.each(`SELECT occasion_id, site_id, growth_year, season FROM occasion o
		WHERE EXISTS (SELECT 1 FROM visit v WHERE v.visit_id BETWEEN o.occasion_id << 20 AND (o.occasion_id << 20) + ? AND NOT `+bareVisit+`)
			OR EXISTS (SELECT 1 FROM drying d WHERE d.occasion_id = o.occasion_id)
			OR NOT EXISTS (SELECT 1 FROM visit v WHERE v.visit_id BETWEEN o.occasion_id << 20 AND (o.occasion_id << 20) + ?)
		ORDER BY occasion_id`, []any{int64(maxSeq), int64(maxSeq)}, func(scan func(...any) error) error {
		var o OccasionRecord
		err := scan(&o.ID, &o.SiteID, &o.Year, &o.Season)
		out = append(out, o)
		return err
	})
	return out, err
}

// FrameValue is one component of one frame: a weight per area, or missing.
type FrameValue struct {
	Visit     int64
	Component Component
	Transect  string
	Caged     bool
	GPerM2    Num    // dry, on the ledger's basis; missing where Why says so
	Why       string // why it is missing
	Inferred  bool   // a zero that no row wrote
	// Below only for what was weighed:
	BookDry   float64 // g/m², the part of GPerM2 that rests on book values
	BookGreen float64 // g/m², the green weight behind it, times the factor of its table's basis
	Ways      Ways    // of the whole frame
}

// Ways says how the bags of a frame came by their dry weights.
type Ways uint8

// Sampled tells whether some bag was converted by drying samples.
func (w Ways) Sampled() bool { return uint8(w)&waySampled != 0 }

// AirDry tells whether some dry weight or percentage came air-dry.
func (w Ways) AirDry() bool { return uint8(w)&wayAir != 0 }

// OvenDry tells whether some dry weight or percentage came oven-dry.
func (w Ways) OvenDry() bool { return uint8(w)&wayOven != 0 }

// BookOfOtherBasis tells whether some bag was converted by a book value on the
// basis that is not the ledger's.
func (w Ways) BookOfOtherBasis() bool { return uint8(w)&wayBookOther != 0 }

// UnknownBasis tells whether some dry weight came on an unknown basis.
func (w Ways) UnknownBasis() bool { return uint8(w)&wayUnknown != 0 }

// Occasion is the occasion a frame belongs to.
func (f *FrameValue) Occasion() int64 { return f.Visit >> 20 }

const (
	weighedQuery = `SELECT visit_id, component, transect, caged, g_m2, why, book_dry_g_m2, book_green_g_m2, ways
		FROM frame_weighed WHERE visit_id BETWEEN ? AND ?`
	zeroQuery = `SELECT visit_id, component, transect, caged, g_m2, why, inferred FROM frame_zero WHERE visit_id BETWEEN ? AND ? ORDER BY visit_id`
)

// Frames streams the values of the frames of a range of occasions, occasion
// by occasion in the order of their numbers: the views frame_weighed and
// frame_zero, merged.
func (s *Snapshot) Frames(fromOccasion, toOccasion int64, fn func(*FrameValue) error) error {
	from, to := fromOccasion<<20, toOccasion<<20+maxSeq
	zeros, err := s.openRows(zeroQuery, from, to)
	if err != nil {
		return err
	}
	defer zeros.close()
	next, more, err := zeros.nextZero()
	if err != nil {
		return err
	}
	var f FrameValue
	row := newRawRow(9)
	err = s.each(weighedQuery, []any{from, to}, func(scan func(...any) error) error {
		if err := row.scan(scan); err != nil {
			return err
		}
		if f.weighed(row); row.err != nil {
			return row.err
		}
		for more && next.Occasion() < f.Occasion() {
			if err := fn(next); err != nil {
				return err
			}
			if next, more, err = zeros.nextZero(); err != nil {
				return err
			}
		}
		return fn(&f)
	})
	for err == nil && more {
		if err = fn(next); err == nil {
			next, more, err = zeros.nextZero()
		}
	}
	return err
}

// weighed reads a row of frame_weighed.
func (f *FrameValue) weighed(r *rawRow) {
	f.Visit, f.Component, f.Transect, f.Caged = r.whole(), Component(r.whole()), r.text(), r.yes()
	f.GPerM2, f.Why = r.number(), r.text()
	f.BookDry, f.BookGreen, f.Ways = r.number().Float64, r.number().Float64, Ways(r.whole())
}

// zeroRows is an open reading of frame_zero.
type zeroRows struct {
	rows *sql.Rows
	f    FrameValue
}

func (s *Snapshot) openRows(query string, args ...any) (*zeroRows, error) {
	rows, err := s.tx.QueryContext(s.ctx, query, args...)
	if err != nil {
		return nil, fmt.Errorf("read the ledger: %w", Explain(err))
	}
	return &zeroRows{rows: rows}, nil
}

func (z *zeroRows) close() { z.rows.Close() }

func (z *zeroRows) nextZero() (*FrameValue, bool, error) {
	if !z.rows.Next() {
		return nil, false, Explain(z.rows.Err())
	}
	var why sql.NullString
	z.f = FrameValue{}
	err := z.rows.Scan(&z.f.Visit, &z.f.Component, &z.f.Transect, &z.f.Caged, &z.f.GPerM2, &why, &z.f.Inferred)
	z.f.Why = why.String
	return &z.f, true, err
}

// BagRecord is one bag as the rule for dry weights left it.
type BagRecord struct {
	Visit      int64
	Component  Component
	Transect   string
	Frame      string
	Caged      bool
	Species    string
	GrowthForm string
	Bag        string
	Treatment  string
	Block      string
	Observer   string
	AreaM2     Num // ground the bag's weights speak for; 1 for weights per area
	GreenG     Num
	DryG       Num // on the ledger's basis
	Method     Method
}

// Bags streams the bags of a range of occasions in key order.
func (s *Snapshot) Bags(fromOccasion, toOccasion int64, fn func(*BagRecord) error) error {
	return s.each(`SELECT b.visit_id, b.component, v.transect, v.frame, v.caged, p.species, coalesce(b.growth_form, p.growth_form, ''), b.bag,
		coalesce(v.treatment,''), coalesce(v.block,''), coalesce(o.observer,''), iif(b.per_m2, 1.0, t.area_m2 * coalesce(pl.frames_in_bag, 1)),
		b.green_g, b.used_dry_g, b.used_method
		FROM bag b JOIN visit v ON v.visit_id = b.visit_id JOIN species p ON p.species_id = b.species_id
		LEFT JOIN plot pl ON pl.visit_id = b.visit_id AND pl.component = b.component
		LEFT JOIN frame_type t ON t.frame_type_id = coalesce(pl.frame_type_id, v.frame_type_id)
		LEFT JOIN observer o ON o.observer_id = coalesce(pl.observer_id, v.observer_id)
		WHERE b.visit_id BETWEEN ? AND ?`, []any{fromOccasion << 20, toOccasion<<20 + maxSeq}, func(scan func(...any) error) error {
		var b BagRecord
		err := scan(&b.Visit, &b.Component, &b.Transect, &b.Frame, &b.Caged, &b.Species, &b.GrowthForm, &b.Bag, &b.Treatment, &b.Block, &b.Observer,
			&b.AreaM2, &b.GreenG, &b.DryG, &b.Method)
		if err != nil {
			return err
		}
		return fn(&b)
	})
}

// VisitRecord is one frame on one occasion.
type VisitRecord struct {
	Visit     int64
	Transect  string
	Frame     string
	Caged     bool
	Date      string
	FrameType string
	Treatment string
	Block     string
	Observer  string
	EdgeRule  string
}

// Visits streams the frames of a range of occasions, without those that were
// only estimated.
func (s *Snapshot) Visits(fromOccasion, toOccasion int64, fn func(*VisitRecord) error) error {
	return s.each(`SELECT v.visit_id, v.transect, v.frame, v.caged, coalesce(v.date,''), coalesce(t.frame_type,''), coalesce(v.treatment,''), coalesce(v.block,''),
		coalesce(o.observer,''), coalesce(v.edge_rule,'') FROM visit v LEFT JOIN frame_type t USING(frame_type_id) LEFT JOIN observer o USING(observer_id)
		WHERE v.visit_id BETWEEN ? AND ? AND NOT `+bareVisit+` ORDER BY v.visit_id`, []any{fromOccasion << 20, toOccasion<<20 + maxSeq}, func(scan func(...any) error) error {
		var v VisitRecord
		if err := scan(&v.Visit, &v.Transect, &v.Frame, &v.Caged, &v.Date, &v.FrameType, &v.Treatment, &v.Block, &v.Observer, &v.EdgeRule); err != nil {
			return err
		}
		return fn(&v)
	})
}

// DryingRecord is a drying sample, its dry weight on the ledger's basis.
type DryingRecord struct {
	Component  Component
	Species    string
	GrowthForm string // its own, else its species'
	OwnForm    string // as the sample itself says
	Transect   string
	Frame      string
	Bag        string
	GreenG     float64
	DryG       float64
	Basis      string // on which the dry weight came
}

// DryingSamples lists the drying samples of an occasion.
func (s *Snapshot) DryingSamples(occasion int64) ([]DryingRecord, error) {
	var out []DryingRecord
	err := s.each(`SELECT d.component, p.species, coalesce(nullif(d.growth_form,''), p.growth_form, ''), d.growth_form, d.transect, d.frame, d.bag,
		d.green_g, d.dry_g * n.value, d.basis FROM drying d JOIN species p USING(species_id) JOIN rule_number n ON n.name = d.basis WHERE d.occasion_id=?`,
		[]any{occasion}, func(scan func(...any) error) error {
			var d DryingRecord
			err := scan(&d.Component, &d.Species, &d.GrowthForm, &d.OwnForm, &d.Transect, &d.Frame, &d.Bag, &d.GreenG, &d.DryG, &d.Basis)
			out = append(out, d)
			return err
		})
	return out, err
}

// LastChange is the time of the newest import; "" in a ledger without any.
func (s *Snapshot) LastChange() (string, error) {
	var at string
	err := s.each(`SELECT at FROM import ORDER BY import_id DESC LIMIT 1`, nil, func(scan func(...any) error) error { return scan(&at) })
	return at, err
}

// TablesInForce lists the book tables in force that hold any value.
func (s *Snapshot) TablesInForce() ([]string, error) {
	var out []string
	err := s.each(`SELECT DISTINCT book FROM book_in_force ORDER BY rank`, nil, func(scan func(...any) error) error {
		var name string
		err := scan(&name)
		out = append(out, name)
		return err
	})
	return out, err
}

// SiteSeason names the occasions of a site that can be compared.
type SiteSeason struct {
	SiteID int64
	Season string
}

// RecordedParts are the production components that were ever recorded at each
// site and season.
func (s *Snapshot) RecordedParts() (map[SiteSeason][]Component, error) {
	out := map[SiteSeason][]Component{}
	return out, s.each(`SELECT DISTINCT site_id, season, component FROM type_span WHERE component IN (1, 2) ORDER BY 1, 2, 3`, nil, func(scan func(...any) error) error {
		var k SiteSeason
		var c Component
		err := scan(&k.SiteID, &k.Season, &c)
		out[k] = append(out[k], c)
		return err
	})
}

// SeasonsOfComponents finds the sites whose production components are each
// clipped in one season, and not all in the same one: for those, a yearly
// total takes each component in its own season. The seasons are those that the
// site declares for its components, else those in which they were recorded.
func (s *Snapshot) SeasonsOfComponents() (map[int64]map[Component]string, error) {
	seasons := map[int64]map[Component]string{}
	mixed := map[int64]bool{}
	err := s.each(`WITH declared AS (SELECT * FROM site_component WHERE component IN (1, 2)),
			timed AS (SELECT site_id FROM declared GROUP BY site_id HAVING min(season) <> '')
		SELECT DISTINCT site_id, season, component FROM declared WHERE site_id IN timed
		UNION ALL SELECT DISTINCT site_id, season, component FROM type_span WHERE component IN (1, 2) AND site_id NOT IN timed`, nil, func(scan func(...any) error) error {
		var site int64
		var season string
		var c Component
		if err := scan(&site, &season, &c); err != nil {
			return err
		}
		if seasons[site] == nil {
			seasons[site] = map[Component]string{}
		}
		if _, twice := seasons[site][c]; twice {
			mixed[site] = true
		}
		seasons[site][c] = season
		return nil
	})
	for site, by := range seasons {
		if mixed[site] || len(by) < 2 || by[Herbaceous] == by[Browse] {
			delete(seasons, site)
		}
	}
	return seasons, err
}

// OccasionMean is a row of the view occasion_mean.
type OccasionMean struct {
	Site      string
	Year      int
	Season    string
	Component string
	N         int
	Mean      float64 // g/m²
	SD        Num
}

// OccasionMeans reads the view occasion_mean.
func (s *Snapshot) OccasionMeans(fn func(*OccasionMean) error) error {
	return s.each(`SELECT site, growth_year, season, component, n, mean_g_m2, sd_g_m2 FROM occasion_mean`, nil, func(scan func(...any) error) error {
		var m OccasionMean
		if err := scan(&m.Site, &m.Year, &m.Season, &m.Component, &m.N, &m.Mean, &m.SD); err != nil {
			return err
		}
		return fn(&m)
	})
}
