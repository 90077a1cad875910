package main

import (
	"encoding/csv"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"clipledger/monitor/needtool"
)

// fenced is the block of the README that is fenced for a language.
func fenced(t *testing.T, language string) string {
	t.Helper()
	_, after, found := strings.Cut(mustRead(t, readmePath), "\n```"+language+"\n")
	block, _, closed := strings.Cut(after, "\n```\n")
	if !found || !closed {
		t.Fatalf("README.md has no block fenced as ```%s", language)
	}
	return block
}

// TestReadmeInRAndPython runs the README's lines of R and Python on the demo
// and compares with what the program prints.
func TestReadmeInRAndPython(t *testing.T) {
	dir := t.TempDir()
	if err := os.CopyFS(filepath.Join(dir, "ansel-basin-demo"), os.DirFS(sharedDemo(t))); err != nil {
		t.Fatal(err)
	}
	ledger := filepath.Join(dir, "ansel-basin-demo", "ansel-basin.db")
	mustRun(t, "--ledger", ledger, "--quiet", "export", filepath.Join(dir, "tables"))
	want := []float64{
		printed(t, "", "mean", "--ledger", ledger, "--quiet", "--units", "g/m2", "--format", "csv", "means", "--site", "QUILL", "--year", "2024", "--component", "browse"),
		printed(t, "ols", "slope", "--ledger", ledger, "--quiet", "--units", "g/m2", "--format", "csv", "trend", "--site", "QUILL", "--component", "browse"),
		printed(t, "mixed", "slope", "--ledger", ledger, "--quiet", "--units", "g/m2", "--format", "csv", "trend", "--site", "QUILL", "--component", "browse"),
	}
	// Closed forms to 1e-9; the mixed models are fitted by iteration.
	tolerance := []float64{1e-9, 1e-9, 1e-5}
	for language, program := range map[string]string{"r": needtool.Rscript(t, "RSQLite", "lme4"), "python": needtool.Python(t, "pandas", "statsmodels.formula.api")} {
		t.Run(language, func(t *testing.T) {
			script := filepath.Join(dir, "script."+language)
			if err := os.WriteFile(script, []byte(fenced(t, language)), 0o666); err != nil {
				t.Fatal(err)
			}
			cmd := exec.Command(program, script)
			cmd.Dir = dir
			out, err := cmd.Output()
			if err != nil {
				t.Fatalf("%v\n%s", err, stderrOf(err))
			}
			words := strings.Fields(string(out))
			if len(words) != len(want) {
				t.Fatalf("it printed %q", out)
			}
			for i, word := range words {
				got, err := strconv.ParseFloat(word, 64)
				if err != nil || !(math.Abs(got-want[i]) <= tolerance[i]*math.Abs(want[i])) {
					t.Errorf("number %d is %s, the program has %v", i+1, word, want[i])
				}
			}
		})
	}
}

func stderrOf(err error) string {
	if exit, ok := err.(*exec.ExitError); ok {
		return string(exit.Stderr)
	}
	return ""
}

// printed is the value that a command prints in a column, of the row of a
// method where one is named, else of the only row.
func printed(t *testing.T, method, column string, args ...string) float64 {
	t.Helper()
	rows, err := csv.NewReader(strings.NewReader(mustRun(t, args...).out)).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	at := map[string]int{}
	for i, name := range rows[0] {
		at[name] = i
	}
	var found []string
	for _, row := range rows[1:] {
		if method == "" || row[at["method"]] == method {
			found = append(found, row[at[column]])
		}
	}
	if len(found) != 1 {
		t.Fatalf("%v: %d values of %s", args, len(found), column)
	}
	v, err := strconv.ParseFloat(found[0], 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

// TestOthersOpenExports has R (read.csv and readr), pandas and LibreOffice open
// every table of an export, and count what they find.
func TestOthersOpenExports(t *testing.T) {
	dir := t.TempDir()
	ledger := sharedDemo(t) + "/ansel-basin.db"
	mustRun(t, "--ledger", ledger, "--quiet", "export", dir+"/tables")
	files, err := filepath.Glob(dir + "/tables/*.csv")
	if err != nil || len(files) < 15 {
		t.Fatalf("%d tables, %v", len(files), err)
	}
	var want strings.Builder
	for _, file := range files {
		rows, err := csv.NewReader(strings.NewReader(mustRead(t, file))).ReadAll()
		if err != nil {
			t.Fatal(err)
		}
		want.WriteString(filepath.Base(file) + " " + strconv.Itoa(len(rows)-1) + " " + strconv.Itoa(len(rows[0])) + "\n")
	}
	for name, call := range map[string][]string{
		"read.csv": {needtool.Rscript(t), "-e", `for (f in list.files(pattern = "csv$")) { d <- read.csv(f, na.strings = ""); cat(f, nrow(d), ncol(d), "\n") }`},
		"readr": {needtool.Rscript(t, "readr"), "-e", `for (f in list.files(pattern = "csv$")) { d <- readr::read_csv(f, na = "", show_col_types = FALSE, guess_max = 1e5, progress = FALSE);` +
			` stopifnot(nrow(readr::problems(d)) == 0); cat(f, nrow(d), ncol(d), "\n") }`},
		"pandas": {needtool.Python(t, "pandas"), "-c", "import glob, pandas\nfor f in sorted(glob.glob('*.csv')):\n d = pandas.read_csv(f)\n print(f, len(d), len(d.columns))"},
	} {
		t.Run(name, func(t *testing.T) {
			cmd := exec.Command(call[0], call[1:]...)
			cmd.Dir = dir + "/tables"
			cmd.Env = append(os.Environ(), "LC_ALL=C.UTF-8")
			out, err := cmd.Output()
			if err != nil {
				t.Fatalf("%v\n%s", err, stderrOf(err))
			}
			if got := strings.ReplaceAll(string(out), " \n", "\n"); got != want.String() {
				t.Errorf("it found\n%swanted\n%s", got, want.String())
			}
		})
	}
}

// TestLibreOfficeOpensTheWorkbook turns every sheet of the workbook into CSV.
func TestLibreOfficeOpensTheWorkbook(t *testing.T) {
	office := needtool.Program(t, "soffice", "libreoffice")
	dir := t.TempDir()
	mustRun(t, "--ledger", sharedDemo(t)+"/ansel-basin.db", "--quiet", "export", dir+"/book", "--as", "xlsx")
	cmd := exec.Command(office, "-env:UserInstallation=file://"+dir+"/profile", "--headless", "--convert-to",
		`csv:Text - txt - csv (StarCalc):44,34,76,1,,0,false,true,false,false,false,-1`, "--outdir", dir, dir+"/book/workbook.xlsx")
	if out, err := cmd.CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	for sheet, wants := range map[string]string{"Summary": "site,name,stratum,season", "Means by year": "site,stratum,year,season,component", "Trends": "site,season,component,method", "Bags": "site,year,season"} {
		content := mustRead(t, filepath.Join(dir, "workbook-"+sheet+".csv"))
		if !strings.Contains(content, "\n"+wants) || !strings.Contains(content, "QUILL") {
			t.Errorf("%s: LibreOffice found\n%.500s", sheet, content)
		}
	}
}
