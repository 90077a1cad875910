package main

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"clipledger/monitor/needtool"
	"clipledger/schema/ledgertest"
)

// backCommands are the calls that README.txt of an export gives to make the
// ledger again.
func backCommands(t *testing.T, dir string) []string {
	t.Helper()
	_, after, found := strings.Cut(mustRead(t, dir+"/README.txt"), "\nREADING IT BACK\n")
	if !found {
		t.Fatal("README.txt does not say how to read the export back")
	}
	var lines []string
	for line := range strings.Lines(after) {
		if call, ok := strings.CutPrefix(line, "    "); ok {
			lines = append(lines, strings.TrimSpace(call))
		}
	}
	return lines
}

// readBack types what README.txt says, in the folder of the export, and
// returns the ledger that it makes.
func readBack(t *testing.T, dir string) string {
	t.Helper()
	lines := backCommands(t, dir)
	if len(lines) < 3 {
		t.Fatalf("README.txt gives only %q", lines)
	}
	for _, line := range lines {
		_, errs := typeLine(t, dir, line)
		if strings.Contains(errs, "ignored") {
			t.Errorf("%s\n%s", line, errs)
		}
	}
	return filepath.Join(dir, "again.db")
}

// exportedMeans are the means of a ledger, as programs read them.
func exportedMeans(t *testing.T, ledger string, by ...string) string {
	t.Helper()
	return mustRun(t, append([]string{"--ledger", ledger, "--quiet", "means", "--format", "csv"}, by...)...).out
}

// sameMeans holds that two ledgers have the same means, byte for byte.
func sameMeans(t *testing.T, ledger, again string) {
	t.Helper()
	for _, by := range [][]string{nil, {"--by", "treatment"}, {"--by", "species"}} {
		want, got := exportedMeans(t, ledger, by...), exportedMeans(t, again, by...)
		if want != got {
			t.Errorf("means %v differ after the way out and back:\n%s", by, firstDifference(want, got))
		}
	}
	if strings.Count(exportedMeans(t, ledger), "\n") < 3 {
		t.Error("there are hardly any means to compare")
	}
}

// TestExportedDemoComesBack makes the demo's ledger again from its exports.
func TestExportedDemoComesBack(t *testing.T) {
	ledger := sharedDemo(t) + "/ansel-basin.db"
	for _, form := range []string{"csv", "datapackage", "eml", "parquet"} {
		t.Run(form, func(t *testing.T) {
			t.Parallel()
			dir := t.TempDir() + "/out"
			mustRun(t, "--ledger", ledger, "export", dir, "--as", form)
			again := readBack(t, dir)
			sameMeans(t, ledger, again)
			mustRun(t, "--ledger", again, "verify")
			if form == "csv" {
				comesOutAlike(t, dir, again)
			}
		})
	}
}

// comesOutAlike holds that the ledger made again gives the same tables; the
// order of occasions can be another.
func comesOutAlike(t *testing.T, dir, again string) {
	t.Helper()
	second := dir + "-2"
	mustRun(t, "--ledger", again, "--quiet", "export", second)
	for _, name := range []string{"frame_production.csv", "occasion_means.csv", "species.csv", "frame_types.csv", "rain.csv"} {
		want, got := sortedLines(mustRead(t, filepath.Join(dir, name))), sortedLines(mustRead(t, filepath.Join(second, name)))
		if want != got {
			t.Errorf("%s differs after the way out and back:\n%s", name, firstDifference(want, got))
		}
	}
}

// sortedLines sorts the lines of a table without where its rows came from.
func sortedLines(table string) string {
	header, _, _ := strings.Cut(table, "\n")
	lines := strings.Split(table, "\n")
	for i, line := range lines {
		if strings.HasSuffix(header, ",import_id,line") {
			cells := strings.Split(line, ",")
			lines[i] = strings.Join(cells[:max(len(cells)-2, 0)], ",")
		}
	}
	slices.Sort(lines)
	return strings.Join(lines, "\n")
}

// TestExportedWorldsComeBack makes 50 random ledgers again from their CSV.
func TestExportedWorldsComeBack(t *testing.T) {
	if _, err := os.Stat("/bin/sh"); err != nil {
		needtool.Missing(t, "sh")
	}
	const worlds = 50
	for seed := uint64(1); seed <= worlds; seed++ {
		t.Run(fmt.Sprint(seed), func(t *testing.T) {
			t.Parallel()
			ledger := ledgertest.Path(t, ledgertest.NewWorld(seed).Records()...)
			dir := t.TempDir() + "/out"
			mustRun(t, "--ledger", ledger, "--quiet", "export", dir)
			again := filepath.Join(dir, "again.db")
			for _, line := range backCommands(t, dir) {
				o := runIn(t, dir, line)
				if o.code != exitDone || strings.Contains(o.err, "ignored") {
					t.Fatalf("%s\nexited with %d:\n%s", line, o.code, o.err)
				}
			}
			sameMeans(t, ledger, again)
			if seed%10 == 0 {
				comesOutAlike(t, dir, again)
			}
		})
	}
}

// runIn runs a line of README.txt in this process, its files in a folder.
func runIn(t *testing.T, dir, line string) outcome {
	t.Helper()
	var args []string
	for _, word := range strings.Fields(line)[1:] {
		if strings.HasSuffix(word, ".csv") || strings.HasSuffix(word, ".db") || strings.HasSuffix(word, ".parquet") {
			word = filepath.Join(dir, word)
		}
		args = append(args, word)
	}
	return runContext(t, context.Background(), args...)
}
