package schema_test

import (
	"database/sql"
	"testing"

	"clipledger/schema"
	"clipledger/schema/ledgertest"
)

// Verify must find what other programs, disks or bugs have done to a ledger.
func TestVerifyFindsPlantedDamage(t *testing.T) {
	t.Parallel()
	nested := herb("1", 20)
	nested.Component, nested.FrameType = schema.Browse, "2.4 ft2"
	records := ledgertest.Records{
		Sites:     []schema.Site{{Site: "A", SamplingUnit: "frame", Components: []schema.DeclaredComponent{{Component: schema.Herbaceous}, {Component: schema.Browse}}}},
		Species:   []schema.Species{{Code: "POA1", GrowthForm: "grass-cool"}},
		Drying:    []schema.Drying{dried(50, nil)},
		Clippings: []schema.Clipping{herb("1", 10), nested, herb("2", 30)},
	}
	for _, tt := range []struct {
		name, check string
		damage      string
	}{
		{"a stored dry weight", "dry weights", "UPDATE bag SET used_dry_g = used_dry_g * 1.001 WHERE component = 1"},
		{"a stored dry weight taken away", "dry weights", "UPDATE bag SET used_dry_g = NULL"},
		{"a stored method", "dry weights", "UPDATE bag SET used_method = 1"},
		{"a drying ratio", "drying ratios", "UPDATE drying_ratio SET ratio = ratio * 1.001"},
		{"a drying ratio taken away", "drying ratios", "DELETE FROM drying_ratio"},
		{"the number of samples behind a ratio", "drying ratios", "UPDATE drying_ratio SET samples = 7"},
		{"what a frame holds", "frames", "UPDATE visit SET found = 0 WHERE frame = '2'"},
		{"what a frame has on record", "frames", "UPDATE visit SET recorded = 1 WHERE frame = '1'"},
		{"what was looked for", "looked for", "UPDATE looked_for SET mask = 1"},
		{"what was looked for, taken away", "looked for", "DELETE FROM looked_for"},
		{"what was looked for, of no occasion", "looked for", "INSERT INTO looked_for VALUES(1, 999, 3, 0)"},
		{"the years of a frame type", "looked for", "UPDATE type_span SET last_year = 2030"},
		{"the nested frame types", "looked for", "DELETE FROM type_pair"},
		{"a declaration made by hand", "rules", "DELETE FROM site_component WHERE component = 2"},
		{"a number of the rules", "rules", "UPDATE rule_number SET value = 0.5 WHERE name = 'trace-g'"},
		{"a factor of the bases", "rules", "UPDATE rule_number SET value = 1.2 WHERE name = 'oven-dry'"},
		{"a book value in force", "rules", "UPDATE book_in_force SET fraction = 0.99 WHERE stage = 'dormant'"},
		{"a book value taken out of force", "rules", "DELETE FROM book_in_force WHERE stage = 'dormant'"},
		{"a view", "layout", "DROP VIEW occasion_mean; CREATE VIEW occasion_mean AS SELECT 'A' AS site"},
		{"a view taken away", "layout", "DROP VIEW frame_zero"},
		{"a history trigger taken away", "layout", "DROP TRIGGER bag_update"},
		{"a table added", "layout", "CREATE TABLE extra(x)"},
		{"a row that points nowhere", "foreign keys", "PRAGMA foreign_keys=OFF; UPDATE plot SET frame_type_id = 99, import_id = 99 WHERE 0; DELETE FROM frame_type WHERE frame_type = '2.4 ft2'"},
		{"an import taken away", "history", "PRAGMA foreign_keys=OFF; DELETE FROM import WHERE kind = 'clippings'"},
		{"an import half written", "history", "INSERT INTO writing VALUES(1, 1)"},
		{"a history that cannot be read", "history", "INSERT INTO change(import_id, record, key, old) VALUES(1, 'bag', '[', '{')"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			path := ledgertest.Path(t, records)
			soundLedger(t, path)
			damage(t, path, tt.damage)
			found := faults(t, path)
			if len(found[tt.check]) == 0 {
				t.Errorf("the check %q found nothing; all that was found: %v", tt.check, found)
			}
		})
	}
}

// damage edits a ledger as another program would, with the triggers that keep
// the history out of its way where it has to.
func damage(t *testing.T, path, statements string) {
	t.Helper()
	db, err := sql.Open("sqlite", path)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	db.SetMaxOpenConns(1)
	if _, err := db.Exec(statements); err == nil {
		return
	}
	script := `SELECT group_concat('DROP TRIGGER ' || name, ';') FROM sqlite_schema WHERE type = 'trigger'`
	var drop string
	if err := db.QueryRow(script).Scan(&drop); err != nil {
		t.Fatal(err)
	}
	if _, err := db.Exec(drop + ";" + statements); err != nil {
		t.Fatal(err)
	}
}

// faults lists what each check of Verify found.
func faults(t *testing.T, path string) map[string][]string {
	t.Helper()
	out := map[string][]string{}
	ledgertest.Read(t, path, func(s *schema.Snapshot) error {
		checks, err := s.Verify()
		for _, c := range checks {
			if len(c.Faults) > 0 {
				out[c.Name] = c.Faults
			}
		}
		return err
	})
	return out
}
