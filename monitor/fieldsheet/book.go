package fieldsheet

import (
	"fmt"
	"strconv"

	"clipledger/monitor"
	"clipledger/schema"
)

// Book is a set of sheets that go into one file.
type Book struct {
	LedgerName string
	Basis      string   // of dry weights
	Estimates  bool     // for eye estimates: no weights whatever
	LastYear   bool     // last time's weights beside; never with Estimates
	Observer   string   // who will clip or estimate, where that is known
	Scale      Scale    // in which bags are weighed, or weights estimated
	Stages     []string // of growth, to choose from
	Sheets     []monitor.FieldSheet
}

// Scale is the unit that a sheet's weights are written in.
type Scale struct {
	Name  string  // as columns end: g, oz, lb, kg
	Grams float64 // of one
}

// Scales are the units that bags are weighed in. An ounce is 28.349523125 g
// and a pound 453.59237 g, both by definition.
var Scales = []Scale{{"g", 1}, {"oz", 28.349523125}, {"lb", 453.59237}, {"kg", 1000}}

// ScaleNamed finds a scale.
func ScaleNamed(name string) (Scale, error) {
	for _, s := range Scales {
		if s.Name == name {
			return s, nil
		}
	}
	return Scale{}, fmt.Errorf("there is no unit %q of a scale; use g, oz, lb or kg", name)
}

// column is one column of a CSV file or workbook.
type column struct {
	name  string
	width float64 // in characters, of a workbook
	fill  bool    // left blank, to be filled
	help  string  // what to write
	value func(*monitor.FieldSheet, *monitor.FieldLine) string
}

// prefilled makes a column whose cells are known.
func prefilled(name string, width float64, help string, value func(*monitor.FieldSheet, *monitor.FieldLine) string) column {
	return column{name: name, width: width, help: help, value: value}
}

// blank makes a column to fill.
func blank(name string, width float64, help string) column {
	return column{name: name, width: width, fill: true, help: help, value: func(*monitor.FieldSheet, *monitor.FieldLine) string { return "" }}
}

// columns are the columns of a book, in order.
func (b *Book) columns() []column {
	type sheet = monitor.FieldSheet
	type line = monitor.FieldLine
	out := []column{
		prefilled("site", 12, "The site's code. Leave as it is.", func(s *sheet, _ *line) string { return s.Site.Site }),
		prefilled("year", 7, "The growth year this clipping counts for.", func(s *sheet, _ *line) string { return strconv.Itoa(s.Year) }),
		prefilled("season", 9, "Only like seasons are compared.", func(s *sheet, _ *line) string { return s.Season }),
		prefilled("transect", 9, "", func(_ *sheet, l *line) string { return l.Transect }),
		prefilled("frame", 8, "The frame's label. A line added for a frame repeats it.", func(_ *sheet, l *line) string { return l.Frame }),
	}
	for _, c := range b.sometimes() {
		if b.any(c.value) {
			out = append(out, c)
		}
	}
	out = append(out,
		prefilled("frame_type", 11, "The frame that was used. Correct it if it was another.", func(_ *sheet, l *line) string { return l.FrameType }),
		prefilled("component", 14, "herbaceous: grass and forbs of this year; browse: leaves and twigs of this year on shrubs.", func(_ *sheet, l *line) string { return l.Component.String() }),
		prefilled("species", 11, "Only where species are kept apart.", func(_ *sheet, l *line) string { return l.Species }))
	if b.Estimates {
		return append(out, b.estimateColumns()...)
	}
	return append(out, b.clippingColumns()...)
}

// observer is the column of who did it: filled where that is known.
func (b *Book) observer(help string) column {
	if b.Observer == "" {
		return blank("observer", 11, help)
	}
	return prefilled("observer", 11, help, func(*monitor.FieldSheet, *monitor.FieldLine) string { return b.Observer })
}

// sometimes are columns that only some sites have.
func (b *Book) sometimes() []column {
	type sheet = monitor.FieldSheet
	type line = monitor.FieldLine
	out := []column{
		prefilled("caged", 7, "yes for a caged frame.", func(_ *sheet, l *line) string {
			if l.Caged {
				return "yes"
			}
			return ""
		}),
	}
	if b.Estimates {
		return out
	}
	return append(out,
		prefilled("treatment", 11, "", func(_ *sheet, l *line) string { return l.Treatment }),
		prefilled("block", 8, "", func(_ *sheet, l *line) string { return l.Block }),
		prefilled("frames_in_bag", 13, "How many frames went into this one bag.", func(_ *sheet, l *line) string {
			if l.FramesInBag > 1 {
				return strconv.Itoa(l.FramesInBag)
			}
			return ""
		}))
}

// any tells whether a column has anything in any line.
func (b *Book) any(value func(*monitor.FieldSheet, *monitor.FieldLine) string) bool {
	for i := range b.Sheets {
		for j := range b.Sheets[i].Lines {
			if value(&b.Sheets[i], &b.Sheets[i].Lines[j]) != "" {
				return true
			}
		}
	}
	return false
}

func (b *Book) clippingColumns() []column {
	unit := b.Scale.Name
	out := []column{
		blank("bag", 9, "A label, only where one line needs two bags: copy the line for the second."),
		blank("tare_"+unit, 9, "The empty bag."),
		blank("green_gross_"+unit, 14, "As clipped, with the bag. Needs the tare."),
		blank("green_"+unit, 9, "As clipped, without the bag. Give this, or gross and tare. 0 or T (trace) can stand here."),
		blank("dry_"+unit, 9, "Dried, without the bag; can follow later in a file of its own."),
		blank("stage", 13, "Stage of growth, for book values."),
		blank("status", 9, "empty: looked for, nothing found (weighs 0). lost: clipped, and the bag is gone (missing). Blank for a bag that was weighed."),
		blank("components_sampled", 19, "What was looked for in this frame, such as herbaceous;browse. Blank: what the site declares."),
		b.observer("Who clipped."),
		blank("date", 11, "The day of clipping: 2025-06-30."),
	}
	if b.any(func(_ *monitor.FieldSheet, l *monitor.FieldLine) string { return map[bool]string{true: "yes"}[l.Caged] }) {
		out = append(out, blank("caged_since", 12, "The day this year's cage was set up."))
	}
	out = append(out,
		blank("edge_rule", 11, "rooted: plants rooted in the frame. vertical: everything above it."),
		blank("clip_height_cm", 14, "Height above ground at which it was cut."),
		blank("note", 24, ""))
	return append(out, b.lastColumns()...)
}

// lastColumns show what was recorded last time. Import leaves them alone.
func (b *Book) lastColumns() []column {
	type sheet = monitor.FieldSheet
	type line = monitor.FieldLine
	const not = "Last time's, to look at. Import leaves it alone."
	out := []column{
		prefilled("last_time_edge_rule", 18, not, func(_ *sheet, l *line) string { return l.LastEdgeRule }),
		prefilled("last_time_clip_height_cm", 22, not, func(_ *sheet, l *line) string { return number(l.LastHeightCM) }),
	}
	if b.LastYear {
		out = append(out,
			prefilled("last_time_year", 14, not, func(_ *sheet, l *line) string {
				if l.LastYear == 0 {
					return ""
				}
				return strconv.Itoa(l.LastYear)
			}),
			prefilled("last_time_green_"+b.Scale.Name, 17, not, func(_ *sheet, l *line) string { return b.weight(l.LastGreenG) }),
			prefilled("last_time_dry_"+b.Scale.Name, 17, not, func(_ *sheet, l *line) string { return b.weight(l.LastDryG) }))
	}
	return out
}

func (b *Book) estimateColumns() []column {
	return []column{
		blank("estimate_green_"+b.Scale.Name, 18, "What you think this weighs as it stands, before anything is clipped. 0 where there is none."),
		b.observer("Who estimated. Each observer fills a sheet alone, without hearing the others."),
		blank("date", 11, "The day: 2025-06-30."),
	}
}

// number writes a number as it is; "" where it is missing.
func number(n schema.Num) string {
	if !n.Valid {
		return ""
	}
	return strconv.FormatFloat(n.Float64, 'f', -1, 64)
}

// weight writes grams in the unit of the scale, to four digits.
func (b *Book) weight(n schema.Num) string {
	if !n.Valid {
		return ""
	}
	v, _ := strconv.ParseFloat(strconv.FormatFloat(n.Float64/b.Scale.Grams, 'g', 4, 64), 64)
	return strconv.FormatFloat(v, 'f', -1, 64)
}

// neutral puts an apostrophe before a text that a spreadsheet would take for a
// formula; import takes off exactly one.
func neutral(s string) string {
	if s != "" && (s[0] == '=' || s[0] == '+' || s[0] == '-' || s[0] == '@') {
		return "'" + s
	}
	return s
}
