package schema

import "fmt"

// TransectPlace takes where a transect lies into the ledger.
func (im *Import) TransectPlace(p TransectPlace) error {
	site, err := im.siteByCode(p.Site, p.Line)
	if err != nil {
		return err
	}
	_, err = im.put("transect", []field{key("site_id", site.id), key("transect", p.Transect)},
		[]field{number("latitude", p.Latitude), number("longitude", p.Longitude), number("bearing", p.Bearing), number("length_m", p.LengthM),
			text("side", p.Side), number("offset_m", p.OffsetM), text("photo", p.Photo), text("note", p.Note)}, p.Line)
	return err
}

// Event takes something that happened into the ledger: at a site, or in a
// stratum, whose sites may come later.
func (im *Import) Event(e Event) error {
	var id int64
	if e.Site != "" {
		site, err := im.siteByCode(e.Site, e.Line)
		if err != nil {
			return err
		}
		id = site.id
	} else if known, err := im.queryRow(`SELECT 1 FROM site WHERE stratum=?`, []any{e.Stratum}, new(int)); err != nil {
		return err
	} else if !known {
		im.Notice(fmt.Sprintf("line %d: no site is of the stratum %q yet: the event is shown with none until one is", e.Line, e.Stratum))
	}
	end := text("finish", e.End)
	end.column = "end"
	_, err := im.put("event", []field{key("site_id", id), key("stratum", e.Stratum), key("start", e.Start), key("kind", e.Kind)},
		[]field{end, text("note", e.Note)}, e.Line)
	return err
}
