package charts

import (
	"bytes"
	"embed"
	"fmt"
	"html/template"
	"runtime"
	"strconv"
	"sync"
	"sync/atomic"
)

//go:embed assets
var assetFiles embed.FS

//go:embed templates
var templateFiles embed.FS

// assets are copied as they are. The chart library keeps its licence beside it.
var assets = []string{
	"assets/report.css", "assets/report.js",
	"assets/echarts.min.js", "assets/echarts-LICENSE.txt", "assets/echarts-NOTICE.txt",
}

// Write writes the report into dir. The folder must be new, empty, or an
// earlier report of ours; then only files whose content differs are written
// again, and pages that are no longer made are removed. Nothing else in the
// folder is touched.
//
// progress, when not nil, is called after each site with the number of sites
// done and of all.
func Write(dir string, r *Report, progress func(done, total int)) error {
	if err := r.validate(); err != nil {
		return err
	}
	pages, err := parsePages()
	if err != nil {
		return err
	}
	f, err := openFolder(dir)
	if err != nil {
		return err
	}
	defer f.Close()
	f.Stamp = r.Stamp
	if err := f.Begin(r.fileNames()); err != nil {
		return err
	}
	if err := writeAll(f, pages, r, progress); err != nil {
		f.Discard()
		return err
	}
	return f.Finish()
}

// store takes the files of a report: a folder, or what keeps them for a page
// that stands alone.
type store interface {
	Put(name string, content []byte) error
}

// fileNames lists every file of the report.
func (r *Report) fileNames() []string {
	names := append([]string{"index.html", "methods.html", "quality.html", "data/sites.csv", "data/quality.csv", "data/summary.csv"}, assets...)
	for _, year := range r.YearLinks() {
		names = append(names, summaryName(year))
	}
	for i := range r.Sites {
		page := pageName(r.Sites[i].Code)
		names = append(append(names, "sites/"+page+".html"), r.Sites[i].dataNames()...)
	}
	return names
}

func writeAll(f store, pages *pageSet, r *Report, progress func(done, total int)) error {
	for _, name := range assets {
		content, err := assetFiles.ReadFile(name)
		if err != nil {
			return fmt.Errorf("report: %w", err)
		}
		if err := f.Put(name, content); err != nil {
			return err
		}
	}
	if err := writeSites(f, pages, r, progress); err != nil {
		return err
	}
	if err := writeTables(f, r); err != nil {
		return err
	}
	for i := range r.Summaries {
		if err := pages.write(f, pages.summary, summaryName(r.Summaries[i].Year), newSummaryPage(r, i)); err != nil {
			return err
		}
	}
	if err := pages.write(f, pages.quality, "quality.html", newQualityPage(r)); err != nil {
		return err
	}
	if err := pages.write(f, pages.methods, "methods.html", newMethodsPage(r)); err != nil {
		return err
	}
	return pages.write(f, pages.index, "index.html", newIndexPage(r))
}

// writeTables writes the numbers behind the pages of all sites.
func writeTables(f store, r *Report) error {
	for _, t := range []struct {
		name    string
		content []byte
	}{{"data/sites.csv", sitesCSV(r)}, {"data/summary.csv", summaryCSV(r)}, {"data/quality.csv", qualityCSV(r)}} {
		if err := f.Put(t.name, t.content); err != nil {
			return err
		}
	}
	return nil
}

// summaryName is the page of a year's summary.
func summaryName(year int) string { return "summary/" + strconv.Itoa(year) + ".html" }

// writeSites writes the pages of sites on as many cores as there are.
func writeSites(f store, pages *pageSet, r *Report, progress func(done, total int)) error {
	var next atomic.Int64
	var mu sync.Mutex
	var failed error
	done := 0
	work := func() {
		own := &pageSet{site: pages.site}
		for i := int(next.Add(1) - 1); i < len(r.Sites); i = int(next.Add(1) - 1) {
			err := writeSite(f, own, r, i)
			mu.Lock()
			if err != nil && failed == nil {
				failed = err
				next.Store(int64(len(r.Sites)))
			}
			if done++; failed == nil && progress != nil {
				progress(done, len(r.Sites))
			}
			mu.Unlock()
		}
	}
	var all sync.WaitGroup
	for range max(1, min(runtime.GOMAXPROCS(0), len(r.Sites))) {
		all.Go(work)
	}
	all.Wait()
	return failed
}

func writeSite(f store, pages *pageSet, r *Report, i int) error {
	s := &r.Sites[i]
	p, err := newSitePage(r, i)
	if err != nil {
		return fmt.Errorf("site %q: %w", s.Code, err)
	}
	if err := writeData(f, r, s); err != nil {
		return err
	}
	return pages.write(f, pages.site, "sites/"+p.Page+".html", p)
}

// pageSet holds the parsed templates and one buffer for all pages.
type pageSet struct {
	index, site, methods, summary, quality *template.Template
	buf                                    bytes.Buffer
}

// parsePages parses each page together with the frame all pages share.
func parsePages() (*pageSet, error) {
	funcs := template.FuncMap{
		"mark":    func(kind int) template.HTML { return template.HTML(markSVG(kind)) },
		"capital": sentence,
	}
	parse := func(page string) (*template.Template, error) {
		return template.New("page.html").Funcs(funcs).ParseFS(templateFiles, "templates/page.html", "templates/"+page)
	}
	var set pageSet
	for _, p := range []struct {
		file string
		into **template.Template
	}{{"index.html", &set.index}, {"site.html", &set.site}, {"methods.html", &set.methods}, {"summary.html", &set.summary}, {"quality.html", &set.quality}} {
		t, err := parse(p.file)
		if err != nil {
			return nil, fmt.Errorf("report: %w", err)
		}
		*p.into = t
	}
	return &set, nil
}

func (set *pageSet) write(f store, t *template.Template, name string, data any) error {
	set.buf.Reset()
	if err := t.Execute(&set.buf, data); err != nil {
		return fmt.Errorf("page %s: %w", name, err)
	}
	return f.Put(name, set.buf.Bytes())
}
