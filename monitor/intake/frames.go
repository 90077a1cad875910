package intake

import "clipledger/schema"

// frameRow is a row of a frames file, by quantity.
type frameRow struct {
	Site              string `csv:"site"`
	Date              string `csv:"date"`
	Year              string `csv:"year"`
	Season            string `csv:"season"`
	Transect          string `csv:"transect"`
	Frame             string `csv:"frame"`
	Caged             string `csv:"caged"`
	CagedSince        string `csv:"caged_since"`
	FrameType         string `csv:"frame_type"`
	ComponentsSampled string `csv:"components_sampled"`
	Status            string `csv:"status"`
	Treatment         string `csv:"treatment"`
	Block             string `csv:"block"`
	Observer          string `csv:"observer"`
	EdgeRule          string `csv:"edge_rule"`
	ClipHeightCM      string `csv:"clip_height_cm"`
	UngrazedPct       string `csv:"ungrazed_pct"`
	Note              string `csv:"note"`
}

// frameKind is the kind of file that Frames reads.
func frameKind() *kind {
	return newKind(plain("site", "date", "year", "season", "transect", "frame", "caged", "caged_since", "frame_type", "components_sampled", "status",
		"treatment", "block", "observer", "edge_rule", "clip_height_cm", "ungrazed_pct", "note"),
		[]string{"site"}, []string{"date", "year"}, []string{"frame"})
}

// Frames reads frames without their bags: when, how and by whom each was
// clipped, and which of them held nothing at all. Their bags come with a
// clippings file.
func Frames(f *File, o Options, v *schema.Vocabulary, emit func(schema.Clipping) error, problem func(schema.Problem)) (Summary, error) {
	return readSmall(&small[frameRow, schema.Clipping]{
		kind: frameKind(),
		read: readFrame,
		same: func(c *schema.Clipping) string {
			return joinKey(c.Site, c.Year, c.Date, c.Season, c.Transect, c.Frame, c.Caged)
		},
		twice: "the same frame",
		do:    "keep one row for each frame",
	}, f, o, v, emit, problem)
}

// readFrame reads one frame.
func readFrame(c *checker, row *frameRow) schema.Clipping {
	rec := schema.Clipping{
		Line: c.line, Site: c.site("site", row.Site), Date: c.date("date", row.Date), Year: c.year("year", row.Year), Season: c.season("season", row.Season),
		Transect: c.transect("transect", row.Transect), Frame: c.frame("frame", row.Frame), Caged: c.yesNo("caged", row.Caged),
		CagedSince: c.date("caged_since", row.CagedSince), FrameType: c.frameType("frame_type", row.FrameType),
		ComponentsSampled: c.sampled("components_sampled", row.ComponentsSampled), Status: c.status("status", row.Status),
		Treatment: c.key("treatment", row.Treatment), Block: c.key("block", row.Block), Observer: c.key("observer", row.Observer),
		EdgeRule: c.edgeRule("edge_rule", row.EdgeRule), ClipHeightCM: c.clipHeightCM("clip_height_cm", row.ClipHeightCM),
		UngrazedPct: c.percent("ungrazed_pct", row.UngrazedPct), Note: c.note("note", row.Note),
	}
	if row.Date == "" && row.Year == "" {
		c.noDateNorYear()
	}
	c.dateAndYear(rec.Date, rec.Year)
	c.cagedFrom(&rec, row.CagedSince)
	if rec.Status != "" && rec.Status != schema.StatusEmpty {
		c.bad("status", row.Status, "is not a status of a whole frame", "write empty where nothing at all was found, else leave the cell empty")
	}
	return rec
}
