package charts

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"clipledger/monitor/needtool"

	"github.com/chromedp/chromedp"
)

// officePages are the pages an office reads: of all sites, years and findings.
var officePages = []string{"index.html", "summary/2024.html", "summary/2011.html", "quality.html", "methods.html"}

// textContrast names the first text whose colour, as computed, stands out too
// little from the ground behind it (WCAG 2: 4.5).
const textContrast = `(() => {
	const parse = c => { const m = c.match(/[0-9.]+/g).map(Number); return m.length > 3 && m[3] === 0 ? null : m; };
	const light = c => { const f = v => (v /= 255, v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4); return 0.2126 * f(c[0]) + 0.7152 * f(c[1]) + 0.0722 * f(c[2]); };
	const walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
	let seen = 0;
	while (walk.nextNode()) {
		const e = walk.currentNode.parentElement;
		if (!walk.currentNode.data.trim() || e.closest('script, noscript, title') || !e.getClientRects().length) continue;
		const style = getComputedStyle(e);
		const ink = parse(e.closest('svg') ? style.fill : style.color);
		let ground = null;
		for (let g = e; g && !ground; g = g.parentElement) ground = parse(getComputedStyle(g).backgroundColor);
		ground = ground || [255, 255, 255];
		const a = light(ink), b = light(ground), ratio = (Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05);
		seen++;
		if (ratio < 4.5) return ratio.toFixed(2) + ' ' + e.tagName + ' ' + walk.currentNode.data.slice(0, 40);
	}
	return seen > 20 ? '' : 'only ' + seen + ' texts were seen';
})()`

// nameless names the first thing that can be reached and has no name, and the
// first drawing a screen reader would meet without one.
const nameless = `(() => {
	const name = e => (e.getAttribute('aria-label') || (e.getAttribute('aria-labelledby') || '').split(' ').map(i => i && document.getElementById(i) ? document.getElementById(i).textContent : '').join('') ||
		(e.labels && e.labels.length ? e.labels[0].textContent : '') || e.textContent || '').trim();
	for (const e of document.querySelectorAll('a[href], button, input, select, [tabindex="0"], svg[role=img], table'))
		if (!(e.tagName === 'TABLE' ? e.caption.textContent.trim() : e.tagName === 'INPUT' || e.tagName === 'SELECT' ? e.labels.length && e.labels[0].textContent.trim() : name(e))) return e.outerHTML.slice(0, 120);
	for (const e of document.querySelectorAll('svg')) if (e.getAttribute('role') !== 'img' && e.getAttribute('aria-hidden') !== 'true') return 'a drawing without a role: ' + e.outerHTML.slice(0, 80);
	return '';
})()`

// TestOfficePagesAtEveryWidth looks at the office's pages at four widths and
// in both schemes.
func TestOfficePagesAtEveryWidth(t *testing.T) {
	b := newBrowser(t)
	dir := filepath.Join(t.TempDir(), "r")
	write(t, dir, withSummaries(sampleReport()))
	for _, name := range officePages {
		for _, width := range []int64{360, 768, 1280, 1920} {
			b.open(t, dir, name, width, map[bool]string{true: "light", false: "dark"}[width > 1000 || width < 500])
			if over := eval[int64](t, b, tooWide); over > 0 {
				t.Errorf("%s at %d: the page is %d pixels too wide", name, width, over)
			}
			for what, script := range map[string]string{"small text": smallText, "contrast": textContrast, "no name": nameless, "labels": unlabelled} {
				if bad := eval[string](t, b, script); bad != "" {
					t.Errorf("%s at %d: %s: %s", name, width, what, bad)
				}
			}
		}
		b.open(t, dir, name, 1280, "dark")
		if bad := eval[string](t, b, textContrast); bad != "" {
			t.Errorf("%s, dark: contrast: %s", name, bad)
		}
	}
	b.quiet(t)
}

// TestKeyboardGoesInOrder walks the index with the tabulator: everything that
// can be used is reached, in the order in which it stands, and seen to be.
func TestKeyboardGoesInOrder(t *testing.T) {
	b := newBrowser(t)
	dir := filepath.Join(t.TempDir(), "r")
	write(t, dir, withSummaries(sampleReport()))
	for _, name := range []string{"index.html", "summary/2024.html", "quality.html"} {
		b.open(t, dir, name, 1280, "light")
		want := eval[int](t, b, `(() => { let n = 0;
			for (const e of document.querySelectorAll('a[href], button, input, select, [tabindex="0"]')) if (e.getClientRects().length) e.setAttribute('data-stop', n++);
			return n; })()`)
		for i := range want {
			b.run(t, chromedp.KeyEvent("\t"))
			got := eval[string](t, b, `document.activeElement.getAttribute('data-stop') + ' ' + (getComputedStyle(document.activeElement).outlineStyle !== 'none')`)
			if got != fmt.Sprintf("%d true", i) {
				t.Fatalf("%s: stop %d of %d is %q", name, i, want, got)
			}
		}
	}
	b.quiet(t)
}

// TestStratumFilter chooses a stratum by keyboard, and a word beside it.
func TestStratumFilter(t *testing.T) {
	b := newBrowser(t)
	dir := filepath.Join(t.TempDir(), "r")
	write(t, dir, withSummaries(sampleReport()))
	b.open(t, dir, "index.html", 1280, "light")
	const codes = `Array.from(document.querySelectorAll('#sites tbody tr:not([hidden]) th a'), a => a.textContent).join(' ')`
	b.run(t, chromedp.Focus("#stratum"), chromedp.KeyEvent("S"))
	if got, want := eval[string](t, b, codes), "DF-03 DF-04 DF-05"; got != want {
		t.Errorf("in the stratum: %q, want %q", got, want)
	}
	b.run(t, chromedp.SendKeys("#filter", "creek"))
	if got, want := eval[string](t, b, codes), "DF-03"; got != want {
		t.Errorf("with a word beside it: %q, want %q", got, want)
	}
	if got := eval[string](t, b, `document.querySelector('#shown').textContent`); got != "1 of 5 sites" {
		t.Errorf("the count says %q", got)
	}
	trend := `Array.from(document.querySelectorAll('#sites thead th')).find(h => h.textContent === 'Trend')`
	b.run(t, chromedp.SendKeys("#filter", strings.Repeat("\b", 5)), chromedp.Focus("#stratum"), chromedp.KeyEvent("a"),
		chromedp.Evaluate[chromedp.Void](trend+`.querySelector('button').focus()`), chromedp.KeyEvent("\r"))
	if got, want := eval[string](t, b, codes), "DF-02 DF-01 DF-03 DF-04 DF-05"; got != want {
		t.Errorf("by trend, falling first: %q, want %q", got, want)
	}
	b.quiet(t)
}

// TestIndexWithoutScript turns scripts off: the table, the summaries and the
// map are all there, and what would do nothing is not.
func TestIndexWithoutScript(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "r")
	write(t, dir, withSummaries(sampleReport()))
	page, err := os.ReadFile(filepath.Join(dir, "index.html"))
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{`<div class="filter" hidden>`, `class="map"`, "no trend detected", `href="summary/2024.html"`, "2024", "Creek terrace", "<td>poor</td>", "It rose most at"} {
		if !strings.Contains(string(page), want) {
			t.Errorf("the page lacks %q", want)
		}
	}
	if strings.Contains(string(page), "<button") {
		t.Error("a button that only a script could serve")
	}
}

// TestSummaryInPrint prints a summary of 120 sites on A4 and Letter and reads
// the sheets: numbered, the heading of the table on each that it reaches, and
// no site's row cut in two.
func TestSummaryInPrint(t *testing.T) {
	pdftotext, err := exec.LookPath("pdftotext")
	if err != nil {
		needtool.Missing(t, "pdftotext (poppler-utils)")
	}
	b := newBrowser(t)
	dir := t.TempDir()
	r := withSummaries(sampleReport())
	row := &r.Summaries[13].Rows[0]
	for i := range 120 {
		x := row.Each[0]
		x.Code, x.Name = fmt.Sprintf("P-%03d", i), fmt.Sprintf("Name-%03d", i)
		row.Each = append(row.Each, x)
	}
	write(t, filepath.Join(dir, "r"), r)
	b.open(t, filepath.Join(dir, "r"), "summary/2024.html", 390, "dark")
	for _, paper := range []chromedp.PaperSize{chromedp.PaperA4, chromedp.PaperLetter} {
		file := filepath.Join(dir, "s.pdf")
		save(t, file, get(t, b, chromedp.PrintToPDF(chromedp.PDFPaper(paper))))
		out, err := exec.Command(pdftotext, "-layout", file, "-").Output()
		if err != nil {
			t.Fatal(err)
		}
		sheets := strings.Split(strings.TrimSuffix(string(out), "\f"), "\f")
		if len(sheets) < 4 {
			t.Fatalf("120 sites took %d sheets: nothing is tested", len(sheets))
		}
		whole := 0
		for i, sheet := range sheets {
			if want := fmt.Sprintf("%d of %d", i+1, len(sheets)); !strings.Contains(sheet, want) {
				t.Errorf("sheet %d is not numbered %q", i+1, want)
			}
			codes := regexp.MustCompile(`\bP-\d{3}\b`).FindAllString(sheet, -1)
			for _, code := range codes {
				if strings.Contains(sheet, "Name-"+code[2:]) {
					whole++
				} else {
					t.Errorf("%s is cut in two by the end of sheet %d", code, i+1)
				}
			}
			if len(codes) > 0 && !regexp.MustCompile(`Site\s+n\s+Mean\s+Interval`).MatchString(sheet) {
				t.Errorf("sheet %d has rows and no heading", i+1)
			}
		}
		if whole < 120 {
			t.Errorf("%d of 120 rows are on the sheets", whole)
		}
	}
	b.media(t, "print", "dark")
	if small := eval[string](t, b, smallPrint); small != "" {
		t.Errorf("small print: %s", small)
	}
	b.quiet(t)
}

// TestSummaryCSV reads the numbers behind the summaries.
func TestSummaryCSV(t *testing.T) {
	r := withSummaries(sampleReport())
	_, rows := readCSV(t, summaryCSV(r))
	want := 0
	for i := range r.Summaries {
		for j := range r.Summaries[i].Rows {
			if want++; !r.Summaries[i].Rows[j].All {
				want += len(r.Summaries[i].Rows[j].Each)
			}
		}
	}
	if len(rows) != want {
		t.Errorf("%d rows, want %d", len(rows), want)
	}
	k := slices.IndexFunc(rows, func(x map[string]string) bool { return x["stratum"] == "all" && x["year"] == "2024" })
	if got, want := rows[k]["mean"], full(*r.Summaries[13].Rows[2].Mean); got != want {
		t.Errorf("the mean of all is %s, want %s", got, want)
	}
	if rows[k]["site"] != "" || rows[k]["judged_sites"] != "4" {
		t.Errorf("the row of all: %v", rows[k])
	}
}
