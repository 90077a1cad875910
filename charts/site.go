package charts

import (
	"fmt"
	"html/template"
	"slices"
	"strings"
)

// common is what every page states: whose numbers these are and under which
// settings they were computed.
type common struct {
	*Report
	Title string
	Root  string // relative path to the top of the folder: "" or "../"
	Here  string // "index", "site", "summary", "quality" or "methods"
}

// Share prints the confidence of the intervals.
func (c common) Share() string { return share(c.Confidence) }

// InForce are the settings that have a value, Blank the names of the others.
func (c common) InForce() []Setting {
	return slices.DeleteFunc(slices.Clone(c.Settings), func(s Setting) bool { return s.Value == "" })
}

func (c common) Blank() string {
	var names []string
	for _, s := range c.Settings {
		if s.Value == "" {
			names = append(names, s.Name)
		}
	}
	return strings.Join(names, ", ")
}

// Enough is what the adequacy verdicts mean.
func (c common) Enough() string { return c.enough() }

// figure is one chart with the words around it.
type figure struct {
	Page    string // base name of the site's files
	ID      string
	Kind    string // class that sets colour
	Wide    bool   // across the page; the others share rows by two
	Title   string
	Caption string
	Aside   string // more of the caption, for the screen
	Note    string // in place of a chart that has nothing to draw
	Script  template.JS
	Key     template.HTML // names of layers, where the chart has no room for them
	Table   string        // id of the table with the same numbers; blank: that of all years
	CSV     string        // file with them; blank: that of all years
}

// Numbers is the id of the figure's table, File its CSV.
func (f figure) Numbers() string {
	if f.Table == "" {
		return "years"
	}
	return f.Table
}

func (f figure) File() string {
	if f.CSV == "" {
		return f.Page
	}
	return f.CSV
}

type sitePage struct {
	common
	Site     *Site
	Page     string
	Finding  string
	Urgent   []Remark // printed under the finding
	Calm     []Remark // the site's other remarks
	Trends   []string // sentences under the finding
	Standing *part
	TrendAll *smallTable
	Doubts   []string // remarks on trends
	Before   []part   // between the charts of the years and the sample size
	Effort   *smallTable
	// EffortText says on paper what the chart of other numbers of units shows
	// on screen; HalfPaper sets the sample size beside the rain there.
	EffortText string
	HalfPaper  bool
	After      []part
	OnScreen   string   // the sections that paper leaves out, with their files
	Heading    string   // of the first charts
	Figures    []figure // production and its parts
	Brief      []string // those of them with too few years for a chart
	Beside     []figure // recorded, but no part of production
	Aside      []string // those of them with too few years for a chart
	Adequacy   []figure
	Table      yearTable
	Paper      paperTable
	Notes      []*numbered
	OneUnit    string // what n counts: "frame"
	Units      string
	Prev       *link
	Next       *link
	Series     []shown
}

type link struct{ Page, Text string }

// newSitePage composes everything a site's page shows.
func newSitePage(r *Report, i int) (*sitePage, error) {
	s := &r.Sites[i]
	p := &sitePage{
		common:  common{Report: r, Title: s.heading(), Root: "../", Here: "site"},
		Site:    s,
		Page:    pageName(s.Code),
		Finding: Finding(r, s),
		Urgent:  s.urgent(),
		Calm:    s.calm(),
		OneUnit: s.unitWord(1),
		Units:   s.unitWord(0),
		Series:  s.shown(),
	}
	if i > 0 {
		p.Prev = &link{pageName(r.Sites[i-1].Code), r.Sites[i-1].heading()}
	}
	if i+1 < len(r.Sites) {
		p.Next = &link{pageName(r.Sites[i+1].Code), r.Sites[i+1].heading()}
	}
	if len(p.Series) == 0 {
		return p, nil
	}
	notes := newRemarkList(s)
	p.Table, p.Paper = newYearTable(s, p.Series, notes), newPaperTable(s, p.Series)
	p.Notes = notes.items
	if err := p.addFigures(r, s); err != nil {
		return nil, err
	}
	return p, p.addParts(r, s)
}

func (p *sitePage) addFigures(r *Report, s *Site) error {
	scales := map[bool]axis{true: sharedAxis(p.Series, true), false: sharedAxis(p.Series, false)}
	for _, v := range p.Series {
		figures, brief := &p.Figures, &p.Brief
		if !v.Production {
			figures, brief = &p.Beside, &p.Aside
		}
		if v.brief {
			*brief = append(*brief, briefText(r, s, v))
			continue
		}
		scale := scales[v.Production]
		whole := v.Production && len(p.Figures) == 0
		b := meanChart(r, s, v.Series, scale, whole)
		js, err := b.script()
		if err != nil {
			return err
		}
		fig := figure{
			Page: p.Page, ID: fmt.Sprintf("chart-%d", v.index+1), Kind: kindOf(v.Component),
			Title: seriesTitle(r, s, v), Caption: seriesCaption(s, v, scale) + trendNote(v.Series), Aside: trendCaption(s, v), Script: js,
		}
		if whole {
			fig.Caption = fig.Caption + eventsNote(s) + classesNote(r, s, v.Series) + rainNote(s)
			if s.Rain.has() {
				fig.Kind += " with-rain"
			}
		}
		*figures = append(*figures, fig)
	}
	p.layOut()
	return p.addAdequacy(r, s)
}

// layOut gives the first chart of production the width of the page, and names
// the section by what is in it.
func (p *sitePage) layOut() {
	p.Heading = "Year by year"
	if len(p.Figures) > 0 {
		p.Figures[0].Wide = true
		p.Heading = sentence(p.Series[0].name()) + ", year by year"
	}
	if len(p.Figures) > 1 && p.Series[0].Component == "production" {
		p.Heading = "Production and its parts, year by year"
	}
	if len(p.Beside) == 1 {
		p.Beside[0].Wide = true
	}
}

// addAdequacy draws the headline series or, where it cannot be judged because
// its parts sit on frames of their own, each part that can.
func (p *sitePage) addAdequacy(r *Report, s *Site) error {
	series := []*Series{s.headline()}
	if !series[0].judged() {
		for _, v := range p.Series {
			if v.Production && v.judged() {
				series = append(series, v.Series)
			}
		}
	}
	if len(series) > 1 {
		series = series[1:]
	}
	for i, x := range series {
		f := figure{Page: p.Page, ID: "chart-enough", Kind: "enough", Wide: len(series) == 1, Title: adequacyTitle(r, s, x)}
		if i > 0 {
			f.ID = fmt.Sprintf("chart-enough-%d", i+1)
		}
		b, ok := adequacyChart(r, s, x)
		if !ok {
			f.Note = "No year has an interval to judge, so there is nothing to draw."
			p.Adequacy = append(p.Adequacy, f)
			continue
		}
		js, err := b.script()
		if err != nil {
			return err
		}
		f.Script, f.Caption = js, adequacyCaption(r, s, x)
		p.Adequacy = append(p.Adequacy, f)
	}
	return p.addEffort(r, s, series)
}

// addEffort draws what more sampling units would buy beside the chart of the
// years, where one series is judged.
func (p *sitePage) addEffort(r *Report, s *Site, series []*Series) error {
	if len(series) != 1 {
		return nil
	}
	f, table, ok, err := effortFigure(r, s, series[0], p.Page)
	if err != nil || !ok {
		return err
	}
	p.Adequacy[0].Wide = false
	f.Kind += " screen"
	p.Adequacy, p.Effort, p.EffortText = append(p.Adequacy, f), table, f.Title
	return nil
}

// judged tells whether any year has a half-width to draw.
func (x *Series) judged() bool {
	for i := range x.Years {
		if x.Years[i].HalfWidthPct != nil {
			return true
		}
	}
	return false
}

// kindOf names the class that gives a chart its colour; components of other
// people's making share one.
func kindOf(component string) string {
	switch component {
	case "production", "herbaceous", "browse":
		return component
	}
	return "other"
}

// heading is the site's name with its code, or the code alone.
func (s *Site) heading() string {
	if s.Name == "" || s.Name == s.Code {
		return s.Code
	}
	return s.Name + " (" + s.Code + ")"
}
