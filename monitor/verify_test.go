package monitor_test

import (
	"database/sql"
	"strings"
	"testing"

	"clipledger/monitor"
	"clipledger/schema"
	"clipledger/schema/ledgertest"
)

// VerifyMeans must find views that no longer say what the program works out.
func TestVerifyMeansFindsPlantedDamage(t *testing.T) {
	text := `2020 1 herbaceous dry=10
		2020 2 herbaceous dry=20
		2020 2 browse dry=4
		2020 3 - empty
		2020 4 herbaceous dry=30
		2020 4 browse lost
		2021 1 herbaceous dry=7 caged
		2021 2 herbaceous dry=9`
	for _, tt := range []struct{ name, view, old, new string }{
		{"zeros left out", "frame_or_total", "g_m2 IS NOT NULL", "g_m2 > 0"},
		{"open frames beside caged ones", "frame_standing", "WHERE f.caged OR NOT EXISTS", "WHERE 1 OR NOT EXISTS"},
		{"totals of frames that lack a part", "frame_or_total", "HAVING count(f.g_m2) = max(k.parts)", ""},
		{"sums in place of means", "occasion_mean", "avg(f.g_m2)", "sum(f.g_m2) * 2"},
		{"n in place of n - 1", "occasion_mean", "nullif(m.n - 1, 0)", "m.n"},
		{"only some of the means", "occasion_mean", "GROUP BY u.occasion_id, u.component", "WHERE c.name = 'browse' GROUP BY u.occasion_id, u.component"},
		{"means of nothing", "occasion_mean", "coalesce(c.name, 'production') AS component", "'litter' AS component"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			path := ledgertest.Path(t, ledgertest.Records{Sites: siteA("herbaceous;browse"), Clippings: rows(t, text)})
			soundLedger(t, path)
			alterView(t, path, tt.view, tt.old, tt.new)
			ledgertest.Read(t, path, func(s *schema.Snapshot) error {
				c, err := monitor.VerifyMeans(s)
				if len(c.Faults) == 0 {
					t.Errorf("nothing found among %d means", c.Looked)
				}
				return err
			})
		})
	}
}

// alterView changes the words of a view. Views that rest on it are bound by
// name and follow.
func alterView(t *testing.T, path, view, before, after string) {
	t.Helper()
	db, err := sql.Open("sqlite", path)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	var text string
	if err := db.QueryRow(`SELECT sql FROM sqlite_schema WHERE name = ?`, view).Scan(&text); err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(text, before) {
		t.Fatalf("the view %s does not hold %q", view, before)
	}
	if _, err := db.Exec("DROP VIEW " + view + ";" + strings.Replace(text, before, after, 1)); err != nil {
		t.Fatal(err)
	}
}
