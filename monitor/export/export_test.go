package export

import (
	"context"
	"crypto/sha256"
	"encoding/csv"
	"encoding/hex"
	"encoding/json"
	"encoding/xml"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/parquet-go/parquet-go"
	"github.com/xuri/excelize/v2"

	"clipledger/monitor/needtool"
	"clipledger/schema"
	"clipledger/schema/ledgertest"
)

// exported exports a ledger of awkward names and returns the folder.
func exported(t *testing.T, o Options) string {
	t.Helper()
	w := ledgertest.NewWorld(3)
	w.Sites[0].Stratum, w.Sites[1].Stratum, w.Sites[2].Stratum = "../../etc", "CON", "a/b=c"
	w.Sites[0].Name, w.Sites[1].Note = "=HYPERLINK(\"x\")", "<b> & \"q\",\nнеделя"
	w.Sites[0].Latitude, w.Sites[0].Longitude = schema.Some(44.5), schema.Some(-120.5)
	for i := range w.Clippings {
		w.Clippings[i].Observer = []string{"", "Wren", "Tolly", "Wren", "Tolly"}[w.Clippings[i].Component]
		w.Clippings[i].Note = []string{"", "@note", "-1"}[i%3]
	}
	records := w.Records()
	records[1].Settings["title"] = "Клип & <plots>"
	records[1].Settings["creators"] = "A. Wren; B. Tolly"
	records[1].Settings["licence"] = "CC-BY-4.0"
	path := ledgertest.Path(t, records...)
	dir := filepath.Join(t.TempDir(), "out")
	ledgertest.Read(t, path, func(s *schema.Snapshot) error {
		_, err := Write(context.Background(), dir, s, o)
		return err
	})
	return dir
}

func read(t *testing.T, path string) string {
	t.Helper()
	content, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return string(content)
}

// table reads a CSV table: its header and rows.
func table(t *testing.T, path string) (header []string, rows [][]string) {
	t.Helper()
	all, err := csv.NewReader(strings.NewReader(read(t, path))).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	return all[0], all[1:]
}

// TestTablesAreSound holds what the one definition of tables promises: names
// once, keys and references that exist, units that every form knows.
func TestTablesAreSound(t *testing.T) {
	seen := map[string]bool{}
	for i := range Tables {
		tab := &Tables[i]
		if seen[tab.Name] || tab.Meaning == "" || tab.rows == nil {
			t.Errorf("table %s is there twice, has no meaning or no rows", tab.Name)
		}
		seen[tab.Name] = true
		columns := map[string]bool{}
		for _, c := range tab.Columns {
			if columns[c.Name] || c.Meaning == "" || !regexp.MustCompile(`^[a-z0-9_]+$`).MatchString(c.Name) {
				t.Errorf("%s.%s is there twice, has no meaning or no plain name", tab.Name, c.Name)
			}
			columns[c.Name] = true
			if _, ok := units[c.Unit]; c.Unit != "" && !ok {
				t.Errorf("%s.%s has the unknown unit %q", tab.Name, c.Name, c.Unit)
			}
			if emlUnit(c.Unit).name == "" {
				t.Errorf("%s.%s: EML does not know the unit %q", tab.Name, c.Name, c.Unit)
			}
		}
		for _, k := range tab.Key {
			if !columns[k] {
				t.Errorf("%s has the key %s, which is no column", tab.Name, k)
			}
		}
		for _, f := range tab.Foreign {
			other := tableNamed(f.Table)
			if !slices.Equal(f.To, other.Key) {
				t.Errorf("%s refers to %v of %s, whose key is %v", tab.Name, f.To, f.Table, other.Key)
			}
			for _, c := range f.Columns {
				if !columns[c] {
					t.Errorf("%s refers by %s, which is no column", tab.Name, c)
				}
			}
		}
	}
}

// TestKeysHold holds, on an export, that keys are unique and complete, that
// references resolve, and that cells are what their columns say.
func TestKeysHold(t *testing.T) {
	dir := exported(t, Options{Form: "csv"})
	keys := map[string]map[string]bool{}
	pick := func(header, row, names []string) string {
		var parts []string
		for _, n := range names {
			parts = append(parts, row[slices.Index(header, n)])
		}
		return strings.Join(parts, "\x00")
	}
	for i := range Tables {
		tab := &Tables[i]
		header, rows := table(t, dir+"/"+tab.Name+".csv")
		keys[tab.Name] = map[string]bool{}
		for _, row := range rows {
			for j, c := range tab.Columns {
				if header[j] != c.Name {
					t.Fatalf("%s: column %d is %s, not %s", tab.Name, j, header[j], c.Name)
				}
				if fault := misfit(&c, row[j]); fault != "" {
					t.Errorf("%s.%s: %q %s", tab.Name, c.Name, row[j], fault)
				}
			}
			if len(tab.Key) == 0 {
				continue
			}
			k := pick(header, row, tab.Key)
			if keys[tab.Name][k] || strings.Contains("\x00"+k+"\x00", "\x00\x00") {
				t.Errorf("%s: the key %q is there twice or has a gap", tab.Name, k)
			}
			keys[tab.Name][k] = true
		}
		if len(rows) == 0 && slices.Contains([]string{"sites", "frames", "bags", "frame_production", "occasion_means", "trends"}, tab.Name) {
			t.Errorf("%s is empty", tab.Name)
		}
	}
	for i := range Tables {
		tab := &Tables[i]
		header, rows := table(t, dir+"/"+tab.Name+".csv")
		for _, f := range tab.Foreign {
			for _, row := range rows {
				if k := pick(header, row, f.Columns); k != "" && !keys[f.Table][k] {
					t.Errorf("%s: %v = %q is not in %s", tab.Name, f.Columns, k, f.Table)
				}
			}
		}
	}
}

// misfit says why a cell is not what its column says.
func misfit(c *Column, cell string) string {
	pattern := map[Type]string{Whole: `^-?[0-9]+$`, Number: `^-?[0-9.]+(e[-+][0-9]+)?$`, Date: `^\d{4}-\d\d-\d\d$`, Moment: `^\d{4}-\d\d-\d\dT\d\d:\d\d:\d\dZ$`, YesNo: `^(yes|no)$`}[c.Type]
	switch {
	case cell == "":
	case pattern != "" && !regexp.MustCompile(pattern).MatchString(cell):
		return "is not of its type"
	case len(c.Words) > 0 && !slices.Contains(c.Words, cell):
		return "is not one of its words"
	case c.Type == Text && strings.ContainsAny(cell[:1], "=+-@"):
		return "begins like a formula"
	}
	return ""
}

// TestDataPackage holds the descriptor against what the standard (Data
// Package, version 2) requires: resources with unique names and one path,
// fields with unique names, known types, resolving foreign keys, hashes that
// are those of the files.
func TestDataPackage(t *testing.T) {
	dir := exported(t, Options{Form: "datapackage"})
	var p struct {
		Schema       string `json:"$schema"`
		Name         string
		Licenses     []struct{ Name, Path string }
		Contributors []struct {
			Title string
			Roles []string
		}
		Created   *string
		Resources []struct {
			Name, Type, Path, Hash, Encoding string
			Data                             any
			Bytes                            int
			Schema                           struct {
				Fields []struct {
					Name, Type  string
					Constraints map[string]any
				}
				FieldsMatch   []string
				MissingValues []string
				PrimaryKey    []string
				ForeignKeys   []struct {
					Fields    []string
					Reference struct {
						Resource string
						Fields   []string
					}
				}
			}
		}
	}
	if err := json.Unmarshal([]byte(read(t, dir+"/datapackage.json")), &p); err != nil {
		t.Fatal(err)
	}
	if p.Schema != "https://datapackage.org/profiles/2.0/datapackage.json" || !regexp.MustCompile(`^[a-z0-9-]+$`).MatchString(p.Name) || p.Created != nil {
		t.Errorf("$schema %q, name %q, created %v", p.Schema, p.Name, p.Created)
	}
	if len(p.Licenses) != 1 || p.Licenses[0].Name != "CC-BY-4.0" || len(p.Contributors) != 2 || !slices.Equal(p.Contributors[1].Roles, []string{"creator"}) {
		t.Errorf("licences %v, contributors %v", p.Licenses, p.Contributors)
	}
	types := []string{"string", "number", "integer", "boolean", "date", "datetime"}
	fieldsOf := map[string][]string{}
	for _, r := range p.Resources {
		if fieldsOf[r.Name] != nil || r.Path == "" || r.Data != nil || r.Type != "table" || len(r.Schema.Fields) == 0 {
			t.Errorf("resource %s: there twice, or without path, type or fields", r.Name)
		}
		content := read(t, dir+"/"+r.Path)
		sum := sha256.Sum256([]byte(content))
		if r.Hash != "sha256:"+hex.EncodeToString(sum[:]) || r.Bytes != len(content) {
			t.Errorf("%s: hash %s of %d bytes is not the file's", r.Name, r.Hash, r.Bytes)
		}
		if !slices.Equal(r.Schema.MissingValues, []string{""}) { // 0 g is never missing
			t.Errorf("%s: missing values are %q", r.Name, r.Schema.MissingValues)
		}
		for _, f := range r.Schema.Fields {
			if slices.Contains(fieldsOf[r.Name], f.Name) || !slices.Contains(types, f.Type) {
				t.Errorf("%s.%s: there twice, or of the type %q", r.Name, f.Name, f.Type)
			}
			fieldsOf[r.Name] = append(fieldsOf[r.Name], f.Name)
		}
	}
	for _, r := range p.Resources {
		for _, k := range r.Schema.ForeignKeys {
			for i := range k.Fields {
				if !slices.Contains(fieldsOf[r.Name], k.Fields[i]) || !slices.Contains(fieldsOf[k.Reference.Resource], k.Reference.Fields[i]) {
					t.Errorf("%s: foreign key %v to %v does not resolve", r.Name, k.Fields, k.Reference)
				}
			}
		}
	}
}

// paths lists the paths of all elements of an XML document, with how often
// each stands there, and its attributes named id.
func paths(t *testing.T, content string) (count map[string]int, ids []string, texts map[string][]string) {
	t.Helper()
	count, texts = map[string]int{}, map[string][]string{}
	var at []string
	d := xml.NewDecoder(strings.NewReader(content))
	for {
		token, err := d.Token()
		if err == io.EOF {
			return count, ids, texts
		}
		if err != nil {
			t.Fatal(err)
		}
		switch e := token.(type) {
		case xml.StartElement:
			at = append(at, e.Name.Local)
			count[strings.Join(at, "/")]++
			for _, a := range e.Attr {
				if a.Name.Local == "id" {
					ids = append(ids, a.Value)
				}
			}
		case xml.EndElement:
			at = at[:len(at)-1]
		case xml.CharData:
			if s := strings.TrimSpace(string(e)); s != "" {
				path := strings.Join(at, "/")
				texts[path] = append(texts[path], s)
			}
		}
	}
}

// TestEML holds eml.xml against what EML 2.2.0 requires: the root's
// attributes, title, creator and contact, a name and columns for each table, a
// name, definition and scale for each column, unique IDs, custom units
// declared; and that every element on a path of the two reference files that
// xmllint accepted has its place here too.
func TestEML(t *testing.T) {
	dir := exported(t, Options{Form: "eml", Coordinates: true})
	content := read(t, dir+"/eml.xml")
	if !strings.Contains(content, `xmlns:eml="https://eml.ecoinformatics.org/eml-2.2.0"`) || !regexp.MustCompile(`<eml:eml [^>]*packageId="[^"]+" system="[^"]+"`).MatchString(content) {
		t.Error("the root lacks its namespace, packageId or system")
	}
	count, ids, texts := paths(t, content)
	n := len(Tables)
	columns := 0
	for i := range Tables {
		columns += len(Tables[i].Columns)
	}
	const table = "eml/dataset/dataTable"
	attribute := table + "/attributeList/attribute"
	for path, want := range map[string]int{"eml/dataset/title": 1, "eml/dataset/creator": 2, "eml/dataset/contact": 1, "eml/dataset/methods": 1, table: n,
		table + "/entityName": n, table + "/attributeList": n, attribute: columns, attribute + "/attributeName": columns, attribute + "/attributeDefinition": columns,
		attribute + "/measurementScale": columns, attribute + "/missingValueCode/code": columns, "eml/dataset/coverage/geographicCoverage/boundingCoordinates": 1,
		"eml/dataset/coverage/temporalCoverage": 1, "eml/dataset/coverage/taxonomicCoverage": 1} {
		if count[path] != want {
			t.Errorf("%s stands there %d times, not %d", path, count[path], want)
		}
	}
	slices.Sort(ids)
	if len(slices.Compact(slices.Clone(ids))) != len(ids) {
		t.Errorf("IDs are not unique: %v", ids)
	}
	used := texts[attribute+"/measurementScale/ratio/unit/customUnit"]
	if len(used) == 0 {
		t.Error("no custom unit is used")
	}
	for _, unit := range used {
		if !slices.Contains(ids, unit) {
			t.Errorf("the custom unit %s is not declared", unit)
		}
	}
	known := []string{"dimensionless", "gram", "gramsPerSquareMeter", "squareMeter", "hectare", "meter", "centimeter", "millimeter", "degree"}
	for _, unit := range texts[attribute+"/measurementScale/ratio/unit/standardUnit"] {
		if !slices.Contains(known, unit) {
			t.Errorf("%s is no unit of the standard's dictionary that is known here", unit)
		}
	}
	for _, name := range []string{"eml-minimal.xml", "eml-table.xml"} {
		reference, _, _ := paths(t, read(t, "../../testdata/reference/"+name))
		for path := range reference {
			if count[path] == 0 && !strings.Contains(path, "organizationName") {
				t.Errorf("%s has %s, the export has not", name, path)
			}
		}
	}
	if !strings.Contains(strings.Join(texts["eml/dataset/methods/methodStep/description/para"], " "), "Cochran 1977") {
		t.Error("the methods cite no source")
	}
	lint(t, dir+"/eml.xml")
}

// lint has xmllint read a file: against the schema where CLIPLEDGER_EML_XSD
// names it, else whether it is well formed.
func lint(t *testing.T, path string) {
	t.Helper()
	args := []string{"--noout", path}
	if xsd := os.Getenv("CLIPLEDGER_EML_XSD"); xsd != "" && strings.HasSuffix(path, "eml.xml") {
		args = append([]string{"--schema", xsd}, args...)
	}
	if out, err := exec.Command(needtool.Program(t, "xmllint"), args...).CombinedOutput(); err != nil {
		t.Errorf("xmllint: %v\n%s", err, out)
	}
}

// TestDarwinCore holds that every event has its parent, a date, a protocol and
// a sample size with its unit, that measurements and occurrences name events,
// and that meta.xml names the columns as they stand.
func TestDarwinCore(t *testing.T) {
	dir := exported(t, Options{Form: "darwin-core"})
	header, events := table(t, dir+"/event.csv")
	at := func(row []string, name string) string { return row[slices.Index(header, name)] }
	ids := map[string]bool{}
	for _, e := range events {
		if ids[at(e, "eventID")] {
			t.Errorf("event %s is there twice", at(e, "eventID"))
		}
		ids[at(e, "eventID")] = true
	}
	date := regexp.MustCompile(`^\d{4}(-\d\d-\d\d(/\d{4}-\d\d-\d\d)?)?$`)
	for _, e := range events {
		if p := at(e, "parentEventID"); (p == "") != (at(e, "eventType") == "siteVisit") || p != "" && !ids[p] {
			t.Errorf("event %s has the parent %q", at(e, "eventID"), p)
		}
		if (at(e, "sampleSizeValue") == "") != (at(e, "sampleSizeUnit") == "") || !date.MatchString(at(e, "eventDate")) || at(e, "samplingProtocol") == "" || at(e, "samplingEffort") == "" {
			t.Errorf("event lacks something: %v", e)
		}
		if at(e, "decimalLatitude") != "" {
			t.Error("a coordinate left that nobody asked for")
		}
	}
	for _, name := range []string{"measurement", "occurrence"} {
		h, rows := table(t, dir+"/"+name+".csv")
		seen := map[string]bool{}
		for _, r := range rows {
			if id := r[0]; seen[id] || !ids[r[slices.Index(h, "eventID")]] {
				t.Errorf("%s %s is there twice or of no event", name, id)
			}
			seen[r[0]] = true
		}
		if len(rows) < 10 {
			t.Errorf("%s has %d rows", name, len(rows))
		}
	}
	meta := read(t, dir+"/meta.xml")
	for i := range darwinTables {
		h, _ := table(t, dir+"/"+darwinTables[i].Name+".csv")
		for j, name := range h {
			if field := fmt.Sprintf(`index="%d" term="http://rs.tdwg.org/dwc/terms/%s"`, j, name); !strings.Contains(meta, field) && name != "eventID" {
				t.Errorf("meta.xml lacks %s", field)
			}
		}
	}
	lint(t, dir+"/meta.xml")
}

// TestWorkbook holds that the workbook has its sheets, with frozen headings,
// no formula whatever texts say, and that a full sheet goes on in another.
func TestWorkbook(t *testing.T) {
	f, err := excelize.OpenFile(exported(t, Options{Form: "xlsx", sheetRows: 100}) + "/workbook.xlsx")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	sheets := f.GetSheetList()
	if !slices.Equal(sheets[:1], []string{"Summary"}) || !slices.Contains(sheets, "Bags 2") || slices.Contains(sheets, "Sheet1") {
		t.Fatalf("sheets are %v", sheets)
	}
	bags := 0
	for _, sheet := range sheets {
		panes, err := f.GetPanes(sheet)
		if err != nil || !panes.Freeze || panes.YSplit != sheetHead {
			t.Errorf("%s: panes %+v, %v", sheet, panes, err)
		}
		rows, err := f.GetRows(sheet)
		if err != nil || len(rows) > sheetHead+100 || len(rows) <= sheetHead || rows[1] == nil {
			t.Errorf("%s has %d rows, %v", sheet, len(rows), err)
		}
		if strings.HasPrefix(sheet, "Bags") {
			bags += len(rows) - sheetHead
		}
		for r := range rows {
			for c := range rows[r] {
				cell, _ := excelize.CoordinatesToCellName(c+1, r+1)
				if formula, err := f.GetCellFormula(sheet, cell); err != nil || formula != "" {
					t.Errorf("%s!%s holds the formula %q, %v", sheet, cell, formula, err)
				}
			}
		}
	}
	_, want := table(t, exported(t, Options{Form: "csv"})+"/bags.csv")
	if bags != len(want) {
		t.Errorf("the workbook has %d bags, the table %d", bags, len(want))
	}
}

// TestParquetParts holds that no name of a stratum chooses a path, and that
// the parts hold the rows of the table.
func TestParquetParts(t *testing.T) {
	dir := exported(t, Options{Form: "parquet"})
	form := regexp.MustCompile(`^(bags|frames|frame_production)/growth_year=\d{4}/stratum=[a-z0-9-]+/[a-z0-9_-]+\.parquet$`)
	rows := int64(0)
	err := filepath.WalkDir(dir, func(path string, d os.DirEntry, err error) error {
		name, _ := filepath.Rel(dir, path)
		name = filepath.ToSlash(name)
		if err != nil || d.IsDir() || !strings.Contains(name, "/") {
			return err
		}
		if !form.MatchString(name) {
			t.Errorf("%s is no name of a part", name)
		}
		if !strings.HasPrefix(name, "bags/") {
			return nil
		}
		file, err := os.Open(path)
		if err != nil {
			return err
		}
		defer file.Close()
		info, err := file.Stat()
		if err != nil {
			return err
		}
		p, err := parquet.OpenFile(file, info.Size())
		if err != nil {
			return err
		}
		rows += p.NumRows()
		for i, field := range p.Schema().Fields() {
			if want := tableNamed("bags").Columns[i].Name; field.Name() != want {
				t.Errorf("%s: column %d is %s, not %s", name, i, field.Name(), want)
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	_, want := table(t, exported(t, Options{Form: "csv"})+"/bags.csv")
	if rows != int64(len(want)) {
		t.Errorf("the parts hold %d bags, the table %d", rows, len(want))
	}
}
