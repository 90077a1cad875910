package charts

import (
	"bytes"
	"embed"
	"fmt"
	"html/template"

	"clipledger/folder"
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
	if err := f.Begin(r.fileNames()); err != nil {
		return err
	}
	if err := writeAll(f, pages, r, progress); err != nil {
		return err
	}
	return f.Finish()
}

// fileNames lists every file of the report.
func (r *Report) fileNames() []string {
	names := append([]string{"index.html", "methods.html", "data/sites.csv"}, assets...)
	for i := range r.Sites {
		page := pageName(r.Sites[i].Code)
		names = append(append(names, "sites/"+page+".html"), r.Sites[i].dataNames()...)
	}
	return names
}

func writeAll(f *folder.Folder, pages *pageSet, r *Report, progress func(done, total int)) error {
	for _, name := range assets {
		content, err := assetFiles.ReadFile(name)
		if err != nil {
			return fmt.Errorf("report: %w", err)
		}
		if err := f.Put(name, content); err != nil {
			return err
		}
	}
	for i := range r.Sites {
		if err := writeSite(f, pages, r, i); err != nil {
			return err
		}
		if progress != nil {
			progress(i+1, len(r.Sites))
		}
	}
	if err := f.Put("data/sites.csv", sitesCSV(r)); err != nil {
		return err
	}
	if err := pages.write(f, pages.methods, "methods.html", newMethodsPage(r)); err != nil {
		return err
	}
	return pages.write(f, pages.index, "index.html", newIndexPage(r))
}

func writeSite(f *folder.Folder, pages *pageSet, r *Report, i int) error {
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
	index, site, methods *template.Template
	buf                  bytes.Buffer
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
	}{{"index.html", &set.index}, {"site.html", &set.site}, {"methods.html", &set.methods}} {
		t, err := parse(p.file)
		if err != nil {
			return nil, fmt.Errorf("report: %w", err)
		}
		*p.into = t
	}
	return &set, nil
}

func (set *pageSet) write(f *folder.Folder, t *template.Template, name string, data any) error {
	set.buf.Reset()
	if err := t.Execute(&set.buf, data); err != nil {
		return fmt.Errorf("page %s: %w", name, err)
	}
	return f.Put(name, set.buf.Bytes())
}
