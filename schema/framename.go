package schema

// FrameName is what tells a frame from the others of its site: where frames
// stay in place, the same name is the same spot in every year.
type FrameName struct {
	Transect string
	Frame    string
	Caged    bool
}

// FrameNames lists the names of the frames of a range of occasions by the
// numbers of their visits.
func (s *Snapshot) FrameNames(fromOccasion, toOccasion int64, fn func(visit int64, name FrameName) error) error {
	return s.each(`SELECT visit_id, transect, frame, caged FROM visit WHERE visit_id BETWEEN ? AND ? ORDER BY visit_id`,
		[]any{fromOccasion << 20, toOccasion<<20 + maxSeq}, func(scan func(...any) error) error {
			var visit int64
			var n FrameName
			if err := scan(&visit, &n.Transect, &n.Frame, &n.Caged); err != nil {
				return err
			}
			return fn(visit, n)
		})
}
