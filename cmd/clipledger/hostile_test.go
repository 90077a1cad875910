package main

import (
	"bytes"
	"database/sql"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"unicode"
)

// hostile are texts that would like to be more than text.
var hostile = map[string]string{
	"formula":         `=cmd()`,
	"formula +":       `+1+1`,
	"formula -":       `-1+cmd()`,
	"formula @":       `@x`,
	"script":          `<script>alert(1)</script>`,
	"end of script":   `</script><img src=x onerror=alert(2)>`,
	"quotes":          `"onmouseover='alert(3)' x="`,
	"path":            `../../x`,
	"rooted path":     `/etc/passwd`,
	"Windows path":    `C:\..\x:y`,
	"line break":      "one\ntwo",
	"right to left":   "a\u202egnp.exe",
	"isolate":         "a\u2066b\u2069c",
	"colour":          "\x1b[31mred\x1b[0m",
	"title":           "\x1b]0;owned\x07",
	"C1":              "a\u009b31mb",
	"template":        `{{.Code}}<%= x %>`,
	"SQL":             `'; DROP TABLE bag;--`,
	"long":            strings.Repeat("x", 1_000_000),
	"long note":       strings.Repeat("y", 9_999),
	"replacement":     "a\ufffdb",
	"percent":         `%s%n%!d(MISSING)`,
	"apostrophe":      `''=x`,
	"JavaScript line": "a\u2028b",
}

// hostileKind is a file of one kind: rows that are good, the columns that
// hold text, and where the ledger keeps each.
type hostileKind struct {
	header  string
	row     string // a good row; # stands for a number that makes it another record
	columns []string
	beside  string            // a second row, where one alone says nothing
	kept    map[string]string // column, where it is not the table's own: SQL for its value in the row of line ?1
	table   string
}

const (
	ofBagVisit   = `SELECT v.%s FROM bag b JOIN visit v USING(visit_id) WHERE b.line = ?1`
	ofPlotOrWhat = `SELECT coalesce(p.%[1]s, v.%[1]s) FROM bag b JOIN visit v USING(visit_id) LEFT JOIN plot p ON p.visit_id = b.visit_id AND p.component = b.component WHERE b.line = ?1`
)

// hostileKinds says of every kind of file that is imported how hostile text
// gets into each of its columns of text.
var hostileKinds = map[string]hostileKind{
	"sites": {"site,name,stratum,ecological_site,station,class_scheme,growth_curve,double_sampling,note", "P#,n,s,e,t,,,w,x",
		[]string{"site", "name", "stratum", "ecological_site", "station", "class_scheme", "growth_curve", "double_sampling", "note"}, "", nil, "site"},
	"species":     {"species,name,growth_form,component", "SP#,n,grass-cool,", []string{"species", "name"}, "", nil, "species"},
	"frame-types": {"frame_type,area_m2", "type #,0.#", []string{"frame_type"}, "", nil, "frame_type"},
	"book-values": {"table,species,stage,dm_pct,source", "mine#,SP9,heading,40,s", []string{"table", "species", "source"}, "",
		map[string]string{"table": `SELECT book FROM book_value WHERE line = ?1 AND book <> 'handbook'`,
			"species": `SELECT species FROM book_value JOIN species USING(species_id) WHERE book_value.line = ?1 AND book <> 'handbook'`,
			"source":  `SELECT source FROM book_value WHERE line = ?1 AND book <> 'handbook'`}, "book_value"},
	"rain": {"station,year,month,rain_mm", "barn#,2020,4,10", []string{"station"}, "", nil, "rain"},
	"drying": {"site,year,season,component,species,transect,frame,bag,green_g,dry_g", "H,2020,peak,herbaceous,,1,#,,50,20",
		[]string{"site", "season", "species", "transect", "frame", "bag"}, "", map[string]string{
			"site":    `SELECT s.site FROM drying d JOIN occasion o USING(occasion_id) JOIN site s USING(site_id) WHERE d.line = ?1`,
			"season":  `SELECT o.season FROM drying d JOIN occasion o USING(occasion_id) WHERE d.line = ?1`,
			"species": `SELECT s.species FROM drying d JOIN species s USING(species_id) WHERE d.line = ?1`}, "drying"},
	"clippings": {"site,year,season,transect,frame,frame_type,component,species,bag,dry_g,treatment,block,observer,edge_rule,note", "H,2020,peak,1,#,0.25 m2,herbaceous,,,5,,,,,",
		[]string{"site", "season", "transect", "frame", "species", "bag", "treatment", "block", "observer", "edge_rule", "note"}, "", map[string]string{
			"site":      `SELECT s.site FROM bag b JOIN occasion o ON o.occasion_id = b.visit_id >> 20 JOIN site s USING(site_id) WHERE b.line = ?1`,
			"season":    `SELECT o.season FROM bag b JOIN occasion o ON o.occasion_id = b.visit_id >> 20 WHERE b.line = ?1`,
			"species":   `SELECT s.species FROM bag b JOIN species s USING(species_id) WHERE b.line = ?1`,
			"transect":  fmt.Sprintf(ofBagVisit, "transect"),
			"frame":     fmt.Sprintf(ofBagVisit, "frame"),
			"treatment": fmt.Sprintf(ofBagVisit, "treatment"),
			"block":     fmt.Sprintf(ofBagVisit, "block"),
			"edge_rule": fmt.Sprintf(ofPlotOrWhat, "edge_rule"),
			"observer":  `SELECT observer FROM observer WHERE observer_id = (` + fmt.Sprintf(ofPlotOrWhat, "observer_id") + `)`}, "bag"},
	"frames": {"site,year,season,transect,frame,frame_type,treatment,block,observer,note", "H,2021,peak,1,v#,0.25 m2,,,,",
		[]string{"site", "season", "transect", "frame", "treatment", "block", "observer", "note"}, "", map[string]string{
			"site":     `SELECT s.site FROM visit v JOIN occasion o USING(occasion_id) JOIN site s USING(site_id) WHERE v.line = ?1 AND o.growth_year = 2021`,
			"season":   `SELECT o.season FROM visit v JOIN occasion o USING(occasion_id) WHERE v.line = ?1 AND o.growth_year = 2021`,
			"observer": `SELECT w.observer FROM visit v JOIN occasion o USING(occasion_id) JOIN observer w USING(observer_id) WHERE v.line = ?1 AND o.growth_year = 2021`}, "visit"},
	"estimates": {"site,date,season,transect,frame,frame_type,component,species,observer,estimate_dry_g", "H,2020-06-01,peak,1,e#,0.25 m2,herbaceous,,Wren,4",
		[]string{"site", "season", "transect", "frame", "species", "observer"}, "", map[string]string{
			"site":     `SELECT s.site FROM estimate b JOIN occasion o ON o.occasion_id = b.visit_id >> 20 JOIN site s USING(site_id) WHERE b.line = ?1`,
			"season":   `SELECT o.season FROM estimate b JOIN occasion o ON o.occasion_id = b.visit_id >> 20 WHERE b.line = ?1`,
			"species":  `SELECT s.species FROM estimate b JOIN species s USING(species_id) WHERE b.line = ?1`,
			"transect": `SELECT v.transect FROM estimate b JOIN visit v USING(visit_id) WHERE b.line = ?1`,
			"frame":    `SELECT v.frame FROM estimate b JOIN visit v USING(visit_id) WHERE b.line = ?1`,
			"observer": `SELECT o.observer FROM estimate b JOIN observer o USING(observer_id) WHERE b.line = ?1`}, "estimate"},
	"growth-curves": {"curve,day_of_year,cumulative_pct", "c#,1,0", []string{"curve"}, "c#,365,100", nil, "growth_curve"},
	"classes":       {"scheme,component,unit,lower,upper,label", "k#,herbaceous,g/m2,0,,low", []string{"scheme", "label"}, "", nil, "class_bound"},
	"transects": {"site,transect,side,photo,note", "H,t#,left,p.jpg,n", []string{"site", "transect", "side", "photo", "note"}, "", map[string]string{
		"site": `SELECT s.site FROM transect t JOIN site s USING(site_id) WHERE t.line = ?1`}, "transect"},
	"events": {"stratum,start,kind,note", "m#,2020-05-01,fire,n", []string{"stratum", "kind", "note"}, "", nil, "event"},
}

// closed are columns of the ledger's records that hold text, and that the
// program fills with words of its own or with checked forms.
var closed = map[string]bool{
	"site.components": true, "site.sampling_unit": true, "site.placement": true, "site.selection": true, "site.rain_months": true, "site.unit_in_use": true,
	"species.growth_form": true, "visit.caged_since": true, "visit.date": true, "plot.date": true, "bag.growth_form": true, "bag.basis": true, "bag.stage": true,
	"bag.status": true, "drying.growth_form": true, "drying.basis": true, "drying.stage": true, "drying.date": true, "book_value.growth_form": true,
	"book_value.stage": true, "book_value.basis": true, "estimate.state": true, "estimate.date": true, "estimate.basis": true, "class_bound.component": true,
	"class_bound.basis": true, "event.start": true, "event.finish": true,
	// Of a row without a component the note is the frame's, by the same reader.
	"visit.note": true, "setting.name": true, "setting.value": true, "accepted_finding.finding": true,
	// Hostile notes of accepted findings are tried in TestHostileText itself.
	"accepted_finding.note": true,
	"plot.edge_rule":        true, // visit.edge_rule, where components differ
}

// textColumns lists the columns of text of the tables of records.
func textColumns(t *testing.T, db *sql.DB) []string {
	t.Helper()
	rows, err := db.Query(`SELECT m.name || '.' || c.name FROM sqlite_schema m, pragma_table_info(m.name) c
		WHERE m.type = 'table' AND c.type = 'TEXT' AND EXISTS (SELECT 1 FROM sqlite_schema g WHERE g.type = 'trigger' AND g.name = m.name || '_update') ORDER BY 1`)
	if err != nil {
		t.Fatal(err)
	}
	defer rows.Close()
	var out []string
	for rows.Next() {
		var name string
		if err := rows.Scan(&name); err != nil {
			t.Fatal(err)
		}
		out = append(out, name)
	}
	return out
}

// hostileFile writes a file of a kind with each hostile text in each column
// of text, a row each, and says what stands on which line.
func hostileFile(t *testing.T, dir, kind string) (path string, at map[int][2]string) {
	t.Helper()
	k := hostileKinds[kind]
	header := strings.Split(k.header, ",")
	at = map[int][2]string{}
	var b bytes.Buffer
	w := csv.NewWriter(&b)
	w.Write(header)
	line := 2
	for _, column := range k.columns {
		for _, name := range slices.Sorted(maps.Keys(hostile)) {
			number := strconv.Itoa(10 + len(at))
			for _, good := range []string{k.row, k.beside} {
				if good == "" {
					continue
				}
				row := strings.Split(strings.ReplaceAll(good, "#", number), ",")
				row[slices.Index(header, column)] = hostile[name]
				at[line] = [2]string{column, name}
				w.Write(row)
				line += 1 + strings.Count(hostile[name], "\n")
			}
		}
	}
	w.Flush()
	path = filepath.Join(dir, kind+".csv")
	if err := os.WriteFile(path, b.Bytes(), 0o666); err != nil {
		t.Fatal(err)
	}
	return path, at
}

// harmless fails the test where a text for the terminal holds what is more
// than text.
func harmless(t *testing.T, what, text string) {
	t.Helper()
	for _, c := range text {
		if c != '\n' && unicode.IsControl(c) || c >= '\u202a' && c <= '\u202e' || c >= '\u2066' && c <= '\u2069' {
			t.Errorf("%s: %U reaches the terminal", what, c)
			return
		}
	}
}

var problemLine = regexp.MustCompile(`^[a-z-]+\.csv:([0-9]+): column ([a-z_]+): ".*": .+; .+$`)

// Hostile text in every column of text of every kind of file: a row is
// refused with its column, what is wrong and what to do, or kept as it was
// written, to the byte. Then it is neutral in CSV, escaped in pages and JSON,
// harmless on the terminal, and no file is named by it but inside the folder
// asked for.
func TestHostileText(t *testing.T) {
	dir := t.TempDir()
	ledger := filepath.Join(dir, "l.db")
	for kind := range importKinds {
		if _, ok := hostileKinds[kind]; !ok {
			t.Errorf("kind %s is not in hostileKinds: add how its columns of text are filled", kind)
		}
	}
	mustRun(t, "--ledger", ledger, "settings", "units=g/m2")
	db, err := sql.Open("sqlite", ledger)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	filled, refused, kept := map[string]bool{}, 0, 0
	for _, kind := range kindWords {
		k := hostileKinds[kind]
		path, at := hostileFile(t, dir, kind)
		o := run(t, "--ledger", ledger, "import", kind, path, "--skip-bad")
		if o.code != 3 {
			t.Fatalf("%s: exit %d\n%.2000s", kind, o.code, o.err)
		}
		harmless(t, kind, o.out+o.err)
		bad := map[int]bool{}
		for _, line := range strings.Split(o.err, "\n") {
			if m := problemLine.FindStringSubmatch(line); m != nil {
				n, err := strconv.Atoi(m[1])
				if err != nil {
					t.Fatal(err)
				}
				if bad[n] = true; m[2] != at[n][0] {
					t.Errorf("%s line %d: the problem is said of column %s, and %s holds it", kind, n, m[2], at[n][0])
				}
				refused++
			}
		}
		for line, what := range at {
			if bad[line] {
				continue
			}
			query, ok := k.kept[what[0]]
			if !ok {
				query = fmt.Sprintf(`SELECT %s FROM %s WHERE line = ?1 AND import_id > 1 AND import_id = (SELECT max(import_id) FROM import)`, what[0], k.table)
			}
			var got sql.NullString
			if err := db.QueryRow(query, line).Scan(&got); err != nil {
				t.Errorf("%s line %d (%s: %s): neither refused nor kept: %v", kind, line, what[0], what[1], err)
			} else if got.String != hostile[what[1]] {
				t.Errorf("%s line %d (%s: %s): kept as %.60q", kind, line, what[0], what[1], got.String)
			}
			kept++
		}
		for _, column := range k.columns {
			filled[k.table+"."+column], filled["visit."+column] = true, true
		}
		if kind == "book-values" {
			filled["book_value.book"] = true
		}
	}
	t.Logf("%d texts refused, %d kept", refused, kept)
	for _, column := range textColumns(t, db) {
		table, _, _ := strings.Cut(column, ".")
		imported := slices.ContainsFunc(slices.Collect(maps.Keys(importKinds)), func(kind string) bool { return hostileKinds[kind].table == table })
		if !filled[column] && !closed[column] && (imported || table == "visit" || table == "plot") {
			t.Errorf("no hostile text was tried in %s", column)
		}
	}
	hostileOutputs(t, dir, ledger)
}

// hostileOutputs looks at everything that is printed or written of a ledger
// that holds hostile text.
func hostileOutputs(t *testing.T, dir, ledger string) {
	t.Helper()
	findings := run(t, "--ledger", ledger, "check", "--format", "csv")
	if rows, err := csv.NewReader(strings.NewReader(findings.out)).ReadAll(); err != nil || len(rows) < 2 {
		t.Fatalf("check: %v\n%.1000s%s", err, findings.out, findings.err)
	} else {
		for i, name := range slices.Sorted(maps.Keys(hostile)) {
			if i+1 < len(rows) {
				harmless(t, "accept "+name, run(t, "--ledger", ledger, "accept", rows[i+1][0], "--note", hostile[name]).err)
			}
		}
	}
	for _, args := range [][]string{{"means"}, {"means", "--by", "species"}, {"means", "--by", "observer"}, {"means", "--by", "treatment"}, {"adequacy"},
		{"check"}, {"history"}, {"settings"}, {"verify"}} {
		for _, format := range []string{"table", "csv", "json"} {
			o := run(t, append([]string{"--ledger", ledger, "--format", format}, args...)...)
			name := strings.Join(args, " ") + " as " + format
			if o.code != 0 && (o.code != 3 || args[0] != "check") || o.out == "" {
				t.Errorf("%s: exit %d\n%.400s", name, o.code, o.err)
			}
			harmless(t, name, o.err)
			switch {
			case format == "table" || args[0] == "verify":
				harmless(t, name, o.out)
			case format == "csv":
				neutralCSV(t, name, o.out)
			case !json.Valid([]byte(o.out)) || strings.ContainsAny(o.out, "<>"):
				t.Errorf("%s is not plain JSON", name)
			}
		}
	}
	before := namesBelow(t, dir)
	pages := filepath.Join(dir, "out", "pages")
	mustRun(t, "--ledger", ledger, "report", pages)
	for name := range namesBelow(t, dir) {
		if !before[name] && !strings.HasPrefix(name, pages) && name != filepath.Dir(pages) {
			t.Errorf("the report wrote %s", name)
		}
	}
	err := filepath.WalkDir(pages, func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || strings.Contains(path, "assets") {
			return err
		}
		content, err := os.ReadFile(path)
		for _, live := range []string{"<script>alert", "<img src=x", `"onmouseover='alert(3)'`, "</script><img"} {
			if bytes.Contains(content, []byte(live)) && filepath.Ext(path) == ".html" {
				t.Errorf("%s holds %s", path, live)
			}
		}
		if filepath.Ext(path) == ".csv" {
			neutralCSV(t, path, string(content))
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
}

// neutralCSV fails the test where a cell would be run by a spreadsheet.
func neutralCSV(t *testing.T, name, text string) {
	t.Helper()
	rows, err := csv.NewReader(strings.NewReader(text)).ReadAll()
	if err != nil {
		t.Errorf("%s: %v", name, err)
	}
	for _, row := range rows {
		for _, cell := range row {
			if _, err := strconv.ParseFloat(cell, 64); err != nil && cell != "" && strings.ContainsRune("=+-@\t\r", rune(cell[0])) {
				t.Errorf("%s holds the cell %.60q", name, cell)
			}
		}
	}
}

// namesBelow lists what is in a folder.
func namesBelow(t *testing.T, dir string) map[string]bool {
	t.Helper()
	out := map[string]bool{}
	err := filepath.WalkDir(dir, func(path string, _ fs.DirEntry, err error) error {
		out[path] = true
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// A NUL says that a file is no text: it is refused whole, whatever kind it is
// said to be and wherever it stands.
func TestHostileNUL(t *testing.T) {
	for kind := range importKinds {
		k := hostileKinds[kind]
		for _, column := range k.columns {
			dir := t.TempDir()
			row := strings.Split(strings.ReplaceAll(k.row, "#", "7"), ",")
			row[slices.Index(strings.Split(k.header, ","), column)] = "a\x00b"
			path := filepath.Join(dir, "f.csv")
			if err := os.WriteFile(path, []byte(k.header+"\n"+strings.Join(row, ",")+"\n"), 0o666); err != nil {
				t.Fatal(err)
			}
			ledger := filepath.Join(dir, "l.db")
			o := run(t, "--ledger", ledger, "import", kind, path)
			if _, err := os.Stat(ledger); o.code != 3 || err == nil || !strings.Contains(o.err, "f.csv:") || !strings.Contains(o.err, "; ") {
				t.Errorf("%s, %s: exit %d\n%s", kind, column, o.code, o.err)
			}
			harmless(t, kind, o.err)
		}
	}
}
