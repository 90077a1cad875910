package charts

import (
	"fmt"
	"html/template"
	"math"
	"slices"
	"strconv"
	"strings"
)

type indexPage struct {
	common
	Finding  string
	Findings []string // what the latest year brought
	Rows     []indexRow
	Scale    string // the end of the shared scale
	Strata   []string
	Classes  bool // some site has a class
	Map      *siteMap
}

// indexRow is a site in the table of sites. The Sort fields are what the
// page's script orders by; blank ones go last.
type indexRow struct {
	Page, Code, Name, Stratum string
	Year, Component           string
	N, NSort                  string
	Mean, MeanSort, Interval  string
	Bar, Spark, Mark          template.HTML
	Verdict, VerdictSort      string
	Trend, TrendSort, TrendP  string
	Arrow                     template.HTML
	Class, Also               string
	Remarks, Loud             int
}

func newIndexPage(r *Report) *indexPage {
	scale := r.indexScale()
	p := &indexPage{
		common:   common{Report: r, Title: "All sites", Here: "index"},
		Finding:  indexFinding(r),
		Findings: yearFindings(r),
		Scale:    trimmed(scale.max, 2),
		Map:      newSiteMap(r),
	}
	for i := range r.Sites {
		row := newIndexRow(r, &r.Sites[i], scale)
		p.Classes = p.Classes || row.Class != ""
		if row.Stratum != "" && !slices.Contains(p.Strata, row.Stratum) {
			p.Strata = append(p.Strata, row.Stratum)
		}
		p.Rows = append(p.Rows, row)
	}
	slices.Sort(p.Strata)
	return p
}

func newIndexRow(r *Report, s *Site, scale axis) indexRow {
	row := indexRow{Page: pageName(s.Code), Code: s.Code, Name: s.Name, Stratum: s.Stratum}
	row.Remarks, row.Loud = s.remarkCount()
	x := s.headline()
	y := x.latest()
	if y == nil {
		return row
	}
	row.Year = strconv.Itoa(y.Year)
	if row.Component = s.label(x); x.Component == "production" && s.manySeasons() {
		row.Component = x.seasonName()
	}
	row.N, row.NSort = y.units(), strconv.Itoa(y.N)
	row.Verdict, row.Mark = y.verdict(), template.HTML(verdictMark(y))
	row.VerdictSort = strconv.Itoa(y.mark())
	row.Spark = sparkSVG(s, x, sparkLabel(r, s, x))
	row.setTrend(x.Trend, figuresOfSlope(x.Trend))
	row.Class = y.Class
	if y.Mean == nil {
		return row
	}
	f := s.figures()
	row.Mean, row.MeanSort = f.show(y.Mean), full(*y.Mean)
	row.Interval = f.span(y.Low, y.High)
	row.Also = r.also(y.Mean)
	row.Bar = intervalSVG(y, scale, yearNote(r, s, f, y))
	return row
}

// setTrend says what the years show together: an arrow, the verdict, its p and
// the slope. Rows sort by verdict, and within it by slope.
func (row *indexRow) setTrend(t *Trend, f figures) {
	if t == nil || t.Verdict == "" {
		return
	}
	row.Trend, row.Arrow = t.Verdict, template.HTML(arrowSVG(t.Verdict))
	if t.Verdict == "too few years" {
		return
	}
	var words []string
	if t.Slope != nil {
		words = append(words, signed(f, *t.Slope)+" a year")
	}
	if t.P != nil {
		words = append(words, "p"+nbsp+pValue(*t.P))
	}
	row.TrendP = strings.Join(words, ", ")
	group := map[string]float64{"increasing": 1, "decreasing": -1}[t.Verdict]
	slope := 0.0
	if t.Pct != nil {
		slope = math.Max(-999, math.Min(999, *t.Pct))
	}
	row.TrendSort = full(2000*group + slope)
}

// pValue prints a p with three decimals, and small ones as such.
func pValue(p float64) string {
	if p < 0.001 {
		return "< 0.001"
	}
	return fixed(p, 3)
}

// signed prints a weight with its sign.
func signed(f figures, v float64) string {
	text := f.show(&v)
	if v > 0 {
		text = "+" + text
	}
	return text
}

// figuresOfSlope shows slopes with two or three figures.
func figuresOfSlope(t *Trend) figures {
	if t == nil || t.Slope == nil {
		return figures{}
	}
	switch v := math.Abs(*t.Slope); {
	case v >= 10:
		return figures{0}
	case v >= 1:
		return figures{1}
	}
	return figures{2}
}

// indexScale spans the latest means and intervals of all sites.
func (r *Report) indexScale() axis {
	top := 0.0
	for i := range r.Sites {
		if y := r.Sites[i].headline().latest(); y != nil {
			for _, v := range []*float64{y.Mean, y.High} {
				if v != nil {
					top = math.Max(top, *v)
				}
			}
		}
	}
	return axisFor(top, 5)
}

func sparkLabel(r *Report, s *Site, x *Series) string {
	low, high, n := x.extremes()
	if n == 0 {
		return ""
	}
	f := s.figures()
	return fmt.Sprintf("%d years with a mean, from %s to %s%s%s", n, f.show(low.Mean), f.show(high.Mean), nbsp, r.Unit)
}

// indexFinding says how many sites there are, how many were clipped in the
// latest year, and for how many of those the frames were enough.
func indexFinding(r *Report) string {
	latest, ok := r.latestYear()
	if !ok {
		return fmt.Sprintf("%d %s; no clipping is recorded yet.", len(r.Sites), plural(len(r.Sites), "site", "sites"))
	}
	clipped, judged, enough := 0, 0, 0
	for i := range r.Sites {
		y := r.Sites[i].headline().latest()
		if y == nil || y.Year != latest {
			continue
		}
		clipped++
		if y.Adequate != nil {
			judged++
			if *y.Adequate {
				enough++
			}
		}
	}
	text := fmt.Sprintf("%d of %d %s %s clipped in %d.", clipped, len(r.Sites),
		plural(len(r.Sites), "site", "sites"), plural(clipped, "was", "were"), latest)
	return text + judgedText(judged, enough, r.enough())
}

func judgedText(judged, enough int, wanted string) string {
	size := "large enough"
	var who string
	switch {
	case judged == 0:
		return " None could be judged."
	case judged == 1 && enough == 0:
		who, size = "The one that could be judged", "too small"
	case judged == 1:
		who = "The one that could be judged"
	case enough == 0:
		who = fmt.Sprintf("None of the %d that could be judged", judged)
	case enough == judged:
		who = fmt.Sprintf("All %d that could be judged", judged)
	default:
		who = fmt.Sprintf("Of the %d that could be judged, %d", judged, enough)
	}
	return fmt.Sprintf(" %s had a sample %s for %s.", who, size, wanted)
}
