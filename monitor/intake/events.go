package intake

import "clipledger/schema"

// eventRow is a row of an events file, by quantity.
type eventRow struct {
	Site    string `csv:"site"`
	Stratum string `csv:"stratum"`
	Start   string `csv:"start"`
	End     string `csv:"end"`
	Kind    string `csv:"kind"`
	Note    string `csv:"note"`
}

// eventColumns are the columns of an events file.
var eventColumns = []string{"site", "stratum", "start", "end", "kind", "note"}

// eventKind is the kind of file that Events reads.
func eventKind() *kind {
	return newKind(plain(eventColumns...), []string{"site", "stratum"}, []string{"start"}, []string{"kind"})
}

// Events reads what happened at a site or in a stratum: fire, spraying,
// grazing. An event without an end is one of a day, or of which nobody knows
// how long it went on.
func Events(f *File, o Options, v *schema.Vocabulary, emit func(schema.Event) error, problem func(schema.Problem)) (Summary, error) {
	return readSmall(&small[eventRow, schema.Event]{
		kind:  eventKind(),
		read:  readEvent,
		same:  func(e *schema.Event) string { return joinKey(e.Site, e.Stratum, e.Start, e.Kind) },
		twice: "an event of this kind with this start, at the same place,",
		do:    "keep one of them",
	}, f, o, v, emit, problem)
}

// readEvent reads one event.
func readEvent(c *checker, row *eventRow) schema.Event {
	rec := schema.Event{
		Line: c.line, Stratum: c.key("stratum", row.Stratum), Start: c.date("start", row.Start), End: c.date("end", row.End),
		Kind: c.needKey("kind", row.Kind, "write what happened: fire, spraying, grazing"), Note: c.note("note", row.Note),
	}
	switch {
	case row.Site == "" && row.Stratum == "":
		c.bad("", "", "the row has neither a site nor a stratum", "fill one of them")
	case row.Site != "" && row.Stratum != "":
		c.bad("", "", "the row has a site and a stratum", "an event is of one or the other: empty one of them")
	case row.Site != "":
		rec.Site = c.site("site", row.Site)
	}
	if row.Start == "" {
		c.bad("start", "", "is missing", "write the day on which it began")
	}
	if rec.Start != "" && rec.End != "" && rec.End < rec.Start {
		c.bad("end", row.End, "is before the start, "+rec.Start, "correct the one that is wrong")
	}
	return rec
}
