package intake

import (
	"slices"
	"strings"

	"clipledger/schema"
)

// transectRow is a row of a transects file, by quantity.
type transectRow struct {
	Site      string `csv:"site"`
	Transect  string `csv:"transect"`
	Latitude  string `csv:"latitude"`
	Longitude string `csv:"longitude"`
	Bearing   string `csv:"bearing"`
	Length    string `csv:"length"`
	Side      string `csv:"side"`
	Offset    string `csv:"offset"`
	Photo     string `csv:"photo"`
	Note      string `csv:"note"`
}

// Limits of what a transect can be, in m.
const (
	mostTransectM = 100_000
	mostOffsetM   = 1000.0
)

// transectColumns are the columns of a transects file.
func transectColumns() []column {
	return slices.Concat(plain("site", "transect", "latitude", "longitude", "bearing"), inUnits("length", "length", lengthUnits),
		plain("side"), inUnits("offset", "offset", lengthUnits), plain("photo", "note"))
}

// transectKind is the kind of file that Transects reads.
func transectKind() *kind { return newKind(transectColumns(), []string{"site"}, []string{"transect"}) }

// Transects reads where transects lie: coordinates in decimal degrees,
// bearings in degrees from north, lengths in m.
func Transects(f *File, o Options, v *schema.Vocabulary, emit func(schema.TransectPlace) error, problem func(schema.Problem)) (Summary, error) {
	return readSmall(&small[transectRow, schema.TransectPlace]{
		kind:  transectKind(),
		read:  readTransect,
		same:  func(p *schema.TransectPlace) string { return joinKey(p.Site, p.Transect) },
		twice: "the same transect of this site",
		do:    "keep one row for each transect",
	}, f, o, v, emit, problem)
}

// readTransect reads one transect.
func readTransect(c *checker, row *transectRow) schema.TransectPlace {
	rec := schema.TransectPlace{
		Line: c.line, Site: c.site("site", row.Site), Transect: c.needKey("transect", row.Transect, "write the label of the transect"),
		Latitude: c.number("latitude", row.Latitude, -90, 90, " degrees"), Longitude: c.number("longitude", row.Longitude, -180, 180, " degrees"),
		Bearing: c.number("bearing", row.Bearing, 0, 360, " degrees"), LengthM: c.transectLength(row.Length),
		Side: c.key("side", row.Side), OffsetM: c.transectOffset(row.Offset), Photo: c.key("photo", row.Photo), Note: c.note("note", row.Note),
	}
	if (row.Latitude == "") != (row.Longitude == "") {
		c.bad("", "", "the row has one of latitude and longitude", "fill both or neither")
	}
	return rec
}

// transectLength reads a length in m.
func (c *checker) transectLength(cell string) schema.Num {
	s := c.binding.source("length")
	n := c.positive(s.name, cell, mostTransectM/s.factor, " "+strings.TrimPrefix(s.name, "length_"))
	n.Float64 *= s.factor
	return n
}

// transectOffset reads how far frames lie from the line, in m.
func (c *checker) transectOffset(cell string) schema.Num {
	s := c.binding.source("offset")
	n := c.number(s.name, cell, -mostOffsetM/s.factor, mostOffsetM/s.factor, " "+strings.TrimPrefix(s.name, "offset_"))
	n.Float64 *= s.factor
	return n
}
