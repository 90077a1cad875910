package intake

import (
	"fmt"
	"math"
	"strings"

	"clipledger/schema"
)

// What a weight can be at most; more is a slip of the pen.
const (
	mostBagG          = 50_000 // one bag, or its empty bag
	mostDryGPerM2     = 5_000  // a year's growth, dry
	mostGreenGPerM2   = 10 * mostDryGPerM2
	netAgreesWithinG  = 0.05 // a net weight given beside gross and tare
	netRounding       = 1e6  // gross minus tare is kept to a millionth of a gram
	dryAboveGreenSlip = 1e-9 // relative; what converting units can do
)

// weighing is where the weights of one bag stand.
type weighing [weighingCells]source

// The parts of a weighing.
const (
	atGreen = iota
	atDry
	atGreenGross
	atDryGross
	atTare
	atGreenArea
	atDryArea
	weighingCells
)

// weighingQuantities are the quantities of a weighing's parts.
var weighingQuantities = [weighingCells]string{"green", "dry", "green_gross", "dry_gross", "tare", "green_area", "dry_area"}

// newWeighing takes the parts of a weighing from where source says they are.
func newWeighing(find func(quantity string) source) weighing {
	var w weighing
	for i, q := range weighingQuantities {
		w[i] = find(q)
	}
	return w
}

// weightKind says what a cell of a weight holds.
type weightKind uint8

const (
	noWeight weightKind = iota
	someWeight
	traceWeight // written T: there, too little to weigh
	lostWeight  // written lost
	badWeight   // told as a problem
)

// weight is one cell of a weight, in g or g/m².
type weight struct {
	v    float64
	kind weightKind
}

// weight reads one part of a weighing.
func (c *checker) weight(part int, s *source, cell string) weight {
	if cell == "" {
		return weight{}
	}
	v, ok := plainNumber(cell)
	if !ok || c.comma {
		if kind := weightWord(part, cell); kind != noWeight {
			return weight{kind: kind}
		}
		if v, ok = c.anyNumber(s.name, cell); !ok {
			return weight{kind: badWeight}
		}
	}
	v *= s.factor
	if v < 0 {
		c.bad(s.name, cell, "a weight cannot be below zero", "correct it, or empty the cell if it means missing")
		return weight{kind: badWeight}
	}
	if most := mostWeight(part); v > most {
		c.bad(s.name, cell, tooHeavy(part, v, most), "check the decimal point, the unit and the column")
		return weight{kind: badWeight}
	}
	return weight{v, someWeight}
}

// weightWord reads the words that can stand for a weight.
func weightWord(part int, cell string) weightKind {
	switch lower := strings.ToLower(cell); {
	case part == atTare:
	case lower == schema.StatusLost:
		return lostWeight
	case part == atGreenGross || part == atDryGross:
	case lower == "t" || lower == "trace":
		return traceWeight
	}
	return noWeight
}

// mostWeight returns the limit of a part, in g or g/m².
func mostWeight(part int) float64 {
	switch part {
	case atGreenArea:
		return mostGreenGPerM2
	case atDryArea:
		return mostDryGPerM2
	}
	return mostBagG
}

// tooHeavy words a weight above its limit.
func tooHeavy(part int, v, most float64) string {
	if part == atGreenArea || part == atDryArea {
		return fmt.Sprintf("is %s g/m², more than vegetation can weigh (%s g/m²)", showNumber(v), showNumber(most))
	}
	return fmt.Sprintf("is %s g, more than one bag can weigh (%s g)", showNumber(v), showNumber(most))
}

// weighed is what the cells of a weighing come to.
type weighed struct {
	green, dry schema.Num // g, or g/m² where perM2 is set
	trace      int
	perM2      bool
	lost       bool // a cell says lost
	bad        bool // a cell is wrong
}

// any tells whether there is a weight, traces included.
func (w *weighed) any() bool { return w.green.Valid || w.dry.Valid || w.trace != 0 }

// weigh reads the cells of one weighing: net weights as given or as gross
// minus tare, or weights per area, and that they agree with each other.
func (c *checker) weigh(w *weighing, cells *[weighingCells]string) weighed {
	var parts [weighingCells]weight
	var out weighed
	for i := range parts {
		if cells[i] == "" {
			continue
		}
		parts[i] = c.weight(i, &w[i], cells[i])
		out.lost = out.lost || parts[i].kind == lostWeight
		out.bad = out.bad || parts[i].kind == badWeight
	}
	green := c.net(w, cells, &parts, atGreen, atGreenGross)
	dry := c.net(w, cells, &parts, atDry, atDryGross)
	if green.kind == badWeight || dry.kind == badWeight {
		out.bad = true
	}
	if area := parts[atGreenArea].kind | parts[atDryArea].kind; area != noWeight {
		if green.kind != noWeight || dry.kind != noWeight {
			c.bad("", "", fmt.Sprintf("the row has weights in grams (%s) and per area (%s)", w.names(cells, atGreen, atDryGross), w.names(cells, atGreenArea, atDryArea)),
				"keep one of them; --ignore leaves a column out")
			out.bad = true
		}
		green, dry, out.perM2 = parts[atGreenArea], parts[atDryArea], true
	}
	out.green, out.dry = green.num(), dry.num()
	if green.kind == traceWeight {
		out.trace |= schema.TraceGreen
	}
	if dry.kind == traceWeight {
		out.trace |= schema.TraceDry
	}
	out.perM2 = out.perM2 && out.any()
	c.dryWithinGreen(w, cells, &out)
	return out
}

// num returns the weight as a number that may be missing.
func (w weight) num() schema.Num {
	if w.kind != someWeight {
		return schema.Num{}
	}
	return schema.Some(w.v)
}

// names lists the columns of a weighing, from one part to another, whose
// cells hold something.
func (w *weighing) names(cells *[weighingCells]string, from, to int) string {
	var names []string
	for i := from; i <= to; i++ {
		if cells[i] != "" {
			names = append(names, w[i].name)
		}
	}
	return strings.Join(names, ", ")
}

// net returns a net weight: as given, or gross minus tare, and checks that
// the two agree where both are there.
func (c *checker) net(w *weighing, cells *[weighingCells]string, parts *[weighingCells]weight, net, gross int) weight {
	given, g, tare := parts[net], parts[gross], parts[atTare]
	if g.kind != someWeight {
		if g.kind == badWeight || given.kind == noWeight {
			return g
		}
		return given
	}
	switch tare.kind {
	case someWeight:
	case badWeight:
		return tare
	default:
		c.bad(w[atTare].name, "", "is missing beside "+w[gross].name, "write what the empty bag weighs, or empty "+w[gross].name)
		return weight{kind: badWeight}
	}
	v := math.Round((g.v-tare.v)*netRounding) / netRounding
	if v < 0 {
		c.bad(w[gross].name, cells[gross], fmt.Sprintf("is less than its empty bag (%s, %s g)", w[atTare].name, showNumber(tare.v)), "check both weights, and whether this one is net already")
		return weight{kind: badWeight}
	}
	if given.kind == noWeight {
		return weight{v, someWeight}
	}
	if given.kind == someWeight && math.Abs(given.v-v) > netAgreesWithinG {
		c.bad(w[net].name, cells[net], fmt.Sprintf("does not agree with %s minus %s, which is %s g", w[gross].name, w[atTare].name, showNumber(v)), "correct the one that is wrong, or leave one out with --ignore")
		return weight{kind: badWeight}
	}
	return given
}

// dryWithinGreen checks that drying has not made a bag heavier.
func (c *checker) dryWithinGreen(w *weighing, cells *[weighingCells]string, out *weighed) {
	green, dry := out.green, out.dry
	if !green.Valid || !dry.Valid || dry.Float64 <= green.Float64*(1+dryAboveGreenSlip) {
		return
	}
	at, unit := atDry, "g"
	if out.perM2 {
		at, unit = atDryArea, "g/m²"
	} else if cells[atDry] == "" {
		at = atDryGross
	}
	c.bad(w[at].name, cells[at], fmt.Sprintf("makes %s %s dry, more than the %s %s green of the same bag", showNumber(dry.Float64), unit, showNumber(green.Float64), unit),
		"check both weights, and whether they are swapped")
	out.bad = true
}
