package schema

// The ways of clipping that HowClipped can tell apart.
const (
	HowFrameType = "coalesce(t.frame_type, '')"
	HowEdgeRule  = "coalesce(p.edge_rule, v.edge_rule, '')"
	HowHeight    = "coalesce(p.clip_height_cm, v.clip_height_cm) || ' cm'"
	HowObserver  = "coalesce(w.observer, '')"
)

// Use is one way in which a component was clipped at a site and season, and
// the growth years between which it was.
type Use struct {
	SiteID      int64
	Season      string
	Component   Component
	Value       string
	First, Last int
}

// HowClipped lists the ways in which each component was clipped, by site,
// season and component, in the order of their first years. of is one of the
// constants above.
func (s *Snapshot) HowClipped(of string) ([]Use, error) {
	if uses, known := s.how[of]; known { // a snapshot does not change
		return uses, nil
	}
	var out []Use
	err := s.each(`SELECT o.site_id, o.season, c.component, `+of+` AS value, min(o.growth_year), max(o.growth_year)
		FROM visit v JOIN occasion o ON o.occasion_id = v.occasion_id JOIN component c ON v.recorded & c.bit
		LEFT JOIN plot p ON p.visit_id = v.visit_id AND p.component = c.component
		LEFT JOIN frame_type t ON t.frame_type_id = coalesce(p.frame_type_id, v.frame_type_id)
		LEFT JOIN observer w ON w.observer_id = coalesce(p.observer_id, v.observer_id)
		WHERE coalesce(`+of+`, '') <> '' GROUP BY 1, 2, 3, 4 ORDER BY 1, 2, 3, 5, 4`, nil, func(scan func(...any) error) error {
		var u Use
		err := scan(&u.SiteID, &u.Season, &u.Component, &u.Value, &u.First, &u.Last)
		out = append(out, u)
		return err
	})
	if err == nil {
		if s.how == nil {
			s.how = map[string][]Use{}
		}
		s.how[of] = out
	}
	return out, err
}

// HasCaged tells whether any frame was caged.
func (s *Snapshot) HasCaged() (bool, error) {
	var has bool
	err := s.tx.QueryRowContext(s.ctx, `SELECT EXISTS(SELECT 1 FROM visit WHERE caged)`).Scan(&has)
	return has, err
}
