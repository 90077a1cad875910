package schema

// Makeup is what one occasion's bags of one component and species came to, by
// the way in which their dry weights were come by.
type Makeup struct {
	Occasion  int64
	Component Component
	Species   string // "" where weighed without species
	Name      string
	Method    Method
	Bags      int
	GPerM2    float64 // sum over bags, dry; 0 where Method is MethodNone
}

// Makeups streams them, occasion by occasion in the order of their numbers:
// bags of the caged frames where an occasion has any, else of all.
// Bags without an area count as bags and weigh nothing here.
func (s *Snapshot) Makeups(fn func(*Makeup) error) error {
	var m Makeup
	return s.each(`SELECT g.occasion, g.component, p.species, coalesce(p.name, ''), g.used_method, g.bags, g.g_m2
		FROM (SELECT b.visit_id >> 20 AS occasion, b.component, b.species_id, b.used_method, count(*) AS bags,
			coalesce(sum(b.used_dry_g / iif(b.per_m2, 1.0, t.area_m2 * coalesce(pl.frames_in_bag, 1))), 0.0) AS g_m2
			FROM bag b JOIN visit v ON v.visit_id = b.visit_id LEFT JOIN plot pl ON pl.visit_id = b.visit_id AND pl.component = b.component
			LEFT JOIN frame_type t ON t.frame_type_id = coalesce(pl.frame_type_id, v.frame_type_id)
			WHERE v.caged OR b.visit_id >> 20 NOT IN (SELECT visit_id >> 20 FROM visit WHERE caged AND found)
			GROUP BY 1, 2, 3, 4) g
		JOIN species p ON p.species_id = g.species_id ORDER BY 1, 2, p.species, 5`, nil, func(scan func(...any) error) error {
		if err := scan(&m.Occasion, &m.Component, &m.Species, &m.Name, &m.Method, &m.Bags, &m.GPerM2); err != nil {
			return err
		}
		return fn(&m)
	})
}
