package main

import (
	"context"
	"errors"
	"fmt"
	"path/filepath"
	"regexp"
	"runtime/debug"
	"slices"
	"strings"
	"sync/atomic"

	"github.com/spf13/cobra"

	"clipledger/charts"
	"clipledger/monitor"
	"clipledger/monitor/stat"
	"clipledger/schema"
)

// reportOptions are what a report is asked for with.
type reportOptions struct {
	flags  filterFlags
	filter monitor.Filter
	title  string
	single string // a site: its page alone, as one file
	also   string // a second unit
}

func newReport(a *app) *cobra.Command {
	o := &reportOptions{}
	cmd := &cobra.Command{
		Use:   "report DIR",
		Short: "Write the report: static pages with charts that open without a network",
		Long: `Writes a folder of static pages: an index of all sites with a map, a page a site
with its charts and the table of the same numbers, an annual summary for every
growth year, made to be printed, what the quality checks found, the methods, and
the CSV behind every chart. DIR must be new, empty or an earlier report; only
pages that changed are written again, and they take the place of the old ones
when all are there.

--single SITE writes the page of one site as one file, FILE.html, that can be
sent by mail: charts, numbers and methods stand in it.`,
		Example: "  clipledger report report\n  clipledger report hills --stratum Foothills --units kg/ha --title \"The foothills\"\n" +
			"  clipledger report quill.html --single QUILL --also kg/ha",
		Args: cobra.ExactArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			var err error
			if o.filter, err = o.flags.parse(); err != nil {
				return err
			}
			if o.also != "" {
				if _, err := monitor.UnitNamed(o.also); err != nil {
					return usageError{err}
				}
			}
			if o.single != "" {
				return runSingle(cmd.Context(), a, o, args[0])
			}
			return runReport(cmd.Context(), a, o, args[0])
		},
	}
	o.flags.add(cmd)
	cmd.Flags().StringVar(&o.title, "title", "", "a `title` at the head of the pages in place of the ledger's name")
	cmd.Flags().StringVar(&o.single, "single", "", "the page of this `site` alone, as one file")
	cmd.Flags().StringVar(&o.also, "also", "", "a second `unit` to show beside the first: lb/ac, kg/ha or g/m2")
	return cmd
}

// dress adds what a report is asked for with that no number rests on.
func (o *reportOptions) dress(m *charts.Report) error {
	m.Title = o.title
	if o.also == "" || o.also == m.Unit {
		return nil
	}
	first, err := monitor.UnitNamed(m.Unit)
	if err != nil {
		return err
	}
	second, err := monitor.UnitNamed(o.also)
	if err != nil {
		return err
	}
	m.Also = &charts.OtherUnit{Name: second.Name, Factor: second.Of(1) / first.Of(1)}
	return nil
}

const reportGCPercent = 40

func runReport(ctx context.Context, a *app, o *reportOptions, dir string) error {
	// The pages of hundreds of sites are held until they are written: better
	// some more collecting than twice their memory.
	defer debug.SetGCPercent(debug.SetGCPercent(reportGCPercent))
	var model *charts.Report
	unchanged := 0
	err := a.read(ctx, func(s *schema.Snapshot) error {
		stamp, err := reportStamp(a, s, o)
		if err != nil {
			return err
		}
		if n, same := charts.Unchanged(dir, stamp); same {
			unchanged = n
			return nil
		}
		model, err = reportModel(a, s, o.filter)
		if err == nil {
			model.Stamp = stamp
			err = o.dress(model)
		}
		return err
	})
	if err != nil {
		return err
	}
	if model == nil {
		a.say("nothing changed since this report was written")
		_, err = fmt.Fprintf(a.Out, "open %s (%s)\n", filepath.Join(dir, "index.html"), counted(unchanged, "site"))
		return err
	}
	if len(model.Sites) == 0 {
		a.say("no record fits: the report has no sites")
	}
	var done, total atomic.Int64
	stop := a.progress(func() string { return fmt.Sprintf("%d of %d pages", done.Load(), total.Load()) })
	err = charts.Write(dir, model, func(d, t int) { done.Store(int64(d)); total.Store(int64(t)) })
	stop()
	if err != nil {
		return err
	}
	_, err = fmt.Fprintf(a.Out, "open %s (%s)\n", filepath.Join(dir, "index.html"), counted(len(model.Sites), "site"))
	return err
}

// runSingle writes the page of one site as one file.
func runSingle(ctx context.Context, a *app, o *reportOptions, file string) error {
	if !strings.EqualFold(filepath.Ext(file), ".html") {
		return usageError{fmt.Errorf("--single writes one file; name it, such as %s.html", file)}
	}
	o.filter.Sites = []string{literalGlob(o.single)}
	var model *charts.Report
	err := a.read(ctx, func(s *schema.Snapshot) (err error) {
		model, err = reportModel(a, s, o.filter)
		return err
	})
	if err != nil {
		return err
	}
	if len(model.Sites) == 0 {
		return usageError{fmt.Errorf("no site %q has records that fit; means lists the sites", o.single)}
	}
	if err := o.dress(model); err != nil {
		return err
	}
	if err := charts.WriteSingle(file, model, model.Sites[0].Code); err != nil {
		return err
	}
	_, err = fmt.Fprintf(a.Out, "open %s (1 site, one file)\n", file)
	return err
}

// literalGlob is a pattern that fits a code and nothing else.
func literalGlob(code string) string {
	return regexp.MustCompile(`[\\*?\[]`).ReplaceAllStringFunc(code, func(c string) string { return "\\" + c })
}

// ledgerName is the file's name without its ending.
func ledgerName(a *app) string {
	return strings.TrimSuffix(filepath.Base(a.ledger), filepath.Ext(a.ledger))
}

// reportModel gathers everything the pages say, in the unit of display.
func reportModel(a *app, s *schema.Snapshot, filter monitor.Filter) (*charts.Report, error) {
	values, err := s.Settings()
	if err != nil {
		return nil, err
	}
	unit, err := a.unit(values)
	if err != nil {
		return nil, err
	}
	m, err := reportHead(a, s, values, unit)
	if err != nil {
		return nil, err
	}
	sites, err := s.Sites()
	if err != nil {
		return nil, err
	}
	remarks, err := monitor.SiteRemarks(s, sites)
	if err != nil {
		return nil, err
	}
	b := &siteBuilder{unit: unit, remarks: remarks, classes: map[string][]schema.ClassBound{}, place: map[string]int{}, ids: map[string]int64{}, wanted: monitor.RulesOf(values).Precision}
	for i := range sites {
		if name := sites[i].ClassScheme; name != "" && b.classes[name] == nil {
			if b.classes[name], err = s.ClassBounds(name); err != nil {
				return nil, err
			}
		}
	}
	q := monitor.Query{Filter: filter, Confidence: a.confidence, Assured: true, KeepValues: true, Classes: true, FullSeason: true, Change: true, Unit: unit}
	beside := readBeside(s, filter)
	every := &summaryBuilder{unit: unit}
	if err := monitor.Everything(s, q, monitor.Sinks{Mean: b.add, Series: b.addTrend, Summary: every.add}); err != nil {
		beside.wait()
		return nil, err
	}
	m.Summaries = every.years
	if err := beside.wait(); err != nil {
		return nil, err
	}
	m.Quality = beside.quality
	b.addMakeups(beside.makeups)
	b.addLongTerm()
	if err := b.addChanges(s, q); err != nil {
		return nil, err
	}
	if err := b.addEyes(s, q); err != nil {
		return nil, err
	}
	if err := b.addUses(s, q); err != nil {
		return nil, err
	}
	m.Sites = b.finish()
	return m, nil
}

// besides is what a report needs that does not rest on the means: each part
// is read on a connection of its own, where one is to be had, while the means
// are worked out.
type besides struct {
	makeups *makeups
	quality []charts.QualityFinding
	parts   []chan error
}

func readBeside(s *schema.Snapshot, filter monitor.Filter) *besides {
	r := &besides{}
	r.start(s, func(s *schema.Snapshot) (err error) {
		r.quality, err = qualityOf(s, filter)
		return err
	})
	r.start(s, func(s *schema.Snapshot) (err error) {
		r.makeups, err = makeupsOf(s, filter)
		return err
	})
	return r
}

func (r *besides) start(s *schema.Snapshot, read func(*schema.Snapshot) error) {
	done := make(chan error, 1)
	r.parts = append(r.parts, done)
	twin, end := s.Twin()
	if twin == nil {
		done <- read(s)
		return
	}
	go func() {
		defer end()
		done <- read(twin)
	}()
}

// wait waits for all parts; it may be called once.
func (r *besides) wait() error {
	var errs []error
	for _, done := range r.parts {
		errs = append(errs, <-done)
	}
	return errors.Join(errs...)
}

// addUses adds the share taken, where caged frames stand beside open ones.
func (b *siteBuilder) addUses(s *schema.Snapshot, q monitor.Query) error {
	if caged, err := s.HasCaged(); err != nil || !caged {
		return err
	}
	return monitor.Utilizations(s, q, func(u *monitor.Utilization) error {
		site, _ := b.find(u.Site.Site, u.Component, u.Season)
		if site == nil {
			return nil
		}
		percent := func(n monitor.Num) *float64 {
			n.Float64 *= 100
			return ptr(n)
		}
		site.Uses = append(site.Uses, charts.Use{Year: u.Year, Season: u.Season, Component: u.Component, NCaged: u.NCaged, NOpen: u.NOpen, Caged: ptr(in(b.unit, u.Caged)),
			Open: ptr(in(b.unit, u.Open)), Pct: percent(u.Utilization), Low: percent(u.CI.Low), High: percent(u.CI.High), Since: sinceText(u), Remarks: remarksOf(u.Remarks)})
		return nil
	})
}

func reportHead(a *app, s *schema.Snapshot, values schema.Values, unit monitor.Unit) (*charts.Report, error) {
	rules := monitor.RulesOf(values)
	last, err := s.LastChange()
	if err != nil {
		return nil, err
	}
	m := &charts.Report{LedgerName: values["name"], LastChange: strings.NewReplacer("T", " ", "Z", " UTC").Replace(last), Unit: unit.Name, Basis: rules.Basis,
		Confidence: a.confidence, PrecisionPct: monitor.Percent(rules.Precision.Relative),
		AdequacyText: fmt.Sprintf("±%g %% at %g %% confidence", monitor.Percent(rules.Precision.Relative), monitor.Percent(rules.Precision.Confidence))}
	if m.Confidence == 0 {
		m.Confidence = values.Must("confidence")
	}
	if m.LedgerName == "" {
		m.LedgerName = ledgerName(a)
	}
	if rules.Precision.OneSided {
		m.AdequacyText += ", one-sided"
	}
	for _, d := range schema.Settings {
		m.Settings = append(m.Settings, charts.Setting{Name: d.Name, Value: values[d.Name], Meaning: d.Meaning})
	}
	tables, err := s.TablesInForce()
	if err != nil {
		return nil, err
	}
	for _, t := range tables {
		m.BookTables = append(m.BookTables, bookTable(t))
	}
	return m, nil
}

func bookTable(name string) charts.BookTable {
	if name == schema.HandbookTable {
		return charts.BookTable{Name: name, Loud: true, Remark: "built in; USDA NRCS National Range and Pasture Handbook (1997), percentage of air-dry matter by stage of growth, transcribed from memory and not checked against print"}
	}
	return charts.BookTable{Name: name, Remark: "imported by the user; its source stands with its values in the ledger"}
}

// siteBuilder turns means, which come site by site, into pages.
type siteBuilder struct {
	unit    monitor.Unit
	remarks map[int64][]monitor.Remark
	classes map[string][]schema.ClassBound // by scheme
	sites   []charts.Site
	place   map[string]int   // of a site's page, by code
	ids     map[string]int64 // of sites, by code
	wanted  stat.Precision
	t       stat.TTable
}

func (b *siteBuilder) add(m *monitor.Mean) error {
	if n := len(b.sites); n == 0 || b.sites[n-1].Code != m.Site.Site {
		b.place[m.Site.Site], b.ids[m.Site.Site] = n, m.Site.ID
		b.sites = append(b.sites, b.site(m.Site))
	}
	s := &b.sites[len(b.sites)-1]
	i := slices.IndexFunc(s.Series, func(x charts.Series) bool { return x.Component == m.Component && x.Season == m.Season })
	if i < 0 {
		i = len(s.Series)
		component, isPart := schema.ComponentNamed(m.Component)
		s.Series = append(s.Series, charts.Series{Component: m.Component, Season: m.Season, Production: !isPart || component.IsProduction(),
			Classes: classBandsOf(b.classes[m.Site.ClassScheme], m.Component, b.unit)})
	}
	years := s.Series[i].Years
	if n := len(years); n > 0 && m.HalfPct.Valid {
		years[n-1].Effort = nil // only the latest year's is drawn
	}
	y := yearOf(m, b.unit)
	for _, e := range monitor.Efforts(m, b.wanted, &b.t) {
		y.Effort = append(y.Effort, charts.Effort{N: e.N, HalfPct: e.HalfPct})
	}
	s.Series[i].Years = append(years, y)
	return nil
}

// finish puts every site's series in order: production, its parts, the rest.
func (b *siteBuilder) finish() []charts.Site {
	order := []string{monitor.Production, "herbaceous", "browse", "standing-dead", "litter"}
	for i := range b.sites {
		slices.SortStableFunc(b.sites[i].Series, func(x, y charts.Series) int {
			return slices.Index(order, x.Component) - slices.Index(order, y.Component)
		})
	}
	return b.sites
}

func (b *siteBuilder) site(s *schema.SiteRecord) charts.Site {
	out := charts.Site{Code: s.Site, Name: s.Name, Stratum: s.Stratum, SamplingUnit: s.SamplingUnit, Selection: s.Selection, Facts: siteFacts(s), ClassScheme: s.ClassScheme,
		Latitude: ptr(s.Latitude), Longitude: ptr(s.Longitude), Caution: s.ClassScheme != ""}
	for _, r := range joinComponents(b.remarks[s.ID]) {
		out.Remarks = append(out.Remarks, charts.Remark{Text: r.Text, Loud: r.Loud})
	}
	return out
}

// joinComponents makes one remark of those that say the same of several
// components: "herbaceous was ..." and "browse was ..." become "herbaceous
// and browse were ...".
func joinComponents(remarks []monitor.Remark) []monitor.Remark {
	type saying struct {
		code, rest string
		loud       bool
	}
	place := map[saying]int{}
	names := map[int][]string{}
	var out []monitor.Remark
	for _, r := range remarks {
		name, rest, ok := strings.Cut(r.Text, " was ")
		if _, is := schema.ComponentNamed(name); !ok || !is {
			out = append(out, r)
			continue
		}
		key := saying{r.Code, rest, r.Loud}
		i, seen := place[key]
		if !seen {
			i = len(out)
			place[key] = i
			out = append(out, r)
		}
		names[i] = append(names[i], name)
		if n := len(names[i]); n > 1 {
			out[i].Text = strings.Join(names[i][:n-1], ", ") + " and " + name + " were " + rest
		}
	}
	return out
}

func siteFacts(s *schema.SiteRecord) []charts.Fact {
	var out []charts.Fact
	add := func(name, value string) {
		if value != "" {
			out = append(out, charts.Fact{Name: name, Value: value})
		}
	}
	add("Ecological site", s.EcologicalSite)
	add("Frames", map[string]string{"same": "same spots every year", "shifted": "shifted along the transect", "new": "new spots every year"}[s.Placement])
	add("Selection", s.Selection)
	add("Frame type", s.FrameType)
	add("Sampling unit", s.SamplingUnit)
	add("Looked for", lookedFor(s.Components))
	if s.YearStartMonth > 1 {
		add("Growth year starts in", []string{"", "January", "February", "March", "April", "May", "June", "July", "August", "September", "October", "November", "December"}[s.YearStartMonth])
	}
	if s.AreaHa.Valid {
		add("Area", fmt.Sprintf("%g ha", s.AreaHa.Float64))
	}
	add("Note", s.Note)
	return out
}

// lookedFor reads a site's declaration, entries "component@frame type/season"
// joined by semicolons, aloud.
func lookedFor(declared string) string {
	var out []string
	for _, entry := range strings.Split(declared, ";") {
		entry, season, _ := strings.Cut(strings.TrimSpace(entry), "/")
		component, frameType, _ := strings.Cut(entry, "@")
		where := strings.Join(slices.DeleteFunc([]string{frameType, season}, func(s string) bool { return s == "" }), ", ")
		if where != "" {
			component += " (" + where + ")"
		}
		if component != "" {
			out = append(out, component)
		}
	}
	return strings.Join(out, "; ")
}

var bracketedCount = regexp.MustCompile(` \(\d+\)`)

// pageRemarks are the remarks of a year as its page gives them. Left out, or
// without the number that would make a remark of its own of every year, is
// what the page says in a column of its table or at its head.
func pageRemarks(m *monitor.Mean) []charts.Remark {
	var out []charts.Remark
	for _, r := range m.Remarks {
		text := r.Text
		switch r.Code {
		case "book-sensitivity", "chosen", "class-unsure", "full-season", "no-growth-curve", "no-year-before", "change-from", "no-change":
			continue
		case "book-values":
			if _, rest, ok := strings.Cut(text, " of the weight rests on "); ok {
				text = "weight rests on " + rest
			}
		case "zeros-inferred":
			text = "some zeros are inferred: nothing was written for those frames"
		case "sum-of-means":
			text = "the components sit on frames of their own: the total is the sum of their means, their variances added; its n is the smallest of theirs"
		case "missing":
			if _, why, ok := strings.Cut(text, " left out: "); ok {
				text = "frames left out: " + bracketedCount.ReplaceAllString(why, "")
			}
		case "skewed":
			text = strings.Replace(text, "Hall's interval", "the transformed interval", 1)
		}
		out = append(out, charts.Remark{Text: text, Loud: r.Loud})
	}
	return out
}

// yearOf turns a mean into a year of a page.
func yearOf(m *monitor.Mean, unit monitor.Unit) charts.Year {
	y := charts.Year{Year: m.Year, N: m.N, Mean: ptr(in(unit, m.Mean)), SD: ptr(in(unit, m.SD)), SE: ptr(in(unit, m.SE)), SEDrying: ptr(in(unit, m.SEDrying)),
		DF: ptr(m.DF), CVPct: ptr(m.CVPct), Low: ptr(in(unit, m.CI.Low)), High: ptr(in(unit, m.CI.High)), HallLow: ptr(in(unit, m.Hall.Low)),
		HallHigh: ptr(in(unit, m.Hall.High)), HalfWidthPct: ptr(m.HalfPct), Required: ptr(m.NRequired), Assured: intPtr(m.NAssured), ShortBy: intPtr(m.ShortBy()),
		ZerosInferred: m.ZerosInfer, Missing: m.Missing, BookPct: ptr(m.BookPct),
		BookLow: ptr(in(unit, m.BookLow)), BookHigh: ptr(in(unit, m.BookHigh))}
	if m.Adequate != monitor.NoVerdict {
		yes := m.Adequate == monitor.Yes
		y.Adequate = &yes
	}
	y.Detectable = ptr(m.ChangePct)
	for _, v := range m.UnitValues {
		y.Frames = append(y.Frames, unit.Of(v))
	}
	if k := m.Class; k != nil {
		y.Class = k.Label
		for _, share := range k.Others {
			y.ClassShares = append(y.ClassShares, charts.ClassShare{Label: share.Label, Share: share.Confidence})
		}
	}
	if f := m.FullSeason; f != nil {
		y.FullSeason, y.GrowthPct = ptr(in(unit, f.Mean)), ptr(f.GrowthPct)
	}
	y.SumOfMeans = slices.ContainsFunc(m.Remarks, func(r monitor.Remark) bool { return r.Code == "sum-of-means" })
	y.Remarks = pageRemarks(m)
	return y
}

func ptr(n monitor.Num) *float64 {
	if !n.Valid {
		return nil
	}
	return &n.Float64
}

func intPtr(n monitor.Num) *int {
	if !n.Valid {
		return nil
	}
	i := int(n.Float64)
	return &i
}
