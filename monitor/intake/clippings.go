package intake

import (
	"fmt"
	"strings"

	"clipledger/schema"
)

// clippings reads a clippings file, long (a row a bag) or wide (a row a
// frame).
type clippings struct {
	checker
	wide   bool
	groups []group                               // where weights stand: one for a long file
	own    [len(schema.Components) + 1]ownFields // of a wide file, by component

	// What every record of a row has: the constants and defaults, and how the
	// columns that the file has are read into it.
	constant schema.Clipping
	columns  []func(rec *schema.Clipping, cells []string)

	// Columns that rules go by, beside filling the record.
	site                            *field[siteOfRow]
	component                       *field[schema.Component]
	status                          *field[string]
	dateAt, yearAt, frameTypeAt     source
	sampledAt, cagedSinceAt, noteAt source
	traceAt                         source
	perM2                           *field[bool]

	// The row in hand: what its records share, and the records.
	unfilled     unfilledRows
	base         *schema.Clipping
	shared       schema.Clipping // base of a wide row; of a long one it is out[0]
	siteDefaults *schema.SiteDefaults
	out          []schema.Clipping
}

// siteOfRow is a site as a row names it, with what its rows fall back on.
type siteOfRow struct {
	code     string
	defaults *schema.SiteDefaults
}

// Clippings reads clippings. Every record that is in order goes to emit, in
// the order of the file; every problem goes to problem. An error of emit ends
// the reading and is returned. Weights leave net, in grams or, with PerM2, in
// g/m²; a record with grams always names its frame type.
func Clippings(f *File, o Options, v *schema.Vocabulary, emit func(schema.Clipping) error, problem func(schema.Problem)) (Summary, error) {
	in, err := openInput(f, clippingKind(), &o, problem)
	if err != nil {
		return in.summary, err
	}
	c := &clippings{checker: newChecker(in, v), out: make([]schema.Clipping, 1), unfilled: unfilledRows{leaveOut: o.Unfilled == UnfilledLeftOut}}
	c.bindFields()
	c.bindGroups()
	c.tryConstants()
	if err := c.constantFault(); err != nil {
		return in.summary, err
	}
	in.summary.Wide = c.wide
	err = in.each(func(cells []string, line int) error {
		c.start(line)
		c.row(cells)
		if len(c.problems) > 0 {
			in.refuse(c.problems...)
			return nil
		}
		if c.unfilled.here && c.unfilled.count(line, c.written(cells)) {
			in.summary.LeftOut++
			return nil
		}
		in.summary.Records += len(c.out)
		for i := range c.out {
			if err := emit(c.out[i]); err != nil {
				return err
			}
		}
		return nil
	}, nil)
	line := "line"
	if in.table.sheet != nil {
		line = "row"
	}
	c.unfilled.tell(&in.summary, line)
	return in.summary, err
}

// bindFields makes the fields from where the header says they are.
func (c *clippings) bindFields() {
	type rec = schema.Clipping
	type num = schema.Num
	ck, at := &c.checker, c.binding.source
	c.site = newField(ck, at("site"), c.siteOfRow)
	c.component = newField(ck, at("component"), ck.component)
	c.status = newField(ck, at("status"), ck.status)
	c.perM2 = newField(ck, at("per_m2"), ck.yesNo)
	c.dateAt, c.yearAt, c.frameTypeAt = at("date"), at("year"), at("frame_type")
	c.sampledAt, c.cagedSinceAt, c.noteAt, c.traceAt = at("components_sampled"), at("caged_since"), at("note"), at("trace")

	bind(c, "date", ck.date, func(r *rec, v string) { r.Date = v })
	bind(c, "year", ck.year, func(r *rec, v int) { r.Year = v })
	bind(c, "season", ck.season, func(r *rec, v string) { r.Season = v })
	bind(c, "transect", ck.transect, func(r *rec, v string) { r.Transect = v })
	bind(c, "frame", ck.frame, func(r *rec, v string) { r.Frame = v })
	bind(c, "caged", ck.yesNo, func(r *rec, v bool) { r.Caged = v })
	bind(c, "caged_since", ck.date, func(r *rec, v string) { r.CagedSince = v })
	bind(c, "frame_type", ck.frameType, func(r *rec, v string) { r.FrameType = v })
	bind(c, "species", ck.species, func(r *rec, v string) { r.Species = v })
	bind(c, "growth_form", ck.growthForm, func(r *rec, v string) { r.GrowthForm = v })
	bind(c, "bag", ck.key, func(r *rec, v string) { r.Bag = v })
	bind(c, "frames_in_bag", ck.framesInBag, func(r *rec, v int) { r.FramesInBag = v })
	bind(c, "dm_pct", ck.percent, func(r *rec, v num) { r.DMPct = v })
	bind(c, "basis", ck.basis, func(r *rec, v string) { r.Basis = v })
	bind(c, "stage", ck.stage, func(r *rec, v string) { r.Stage = v })
	bind(c, "components_sampled", ck.sampled, func(r *rec, v uint8) { r.ComponentsSampled = v })
	bind(c, "treatment", ck.key, func(r *rec, v string) { r.Treatment = v })
	bind(c, "block", ck.key, func(r *rec, v string) { r.Block = v })
	bind(c, "observer", ck.key, func(r *rec, v string) { r.Observer = v })
	bind(c, "edge_rule", ck.edgeRule, func(r *rec, v string) { r.EdgeRule = v })
	bind(c, "clip_height_cm", ck.clipHeightCM, func(r *rec, v num) { r.ClipHeightCM = v })
	bind(c, "ungrazed_pct", ck.percent, func(r *rec, v num) { r.UngrazedPct = v })
	if c.noteAt.index < 0 {
		c.constant.Note = ck.note(c.noteAt.name, c.noteAt.constant)
	}
}

// bind makes the field of one quantity and has set put what it reads into
// the record: once for a constant or a default, else for every row.
func bind[T any](c *clippings, quantity string, read func(column, cell string) T, set func(*schema.Clipping, T)) {
	f := newField(&c.checker, c.binding.source(quantity), read)
	if f.index < 0 {
		set(&c.constant, f.fixed)
		return
	}
	c.columns = append(c.columns, func(rec *schema.Clipping, cells []string) { set(rec, f.read(cells)) })
}

// siteOfRow reads a site and looks up what its rows fall back on.
func (c *clippings) siteOfRow(column, cell string) siteOfRow {
	code := c.checker.site(column, cell)
	d := c.known.vocabulary.Sites[code]
	return siteOfRow{code, &d}
}

// tryConstants reads the weights that are constants: no field has read them.
func (c *clippings) tryConstants() {
	for i := range c.groups {
		for part := range c.groups[i].weighing {
			if s := &c.groups[i].weighing[part]; s.index < 0 {
				c.weight(part, s, s.constant)
			}
		}
	}
}

// row reads one row into out.
func (c *clippings) row(cells []string) {
	if c.wide {
		c.out, c.base = c.out[:0], &c.shared
		c.readBase(cells)
		c.wideRow(cells)
		return
	}
	c.out = c.out[:1]
	c.base = &c.out[0]
	c.readBase(cells)
	c.longRow(cells)
}

// readBase reads what all records of a row share.
func (c *clippings) readBase(cells []string) {
	site, rec := c.site.read(cells), c.base
	*rec = c.constant
	rec.Line, rec.Site, c.siteDefaults = c.line, site.code, site.defaults
	for _, read := range c.columns {
		read(rec, cells)
	}
	// Notes are long and seldom repeat: kept as copies, so as not to hold the row.
	if c.noteAt.index >= 0 {
		if note := c.cell(&c.noteAt, cells); note != "" {
			rec.Note = strings.Clone(c.note(c.noteAt.name, note))
		}
	}
	if rec.Date == "" && rec.Year == 0 && c.cell(&c.dateAt, cells) == "" && c.cell(&c.yearAt, cells) == "" {
		c.noDateNorYear()
	}
	c.dateAndYear(rec.Date, rec.Year)
	c.cagedDates(cells)
}

// cagedDates checks that a cage was there before the clipping.
func (c *clippings) cagedDates(cells []string) {
	if c.base.CagedSince != "" {
		c.cagedFrom(c.base, c.cell(&c.cagedSinceAt, cells))
	}
}

// cagedFrom checks the day from which a frame was caged.
func (c *checker) cagedFrom(rec *schema.Clipping, cell string) {
	switch {
	case rec.CagedSince == "":
	case !rec.Caged:
		c.bad("caged_since", cell, "is given for a frame that is not caged", "write yes under caged, or empty this cell")
	case rec.Date != "" && rec.CagedSince > rec.Date:
		c.bad("caged_since", cell, "is after the day of clipping ("+rec.Date+")", "correct the one that is wrong")
	}
}

// longRow makes the one record of a row that is a bag.
func (c *clippings) longRow(cells []string) {
	g := &c.groups[0]
	c.weighGroup(g, cells)
	rec := c.base
	rec.Component = c.component.read(cells)
	rec.Status = c.status.read(cells)
	if rec.Component == schema.NoComponent && rec.Status != schema.StatusEmpty && c.cell(&c.component.source, cells) == "" {
		c.bad(c.component.name, "", "is missing", "write "+listWords(c.known.components.names, "or")+" (it may be empty only with the status empty)")
	}
	if g.got.lost {
		c.lostCell(rec.Status)
		rec.Status = schema.StatusLost
	}
	if rec.Status == schema.StatusEmpty {
		c.emptyWeighsNothing(g)
	}
	if rec.Component != schema.NoComponent {
		c.setWeights(rec, g)
	}
	c.unfilled.here = !rec.HasWeight() && rec.Status == ""
	switch {
	case rec.Status == statusBlank:
		c.blankCell(rec, g)
	case c.unfilled.here:
		rec.Status = schema.StatusLost
	}
	c.formOfWeight(rec, g, cells)
	c.setFrameType(rec, g, rec.FrameType)
	c.wasSampled(rec, cells)
}

// formOfWeight reads whether a bag without a weight is one of those that come
// as weights per area; of a weight its column says it.
func (c *clippings) formOfWeight(rec *schema.Clipping, g *group, cells []string) {
	switch perM2 := c.perM2.read(cells); {
	case !rec.HasWeight():
		rec.PerM2 = perM2
	case c.perM2.index >= 0 && c.cell(&c.perM2.source, cells) != "" && perM2 != rec.PerM2:
		c.bad("per_m2", c.cell(&c.perM2.source, cells), "does not go with the column of the weight ("+g.weighing.names(&g.cells, 0, weighingCells-1)+")", "correct the one that is wrong")
	}
}

// setWeights gives a record the weights of its group.
func (c *clippings) setWeights(rec *schema.Clipping, g *group) {
	rec.GreenG, rec.DryG, rec.Trace, rec.PerM2 = g.got.green, g.got.dry, g.got.trace, g.got.perM2
}

// lostCell checks that a weight that says lost does not meet a status that
// says otherwise.
func (c *clippings) lostCell(status string) {
	if status == schema.StatusEmpty {
		c.bad(c.status.name, status, "a weight of the row says lost", "write the status empty only where nothing was found")
	}
}

// emptyWeighsNothing checks that an empty frame has no weight above zero.
func (c *clippings) emptyWeighsNothing(g *group) {
	if g.got.green.Float64 > 0 || g.got.dry.Float64 > 0 || g.got.trace != 0 {
		c.bad(c.status.name, schema.StatusEmpty, "the row has a weight ("+g.weighing.names(&g.cells, 0, weighingCells-1)+")",
			"empty means that nothing was found: remove the weight or the status")
	}
}

// blankCell makes the record of a bag whose cell was left blank in a row that
// was a frame.
func (c *clippings) blankCell(rec *schema.Clipping, g *group) {
	if g.got.any() {
		c.bad(c.status.name, statusBlank, "the row has a weight ("+g.weighing.names(&g.cells, 0, weighingCells-1)+")",
			"blank means that no weight was written: remove the weight or the status")
	}
	rec.Status, rec.MissingCell = "", true
}

// setFrameType says on which frame type a record stands: its own, and else
// what its site declares, which counts only for frames that are new. Whether a
// weight in grams has an area in the end, the ledger says.
func (c *clippings) setFrameType(rec *schema.Clipping, g *group, own string) {
	rec.FrameType = own
	if own == "" && g.grams && !rec.PerM2 && c.siteDefaults != nil {
		rec.FrameTypeElse = c.siteDefaults.FrameTypeFor(rec.Component, rec.Season)
	}
}

// wasSampled checks that a component with a record is one of those that the
// row says were looked for.
func (c *clippings) wasSampled(rec *schema.Clipping, cells []string) {
	if c.base.ComponentsSampled != 0 && rec.Component != schema.NoComponent && c.base.ComponentsSampled&rec.Component.Bit() == 0 {
		c.bad(c.sampledAt.name, c.cell(&c.sampledAt, cells), fmt.Sprintf("does not name %s, which the row has", rec.Component), "add it, or correct the component")
	}
}

// The readers of cells that only clippings have.

// transect reads a transect; rows that name none are of transect 1.
func (c *checker) transect(column, cell string) string {
	if cell == "" {
		return "1"
	}
	return c.key(column, cell)
}

// frame reads the label of a frame.
func (c *checker) frame(column, cell string) string {
	return c.needKey(column, cell, "write the number or label of the frame")
}

// framesInBag reads how many frames went into a composite bag.
func (c *checker) framesInBag(column, cell string) int { return c.whole(column, cell, 1, 1000) }

// percent reads a percentage above 0.
func (c *checker) percent(column, cell string) schema.Num {
	n := c.positive(column, cell, 100, " %")
	if n.Valid && n.Float64 <= 1 {
		c.bad(column, cell, "looks like a fraction", "write it in percent: 45, not 0.45")
		return schema.Num{}
	}
	return n
}

// clipHeightCM reads the height above ground at which a frame was cut.
func (c *checker) clipHeightCM(column, cell string) schema.Num {
	return c.number(column, cell, 0, 200, " cm")
}
