package schema

// How the frames of an occasion lay and were clipped: what a field sheet of
// the next occasion is laid out by.

// LaidFrame is one frame of an occasion with everything that its next
// clipping is to repeat.
type LaidFrame struct {
	Visit        int64
	Transect     string
	Frame        string
	Caged        bool
	Date         string
	FrameType    string // "" where its components have their own, or none is known
	Recorded     uint8  // mask of Component.Bit: with a weight or a status
	Empty        bool
	Treatment    string
	Block        string
	EdgeRule     string
	ClipHeightCM Num
	Parts        []LaidPart // where a component differs from its frame
	Bags         []LaidBag
}

// LaidPart is what differs for one component of a frame.
type LaidPart struct {
	Component    Component
	FrameType    string
	FramesInBag  int // 0: not given
	Date         string
	EdgeRule     string
	ClipHeightCM Num
}

// LaidBag is a bag as it was weighed, before any rule for dry weights.
type LaidBag struct {
	Component Component
	Species   string
	Bag       string
	PerM2     bool
	GreenG    Num
	DryG      Num
}

// LaidFrames lists the frames of one occasion, in the order in which they came.
func (s *Snapshot) LaidFrames(occasion int64) ([]LaidFrame, error) {
	var out []LaidFrame
	at := map[int64]int{}
	span := []any{occasion << 20, occasion<<20 + maxSeq}
	err := s.each(`SELECT v.visit_id, v.transect, v.frame, v.caged, coalesce(v.date,''), coalesce(t.frame_type,''), v.recorded, v.empty,
		coalesce(v.treatment,''), coalesce(v.block,''), coalesce(v.edge_rule,''), v.clip_height_cm
		FROM visit v LEFT JOIN frame_type t USING(frame_type_id) WHERE v.visit_id BETWEEN ? AND ? ORDER BY v.visit_id`, span, func(scan func(...any) error) error {
		var f LaidFrame
		err := scan(&f.Visit, &f.Transect, &f.Frame, &f.Caged, &f.Date, &f.FrameType, &f.Recorded, &f.Empty, &f.Treatment, &f.Block, &f.EdgeRule, &f.ClipHeightCM)
		at[f.Visit] = len(out)
		out = append(out, f)
		return err
	})
	if err != nil {
		return nil, err
	}
	err = s.each(`SELECT p.visit_id, p.component, coalesce(t.frame_type,''), coalesce(p.frames_in_bag,0), coalesce(p.date,''), coalesce(p.edge_rule,''), p.clip_height_cm
		FROM plot p LEFT JOIN frame_type t USING(frame_type_id) WHERE p.visit_id BETWEEN ? AND ? ORDER BY p.visit_id, p.component`, span, func(scan func(...any) error) error {
		var visit int64
		var p LaidPart
		err := scan(&visit, &p.Component, &p.FrameType, &p.FramesInBag, &p.Date, &p.EdgeRule, &p.ClipHeightCM)
		if err == nil {
			out[at[visit]].Parts = append(out[at[visit]].Parts, p)
		}
		return err
	})
	if err != nil {
		return nil, err
	}
	return out, s.each(`SELECT b.visit_id, b.component, p.species, b.bag, b.per_m2, b.green_g, b.dry_g FROM bag b JOIN species p USING(species_id)
		WHERE b.visit_id BETWEEN ? AND ? ORDER BY b.visit_id, b.component, p.species, b.bag`, span, func(scan func(...any) error) error {
		var visit int64
		var b LaidBag
		err := scan(&visit, &b.Component, &b.Species, &b.Bag, &b.PerM2, &b.GreenG, &b.DryG)
		if err == nil {
			out[at[visit]].Bags = append(out[at[visit]].Bags, b)
		}
		return err
	})
}

// StagesInForce lists the stages of growth that the book tables in force know,
// by name.
func (s *Snapshot) StagesInForce() ([]string, error) {
	var out []string
	err := s.each(`SELECT stage FROM book_in_force WHERE stage<>'' GROUP BY stage ORDER BY stage`, nil, func(scan func(...any) error) error {
		var name string
		err := scan(&name)
		out = append(out, name)
		return err
	})
	return out, err
}
