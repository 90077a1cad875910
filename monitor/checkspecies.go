package monitor

import (
	"fmt"

	"clipledger/schema"
)

// Species in a bag of a component where they do not belong, and bags whose
// dry weight rests on nothing.

// A species without a declared component belongs where nine in ten of its
// bags are, if there are enough of them to tell.
const (
	enoughBags = 10
	usualShare = 0.9
)

// speciesUse is where the bags of a species are: only herbaceous and browse
// exclude each other, any plant can be standing dead or litter.
type speciesUse struct {
	bags   [3]int   // by component
	frames [3]int   // with a bag of the component, not counting those named no more
	last   [3]int64 // the last of those frames
}

// mostFrames bounds the frames that are named of a species without a declared
// component: more of them are no slip.
const mostFrames = 1000

// noteSpecies counts a bag; they come in the order of their frames.
func (c *checker) noteSpecies(b *schema.CheckBag) {
	if b.SpeciesID == 0 || !b.Component.IsProduction() {
		return
	}
	u := c.surveyed.species[b.SpeciesID]
	if u == nil {
		u = &speciesUse{}
		c.surveyed.species[b.SpeciesID] = u
	}
	u.bags[b.Component]++
	if u.frames[b.Component] < mostFrames && (u.frames[b.Component] == 0 || u.last[b.Component] != b.Visit) {
		u.frames[b.Component]++
		u.last[b.Component] = b.Visit
	}
}

// home is where a species belongs, and how that is known.
func (c *checker) home(species int64, u *speciesUse) (schema.Component, string) {
	if declared := c.names.Species[species].Component; declared.IsProduction() {
		return declared, "declared as " + declared.String()
	}
	total := u.bags[schema.Herbaceous] + u.bags[schema.Browse]
	for _, component := range []schema.Component{schema.Herbaceous, schema.Browse} {
		if n := u.bags[component]; total >= enoughBags && float64(n) >= usualShare*float64(total) {
			return component, fmt.Sprintf("%s in %d of its %d bags", component, n, total)
		}
	}
	return schema.NoComponent, ""
}

// misplaced finds a bag of a species that belongs elsewhere.
func (c *checker) misplaced(b *schema.CheckBag) []Finding {
	u := c.surveyed.species[b.SpeciesID]
	if u == nil || !b.Component.IsProduction() {
		return nil
	}
	home, known := c.home(b.SpeciesID, u)
	if home == schema.NoComponent || b.Component == home {
		return nil
	}
	if c.names.Species[b.SpeciesID].Component == schema.NoComponent && b.Visit > u.last[b.Component] {
		return nil
	}
	return []Finding{{Severity: Look, Check: "species-component",
		Found: fmt.Sprintf("%s was bagged as %s; it is %s", c.names.Species[b.SpeciesID].Code, b.Component, known),
		Why:   "its weight counts for the wrong component: herbaceous and browse have other uses and other book values",
		Do:    "find out whether the species or the component is the slip; take the file back with undo and import it corrected, or accept it"}}
}

// checkBasis gathers, by occasion and component, the bags without a basis for
// their dry weight.
func (c *checker) checkBasis() error {
	if len(c.unbased) == 0 {
		return nil
	}
	var occasion int64
	var lists [len(schema.Components) + 1][]evidence
	flush := func() {
		for _, component := range schema.Components {
			if list := lists[component]; len(list) > 0 {
				c.reportUnbased(occasion, component, list)
			}
			lists[component] = nil
		}
	}
	err := c.snap.CheckBagsOf(c.unbased, func(b *schema.CheckBag) error {
		if b.Method != schema.MethodNone || !b.GreenG.Valid {
			return nil
		}
		if o := b.Visit >> 20; o != occasion {
			flush()
			occasion = o
		}
		lists[b.Component] = append(lists[b.Component], c.ofBag(b))
		return nil
	})
	flush()
	return err
}

func (c *checker) reportUnbased(occasion int64, component schema.Component, list []evidence) {
	p, year := c.placeOf(occasion)
	bags := "1 bag has"
	if len(list) > 1 {
		bags = fmt.Sprintf("%d bags have", len(list))
	}
	c.report(p, Finding{Severity: Serious, Check: "no-dry-matter-basis", Years: []int{year}, Components: []string{component.String()},
		Found: bags + " a green weight and nothing to tell the dry weight by: no measured one, no drying sample, no percentage, no book value for the growth form and stage",
		Why:   "the frames of these bags are left out of the mean as missing",
		Do:    "give the bags a growth form and stage that a book table in force has, import drying samples or percentages, or set a fallback percentage; clipledger settings shows which tables are in force"}, list...)
}
