package schema

// Manner is one way in which components were clipped on an occasion; "" where
// nothing was written.
type Manner struct {
	Components uint8 // their bits
	FrameType  string
	EdgeRule   string
	Height     string
	Observer   string
}

// mannerQueries list the ways of frames whose components were all clipped
// alike, and of the components of the others: nearly all frames are of the
// first kind, and need no look at their components.
var mannerQueries = []string{
	`SELECT DISTINCT visit_id >> 20, recorded, coalesce(frame_type_id, 0), coalesce(edge_rule, ''), coalesce(clip_height_cm || ' cm', ''), coalesce(observer_id, 0)
		FROM visit WHERE recorded AND visit_id NOT IN (SELECT visit_id FROM plot)`,
	`SELECT DISTINCT v.visit_id >> 20, c.bit, coalesce(p.frame_type_id, v.frame_type_id, 0), coalesce(p.edge_rule, v.edge_rule, ''),
			coalesce(coalesce(p.clip_height_cm, v.clip_height_cm) || ' cm', ''), coalesce(p.observer_id, v.observer_id, 0)
		FROM visit v JOIN component c ON v.recorded & c.bit LEFT JOIN plot p ON p.visit_id = v.visit_id AND p.component = c.component
		WHERE v.visit_id IN (SELECT visit_id FROM plot)`,
}

// Manners gives the different ways in which components were clipped on each
// occasion, in no order.
func (s *Snapshot) Manners(fn func(occasion int64, m Manner)) error {
	frameTypes, err := s.names(`SELECT frame_type_id, frame_type FROM frame_type`)
	if err != nil {
		return err
	}
	observers, err := s.names(`SELECT observer_id, observer FROM observer`)
	if err != nil {
		return err
	}
	for _, query := range mannerQueries {
		err := s.each(query, nil, func(scan func(...any) error) error {
			var occasion, frameType, observer int64
			var m Manner
			if err := scan(&occasion, &m.Components, &frameType, &m.EdgeRule, &m.Height, &observer); err != nil {
				return err
			}
			m.FrameType, m.Observer = frameTypes[frameType], observers[observer]
			fn(occasion, m)
			return nil
		})
		if err != nil {
			return err
		}
	}
	return nil
}
