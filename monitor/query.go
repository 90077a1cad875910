package monitor

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"clipledger/monitor/stat"
	"clipledger/schema"
)

// Query says which means are wanted and how sure their intervals should be.
type Query struct {
	Filter
	Confidence float64  // of intervals; 0: the ledger's setting
	By         string   // "", treatment, block, transect, species or observer
	Assured    bool     // work out assured sizes too: they cost more than all the rest
	Unit       Unit     // of weights named in remarks; zero: lb/ac
	KeepValues bool     // keep the sampling units' and the frames' values
	Classes    bool     // the class of each mean, by its site's scheme
	FullSeason bool     // work out full-season production too
	Species    []string // only these species: production of the chosen ones; nil: all
	Clipped    bool     // clipped frames alone, also at sites that say double sampling
	Change     bool     // work out which change from the year before the sample could see

	compares bool // keep the frames: years are compared
}

func (q *Query) unit() Unit {
	if q.Unit.Name == "" {
		return Units[0]
	}
	return q.Unit
}

// ByWords are what means can be split by.
var ByWords = []string{"treatment", "block", "transect", "species", "observer"}

// calculation is what one call of Means works with.
type calculation struct {
	snap       *schema.Snapshot
	query      Query
	rules      Rules
	confidence float64
	t          stat.TTable
	tables     []string // book tables in force
	sizes      sizeCache
	yearly     map[int64]map[schema.Component]string    // sites whose components have different seasons
	recorded   map[schema.SiteSeason][]schema.Component // parts of production ever recorded
	classes    classes
	season     *seasons               // of the occasion at hand
	double     map[int64]*eyeOccasion // estimates of sites that say double sampling, by occasion; nil until needed
	emit       func(*Mean) error
	compare    func([]*Mean) error // in place of emit, the sorted means of a group of sites
	deltas     deltaCache
}

// Rules are the settings that the numbers rest on.
type Rules struct {
	Basis     string
	Moisture  float64
	Precision stat.Precision
	Pilot     bool // sample-size-rule
	Assurance float64
	Cost      float64 // of a transect, in frames
	Factors   map[string]float64
	Values    schema.Values
}

// RulesOf reads the rules out of a ledger's settings.
func RulesOf(v schema.Values) Rules {
	return Rules{
		Basis: v["basis"], Moisture: v.Must("moisture"), Pilot: v["sample-size-rule"] == "pilot", Assurance: v.Must("assurance"),
		Cost: v.Must("transect-cost"), Factors: v.BasisFactors(), Values: v,
		Precision: stat.Precision{Relative: v.Must("precision"), Confidence: v.Must("adequacy-confidence"), OneSided: v["sides"] == "one-sided"},
	}
}

// Means works out the mean of every site, growth year, season and component
// that the query lets through, and hands them on in the order of site, year,
// season, component and group.
func Means(snap *schema.Snapshot, q Query, emit func(*Mean) error) error {
	c, err := newCalculation(snap, q, emit)
	if err != nil {
		return err
	}
	return c.run()
}

// run works out the means of all that the query reads, group by group of
// sites.
func (c *calculation) run() error {
	snap, q := c.snap, &c.query
	sites, err := snap.Sites()
	if err != nil {
		return err
	}
	if q.Classes {
		if c.classes, err = classesOf(snap, sites); err != nil {
			return err
		}
	}
	occasions, err := snap.Occasions()
	if err != nil {
		return err
	}
	bySite := map[int64][]schema.OccasionRecord{}
	for _, o := range occasions {
		if q.reads(&o) {
			bySite[o.SiteID] = append(bySite[o.SiteID], o)
		}
	}
	most := occasionsAtOnce
	if q.KeepValues {
		most = occasionsWithValues
	}
	for _, group := range siteGroups(sites, bySite, q.site, most) {
		if err := c.group(group, bySite); err != nil {
			return err
		}
	}
	return nil
}

func newCalculation(snap *schema.Snapshot, q Query, emit func(*Mean) error) (*calculation, error) {
	values, err := snap.Settings()
	if err != nil {
		return nil, err
	}
	c := &calculation{snap: snap, query: q, rules: RulesOf(values), confidence: q.Confidence, emit: emit, sizes: sizeCache{}}
	c.query.compares = c.query.compares || q.Change && q.By == ""
	if c.confidence == 0 {
		c.confidence = values.Must("confidence")
	}
	if q.By != "" && !slices.Contains(ByWords, q.By) {
		return nil, fmt.Errorf("means cannot be split by %q; use %s", q.By, strings.Join(ByWords, ", "))
	}
	if c.tables, err = snap.TablesInForce(); err != nil {
		return nil, err
	}
	if c.recorded, err = snap.RecordedParts(); err != nil {
		return nil, err
	}
	c.yearly, err = snap.SeasonsOfComponents()
	return c, err
}

// occasionsAtOnce bounds how many occasions' results are held before they are
// handed on in order.
const occasionsAtOnce = 10_000

// occasionsWithValues is the same where results keep the values of frames.
const occasionsWithValues = 2_000

// siteGroups cuts the wanted sites, in the order of their codes, into groups
// of a bounded number of occasions.
func siteGroups(sites []schema.SiteRecord, bySite map[int64][]schema.OccasionRecord, wanted func(*schema.SiteRecord) bool, most int) [][]*schema.SiteRecord {
	var groups [][]*schema.SiteRecord
	held := most
	for i := range sites {
		n := len(bySite[sites[i].ID])
		if n == 0 || !wanted(&sites[i]) {
			continue
		}
		if held += n; held > most {
			groups, held = append(groups, nil), n
		}
		last := len(groups) - 1
		groups[last] = append(groups[last], &sites[i])
	}
	return groups
}

// group works out the means of a group of sites: one pass over the ledger's
// frames in the order in which they lie, then the results in the order of the
// sites.
func (c *calculation) group(sites []*schema.SiteRecord, bySite map[int64][]schema.OccasionRecord) error {
	wanted := map[int64]wantedOccasion{}
	var ids []int64
	for _, s := range sites {
		for _, o := range bySite[s.ID] {
			wanted[o.ID] = wantedOccasion{o, s}
			ids = append(ids, o.ID)
		}
	}
	slices.Sort(ids)
	results, err := c.scanAll(ids, wanted)
	if err != nil {
		return err
	}
	results = append(results, c.yearlyTotals(results)...)
	slices.SortStableFunc(results, compareMeans)
	if c.compare != nil {
		return c.compare(results)
	}
	if c.query.Change {
		c.detectableChanges(results)
	}
	for _, m := range results {
		m.kept = nil
		if c.query.year(m.Year) && c.query.season(m.Season) && c.query.component(m.Component) {
			c.classify(m)
			if err := c.emit(m); err != nil {
				return err
			}
		}
	}
	return nil
}

// worthTwo is the number of occasions from which a second core is worth its
// connection.
const worthTwo = 200

// scanAll works out the occasions with these numbers, on two cores where they
// are many.
func (c *calculation) scanAll(ids []int64, wanted map[int64]wantedOccasion) ([]*Mean, error) {
	if len(ids) < worthTwo {
		return c.scanRuns(ids, wanted)
	}
	twin, end := c.snap.Twin()
	defer end()
	if twin == nil {
		return c.scanRuns(ids, wanted)
	}
	half := len(ids) / 2
	other := &calculation{snap: twin, query: c.query, rules: c.rules, confidence: c.confidence, tables: c.tables, sizes: sizeCache{}, yearly: c.yearly, recorded: c.recorded}
	var second []*Mean
	var secondErr error
	done := make(chan struct{})
	go func() {
		defer close(done)
		second, secondErr = other.scanRuns(ids[half:], wanted)
	}()
	first, err := c.scanRuns(ids[:half], wanted)
	<-done
	return append(first, second...), errors.Join(err, secondErr)
}

// scanRuns works out occasions run by run of numbers.
func (c *calculation) scanRuns(ids []int64, wanted map[int64]wantedOccasion) ([]*Mean, error) {
	var results []*Mean
	for _, r := range ranges(ids) {
		if err := c.scan(r[0], r[1], wanted, func(m *Mean) { results = append(results, m) }); err != nil {
			return nil, err
		}
	}
	return results, nil
}

// occasions hands on every wanted occasion with its frames, one after another.
func (c *calculation) occasions(fn func(*occasion) error) error {
	sites, err := c.snap.Sites()
	if err != nil {
		return err
	}
	all, err := c.snap.Occasions()
	if err != nil {
		return err
	}
	place := map[int64]*schema.SiteRecord{}
	for i := range sites {
		if c.query.site(&sites[i]) {
			place[sites[i].ID] = &sites[i]
		}
	}
	wanted := map[int64]wantedOccasion{}
	var ids []int64
	for _, o := range all {
		if site := place[o.SiteID]; site != nil && c.query.occasion(&o) && c.query.season(o.Season) {
			wanted[o.ID] = wantedOccasion{o, site}
			ids = append(ids, o.ID)
		}
	}
	for _, r := range ranges(ids) {
		if err := c.pass(r[0], r[1], wanted, fn); err != nil {
			return err
		}
	}
	return nil
}

type wantedOccasion struct {
	record schema.OccasionRecord
	site   *schema.SiteRecord
}

// ranges joins sorted numbers into runs without gaps.
func ranges(ids []int64) [][2]int64 {
	var out [][2]int64
	for _, id := range ids {
		if n := len(out); n > 0 && out[n-1][1] == id-1 {
			out[n-1][1] = id
			continue
		}
		out = append(out, [2]int64{id, id})
	}
	return out
}

// scan reads the frames of a run of occasions and works out each as it ends.
func (c *calculation) scan(from, to int64, wanted map[int64]wantedOccasion, keep func(*Mean)) error {
	return c.pass(from, to, wanted, func(o *occasion) error { return c.finish(o, keep) })
}

// pass reads the frames of a run of occasions and hands on each occasion as it
// ends; fn may not keep it.
func (c *calculation) pass(from, to int64, wanted map[int64]wantedOccasion, fn func(*occasion) error) error {
	var o occasion
	current := int64(-1)
	finish := func() error {
		if current < 0 {
			return nil
		}
		return fn(&o)
	}
	err := c.snap.Frames(from, to, func(v *schema.FrameValue) error {
		if id := v.Occasion(); id != current {
			if err := finish(); err != nil {
				return err
			}
			current = id
			o.reset(wanted[id].record, wanted[id].site)
		}
		o.take(v)
		return nil
	})
	if err != nil {
		return err
	}
	return finish()
}

// compareMeans is the order of results.
func compareMeans(a, b *Mean) int {
	if c := strings.Compare(a.Site.Site, b.Site.Site); c != 0 {
		return c
	}
	if a.Year != b.Year {
		return a.Year - b.Year
	}
	if c := strings.Compare(a.Season, b.Season); c != 0 {
		return c
	}
	if c := componentOrder(a.Component) - componentOrder(b.Component); c != 0 {
		return c
	}
	return strings.Compare(a.Group, b.Group)
}

// componentOrder puts the parts of production first, then their total, then
// what is not production.
func componentOrder(name string) int {
	return slices.Index([]string{"herbaceous", "browse", Production, "standing-dead", "litter"}, name)
}
