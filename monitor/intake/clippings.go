package intake

import (
	"fmt"
	"strings"

	"clipledger/schema"
)

// clippings reads a clippings file, long (a row a bag) or wide (a row a
// frame). Everything that a row can say has a field here.
type clippings struct {
	checker
	wide   bool
	groups []group                               // where weights stand: one for a long file
	own    [len(schema.Components) + 1]ownFields // of a wide file, by component

	site                            *field[siteOfRow]
	date, cagedSince                *field[date]
	year, framesInBag               *field[int]
	season, transect, frame, bag    *field[string]
	species, growthForm, stage      *field[string]
	frameType                       *field[string]
	basis, status, edgeRule         *field[string]
	treatment, block, observer      *field[string]
	caged                           *field[bool]
	component                       *field[schema.Component]
	dmPct, clipHeightCM, ungrazePct *field[schema.Num]
	sampled                         *field[uint8]
	note                            source

	// The row in hand: what its records share, and the records.
	base          schema.Clipping
	siteFrameType string
	out           []schema.Clipping
}

// siteOfRow is a site as a row names it, with what its rows fall back on.
type siteOfRow struct {
	code      string
	frameType string // canonical name, or ""
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
	c := &clippings{checker: newChecker(in, v)}
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
		in.summary.Records += len(c.out)
		for i := range c.out {
			if err := emit(c.out[i]); err != nil {
				return err
			}
		}
		return nil
	}, nil)
	return in.summary, err
}

// bindFields makes the fields from where the header says they are.
func (c *clippings) bindFields() {
	ck, at := &c.checker, c.binding.source
	c.site = newField(ck, at("site"), c.siteOfRow)
	c.date = newField(ck, at("date"), ck.date)
	c.cagedSince = newField(ck, at("caged_since"), ck.date)
	c.year = newField(ck, at("year"), ck.year)
	c.framesInBag = newField(ck, at("frames_in_bag"), ck.framesInBag)
	c.season = newField(ck, at("season"), ck.season)
	c.transect = newField(ck, at("transect"), ck.transect)
	c.frame = newField(ck, at("frame"), ck.frame)
	c.bag = newField(ck, at("bag"), ck.key)
	c.caged = newField(ck, at("caged"), ck.yesNo)
	c.component = newField(ck, at("component"), ck.component)
	c.sampled = newField(ck, at("components_sampled"), ck.sampled)
	c.species = newField(ck, at("species"), ck.species)
	c.growthForm = newField(ck, at("growth_form"), ck.growthForm)
	c.stage = newField(ck, at("stage"), ck.stage)
	c.frameType = newField(ck, at("frame_type"), ck.frameType)
	c.basis = newField(ck, at("basis"), ck.basis)
	c.status = newField(ck, at("status"), ck.status)
	c.edgeRule = newField(ck, at("edge_rule"), ck.edgeRule)
	c.treatment = newField(ck, at("treatment"), ck.key)
	c.block = newField(ck, at("block"), ck.key)
	c.observer = newField(ck, at("observer"), ck.key)
	c.dmPct = newField(ck, at("dm_pct"), ck.percent)
	c.ungrazePct = newField(ck, at("ungrazed_pct"), ck.percent)
	c.clipHeightCM = newField(ck, at("clip_height_cm"), ck.clipHeightCM)
	c.note = at("note")
}

// siteOfRow reads a site and looks up what its rows fall back on.
func (c *clippings) siteOfRow(column, cell string) siteOfRow {
	code := c.checker.site(column, cell)
	return siteOfRow{code, c.known.vocabulary.Sites[code].FrameType}
}

// tryConstants reads the constants that no field has read yet.
func (c *clippings) tryConstants() {
	for i := range c.groups {
		for part := range c.groups[i].weighing {
			if s := &c.groups[i].weighing[part]; s.index < 0 {
				c.weight(part, s, s.constant)
			}
		}
	}
	c.checker.note(c.note.name, c.note.constant)
}

// row reads one row into out.
func (c *clippings) row(cells []string) {
	c.out = c.out[:0]
	c.readBase(cells)
	if c.wide {
		c.wideRow(cells)
	} else {
		c.longRow(cells)
	}
}

// readBase reads what all records of a row share.
func (c *clippings) readBase(cells []string) {
	site, day := c.site.read(cells), c.date.read(cells)
	c.siteFrameType = site.frameType
	c.base = schema.Clipping{
		Line: c.line, Site: site.code, Date: day.iso, Year: c.year.read(cells), Season: c.season.read(cells),
		Transect: c.transect.read(cells), Frame: c.frame.read(cells),
		Caged: c.caged.read(cells), CagedSince: c.cagedSince.read(cells).iso,
		FrameType: c.frameType.read(cells), Species: c.species.read(cells), GrowthForm: c.growthForm.read(cells),
		Bag: c.bag.read(cells), FramesInBag: c.framesInBag.read(cells),
		DMPct: c.dmPct.read(cells), Basis: c.basis.read(cells), Stage: c.stage.read(cells),
		ComponentsSampled: c.sampled.read(cells), Treatment: c.treatment.read(cells), Block: c.block.read(cells),
		Observer: c.observer.read(cells), EdgeRule: c.edgeRule.read(cells),
		ClipHeightCM: c.clipHeightCM.read(cells), UngrazedPct: c.ungrazePct.read(cells),
	}
	if note := c.cell(&c.note, cells); note != "" {
		c.base.Note = strings.Clone(c.checker.note(c.note.name, note))
	}
	if day.iso == "" && c.base.Year == 0 && c.cell(&c.date.source, cells) == "" && c.cell(&c.year.source, cells) == "" {
		c.noDateNorYear()
	}
	c.dateAndYear(day, c.base.Year)
	c.cagedDates(cells)
}

// cagedDates checks that a cage was there before the clipping.
func (c *clippings) cagedDates(cells []string) {
	since := c.base.CagedSince
	switch {
	case since == "":
	case !c.base.Caged:
		c.bad("caged_since", c.cell(&c.cagedSince.source, cells), "is given for a frame that is not caged", "write yes under caged, or empty this cell")
	case c.base.Date != "" && since > c.base.Date:
		c.bad("caged_since", c.cell(&c.cagedSince.source, cells), "is after the day of clipping ("+c.base.Date+")", "correct the one that is wrong")
	}
}

// longRow makes the one record of a row that is a bag.
func (c *clippings) longRow(cells []string) {
	g := &c.groups[0]
	c.weighGroup(g, cells)
	rec := c.add(c.component.read(cells))
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
	if !rec.HasWeight() && rec.Status == "" {
		rec.Status = schema.StatusLost
	}
	c.setFrameType(rec, g, rec.FrameType, cells)
	c.wasSampled(rec, cells)
}

// add begins a record of the row.
func (c *clippings) add(comp schema.Component) *schema.Clipping {
	c.out = append(c.out, c.base)
	rec := &c.out[len(c.out)-1]
	rec.Component = comp
	return rec
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

// setFrameType says on which frame type a record stands: its own, else the
// site's. A weight in grams must have one, and a weight per area needs none.
func (c *clippings) setFrameType(rec *schema.Clipping, g *group, own string, cells []string) {
	rec.FrameType = own
	if own == "" && g.grams && !rec.PerM2 {
		rec.FrameType = c.siteFrameType
	}
	if rec.FrameType != "" || rec.PerM2 || !rec.HasWeight() || rec.Site == "" || c.cell(&c.frameType.source, cells) != "" {
		return
	}
	c.bad(c.frameType.name, "", fmt.Sprintf("is missing, and site %q has no frame type of its own; a weight in grams needs an area", rec.Site),
		`add a frame_type column, or say --set frame_type="9.6 ft2", or import the sites first with their frame_type`)
}

// wasSampled checks that a component with a record is one of those that the
// row says were looked for.
func (c *clippings) wasSampled(rec *schema.Clipping, cells []string) {
	if c.base.ComponentsSampled != 0 && rec.Component != schema.NoComponent && c.base.ComponentsSampled&rec.Component.Bit() == 0 {
		c.bad(c.sampled.name, c.cell(&c.sampled.source, cells), fmt.Sprintf("does not name %s, which the row has", rec.Component), "add it, or correct the component")
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
func (c *checker) percent(column, cell string) schema.Num { return c.positive(column, cell, 100, " %") }

// clipHeightCM reads the height above ground at which a frame was cut.
func (c *checker) clipHeightCM(column, cell string) schema.Num {
	return c.number(column, cell, 0, 200, " cm")
}
