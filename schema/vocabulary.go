package schema

// Vocabulary is what a ledger knows by name when a file is read against it:
// enough to tell a misspelt word from a new one and to fill a row's defaults.
type Vocabulary struct {
	FrameTypes  map[string]float64 // canonical name -> area in m²
	Stages      map[string]bool    // of every book table
	GrowthForms map[string]bool    // of every book table
	Seasons     map[string]bool    // the usual ones and those that sites declare
	Sites       map[string]SiteDefaults
	Species     map[string]bool
	Basis       string // the ledger's
}

// SiteDefaults are the parts of a declared site that its rows fall back on.
type SiteDefaults struct {
	FrameType      string // "" where none is declared
	YearStartMonth int    // 1 where none is declared
	Declared       []DeclaredComponent
}

// FrameTypeFor is the frame type of a row that names none: the site's, unless
// the site declares that this component is looked for on other types only;
// then the one it declares. Where it declares several, none is taken.
func (d *SiteDefaults) FrameTypeFor(c Component, season string) string {
	declared := ""
	several := false
	for _, e := range d.Declared {
		if e.Component != c || e.FrameType == "" || e.Season != "" && e.Season != season {
			continue
		}
		if e.FrameType == d.FrameType {
			return d.FrameType
		}
		several = several || declared != "" && declared != e.FrameType
		declared = e.FrameType
	}
	switch {
	case several:
		return ""
	case declared != "":
		return declared
	}
	return d.FrameType
}

// usualSeasons are the season labels every ledger knows (trade terms; common
// practice). A site that declares a component for a season of its own adds it.
var usualSeasons = []string{"peak", "spring", "summer", "fall", "winter", "dormant"}

// Vocabulary reads what the ledger knows by name. An empty file knows what a
// new ledger starts with.
func (t *Tx) Vocabulary() (*Vocabulary, error) {
	v := &Vocabulary{FrameTypes: map[string]float64{}, Stages: map[string]bool{}, GrowthForms: map[string]bool{},
		Seasons: map[string]bool{}, Sites: map[string]SiteDefaults{}, Species: map[string]bool{}}
	for _, s := range usualSeasons {
		v.Seasons[s] = true
	}
	values, err := readSettings(t.ctx, t.tx)
	if err != nil {
		return nil, err
	}
	v.Basis = values["basis"]
	err = t.each(`SELECT s.site, coalesce(f.frame_type,''), coalesce(s.year_start_month,1) FROM site s LEFT JOIN frame_type f USING(frame_type_id)`, nil,
		func(scan func(...any) error) error {
			var code string
			var d SiteDefaults
			err := scan(&code, &d.FrameType, &d.YearStartMonth)
			v.Sites[code] = d
			return err
		})
	if err != nil {
		return nil, err
	}
	err = t.each(`SELECT s.site, d.component, d.season, coalesce(f.frame_type,'') FROM site_component d JOIN site s USING(site_id)
		LEFT JOIN frame_type f ON f.frame_type_id = d.frame_type_id`, nil, func(scan func(...any) error) error {
		var code string
		var e DeclaredComponent
		err := scan(&code, &e.Component, &e.Season, &e.FrameType)
		d := v.Sites[code]
		d.Declared = append(d.Declared, e)
		v.Sites[code] = d
		return err
	})
	if err != nil {
		return nil, err
	}
	err = t.each(`SELECT frame_type, area_m2 FROM frame_type`, nil, func(scan func(...any) error) error {
		var name string
		var area float64
		err := scan(&name, &area)
		v.FrameTypes[name] = area
		return err
	})
	if err != nil {
		return nil, err
	}
	for query, set := range map[string]map[string]bool{
		`SELECT DISTINCT stage FROM book_value WHERE stage<>''`:             v.Stages,
		`SELECT DISTINCT growth_form FROM book_value WHERE growth_form<>''`: v.GrowthForms,
		`SELECT DISTINCT season FROM site_component WHERE season<>''`:       v.Seasons,
		`SELECT species FROM species WHERE species<>''`:                     v.Species,
	} {
		err := t.each(query, nil, func(scan func(...any) error) error {
			var name string
			err := scan(&name)
			set[name] = true
			return err
		})
		if err != nil {
			return nil, err
		}
	}
	return v, nil
}
