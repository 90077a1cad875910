package charts

import (
	"fmt"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
)

// pagesOf lists the pages of a report.
func pagesOf(r *Report) []string {
	pages := []string{"index.html", "methods.html", "quality.html"}
	if n := len(r.Summaries); n > 0 {
		pages = append(pages, summaryName(r.Summaries[0].Year), summaryName(r.Summaries[n-1].Year))
	}
	for i := range r.Sites {
		pages = append(pages, "sites/"+pageName(r.Sites[i].Code)+".html")
	}
	return pages
}

// TestPagesInABrowser opens every page from disk, wide and narrow, light and
// dark: nothing may go wrong, leave the disk, or stick out of a phone.
func TestPagesInABrowser(t *testing.T) {
	b := newBrowser(t)
	dir := filepath.Join(t.TempDir(), "a report", "r")
	r := sampleReport()
	write(t, dir, r)
	for _, name := range pagesOf(r) {
		for _, view := range []struct {
			width  int64
			scheme string
		}{{1280, "light"}, {390, "light"}, {390, "dark"}} {
			b.open(t, dir, name, view.width, view.scheme)
			if over := eval[int64](t, b, tooWide); over > 0 {
				t.Errorf("%s at %d: the page is %d pixels too wide", name, view.width, over)
			}
			if small := eval[string](t, b, smallText); small != "" {
				t.Errorf("%s at %d: text below 12 pixels: %s", name, view.width, small)
			}
			if bad := eval[string](t, b, unlabelled); bad != "" {
				t.Errorf("%s: %s", name, bad)
			}
		}
	}
	b.quiet(t)
}

// tooWide is by how many pixels the page, not a table's own box, sticks out.
const tooWide = `document.documentElement.scrollWidth - document.documentElement.clientWidth`

// smallText names the first text that is too small to read.
const smallText = `(() => {
	const walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
	while (walk.nextNode()) {
		const e = walk.currentNode.parentElement;
		if (!walk.currentNode.data.trim() || e.closest('script, noscript') || !e.getClientRects().length) continue;
		if (parseFloat(getComputedStyle(e).fontSize) < 12) return e.tagName + ': ' + walk.currentNode.data.slice(0, 40);
	}
	return '';
})()`

// unlabelled names the first thing a screen reader would miss.
const unlabelled = `(() => {
	const problems = [];
	if (document.documentElement.lang !== 'en') problems.push('no language');
	for (const what of ['header', 'main', 'footer', 'header nav[aria-label]', 'a.skip[href="#main"]', 'h1'])
		if (document.querySelectorAll(what).length !== 1) problems.push('not one ' + what);
	for (const t of document.querySelectorAll('table')) {
		if (!t.caption || !t.caption.textContent.trim()) problems.push('table without caption');
		for (const h of t.querySelectorAll('th')) if (!h.scope) problems.push('heading without scope: ' + h.textContent);
	}
	for (const f of document.querySelectorAll('figure')) {
		if (!f.querySelector('figcaption')) problems.push('figure without caption');
		const c = f.querySelector('.chart');
		if (c && (c.getAttribute('role') !== 'img' || !c.getAttribute('aria-label'))) problems.push('chart without label');
	}
	for (const e of document.querySelectorAll('[aria-labelledby]'))
		if (!document.getElementById(e.getAttribute('aria-labelledby'))) problems.push('label of nothing: ' + e.getAttribute('aria-labelledby'));
	for (const tip of document.querySelectorAll('.chart-tip'))
		if (!tip.textContent && getComputedStyle(tip).display !== 'none') problems.push('an empty tip is shown');
	const ids = Array.from(document.querySelectorAll('[id]'), e => e.id);
	if (new Set(ids).size !== ids.length) problems.push('an id stands twice');
	for (const a of document.querySelectorAll('a[href]'))
		if (/^[a-z]+:/i.test(a.getAttribute('href')) || a.getAttribute('href').startsWith('/')) problems.push('link leaves: ' + a.getAttribute('href'));
	return problems.slice(0, 3).join('; ');
})()`

// TestChartsAreDrawn counts what stands in each chart: every frame is a point
// or an arrow, every interval a bar, every run of intervals a band with a
// corner at each limit, every mean a mark.
func TestChartsAreDrawn(t *testing.T) {
	b := newBrowser(t)
	dir := filepath.Join(t.TempDir(), "r")
	r := sampleReport()
	write(t, dir, r)
	var total drawn
	for i := range r.Sites[:4] {
		s := &r.Sites[i]
		b.open(t, dir, "sites/"+pageName(s.Code)+".html", 1280, "light")
		scale := sharedAxis(s.shown(), true)
		for j := range s.Series {
			want := drawnOf(&s.Series[j], scale)
			got := eval[drawn](t, b, fmt.Sprintf(countDrawn, fmt.Sprintf("chart-%d", j+1)))
			if got != want {
				t.Errorf("%s %s: drew %+v, want %+v", s.Code, s.Series[j].Component, got, want)
			}
			total.Arrows += got.Arrows
			total.Bands += got.Bands
			if n := eval[int](t, b, fmt.Sprintf(placesOfPoints, fmt.Sprintf("chart-%d", j+1))); n != want.Points {
				t.Errorf("%s %s: %d points lie in %d places: some hide others", s.Code, s.Series[j].Component, want.Points, n)
			}
			if got := eval[string](t, b, fmt.Sprintf(bandPlace, fmt.Sprintf("chart-%d", j+1), footOf(s, j))); got != "" {
				t.Errorf("%s %s: the band %s", s.Code, s.Series[j].Component, got)
			}
		}
		stems := eval[int](t, b, `document.querySelectorAll('#chart-enough svg [stroke="var(--series)"][stroke-width="1.5"]').length`)
		if stems == 0 {
			t.Errorf("%s: no half-width is drawn", s.Code)
		}
		if text := eval[string](t, b, `document.querySelector('#chart-enough svg').textContent`); !strings.Contains(text, "wanted: ±20") {
			t.Errorf("%s: the wanted precision is not drawn: %s", s.Code, text)
		}
	}
	if total.Arrows == 0 || total.Bands <= 12 {
		t.Errorf("the sample has %d arrows and %d bands in 12 charts: it tests neither arrows nor gaps", total.Arrows, total.Bands)
	}
	b.quiet(t)
}

// drawn counts the shapes of a chart.
type drawn struct{ Points, Arrows, Bands, Corners, Bars, Full, Open, Cross int }

func drawnOf(x *Series, scale axis) drawn {
	var d drawn
	for _, run := range bandRuns(x) {
		d.Bands++
		d.Corners += 2 * max(2, run) // a year alone is drawn as a short bar
	}
	for i := range x.Years {
		y := &x.Years[i]
		for _, v := range y.Frames {
			d.Points++
			if v > scale.max {
				d.Arrows++
			}
		}
		if y.Mean == nil {
			continue
		}
		switch {
		case y.Adequate == nil:
			d.Cross++
		case *y.Adequate:
			d.Full++
		default:
			d.Open++
		}
		if y.Low != nil && y.High != nil {
			d.Bars++
		}
	}
	return d
}

// bandRuns lists the lengths of the runs of consecutive years that have a mean
// and an interval.
func bandRuns(x *Series) []int {
	var runs []int
	last := 0
	for i := range x.Years {
		y := &x.Years[i]
		if y.Mean == nil || y.Low == nil || y.High == nil {
			continue
		}
		if len(runs) == 0 || y.Year != last+1 {
			runs = append(runs, 0)
		}
		runs[len(runs)-1]++
		last = y.Year
	}
	return runs
}

// placesOfPoints counts the places of points: each has one of its own.
const placesOfPoints = `new Set(Array.from(document.querySelectorAll('#%s svg [stroke="var(--point)"]'), e => e.outerHTML)).size`

// footOf is where 0 lies above the foot of a chart: the first has the rain
// below it.
func footOf(s *Site, series int) int {
	if series == 0 && s.Rain.has() {
		return 150
	}
	return 44
}

// bandPlace says what is wrong with where a band lies: it must be beneath all
// else, and not below 0, which is so many pixels above the foot of the drawing.
const bandPlace = `(() => {
	const svg = document.querySelector('#%s svg');
	const bands = Array.from(svg.querySelectorAll('[fill="var(--range)"]'));
	for (const other of svg.querySelectorAll('[stroke="var(--series)"], [stroke="var(--point)"]'))
		if (bands.some(b => b.compareDocumentPosition(other) & Node.DOCUMENT_POSITION_PRECEDING)) return 'covers ' + other.outerHTML;
	const foot = parseFloat(svg.getAttribute('height')) - %d;
	const deepest = Math.max(...bands.flatMap(b => b.getAttribute('d').match(/-?[0-9.]+ -?[0-9.]+/g).map(p => parseFloat(p.split(' ')[1]))));
	return deepest > foot + 0.6 ? 'reaches to ' + deepest + ', beyond ' + foot : '';
})()`

// countDrawn tells shapes apart by the colours and line widths report.js gives
// them; a cross is two lines.
const countDrawn = `(() => {
	const n = q => document.querySelectorAll('#%[1]s svg ' + q).length;
	const corners = Array.from(document.querySelectorAll('#%[1]s svg [fill="var(--range)"]'), e => e.getAttribute('d').match(/[ML]/g).length);
	return {Points: n('[stroke="var(--point)"]'), Arrows: n('[fill="var(--point)"]'),
		Bands: corners.length, Corners: corners.reduce((a, b) => a + b, 0), Bars: n('[stroke="var(--series)"][stroke-width="1.1"]'),
		Full: n('[fill="var(--series)"]'), Open: n('[fill="var(--paper)"][stroke="var(--series)"]'),
		Cross: n('[stroke="var(--series)"][stroke-width="1.8"]') / 2};
})()`

// TestEveryChartIsDrawn opens the site that has every section: no chart may
// be empty, words may not overlap each other, folded tables must open by a key
// and from the links beside the charts, and the accessibility tree must name
// charts, tables and folds.
func TestEveryChartIsDrawn(t *testing.T) {
	b := newBrowser(t)
	dir := filepath.Join(t.TempDir(), "r")
	r, s := rich()
	write(t, dir, r)
	for _, width := range []int64{1280, 360} {
		b.open(t, dir, "sites/"+pageName(s.Code)+".html", width, "light")
		if empty := eval[string](t, b, emptyCharts); empty != "" {
			t.Errorf("at %d: %s", width, empty)
		}
		if n := eval[int](t, b, `document.querySelectorAll('.chart').length`); n != 12 {
			t.Errorf("%d charts, want 12", n)
		}
	}
	got := eval[extras](t, b, countExtras)
	want := extras{Rain: 13, Trends: 3, Events: 2, Classes: 3, Dots: 13, Changes: len(s.Series[0].Changes), Uses: len(s.Uses), Pairs: 48}
	if got != want {
		t.Errorf("drew %+v, want %+v", got, want)
	}
	if open := eval[bool](t, b, `document.querySelector('#changes-table').closest('details').open`); open {
		t.Error("the table of changes is open from the start")
	}
	b.run(t, chromedp.Focus(`details:has(#changes-table) > summary`), chromedp.KeyEvent("\r"))
	if open := eval[bool](t, b, `document.querySelector('#changes-table').closest('details').open`); !open {
		t.Error("a key does not open the table of changes")
	}
	if open := eval[bool](t, b, `document.querySelector('a[href="#species"]').click(), document.querySelector('#species').closest('details').open`); !open {
		t.Error("the link beside the chart does not open its table")
	}
	b.quiet(t)
}

// emptyCharts names the first chart without shapes, or with two words on each
// other.
const emptyCharts = `(() => {
	for (const box of document.querySelectorAll('.chart')) {
		const shapes = Array.from(box.querySelectorAll('svg path, svg circle, svg polygon, svg polyline, svg rect')).filter(e => {
			const r = e.getBoundingClientRect(); return r.width + r.height > 1; });
		if (shapes.length < 12) return box.id + ' has only ' + shapes.length + ' shapes';
		const words = Array.from(box.querySelectorAll('svg text')).map(e => [e.getBoundingClientRect(), e.textContent]);
		for (const [a, ta] of words) for (const [c, tc] of words)
			if (ta !== tc && a.left < c.right - 2 && c.left < a.right - 2 && a.top < c.bottom - 4 && c.top < a.bottom - 4) return box.id + ': "' + ta + '" lies on "' + tc + '"';
	}
	return '';
})()`

// extras counts what the charts hold beyond means.
type extras struct{ Rain, Trends, Events, Classes, Dots, Changes, Uses, Pairs int }

const countExtras = `(() => {
	const n = q => document.querySelectorAll(q).length;
	const marks = id => n('#' + id + ' svg [fill="var(--series)"]') + n('#' + id + ' svg [fill="var(--paper)"][stroke="var(--series)"]');
	return {Rain: n('svg [fill="var(--rain)"]'), Trends: n('#chart-1 svg [stroke-width="1.9"]') + n('#chart-2 svg [stroke-width="1.9"]') + n('#chart-3 svg [stroke-width="1.9"]'),
		Events: n('svg [stroke="var(--ink)"][fill="var(--paper)"]'), Classes: n('#chart-1 svg [stroke="var(--rule)"]'),
		Dots: marks('chart-rain'), Changes: marks('chart-changes'), Uses: marks('chart-use'), Pairs: n('[id^=chart-eye] svg [fill="none"][stroke="var(--series)"][stroke-width="1.1"]')};
})()`

// TestTipIsShown points at a year and reads the tip.
func TestTipIsShown(t *testing.T) {
	b := newBrowser(t)
	dir := filepath.Join(t.TempDir(), "r")
	r := sampleReport()
	write(t, dir, r)
	b.open(t, dir, "sites/"+pageName("DF-01")+".html", 1280, "light")
	b.run(t, chromedp.ScrollIntoView("#chart-1"))
	box := eval[struct{ X, Y, W, H float64 }](t, b, `(() => { const r = document.querySelector('#chart-1').getBoundingClientRect();
		return {X: r.x, Y: r.y, W: r.width, H: r.height}; })()`)
	// The last of 14 years sits half a year from the right end.
	b.run(t, chromedp.MouseEvent("mouseMoved", box.X+box.W-10-(box.W-64)/28, box.Y+box.H/2))
	tip := get(t, b, chromedp.Poll[string](`(document.querySelector('#chart-1 .tip') || {}).textContent || ''`))
	s := &r.Sites[0]
	if want := yearNote(r, s, s.figures(), s.Series[0].latest()); tip != want {
		t.Errorf("got %q, want %q", tip, want)
	}
	b.quiet(t)
}

// TestHostilePagesInABrowser runs pages whose every text is an attack.
func TestHostilePagesInABrowser(t *testing.T) {
	b := newBrowser(t)
	dir := filepath.Join(t.TempDir(), "r")
	r := hostileReport()
	write(t, dir, r)
	for _, name := range pagesOf(r) {
		b.open(t, dir, name, 390, "light")
		if over := eval[int64](t, b, tooWide); over > 0 {
			t.Errorf("%s: a long text makes the page %d pixels too wide", name, over)
		}
		if n := eval[int](t, b, `document.querySelectorAll('img, [onerror], [onmouseover], [onload], script:not([src]):not([type="application/json"])').length`); n > 0 {
			t.Errorf("%s: %d elements came out of the texts", name, n)
		}
	}
	b.quiet(t)
}

// TestPolicyForbids shows that the pages' policy refuses what the texts could
// only try, and that this test bench would notice: the page is tampered with
// so that it runs a script of its own and asks the network.
func TestPolicyForbids(t *testing.T) {
	b := newBrowser(t)
	dir := filepath.Join(t.TempDir(), "r")
	write(t, dir, smallReport())
	path := filepath.Join(dir, "index.html")
	content, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	bad := `<script>document.title = 'pwned'</script><img src="http://127.0.0.1:9/x.png"><img src="x" onerror="document.title='pwned'">` +
		`<script src="http://127.0.0.1:9/x.js"></script><link rel="stylesheet" href="http://127.0.0.1:9/x.css"><iframe src="http://127.0.0.1:9/"></iframe></main>`
	if err := os.WriteFile(path, []byte(strings.Replace(string(content), "</main>", bad, 1)), 0o644); err != nil {
		t.Fatal(err)
	}
	b.open(t, dir, "index.html", 1280, "light")
	if title := get(t, b, chromedp.Title()); title == "pwned" {
		t.Error("the policy let an inline script run")
	}
	if err := eval[string](t, b, `fetch('http://127.0.0.1:9/').then(() => 'went', () => 'refused')`, chromedp.EvalAwaitPromise); err != "refused" {
		t.Errorf("fetch %s", err)
	}
	b.mu.Lock()
	defer b.mu.Unlock()
	refused := 0
	for _, p := range b.problems {
		if strings.Contains(p, "Content Security Policy") {
			refused++
		}
	}
	if refused < 6 {
		t.Errorf("only %d refusals were noticed: %v", refused, b.problems)
	}
}

// TestServedPages opens a report from a web server, as an office may keep it:
// the policy must let the report's own files through there too.
func TestServedPages(t *testing.T) {
	b := newBrowser(t)
	dir := filepath.Join(t.TempDir(), "r")
	write(t, dir, smallReport())
	server := httptest.NewServer(http.FileServer(http.Dir(dir)))
	defer server.Close()
	b.openURL(t, server.URL+"/sites/"+pageName("K1")+".html", 1280, "light")
	if n := eval[int](t, b, `document.querySelectorAll('.chart svg').length`); n != 4 {
		t.Errorf("%d charts are drawn, want 4", n)
	}
	b.mu.Lock()
	defer b.mu.Unlock()
	for _, p := range b.problems {
		t.Errorf("page: %s", p)
	}
	for _, u := range b.requests {
		if !strings.HasPrefix(u, server.URL) && !strings.HasPrefix(u, "data:") {
			t.Errorf("page asked for %s", u)
		}
	}
}

// TestIndexWithScript filters and sorts the table of sites by keyboard.
func TestIndexWithScript(t *testing.T) {
	b := newBrowser(t)
	dir := filepath.Join(t.TempDir(), "r")
	write(t, dir, sampleReport())
	b.open(t, dir, "index.html", 1280, "light")
	const codes = `Array.from(document.querySelectorAll('#sites tbody tr:not([hidden]) a'), a => a.textContent).join(' ')`
	check := func(what, want string) {
		t.Helper()
		if got := eval[string](t, b, codes); got != want {
			t.Errorf("%s: got %q, want %q", what, got, want)
		}
	}
	check("at first", "DF-01 DF-02 DF-03 DF-04 DF-05")
	b.run(t, chromedp.SendKeys("#filter", "south TERRACE"))
	check("filtered", "DF-03")
	if got := eval[string](t, b, `document.querySelector('#shown').textContent`); got != "1 of 5 sites" {
		t.Errorf("the count says %q", got)
	}
	b.run(t, chromedp.SendKeys("#filter", strings.Repeat("\b", len("south TERRACE"))))
	check("the filter emptied", "DF-01 DF-02 DF-03 DF-04 DF-05")
	mean := `#sites thead th:nth-child(4)`
	b.run(t, chromedp.Focus(mean+" button"), chromedp.KeyEvent("\r"))
	check("by mean, rising", "DF-04 DF-02 DF-01 DF-03 DF-05")
	if got := eval[string](t, b, `document.querySelector('`+mean+`').getAttribute('aria-sort')`); got != "ascending" {
		t.Errorf("aria-sort is %q", got)
	}
	b.run(t, chromedp.KeyEvent("\r"))
	check("by mean, falling, sites without one last", "DF-03 DF-01 DF-02 DF-04 DF-05")
	b.quiet(t)
}

// smallPrint names the first text that paper would make smaller than 9pt, or
// than 8.5pt in a table.
const smallPrint = `(() => {
	const walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
	let seen = 0;
	while (walk.nextNode()) {
		const e = walk.currentNode.parentElement;
		if (!walk.currentNode.data.trim() || e.closest('script, noscript, svg, sub') || !e.getClientRects().length) continue;
		seen++;
		const pt = parseFloat(getComputedStyle(e).fontSize) * 0.75;
		if (pt < (e.closest('thead, tbody') ? 8.49 : 8.99)) return pt + 'pt ' + e.tagName + ': ' + walk.currentNode.data.slice(0, 40);
	}
	return seen > 50 ? '' : 'only ' + seen + ' texts were seen';
})()`

// TestPrint prints from a dark screen: two sheets a site on A4 and on Letter,
// in ink on white, with charts drawn for the sheet.
func TestPrint(t *testing.T) {
	b := newBrowser(t)
	dir := filepath.Join(t.TempDir(), "r")
	r := sampleReport()
	write(t, dir, r)
	sheet := regexp.MustCompile(`/Type /Page\b`)
	for i := range r.Sites[:4] {
		name := "sites/" + pageName(r.Sites[i].Code) + ".html"
		b.open(t, dir, name, 390, "dark")
		for _, paper := range []chromedp.PaperSize{chromedp.PaperA4, chromedp.PaperLetter} {
			pdf := get(t, b, chromedp.PrintToPDF(chromedp.PDFPaper(paper), chromedp.PDFMargin(0.5)))
			if n := len(sheet.FindAll(pdf, -1)); n != 2 {
				t.Errorf("%s takes %d sheets of %v inches, want 2", name, n, paper)
			}
		}
		b.media(t, "print", "dark")
		if small := eval[string](t, b, smallPrint); small != "" {
			t.Errorf("%s: small print: %s", name, small)
		}
		b.media(t, "", "dark")
		// Print lays out the sheets right after this event, without waiting for
		// a frame: a grid line must reach across the new width at once.
		if got := eval[string](t, b, `window.dispatchEvent(new Event('beforeprint')),
			document.querySelector('#chart-1 svg').textContent.includes('growth year') ? 'with the name of its years' :
			document.querySelector('#chart-1 svg').getAttribute('viewBox') + ' ' +
			document.querySelector('#chart-1 svg path').getAttribute('d')`); !regexp.MustCompile(`^0 0 690 .*L(680|598) `).MatchString(got) {
			t.Errorf("%s: a chart goes to print as %q", name, got)
		}
		s := &r.Sites[i]
		want := drawnOf(&s.Series[0], sharedAxis(s.shown(), true))
		if got := eval[drawn](t, b, fmt.Sprintf(countDrawn, "chart-1")); got != want {
			t.Errorf("%s: drew %+v for print, want %+v", name, got, want)
		}
		b.run(t, chromedp.Evaluate[chromedp.Void](`window.dispatchEvent(new Event('afterprint'))`))
		if got := eval[string](t, b, `document.querySelector('#chart-1 svg').getAttribute('viewBox')`); !strings.HasPrefix(got, "0 0 36") {
			t.Errorf("%s: after print a chart stays at %q", name, got)
		}
		if !eval[bool](t, b, `document.querySelector('#chart-1 svg').textContent.includes('growth year')`) {
			t.Errorf("%s: after print the chart has lost the name of its years", name)
		}
	}
	b.quiet(t)
}
