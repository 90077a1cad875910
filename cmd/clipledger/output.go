package main

import (
	"encoding/csv"
	"encoding/json"
	"fmt"
	"io"
	"strconv"
	"strings"
	"text/tabwriter"
	"unicode"

	"clipledger/monitor"
)

// column is one column of a result: its name, which is a contract, and its
// value: string, int, monitor.Num or monitor.Verdict.
type column[T any] struct {
	name  string
	value func(*T) any
}

// results prints rows of one kind in one of the three formats.
type results[T any] struct {
	columns []column[T]                // of CSV and JSON
	more    func(*T) map[string]any    // further JSON, nested
	shown   []string                   // columns of the table, in order
	table   map[string]func(*T) string // how the table writes a column, where not plainly
	remarks func(*T) []monitor.Remark  // footnotes of the table
	where   func(*T) string            // names a row in messages
	caution func(*T) string            // of a row, if any: in its JSON, below the table, on stderr beside CSV
	warned  string                     // the caution of some row
	needs   string                     // what a row takes, said where there is none
	out     io.Writer
	format  string
	csv     *csv.Writer
	tab     *tabwriter.Writer
	cells   []string
	rows    int
	notes   []string
	noteNo  map[string]int
	counts  map[string]int
	sample  map[string]string
	order   []string
}

// add prints one row.
func (r *results[T]) add(row *T) error {
	r.rows++
	r.count(row)
	if r.caution != nil && r.caution(row) != "" {
		r.warned = r.caution(row)
	}
	switch r.format {
	case "csv":
		return r.addCSV(row)
	case "json":
		return r.addJSON(row)
	}
	return r.addTable(row)
}

// count gathers the remarks, so that CSV stays clean and stderr says how many
// rows carry which.
func (r *results[T]) count(row *T) {
	if r.counts == nil {
		r.counts, r.sample, r.noteNo = map[string]int{}, map[string]string{}, map[string]int{}
	}
	for _, m := range r.remarks(row) {
		if r.counts[m.Code] == 0 {
			r.order = append(r.order, m.Code)
			r.sample[m.Code] = r.where(row) + ": " + m.Text
		}
		r.counts[m.Code]++
	}
}

func (r *results[T]) addCSV(row *T) error {
	if r.csv == nil {
		r.csv = csv.NewWriter(r.out)
		names := make([]string, len(r.columns))
		for i, c := range r.columns {
			names[i] = c.name
		}
		if err := r.csv.Write(names); err != nil {
			return err
		}
	}
	r.cells = r.cells[:0]
	for _, c := range r.columns {
		r.cells = append(r.cells, csvCell(c.value(row)))
	}
	return r.csv.Write(r.cells)
}

// csvCell writes a value for programs: full precision, empty where missing,
// text that a spreadsheet would run as a formula made harmless.
func csvCell(v any) string {
	switch v := v.(type) {
	case string:
		return neutral(v)
	case int:
		return strconv.Itoa(v)
	case monitor.Num:
		if !v.Valid {
			return ""
		}
		return strconv.FormatFloat(v.Float64, 'g', -1, 64)
	case monitor.Verdict:
		return v.String()
	}
	return fmt.Sprint(v)
}

// neutral puts ' before text that begins like a formula; our importer strips
// exactly one.
func neutral(s string) string {
	if s != "" && strings.ContainsRune("=+-@", rune(s[0])) {
		return "'" + s
	}
	return s
}

func (r *results[T]) addJSON(row *T) error {
	sep := ",\n"
	if r.rows == 1 {
		sep = "[\n"
	}
	if _, err := io.WriteString(r.out, sep); err != nil {
		return err
	}
	var b strings.Builder
	b.WriteString("{")
	for i, c := range r.columns {
		if i > 0 {
			b.WriteString(",")
		}
		if err := writePair(&b, c.name, jsonValue(c.value(row))); err != nil {
			return err
		}
	}
	if err := r.moreJSON(&b, row); err != nil {
		return err
	}
	_, err := io.WriteString(r.out, b.String()+"}")
	return err
}

func (r *results[T]) moreJSON(b *strings.Builder, row *T) error {
	remarks := r.remarks(row)
	if remarks == nil {
		remarks = []monitor.Remark{}
	}
	b.WriteString(",")
	if err := writePair(b, "remarks", remarks); err != nil {
		return err
	}
	if r.caution != nil && r.caution(row) != "" {
		b.WriteString(",")
		if err := writePair(b, "caution", r.caution(row)); err != nil {
			return err
		}
	}
	if r.more == nil {
		return nil
	}
	extra, err := json.Marshal(r.more(row))
	if err != nil {
		return err
	}
	if len(extra) > 2 {
		b.WriteString("," + string(extra[1:len(extra)-1]))
	}
	return nil
}

func writePair(b *strings.Builder, name string, v any) error {
	text, err := json.Marshal(v)
	if err != nil {
		return fmt.Errorf("write %s: %w", name, err)
	}
	fmt.Fprintf(b, "%q:%s", name, text)
	return nil
}

// jsonValue turns a value into what JSON writes: null where missing.
func jsonValue(v any) any {
	switch v := v.(type) {
	case monitor.Num:
		if !v.Valid {
			return nil
		}
		return v.Float64
	case monitor.Verdict:
		if v == monitor.NoVerdict {
			return nil
		}
		return v == monitor.Yes
	}
	return v
}

func (r *results[T]) addTable(row *T) error {
	if r.tab == nil {
		r.tab = tabwriter.NewWriter(r.out, 0, 8, 2, ' ', 0)
		fmt.Fprintln(r.tab, strings.Join(append(append([]string{}, r.shown...), "notes"), "\t"))
	}
	cells := make([]string, 0, len(r.shown)+1)
	for _, name := range r.shown {
		cells = append(cells, r.tableCell(name, row))
	}
	_, err := fmt.Fprintln(r.tab, strings.Join(append(cells, r.footnotes(row)), "\t"))
	return err
}

func (r *results[T]) tableCell(name string, row *T) string {
	if write, ok := r.table[name]; ok {
		return write(row)
	}
	for _, c := range r.columns {
		if c.name == name {
			return plain(csvCell(c.value(row)))
		}
	}
	return ""
}

// plain keeps off the terminal what typed text can hold and would not be seen
// as text: control characters, and those that turn the direction of writing.
func plain(s string) string {
	return strings.Map(func(c rune) rune {
		if unicode.IsControl(c) || c >= '\u202a' && c <= '\u202e' || c >= '\u2066' && c <= '\u2069' {
			return '\ufffd'
		}
		return c
	}, s)
}

// footnotes numbers a row's remarks; the same text has the same number.
func (r *results[T]) footnotes(row *T) string {
	var marks []string
	for _, m := range r.remarks(row) {
		n, ok := r.noteNo[m.Text]
		if !ok {
			n = len(r.notes) + 1
			r.noteNo[m.Text] = n
			text := m.Text
			if m.Loud {
				text = "NOTE: " + text
			}
			r.notes = append(r.notes, text)
		}
		mark := strconv.Itoa(n)
		if m.Loud {
			mark += "!"
		}
		marks = append(marks, mark)
	}
	return strings.Join(marks, " ")
}

// finish ends the printing. Remarks go below the table, or to stderr.
func (r *results[T]) finish(a *app, caption string) error {
	if r.rows == 0 {
		text := "nothing to show: no record fits"
		if r.needs != "" {
			text += "; a row takes " + r.needs
		}
		a.say("%s", text)
	}
	switch r.format {
	case "json":
		if r.rows == 0 {
			_, err := io.WriteString(r.out, "[]\n")
			return err
		}
		_, err := io.WriteString(r.out, "\n]\n")
		return err
	case "csv":
		return r.finishCSV(a)
	}
	if r.rows == 0 {
		return nil
	}
	if err := r.tab.Flush(); err != nil {
		return err
	}
	fmt.Fprintf(r.out, "\n%s\n", caption)
	if r.warned != "" {
		fmt.Fprintln(r.out, r.warned)
	}
	for i, text := range r.notes {
		fmt.Fprintf(r.out, "%3d  %s\n", i+1, plain(text))
	}
	return nil
}

func (r *results[T]) finishCSV(a *app) error {
	if r.rows == 0 {
		names := make([]string, len(r.columns))
		for i, c := range r.columns {
			names[i] = c.name
		}
		fmt.Fprintln(r.out, strings.Join(names, ","))
		return nil
	}
	r.csv.Flush()
	if r.warned != "" {
		a.say("%s", r.warned)
	}
	for _, code := range r.order {
		a.say("remark on %d of %d rows, first %s", r.counts[code], r.rows, r.sample[code])
	}
	return r.csv.Error()
}
