package charts

import (
	"fmt"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// grassSite has one part of production, clipped at peak every year and in
// fall twice, and litter whose every bag was lost.
func grassSite() Site {
	var peak, fall, lost []Year
	for year := 2011; year <= 2020; year++ {
		m := 300 + 10*float64(year-2011)
		peak = append(peak, Year{Year: year, N: 4, Mean: ptr(m), SD: ptr(20.0), Low: ptr(m - 25), High: ptr(m + 25),
			HalfWidthPct: ptr(7.5), Required: ptr(2.0), Assured: ptr(3), ShortBy: ptr(0), Adequate: ptr(true),
			Frames: []float64{m - 20, m - 5, m + 5, m + 20}, Remarks: []Remark{{"of the total", false}}})
		lost = append(lost, Year{Year: year, Missing: 4})
	}
	for _, year := range []int{2014, 2018} {
		fall = append(fall, Year{Year: year, N: 4, Mean: ptr(50.0), Low: ptr(40.0), High: ptr(60.0), Frames: []float64{45, 50, 50, 55}})
	}
	s := Site{Code: "G", SamplingUnit: "frame", Series: []Series{
		{Component: "production", Season: "peak", Production: true, Years: peak},
		{Component: "production", Season: "fall", Production: true, Years: fall},
		{Component: "herbaceous", Season: "peak", Production: true, Years: slices.Clone(peak)},
		{Component: "herbaceous", Season: "fall", Production: true, Years: slices.Clone(fall)},
		{Component: "litter", Season: "peak", Years: lost},
	}}
	s.Series[2].Years[3].Remarks = []Remark{{"of the part alone", false}}
	return s
}

// describe lists what is shown in short: "production peak=herbaceous fall".
func describe(views []shown) string {
	var words []string
	for _, v := range views {
		word := v.Component + " " + v.Season
		if v.alone != nil {
			word += " = " + v.alone.Component
		}
		if v.brief {
			word += " (brief)"
		}
		words = append(words, word)
	}
	return strings.Join(words, "; ")
}

func TestShown(t *testing.T) {
	for _, c := range []struct {
		name, want string
		change     func(*Site)
	}{
		{"one part alone", "production peak = herbaceous; production fall = herbaceous (brief); litter peak (brief)", func(*Site) {}},
		{"other numbers", "production peak; production fall = herbaceous (brief); herbaceous peak; litter peak (brief)",
			func(s *Site) { s.Series[2].Years[4].SE = ptr(1.0) }},
		{"other points", "production peak; production fall = herbaceous (brief); herbaceous peak; litter peak (brief)",
			func(s *Site) { s.Series[2].Years[4].Frames = []float64{1, 2, 3, 4} }},
		{"another verdict", "production peak; production fall = herbaceous (brief); herbaceous peak; litter peak (brief)",
			func(s *Site) { s.Series[2].Years[4].Adequate = nil }},
		{"another year", "production peak; production fall = herbaceous (brief); herbaceous peak; litter peak (brief)",
			func(s *Site) { s.Series[2].Years = s.Series[2].Years[1:] }},
		{"two parts", "production peak; production fall = herbaceous (brief); herbaceous peak; litter peak; browse peak",
			func(s *Site) {
				s.Series[4].Years[9].Mean, s.Series[4].Years[8].Mean, s.Series[4].Years[7].Mean = ptr(1.0), ptr(1.0), ptr(1.0)
				s.Series = append(s.Series, Series{Component: "browse", Season: "peak", Production: true, Years: s.Series[0].Years})
			}},
		{"rounding", "production peak = herbaceous; production fall = herbaceous (brief); litter peak (brief)",
			func(s *Site) { s.Series[2].Years[4].Mean = ptr(*s.Series[2].Years[4].Mean * (1 + 1e-15)) }},
		{"a short record", "production peak = herbaceous; production fall = herbaceous",
			func(s *Site) {
				s.Series = s.Series[:4]
				s.Series[0].Years, s.Series[2].Years = s.Series[0].Years[:6], s.Series[2].Years[:6]
			}},
		{"no total", "herbaceous peak", func(s *Site) { s.Series = s.Series[2:3] }},
	} {
		s := grassSite()
		c.change(&s)
		if got := describe(s.shown()); got != c.want {
			t.Errorf("%s:\ngot  %s\nwant %s", c.name, got, c.want)
		}
	}
}

// TestFoldedPage checks that numbers of a single part stand once on the page,
// with the remarks of both, and in full in the CSV.
func TestFoldedPage(t *testing.T) {
	r := smallReport()
	r.Sites = []Site{grassSite()}
	p, err := newSitePage(r, 0)
	if err != nil {
		t.Fatal(err)
	}
	if len(p.Figures) != 1 || len(p.Beside) != 0 || len(p.Adequacy) != 1 {
		t.Fatalf("%d charts, %d beside, %d of adequacy; want 1, 0, 1", len(p.Figures), len(p.Beside), len(p.Adequacy))
	}
	for _, c := range []struct{ name, got, want string }{
		{"title", p.Figures[0].Title, "Production (peak), herbaceous alone: 390 kg/ha in 2020, the highest of 10 years (lowest 300 in 2011)"},
		{"caption", p.Figures[0].Caption, "Herbaceous is the only part of production recorded here, so this is its chart too. "},
		{"brief", strings.Join(p.Brief, "|"), "Production (fall), herbaceous alone: 50 kg/ha in 2014 (95 % interval 40 to 60) and 50 kg/ha in 2018 (95 % interval 40 to 60). Too few years for a chart."},
		{"aside", strings.Join(p.Aside, "|"), "Litter (peak): no mean could be computed in any year."},
		{"heading", p.Heading, "Production, year by year"},
	} {
		if got := plain(c.got); got != c.want {
			t.Errorf("%s:\ngot  %s\nwant %s", c.name, got, c.want)
		}
	}
	body := string(p.Table.Body)
	if n := strings.Count(body, "<tbody>"); n != 3 {
		t.Errorf("%d blocks in the table, want 3", n)
	}
	if !strings.Contains(body, "Production, peak: herbaceous alone") {
		t.Error("the block does not say that production is one part alone")
	}
	if len(p.Notes) != 2 || p.Notes[1].Text != "of the part alone" || p.Notes[1].Where() != "production (peak) 2014" {
		t.Errorf("remarks of the folded part: %+v", p.Notes)
	}
	_, rows := readCSV(t, yearsCSV(r, &r.Sites[0]))
	if len(rows) != 34 {
		t.Errorf("%d rows in the CSV, want all 34", len(rows))
	}
}

// TestAdequacyOfParts draws the parts where the total has no verdict.
func TestAdequacyOfParts(t *testing.T) {
	judged := Year{Year: 2020, N: 8, Mean: ptr(100.0), HalfWidthPct: ptr(12.0), Adequate: ptr(true)}
	total := Year{Year: 2020, N: 7, Mean: ptr(150.0), Low: ptr(120.0), High: ptr(180.0), SumOfMeans: true}
	r := smallReport()
	r.Sites = []Site{{Code: "S", Series: []Series{
		{Component: "production", Season: "peak+fall", Production: true, Years: []Year{total}},
		{Component: "herbaceous", Season: "peak", Production: true, Years: []Year{judged}},
		{Component: "browse", Season: "fall", Production: true, Years: []Year{judged}},
		{Component: "litter", Season: "fall", Years: []Year{judged}},
	}}}
	p, err := newSitePage(r, 0)
	if err != nil {
		t.Fatal(err)
	}
	var got []string
	for _, f := range p.Adequacy {
		got = append(got, fmt.Sprintf("%s %v %s", f.ID, f.Wide, plain(f.Title)))
	}
	want := []string{
		"chart-enough false Herbaceous (peak): enough frames for ±25 % at 80 % confidence in the one judged year",
		"chart-enough-2 false Browse (fall): enough frames for ±25 % at 80 % confidence in the one judged year",
	}
	if !slices.Equal(got, want) {
		t.Errorf("got %q, want %q", got, want)
	}
	if want := "In 2020 production (peak and fall) was 150.0 kg/ha (95 % interval 120.0 to 180.0, oven-dry), the sum of parts with frames of their own, at least 7 of each; whether those were enough is judged for each part by itself."; plain(p.Finding) != want {
		t.Errorf("got  %s\nwant %s", plain(p.Finding), want)
	}
	if !strings.Contains(string(p.Table.Body), "<td>≥7</td>") {
		t.Error("the table takes the smallest number of frames for that of the total")
	}
}

// TestIncompleteTotals names the years in which production lacks a part.
func TestIncompleteTotals(t *testing.T) {
	s := sampleReport().Sites[0]
	browse := &s.Series[2]
	browse.Years = slices.DeleteFunc(browse.Years, func(y Year) bool { return y.Year == 2012 || y.Year == 2013 })
	v := s.shown()[0]
	if got, want := incompleteNote(&s, v), "In 2012 and 2013 production is herbaceous alone: browse was not clipped. "; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
	whole := sampleReport().Sites[0]
	if got := incompleteNote(&whole, whole.shown()[0]); got != "" {
		t.Errorf("a complete total is called %q", got)
	}
}

// TestAxisOfPoints keeps one stray point from pressing the chart flat, and
// names it.
func TestAxisOfPoints(t *testing.T) {
	s := oneSeries(Year{Year: 2020, N: 4, Mean: ptr(300.0), Low: ptr(100.0), High: ptr(400.0), Frames: []float64{90, 150, 480, 2500}})
	views := s.shown()
	y := sharedAxis(views, true)
	if y.max != 500 {
		t.Errorf("the axis ends at %v, want 500", y.max)
	}
	if got, want := seriesCaption(s, views[0], y), "Arrow: a frame beyond the axis, 2,500 in 2020. "; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
	s.Series[0].Years[0].Frames = []float64{600, 600, 600, 600, 600, 600, 600}
	if got, want := beyondNote(s, &s.Series[0], y), "Arrows: 7 frames beyond the axis; the CSV of the points has them. "; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
	if got := sharedAxis(s.shown(), false); got != axisFor(0, 5) {
		t.Errorf("the axis of nothing is %v", got)
	}
}

// TestFoldedPageInABrowser looks at the page as it is drawn.
func TestFoldedPageInABrowser(t *testing.T) {
	b := newBrowser(t)
	dir := filepath.Join(t.TempDir(), "r")
	r := smallReport()
	write(t, dir, r)
	b.open(t, dir, "sites/"+pageName("G")+".html", 390, "dark")
	if got := eval[string](t, b, `Array.from(document.querySelectorAll('.chart'), c => c.id).join(' ')`); got != "chart-1 chart-enough" {
		t.Errorf("charts: %s", got)
	}
	if bad := eval[string](t, b, unlabelled); bad != "" {
		t.Error(bad)
	}
	b.quiet(t)
}
