package schema

import (
	"database/sql"
	"fmt"
	"slices"
	"strings"
)

// What the quality checks read: records as they were written, each with the
// import and line it came from, streamed in key order. And the findings that
// somebody looked at and accepted.

// CheckBag is one bag as it was written.
type CheckBag struct {
	Visit      int64
	Component  Component
	SpeciesID  int64
	Bag        string
	GrowthForm string // its own; "" where only its species has one
	Stage      string
	Basis      string
	GreenG     Num
	DryG       Num // as written, on Basis
	DMPct      Num
	Method     Method
	ImportID   int64
	Line       int64
}

const checkBagQuery = `SELECT visit_id, component, species_id, bag, growth_form, stage, basis, green_g, dry_g, dm_pct, used_method, import_id, line
	FROM bag WHERE visit_id %s ORDER BY visit_id, component, species_id, bag`

// visitsAtOnce is the number of frames asked for in one query.
const visitsAtOnce = 500

// CheckBags streams the bags of a range of occasions.
func (s *Snapshot) CheckBags(fromOccasion, toOccasion int64, fn func(*CheckBag) error) error {
	return s.checkBags(fmt.Sprintf(checkBagQuery, `BETWEEN ? AND ?`), []any{fromOccasion << 20, toOccasion<<20 + maxSeq}, fn)
}

// CheckBagsOf streams the bags of the frames named, which must be in
// ascending order.
func (s *Snapshot) CheckBagsOf(visits []int64, fn func(*CheckBag) error) error {
	for part := range slices.Chunk(visits, visitsAtOnce) {
		args := make([]any, len(part))
		for i, v := range part {
			args[i] = v
		}
		if err := s.checkBags(fmt.Sprintf(checkBagQuery, `IN (?`+strings.Repeat(",?", len(part)-1)+`)`), args, fn); err != nil {
			return err
		}
	}
	return nil
}

func (s *Snapshot) checkBags(query string, args []any, fn func(*CheckBag) error) error {
	words := interned{}
	var b CheckBag
	var bag, form, stage, basis sql.RawBytes
	return s.each(query, args, func(scan func(...any) error) error {
		err := scan(&b.Visit, &b.Component, &b.SpeciesID, &bag, &form, &stage, &basis, &b.GreenG, &b.DryG, &b.DMPct, &b.Method, &b.ImportID, &b.Line)
		if err != nil {
			return err
		}
		b.Bag, b.GrowthForm, b.Stage, b.Basis = words.of(bag), words.of(form), words.of(stage), words.of(basis)
		return fn(&b)
	})
}

// interned keeps one copy of each word: there are few and they come often.
// Where they are many, such as labels of bags, it begins anew.
type interned map[string]string

// mostInterned bounds the words kept.
const mostInterned = 20_000

func (w interned) of(raw []byte) string {
	if len(raw) == 0 {
		return ""
	}
	if s, ok := w[string(raw)]; ok {
		return s
	}
	if len(w) >= mostInterned {
		clear(w)
	}
	s := string(raw)
	w[s] = s
	return s
}

// CheckVisit is one frame on one occasion as it was written.
type CheckVisit struct {
	Visit       int64
	Transect    string
	Frame       string
	Treatment   string
	Date        string
	EdgeRule    string
	FrameTypeID int64 // 0 where none is known
	ObserverID  int64 // 0 where none is named
	HeightCM    Num
	ImportID    int64
	Line        int64
	Caged       bool
	Clipped     bool  // a bag, or the word that nothing was found
	Recorded    uint8 // bits of the components with a weight or a status
	Sampled     uint8 // bits of the components that the row says were looked for
	Outside     uint8 // bits of the components of which nobody can tell whether they were looked for
}

// Occasion is the occasion a frame belongs to.
func (v *CheckVisit) Occasion() int64 { return v.Visit >> 20 }

// CheckVisits streams the frames of a range of occasions, without those that
// were only estimated.
func (s *Snapshot) CheckVisits(fromOccasion, toOccasion int64, fn func(*CheckVisit) error) error {
	words := interned{}
	return s.each(`SELECT v.visit_id, v.transect, v.frame, v.treatment, v.date, v.edge_rule, coalesce(v.frame_type_id, 0), coalesce(v.observer_id, 0),
		v.clip_height_cm, v.import_id, v.line, v.caged, v.found OR v.empty OR v.components_sampled IS NOT NULL, v.recorded, coalesce(v.components_sampled, 0),
		iif(v.components_sampled IS NULL, coalesce(l.outside, 0), 0) & ~v.recorded
		FROM visit v LEFT JOIN looked_for l ON l.occasion_id = v.visit_id >> 20 AND l.frame_type_id = coalesce(v.frame_type_id, 0)
		WHERE v.visit_id BETWEEN ? AND ? AND NOT `+bareVisit+` ORDER BY v.visit_id`, []any{fromOccasion << 20, toOccasion<<20 + maxSeq}, func(scan func(...any) error) error {
		var v CheckVisit
		var transect, frame, treatment, date, rule sql.RawBytes
		err := scan(&v.Visit, &transect, &frame, &treatment, &date, &rule, &v.FrameTypeID, &v.ObserverID, &v.HeightCM, &v.ImportID, &v.Line,
			&v.Caged, &v.Clipped, &v.Recorded, &v.Sampled, &v.Outside)
		if err != nil {
			return err
		}
		v.Transect, v.Frame, v.Treatment, v.Date, v.EdgeRule = words.of(transect), words.of(frame), words.of(treatment), words.of(date), words.of(rule)
		return fn(&v)
	})
}

// CheckPlot says where a component of a frame differs from its frame.
type CheckPlot struct {
	Visit       int64
	Component   Component
	FrameTypeID int64 // 0, "" and missing: as the frame
	Date        string
	ObserverID  int64
	EdgeRule    string
	HeightCM    Num
}

// CheckPlots streams those of a range of occasions in the order of their
// frames.
func (s *Snapshot) CheckPlots(fromOccasion, toOccasion int64, fn func(*CheckPlot) error) error {
	words := interned{}
	var p CheckPlot
	var date, rule sql.RawBytes
	return s.each(`SELECT visit_id, component, coalesce(frame_type_id, 0), date, coalesce(observer_id, 0), edge_rule, clip_height_cm
		FROM plot WHERE visit_id BETWEEN ? AND ? ORDER BY visit_id, component`, []any{fromOccasion << 20, toOccasion<<20 + maxSeq}, func(scan func(...any) error) error {
		if err := scan(&p.Visit, &p.Component, &p.FrameTypeID, &date, &p.ObserverID, &rule, &p.HeightCM); err != nil {
			return err
		}
		p.Date, p.EdgeRule = words.of(date), words.of(rule)
		return fn(&p)
	})
}

// CheckDrying is one drying sample as it was written.
type CheckDrying struct {
	Occasion   int64
	Component  Component
	SpeciesID  int64
	GrowthForm string
	Transect   string
	Frame      string
	Bag        string
	GreenG     float64
	DryG       float64 // on Basis
	Basis      string
	Stage      string
	ImportID   int64
	Line       int64
}

// CheckDryings streams the drying samples of a range of occasions.
func (s *Snapshot) CheckDryings(fromOccasion, toOccasion int64, fn func(*CheckDrying) error) error {
	var d CheckDrying
	return s.each(`SELECT occasion_id, component, species_id, growth_form, transect, frame, bag, green_g, dry_g, basis, coalesce(stage, ''), import_id, line
		FROM drying WHERE occasion_id BETWEEN ? AND ?`, []any{fromOccasion, toOccasion}, func(scan func(...any) error) error {
		if err := scan(&d.Occasion, &d.Component, &d.SpeciesID, &d.GrowthForm, &d.Transect, &d.Frame, &d.Bag, &d.GreenG, &d.DryG, &d.Basis, &d.Stage,
			&d.ImportID, &d.Line); err != nil {
			return err
		}
		return fn(&d)
	})
}

// CheckSpecies is what the ledger says of a species.
type CheckSpecies struct {
	Code       string
	GrowthForm string
	Component  Component // where it belongs; NoComponent where not declared
}

// CheckNames are the names behind the numbers in records.
type CheckNames struct {
	Species    map[int64]CheckSpecies
	FrameTypes map[int64]string
	Observers  map[int64]string
	Files      map[int64]string // of imports; the kind where there was no file
}

// CheckNames reads them.
func (s *Snapshot) CheckNames() (CheckNames, error) {
	n := CheckNames{Species: map[int64]CheckSpecies{}}
	err := s.each(`SELECT species_id, species, coalesce(growth_form, ''), coalesce(component, 0) FROM species`, nil, func(scan func(...any) error) error {
		var id int64
		var p CheckSpecies
		err := scan(&id, &p.Code, &p.GrowthForm, &p.Component)
		n.Species[id] = p
		return err
	})
	for _, list := range []struct {
		to    *map[int64]string
		query string
	}{
		{&n.FrameTypes, `SELECT frame_type_id, frame_type FROM frame_type`},
		{&n.Observers, `SELECT observer_id, observer FROM observer`},
		{&n.Files, `SELECT import_id, coalesce(nullif(file, ''), kind) FROM import`},
	} {
		if err == nil {
			*list.to, err = s.names(list.query)
		}
	}
	return n, err
}

func (s *Snapshot) names(query string) (map[int64]string, error) {
	out := map[int64]string{}
	return out, s.each(query, nil, func(scan func(...any) error) error {
		var id int64
		var name string
		err := scan(&id, &name)
		out[id] = name
		return err
	})
}

// AcceptedFindings are the notes of the findings that were accepted, by the
// findings' IDs.
func (s *Snapshot) AcceptedFindings() (map[string]string, error) {
	out := map[string]string{}
	return out, s.each(`SELECT finding, note FROM accepted_finding`, nil, func(scan func(...any) error) error {
		var id, note string
		err := scan(&id, &note)
		out[id] = note
		return err
	})
}

// AcceptFinding keeps why a finding is right as it is. Whether there is such
// a finding is for the caller to know. Where the import replaces, another
// note takes the place of the first, which stays in the history.
func (im *Import) AcceptFinding(id, note string) error {
	if id == "" || strings.TrimSpace(note) == "" {
		return fmt.Errorf("accept a finding: it needs an ID and a note")
	}
	_, err := im.put("accepted_finding", []field{key("finding", id)}, []field{text("note", note)}, 0)
	return err
}
