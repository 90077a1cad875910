package schema

import (
	"fmt"
	"strings"
)

// Drying takes one drying sample into the ledger.
func (im *Import) Drying(d Drying) error {
	site, err := im.siteByCode(d.Site, d.Line)
	if err != nil {
		return err
	}
	year := d.Year
	if year == 0 {
		if year, err = GrowthYear(d.Date, site.startMonth); err != nil {
			return err
		}
	}
	occasion, _, err := im.occasionID(occasionKey{site.id, year, d.Season})
	if err != nil {
		return err
	}
	species, err := im.speciesID(d.Species, d.Line)
	if err != nil {
		return err
	}
	basis := text("basis", d.Basis)
	if d.Basis == "" {
		values, err := readSettings(im.ctx, im.tx)
		if err != nil {
			return err
		}
		basis = text("basis", values["basis"])
	}
	keys := []field{key("occasion_id", occasion), key("component", int64(d.Component)), key("species_id", species), key("growth_form", d.GrowthForm),
		key("transect", d.Transect), key("frame", d.Frame), key("bag", d.Bag), key("green_g", d.GreenG), key("dry_g", d.DryG)}
	changed, err := im.putDated("drying", keys, []field{basis, text("stage", d.Stage), text("date", d.Date)}, d.Year, d.Line)
	if changed {
		im.touch.drying[occasion] = true
	}
	return err
}

func yearGiven(year int) int64 { return bit(year != 0) }

// FrameType takes one frame type into the ledger.
func (im *Import) FrameType(f FrameType) error {
	_, err := im.put("frame_type", []field{key("frame_type", f.Name)}, []field{number("area_m2", Some(f.AreaM2))}, f.Line)
	return err
}

// Species takes one species into the ledger. A change of its growth form
// changes which drying samples and book values its bags use.
func (im *Import) Species(s Species) error {
	var id int64
	known, err := im.queryRow(`SELECT species_id FROM species WHERE species=?`, []any{s.Code}, &id)
	if err != nil {
		return err
	}
	changed, err := im.put("species", []field{key("species", s.Code)},
		[]field{text("name", s.Name), text("growth_form", s.GrowthForm), whole("component", int64(s.Component))}, s.Line)
	if err != nil || !changed || !known || s.GrowthForm == "" {
		return err
	}
	im.touch.species[id] = true
	return im.touchDryingOf(s.Code)
}

// touchDryingOf marks the occasions whose growth-form ratios a species feeds.
func (im *Import) touchDryingOf(code string) error {
	return im.each(`SELECT DISTINCT occasion_id FROM drying JOIN species USING(species_id) WHERE species=?`, []any{code},
		func(scan func(...any) error) error {
			var occasion int64
			err := scan(&occasion)
			im.touch.drying[occasion] = true
			return err
		})
}

// BookValue takes one book value into the ledger. A table in force, the
// built-in one included, is closed: importing never changes past numbers.
func (im *Import) BookValue(b BookValue) error {
	values, err := readSettings(im.ctx, im.tx)
	if err != nil {
		return err
	}
	species, err := im.speciesID(b.Species, b.Line)
	if err != nil {
		return err
	}
	if b.Basis == "" {
		b.Basis = values["basis"]
	}
	keys := []field{key("book", b.Table), key("species_id", species), key("growth_form", b.GrowthForm), key("stage", b.Stage)}
	fields := []field{number("dm_pct", Some(b.DMPct)), text("basis", b.Basis), text("source", b.Source)}
	for _, closed := range append(values.BookTables(), HandbookTable) {
		if closed != b.Table {
			continue
		}
		stored, _, _, found, err := im.stored("book_value", keys, fields)
		if err != nil {
			return err
		}
		if found && same(stored[0], b.DMPct) && same(stored[1], b.Basis) {
			im.Identical++
			return nil
		}
		im.refuse(b.Line, "table", b.Table, "this table is built in or in force, and importing never changes past numbers",
			"import it under another name, then put that name in force with `settings book-tables=NAME --yes`")
		return nil
	}
	_, err = im.put("book_value", keys, fields, b.Line)
	return err
}

// Rain takes one month's rain into the ledger.
func (im *Import) Rain(r Rain) error {
	_, err := im.put("rain", []field{key("station", r.Station), key("year", int64(r.Year)), key("month", int64(r.Month))},
		[]field{number("rain_mm", Some(r.RainMM))}, r.Line)
	return err
}

// Site takes one site's declaration into the ledger.
func (im *Import) Site(s Site) error {
	var frameType int64
	if s.FrameType != "" {
		var err error
		if frameType, err = im.frameTypeID(s.FrameType, s.Line); err != nil {
			return err
		}
	}
	fields := []field{text("name", s.Name), text("stratum", s.Stratum), number("area_ha", s.AreaHa), number("latitude", s.Latitude),
		number("longitude", s.Longitude), number("elevation_m", s.ElevationM), text("ecological_site", s.EcologicalSite),
		text("components", declaredText(s.Components)), text("sampling_unit", s.SamplingUnit), whole("units_possible", int64(s.UnitsPossible)),
		text("placement", s.Placement), text("selection", s.Selection), frameTypeField(frameType, s.FrameType),
		whole("year_start_month", int64(s.YearStartMonth)), text("station", s.Station), text("rain_months", s.RainMonths),
		text("class_scheme", s.ClassScheme), text("growth_curve", s.GrowthCurve), text("double_sampling", s.DoubleSampling), text("note", s.Note)}
	before, err := im.siteBefore(s.Site)
	if err != nil {
		return err
	}
	changed, err := im.put("site", []field{key("site", s.Site)}, fields, s.Line)
	if err != nil || !changed {
		return err
	}
	return im.afterSite(s, before)
}

func frameTypeField(id int64, name string) field {
	f := whole("frame_type_id", id)
	f.shown = name
	return f
}

// declaredText writes what a site declares in one canonical form.
func declaredText(entries []DeclaredComponent) string {
	parts := make([]string, len(entries))
	for i, e := range entries {
		parts[i] = e.Component.String()
		if e.FrameType != "" {
			parts[i] += "@" + e.FrameType
		}
		if e.Season != "" {
			parts[i] += "/" + e.Season
		}
	}
	return strings.Join(parts, ";")
}

// siteState is what a site was before its declaration changed.
type siteState struct {
	known      bool
	id         int64
	startMonth int
}

func (im *Import) siteBefore(code string) (siteState, error) {
	var s siteState
	var err error
	s.known, err = im.queryRow(`SELECT site_id, coalesce(year_start_month,1) FROM site WHERE site=?`, []any{code}, &s.id, &s.startMonth)
	return s, err
}

// afterSite settles what a changed declaration moves: the components looked
// for, and the growth years of dated records.
func (im *Import) afterSite(s Site, before siteState) error {
	var id int64
	var startMonth int
	if _, err := im.queryRow(`SELECT site_id, coalesce(year_start_month,1) FROM site WHERE site=?`, []any{s.Site}, &id, &startMonth); err != nil {
		return err
	}
	im.touch.sites[id] = true
	if len(s.Components) > 0 {
		if err := im.declare(id, s); err != nil {
			return err
		}
	}
	if before.known && before.startMonth != startMonth {
		return im.rekey(id, s, startMonth)
	}
	return nil
}

func (im *Import) declare(id int64, s Site) error {
	if err := im.exec(`DELETE FROM site_component WHERE site_id=?`, id); err != nil {
		return err
	}
	for _, e := range s.Components {
		var frameType int64
		if e.FrameType != "" {
			var err error
			if frameType, err = im.frameTypeID(e.FrameType, s.Line); err != nil {
				return err
			}
		}
		err := im.exec(`INSERT INTO site_component(site_id,component,season,frame_type_id) VALUES(?,?,?,?) ON CONFLICT DO NOTHING`,
			id, int64(e.Component), e.Season, frameType)
		if err != nil {
			return fmt.Errorf("declare the components of site %s: %w", s.Site, err)
		}
	}
	return nil
}
