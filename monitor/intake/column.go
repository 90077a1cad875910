package intake

import (
	"slices"
	"strings"

	"clipledger/schema"
)

// The sizes of the units that names of columns speak of. All are exact by
// definition: 1 lb = 0.45359237 kg, 1 ft = 0.3048 m, 1 acre = 43,560 ft².
const (
	gramsPerPound    = 453.59237
	gramsPerOunce    = gramsPerPound / 16 // 28.349523125
	metresPerFoot    = 0.3048
	metresPerInch    = metresPerFoot / 12 // 0.0254
	m2PerFt2         = metresPerFoot * metresPerFoot
	m2PerAcre        = 43560 * m2PerFt2 // 4046.8564224
	mmPerInch        = 25.4
	hectaresPerAcre  = m2PerAcre / 10000
	gPerM2PerKgPerHa = 0.1
	gPerM2PerLbPerAc = gramsPerPound / m2PerAcre
)

// column is one column that a kind of file may have. Columns that state the
// same quantity in different units exclude each other.
type column struct {
	name     string           // as we write it, e.g. "green_oz"
	quantity string           // what it states, e.g. "green"
	factor   float64          // from the written unit to ours (g, g/m², m, m², mm, ha)
	part     schema.Component // of a wide column, else NoComponent
	species  string           // of a wide column that names one
	field    string           // of a wide column: the quantity within its component
}

// unit is the ending of a column's name and its size in our unit.
type unit struct {
	ending string
	factor float64
}

// The units that each sort of quantity may be written in.
var (
	weightUnits = []unit{{"_g", 1}, {"_oz", gramsPerOunce}, {"_lb", gramsPerPound}, {"_kg", 1000}}
	perArea     = []unit{{"_kg_ha", gPerM2PerKgPerHa}, {"_g_m2", 1}, {"_lb_ac", gPerM2PerLbPerAc}}
	lengthUnits = []unit{{"_m", 1}, {"_cm", 0.01}, {"_mm", 0.001}, {"_in", metresPerInch}, {"_ft", metresPerFoot}}
	areaUnits   = []unit{{"_m2", 1}, {"_cm2", 0.0001}, {"_ft2", m2PerFt2}, {"_in2", metresPerInch * metresPerInch}, {"_ac", m2PerAcre}}
	rainUnits   = []unit{{"_mm", 1}, {"_in", mmPerInch}}
)

// plain makes columns that have no unit.
func plain(names ...string) []column {
	cols := make([]column, len(names))
	for i, n := range names {
		cols[i] = column{name: n, quantity: n, factor: 1}
	}
	return cols
}

// inUnits makes the columns of one quantity in each of its units.
func inUnits(quantity, stem string, units []unit) []column {
	cols := make([]column, len(units))
	for i, u := range units {
		cols[i] = column{name: stem + u.ending, quantity: quantity, factor: u.factor}
	}
	return cols
}

// weightColumns are the columns of weights, net or with the bag, in grams.
func weightColumns() []column {
	return slices.Concat(
		inUnits("green", "green", weightUnits), inUnits("dry", "dry", weightUnits),
		inUnits("green_gross", "green_gross", weightUnits), inUnits("dry_gross", "dry_gross", weightUnits),
		inUnits("tare", "tare", weightUnits))
}

// areaWeightColumns are the columns of weights per area, in g/m².
func areaWeightColumns() []column {
	return slices.Concat(inUnits("green_area", "green", perArea), inUnits("dry_area", "dry", perArea))
}

// kind is one kind of input file: the columns it may have and those it needs.
type kind struct {
	columns []column
	byName  map[string]*column // by folded name

	// parse reads names that follow a pattern instead of standing in columns.
	parse func(name string) (column, bool)

	// patterns are examples of such names, to suggest; hint says how to write
	// one that was meant to follow the pattern.
	patterns []string
	hint     func(name string) string

	needed [][]string // quantities, of which one is enough
	// check tells what the header lacks or mixes.
	check func(m *matcher)
}

// newKind makes a kind of file; needed lists quantities, of which one is
// enough, for every column that must be there.
func newKind(columns []column, needed ...[]string) *kind {
	k := &kind{columns: columns, byName: map[string]*column{}, needed: needed}
	for i := range columns {
		k.byName[foldName(columns[i].name)] = &columns[i]
	}
	k.check = func(m *matcher) { m.lacking(m.missing(needed...)) }
	return k
}

// lack is a column that is needed and not there.
type lack struct {
	shown   string // as a message names it: "date or year"
	example string // one name for it: "date"
}

// missing lists what the header lacks.
func (b *binding) missing(needed ...[]string) (lacks []lack) {
	for _, oneOf := range needed {
		if !b.hasAny(oneOf...) {
			lacks = append(lacks, lack{b.kind.show(oneOf), b.kind.show(oneOf[:1])})
		}
	}
	return lacks
}

// show names quantities by their first columns: "growth_form or species".
func (k *kind) show(quantities []string) string {
	var names []string
	for _, q := range quantities {
		for _, c := range k.columns {
			if c.quantity == q {
				names = append(names, c.name)
				break
			}
		}
	}
	return listWords(names, "or")
}

// column finds the column of a name; case, spaces and underscores are ignored.
func (k *kind) column(name string) (column, bool) {
	if c, ok := k.byName[foldName(name)]; ok {
		return *c, true
	}
	if k.parse != nil {
		return k.parse(name)
	}
	return column{}, false
}

// foldName takes case, spaces and underscores from the name of a column.
func foldName(s string) string {
	return strings.Map(func(r rune) rune {
		switch r {
		case ' ', '_', '\u00a0', '\ufeff':
			return -1
		}
		return r
	}, strings.ToLower(s))
}

// otherColumns are names that people give to some of our columns. They are
// only ever suggested, never taken.
var otherColumns = map[string]string{
	"plot": "frame", "quadrat": "frame", "quad": "frame", "rep": "frame", "hoop": "frame", "sample": "frame",
	"line": "transect", "location": "site", "siteid": "site", "sitecode": "site", "sitename": "site",
	"sampledate": "date", "collected": "date", "datecollected": "date",
	"comment": "note", "comments": "note", "notes": "note", "remarks": "note",
	"clipper": "observer", "crew": "observer", "plant": "species", "sppcode": "species", "spp": "species",
	"biomass": "dry_g", "biomassgrams": "dry_g", "wetweight": "green_g", "dryweight": "dry_g", "bagweight": "tare_g", "bagmass": "tare_g",
	"lat": "latitude", "lon": "longitude", "lng": "longitude", "long": "longitude", "elev": "elevation_m", "elevation": "elevation_m",
	"rain": "rain_mm", "precip": "rain_mm", "precipitation": "rain_mm", "ppt": "rain_mm", "area": "area_m2", "hectares": "area_ha",
	"drymatterpct": "dm_pct", "dm": "dm_pct", "pctdm": "dm_pct", "percentdm": "dm_pct",
}

// nearest returns our column whose name is closest to an unknown one, "" if
// none is close. Signs such as brackets do not count.
func (k *kind) nearest(name string) string {
	letters := strings.Map(func(r rune) rune {
		if strings.ContainsRune("()[].,:;/%#²³'\"", r) {
			return -1
		}
		return r
	}, foldName(name))
	if other := otherColumns[letters]; other != "" && k.byName[foldName(other)] != nil {
		return other
	}
	names := slices.Clone(k.patterns)
	for _, c := range k.columns {
		names = append(names, c.name)
	}
	return newLexicon(names, foldName).nearest(letters)
}
