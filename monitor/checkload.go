package monitor

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"clipledger/schema"
)

// checker is one run of the quality checks: the ledger's names, its occasions
// and all its frames, which most checks look at, and what was found so far.
type checker struct {
	snap      *schema.Snapshot
	names     schema.CheckNames
	factors   map[string]float64 // of the bases; "" is no basis given
	basis     string             // the ledger's
	sites     map[int64]*schema.SiteRecord
	occasions map[int64]*schema.OccasionRecord
	visits    []schema.CheckVisit // in the order of their numbers
	plots     []schema.CheckPlot  // likewise
	series    []series
	seriesOf  map[place]int // by number
	bagNotes  bagNotes
	findings  []Finding
}

// series are the occasions of one site and season, by growth year.
type series struct {
	place
	occasions []*schema.OccasionRecord
}

func newChecker(s *schema.Snapshot) (*checker, error) {
	c := &checker{snap: s, sites: map[int64]*schema.SiteRecord{}, occasions: map[int64]*schema.OccasionRecord{}, seriesOf: map[place]int{}}
	values, err := s.Settings()
	if err != nil {
		return nil, err
	}
	c.basis, c.factors = values["basis"], values.BasisFactors()
	c.factors[""] = 1
	if c.names, err = s.CheckNames(); err != nil {
		return nil, err
	}
	sites, err := s.Sites()
	if err != nil {
		return nil, err
	}
	for i := range sites {
		c.sites[sites[i].ID] = &sites[i]
	}
	if err := c.readOccasions(); err != nil {
		return nil, err
	}
	frames, plots, err := s.CountFrames()
	if err != nil {
		return nil, err
	}
	c.visits, c.plots = make([]schema.CheckVisit, 0, frames), make([]schema.CheckPlot, 0, plots)
	if err := s.CheckVisits(func(v *schema.CheckVisit) error { c.visits = append(c.visits, *v); return nil }); err != nil {
		return nil, err
	}
	return c, s.CheckPlots(func(p *schema.CheckPlot) error { c.plots = append(c.plots, *p); return nil })
}

// readOccasions gathers the occasions into series.
func (c *checker) readOccasions() error {
	list, err := c.snap.Occasions()
	if err != nil {
		return err
	}
	order := make([]*schema.OccasionRecord, len(list))
	for i := range list {
		order[i] = &list[i]
		c.occasions[list[i].ID] = &list[i]
	}
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
	return nil
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
