package stat

import (
	"encoding/csv"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
)

// row is one line of a reference file by column name.
type row map[string]string

// readReference reads testdata/reference/NAME, in which every row names its
// source.
func readReference(t testing.TB, name string) []row {
	t.Helper()
	f, err := os.Open(filepath.Join("..", "..", "testdata", "reference", name))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	lines, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatalf("read %s: %v", name, err)
	}
	if len(lines) < 2 {
		t.Fatalf("%s holds no rows", name)
	}
	var rows []row
	for i, line := range lines[1:] {
		r := row{}
		for j, column := range lines[0] {
			r[column] = line[j]
		}
		if r["source"] == "" {
			t.Fatalf("%s: row %d names no source", name, i+1)
		}
		rows = append(rows, r)
	}
	return rows
}

// number reads a column that must hold a number.
func (r row) number(t testing.TB, column string) float64 {
	t.Helper()
	x, err := strconv.ParseFloat(r[column], 64)
	if err != nil {
		t.Fatalf("column %s: %v", column, err)
	}
	return x
}

// values gives the stored values of a case by group, groups in file order.
func values(t testing.TB, name string) [][]float64 {
	t.Helper()
	var groups [][]float64
	last := "none yet"
	for _, r := range readReference(t, "stat-values.csv") {
		if r["case"] != name {
			continue
		}
		if r["group"] != last {
			groups, last = append(groups, nil), r["group"]
		}
		groups[len(groups)-1] = append(groups[len(groups)-1], r.number(t, "value"))
	}
	if len(groups) == 0 {
		t.Fatalf("stat-values.csv has no case %q", name)
	}
	return groups
}

// near reports a got that is further than an absolute tolerance from want. A
// NaN is never near.
func near(t testing.TB, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s: got %.17g, want %.17g within %g", what, got, want, tolerance)
	}
}

// nearly is near with a tolerance relative to want.
func nearly(t testing.TB, what string, got, want, tolerance float64) {
	t.Helper()
	near(t, what, got, want, tolerance*math.Abs(want))
}

// run gives input to a script of an outside program and reads the numbers it
// prints, of which there must be count.
func run(t testing.TB, program, script, input string, count int) []float64 {
	t.Helper()
	path := filepath.Join(t.TempDir(), "script")
	if err := os.WriteFile(path, []byte(script), 0o600); err != nil {
		t.Fatal(err)
	}
	var complaint strings.Builder
	cmd := exec.Command(program, path)
	cmd.Stdin = strings.NewReader(input)
	cmd.Stderr = &complaint
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("%s: %v\n%s", program, err, complaint.String())
	}
	fields := strings.Fields(string(out))
	if len(fields) != count {
		t.Fatalf("%s printed %d numbers, want %d\n%s", program, len(fields), count, complaint.String())
	}
	numbers := make([]float64, count)
	for i, f := range fields {
		if numbers[i], err = strconv.ParseFloat(f, 64); err != nil {
			t.Fatal(err)
		}
	}
	return numbers
}

// table writes rows of numbers with every digit, separated by spaces.
func table(rows [][]float64) string {
	var b strings.Builder
	for _, r := range rows {
		for i, x := range r {
			if i > 0 {
				b.WriteByte(' ')
			}
			b.WriteString(strconv.FormatFloat(x, 'g', 17, 64))
		}
		b.WriteByte('\n')
	}
	return b.String()
}
