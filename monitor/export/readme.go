package export

import (
	"fmt"
	"strings"
)

// readme writes README.txt: what the export is, every column with its unit and
// meaning, and how to read it back.
func (w *writer) readme() error {
	var b strings.Builder
	src := w.src
	title := src.called()
	fmt.Fprintf(&b, "%s\n%s\n\n", title, strings.Repeat("=", len([]rune(title))))
	src.about(&b)
	src.conventions(&b)
	w.contents(&b)
	w.readBack(&b)
	b.WriteString(cautions)
	return w.stageText("README.txt", b.String())
}

const cautions = `
CAUTIONS

Figures are estimates from samples: read the interval before the mean. Book
values vary by site and year. Clipping one spot to the ground every year is
itself a treatment. Stocking and use decisions follow local rules and the
advice of a qualified range professional; nothing here replaces either.
`

// about says what the dataset is and what it lacks.
func (src *source) about(b *strings.Builder) {
	m := src.metadata()
	if m.abstract != "" {
		fmt.Fprintf(b, "%s\n\n", fill(m.abstract, "", ""))
	}
	line := func(what, value string) {
		if value != "" {
			b.WriteString(fill(what+": "+value, "", "    ") + "\n")
		}
	}
	line("Creators", strings.Join(m.creators, "; "))
	line("Contact", strings.TrimSpace(m.contact+" "+m.contactEmail))
	line("Licence", m.licence)
	line("Please cite as", m.citation)
	line("Keywords", strings.Join(m.keywords, "; "))
	line("Where", m.location)
	if m.firstYear != 0 {
		line("Growth years", fmt.Sprintf("%d to %d", m.firstYear, m.lastYear))
	}
	line("Basis of dry weights", fmt.Sprintf("%s, where a column does not say otherwise", src.values["basis"]))
	if changed, err := src.snap.LastChange(); err == nil {
		line("Last change of the ledger", changed)
	}
	b.WriteString("Written by clipledger from the records of its ledger.\n")
	if lacking := src.lacking(); len(lacking) > 0 {
		b.WriteString("\nWHAT A REPOSITORY WILL ASK FOR, and the ledger does not say yet:\n\n")
		for _, a := range asked {
			if src.values[a.setting] == "" {
				fmt.Fprintf(b, "  %-10s %s\n", a.setting, a.why)
			}
		}
		fmt.Fprintf(b, "\nSet each with: clipledger settings %s=...\n", lacking[0])
	}
}

// conventions say how values are written.
func (src *source) conventions(b *strings.Builder) {
	b.WriteString("\nHOW VALUES ARE WRITTEN\n\n")
	texts := []string{
		"UTF-8. Missing is empty, and never zero: a zero was weighed, or the component was looked for and not found.",
		"Dates are YYYY-MM-DD. Numbers have a decimal point and all the digits that they have in the ledger. Units stand in the names of columns.",
	}
	if src.options.Form != "parquet" && src.options.Form != "xlsx" {
		texts = append(texts, `Comma separated, one header line. A text that begins with =, +, - or @ has a ' before it, so that a spreadsheet does not run it as a formula; take one ' off such texts.`)
	}
	if !src.options.Observers {
		texts = append(texts, `Observers are called "observer 1" and so on: the same number is the same person in all tables, and in later exports of the ledger. Names stay in the ledger.`)
	}
	if !src.options.Coordinates {
		texts = append(texts, "Coordinates stay in the ledger: the columns latitude and longitude are empty.")
	}
	texts = append(texts, "Notes are as they were written, and names of files as they were: look through them before you publish.")
	for _, t := range texts {
		b.WriteString(fill(t, "- ", "  ") + "\n")
	}
}

// contents lists the files, and every column with its unit and meaning.
func (w *writer) contents(b *strings.Builder) {
	tables := Tables
	b.WriteString("\nTABLES\n")
	switch w.src.options.Form {
	case "darwin-core":
		tables = darwinTables
		b.WriteString("\n" + fill("A Darwin Core archive: meta.xml says which file is what. Columns are named as the terms of Darwin Core. Bags, drying samples and settings have no terms there; the forms csv, datapackage and parquet hold them.", "", "") + "\n")
	case "xlsx":
		tables = []Table{*tableNamed("bags")}
		b.WriteString("\n" + fill("workbook.xlsx holds the sheets Summary, Means by year, Trends and Bags; on each, the title and a note stand above the header. The columns of Bags are below.", "", "") + "\n")
	}
	for i := range tables {
		t := &tables[i]
		fmt.Fprintf(b, "\n%s\n%s\n", w.where(t), fill(t.Meaning, "  ", "  "))
		for _, f := range t.Foreign {
			b.WriteString(fill(fmt.Sprintf("%s: in %s", strings.Join(f.Columns, ", "), f.Table), "  ", "    ") + "\n")
		}
		for j := range t.Columns {
			c := &t.Columns[j]
			text := c.Name + ": " + c.Meaning
			if c.Unit != "" && c.Unit != "1" {
				text += fmt.Sprintf(" [%s]", units[c.Unit])
			}
			if len(c.Words) > 0 {
				text += " (" + strings.Join(c.Words, ", ") + ")"
			}
			b.WriteString(fill(text, "    ", "        ") + "\n")
		}
	}
}

// where says in which files a table stands.
func (w *writer) where(t *Table) string {
	names, rows := w.filesOf(t)
	switch {
	case len(names) == 0:
		return t.Name
	case w.src.options.Form == "parquet" && t.Many:
		return fmt.Sprintf("%s/growth_year=YEAR/stratum=STRATUM/*.parquet (%d rows)", t.Name, rows)
	}
	return fmt.Sprintf("%s (%d rows)", names[0], rows)
}

// readBack gives the commands that make the ledger again.
func (w *writer) readBack(b *strings.Builder) {
	if w.src.options.Form == "xlsx" || w.src.options.Form == "darwin-core" {
		return
	}
	b.WriteString("\nREADING IT BACK\n\n")
	b.WriteString(fill("These commands, typed in this folder in this order, make a ledger with the same records and the same means:", "", "") + "\n\n")
	for _, line := range w.commands() {
		b.WriteString("    " + line + "\n")
	}
}

// commands are the calls that make the ledger again. The book tables are in
// force only once they are there; all other settings come before the records.
func (w *writer) commands() []string {
	call := "clipledger --ledger again.db "
	var set, books string
	for _, name := range sortedKeys(w.src.set) {
		arg := " " + shellQuote(name+"="+w.src.values[name])
		if name == "book-tables" {
			books = call + "settings" + arg + " --yes"
		} else {
			set += arg
		}
	}
	var out []string
	if set != "" {
		out = append(out, call+"settings"+set+" --yes")
	}
	for i := range Tables {
		t := &Tables[i]
		if t.Kind == "" {
			continue
		}
		for _, files := range w.readable(t) {
			line := call + "import " + t.Kind + " " + files + " --missing ,"
			for _, c := range t.derived() {
				line += " --ignore " + c
			}
			out = append(out, line)
		}
		if t.Kind == "book-values" && books != "" {
			out = append(out, books)
		}
	}
	return out
}

// readable are the files of a table as import takes them, none where it has no
// rows; of the parts of a large table, those of one growth year at a time.
func (w *writer) readable(t *Table) []string {
	names, rows := w.filesOf(t)
	if rows == 0 {
		return nil
	}
	var out []string
	for _, name := range names {
		if before, _, inParts := strings.Cut(name, "/stratum="); inParts {
			name = `"` + before + `/*/*.parquet"`
		}
		if len(out) == 0 || out[len(out)-1] != name {
			out = append(out, name)
		}
	}
	return out
}

// shellQuote writes an argument so that sh takes it as it is.
func shellQuote(s string) string {
	plain := func(r rune) bool {
		return r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' || r >= '0' && r <= '9' || strings.ContainsRune("=-_.,/:%+@", r)
	}
	if s != "" && strings.IndexFunc(s, func(r rune) bool { return !plain(r) }) < 0 {
		return s
	}
	return "'" + strings.ReplaceAll(s, "'", `'\''`) + "'"
}

// fill breaks a text into lines of at most 78 characters.
func fill(text, first, rest string) string {
	var lines []string
	line := first
	empty := true
	for _, word := range strings.Fields(text) {
		switch {
		case empty:
			line += word
		case len([]rune(line))+1+len([]rune(word)) > 78:
			lines = append(lines, line)
			line = rest + word
		default:
			line += " " + word
		}
		empty = false
	}
	return strings.Join(append(lines, line), "\n")
}
