package main

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"testing"

	"clipledger/monitor/needtool"
	"clipledger/schema"
	"clipledger/schema/ledgertest"
)

// duckdb is the program that runs an export's SQL on DuckDB, in a module of
// its own because it needs cgo.
var duckdb struct {
	once sync.Once
	path string
	err  error
}

// buildDuckDB builds it once.
func buildDuckDB(t *testing.T) string {
	t.Helper()
	duckdb.once.Do(func() {
		dir, err := os.MkdirTemp("", "clipledger-duckdb")
		if err != nil {
			duckdb.err = err
			return
		}
		duckdb.path = filepath.Join(dir, "duckdb")
		cmd := exec.Command("go", "build", "-o", duckdb.path, ".")
		cmd.Dir = "../../testdata/duckdb"
		cmd.Env = append(os.Environ(), "CGO_ENABLED=1")
		if out, err := cmd.CombinedOutput(); err != nil {
			duckdb.err = fmt.Errorf("%w: %s", err, out)
		}
	})
	if duckdb.err != nil {
		needtool.Missing(t, "DuckDB ("+duckdb.err.Error()+")")
	}
	return duckdb.path
}

// duckRows are the rows of a view that the SQL makes on DuckDB, by all their
// columns before the numbers, which come last.
func duckRows(t *testing.T, dir, view string, numbers int) map[string][]string {
	t.Helper()
	out, err := exec.Command(buildDuckDB(t), dir, view).Output()
	if err != nil {
		t.Fatalf("DuckDB: %v", err)
	}
	return keyed(t, out, numbers)
}

func keyed(t *testing.T, table []byte, numbers int) map[string][]string {
	t.Helper()
	rows, err := csv.NewReader(bytes.NewReader(table)).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	out := map[string][]string{}
	for _, r := range rows[1:] {
		key := strings.Join(r[:len(r)-numbers], "|")
		if _, twice := out[key]; twice {
			t.Fatalf("%s stands there twice", key)
		}
		out[key] = r[len(r)-numbers:]
	}
	return out
}

// TestSQLOfParquet holds that the SQL of a Parquet export, run on DuckDB, gives
// the ledger's frame production and means, to 1e-9: the demo and random
// ledgers.
func TestSQLOfParquet(t *testing.T) {
	ledgers := map[string]string{"demo": sharedDemo(t) + "/ansel-basin.db"}
	for seed := uint64(1); seed <= 8; seed++ {
		ledgers[fmt.Sprint("world ", seed)] = ledgertest.Path(t, ledgertest.NewWorld(seed).Records()...)
	}
	for name, ledger := range ledgers {
		t.Run(name, func(t *testing.T) {
			dir := t.TempDir() + "/out"
			mustRun(t, "--ledger", ledger, "--quiet", "export", dir, "--as", "parquet")
			sameRows(t, "frame production", ledgerFrames(t, ledger), duckRows(t, dir, "frame_production", 1))
			sameRows(t, "means", ledgerMeans(t, ledger), duckRows(t, dir, "occasion_mean", 3))
		})
	}
}

// sameRows holds that two tables have the same rows, numbers to 1e-9.
func sameRows(t *testing.T, what string, want, got map[string][]string) {
	t.Helper()
	if len(want) < 20 || len(got) != len(want) {
		t.Errorf("%s: %d rows in the ledger, %d from DuckDB", what, len(want), len(got))
	}
	told := 0
	for key, w := range want {
		g, ok := got[key]
		if ok && sameNumbers(w, g) {
			continue
		}
		if told++; told <= 5 {
			t.Errorf("%s of %s: %v in the ledger, %v from DuckDB", what, key, w, g)
		}
	}
}

func sameNumbers(a, b []string) bool {
	for i := range a {
		if a[i] == b[i] {
			continue
		}
		x, errX := strconv.ParseFloat(a[i], 64)
		y, errY := strconv.ParseFloat(b[i], 64)
		if errX != nil || errY != nil || math.Abs(x-y) > 1e-9*math.Max(1, math.Max(math.Abs(x), math.Abs(y))) {
			return false
		}
	}
	return true
}

// ledgerFrames are the weights per area of frames, as the table of a CSV
// export has them.
func ledgerFrames(t *testing.T, ledger string) map[string][]string {
	t.Helper()
	dir := t.TempDir() + "/csv"
	mustRun(t, "--ledger", ledger, "--quiet", "export", dir)
	rows, err := csv.NewReader(strings.NewReader(mustRead(t, dir+"/frame_production.csv"))).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	out := map[string][]string{}
	for _, r := range rows[1:] {
		out[strings.Join(r[:7], "|")] = r[7:8]
	}
	return out
}

// ledgerMeans are the rows of the ledger's view occasion_mean, which verify
// holds against the program.
func ledgerMeans(t *testing.T, ledger string) map[string][]string {
	t.Helper()
	out := map[string][]string{}
	number := func(f float64) string { return strconv.FormatFloat(f, 'g', -1, 64) }
	ledgertest.Read(t, ledger, func(s *schema.Snapshot) error {
		return s.OccasionMeans(func(m *schema.OccasionMean) error {
			sd := ""
			if m.SD.Valid {
				sd = number(m.SD.Float64)
			}
			out[fmt.Sprintf("%s|%d|%s|%s", m.Site, m.Year, m.Season, m.Component)] = []string{fmt.Sprint(m.N), number(m.Mean), sd}
			return nil
		})
	})
	return out
}

// TestSQLNotices holds that the comparison above can fail.
func TestSQLNotices(t *testing.T) {
	if sameNumbers([]string{"1", "2"}, []string{"1", "2.00001"}) || sameNumbers([]string{"1"}, []string{""}) || !sameNumbers([]string{"0.1"}, []string{"0.10000000000000001"}) {
		t.Error("numbers are not compared")
	}
}
