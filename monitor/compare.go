package monitor

import (
	"cmp"
	"slices"

	"clipledger/monitor/stat"
	"clipledger/schema"
)

// Did a site change between two growth years? The difference year 2 − year 1
// of every site, season and component, its interval and its p, from the frames
// of both years and the error of both years' drying ratios. Which frames are
// paired, and by which sources, stands in pairing.go; what must be said beside
// it in compareremarks.go; the sources of the formulas in stat/change.go,
// stat/multiple.go and stat/changepower.go. The finite population correction
// is never used here: a change is not of the units that were there, but of
// what made them grow.

// The designs of a comparison.
const (
	PairedFrames    = "paired-frames"
	PairedTransects = "paired-transects"
	Independent     = "independent"
)

// ChangePower is the chance of detection that smallest detectable changes and
// sample sizes for a change are worked out for (a convention of the trade).
const ChangePower = 0.80

// Comparison is the change of one site × season × component between two growth
// years. Densities are g/m². What could not be had is missing, and a remark
// says why.
type Comparison struct {
	Site      *schema.SiteRecord
	Season    string
	Component string
	Year1     int // 0 where there is no year to compare with
	Year2     int

	Design        string // "" where nothing was compared
	N1, N2        int    // sampling units used
	Mean1, Mean2  Num    // of the units used
	Difference    Num    // year 2 − year 1
	DifferencePct Num    // of the mean of year 1
	SE            Num
	SEDrying      Num // the drying ratios' part, of both years
	CI            Interval
	T, DF, P      Num
	PHolm, PBH    Num // adjusted over the family; production has none
	MinDetectable Num // by this sample, at the power of ChangePower
	LeftOut1      int // frames with a value in one of the years only, where the same frames are compared
	LeftOut2      int
	NWanted       Num // sampling units a year for the wanted change
	NNormal       Num // the same by normal theory, as handbooks have it
	NTabled       Num // and by z with two decimals
	Remarks       []Remark
}

// ChangeQuery says which growth years are compared and which comparisons are
// shown.
type ChangeQuery struct {
	// Filter says what is shown. It does not decide what is compared: adjusted
	// p do not depend on where somebody looks. Its years are those of year 2.
	Filter
	From, To   int     // growth years to compare; 0: each with the one before it that has values
	Confidence float64 // of intervals, and 1 − alpha; 0: the ledger's setting
	WantedPct  float64 // a change in percent to work out sample sizes for; 0: none
	Unit       Unit    // of weights named in remarks; zero: lb/ac
}

// Family is what the adjusted p of a call of Compare rest on: all its tests,
// shown or not, without production, which repeats its parts.
type Family struct {
	Tests    int
	Alpha    float64
	ByChance float64 // tests that come out below alpha where nothing changed, Tests × Alpha
	Below    int     // tests below alpha
	Holm     int     // and below it after Holm's adjustment
	BH       int     // and after Benjamini and Hochberg's
}

// Compare compares growth years of every site, season and component of the
// ledger and returns the comparisons that the query shows, in the order of
// site, season, component and year.
func Compare(snap *schema.Snapshot, q ChangeQuery) ([]*Comparison, Family, error) {
	c, err := newCalculation(snap, Query{Confidence: q.Confidence, Unit: q.Unit, compares: true, Clipped: true}, nil)
	if err != nil {
		return nil, Family{}, err
	}
	cc := &comparing{calculation: c, query: q, manners: map[int64][]schema.Manner{}}
	if err := snap.Manners(func(occasion int64, m schema.Manner) { cc.manners[occasion] = append(cc.manners[occasion], m) }); err != nil {
		return nil, Family{}, err
	}
	c.compare = cc.group
	if err := c.run(); err != nil {
		return nil, Family{}, err
	}
	family := familyOf(cc.all, 1-c.confidence)
	shown := cc.all[:0]
	for _, x := range cc.all {
		if q.shows(x) {
			shown = append(shown, x)
		}
	}
	return shown, family, nil
}

// shows tells whether a comparison is wanted.
func (q *ChangeQuery) shows(x *Comparison) bool {
	return q.site(x.Site) && q.year(x.Year2) && q.season(x.Season) && q.component(x.Component)
}

// comparing is what one call of Compare works with.
type comparing struct {
	*calculation
	query   ChangeQuery
	manners map[int64][]schema.Manner // by occasion
	all     []*Comparison
}

// pair is two years of one series; one is nil where it has no values.
type pair struct {
	one, two *Mean
	out      *Comparison
}

// group compares the years of a group of sites, on two cores where they are
// many. The means come in the order of their sites.
func (c *comparing) group(means []*Mean) error {
	var pairs []pair
	for start := 0; start < len(means); {
		end := start + 1
		for end < len(means) && means[end].Site.ID == means[start].Site.ID {
			end++
		}
		pairs = append(pairs, c.pairsOf(means[start:end])...)
		start = end
	}
	inHalves(len(pairs), func(i int) { c.work(&pairs[i]) })
	for _, p := range pairs {
		c.all = append(c.all, p.out)
	}
	return nil
}

// inHalves calls fn for 0 to n−1, on two cores where they are many.
func inHalves(n int, fn func(int)) {
	half := 0
	if n >= worthTwo {
		half = n / 2
	}
	done := make(chan struct{})
	go func() {
		defer close(done)
		for i := range half {
			fn(i)
		}
	}()
	for i := half; i < n; i++ {
		fn(i)
	}
	<-done
}

// work compares the years of a pair.
func (c *comparing) work(p *pair) {
	if p.one == nil || p.two == nil {
		p.lonely()
		return
	}
	ch, remarks := c.changeOf(p.one, p.two)
	p.out.Remarks = append(p.out.Remarks, remarks...)
	p.out.Mean1, p.out.Mean2 = p.one.Mean, p.two.Mean
	p.out.N1, p.out.N2 = p.one.N, p.two.N
	if ch != nil {
		c.fill(p.out, ch)
		c.wanted(p.out, ch)
	}
	c.beside(p)
}

// lonely fills in the only year that has values.
func (p *pair) lonely() {
	if p.one != nil {
		p.out.N1, p.out.Mean1 = p.one.N, p.one.Mean
	}
	if p.two != nil {
		p.out.N2, p.out.Mean2 = p.two.N, p.two.Mean
	}
}

// fill puts a change and its test into a comparison.
func (c *calculation) fill(x *Comparison, ch *change) {
	x.Design, x.N1, x.N2 = ch.design, ch.n1, ch.n2
	x.LeftOut1, x.LeftOut2 = ch.left1, ch.left2
	if ch.n1 == 0 || ch.n2 == 0 {
		x.Mean1, x.Mean2 = Num{}, Num{}
		return
	}
	x.Mean1, x.Mean2, x.Difference = schema.Some(ch.mean1), schema.Some(ch.mean2), schema.Some(ch.difference)
	if ch.mean1 > 0 {
		x.DifferencePct = schema.Some(100 * ch.difference / ch.mean1)
	}
	test, ok := ch.test()
	if !ok {
		return
	}
	x.SE, x.T, x.DF, x.P = schema.Some(test.SE), schema.Some(test.T), schema.Some(test.DF), schema.Some(test.P)
	if ch.dryingComplete {
		x.SEDrying = schema.Some(ch.dryingSE())
	}
	x.CI = intervalOf(stat.TInterval(ch.difference, test.SE, c.t.Quantile((1+c.confidence)/2, test.DF)))
	if d, ok := c.detectable(test); ok {
		x.MinDetectable = schema.Some(d)
	}
}

// detectable is the smallest change that a test of this standard error would
// have seen.
func (c *calculation) detectable(test stat.TTest) (float64, bool) {
	delta, ok := c.deltas.of(test.DF, 1-c.confidence, &c.t)
	return delta * test.SE, ok
}

// wanted fills in the sample sizes for the wanted change.
func (c *comparing) wanted(x *Comparison, ch *change) {
	if c.query.WantedPct == 0 || !x.T.Valid || ch.mean1 <= 0 {
		return
	}
	w := stat.Wanted{Change: c.query.WantedPct / 100 * ch.mean1, Alpha: 1 - c.confidence, Power: ChangePower, PerUnit: ch.perUnit, Fixed: ch.drying}
	if n, ok := w.N(&c.t); ok {
		x.NWanted = schema.Some(float64(n))
	} else {
		x.note("out-of-reach", "no number of sampling units would show the wanted change: what the drying ratios miss hides it; dry more samples")
	}
	if exact, tabled, ok := w.HandbookN(); ok {
		x.NNormal, x.NTabled = schema.Some(exact), schema.Some(tabled)
	}
}

// familyOf adjusts the p of all tests together.
func familyOf(all []*Comparison, alpha float64) Family {
	var tests []*Comparison
	var p []float64
	for _, x := range all {
		if x.P.Valid && x.Component != Production {
			tests, p = append(tests, x), append(p, x.P.Float64)
		}
	}
	f := Family{Tests: len(p), Alpha: alpha, ByChance: alpha * float64(len(p))}
	holm, bh := stat.Holm(p), stat.BenjaminiHochberg(p)
	below := func(p float64) int {
		if p < alpha {
			return 1
		}
		return 0
	}
	for i, x := range tests {
		x.PHolm, x.PBH = schema.Some(holm[i]), schema.Some(bh[i])
		f.Below += below(p[i])
		f.Holm += below(holm[i])
		f.BH += below(bh[i])
	}
	return f
}

// likeYears are the years of one season and component of a site.
type likeYears struct {
	season, component string
	means             []*Mean // in the order of the years
}

// likeYearsOf gathers the means of one site by season and component.
func likeYearsOf(means []*Mean) []*likeYears {
	type name struct{ season, component string }
	by := map[name]*likeYears{}
	var out []*likeYears
	for _, m := range means {
		k := name{m.Season, m.Component}
		if by[k] == nil {
			by[k] = &likeYears{season: m.Season, component: m.Component}
			out = append(out, by[k])
		}
		by[k].means = append(by[k].means, m)
	}
	slices.SortStableFunc(out, func(a, b *likeYears) int {
		return cmp.Or(cmp.Compare(a.season, b.season), componentOrder(a.component)-componentOrder(b.component))
	})
	return out
}

// pairsOf says which years of a site are compared.
func (c *comparing) pairsOf(site []*Mean) []pair {
	var out []pair
	for _, s := range likeYearsOf(site) {
		if c.query.From != 0 || c.query.To != 0 {
			out = append(out, s.named(c.query.From, c.query.To, site)...)
		} else {
			out = append(out, s.consecutive(site)...)
		}
	}
	return out
}

func (s *likeYears) pair(one, two *Mean, year1, year2 int) pair {
	return pair{one, two, &Comparison{Site: s.means[0].Site, Season: s.season, Component: s.component, Year1: year1, Year2: year2}}
}

// consecutive pairs each year with the one before it that has values.
func (s *likeYears) consecutive(site []*Mean) []pair {
	var out []pair
	var last *Mean
	for _, m := range s.means {
		if !m.Mean.Valid {
			continue
		}
		if last != nil {
			p := s.pair(last, m, last.Year, m.Year)
			if m.Year-last.Year > 1 {
				p.out.note("years-between", "the year before has no values here: compared with the last one that has")
			}
			out = append(out, p)
		}
		last = m
	}
	if len(out) > 0 {
		return out
	}
	return []pair{s.single(last, site)}
}

// single is a series with values in one year, or in none.
func (s *likeYears) single(m *Mean, site []*Mean) pair {
	if m == nil {
		p := s.pair(nil, nil, 0, s.means[len(s.means)-1].Year)
		p.out.warn("no-values", "frames were clipped, but none has a value: nothing to compare")
		return p
	}
	p := s.pair(nil, m, 0, m.Year)
	p.out.note("one-year", "only one growth year has values here: nothing to compare it with")
	s.noteSeasons(p.out, site, func(year int) bool { return year != m.Year })
	return p
}

// named pairs the two years that were asked for.
func (s *likeYears) named(from, to int, site []*Mean) []pair {
	var one, two *Mean
	for _, m := range s.means {
		switch {
		case !m.Mean.Valid:
		case m.Year == from:
			one = m
		case m.Year == to:
			two = m
		}
	}
	if one == nil && two == nil {
		return nil
	}
	p := s.pair(one, two, from, to)
	if one == nil || two == nil {
		p.out.note("no-values", "only one of the two years has values here: nothing to compare it with")
		s.noteSeasons(p.out, site, func(year int) bool { return year == from && one == nil || year == to && two == nil })
	}
	return []pair{p}
}

// noteSeasons says so where the component was clipped in other seasons of the
// years that lack.
func (s *likeYears) noteSeasons(x *Comparison, site []*Mean, lacks func(year int) bool) {
	for _, m := range site {
		if m.Component == s.component && m.Season != s.season && m.Mean.Valid && lacks(m.Year) {
			x.note("other-seasons", "other years were clipped in another season: only like seasons are compared")
			return
		}
	}
}
