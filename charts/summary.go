package charts

import (
	"cmp"
	"fmt"
	"html/template"
	"math"
	"slices"
	"strconv"
)

// The annual summary: one page a growth year, made to be printed. By stratum
// against the year before and the long-term mean, every site under its
// stratum, what changed most, what was not visited, and where to clip more.

type summaryPage struct {
	common
	Year     int
	Prev     int // 0: none
	Next     int
	Finding  string
	Findings []string
	Groups   []summaryGroup // what is summed up: production first
	Sites    []siteGroup    // the same, site by site
	Short    []shortRow
	More     string // says what the table of short samples adds up to
	Absent   []absent
	Remarks  []Remark
	Classes  bool
	Scale    string
	Caution  bool
}

// summaryGroup is one component in one season, stratum by stratum.
type summaryGroup struct {
	Title string
	Rows  []summaryLine
}

type summaryLine struct {
	Name                            string
	All                             bool
	Sites, N                        string
	Mean, Interval, Change          string
	ChangeOf, Also                  string
	LongTerm, PctOfMean, Rain       string
	Enough, NotVisited, ClassCounts string
}

// siteGroup is the sites of one stratum in one season and component.
type siteGroup struct {
	Title string
	Rows  []siteLine
}

type siteLine struct {
	Page, Code, Name            string
	N, Mean, Interval, Also     string
	Bar, Mark                   template.HTML
	Change, LongTerm, PctOfMean string
	Rain, Class, Verdict, Need  string
}

// shortRow is a site that wants more sampling units next year.
type shortRow struct {
	Page, Code, Name, Stratum, What string
	N, Required, ShortBy            int
	Units                           string
}

type absent struct {
	Page, Code, Name, Stratum, Last string
}

// newSummaryPage composes the page of the i-th summarised year.
func newSummaryPage(r *Report, i int) *summaryPage {
	y := &r.Summaries[i]
	p := &summaryPage{
		common: common{Report: r, Title: fmt.Sprintf("Annual summary %d", y.Year), Root: "../", Here: "summary"},
		Year:   y.Year,
	}
	if i > 0 {
		p.Prev = r.Summaries[i-1].Year
	}
	if i+1 < len(r.Summaries) {
		p.Next = r.Summaries[i+1].Year
	}
	rows := y.ordered()
	sites := r.byCode()
	for _, row := range rows {
		p.Classes = p.Classes || len(row.Classes) > 0
	}
	p.Caution = p.Classes
	p.Finding = summaryFinding(r, y)
	p.Findings = summaryFindings(r, y)
	p.addGroups(rows)
	p.addSites(rows, sites)
	p.addShort(y, sites)
	p.addAbsent(rows, sites)
	p.addRemarks(rows)
	return p
}

// Before is the year before.
func (p *summaryPage) Before() int { return p.Year - 1 }

// byCode finds sites by their code.
func (r *Report) byCode() map[string]*Site {
	out := map[string]*Site{}
	for i := range r.Sites {
		out[r.Sites[i].Code] = &r.Sites[i]
	}
	return out
}

// ordered are the rows with production first, then its parts, then the rest;
// within a component by season, and within that as they came.
func (y *SummaryYear) ordered() []*SummaryRow {
	var out []*SummaryRow
	for i := range y.Rows {
		out = append(out, &y.Rows[i])
	}
	seasons := map[string]int{} // most sites first
	for _, row := range out {
		if row.All {
			seasons[row.Season] = max(seasons[row.Season], row.Sites)
		}
	}
	slices.SortStableFunc(out, func(a, b *SummaryRow) int {
		return cmp.Or(componentRank(a.Component)-componentRank(b.Component), seasons[b.Season]-seasons[a.Season], cmp.Compare(a.Season, b.Season))
	})
	return out
}

func componentRank(name string) int {
	order := []string{"production", "herbaceous", "browse", "standing-dead", "litter"}
	if k := slices.Index(order, name); k >= 0 {
		return k
	}
	return len(order)
}

// main is the row of all strata that the year is judged by: production in the
// season of most sites, else the first there is; nil where there is none.
func (y *SummaryYear) main() *SummaryRow {
	for _, row := range y.ordered() {
		if row.All {
			return row
		}
	}
	return nil
}

// title names a group of rows.
func (row *SummaryRow) title() string {
	name := sentence((&Series{Component: row.Component}).name())
	if row.Season == "" {
		return name
	}
	return name + ", " + row.Season
}

func (row *SummaryRow) stratumName() string {
	switch {
	case row.All:
		return "All strata"
	case row.Stratum == "":
		return "No stratum"
	}
	return row.Stratum
}

// figures of a year are chosen by its largest mean.
func (y *SummaryYear) figures() figures {
	largest := 0.0
	for i := range y.Rows {
		if m := y.Rows[i].Mean; m != nil {
			largest = math.Max(largest, math.Abs(*m))
		}
	}
	return figuresFor(largest)
}

func (p *summaryPage) figures() figures {
	for i := range p.Summaries {
		if p.Summaries[i].Year == p.Year {
			return p.Summaries[i].figures()
		}
	}
	return figures{}
}

func (p *summaryPage) addGroups(rows []*SummaryRow) {
	f := p.figures()
	for _, row := range rows {
		if n := len(p.Groups); n == 0 || p.Groups[n-1].Title != row.title() {
			p.Groups = append(p.Groups, summaryGroup{Title: row.title()})
		}
		g := &p.Groups[len(p.Groups)-1]
		line := newSummaryLine(row, f)
		line.Also = p.also(row.Mean)
		g.Rows = append(g.Rows, line)
	}
	// A row of all strata says nothing new beside a single stratum.
	for i := range p.Groups {
		if g := &p.Groups[i]; len(g.Rows) == 2 && g.Rows[1].All {
			g.Rows = g.Rows[:1]
		}
	}
}

func newSummaryLine(row *SummaryRow, f figures) summaryLine {
	l := summaryLine{Name: row.stratumName(), All: row.All, Sites: strconv.Itoa(row.Sites), N: strconv.Itoa(row.N), Mean: f.show(row.Mean),
		Interval: f.span(row.Low, row.High), Change: change(row.ChangePct), LongTerm: f.show(row.LongTerm), PctOfMean: percent(row.PctOfMean), Rain: percent(row.RainPct)}
	if row.ChangePct != nil && row.ChangeOf != row.Sites {
		l.ChangeOf = fmt.Sprintf("of %d", row.ChangeOf)
	}
	if row.Judged > 0 {
		l.Enough = fmt.Sprintf("%d of %d", row.Adequate, row.Judged)
	}
	if n := len(row.NotVisited); n > 0 {
		l.NotVisited = strconv.Itoa(n)
	}
	var counts []string
	for _, c := range row.Classes {
		counts = append(counts, fmt.Sprintf("%d%s%s", c.Sites, nbsp, c.Label))
	}
	l.ClassCounts = joinPlain(counts)
	return l
}

func joinPlain(words []string) string {
	out := ""
	for i, w := range words {
		if i > 0 {
			out += ", "
		}
		out += w
	}
	return out
}

// change prints a change in percent with its sign, empty when missing.
func change(pct *float64) string {
	if pct == nil {
		return ""
	}
	text := percent(pct)
	if *pct > 0 {
		text = "+" + text
	}
	return text
}

// shownBySite tells whether a component stands in the table of sites: all that
// the year is judged by, which is production where any is summed up.
func shownBySite(rows []*SummaryRow) func(*SummaryRow) bool {
	production := slices.ContainsFunc(rows, func(row *SummaryRow) bool { return row.Component == "production" })
	return func(row *SummaryRow) bool { return !row.All && (row.Component == "production" || !production) }
}

func (p *summaryPage) addSites(rows []*SummaryRow, sites map[string]*Site) {
	f := p.figures()
	wanted := shownBySite(rows)
	scale := siteScale(rows, wanted)
	p.Scale = trimmed(scale.max, 2)
	titles := map[string]bool{}
	for _, row := range rows {
		if wanted(row) {
			titles[row.title()] = true
		}
	}
	for _, row := range rows {
		if !wanted(row) || len(row.Each) == 0 {
			continue
		}
		title := row.stratumName()
		if len(titles) > 1 {
			title += ": " + row.title()
		}
		g := siteGroup{Title: title}
		for i := range row.Each {
			g.Rows = append(g.Rows, p.siteLine(&row.Each[i], sites, f, scale))
		}
		p.Sites = append(p.Sites, g)
	}
}

func siteScale(rows []*SummaryRow, wanted func(*SummaryRow) bool) axis {
	means, limits := 0.0, 0.0
	for _, row := range rows {
		if !wanted(row) {
			continue
		}
		for i := range row.Each {
			if m := row.Each[i].Mean; m != nil {
				means = math.Max(means, *m)
			}
			if m := row.Each[i].High; m != nil {
				limits = math.Max(limits, *m)
			}
		}
	}
	return axisFor(math.Max(means, math.Min(limits, 2*means)), 5)
}

func (p *summaryPage) siteLine(x *SummarySite, sites map[string]*Site, f figures, scale axis) siteLine {
	y := &Year{Year: p.Year, N: x.N, Mean: x.Mean, Low: x.Low, High: x.High, Adequate: x.Adequate}
	s := &Site{Code: x.Code, Name: x.Name}
	if known := sites[x.Code]; known != nil {
		s = known
	}
	l := siteLine{Code: x.Code, N: strconv.Itoa(x.N), Mean: f.show(x.Mean), Interval: f.span(x.Low, x.High), Change: change(x.ChangePct),
		LongTerm: f.show(x.LongTerm), PctOfMean: percent(x.PctOfMean), Rain: percent(x.RainPct), Class: x.Class,
		Verdict: y.verdict(), Mark: template.HTML(verdictMark(y))}
	if sites[x.Code] != nil {
		l.Page = pageName(x.Code)
	}
	if x.Name != x.Code {
		l.Name = x.Name
	}
	if x.ShortBy != nil && *x.ShortBy > 0 {
		l.Need = fmt.Sprintf("short by %d", *x.ShortBy)
	}
	l.Also = p.also(x.Mean)
	if x.Mean != nil {
		l.Bar = intervalSVG(y, scale, yearNote(p.Report, s, f, y))
	}
	return l
}

// addShort lists the samples that were short, the most so first: of what the
// table of sites shows and, where a total could not be judged, of its parts.
func (p *summaryPage) addShort(y *SummaryYear, sites map[string]*Site) {
	judged := map[[2]string]bool{} // site, season: its production was judged
	for i := range y.Rows {
		row := &y.Rows[i]
		for j := range row.Each {
			if row.Component == "production" && row.Each[j].Adequate != nil {
				judged[[2]string{row.Each[j].Code, row.Season}] = true
			}
		}
	}
	for _, row := range y.ordered() {
		if row.All || row.Component == "standing-dead" || row.Component == "litter" {
			continue
		}
		for i := range row.Each {
			x := &row.Each[i]
			if x.ShortBy == nil || *x.ShortBy <= 0 || x.Required == nil || row.Component != "production" && judged[[2]string{x.Code, row.Season}] {
				continue
			}
			s := shortRow{Code: x.Code, Name: x.Name, Stratum: row.stratumName(), What: row.title(), N: x.N, Required: int(math.Ceil(*x.Required)), ShortBy: *x.ShortBy, Units: "frames"}
			if known := sites[x.Code]; known != nil {
				s.Page, s.Units = pageName(x.Code), known.unitWord(s.ShortBy)
			}
			if s.Name == s.Code {
				s.Name = ""
			}
			p.Short = append(p.Short, s)
		}
	}
	slices.SortStableFunc(p.Short, func(a, b shortRow) int { return b.ShortBy - a.ShortBy })
	p.More = moreText(p.Report, y.Year, p.Short, y.judgedAny())
}

func (y *SummaryYear) judgedAny() bool {
	return slices.ContainsFunc(y.Rows, func(row SummaryRow) bool { return row.Judged > 0 })
}

func (p *summaryPage) addAbsent(rows []*SummaryRow, sites map[string]*Site) {
	seen := map[string]bool{}
	for _, row := range rows {
		for _, code := range row.NotVisited {
			if row.All || seen[code] {
				continue
			}
			seen[code] = true
			a := absent{Code: code, Stratum: row.stratumName()}
			if s := sites[code]; s != nil {
				a.Page = pageName(code)
				if last := s.lastVisitBefore(p.Year); last != 0 {
					a.Last = strconv.Itoa(last)
				}
				if s.Name != code {
					a.Name = s.Name
				}
			}
			p.Absent = append(p.Absent, a)
		}
	}
	slices.SortFunc(p.Absent, func(a, b absent) int { return cmp.Or(cmp.Compare(a.Stratum, b.Stratum), cmp.Compare(a.Code, b.Code)) })
}

// lastVisitBefore is the last year before another in which the site has an
// occasion, 0 where there is none.
func (s *Site) lastVisitBefore(year int) int {
	last := 0
	for i := range s.Series {
		for j := range s.Series[i].Years {
			if y := s.Series[i].Years[j].Year; y < year {
				last = max(last, y)
			}
		}
	}
	return last
}

// addRemarks lists what must be known beside the figures of strata, each text
// once, with the rows it is of. Loud ones come first.
func (p *summaryPage) addRemarks(rows []*SummaryRow) {
	where := map[Remark]*remarkRows{}
	for _, row := range rows {
		for _, m := range row.Remarks {
			if where[m] == nil {
				where[m] = &remarkRows{}
				p.Remarks = append(p.Remarks, m)
			}
			where[m].add(row)
		}
	}
	for i, m := range p.Remarks {
		p.Remarks[i].Text = where[m].text() + ": " + m.Text
	}
	slices.SortStableFunc(p.Remarks, func(a, b Remark) int {
		switch {
		case a.Loud == b.Loud:
			return 0
		case a.Loud:
			return -1
		}
		return 1
	})
}

// remarkRows are the rows a remark is of: components by stratum.
type remarkRows struct {
	strata     []string
	components map[string][]string
}

func (w *remarkRows) add(row *SummaryRow) {
	name := row.stratumName()
	if w.components == nil {
		w.components = map[string][]string{}
	}
	if w.components[name] == nil {
		w.strata = append(w.strata, name)
	}
	component := (&Series{Component: row.Component}).name()
	if !slices.Contains(w.components[name], component) {
		w.components[name] = append(w.components[name], component)
	}
}

func (w *remarkRows) text() string {
	var out []string
	for _, name := range w.strata {
		out = append(out, name+" ("+join(w.components[name])+")")
	}
	return someNames(out)
}

// YearLinks are the years that have a summary.
func (r *Report) YearLinks() []int {
	var out []int
	for i := range r.Summaries {
		out = append(out, r.Summaries[i].Year)
	}
	return out
}

// LastSummary is the latest year that has a summary, 0 where none has.
func (r *Report) LastSummary() int {
	if n := len(r.Summaries); n > 0 {
		return r.Summaries[n-1].Year
	}
	return 0
}

// Head is what the pages are called at their head: the title asked for, else
// the ledger's name.
func (c common) Head() string {
	if c.Report.Title != "" {
		return c.Report.Title
	}
	return c.LedgerName
}
