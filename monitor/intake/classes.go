package intake

import "clipledger/schema"

// classRow is a row of a classes file, by quantity.
type classRow struct {
	Scheme    string `csv:"scheme"`
	Component string `csv:"component"`
	Unit      string `csv:"unit"`
	Basis     string `csv:"basis"`
	Lower     string `csv:"lower"`
	Upper     string `csv:"upper"`
	Label     string `csv:"label"`
}

// classColumns are the columns of a classes file.
var classColumns = []string{"scheme", "component", "unit", "basis", "lower", "upper", "label"}

// production is the sum of the components that count for it, where it stands
// as a component.
const production = "production"

// classKind is the kind of file that Classes reads.
func classKind() *kind {
	return newKind(plain(classColumns...), []string{"scheme"}, []string{"component"}, []string{"unit"}, []string{"lower"}, []string{"upper"}, []string{"label"})
}

// Classes reads the classes of schemes, with bounds in g/m². Whether those of
// a scheme touch is for the ledger to see, which may hold some of them.
func Classes(f *File, o Options, v *schema.Vocabulary, emit func(schema.ClassBound) error, problem func(schema.Problem)) (Summary, error) {
	return readSmall(&small[classRow, schema.ClassBound]{
		kind:  classKind(),
		read:  readClass,
		same:  func(b *schema.ClassBound) string { return joinKey(b.Scheme, b.Component, b.LowerG) },
		twice: "the class that begins at this bound",
		do:    "keep one of them",
	}, f, o, v, emit, problem)
}

// readClass reads one class.
func readClass(c *checker, row *classRow) schema.ClassBound {
	rec := schema.ClassBound{
		Line: c.line, Scheme: c.needKey("scheme", row.Scheme, "write a short name for the scheme, the same in all its rows"),
		Component: c.classed("component", row.Component), Basis: c.basis("basis", row.Basis),
		Label: c.needKey("label", row.Label, "write what the class is called"),
	}
	factor, ok := c.classUnit("unit", row.Unit)
	if row.Lower == "" {
		c.bad("lower", "", "is missing", "write the bound, 0 for the lowest class")
	}
	if !ok {
		return rec
	}
	lower := c.number("lower", row.Lower, 0, mostDryGPerM2/factor, " "+row.Unit)
	upper := c.number("upper", row.Upper, 0, mostDryGPerM2/factor, " "+row.Unit)
	if lower.Valid && upper.Valid && upper.Float64 <= lower.Float64 {
		c.bad("upper", row.Upper, "is not above the lower bound, "+showNumber(lower.Float64), "correct one of them, or leave upper empty where the class has no end")
	}
	rec.LowerG = lower.Float64 * factor
	if upper.Valid {
		rec.UpperG = schema.Some(upper.Float64 * factor)
	}
	return rec
}

// classed reads what a scheme classes: a component, or production.
func (c *checker) classed(column, cell string) string {
	if fold(cell) == production {
		return production
	}
	if cell == "" {
		c.bad(column, "", "is missing", "write "+production+", or "+listWords(c.known.components.names, "or"))
		return ""
	}
	return c.word(column, cell, c.known.components, "component", "components", "or write "+production)
}

// classUnit reads the unit of bounds as its size in g/m².
func (c *checker) classUnit(column, cell string) (factor float64, ok bool) {
	if cell == "" {
		c.bad(column, "", "is missing", "write lb/ac, kg/ha or g/m2")
		return 0, false
	}
	text := spaced(cell)
	for _, w := range perAreaWords {
		for _, u := range perArea {
			if u.ending == w.ending && w.pattern.MatchString(text) {
				return u.factor, true
			}
		}
	}
	c.bad(column, cell, "is not a unit of weight per area that is read", "write lb/ac, kg/ha or g/m2")
	return 0, false
}
