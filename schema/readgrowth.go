package schema

// FrameGrowth is what bears on how much of the season's growth a frame held
// when it was clipped: of the whole frame, or of one component where that
// differs.
type FrameGrowth struct {
	Visit       int64
	Component   Component // NoComponent: the frame's own
	Frame       string
	Transect    string
	Caged       bool
	Date        string // ISO; blank where only the growth year is known
	CagedSince  string // ISO; blank where not recorded
	UngrazedPct Num    // percent of the growth that was left when clipped
}

// FrameGrowths streams them for a range of occasions, a frame's own before
// those of its components.
func (s *Snapshot) FrameGrowths(fromOccasion, toOccasion int64, fn func(*FrameGrowth) error) error {
	from, to := fromOccasion<<20, toOccasion<<20+maxSeq
	return s.each(`SELECT visit_id, 0, frame, transect, caged, coalesce(date,''), coalesce(caged_since,''), ungrazed_pct FROM visit WHERE visit_id BETWEEN ? AND ?
		UNION ALL SELECT v.visit_id, p.component, v.frame, v.transect, v.caged, coalesce(p.date, v.date, ''), coalesce(v.caged_since,''), coalesce(p.ungrazed_pct, v.ungrazed_pct)
		FROM plot p JOIN visit v USING(visit_id) WHERE p.visit_id BETWEEN ? AND ? ORDER BY 1, 2`, []any{from, to, from, to}, func(scan func(...any) error) error {
		var g FrameGrowth
		if err := scan(&g.Visit, &g.Component, &g.Frame, &g.Transect, &g.Caged, &g.Date, &g.CagedSince, &g.UngrazedPct); err != nil {
			return err
		}
		return fn(&g)
	})
}

// SpeciesCodes are the codes of all species that the ledger holds.
func (s *Snapshot) SpeciesCodes() (map[string]bool, error) {
	out := map[string]bool{}
	return out, s.each(`SELECT species FROM species WHERE species_id > 0`, nil, func(scan func(...any) error) error {
		var code string
		err := scan(&code)
		out[code] = true
		return err
	})
}
