package export

import (
	"fmt"
	"io"
	"strings"

	"clipledger/schema"
)

// The terms of Darwin Core (tdwg.org) that columns stand for: a column of a
// Darwin Core table is named as its term.
const dwcTerms = "http://rs.tdwg.org/dwc/terms/"

// darwinTables are the tables of a Darwin Core archive: events (the visit of a
// site, and below it every frame), measurements (weight per area) and
// occurrences (what single species weighed).
var darwinTables = []Table{
	{Name: "event", Meaning: "visits of sites, and every frame clipped on them", Key: []string{"eventID"}, Columns: []Column{
		{Name: "eventID", Meaning: "site:growth year:season of a visit; transect:frame:cage follow for a frame"},
		{Name: "parentEventID", Meaning: "of a frame: the visit that it belongs to"},
		{Name: "eventType", Meaning: "siteVisit, or plot for a frame", Words: []string{"siteVisit", "plot"}},
		{Name: "eventDate", Meaning: "day of clipping, first/last day where it took several; the growth year where no day is known"},
		{Name: "samplingProtocol", Meaning: "how it was sampled"},
		{Name: "sampleSizeValue", Type: Number, Meaning: "of a frame: the ground that it covers; of a visit: how many frames were clipped"},
		{Name: "sampleSizeUnit", Meaning: "unit of sampleSizeValue"},
		{Name: "samplingEffort", Meaning: "effort in words"},
		{Name: "habitat", Meaning: "ecological site"},
		{Name: "fieldNumber", Meaning: "transect and frame as they are called in the field"},
		{Name: "locationID", Meaning: "code of the site"},
		{Name: "decimalLatitude", Type: Number, Unit: "degree", Meaning: "decimal degrees north; empty where coordinates were not asked for"},
		{Name: "decimalLongitude", Type: Number, Unit: "degree", Meaning: "decimal degrees east; empty where coordinates were not asked for"},
		{Name: "geodeticDatum", Meaning: "datum of the coordinates"},
		{Name: "eventRemarks", Meaning: "growth year, season, treatment and notes"},
	}},
	{Name: "measurement", Meaning: "dry weight per area of every frame and component, zeros included; what is missing has no row", Key: []string{"measurementID"},
		Foreign: []Foreign{{[]string{"eventID"}, "event", []string{"eventID"}}}, Columns: []Column{
			{Name: "measurementID", Meaning: "the event and the component"},
			{Name: "eventID", Meaning: "the frame"},
			{Name: "measurementType", Meaning: "what was measured"},
			{Name: "measurementValue", Type: Number, Meaning: "the value, in measurementUnit"},
			{Name: "measurementUnit", Meaning: "its unit"},
			{Name: "measurementMethod", Meaning: "how"},
			{Name: "measurementDeterminedDate", Meaning: "day of clipping"},
			{Name: "measurementRemarks", Meaning: "where a zero comes from"},
		}},
	{Name: "occurrence", Meaning: "single species in frames, with what they weighed", Key: []string{"occurrenceID"},
		Foreign: []Foreign{{[]string{"eventID"}, "event", []string{"eventID"}}}, Columns: []Column{
			{Name: "occurrenceID", Meaning: "the event, component, species and bag"},
			{Name: "eventID", Meaning: "the frame"},
			{Name: "basisOfRecord", Meaning: "kind of record"},
			{Name: "scientificName", Meaning: "name of the species as the ledger has it, else its code"},
			{Name: "taxonID", Meaning: "code of the species"},
			{Name: "organismQuantity", Type: Number, Meaning: "dry weight per area; empty: missing"},
			{Name: "organismQuantityType", Meaning: "what organismQuantity is"},
			{Name: "occurrenceStatus", Meaning: "whether the species was found", Words: []string{"detected", "notDetected"}},
			{Name: "recordedBy", Meaning: "who clipped; a number that stays the same where names were not asked for"},
			{Name: "occurrenceRemarks", Meaning: "component, how the dry weight was come by, status and notes"},
		}},
}

// darwinFiles are the files of a Darwin Core archive.
var darwinFiles = []string{"event.csv", "measurement.csv", "occurrence.csv", "meta.xml"}

// darwinCore writes the archive: three tables in one pass and one more, and
// meta.xml, which says what they are.
func (w *writer) darwinCore() error {
	event, measurement, occurrence := &darwinTables[0], &darwinTables[1], &darwinTables[2]
	return firstError(func() error {
		return w.csv(event, func(events func([]Cell) error) error {
			return w.csv(occurrence, func(occurrences func([]Cell) error) error {
				d := &darwin{src: w.src, event: events, occurrence: occurrences}
				return d.write()
			})
		})
	}, func() error {
		return w.csv(measurement, func(emit func([]Cell) error) error { return darwinMeasurements(w.src, emit) })
	}, w.metaXML)
}

// darwin writes events and occurrences, visit by visit.
type darwin struct {
	src         *source
	event       func([]Cell) error
	occurrence  func([]Cell) error
	names       map[string]string // of species
	sites       map[string]*schema.SiteRecord
	at          *place
	frames      int64
	first, last string // days of the visit
}

func (d *darwin) write() error {
	d.names, d.sites = map[string]string{}, map[string]*schema.SiteRecord{}
	for i := range d.src.sites {
		d.sites[d.src.sites[i].Site] = &d.src.sites[i]
	}
	err := d.src.snap.TableRows("species", func([]string) error { return nil }, func(v []any) error {
		name, _ := v[1].(string)
		d.names[v[0].(string)] = name
		return nil
	})
	if err != nil {
		return err
	}
	err = d.src.frames(d.src.all, func(at *place, f *schema.FrameRecord) error {
		if at != d.at {
			if err := d.visit(); err != nil {
				return err
			}
			d.at, d.frames, d.first, d.last = at, 0, "", ""
		}
		return d.frame(f)
	})
	if err != nil {
		return err
	}
	return d.visit()
}

// visitID and frameID name events.
func visitID(at *place) string {
	return fmt.Sprintf("%s:%d:%s", idPart(at.site), at.year, idPart(at.season))
}

// idPart keeps the colon of an ID apart from one in a name.
func idPart(name string) string { return strings.NewReplacer("%", "%25", ":", "%3A").Replace(name) }

func frameID(at *place, transect, frame string, caged bool) string {
	cage := "open"
	if caged {
		cage = "caged"
	}
	return visitID(at) + ":" + idPart(transect) + ":" + idPart(frame) + ":" + cage
}

const protocol = "vegetation clipped to the ground or the stated height inside a frame of known area, by component, and weighed"

// visit writes the event of the visit whose frames are written.
func (d *darwin) visit() error {
	if d.frames == 0 {
		return nil
	}
	date := fmt.Sprint(d.at.year)
	if d.first != "" {
		date = d.first
		if d.last != d.first {
			date += "/" + d.last
		}
	}
	row := []Cell{text(visitID(d.at)), {}, text("siteVisit"), text(date), text(protocol), whole(d.frames), text("frames"), text(fmt.Sprintf("%d frames clipped", d.frames))}
	row = append(row, d.where("")...)
	return d.event(append(row, text(fmt.Sprintf("growth year %d, season %s", d.at.year, d.at.season))))
}

// where are the columns of the place.
func (d *darwin) where(field string) []Cell {
	s := d.sites[d.at.site]
	var lat, lon, datum Cell
	if d.src.options.Coordinates && s.Latitude.Valid {
		lat, lon, datum = number(s.Latitude), number(s.Longitude), text("not recorded")
	}
	return []Cell{text(s.EcologicalSite), text(field), text(s.Site), lat, lon, datum}
}

// frame writes the event of a frame and the species in it.
func (d *darwin) frame(f *schema.FrameRecord) error {
	d.frames++
	date := f.Date
	if date == "" {
		date = fmt.Sprint(d.at.year)
	} else {
		if d.first == "" || date < d.first {
			d.first = date
		}
		d.last = max(d.last, date)
	}
	id := frameID(d.at, f.Transect, f.Frame, f.Caged)
	effort, unit := "1 frame", ""
	if f.AreaM2.Valid {
		effort, unit = fmt.Sprintf("1 frame of %g square metres", f.AreaM2.Float64), "square metre"
	}
	row := []Cell{text(id), text(visitID(d.at)), text("plot"), text(date), text(protocol), number(f.AreaM2), text(unit), text(effort)}
	row = append(row, d.where(f.Transect+"/"+f.Frame)...)
	remarks := fmt.Sprintf("growth year %d, season %s", d.at.year, d.at.season)
	for _, part := range [][2]string{{"treatment", f.Treatment}, {"block", f.Block}, {"note", f.Note}} {
		if part[1] != "" {
			remarks += "; " + part[0] + ": " + part[1]
		}
	}
	if err := d.event(append(row, text(remarks))); err != nil {
		return err
	}
	for i := range f.Bags {
		if b := &f.Bags[i]; b.Species != "" && !b.Blank {
			if err := d.occurrence(d.species(id, b)); err != nil {
				return err
			}
		}
	}
	return nil
}

// species is the occurrence of one species in a frame.
func (d *darwin) species(event string, b *schema.FrameBag) []Cell {
	name := d.names[b.Species]
	if name == "" {
		name = b.Species
	}
	perArea := schema.Num{}
	switch {
	case !b.UsedDryG.Valid:
	case b.UsedDryG.Float64 == 0:
		perArea = schema.Some(0)
	case b.GroundM2.Valid:
		perArea = schema.Some(b.UsedDryG.Float64 / b.GroundM2.Float64)
	}
	status := "detected"
	if b.Status == schema.StatusEmpty || b.Trace == 0 && b.GreenG.Valid && b.GreenG.Float64 == 0 {
		status = "notDetected"
	}
	remarks := b.Component.String() + "; dry weight: " + b.Method
	for _, part := range [][2]string{{"status", b.Status}, {"note", b.Note}} {
		if part[1] != "" {
			remarks += "; " + part[0] + ": " + part[1]
		}
	}
	return []Cell{text(strings.Join([]string{event, b.Component.String(), idPart(b.Species), idPart(b.Bag)}, ":")), text(event), text("MaterialSample"), text(name), text(b.Species),
		number(perArea), text("dry weight, g/m2, " + d.src.values["basis"]), text(status), text(d.src.observer(b.Observer)), text(remarks)}
}

// darwinMeasurements are the weights per area of frames, zeros included.
func darwinMeasurements(src *source, emit func([]Cell) error) error {
	method := "dry weight of the bags of the frame over the ground that they speak for, " + src.values["basis"]
	return productionRows(src, src.all, func(c []Cell) error { // site, year, season, transect, frame, caged, component, g_m2, zero_from, missing_because, date
		if !c[7].Has {
			return nil
		}
		at := &place{site: c[0].Text, year: int(c[1].Number), season: c[2].Text}
		event := frameID(at, c[3].Text, c[4].Text, c[5].Text == "yes")
		remark := ""
		if c[8].Has {
			remark = "zero, " + c[8].Text
		}
		return emit([]Cell{text(event + ":" + c[6].Text), text(event), text("dry weight per area of " + c[6].Text), c[7], text("g/m2"), text(method), c[10], text(remark)})
	})
}

// metaXML writes the descriptor of the archive (Darwin Core text guide).
func (w *writer) metaXML() error {
	x := &xmlText{}
	x.line(`<?xml version="1.0" encoding="UTF-8"?>`)
	x.in("archive", `xmlns="http://rs.tdwg.org/dwc/text/"`, func() {
		for i := range darwinTables {
			t := &darwinTables[i]
			element, id, row := "extension", "coreid", "Occurrence"
			switch t.Name {
			case "event":
				element, id, row = "core", "id", "Event"
			case "measurement":
				row = "MeasurementOrFact"
			}
			x.in(element, `encoding="UTF-8" fieldsTerminatedBy="," linesTerminatedBy="\n" fieldsEnclosedBy="&quot;" ignoreHeaderLines="1" rowType="`+dwcTerms+row+`"`, func() {
				x.in("files", "", func() { x.of("location", t.Name+".csv") })
				for j := range t.Columns {
					if t.Columns[j].Name == "eventID" {
						x.line(fmt.Sprintf(`<%s index="%d"/>`, id, j))
					}
				}
				for j := range t.Columns {
					if element == "extension" && t.Columns[j].Name == "eventID" {
						continue
					}
					x.line(fmt.Sprintf(`<field index="%d" term="%s"/>`, j, dwcTerms+t.Columns[j].Name))
				}
			})
		}
	})
	return w.stage("meta.xml", func(out io.Writer) (int64, error) {
		_, err := out.Write(x.b.Bytes())
		return 0, err
	})
}
