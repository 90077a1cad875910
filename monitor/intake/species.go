package intake

import "clipledger/schema"

// speciesRow is a row of a species file.
type speciesRow struct {
	Species    string `csv:"species"`
	Name       string `csv:"name"`
	GrowthForm string `csv:"growth_form"`
	Component  string `csv:"component"`
}

// speciesColumns are the columns of a species file.
var speciesColumns = []string{"species", "name", "growth_form", "component"}

// speciesKind is the kind of file that Species reads.
func speciesKind() *kind { return newKind(plain(speciesColumns...), []string{"species"}) }

// Species reads the names behind plant codes.
func Species(f *File, o Options, v *schema.Vocabulary, emit func(schema.Species) error, problem func(schema.Problem)) (Summary, error) {
	return readSmall(&small[speciesRow, schema.Species]{
		kind: speciesKind(),
		read: func(c *checker, row *speciesRow) schema.Species {
			return schema.Species{
				Line:       c.line,
				Code:       c.sameAsKnown("species", c.needKey("species", row.Species, "write the code that the clippings use"), c.known.species),
				Name:       c.key("name", row.Name),
				GrowthForm: c.growthForm("growth_form", row.GrowthForm),
				Component:  c.component("component", row.Component),
			}
		},
		same:  func(s *schema.Species) string { return s.Code },
		twice: "the same species",
		do:    "keep one row for each",
	}, f, o, v, emit, problem)
}
