package schema

import (
	"fmt"
	"slices"
	"strings"
)

// recordTable names a table of records: what identifies a row and which of
// its columns are the record itself. History triggers, the generic writer and
// the digest of a ledger are all made from this one list.
type recordTable struct {
	name   string
	keys   []string
	values []string // without import_id and line, which every record has
}

// recordTables lists every table whose changes are kept.
var recordTables = []recordTable{
	{"setting", []string{"name"}, []string{"value"}},
	{"frame_type", []string{"frame_type"}, []string{"area_m2"}},
	{"site", []string{"site"}, []string{"name", "stratum", "area_ha", "latitude", "longitude", "elevation_m",
		"ecological_site", "components", "sampling_unit", "units_possible", "placement", "selection", "frame_type_id",
		"year_start_month", "station", "rain_months", "class_scheme", "growth_curve", "double_sampling", "note"}},
	{"species", []string{"species"}, []string{"name", "growth_form", "component"}},
	{"visit", []string{"visit_id"}, []string{"transect", "frame", "caged", "caged_since", "date", "year_given",
		"frame_type_id", "components_sampled", "empty", "treatment", "block", "observer_id", "edge_rule",
		"clip_height_cm", "ungrazed_pct", "note"}},
	{"plot", []string{"visit_id", "component"}, []string{"frame_type_id", "frames_in_bag", "date", "observer_id",
		"edge_rule", "clip_height_cm", "ungrazed_pct"}},
	{"bag", []string{"visit_id", "component", "species_id", "bag"}, []string{"growth_form", "per_m2", "green_g",
		"dry_g", "trace", "dm_pct", "basis", "stage", "status", "note"}},
	{"drying", []string{"occasion_id", "component", "species_id", "growth_form", "transect", "frame", "bag",
		"green_g", "dry_g"}, []string{"basis", "stage", "date", "year_given"}},
	{"book_value", []string{"book", "species_id", "growth_form", "stage"}, []string{"dm_pct", "basis", "source"}},
	{"estimate", []string{"visit_id", "component", "species_id", "observer_id", "state"},
		[]string{"date", "year_given", "frame_type_id", "g", "per_m2", "basis"}},
	{"rain", []string{"station", "year", "month"}, []string{"rain_mm"}},
	{"class_bound", []string{"scheme", "component", "lower_g_m2"}, []string{"upper_g_m2", "basis", "label"}},
	{"growth_curve", []string{"curve", "day_of_year"}, []string{"cumulative_pct"}},
	{"transect", []string{"site_id", "transect"}, []string{"latitude", "longitude", "bearing", "length_m", "side",
		"offset_m", "photo", "note"}},
	{"event", []string{"site_id", "stratum", "start", "kind"}, []string{"finish", "note"}},
	{"accepted_finding", []string{"finding"}, []string{"note"}},
}

// recordIndex finds a table of records in recordTables; -1 where it is none.
func recordIndex(name string) int {
	return slices.IndexFunc(recordTables, func(t recordTable) bool { return t.name == name })
}

// recorded lists the columns that make up a record: values, import and line.
func (t recordTable) recorded() []string {
	return append(append([]string{}, t.values...), "import_id", "line")
}

// historyTriggers writes the pair of triggers that keep the old values of a
// table. A row that the writing import itself inserted is not history yet.
// Where no import is writing, as when another program edits the file, the
// insert into change fails, and with it the edit.
func (t recordTable) historyTriggers() string {
	old := make([]string, 0, len(t.values)+2)
	for _, c := range t.recorded() {
		old = append(old, fmt.Sprintf("'%s',old.%s", c, c))
	}
	watched := append(append([]string{}, t.keys...), t.recorded()...)
	when := "WHEN old.import_id IS NOT (SELECT import_id FROM writing)"
	insert := func(extra string) string {
		return fmt.Sprintf("INSERT INTO change(import_id,record,key,old) VALUES((SELECT import_id FROM writing),'%s',json_array(old.%s),json_object(%s%s));",
			t.name, strings.Join(t.keys, ",old."), extra, strings.Join(old, ","))
	}
	return fmt.Sprintf("CREATE TRIGGER %s_update AFTER UPDATE OF %s ON %s %s BEGIN %s END;\n",
		t.name, strings.Join(watched, ","), t.name, when, insert("")) +
		fmt.Sprintf("CREATE TRIGGER %s_delete BEFORE DELETE ON %s %s BEGIN %s END;\n",
			t.name, t.name, when, insert("'deleted',1,"))
}
