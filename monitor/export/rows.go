package export

import (
	"fmt"
	"slices"
	"strings"

	"clipledger/schema"
)

// readSmall reads a table whose rows package schema gives in words.
func readSmall(name string) func(*source, part, func([]Cell) error) error {
	return func(src *source, _ part, emit func([]Cell) error) error {
		t := tableNamed(name)
		row := make([]Cell, len(t.Columns))
		return src.snap.TableRows(name, func(names []string) error {
			for i, c := range t.Columns {
				if i >= len(names) || names[i] != c.Name {
					return fmt.Errorf("the table %s has the columns %s", name, strings.Join(names, ","))
				}
			}
			return nil
		}, func(values []any) error {
			for i := range row {
				row[i] = src.cell(&t.Columns[i], values[i])
			}
			return emit(row)
		})
	}
}

// cell makes a cell of a value that was read.
func (src *source) cell(c *Column, v any) Cell {
	if v == nil || src.withheld(c) {
		return Cell{}
	}
	switch v := v.(type) {
	case string:
		if c.private == observerName {
			v = src.pseudonym(v)
		}
		return text(v)
	case float64:
		return Cell{Number: v, Has: true}
	case int64:
		if c.private == observerName {
			return text(src.observer(v))
		}
		return whole(v)
	}
	panic(fmt.Sprintf("export: column %s holds a %T", c.Name, v))
}

// nowhere takes rows that nobody asked for.
func nowhere([]Cell) error { return nil }

// frameRows are the frames, with or without bags.
func frameRows(src *source, p part, emit func([]Cell) error) error {
	return frameTables(src, p, emit, nowhere, nowhere)
}

// bagRows are the bags.
func bagRows(src *source, p part, emit func([]Cell) error) error {
	return frameTables(src, p, nowhere, emit, nowhere)
}

// productionRows are the weights per area of frames, zeros included.
func productionRows(src *source, p part, emit func([]Cell) error) error {
	return frameTables(src, p, nowhere, nowhere, emit)
}

// frameTables reads the frames of a part once, for all three tables that are
// made of them: frames, bags and frame_production.
func frameTables(src *source, p part, frame, bag, production func([]Cell) error) error {
	var row []Cell
	of := productionTable{src: src, emit: production}
	err := src.frames(p, func(at *place, f *schema.FrameRecord) error {
		row = src.frameRow(row[:0], at, f)
		if err := frame(row); err != nil {
			return err
		}
		for i := range f.Bags {
			row = src.bagRow(row[:0], at, f, &f.Bags[i])
			if err := bag(row); err != nil {
				return err
			}
		}
		return of.frame(at, f)
	})
	if err != nil {
		return err
	}
	return of.end()
}

// frameRow is one row of the table frames.
func (src *source) frameRow(row []Cell, at *place, f *schema.FrameRecord) []Cell {
	row = append(row, text(at.site), whole(int64(at.year)), text(at.season), text(f.Transect), text(f.Frame), yesNo(f.Caged), text(f.CagedSince),
		text(f.Date), text(f.FrameType), text(maskWords(f.Sampled)), text(frameStatus(f)), text(f.Treatment), text(f.Block), text(src.observer(f.Observer)),
		text(f.EdgeRule), number(f.HeightCM), number(f.Ungrazed), text(f.Note), text(yearFrom(f)), number(f.AreaM2))
	for _, c := range schema.Components {
		row = append(row, text(lookedFor(f, c)))
	}
	return append(row, whole(f.Import), whole(f.Line))
}

// bagRow is one row of the table bags.
func (src *source) bagRow(row []Cell, at *place, f *schema.FrameRecord, b *schema.FrameBag) []Cell {
	row = append(row, text(at.site), whole(int64(at.year)), text(at.season), text(f.Transect), text(f.Frame), yesNo(f.Caged),
		text(b.Component.String()), text(b.Species), text(b.Bag), text(b.Date), text(b.FrameType), above0(b.FramesInBag), text(b.GrowthForm), text(b.Stage))
	green, dry := number(b.GreenG), number(b.DryG)
	if b.PerM2 {
		row = append(row, Cell{}, Cell{}, green, dry)
	} else {
		row = append(row, green, dry, Cell{}, Cell{})
	}
	return append(row, text(traceWords(b)), number(b.DMPct), text(b.Basis), text(bagStatus(b)), text(src.observer(b.Observer)),
		text(b.EdgeRule), number(b.HeightCM), number(b.Ungrazed), text(b.Note), yesNo(b.PerM2), number(b.GroundM2), number(b.UsedDryG), text(b.Method),
		whole(b.Import), whole(b.Line))
}

func frameStatus(f *schema.FrameRecord) string {
	if f.Empty {
		return schema.StatusEmpty
	}
	return ""
}

func yearFrom(f *schema.FrameRecord) string {
	if f.YearGiven || f.Date == "" {
		return "row"
	}
	return "date"
}

func lookedFor(f *schema.FrameRecord, c schema.Component) string {
	switch {
	case f.LookedFor&c.Bit() != 0:
		return "yes"
	case f.Outside&c.Bit() != 0:
		return "unknown"
	}
	return "no"
}

// statusBlank is the status of a bag whose cell was left blank in a row that
// is a frame: neither weighed nor lost, and no zero.
const statusBlank = "blank"

func bagStatus(b *schema.FrameBag) string {
	if b.Blank {
		return statusBlank
	}
	return b.Status
}

// traceWords name the columns whose weight was written T: too little to weigh.
func traceWords(b *schema.FrameBag) string {
	if b.Trace == 0 {
		return ""
	}
	ending := "_g"
	if b.PerM2 {
		ending = "_g_m2"
	}
	var words []string
	if b.Trace&schema.TraceGreen != 0 {
		words = append(words, "green"+ending)
	}
	if b.Trace&schema.TraceDry != 0 {
		words = append(words, "dry"+ending)
	}
	return strings.Join(words, ";")
}

// settingRows are the settings in force, those that nobody made included.
func settingRows(src *source, _ part, emit func([]Cell) error) error {
	for _, s := range schema.Settings {
		from := "default"
		if src.set[s.Name] {
			from = "set"
		}
		if err := emit([]Cell{text(s.Name), text(src.values[s.Name]), text(from), text(s.Meaning)}); err != nil {
			return err
		}
	}
	return nil
}

// importRows are the files and settings that the records came from.
func importRows(src *source, _ part, emit func([]Cell) error) error {
	imports, err := src.snap.Imports()
	if err != nil {
		return err
	}
	for _, r := range imports {
		options, err := src.openOptions(r.Options)
		if err != nil {
			return err
		}
		err = emit([]Cell{whole(r.ID), text(r.At), text(r.Kind), text(r.File), text(r.SHA256), text(options), whole(int64(r.Added)), whole(int64(r.Changed))})
		if err != nil {
			return err
		}
	}
	return nil
}

// historyRows are the values that imports changed.
func historyRows(src *source, _ part, emit func([]Cell) error) error {
	n := int64(0)
	return src.snap.Changes(func(c *schema.ChangeRecord) error {
		n++
		key, old, now := c.Key, c.Old, c.New
		switch {
		case slices.Contains([]string{"latitude", "longitude"}, c.Column) && !src.options.Coordinates:
			old, now = withheldWord(old), withheldWord(now)
		case c.Column == "observer" || c.Column == "double_sampling":
			old, now = src.pseudonym(old), src.pseudonym(now)
		}
		if c.Record == "estimate" {
			key = src.withoutName(key)
		}
		return emit([]Cell{whole(n), whole(c.ImportID), text(c.At), text(c.Record), text(key), text(c.Column), text(old), text(now), yesNo(c.Deleted)})
	})
}
