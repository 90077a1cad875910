package export

import (
	"slices"

	"clipledger/schema"
)

// Columns that many tables have.
var (
	colSite      = Column{Name: "site", Meaning: "code of the site, the place that one mean speaks for"}
	colYear      = Column{Name: "year", Type: Whole, Meaning: "growth year: named for the calendar year in which it ends"}
	colSeason    = Column{Name: "season", Meaning: "label for when in the growth year; only like seasons are compared"}
	colTransect  = Column{Name: "transect", Meaning: "label of the line of frames on the site"}
	colFrame     = Column{Name: "frame", Meaning: "label of the frame, one placement of the clipping frame"}
	colCaged     = Column{Name: "caged", Type: YesNo, Meaning: "whether the frame stood under a cage that keeps grazers out"}
	colComponent = Column{Name: "component", Meaning: "what was clipped: herbaceous and browse make up production, standing-dead and litter do not", Words: componentWords()}
	colObserver  = Column{Name: "observer", Meaning: "who clipped; a number that stays the same where names were not asked for", private: observerName}
	colImport    = Column{Name: "import_id", Type: Whole, Meaning: "number of the import that the row came from, in the table imports", Derived: true}
	colLine      = Column{Name: "line", Type: Whole, Meaning: "line of the imported file, as an editor counts it", Derived: true}
	colBasis     = Column{Name: "basis", Meaning: "basis of the dry weight or percentage: air-dry, oven-dry or unknown (taken as the ledger's)",
		Words: []string{schema.AirDry, schema.OvenDry, schema.UnknownBasis}}
	colTreatment = Column{Name: "treatment", Meaning: "treatment of the frame"}
	colBlock     = Column{Name: "block", Meaning: "block of the frame"}
	colNote      = Column{Name: "note", Meaning: "free text, as written"}
	colEdge      = Column{Name: "edge_rule", Meaning: "which plants belong to the frame: rooted in it, or everything above it (vertical)", Words: []string{"rooted", "vertical"}}
	colHeight    = Column{Name: "clip_height_cm", Type: Number, Unit: "cm", Meaning: "height above ground at which it was cut"}
	colUngrazed  = Column{Name: "ungrazed_pct", Type: Number, Unit: "%", Meaning: "share of the growth that was still there to be clipped"}
	colLatitude  = Column{Name: "latitude", Type: Number, Unit: "degree", Meaning: "decimal degrees north; empty where coordinates were not asked for", private: coordinate}
	colLongitude = Column{Name: "longitude", Type: Number, Unit: "degree", Meaning: "decimal degrees east; empty where coordinates were not asked for", private: coordinate}
)

func componentWords() []string {
	var words []string
	for _, c := range schema.Components {
		words = append(words, c.String())
	}
	return words
}

// because gives a column another meaning.
func (c Column) because(meaning string) Column {
	c.Meaning = meaning
	return c
}

// worked marks a column as worked out by the program.
func (c Column) worked() Column {
	c.Derived = true
	return c
}

// frameKey are the columns that name a frame on an occasion.
var frameKey = []string{"site", "year", "season", "transect", "frame", "caged"}

var frameKeyColumns = []Column{colSite, colYear, colSeason, colTransect, colFrame, colCaged}

// columns joins columns and lists of them.
func columns(of ...any) []Column {
	var out []Column
	for _, c := range of {
		switch c := c.(type) {
		case Column:
			out = append(out, c)
		case []Column:
			out = append(out, c...)
		}
	}
	return out
}

// to says that columns of this name stand for the key of a table.
func to(table string, names ...string) Foreign { return Foreign{names, table, names} }

// Tables are all tables of an export, in the order in which they can be read
// back.
var Tables []Table

func init() { // the functions that read rows look their table up here
	Tables = []Table{
		{Name: "settings", Meaning: "the choices that the numbers rest on, and what the ledger says of itself", Key: []string{"name"}, rows: settingRows, Columns: []Column{
			{Name: "name", Meaning: "name of the setting"},
			{Name: "value", Meaning: "its value"},
			{Name: "from", Meaning: "whether somebody set it or it is the default", Words: []string{"set", "default"}},
			{Name: "meaning", Meaning: "what it decides"},
		}},
		{Name: "book_values", Meaning: "published percentages of dry matter, of all book tables, whether in force or not (setting book-tables)", Kind: "book-values",
			Key: nil, rows: readSmall("book_values"), Columns: columns(
				Column{Name: "table", Meaning: "name of the book table"},
				Column{Name: "growth_form", Meaning: "growth form that it is for"},
				Column{Name: "species", Meaning: "species that it is for, where it is for one"},
				Column{Name: "stage", Meaning: "stage of growth"},
				Column{Name: "dm_pct", Type: Number, Unit: "%", Meaning: "dry matter in percent of green weight"},
				colBasis, Column{Name: "source", Meaning: "where it was published"}, colImport, colLine)},
		{Name: "frame_types", Meaning: "the clipping frames and the ground that they cover", Kind: "frame-types", Key: []string{"frame_type"}, rows: readSmall("frame_types"),
			Columns: columns(Column{Name: "frame_type", Meaning: "name of the frame type"},
				Column{Name: "area_m2", Type: Number, Unit: "m2", Meaning: "ground that it covers"}, colImport, colLine)},
		{Name: "species", Meaning: "the plants", Kind: "species", Key: []string{"species"}, rows: readSmall("species"), Columns: columns(
			Column{Name: "species", Meaning: "code of the species"},
			Column{Name: "name", Meaning: "its name"},
			Column{Name: "growth_form", Meaning: "growth form, for book values"},
			colComponent.because("component that it belongs to"), colImport, colLine)},
		{Name: "sites", Meaning: "the sites and what they declare", Kind: "sites", Key: []string{"site"}, rows: readSmall("sites"),
			Foreign: []Foreign{to("frame_types", "frame_type")}, Columns: columns(colSite,
				Column{Name: "name", Meaning: "name of the site"},
				Column{Name: "stratum", Meaning: "group of sites: a pasture, a district, an ecological site"},
				Column{Name: "area_ha", Type: Number, Unit: "ha", Meaning: "area that the site stands for"},
				colLatitude, colLongitude,
				Column{Name: "elevation_m", Type: Number, Unit: "m", Meaning: "height above sea level"},
				Column{Name: "ecological_site", Meaning: "ecological site"},
				Column{Name: "components", Meaning: "what is looked for: component[@frame type][/season], joined by ;"},
				Column{Name: "sampling_unit", Meaning: "what a mean is taken over: frames, or transects of equal weight", Words: []string{"frame", "transect"}},
				Column{Name: "sampling_unit_from", Meaning: "whether the site declares the sampling unit or the program chose it once", Words: []string{"declared", "chosen"}}.worked(),
				Column{Name: "units_possible", Type: Whole, Unit: "1", Meaning: "number of sampling units that the site could hold, for the finite population correction"},
				Column{Name: "placement", Meaning: "of its frames: the same spots every year, shifted along the transect, or new", Words: []string{"same", "shifted", "new"}},
				Column{Name: "selection", Meaning: "how its frames or the site were chosen", Words: []string{"random", "fixed", "chosen"}},
				Column{Name: "frame_type", Meaning: "frame type of rows that name none"},
				Column{Name: "year_start_month", Type: Whole, Unit: "1", Meaning: "month in which its growth year starts; empty: January"},
				Column{Name: "station", Meaning: "rain gauge, in the table rain"},
				Column{Name: "rain_months", Meaning: "months whose rain counts, as 4-7, or 10-6 from October before"},
				Column{Name: "class_scheme", Meaning: "scheme of classes, in the table classes"},
				Column{Name: "growth_curve", Meaning: "growth curve, in the table growth_curves"},
				Column{Name: "double_sampling", Meaning: "observer whose eye estimates the means rest on beside the clipped frames, or pooled; empty: clipped frames alone", private: observerName},
				colNote, colImport, colLine)},
		{Name: "transects", Meaning: "where transects lie", Kind: "transects", Key: []string{"site", "transect"}, rows: readSmall("transects"), Foreign: []Foreign{to("sites", "site")},
			Columns: columns(colSite, colTransect, colLatitude, colLongitude,
				Column{Name: "bearing", Type: Number, Unit: "degree", Meaning: "direction of the line, from north"},
				Column{Name: "length_m", Type: Number, Unit: "m", Meaning: "length of the line"},
				Column{Name: "side", Meaning: "side of the line on which frames lie"},
				Column{Name: "offset_m", Type: Number, Unit: "m", Meaning: "distance of the first frame from the start"},
				Column{Name: "photo", Meaning: "name of a photograph"}, colNote, colImport, colLine)},
		{Name: "frames", Meaning: "every frame on every occasion (site, growth year and season): when, how and by whom it was clipped, and what was looked for in it", Kind: "frames",
			Key: frameKey, Many: true, rows: frameRows, Foreign: []Foreign{to("sites", "site"), to("frame_types", "frame_type")}, Columns: columns(frameKeyColumns,
				Column{Name: "caged_since", Type: Date, Meaning: "day from which it was caged"},
				Column{Name: "date", Type: Date, Meaning: "day of clipping"},
				Column{Name: "frame_type", Meaning: "frame type of the frame; a component clipped on another has it in the table bags"},
				Column{Name: "components_sampled", Meaning: "components that the rows say were looked for, joined by ;; empty where they do not say"},
				Column{Name: "status", Meaning: "empty: nothing at all was found in the frame", Words: []string{schema.StatusEmpty}},
				colTreatment, colBlock, colObserver, colEdge, colHeight, colUngrazed, colNote,
				Column{Name: "year_from", Meaning: "what decided the growth year: a row that named it, or the date", Words: []string{"row", "date"}}.worked(),
				Column{Name: "frame_area_m2", Type: Number, Unit: "m2", Meaning: "ground that the frame type covers"}.worked(),
				lookedColumns())},
		{Name: "drying_samples", Meaning: "subsamples weighed green and dried, to measure the fraction of dry matter", Kind: "drying",
			Key: nil, rows: readSmall("drying_samples"), Foreign: []Foreign{to("sites", "site")}, Columns: columns(colSite, colYear, colSeason,
				Column{Name: "date", Type: Date, Meaning: "day of clipping"}, colComponent,
				Column{Name: "species", Meaning: "code of the species, where it is of one"},
				Column{Name: "growth_form", Meaning: "growth form, where it is of one"},
				Column{Name: "stage", Meaning: "stage of growth"},
				colTransect.because("transect, where it is of one frame's bag"), colFrame.because("frame, where it is of one frame's bag"),
				Column{Name: "bag", Meaning: "bag, where it is of one"},
				Column{Name: "green_g", Type: Number, Unit: "g", Meaning: "green weight of the subsample"},
				Column{Name: "dry_g", Type: Number, Unit: "g", Meaning: "its dry weight, on the basis of the row"}, colBasis,
				Column{Name: "dry_fraction", Type: Number, Unit: "1", Meaning: "dry over green weight, on the ledger's basis"}.worked(), colImport, colLine)},
		{Name: "bags", Meaning: "every bag as it was recorded, and the dry weight that the means rest on with the way it was come by", Kind: "clippings",
			Key: nil, Many: true, rows: bagRows, Foreign: []Foreign{to("frames", frameKey...), to("species", "species"), to("frame_types", "frame_type")},
			Columns: columns(frameKeyColumns, colComponent,
				Column{Name: "species", Meaning: "code of the species, where species are kept apart"},
				Column{Name: "bag", Meaning: "label that tells bags of one component and species apart"},
				Column{Name: "date", Type: Date, Meaning: "day on which the component was clipped"},
				Column{Name: "frame_type", Meaning: "frame type on which the component was clipped"},
				Column{Name: "frames_in_bag", Type: Whole, Unit: "1", Meaning: "frames that went into a composite bag; empty: one"},
				Column{Name: "growth_form", Meaning: "growth form that the row names; empty: its species'"},
				Column{Name: "stage", Meaning: "stage of growth"},
				Column{Name: "green_g", Type: Number, Unit: "g", Meaning: "green weight, net of the bag"},
				Column{Name: "dry_g", Type: Number, Unit: "g", Meaning: "measured dry weight, net of the bag, on the basis of the row"},
				Column{Name: "green_g_m2", Type: Number, Unit: "g/m2", Meaning: "green weight, of a record that came as weight per area"},
				Column{Name: "dry_g_m2", Type: Number, Unit: "g/m2", Meaning: "dry weight, of a record that came as weight per area, on the basis of the row"},
				Column{Name: "trace", Meaning: "columns above whose weight was a trace (too little to weigh), joined by ;"},
				Column{Name: "dm_pct", Type: Number, Unit: "%", Meaning: "dry matter in percent of green weight, as the row gives it"}, colBasis,
				Column{Name: "status", Meaning: "lost: lost before it was weighed; empty: looked for and not found; blank: a cell left blank, neither weighed nor lost",
					Words: []string{schema.StatusLost, schema.StatusEmpty, statusBlank}},
				colObserver, colEdge, colHeight, colUngrazed, colNote,
				Column{Name: "per_m2", Type: YesNo, Meaning: "whether the record came as weight per area"},
				Column{Name: "ground_m2", Type: Number, Unit: "m2", Meaning: "ground that the weights speak for: the frame's area times frames_in_bag, or 1 for weight per area"}.worked(),
				Column{Name: "dry_used_g", Type: Number, Unit: "g", Meaning: "dry weight that the means rest on, on the ledger's basis; empty where there is none to be had"}.worked(),
				Column{Name: "dry_method", Meaning: "how dry_used_g was come by"}.worked(), colImport, colLine)},
		{Name: "rain", Meaning: "monthly rain", Kind: "rain", Key: []string{"station", "year", "month"}, rows: readSmall("rain"), Columns: columns(
			Column{Name: "station", Meaning: "rain gauge"},
			colYear.because("calendar year"),
			Column{Name: "month", Type: Whole, Unit: "1", Meaning: "month, 1 to 12"},
			Column{Name: "rain_mm", Type: Number, Unit: "mm", Meaning: "rain of the month"}, colImport, colLine)},
		{Name: "estimates", Meaning: "eye estimates of weights, which never enter a clipped mean", Kind: "estimates", Key: nil, rows: readSmall("estimates"),
			Foreign: []Foreign{to("frames", frameKey...)}, Columns: columns(frameKeyColumns,
				Column{Name: "date", Type: Date, Meaning: "day of the estimate"},
				Column{Name: "frame_type", Meaning: "frame type that the row names"}, colComponent,
				Column{Name: "species", Meaning: "code of the species, where it is of one"},
				colObserver.because("who estimated; a number that stays the same where names were not asked for"),
				Column{Name: "estimate_green_g", Type: Number, Unit: "g", Meaning: "estimated green weight in the frame"},
				Column{Name: "estimate_dry_g", Type: Number, Unit: "g", Meaning: "estimated dry weight in the frame"},
				Column{Name: "estimate_g_m2", Type: Number, Unit: "g/m2", Meaning: "estimated dry weight per area"},
				Column{Name: "state", Meaning: "what was estimated", Words: []string{"green", "dry"}}.worked(), colBasis, colImport, colLine)},
		{Name: "classes", Meaning: "schemes of classes", Kind: "classes", Key: []string{"scheme", "component", "lower"}, rows: readSmall("classes"), Columns: columns(
			Column{Name: "scheme", Meaning: "name of the scheme"},
			colComponent.because("component, or production"),
			Column{Name: "unit", Meaning: "unit of the bounds: g/m2"},
			colBasis,
			Column{Name: "lower", Type: Number, Unit: "g/m2", Meaning: "the class begins here, this value included"},
			Column{Name: "upper", Type: Number, Unit: "g/m2", Meaning: "and ends before this value; empty: no end"},
			Column{Name: "label", Meaning: "name of the class"}, colImport, colLine)},
		{Name: "growth_curves", Meaning: "how far growth has come by the day of the year", Kind: "growth-curves", Key: []string{"curve", "day_of_year"}, rows: readSmall("growth_curves"),
			Columns: columns(Column{Name: "curve", Meaning: "name of the curve"},
				Column{Name: "day_of_year", Type: Whole, Unit: "1", Meaning: "day of the calendar year, from 1"},
				Column{Name: "cumulative_pct", Type: Number, Unit: "%", Meaning: "share of the season's growth completed by that day"}, colImport, colLine)},
		{Name: "events", Meaning: "what happened to sites and strata: fire, spraying, flood, grazing", Kind: "events", Key: nil, rows: readSmall("events"), Columns: columns(
			colSite.because("code of the site; empty where the whole stratum is meant"),
			Column{Name: "stratum", Meaning: "stratum, where the whole of it is meant"},
			Column{Name: "start", Type: Date, Meaning: "first day"},
			Column{Name: "end", Type: Date, Meaning: "last day; empty: one day, or nobody knows"},
			Column{Name: "kind", Meaning: "kind of event"}, colNote, colImport, colLine)},
		{Name: "frame_production", Meaning: "dry weight per area of every frame and component, zeros included: what the means are taken over", Many: true,
			Key: append(slices.Clone(frameKey), "component"), rows: productionRows, Foreign: []Foreign{to("frames", frameKey...)}, Columns: columns(frameKeyColumns, colComponent,
				Column{Name: "g_m2", Type: Number, Unit: "g/m2", Meaning: "dry weight per area on the ledger's basis; empty: missing, never zero"},
				Column{Name: "zero_from", Meaning: "of a zero: recorded by a row, or inferred because the component was looked for and no row names it", Words: []string{"recorded", "inferred"}},
				Column{Name: "missing_because", Meaning: "why it is missing"},
				Column{Name: "date", Type: Date, Meaning: "day of clipping"}, colTreatment, colBlock)},
		{Name: "occasion_means", Meaning: "mean dry weight per area of every site, growth year, season and component, with its interval", Key: []string{"site", "year", "season", "component"},
			rows: meanRows, Foreign: []Foreign{to("sites", "site")}, Columns: columns(colSite, colYear, colSeason, meanComponent, meanColumns())},
		{Name: "trends", Meaning: "trend of every site, season and component over the years, by each method that can be had; the verdict of a series is that of ols",
			Key: []string{"site", "season", "component", "method"}, rows: trendRows, Foreign: []Foreign{to("sites", "site")}, Columns: trendColumns()},
		{Name: "imports", Meaning: "the files and settings that the records came from", Key: []string{"import_id"}, rows: importRows, Columns: []Column{
			colImport.because("number of the import"),
			{Name: "at", Type: Moment, Meaning: "when it was made"},
			{Name: "kind", Meaning: "kind of file"},
			{Name: "file", Meaning: "name of the file"},
			{Name: "sha256", Meaning: "SHA-256 of the file"},
			{Name: "options", Meaning: "how it was read, in JSON"},
			{Name: "added", Type: Whole, Unit: "1", Meaning: "records that it added"},
			{Name: "changed", Type: Whole, Unit: "1", Meaning: "records that it changed"},
		}},
		{Name: "history", Meaning: "every value that an import changed, old and new", Key: []string{"change"}, rows: historyRows, Foreign: []Foreign{to("imports", "import_id")}, Columns: []Column{
			{Name: "change", Type: Whole, Meaning: "number in the order in which values changed"},
			colImport.because("number of the import that changed it"),
			{Name: "at", Type: Moment, Meaning: "when"},
			{Name: "record", Meaning: "kind of record"},
			{Name: "key", Meaning: "which record"},
			{Name: "column", Meaning: "which value"},
			{Name: "old", Meaning: "the old value; empty: it was missing"},
			{Name: "new", Meaning: "the new value; empty: it is missing"},
			{Name: "deleted", Type: YesNo, Meaning: "whether the record was deleted"},
		}},
	}
}

// lookedColumns say for each component what was looked for in a frame.
func lookedColumns() []Column {
	var out []Column
	for _, c := range schema.Components {
		out = append(out, Column{Name: "looked_for_" + snake(c.String()), Words: []string{"yes", "no", "unknown"}, Derived: true,
			Meaning: "whether " + c.String() + " was looked for: yes (not found is zero), no, or unknown (undeclared and outside its recorded years: missing)"})
	}
	return append(out, colImport, colLine)
}
