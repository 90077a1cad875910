package intake

import (
	"fmt"
	"regexp"
	"slices"
	"strings"

	"clipledger/schema"
)

// siteRow is a row of a sites file, by quantity.
type siteRow struct {
	Site           string `csv:"site"`
	Name           string `csv:"name"`
	Stratum        string `csv:"stratum"`
	Area           string `csv:"area"`
	Latitude       string `csv:"latitude"`
	Longitude      string `csv:"longitude"`
	Elevation      string `csv:"elevation"`
	EcologicalSite string `csv:"ecological_site"`
	Components     string `csv:"components"`
	SamplingUnit   string `csv:"sampling_unit"`
	UnitsPossible  string `csv:"units_possible"`
	Placement      string `csv:"placement"`
	Selection      string `csv:"selection"`
	FrameType      string `csv:"frame_type"`
	YearStartMonth string `csv:"year_start_month"`
	Station        string `csv:"station"`
	RainMonths     string `csv:"rain_months"`
	ClassScheme    string `csv:"class_scheme"`
	GrowthCurve    string `csv:"growth_curve"`
	DoubleSampling string `csv:"double_sampling"`
	Note           string `csv:"note"`
}

// Limits of what a site can be.
const (
	mostSiteHa     = 10_000_000
	leastElevation = -500.0 // m
	mostElevation  = 9000.0 // m
	mostUnits      = 1_000_000_000
)

// siteColumns are the columns of a sites file.
func siteColumns() []column {
	return slices.Concat(
		plain("site", "name", "stratum"),
		inUnits("area", "area", []unit{{"_ha", 1}, {"_ac", hectaresPerAcre}}),
		plain("latitude", "longitude"),
		inUnits("elevation", "elevation", []unit{{"_m", 1}, {"_ft", metresPerFoot}}),
		plain("ecological_site", "components", "sampling_unit", "units_possible", "placement", "selection", "frame_type",
			"year_start_month", "station", "rain_months", "class_scheme", "growth_curve", "double_sampling", "note"))
}

// siteKind is the kind of file that Sites reads.
func siteKind() *kind { return newKind(siteColumns(), []string{"site"}) }

// Sites reads the declarations of sites. Areas leave in hectares, elevations
// in m, coordinates in decimal degrees, rain months as "4-7".
func Sites(f *File, o Options, v *schema.Vocabulary, emit func(schema.Site) error, problem func(schema.Problem)) (Summary, error) {
	return readSmall(&small[siteRow, schema.Site]{
		kind:  siteKind(),
		read:  readSite,
		same:  func(s *schema.Site) string { return s.Site },
		twice: "the same site",
		do:    "keep one row for each site",
	}, f, o, v, emit, problem)
}

// readSite reads one declaration.
func readSite(c *checker, row *siteRow) schema.Site {
	rec := schema.Site{
		Line: c.line, Site: c.site("site", row.Site), Name: c.key("name", row.Name), Stratum: c.key("stratum", row.Stratum),
		AreaHa:   c.siteArea(row.Area),
		Latitude: c.number("latitude", row.Latitude, -90, 90, " degrees"), Longitude: c.number("longitude", row.Longitude, -180, 180, " degrees"),
		ElevationM:     c.elevation(row.Elevation),
		EcologicalSite: c.key("ecological_site", row.EcologicalSite),
		Components:     c.declared("components", row.Components),
		SamplingUnit:   c.word("sampling_unit", row.SamplingUnit, c.known.samplingUnits, "sampling unit", "sampling units", ""),
		UnitsPossible:  c.whole("units_possible", row.UnitsPossible, 1, mostUnits),
		Placement:      c.word("placement", row.Placement, c.known.placements, "placement", "placements", ""),
		Selection:      c.word("selection", row.Selection, c.known.selections, "selection", "selections", ""),
		FrameType:      c.frameType("frame_type", row.FrameType),
		YearStartMonth: c.month("year_start_month", row.YearStartMonth),
		Station:        c.key("station", row.Station),
		RainMonths:     c.rainMonths("rain_months", row.RainMonths),
		ClassScheme:    c.key("class_scheme", row.ClassScheme),
		GrowthCurve:    c.key("growth_curve", row.GrowthCurve),
		DoubleSampling: c.key("double_sampling", row.DoubleSampling),
		Note:           c.note("note", row.Note),
	}
	if (row.Latitude == "") != (row.Longitude == "") {
		c.bad("", "", "the row has one of latitude and longitude", "fill both or neither")
	}
	if row.UnitsPossible != "" && rec.SamplingUnit == "transect" {
		c.bad("units_possible", row.UnitsPossible, "cannot stand with the sampling unit transect", "empty it: the correction for a finite number of units is for frames")
	}
	return rec
}

// siteArea reads the area of a site in hectares.
func (c *checker) siteArea(cell string) schema.Num {
	s := c.binding.source("area")
	n := c.positive(s.name, cell, mostSiteHa/s.factor, " "+strings.TrimPrefix(s.name, "area_"))
	n.Float64 *= s.factor
	return n
}

// elevation reads a height above sea level in m.
func (c *checker) elevation(cell string) schema.Num {
	s := c.binding.source("elevation")
	n := c.number(s.name, cell, leastElevation/s.factor, mostElevation/s.factor, " "+strings.TrimPrefix(s.name, "elevation_"))
	n.Float64 *= s.factor
	return n
}

// declared reads which components are looked for at a site: entries
// component[@frame type][/season], joined by ;.
func (c *checker) declared(column, cell string) (list []schema.DeclaredComponent) {
	for _, entry := range strings.Split(cell, ";") {
		entry = trimCell(entry)
		if entry == "" {
			continue
		}
		before := len(c.problems)
		d := c.declaredEntry(column, cell, entry)
		if len(c.problems) > before {
			return nil
		}
		if slices.Contains(list, d) {
			c.bad(column, cell, fmt.Sprintf("names %q twice", entry), "remove one")
			return nil
		}
		list = append(list, d)
	}
	return list
}

// declaredEntry reads one entry; a season that it names becomes known.
func (c *checker) declaredEntry(column, cell, entry string) (d schema.DeclaredComponent) {
	rest, season := entry, ""
	if at := strings.LastIndexByte(entry, '/'); at >= 0 {
		rest, season = entry[:at], trimCell(entry[at+1:])
		if season == "" {
			c.bad(column, cell, fmt.Sprintf("has no season after / in %q", entry), "write it as in herbaceous/fall, or remove the /")
		}
	}
	word, frame, framed := strings.Cut(rest, "@")
	word, frame = trimCell(word), trimCell(frame)
	name, ok := c.known.components.find(word)
	if !ok {
		c.bad(column, cell, fmt.Sprintf("names %q, which is not a known component", word), c.known.components.suggest(word, "components", ""))
	}
	d.Component, _ = schema.ComponentNamed(name)
	if framed && frame == "" {
		c.bad(column, cell, fmt.Sprintf("has no frame type after @ in %q", entry), "write it as in herbaceous@9.6 ft2, or remove the @")
	}
	before := len(c.problems)
	d.FrameType = c.frameType(column, frame)
	for i := before; i < len(c.problems); i++ {
		c.problems[i].Value = cell
		c.problems[i].What = fmt.Sprintf("names %q, which is not a known frame type", frame)
	}
	d.Season = c.newSeason(column, season)
	return d
}

// newSeason reads a season that a declaration may bring in; where it does,
// the summary says so, in case it is a misspelling.
func (c *checker) newSeason(column, word string) string {
	if word == "" {
		return ""
	}
	if name, ok := c.known.seasons.find(word); ok {
		return name
	}
	label := c.newWord(column, word, c.known.seasons)
	if near := c.known.seasons.nearest(label); near != "" {
		c.summary.notice("season %q is new; if it is %s, correct it", label, near)
	} else {
		c.summary.notice("season %q is new", label)
	}
	return label
}

// monthRange is two months, or one.
var monthRange = regexp.MustCompile(`^([0-9]{1,2}|[A-Za-z]{3,9})(?:\s*(?:-|–|—|to|/)\s*([0-9]{1,2}|[A-Za-z]{3,9}))?$`)

// spreadsheetDate is what spreadsheets make of "4-7": "7-Apr" or "4-Jul".
var spreadsheetDate = regexp.MustCompile(`^([0-9]{1,2}-[A-Za-z]{3}|[A-Za-z]{3}-[0-9]{1,2})$`)

// rainMonths reads the window of months whose rain counts, as "4-7", or
// "10-6" from October before; one month alone is "5-5".
func (c *checker) rainMonths(column, cell string) string {
	const write = "write the first and the last month as numbers, as in 4-7, or 10-6 from October before"
	if cell == "" {
		return ""
	}
	parts := monthRange.FindStringSubmatch(cell)
	if spreadsheetDate.MatchString(cell) {
		c.bad(column, cell, "looks like a date that a spreadsheet made of two months", write+", in a cell that is formatted as text")
		return ""
	}
	if parts == nil {
		c.bad(column, cell, "is not a range of months", write)
		return ""
	}
	from, fromOK := parseMonth(parts[1])
	to, toOK := from, fromOK
	if parts[2] != "" {
		to, toOK = parseMonth(parts[2])
	}
	if !fromOK || !toOK {
		c.bad(column, cell, "is not a range of months", write)
		return ""
	}
	return fmt.Sprintf("%d-%d", from, to)
}
