package charts

import (
	"bytes"
	"crypto/sha256"
	"encoding/base64"
	"encoding/csv"
	"errors"
	"fmt"
	"html/template"
	"io"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
)

// One site's page as one file that survives being sent by mail: style, script
// and chart library stand in it, with the numbers behind its charts as tables
// and the methods after them. Its policy lets nothing run but exactly these
// scripts, by their digests, and asks no network.

// single is what a page that stands alone carries in itself.
type single struct{ Head, Tail template.HTML }

// Single is nil for the pages of a folder.
func (r *Report) Single() *single { return r.single }

// generator marks a file as ours to write again.
const generator = `<meta name="generator" content="clipledger report, one site in one file">`

func newSingle() (*single, error) {
	var tail, digests strings.Builder
	for _, name := range []string{"assets/echarts.min.js", "assets/report.js"} {
		script, err := assetFiles.ReadFile(name)
		if err != nil {
			return nil, fmt.Errorf("report: %w", err)
		}
		// A browser reads line ends as \n before it takes the digest.
		script = bytes.ReplaceAll(script, []byte("\r\n"), []byte("\n"))
		script = bytes.ReplaceAll(script, []byte("\r"), []byte("\n"))
		if bytes.Contains(bytes.ToLower(script), []byte("</script")) || bytes.Contains(script, []byte("<!--")) {
			return nil, fmt.Errorf("report: %s cannot stand inside a page", name)
		}
		fmt.Fprintf(&digests, " 'sha256-%s'", sha256Base64(script))
		tail.WriteString("<script>" + string(script) + "</script>\n")
	}
	style, err := assetFiles.ReadFile("assets/report.css")
	if err != nil {
		return nil, fmt.Errorf("report: %w", err)
	}
	head := fmt.Sprintf(`<meta http-equiv="Content-Security-Policy" content="default-src 'none'; script-src%s; style-src 'sha256-%s'; style-src-attr 'unsafe-inline'; img-src data:; connect-src 'none'; base-uri 'none'; form-action 'none'">
%s
<style>%s</style>`, digests.String(), sha256Base64(style), generator, style)
	return &single{template.HTML(head), template.HTML(tail.String())}, nil
}

func sha256Base64(content []byte) string {
	sum := sha256.Sum256(content)
	return base64.StdEncoding.EncodeToString(sum[:])
}

// memory keeps the files of a report instead of writing them.
type memory struct {
	names   []string
	content map[string][]byte
}

// Put implements store.
func (m *memory) Put(name string, content []byte) error {
	m.names = append(m.names, name)
	m.content[name] = slices.Clone(content)
	return nil
}

// WriteSingle writes the page of one site into a file. The file must be new or
// an earlier one of ours.
func WriteSingle(file string, r *Report, code string) error {
	if err := r.validate(); err != nil {
		return err
	}
	i := slices.IndexFunc(r.Sites, func(s Site) bool { return s.Code == code })
	if i < 0 {
		return fmt.Errorf("report: there is no site %q", code)
	}
	if err := mayReplace(file); err != nil {
		return err
	}
	page, err := singlePage(r, i)
	if err != nil {
		return err
	}
	return writeBeside(file, page)
}

// singlePage composes the file.
func singlePage(r *Report, i int) ([]byte, error) {
	alone := *r
	alone.Sites, alone.Summaries, alone.Quality = r.Sites[i:i+1], nil, nil
	carried, err := newSingle()
	if err != nil {
		return nil, err
	}
	alone.single = &single{headPlace, tailPlace}
	pages, err := parsePages()
	if err != nil {
		return nil, err
	}
	files := &memory{content: map[string][]byte{}}
	if err := writeSite(files, pages, &alone, 0); err != nil {
		return nil, err
	}
	if err := pages.write(files, pages.methods, "methods.html", newMethodsPage(&alone)); err != nil {
		return nil, err
	}
	site := files.content["sites/"+pageName(alone.Sites[0].Code)+".html"]
	before, after, ok := strings.Cut(string(site), "\n</main>")
	if !ok {
		return nil, errors.New("report: the page has no end of its main part")
	}
	tables, err := files.tables()
	if err != nil {
		return nil, err
	}
	page := relink(before) + tables + embeddedMethods(files.content["methods.html"]) + "\n</main>" + relink(after)
	return []byte(carried.into(page)), nil
}

// Where the head and the tail go: they stand before the first and after the
// last text that is not ours, so the first and the last of these are the
// right ones.
const headPlace, tailPlace = "<!--head-->", "<!--tail-->"

// into puts what a page carries into it, byte for byte: the digests of the
// policy are of these bytes.
func (c *single) into(page string) string {
	page = strings.Replace(page, headPlace, string(c.Head), 1)
	i := strings.LastIndex(page, tailPlace)
	return page[:i] + string(c.Tail) + page[i+len(tailPlace):]
}

// tables are the numbers behind the page, each file a table that unfolds.
func (m *memory) tables() (string, error) {
	var b strings.Builder
	b.WriteString("\n<section class=\"screen\" aria-labelledby=\"data\">\n<h2 id=\"data\">The numbers behind this page</h2>\n")
	for _, name := range m.names {
		if path.Ext(name) != ".csv" {
			continue
		}
		records, err := csv.NewReader(bytes.NewReader(m.content[name])).ReadAll()
		if err != nil {
			return "", fmt.Errorf("report: %s: %w", name, err)
		}
		fmt.Fprintf(&b, "<details id=\"%s\"><summary>%s, %d rows</summary>\n<div class=\"scroll\" role=\"region\" aria-label=\"%s\" tabindex=\"0\">\n<table class=\"behind\">\n<caption>%s, in full precision</caption>\n",
			dataID(name), path.Base(name), len(records)-1, path.Base(name), path.Base(name))
		for i, record := range records {
			cell, open, end := "td", "", ""
			if i == 0 {
				cell, open, end = `th scope="col"`, "<thead>", "</thead><tbody>"
			}
			b.WriteString(open + "<tr>")
			for _, text := range record {
				b.WriteString("<" + cell + ">" + template.HTMLEscapeString(text))
				b.WriteString("</" + cell[:2] + ">")
			}
			b.WriteString("</tr>" + end + "\n")
		}
		b.WriteString("</tbody></table>\n</div></details>\n")
	}
	b.WriteString("</section>\n")
	return b.String(), nil
}

func dataID(name string) string { return "data-" + strings.TrimSuffix(path.Base(name), ".csv") }

var idOrReference = regexp.MustCompile(`( (?:id|aria-labelledby|aria-describedby)="|href="#)`)

// embeddedMethods is the main part of the page of methods, its ids made its
// own.
func embeddedMethods(page []byte) string {
	_, rest, _ := strings.Cut(string(page), `<main id="main" tabindex="-1">`)
	text, _, _ := strings.Cut(rest, "</main>")
	text = strings.Replace(strings.Replace(text, "<h1>", `<h1 id="top">`, 1), "h1>", "h2>", 1)
	text = strings.Replace(text, `<h1 id="top">`, `<h2 id="top">`, 1)
	return "\n<section class=\"screen methods\">\n" + relink(idOrReference.ReplaceAllString(text, "${1}methods-")) + "\n</section>"
}

var (
	link1      = regexp.MustCompile(`(?s)<a ([^>]*?)href="([^"]*)"([^>]*)>(.*?)</a>`)
	dataHref   = regexp.MustCompile(`^(?:\.\./)?data/([a-z0-9-]+)\.csv$`)
	methodHref = regexp.MustCompile(`^(?:\.\./)?methods\.html(?:#(.*))?$`)
)

// relink turns links to files that are not there into links to what stands in
// the page itself, or into plain text.
func relink(html string) string {
	return link1.ReplaceAllStringFunc(html, func(a string) string {
		m := link1.FindStringSubmatch(a)
		href := m[2]
		if strings.HasPrefix(href, "#") {
			return a
		}
		switch {
		case dataHref.MatchString(href):
			href = "#data-" + dataHref.FindStringSubmatch(href)[1]
		case methodHref.MatchString(href):
			part := methodHref.FindStringSubmatch(href)[1]
			if part == "" {
				part = "top"
			}
			href = "#methods-" + part
		default:
			return m[4]
		}
		return "<a " + m[1] + `href="` + href + `"` + m[3] + ">" + m[4] + "</a>"
	})
}

// mayReplace refuses a file that no report wrote.
func mayReplace(file string) error {
	in, err := os.Open(file)
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	if err != nil {
		return fmt.Errorf("write report: %w", err)
	}
	defer in.Close()
	head, err := io.ReadAll(io.LimitReader(in, 4096))
	if err != nil || !bytes.Contains(head, []byte(generator)) {
		return fmt.Errorf("%s is there and is no earlier report; choose another name", file)
	}
	return nil
}

// writeBeside writes a file under another name and lets it take its place.
func writeBeside(file string, content []byte) error {
	out, err := os.CreateTemp(filepath.Dir(file), ".clipledger-new-*")
	if err != nil {
		return fmt.Errorf("write report: %w", err)
	}
	_, err = out.Write(content)
	if err == nil {
		err = out.Chmod(0o644)
	}
	if cerr := out.Close(); err == nil {
		err = cerr
	}
	if err == nil {
		err = os.Rename(out.Name(), file)
	}
	if err != nil {
		_ = os.Remove(out.Name())
		return fmt.Errorf("write report: %w", err)
	}
	return nil
}
