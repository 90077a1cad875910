package intake

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"clipledger/schema"
)

// frameTypeRow is a row of a frame-types file, by quantity.
type frameTypeRow struct {
	FrameType     string `csv:"frame_type"`
	Area          string `csv:"area"`
	Diameter      string `csv:"diameter"`
	Circumference string `csv:"circumference"`
	Width         string `csv:"width"`
	Length        string `csv:"length"`
}

// sameAreaWithin is how far apart, relatively, the stated area of a frame and
// the one that its dimensions make may be.
const sameAreaWithin = 0.01

// frameTypeColumns are the columns of a frame-types file.
func frameTypeColumns() []column {
	columns := slices.Concat(plain("frame_type"), inUnits("area", "area", areaUnits))
	for _, q := range []string{"diameter", "circumference", "width", "length"} {
		columns = slices.Concat(columns, inUnits(q, q, lengthUnits))
	}
	return columns
}

// frameTypeKind is the kind of file that FrameTypes reads.
func frameTypeKind() *kind { return newKind(frameTypeColumns(), []string{"frame_type"}) }

// FrameTypes reads clipping frames: their names and the ground they cover, in
// m², from an area, from dimensions, or from an area in the name. Where two
// of these are given and are more than 1 % apart the frame is refused.
func FrameTypes(f *File, o Options, v *schema.Vocabulary, emit func(schema.FrameType) error, problem func(schema.Problem)) (Summary, error) {
	return readSmall(&small[frameTypeRow, schema.FrameType]{
		kind:  frameTypeKind(),
		read:  readFrameType,
		same:  func(t *schema.FrameType) string { return alike(t.Name) },
		twice: "the same frame type",
		do:    "keep one row for each",
	}, f, o, v, emit, problem)
}

// statedArea is one way in which a row says the area of a frame.
type statedArea struct {
	m2   float64
	how  string // "area_ft2 says", "width_in times length_in make"
	cell string
	name string // our column
}

// readFrameType reads one frame. A name that is an area ("9.6 ft2") means that
// area wherever it is written, so it is the one kept; else a stated area is,
// else the one that the dimensions make.
func readFrameType(c *checker, row *frameTypeRow) schema.FrameType {
	rec := schema.FrameType{Line: c.line, Name: c.needKey("frame_type", row.FrameType, "write a name, or an area such as 9.6 ft2")}
	before := len(c.problems)
	areas := c.statedAreas(row)
	if literal, m2, ok := areaInName(rec.Name); ok {
		stated := statedArea{m2, "the name says", row.FrameType, "frame_type"}
		if _, _, whole := ParseFrameType(rec.Name); whole {
			rec.Name = literal
			areas = slices.Insert(areas, 0, stated)
		} else {
			areas = append(areas, stated)
		}
	}
	if len(c.problems) > before || rec.Name == "" {
		return rec
	}
	if len(areas) == 0 {
		c.bad("frame_type", row.FrameType, "has no area", "fill area_m2 or area_ft2, diameter_in, circumference_in, or width_cm and length_cm (other units of length do too)")
		return rec
	}
	rec.AreaM2 = areas[0].m2
	for _, other := range areas[1:] {
		c.sameArea(areas[0], other)
	}
	return rec
}

// statedAreas computes every area that a row states, stated ones first.
func (c *checker) statedAreas(row *frameTypeRow) (areas []statedArea) {
	if m2, ok := c.length("area", row.Area, "area"); ok {
		areas = append(areas, statedArea{m2, c.name("area") + " says", row.Area, c.name("area")})
	}
	if d, ok := c.length("diameter", row.Diameter, "length"); ok {
		areas = append(areas, statedArea{math.Pi * d * d / 4, c.name("diameter") + " makes", row.Diameter, c.name("diameter")})
	}
	if l, ok := c.length("circumference", row.Circumference, "length"); ok {
		areas = append(areas, statedArea{l * l / (4 * math.Pi), c.name("circumference") + " makes", row.Circumference, c.name("circumference")})
	}
	w, isWidth := c.length("width", row.Width, "length")
	l, isLength := c.length("length", row.Length, "length")
	switch {
	case isWidth && isLength:
		how := c.name("width") + " times " + c.name("length") + " make"
		areas = append(areas, statedArea{w * l, how, row.Width, c.name("width")})
	case row.Width != "" && row.Length == "":
		c.otherSide("length", "width")
	case row.Length != "" && row.Width == "":
		c.otherSide("width", "length")
	}
	for _, a := range areas {
		if a.m2 < leastAreaM2 || a.m2 > mostAreaM2 {
			c.bad(a.name, a.cell, fmt.Sprintf("makes a frame of %s m², which nobody clips", showNumber(a.m2)), "check the digits and the unit")
		}
	}
	return areas
}

// otherSide tells that one side of a frame is given without the other.
func (c *checker) otherSide(missing, given string) {
	name := c.name(missing)
	if !c.binding.has(missing) {
		name = missing + strings.TrimPrefix(c.name(given), given)
	}
	c.bad(name, "", "is missing beside "+c.name(given), "fill it (a square has both sides alike)")
}

// length reads a length in m, or an area in m².
func (c *checker) length(quantity, cell, noun string) (v float64, ok bool) {
	s := c.binding.source(quantity)
	v, ok = c.anyNumber(s.name, cell)
	if ok && v <= 0 {
		c.bad(s.name, cell, "is not "+map[string]string{"area": "an area", "length": "a length"}[noun], "write a number above 0")
		return 0, false
	}
	return v * s.factor, ok
}

// sameArea checks that two areas of one frame agree.
func (c *checker) sameArea(a, b statedArea) {
	off := b.m2/a.m2 - 1
	if math.Abs(off) <= sameAreaWithin {
		return
	}
	direction := "more"
	if off < 0 {
		direction = "less"
	}
	c.bad(a.name, a.cell, fmt.Sprintf("%s %s, but %s %s, %.1f %% %s", a.how, showArea(a.m2), b.how, showArea(b.m2), 100*math.Abs(off), direction),
		"measure the frame again, and give the area that it has")
}

// showArea writes an area in both units.
func showArea(m2 float64) string {
	return fmt.Sprintf("%s m² (%s ft²)", showNumber(m2), showNumber(m2/m2PerFt2))
}
