package schema

// How is a way of clipping that HowClipped can tell apart.
type How int

// The ways of clipping, and of each the words of its values.
const (
	HowFrameType How = iota
	HowEdgeRule
	HowHeight
	HowObserver
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

// HowClipped lists, by way of clipping, how each component was clipped, by
// site, season and component, in the order of their first years.
func (s *Snapshot) HowClipped() (map[How][]Use, error) {
	if s.how != nil { // a snapshot does not change
		return s.how, nil
	}
	out := map[How][]Use{}
	// What the frames of an occasion have in common is most of it: the values
	// are told apart by number and occasion before they are put in words.
	err := s.each(`WITH used AS MATERIALIZED (
		SELECT DISTINCT v.visit_id >> 20 AS occasion_id, c.component, coalesce(p.frame_type_id, v.frame_type_id) AS frame_type_id,
			coalesce(p.edge_rule, v.edge_rule) AS edge_rule, coalesce(p.clip_height_cm, v.clip_height_cm) AS height, coalesce(p.observer_id, v.observer_id) AS observer_id
		FROM visit v JOIN component c ON v.recorded & c.bit LEFT JOIN plot p ON p.visit_id = v.visit_id AND p.component = c.component),
	said AS (
		SELECT 0 AS how, occasion_id, component, t.frame_type AS value FROM used JOIN frame_type t USING(frame_type_id)
		UNION ALL SELECT 1, occasion_id, component, edge_rule FROM used
		UNION ALL SELECT 2, occasion_id, component, height || ' cm' FROM used
		UNION ALL SELECT 3, occasion_id, component, w.observer FROM used JOIN observer w USING(observer_id))
	SELECT u.how, o.site_id, o.season, u.component, u.value, min(o.growth_year), max(o.growth_year)
	FROM said u JOIN occasion o USING(occasion_id) WHERE u.value <> '' GROUP BY 1, 2, 3, 4, 5 ORDER BY 1, 2, 3, 4, 6, 5`, nil, func(scan func(...any) error) error {
		var how How
		var u Use
		err := scan(&how, &u.SiteID, &u.Season, &u.Component, &u.Value, &u.First, &u.Last)
		out[how] = append(out[how], u)
		return err
	})
	if err == nil {
		s.how = out
	}
	return out, err
}

// HasCaged tells whether any frame was caged.
func (s *Snapshot) HasCaged() (bool, error) {
	var has bool
	err := s.tx.QueryRowContext(s.ctx, `SELECT EXISTS(SELECT 1 FROM visit WHERE caged)`).Scan(&has)
	return has, err
}
