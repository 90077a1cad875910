package charts

import (
	"fmt"
	"html/template"
)

// common is what every page states: whose numbers these are and under which
// settings they were computed.
type common struct {
	*Report
	Title string
	Root  string // relative path to the top of the folder: "" or "../"
	Here  string // "index", "site" or "methods"
}

// Share prints the confidence of the intervals.
func (c common) Share() string { return share(c.Confidence) }

// Enough is what the adequacy verdicts mean.
func (c common) Enough() string { return c.enough() }

// figure is one chart with the words around it.
type figure struct {
	Page    string // base name of the site's files
	ID      string
	Kind    string // class that sets colour and size
	Title   string
	Caption string
	Note    string // in place of a chart that has nothing to draw
	Script  template.JS
}

type sitePage struct {
	common
	Site      *Site
	Page      string
	Finding   string
	Urgent    []Remark // printed under the finding
	Calm      []Remark // the site's other remarks
	Figures   []figure // production and its parts
	Beside    []figure // recorded, but no part of production
	Adequacy  *figure
	Columns   any
	Body      template.HTML
	Notes     []*numbered
	OneUnit   string // what n counts: "frame"
	Units     string
	Prev      *link
	Next      *link
	HasSeries bool
}

type link struct{ Page, Text string }

// newSitePage composes everything a site's page shows.
func newSitePage(r *Report, i int) (*sitePage, error) {
	s := &r.Sites[i]
	p := &sitePage{
		common:    common{Report: r, Title: s.heading(), Root: "../", Here: "site"},
		Site:      s,
		Page:      pageName(s.Code),
		Finding:   Finding(r, s),
		Urgent:    s.urgent(),
		Calm:      s.calm(),
		Columns:   yearColumns,
		OneUnit:   s.unitWord(1),
		Units:     s.unitWord(0),
		HasSeries: len(s.yearSpan()) > 0,
	}
	if i > 0 {
		p.Prev = &link{pageName(r.Sites[i-1].Code), r.Sites[i-1].heading()}
	}
	if i+1 < len(r.Sites) {
		p.Next = &link{pageName(r.Sites[i+1].Code), r.Sites[i+1].heading()}
	}
	if !p.HasSeries {
		return p, nil
	}
	notes := newRemarkList(s)
	p.Body = tableBody(s, notes)
	p.Notes = notes.items
	return p, p.addFigures(r, s)
}

func (p *sitePage) addFigures(r *Report, s *Site) error {
	for i := range s.Series {
		x := &s.Series[i]
		if len(x.Years) == 0 {
			continue
		}
		js, err := meanChart(r, s, x).script()
		if err != nil {
			return err
		}
		f := figure{
			Page: p.Page, ID: fmt.Sprintf("chart-%d", i+1), Kind: kindOf(x.Component),
			Title: seriesTitle(r, s, x), Caption: seriesCaption(s, x), Script: js,
		}
		if x.Production {
			p.Figures = append(p.Figures, f)
		} else {
			p.Beside = append(p.Beside, f)
		}
	}
	return p.addAdequacy(r, s)
}

func (p *sitePage) addAdequacy(r *Report, s *Site) error {
	x := s.headline()
	f := &figure{Page: p.Page, ID: "chart-enough", Kind: "enough", Title: adequacyTitle(r, s, x)}
	b, ok := adequacyChart(r, s, x)
	if !ok {
		f.Note = "No year has an interval to judge, so there is nothing to draw."
		p.Adequacy = f
		return nil
	}
	js, err := b.script()
	f.Script, f.Caption = js, adequacyCaption(r, s, x)
	p.Adequacy = f
	return err
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
