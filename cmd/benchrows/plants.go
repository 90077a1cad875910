package main

import (
	"bufio"
	"fmt"
)

// plant is an invented plant.
type plant struct {
	code string
	form *growthForm
}

// growthForm is a group of plants that dry alike, and the stages it goes
// through in a clipping season.
type growthForm struct {
	name   string
	noun   string // of the plants' names
	stages []stage
}

// stage is a stage of growth with the dry part of green weight that the
// invented plants are drawn around.
type stage struct {
	name string
	dry  float64
}

// The forms and stages have book values in every ledger.
var (
	coolGrass = growthForm{"grass-cool", "cool grass", []stage{{"heading", 0.44}, {"seed-ripe", 0.58}}}
	midGrass  = growthForm{"grass-warm-mid", "warm grass", []stage{{"pre-heading", 0.39}, {"heading", 0.53}}}
	leafyForb = growthForm{"forb-leafy", "forb", []stage{{"flowering", 0.37}, {"seed-ripe", 0.56}}}
	leafShrub = growthForm{"shrub-deciduous", "shrub", []stage{{"new-growth", 0.36}, {"full-leaf", 0.48}}}
	greyShrub = growthForm{"shrub-evergreen", "grey shrub", []stage{{"new-growth", 0.52}, {"full-leaf", 0.62}}}
)

// herbs and shrubs are the plants of the two components. A site has some of
// each: more than half of its bags are herbs.
var (
	herbs  = plants("H", 24, &coolGrass, &leafyForb, &midGrass)
	shrubs = plants("W", 12, &leafShrub, &greyShrub)
)

// stride walks through herbs and through shrubs without meeting one twice.
const stride = 5

// mostBags is how many bags a frame can have before plants would repeat.
const mostBags = 20

func plants(prefix string, n int, forms ...*growthForm) []plant {
	out := make([]plant, n)
	for i := range out {
		out[i] = plant{fmt.Sprintf("%s%02d", prefix, i+1), forms[i%len(forms)]}
	}
	return out
}

// writeSpecies writes species.csv.
func writeSpecies(w *bufio.Writer) error {
	w.WriteString("species,name,growth_form,component\n")
	for _, group := range []struct {
		component string
		plants    []plant
	}{{"herbaceous", herbs}, {"browse", shrubs}} {
		for _, p := range group.plants {
			fmt.Fprintf(w, "%s,invented %s %s,%s,%s\n", p.code, p.form.noun, p.code, p.form.name, group.component)
		}
	}
	return nil
}
