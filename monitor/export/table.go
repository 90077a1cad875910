package export

import (
	"maps"
	"slices"
	"strings"

	"clipledger/schema"
)

// Type is what the cells of a column hold.
type Type uint8

// The types of columns. A date is YYYY-MM-DD; yes or no are the words.
const (
	Text Type = iota
	Whole
	Number
	Date
	Moment // a date and time in UTC
	YesNo
)

// private says which option a column needs to leave with its values.
type private uint8

const (
	open private = iota
	observerName
	coordinate
)

// Column is one column of a table.
type Column struct {
	Name    string
	Type    Type
	Unit    string // "" where it has none; else a key of units
	Meaning string
	Words   []string // what it may hold, where that is a list
	Derived bool     // worked out by the program, not read back
	private private
}

// Foreign says that columns name a row of another table.
type Foreign struct {
	Columns []string
	Table   string
	To      []string
}

// Table is one table of an export.
type Table struct {
	Name    string
	Meaning string
	Columns []Column
	Key     []string
	Foreign []Foreign
	Kind    string // what import calls it, where it can be read back
	Many    bool   // so many rows that engines read it in parts: by growth year and stratum
	rows    func(*source, part, func([]Cell) error) error
}

// Cell is one value of a row: text, or a number. The zero Cell is missing.
type Cell struct {
	Text   string
	Number float64
	Has    bool
}

func text(s string) Cell       { return Cell{Text: s, Has: s != ""} }
func number(n schema.Num) Cell { return Cell{Number: n.Float64, Has: n.Valid} }
func whole(n int64) Cell       { return Cell{Number: float64(n), Has: true} }
func above0(n int64) Cell      { return Cell{Number: float64(n), Has: n > 0} }
func yesNo(b bool) Cell        { return Cell{Text: yesWord(b), Has: true} }

func yesWord(b bool) string {
	if b {
		return "yes"
	}
	return "no"
}

// derived are the names of the columns that are not read back.
func (t *Table) derived() []string {
	var out []string
	for _, c := range t.Columns {
		if c.Derived {
			out = append(out, c.Name)
		}
	}
	return out
}

// units are the units that columns can have: how a text writes them.
var units = map[string]string{
	"g": "gram", "g/m2": "gram per square metre", "m2": "square metre", "ha": "hectare", "m": "metre", "cm": "centimetre", "mm": "millimetre",
	"%": "percent", "degree": "degree", "1": "no unit (a count or a ratio)", "g/m2/year": "gram per square metre and year",
	"%/year": "percent per year", "g/m2/decade": "gram per square metre and decade",
}

// tableNamed finds a table.
func tableNamed(name string) *Table {
	for i := range Tables {
		if Tables[i].Name == name {
			return &Tables[i]
		}
	}
	panic("export: there is no table " + name)
}

// maskWords names the components of a mask.
func maskWords(mask uint8) string {
	var words []string
	for _, c := range schema.Components {
		if mask&c.Bit() != 0 {
			words = append(words, c.String())
		}
	}
	return strings.Join(words, ";")
}

func sortedKeys[V any](m map[string]V) []string { return slices.Sorted(maps.Keys(m)) }
