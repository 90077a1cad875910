package fieldsheet

import (
	"bytes"
	"embed"
	"fmt"
	"html/template"
	"strconv"

	"clipledger/monitor"
)

//go:embed templates
var templateFiles embed.FS

// spareLines are empty lines at the end of a transect, for what nobody
// foresaw.
const spareLines = 2

// page is a book as the template shows it.
type page struct {
	Title     string
	Estimates bool
	HowTo     []string
	Cautions  string
	Footer    string
	Observer  string
	Sheets    []pageSheet
}

// pageSheet is one site and season.
type pageSheet struct {
	Title     string
	Stratum   string
	Reminders []string
	Cares     []string
	Tables    []pageTable
}

// pageTable is one transect: its own sheet of paper.
type pageTable struct {
	Title   string // site, season, year and transect, repeated on every page
	First   bool   // it follows the head of its site
	Columns []pageColumn
	Frames  []pageFrame
	Spare   []struct{}
}

// pageColumn is a column of the printed table.
type pageColumn struct {
	Title, Unit, Class string
	value              func(*monitor.FieldLine) string // nil: to fill
}

// pageFrame is a frame, which is never torn over two pages.
type pageFrame struct {
	Label string
	Caged bool
	Rows  [][]string
}

// HTML writes a book as one page to print.
func (b *Book) HTML() ([]byte, error) {
	t, err := template.New("sheet.html").Funcs(template.FuncMap{"inc": func(n int) int { return n + 1 }}).ParseFS(templateFiles, "templates/sheet.html")
	if err != nil {
		return nil, fmt.Errorf("make the page: %w", err)
	}
	css, err := templateFiles.ReadFile("templates/sheet.css")
	if err != nil {
		return nil, fmt.Errorf("make the page: %w", err)
	}
	var out bytes.Buffer
	err = t.Execute(&out, struct {
		*page
		Style template.CSS
	}{b.page(), template.CSS(css)})
	if err != nil {
		return nil, fmt.Errorf("make the page: %w", err)
	}
	return out.Bytes(), nil
}

// title names a sheet: "QUILL, Quill Flat, peak 2025".
func title(s *monitor.FieldSheet) string {
	name := s.Site.Site
	if s.Site.Name != "" {
		name += ", " + s.Site.Name
	}
	return name + ", " + s.Season + " " + strconv.Itoa(s.Year)
}

// footer says whose sheet this is.
func (b *Book) footer() string {
	if b.Estimates {
		return b.LedgerName + ": field sheet for eye estimates"
	}
	return b.LedgerName + ": field sheet; dry weights are kept " + b.Basis
}

func (b *Book) page() *page {
	p := &page{Title: "Field sheet", Estimates: b.Estimates, HowTo: b.howTo(), Cautions: Cautions, Footer: b.footer(), Observer: b.Observer}
	if b.Estimates {
		p.Title = "Field sheet for eye estimates"
	}
	for i := range b.Sheets {
		p.Sheets = append(p.Sheets, b.pageSheet(&b.Sheets[i]))
	}
	return p
}

func (b *Book) pageSheet(s *monitor.FieldSheet) pageSheet {
	out := pageSheet{Title: title(s), Stratum: s.Site.Stratum, Reminders: s.Reminders, Cares: s.Cares}
	columns := b.pageColumns(s)
	for from := 0; from < len(s.Lines); {
		to := from
		for to < len(s.Lines) && s.Lines[to].Transect == s.Lines[from].Transect {
			to++
		}
		t := pageTable{Title: title(s) + ", transect " + s.Lines[from].Transect, First: from == 0, Columns: columns, Frames: pageFrames(columns, s.Lines[from:to]), Spare: make([]struct{}, spareLines)}
		out.Tables = append(out.Tables, t)
		from = to
	}
	return out
}

// pageColumns are the columns of the printed table after that of the frame.
func (b *Book) pageColumns(s *monitor.FieldSheet) []pageColumn {
	type line = monitor.FieldLine
	var out []pageColumn
	has := func(value func(*line) string) bool {
		for i := range s.Lines {
			if value(&s.Lines[i]) != "" {
				return true
			}
		}
		return false
	}
	known := func(title, unit string, always bool, value func(*line) string) {
		if always || has(value) {
			out = append(out, pageColumn{Title: title, Unit: unit, Class: "known", value: value})
		}
	}
	fill := func(class string, titles ...string) {
		for _, t := range titles {
			out = append(out, pageColumn{Title: t, Class: class})
		}
	}
	weigh := func(titles ...string) {
		for _, t := range titles {
			out = append(out, pageColumn{Title: t, Unit: b.Scale.Name, Class: "weight"})
		}
	}
	if !b.Estimates {
		known("treatment", "", false, func(l *line) string { return l.Treatment })
		known("block", "", false, func(l *line) string { return l.Block })
	}
	known("component", "", true, func(l *line) string { return l.Component.String() })
	known("species", "", false, func(l *line) string { return l.Species })
	known("frame type", "", true, func(l *line) string { return l.FrameType })
	if b.Estimates {
		weigh("green, estimated")
		fill("word", "observer", "date")
		fill("note", "note")
		return out
	}
	if b.LastYear {
		known("last green", b.Scale.Name, false, func(l *line) string { return b.weight(l.LastGreenG) })
		known("last dry", b.Scale.Name, false, func(l *line) string { return b.weight(l.LastDryG) })
	}
	fill("tick", "looked for ✓")
	fill("word", "bag label")
	weigh("tare", "gross green", "net green")
	fill("word", "stage", "lost / empty", "observer", "date")
	fill("note", "note")
	return out
}

// pageFrames gathers lines by frame.
func pageFrames(columns []pageColumn, lines []monitor.FieldLine) []pageFrame {
	var out []pageFrame
	for i := range lines {
		l := &lines[i]
		if n := len(out); n == 0 || out[n-1].Label != l.Frame || out[n-1].Caged != l.Caged {
			out = append(out, pageFrame{Label: l.Frame, Caged: l.Caged})
		}
		row := make([]string, len(columns))
		for k, c := range columns {
			if c.value != nil {
				row[k] = c.value(l)
			}
		}
		f := &out[len(out)-1]
		f.Rows = append(f.Rows, row)
	}
	return out
}
