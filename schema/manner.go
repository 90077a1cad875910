package schema

// Manner is one way in which a component was clipped on an occasion; "" where
// nothing was written.
type Manner struct {
	Component Component
	FrameType string
	EdgeRule  string
	Height    string
	Observer  string
}

// Manners gives the different ways in which each component was clipped on
// each occasion, in the order of the occasions.
func (s *Snapshot) Manners(fn func(occasion int64, m Manner)) error {
	frameTypes, err := s.names(`SELECT frame_type_id, frame_type FROM frame_type`)
	if err != nil {
		return err
	}
	observers, err := s.names(`SELECT observer_id, observer FROM observer`)
	if err != nil {
		return err
	}
	return s.each(`SELECT DISTINCT v.visit_id >> 20, c.component, coalesce(p.frame_type_id, v.frame_type_id, 0), coalesce(p.edge_rule, v.edge_rule, ''),
			coalesce(coalesce(p.clip_height_cm, v.clip_height_cm) || ' cm', ''), coalesce(p.observer_id, v.observer_id, 0)
		FROM visit v JOIN component c ON v.recorded & c.bit LEFT JOIN plot p ON p.visit_id = v.visit_id AND p.component = c.component
		ORDER BY 1, 2, 3, 4, 5, 6`, nil, func(scan func(...any) error) error {
		var occasion, frameType, observer int64
		var m Manner
		if err := scan(&occasion, &m.Component, &frameType, &m.EdgeRule, &m.Height, &observer); err != nil {
			return err
		}
		m.FrameType, m.Observer = frameTypes[frameType], observers[observer]
		fn(occasion, m)
		return nil
	})
}
