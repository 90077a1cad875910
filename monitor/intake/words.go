package intake

import (
	"fmt"
	"strings"

	"clipledger/schema"
)

// defaultSeason is the season of rows that name none.
const defaultSeason = "peak"

// known is the ledger's vocabulary made ready for finding words that a file
// spells in its own way, and the near ones of those it misspells.
type known struct {
	components, seasons, stages, growthForms, frameTypes *lexicon
	statuses, bases, edgeRules                           *lexicon
	samplingUnits, placements, selections                *lexicon
	sites, species                                       *lexicon
	vocabulary                                           *schema.Vocabulary
}

// newKnown prepares a vocabulary; nil is an empty one.
func newKnown(v *schema.Vocabulary) *known {
	if v == nil {
		v = &schema.Vocabulary{}
	}
	var components []string
	for _, c := range schema.Components {
		components = append(components, c.String())
	}
	words := func(names ...string) *lexicon { return newLexicon(names, fold) }
	return &known{
		components:    words(components...),
		seasons:       words(append(keys(v.Seasons), defaultSeason)...),
		stages:        words(keys(v.Stages)...),
		growthForms:   words(keys(v.GrowthForms)...),
		statuses:      words(schema.StatusLost, schema.StatusEmpty, statusBlank),
		bases:         words(schema.AirDry, schema.OvenDry, schema.UnknownBasis),
		edgeRules:     words(EdgeRooted, EdgeVertical),
		samplingUnits: words("frame", "transect"),
		placements:    words("same", "shifted", "new"),
		selections:    words("random", "fixed", "chosen"),
		frameTypes:    newLexicon(keys(v.FrameTypes), alike),
		// Labels that people made up: "A-11" and "A1-1" are two sites.
		sites:      newLexicon(keys(v.Sites), strings.ToLower),
		species:    newLexicon(keys(v.Species), strings.ToLower),
		vocabulary: v,
	}
}

// keys lists the keys of a map.
func keys[V any](m map[string]V) []string {
	names := make([]string, 0, len(m))
	for n := range m {
		names = append(names, n)
	}
	return names
}

// The edge rules: what belongs to a frame. Rooted is every plant that has its
// root in it; vertical is everything above it, wherever it is rooted.
const (
	EdgeRooted   = "rooted"
	EdgeVertical = "vertical"
)

// word reads one of a set of known words; "" where it is missing or wrong.
// The message says "not a NOUN"; otherwise is what to do where the word is
// rightly new.
func (c *checker) word(column, cell string, l *lexicon, noun, plural, otherwise string) string {
	if cell == "" {
		return ""
	}
	name, ok := l.find(cell)
	if !ok {
		c.bad(column, cell, "is not a known "+noun, l.suggest(cell, plural, otherwise))
	}
	return name
}

// component reads a component.
func (c *checker) component(column, cell string) schema.Component {
	name := c.word(column, cell, c.known.components, "component", "components", "")
	comp, _ := schema.ComponentNamed(name)
	return comp
}

// season reads a season label; a missing one is the peak.
func (c *checker) season(column, cell string) string {
	if cell == "" {
		return defaultSeason
	}
	return c.word(column, cell, c.known.seasons, "season", "seasons",
		"a season of your own is declared first, in a site's components, as in herbaceous/late")
}

// stage reads a stage of growth.
func (c *checker) stage(column, cell string) string {
	return c.word(column, cell, c.known.stages, "stage of growth", "stages", "stages come from the book tables: import book-values that have it")
}

// growthForm reads a growth form.
func (c *checker) growthForm(column, cell string) string {
	return c.word(column, cell, c.known.growthForms, "growth form", "growth forms", "growth forms come from the book tables: import book-values that have it")
}

// statusBlank is the status of a bag whose cell was left blank in a row that is
// a frame, as exports write it: neither weighed nor lost, and no zero.
const statusBlank = "blank"

// status reads what became of a bag or frame.
func (c *checker) status(column, cell string) string {
	return c.word(column, cell, c.known.statuses, "status", "words", "leave it empty for a bag that was weighed")
}

// basis reads whether a dry weight is air-dry or oven-dry; "air" and "oven"
// say it too.
func (c *checker) basis(column, cell string) string {
	switch fold(cell) {
	case "air", "airdried":
		return schema.AirDry
	case "oven", "ovendried":
		return schema.OvenDry
	}
	return c.word(column, cell, c.known.bases, "basis", "words", "")
}

// edgeRule reads which plants belong to a frame.
func (c *checker) edgeRule(column, cell string) string {
	switch fold(cell) {
	case "rootedin", "rootedinframe", "rootedinside", "root", "roots":
		return EdgeRooted
	case "above", "allabove", "everythingabove", "projection", "verticalprojection", "canopy", "overhanging":
		return EdgeVertical
	}
	return c.word(column, cell, c.known.edgeRules, "edge rule", "rules", "")
}

// sampled reads the components that were looked for, as a mask of their bits.
func (c *checker) sampled(column, cell string) (mask uint8) {
	if cell == "" {
		return 0
	}
	if strings.Contains(cell, ",") {
		c.bad(column, cell, "has a comma in it", "put ; between components, as in herbaceous;browse")
		return 0
	}
	for _, part := range strings.FieldsFunc(cell, func(r rune) bool { return r == ';' || r == '+' }) {
		part = trimCell(part)
		name, ok := c.known.components.find(part)
		if !ok && part != "" {
			c.bad(column, cell, fmt.Sprintf("names %q, which is not a known component", part), c.known.components.suggest(part, "components", ""))
			return 0
		}
		comp, _ := schema.ComponentNamed(name)
		mask |= comp.Bit()
	}
	return mask
}

// site reads a site code. One that differs from a known site only in case
// is that site, and the summary says so.
func (c *checker) site(column, cell string) string {
	return c.sameAsKnown("site", c.needKey(column, cell, "write the code of the site"), c.known.sites)
}

// species reads a plant code, with the same manners.
func (c *checker) species(column, cell string) string {
	return c.sameAsKnown("species", c.key(column, cell), c.known.species)
}

// sameAsKnown returns the known spelling of a code.
func (c *checker) sameAsKnown(noun, code string, l *lexicon) string {
	name, ok := l.find(code)
	if !ok || name == code {
		return code
	}
	c.summary.notice("%s %q was taken as %q, which the ledger knows", noun, code, name)
	return name
}

// frameType reads a frame type: a known name, or an area written out.
func (c *checker) frameType(column, cell string) string {
	if cell == "" {
		return ""
	}
	if name, ok := c.known.frameTypes.find(cell); ok {
		return name
	}
	area := cell
	if c.comma {
		area = strings.Replace(cell, ",", ".", 1)
	}
	if name, _, ok := ParseFrameType(area); ok {
		return name
	}
	c.bad(column, cell, "is not a known frame type", c.known.frameTypes.suggest(cell, "frame types",
		`write its area with the unit, as in "9.6 ft2" or "0.25 m2", or import a frame-types file that has it`))
	return ""
}
