package main

import (
	"bufio"
	"fmt"
	"math"
	"math/rand/v2"
)

// size says how much is written.
type size struct {
	sites, years, frames, bags int
	seed                       uint64
}

func (s *size) check() error {
	for _, n := range []struct {
		what        string
		value, most int
	}{{"sites", s.sites, 100_000}, {"years", s.years, 100}, {"frames", s.frames, 10_000}, {"bags", s.bags, mostBags}} {
		if n.value < 1 || n.value > n.most {
			return fmt.Errorf("--%s %d: give a number from 1 to %d", n.what, n.value, n.most)
		}
	}
	return nil
}

// firstYear is the first year of every site.
const firstYear = 2000

// world is what the rows are drawn around: how much grows at a site, and how
// good a year was. The last year is the one after clippings.csv.
type world struct {
	*size
	site []place
	year []float64
	rand *rand.Rand
	pcg  *rand.PCG
	row  []byte
}

// place is one site.
type place struct {
	code     string
	level    float64 // of growth, 1 on average
	bags     []bag
	observer string
}

// bag is what one bag of every frame of a site holds.
type bag struct {
	component string
	plant     plant
	greenG    float64 // around which a bag weighs
}

// observers clip the sites in turn; nobody is called so.
var observers = []string{"Tolver", "Imsey", "Orrick", "Pellan", "Quarne", "Hestle"}

func newWorld(s *size) *world {
	w := &world{size: s, pcg: rand.NewPCG(s.seed, 0)}
	w.rand = rand.New(w.pcg)
	for range s.years + 1 {
		w.year = append(w.year, w.factor(0.3))
	}
	for i := range s.sites {
		w.site = append(w.site, place{fmt.Sprintf("S%04d", i+1), w.factor(0.4), bagsOf(i, s.bags), observers[i%len(observers)]})
	}
	return w
}

// bagsOf lists a site's bags, herbs first.
func bagsOf(site, n int) []bag {
	out := make([]bag, 0, n)
	for k := range (n + 1) / 2 {
		out = append(out, bag{"herbaceous", herbs[(site*7+k*stride)%len(herbs)], 48 / float64(k+1)})
	}
	for k := range n / 2 {
		out = append(out, bag{"browse", shrubs[(site*3+k*stride)%len(shrubs)], 36 / float64(k+1)})
	}
	return out
}

// factor draws a positive number around 1, its logarithm normal with the
// standard deviation sd.
func (w *world) factor(sd float64) float64 { return math.Exp(float64(sd * w.rand.NormFloat64())) }

// strata is over how many strata the sites are spread.
const strata = 8

// writeSites writes sites.csv: every site with the frame type of its rows.
func (w *world) writeSites(out *bufio.Writer) error {
	out.WriteString("site,name,stratum,components,sampling_unit,placement,selection,frame_type,note\n")
	for i := range w.site {
		fmt.Fprintf(out, "%s,Invented site %d,Stratum %d,herbaceous;browse,frame,new,random,9.6 ft2,invented: this place does not exist\n",
			w.site[i].code, i+1, i%strata+1)
	}
	return nil
}
