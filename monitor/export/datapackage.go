package export

import (
	"encoding/json"
	"fmt"
	"strings"
)

// The parts of a Data Package descriptor, version 2 (standard of the
// Frictionless Data project: descriptor datapackage.json, Data Resource, Table
// Schema).
type (
	dpPackage struct {
		Schema       string          `json:"$schema"`
		Name         string          `json:"name"`
		Title        string          `json:"title"`
		Description  string          `json:"description,omitempty"`
		Keywords     []string        `json:"keywords,omitempty"`
		Licenses     []dpLicence     `json:"licenses,omitempty"`
		Contributors []dpContributor `json:"contributors,omitempty"`
		Sources      []dpSource      `json:"sources,omitempty"`
		Resources    []dpResource    `json:"resources"`
	}
	dpLicence struct {
		Name string `json:"name,omitempty"`
		Path string `json:"path,omitempty"`
	}
	dpContributor struct {
		Title string   `json:"title"`
		Email string   `json:"email,omitempty"`
		Roles []string `json:"roles"`
	}
	dpSource struct {
		Title   string `json:"title"`
		Version string `json:"version,omitempty"`
	}
	dpResource struct {
		Name        string    `json:"name"`
		Type        string    `json:"type"`
		Path        string    `json:"path"`
		Title       string    `json:"title"`
		Description string    `json:"description"`
		Format      string    `json:"format"`
		MediaType   string    `json:"mediatype"`
		Encoding    string    `json:"encoding"`
		Bytes       int64     `json:"bytes"`
		Hash        string    `json:"hash"`
		Dialect     dpDialect `json:"dialect"`
		Schema      dpSchema  `json:"schema"`
	}
	dpDialect struct {
		Delimiter   string `json:"delimiter"`
		DoubleQuote bool   `json:"doubleQuote"`
		Header      bool   `json:"header"`
	}
	dpSchema struct {
		FieldsMatch   []string    `json:"fieldsMatch"`
		Fields        []dpField   `json:"fields"`
		MissingValues []string    `json:"missingValues"`
		PrimaryKey    []string    `json:"primaryKey,omitempty"`
		ForeignKeys   []dpForeign `json:"foreignKeys,omitempty"`
	}
	dpField struct {
		Name        string         `json:"name"`
		Type        string         `json:"type"`
		Format      string         `json:"format,omitempty"`
		Description string         `json:"description"`
		TrueValues  []string       `json:"trueValues,omitempty"`
		FalseValues []string       `json:"falseValues,omitempty"`
		Constraints map[string]any `json:"constraints,omitempty"`
	}
	dpForeign struct {
		Fields    []string    `json:"fields"`
		Reference dpReference `json:"reference"`
	}
	dpReference struct {
		Resource string   `json:"resource"`
		Fields   []string `json:"fields"`
	}
)

// dataPackage writes datapackage.json. Nothing in it tells when the export was
// made: the same ledger gives the same bytes.
func (w *writer) dataPackage() error {
	src := w.src
	m := src.metadata()
	p := dpPackage{Schema: "https://datapackage.org/profiles/2.0/datapackage.json", Name: packageName(src.called()), Title: src.called(),
		Description: m.abstract, Keywords: m.keywords}
	if m.licence != "" {
		p.Licenses = []dpLicence{licenceOf(m.licence)}
	}
	for _, name := range m.creators {
		p.Contributors = append(p.Contributors, dpContributor{Title: name, Roles: []string{"creator"}})
	}
	if m.contact != "" {
		p.Contributors = append(p.Contributors, dpContributor{Title: m.contact, Email: m.contactEmail, Roles: []string{"contact"}})
	}
	imports, err := src.snap.Imports()
	if err != nil {
		return err
	}
	for _, i := range imports {
		if i.File != "" {
			p.Sources = append(p.Sources, dpSource{Title: i.File, Version: i.At})
		}
	}
	for i := range Tables {
		p.Resources = append(p.Resources, w.resource(&Tables[i]))
	}
	raw, err := json.MarshalIndent(p, "", "  ")
	if err != nil {
		return fmt.Errorf("write datapackage.json: %w", err)
	}
	return w.stageText("datapackage.json", string(raw)+"\n")
}

// licenceOf tells a licence's address from its name.
func licenceOf(licence string) dpLicence {
	if strings.Contains(licence, "://") {
		return dpLicence{Path: licence}
	}
	return dpLicence{Name: licence}
}

// packageName makes the name of a package: lower case letters, digits, - and
// what else a name may hold.
func packageName(title string) string {
	var b strings.Builder
	for _, c := range strings.ToLower(title) {
		switch {
		case c >= 'a' && c <= 'z' || c >= '0' && c <= '9':
			b.WriteRune(c)
		case b.Len() > 0 && !strings.HasSuffix(b.String(), "-"):
			b.WriteByte('-')
		}
	}
	if name := strings.Trim(b.String(), "-"); name != "" {
		return name
	}
	return "clippings"
}

// resource describes one table.
func (w *writer) resource(t *Table) dpResource {
	file := t.Name + ".csv"
	r := dpResource{Name: t.Name, Type: "table", Path: file, Title: strings.ReplaceAll(t.Name, "_", " "), Description: t.Meaning, Format: "csv",
		MediaType: "text/csv", Encoding: "utf-8", Bytes: w.files[file].bytes, Hash: "sha256:" + w.files[file].sha,
		Dialect: dpDialect{Delimiter: ",", DoubleQuote: true, Header: true},
		Schema:  dpSchema{FieldsMatch: []string{"exact"}, MissingValues: []string{""}, PrimaryKey: t.Key}}
	for i := range t.Columns {
		r.Schema.Fields = append(r.Schema.Fields, t.field(&t.Columns[i]))
	}
	for _, f := range t.Foreign {
		r.Schema.ForeignKeys = append(r.Schema.ForeignKeys, dpForeign{f.Columns, dpReference{f.Table, f.To}})
	}
	return r
}

// field describes one column.
func (t *Table) field(c *Column) dpField {
	f := dpField{Name: c.Name, Type: [...]string{"string", "integer", "number", "date", "datetime", "boolean"}[c.Type], Description: c.described(), Constraints: map[string]any{}}
	if c.Type == YesNo {
		f.TrueValues, f.FalseValues = []string{"yes"}, []string{"no"}
	}
	for _, key := range t.Key {
		if key == c.Name {
			f.Constraints["required"] = true
		}
	}
	if len(t.Key) == 1 && t.Key[0] == c.Name {
		f.Constraints["unique"] = true
	}
	if len(c.Words) > 0 {
		f.Constraints["enum"] = c.Words
	}
	if c.neverBelowZero() {
		f.Constraints["minimum"] = 0
	}
	return f
}

// neverBelowZero tells the weights, lengths and counts that cannot be below
// zero; ends of intervals and places can.
func (c *Column) neverBelowZero() bool {
	switch c.Unit {
	case "g", "m2", "ha", "cm", "mm", "%":
		return true
	}
	return false
}

// described is the meaning of a column with its unit.
func (c *Column) described() string {
	if c.Unit == "" || c.Unit == "1" {
		return c.Meaning
	}
	return c.Meaning + "; unit: " + units[c.Unit]
}
