package intake

import (
	"strings"

	"clipledger/schema"
)

// bookRow is a row of a book-values file.
type bookRow struct {
	Table      string `csv:"table"`
	GrowthForm string `csv:"growth_form"`
	Species    string `csv:"species"`
	Stage      string `csv:"stage"`
	DMPct      string `csv:"dm_pct"`
	Basis      string `csv:"basis"`
	Source     string `csv:"source"`
}

// bookColumns are the columns of a book-values file.
var bookColumns = []string{"table", "growth_form", "species", "stage", "dm_pct", "basis", "source"}

// bookKind is the kind of file that BookValues reads.
func bookKind() *kind {
	return newKind(plain(bookColumns...), []string{"table"}, []string{"growth_form", "species"}, []string{"stage"}, []string{"dm_pct"})
}

// BookValues reads published dry-matter percentages. Growth forms and stages
// that no table has yet become known with them; a known one keeps its spelling.
func BookValues(f *File, o Options, v *schema.Vocabulary, emit func(schema.BookValue) error, problem func(schema.Problem)) (Summary, error) {
	return readSmall(&small[bookRow, schema.BookValue]{
		kind:  bookKind(),
		read:  readBookValue,
		same:  func(b *schema.BookValue) string { return joinKey(b.Table, b.GrowthForm, b.Species, b.Stage) },
		twice: "the value of this table, growth form or species, and stage",
		do:    "keep one of them",
	}, f, o, v, emit, problem)
}

// readBookValue reads one percentage.
func readBookValue(c *checker, row *bookRow) schema.BookValue {
	rec := schema.BookValue{
		Line:       c.line,
		Table:      c.needKey("table", row.Table, "write a short name for the table, the same in all its rows"),
		GrowthForm: c.newWord("growth_form", row.GrowthForm, c.known.growthForms),
		Species:    c.species("species", row.Species),
		Stage:      c.newWord("stage", row.Stage, c.known.stages),
		Basis:      c.basis("basis", row.Basis),
		Source:     c.note("source", row.Source),
	}
	switch {
	case row.GrowthForm == "" && row.Species == "":
		c.bad("", "", "the row has neither a growth form nor a species", "fill one of them")
	case row.GrowthForm != "" && row.Species != "":
		c.bad("", "", "the row has a growth form and a species", "a percentage is for one or the other: empty one of them")
	}
	if row.Stage == "" {
		c.bad("stage", "", "is missing", "write the stage of growth that the percentage is for")
	}
	if row.DMPct == "" {
		c.bad("dm_pct", "", "is missing", "write the dry weight in percent of the green weight, or remove the row")
	}
	rec.DMPct = c.percent("dm_pct", row.DMPct).Float64
	return rec
}

// newWord reads a word that a file may bring in: a known one in its known
// spelling, else lower case with hyphens between its parts.
func (c *checker) newWord(column, cell string, l *lexicon) string {
	if name, ok := l.find(cell); ok {
		return name
	}
	word := strings.ToLower(c.key(column, cell))
	return strings.Join(strings.FieldsFunc(word, func(r rune) bool { return r == ' ' || r == '_' }), "-")
}
