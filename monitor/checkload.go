package monitor

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"clipledger/schema"
)

// checker is one run of the quality checks: the ledger's names, what all sites
// say together, the occasions and frames of the sites at hand, which most
// checks look at, and what was found so far.
type checker struct {
	snap     *schema.Snapshot
	names    schema.CheckNames
	factors  map[string]float64 // of the bases; "" is no basis given
	basis    string             // the ledger's
	allSites []schema.SiteRecord
	bySite   map[int64][]schema.OccasionRecord
	sites    map[int64]*schema.SiteRecord
	surveyed surveyed
	findings []Finding

	// Of the group of sites at hand:
	runs      [][2]int64 // of the numbers of its occasions
	occasions map[int64]*schema.OccasionRecord
	visits    []schema.CheckVisit // in the order of their numbers
	plots     []schema.CheckPlot  // likewise
	series    []series
	seriesOf  map[place]int // by number
	unbased   []int64       // frames with a bag that has no basis for its dry weight

	means      *calculation
	books, few map[meansOfSeries][]*Mean
}

// occasionsChecked bounds the occasions whose frames are held.
const occasionsChecked = 1000

// series are the occasions of one site and season, by growth year.
type series struct {
	place
	occasions []*schema.OccasionRecord
}

func newChecker(s *schema.Snapshot) (*checker, error) {
	c := &checker{snap: s, sites: map[int64]*schema.SiteRecord{}, bySite: map[int64][]schema.OccasionRecord{}, surveyed: newSurveyed()}
	values, err := s.Settings()
	if err != nil {
		return nil, err
	}
	c.basis, c.factors = values["basis"], values.BasisFactors()
	c.factors[""] = 1
	if c.names, err = s.CheckNames(); err != nil {
		return nil, err
	}
	if c.allSites, err = s.Sites(); err != nil {
		return nil, err
	}
	for i := range c.allSites {
		c.sites[c.allSites[i].ID] = &c.allSites[i]
	}
	c.means, err = newCalculation(s, Query{Clipped: true}, c.noteMean)
	return c, err
}

// readGroup reads the occasions and frames of some sites, in place of those of
// the sites before.
func (c *checker) readGroup(sites []*schema.SiteRecord) error {
	var order []*schema.OccasionRecord
	var ids []int64
	c.occasions = map[int64]*schema.OccasionRecord{}
	for _, s := range sites {
		list := c.bySite[s.ID]
		for i := range list {
			order, ids = append(order, &list[i]), append(ids, list[i].ID)
			c.occasions[list[i].ID] = &list[i]
		}
	}
	slices.Sort(ids)
	c.runs = ranges(ids)
	c.gatherSeries(order)
	c.visits, c.plots, c.unbased = c.visits[:0], c.plots[:0], nil
	return c.eachRun(func(from, to int64) error {
		if err := c.snap.CheckVisits(from, to, func(v *schema.CheckVisit) error { c.visits = append(c.visits, *v); return nil }); err != nil {
			return err
		}
		return c.snap.CheckPlots(from, to, func(p *schema.CheckPlot) error { c.plots = append(c.plots, *p); return nil })
	})
}

// eachRun hands on the runs of the occasions at hand, in the order of their
// numbers.
func (c *checker) eachRun(fn func(from, to int64) error) error {
	for _, r := range c.runs {
		if err := fn(r[0], r[1]); err != nil {
			return err
		}
	}
	return nil
}

// gatherSeries gathers occasions into series.
func (c *checker) gatherSeries(order []*schema.OccasionRecord) {
	c.series, c.seriesOf = nil, map[place]int{}
	slices.SortFunc(order, func(a, b *schema.OccasionRecord) int {
		return cmp.Or(cmp.Compare(c.sites[a.SiteID].Site, c.sites[b.SiteID].Site), cmp.Compare(a.Season, b.Season), cmp.Compare(a.Year, b.Year))
	})
	for _, o := range order {
		p := place{c.sites[o.SiteID], o.Season}
		if n := len(c.series); n == 0 || c.series[n-1].place != p {
			c.seriesOf[p] = n
			c.series = append(c.series, series{place: p})
		}
		last := &c.series[len(c.series)-1]
		last.occasions = append(last.occasions, o)
	}
}

// visit finds a frame by its number.
func (c *checker) visit(id int64) *schema.CheckVisit {
	i, ok := slices.BinarySearchFunc(c.visits, id, func(v schema.CheckVisit, id int64) int { return cmp.Compare(v.Visit, id) })
	if !ok {
		return &schema.CheckVisit{Visit: id}
	}
	return &c.visits[i]
}

// framesOf are the frames of an occasion.
func (c *checker) framesOf(occasion int64) []schema.CheckVisit {
	at := func(id int64) int {
		i, _ := slices.BinarySearchFunc(c.visits, id, func(v schema.CheckVisit, id int64) int { return cmp.Compare(v.Visit, id) })
		return i
	}
	return c.visits[at(occasion<<20):at((occasion+1)<<20)]
}

// plotsOf are the plots of a frame.
func (c *checker) plotsOf(visit int64) []schema.CheckPlot {
	i, _ := slices.BinarySearchFunc(c.plots, visit, func(p schema.CheckPlot, id int64) int { return cmp.Compare(p.Visit, id) })
	j := i
	for j < len(c.plots) && c.plots[j].Visit == visit {
		j++
	}
	return c.plots[i:j]
}

// part is one component of a frame, as it was clipped.
func (c *checker) part(v *schema.CheckVisit, component schema.Component) schema.CheckPlot {
	p := schema.CheckPlot{Visit: v.Visit, Component: component, FrameTypeID: v.FrameTypeID, Date: v.Date, ObserverID: v.ObserverID, EdgeRule: v.EdgeRule, HeightCM: v.HeightCM}
	for _, own := range c.plotsOf(v.Visit) {
		if own.Component != component {
			continue
		}
		p.FrameTypeID = cmp.Or(own.FrameTypeID, p.FrameTypeID)
		p.Date = cmp.Or(own.Date, p.Date)
		p.ObserverID = cmp.Or(own.ObserverID, p.ObserverID)
		p.EdgeRule = cmp.Or(own.EdgeRule, p.EdgeRule)
		if own.HeightCM.Valid {
			p.HeightCM = own.HeightCM
		}
	}
	return p
}

// placeOf is the site and season of an occasion.
func (c *checker) placeOf(occasion int64) (place, int) {
	o := c.occasions[occasion]
	return place{c.sites[o.SiteID], o.Season}, o.Year
}

// label names a frame within its occasion.
func label(v *schema.CheckVisit) string {
	words := "frame " + v.Frame
	if v.Transect != "1" {
		words = "transect " + v.Transect + " " + words
	}
	if v.Caged {
		words = "caged " + words
	}
	return words
}

// labels names frames in short, in the order given.
func labels(names []string) string { return firstOf(names, 12, ", ") }

func (c *checker) source(importID, line int64) string {
	if line == 0 {
		return c.names.Files[importID]
	}
	return fmt.Sprintf("%s line %d", c.names.Files[importID], line)
}

// occasionWords names an occasion: site, growth year and season.
func (c *checker) occasionWords(occasion int64) string {
	p, year := c.placeOf(occasion)
	return fmt.Sprintf("%s %d %s", p.site.Site, year, p.season)
}

// occasionsIn names the occasions of a series in some years, each with where
// its first frame came from.
func (c *checker) occasionsIn(p place, years []int) []string {
	n, ok := c.seriesOf[p]
	if !ok {
		return nil
	}
	var out []string
	for _, o := range c.series[n].occasions {
		if !slices.Contains(years, o.Year) {
			continue
		}
		words := c.occasionWords(o.ID)
		if frames := c.framesOf(o.ID); len(frames) > 0 {
			words += " (" + c.source(frames[0].ImportID, frames[0].Line) + " and on)"
		}
		out = append(out, words)
	}
	return out
}

// frameKey is the natural key of a frame.
func (c *checker) frameKey(v *schema.CheckVisit) string {
	return strings.Join([]string{c.occasionWords(v.Occasion()), v.Transect, v.Frame, strconv.FormatBool(v.Caged)}, "\x1d")
}

// ofFrame is a frame as evidence, with the values that were judged.
func (c *checker) ofFrame(v *schema.CheckVisit, values string) evidence {
	return evidence{fmt.Sprintf("%s %s (%s)", c.occasionWords(v.Occasion()), label(v), c.source(v.ImportID, v.Line)), c.frameKey(v), values}
}

// ofBag is a bag as evidence, with its weights.
func (c *checker) ofBag(b *schema.CheckBag) evidence {
	v := c.visit(b.Visit)
	species := c.names.Species[b.SpeciesID].Code
	words := fmt.Sprintf("%s %s %s", c.occasionWords(v.Occasion()), label(v), b.Component)
	for _, more := range []string{species, b.Bag} {
		if more != "" {
			words += " " + more
		}
	}
	return evidence{words + " (" + c.source(b.ImportID, b.Line) + ")",
		strings.Join([]string{c.frameKey(v), b.Component.String(), species, b.Bag}, "\x1d"),
		strings.Join([]string{exact(b.GreenG), exact(b.DryG), exact(b.DMPct), b.Basis}, " ")}
}

// ofDrying is a drying sample as evidence; its weights are part of its key.
func (c *checker) ofDrying(d *schema.CheckDrying) evidence {
	species := c.names.Species[d.SpeciesID].Code
	words := fmt.Sprintf("%s drying sample of %s", c.occasionWords(d.Occasion), d.Component)
	for _, more := range []string{species, d.GrowthForm, d.Bag} {
		if more != "" {
			words += " " + more
		}
	}
	if d.Frame != "" {
		words += " from frame " + d.Frame
	}
	key := strings.Join([]string{c.occasionWords(d.Occasion), d.Component.String(), species, d.GrowthForm, d.Transect, d.Frame, d.Bag}, "\x1d")
	return evidence{words + " (" + c.source(d.ImportID, d.Line) + ")", key, fmt.Sprint(d.GreenG, d.DryG, d.Basis)}
}

// exact writes a value that may be missing.
func exact(n schema.Num) string {
	if !n.Valid {
		return ""
	}
	return strconv.FormatFloat(n.Float64, 'g', -1, 64)
}

// grams writes a weight for people.
func grams(g float64) string { return strconv.FormatFloat(g, 'g', 5, 64) + " g" }

// componentsIn lists the components of a mask.
func componentsIn(mask uint8) []schema.Component {
	var out []schema.Component
	for _, component := range schema.Components {
		if mask&component.Bit() != 0 {
			out = append(out, component)
		}
	}
	return out
}
