package main

import (
	"bytes"
	"errors"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"clipledger/monitor/needtool"
)

// The manual is what --help prints and what README.md says. These tests run
// all of it, so that it cannot rot. The conventions:
//
//   - Every line of a command's Example is a call that works. The lines of one
//     command are typed one after the other in a folder that holds the demo's
//     ledger as clipledger.db and old.db and the files of manualFiles. An
//     example that names another file adds it there.
//   - In README.md every line of every block fenced as ```sh is typed, all
//     blocks one after the other, in a folder that is empty at first. A line
//     that ends with a backslash goes on in the next. What must not be typed
//     is indented, or fenced otherwise.
//   - Typed means: given to sh, where clipledger is the program. It must exit
//     with 0 and have something to show.
//   - Every --flag that either of them names is one that some command has.

// manualFiles are the files that the examples of --help name.
var manualFiles = map[string]string{
	"sites.csv":     "site,name,stratum,frame_type\nNEW,New pasture,Uplands,0.25 m2\n",
	"clip-2024.csv": "site,date,frame,frame_type,component,dry_g\nNEW,2024-07-01,1,0.25 m2,herbaceous,12\n",
	"clip-2025.csv": "site,date,frame,frame_type,component,dry_g\nNEW,2025-07-01,1,0.25 m2,herbaceous,12\nNEW,2025-07-01,2,0.25 m2,herbaceous,16\n",
	"old.csv":       "site,date,frame,component,Dry wt (g)\nOLD,6/30/98,1,herbaceous,12.5\n",
	"lab.csv":       "site,year,frame,frame_type,component,dry_g\nNEW,2025,3,0.25 m2,herbaceous,11\n",
	"mine.csv":      "table,growth_form,stage,dm_pct,source\nmine,grass-cool,heading,48,dried by ourselves\n",
	"minutes.csv":   "site,minutes_per_frame,travel_minutes\nQUILL,20,120\n",
}

// everyCommand lists all commands, the root first.
func everyCommand() []*cobra.Command {
	root := newRoot(&app{})
	commands := []*cobra.Command{root}
	return append(commands, root.Commands()...)
}

// shell finds the shell that types.
func shell(t *testing.T) string {
	t.Helper()
	sh, err := exec.LookPath("sh")
	if err != nil {
		needtool.Missing(t, "sh")
	}
	return sh
}

// typeLine types one line in a folder and returns what it prints.
func typeLine(t *testing.T, dir, line string) (stdout, stderr string) {
	t.Helper()
	var out, errs bytes.Buffer
	cmd := exec.Command(shell(t), "-c", line)
	cmd.Dir, cmd.Stdout, cmd.Stderr = dir, &out, &errs
	cmd.Env = []string{"PATH=" + os.Getenv("PATH"), nowVariable + "=" + testNow}
	if err := cmd.Run(); err != nil {
		t.Errorf("%s\n%v\n%s%s", line, err, out.String(), errs.String())
	}
	return out.String(), errs.String()
}

// typeAll types lines one after the other and looks whether each shows
// something.
func typeAll(t *testing.T, dir string, lines []string) {
	t.Helper()
	for _, line := range lines {
		out, errs := typeLine(t, dir, line)
		if strings.Contains(errs, "nothing to show") || out == "" && !strings.Contains(line, ">") {
			t.Errorf("%s\nshows nothing:\n%s%s", line, out, errs)
		}
	}
}

// TestHelp holds that every command's help has an example and tells the exit
// codes, and that help itself exits with 0.
func TestHelp(t *testing.T) {
	for _, c := range everyCommand() {
		name := c.Name()
		args := []string{"--help"}
		if c.HasParent() {
			args = []string{name, "--help"}
		}
		o := mustRun(t, args...)
		if o.err != "" {
			t.Errorf("%s: help prints on stderr: %s", name, o.err)
		}
		for _, want := range []string{c.Long, "\nExit status:\n", "2 wrong use", "3 the data has problems", "130 interrupted", "\nUsage:\n", "\nExamples:\n"} {
			if !strings.Contains(o.out, want) {
				t.Errorf("%s: help lacks %q", name, want)
			}
		}
		if c.Short == "" || len(examples(c)) == 0 {
			t.Errorf("%s: no short help or no example", name)
		}
		if c.HasParent() && !strings.Contains(c.Example, "clipledger "+name) {
			t.Errorf("%s: its example does not call it: %s", name, c.Example)
		}
		if c.HasParent() {
			if again := mustRun(t, "help", name); again != o {
				t.Errorf("help %s and %s --help differ", name, name)
			}
		}
	}
}

// examples are the lines of a command's example.
func examples(c *cobra.Command) []string {
	var lines []string
	for line := range strings.Lines(c.Example) {
		if line = strings.TrimSpace(line); line != "" {
			lines = append(lines, line)
		}
	}
	return lines
}

// TestExamples types the examples of every command.
func TestExamples(t *testing.T) {
	ledger := sharedDemo(t) + "/ansel-basin.db"
	for _, c := range everyCommand() {
		t.Run(c.Name(), func(t *testing.T) {
			dir := t.TempDir()
			for name, content := range manualFiles {
				if err := os.WriteFile(filepath.Join(dir, name), []byte(content), 0o666); err != nil {
					t.Fatal(err)
				}
			}
			for _, name := range []string{"clipledger.db", "old.db"} {
				if err := os.WriteFile(filepath.Join(dir, name), []byte(mustRead(t, ledger)), 0o666); err != nil {
					t.Fatal(err)
				}
			}
			mustRun(t, "--ledger", filepath.Join(dir, "clipledger.db"), "import", "book-values", filepath.Join(dir, "mine.csv"))
			typeAll(t, dir, examples(c))
		})
	}
}

// readmePath is where the README stands.
const readmePath = "../../README.md"

// TestReadme types what the README tells its readers to type.
func TestReadme(t *testing.T) {
	lines := typed(mustRead(t, readmePath))
	if len(lines) == 0 {
		t.Fatal("README.md has no block fenced as ```sh")
	}
	typeAll(t, t.TempDir(), lines)
}

// typed lists the lines of all blocks fenced as ```sh.
func typed(text string) []string {
	var lines []string
	inside, open := false, ""
	for line := range strings.Lines(text) {
		line = strings.TrimRight(line, "\r\n")
		switch {
		case strings.HasPrefix(line, "```"):
			inside = !inside && line == "```sh"
		case !inside || strings.TrimSpace(line) == "" || strings.HasPrefix(line, "#"):
		case strings.HasSuffix(line, `\`):
			open += strings.TrimSuffix(line, `\`)
		default:
			lines = append(lines, open+line)
			open = ""
		}
	}
	return lines
}

// TestTyped holds how the README is read.
func TestTyped(t *testing.T) {
	text := "a\n```sh\none\n\n# two\nthree \\\n  four\n```\nfive\n```text\nsix\n```\n    seven\n```sh\neight\n```\n"
	if got, want := strings.Join(typed(text), "|"), "one|three   four|eight"; got != want {
		t.Errorf("%q, not %q", got, want)
	}
}

// flagName is a flag as it is written in a text.
var flagName = regexp.MustCompile("(?:^|[\\s`(\"'|])--([a-z][a-z-]+)")

// TestFlagsNamed holds that every flag which help and README name is there.
func TestFlagsNamed(t *testing.T) {
	known := map[string]bool{"help": true}
	texts := map[string]string{"README.md": mustRead(t, readmePath)}
	for _, c := range everyCommand() {
		c.InitDefaultHelpFlag()
		texts[c.Name()] = c.Long + "\n" + c.Example + "\n" + c.Short
		c.LocalFlags().VisitAll(func(f *pflag.Flag) { known[f.Name] = true })
	}
	if !known["ledger"] || !known["skip-bad"] || known["nonsense"] {
		t.Fatalf("flags are not found: %v", sortedKeys(known))
	}
	for _, name := range sortedKeys(texts) {
		for _, m := range flagName.FindAllStringSubmatch(texts[name], -1) {
			if !known[m[1]] {
				t.Errorf("%s names --%s, which no command has", name, m[1])
			}
		}
	}
}

// TestTypedFails holds that typing a wrong call is noticed: the tests above
// rest on it.
func TestTypedFails(t *testing.T) {
	cmd := exec.Command(shell(t), "-c", "clipledger means")
	cmd.Dir = t.TempDir()
	cmd.Env = []string{"PATH=" + os.Getenv("PATH"), nowVariable + "=" + testNow}
	var exit *exec.ExitError
	if err := cmd.Run(); !errors.As(err, &exit) || exit.ExitCode() != exitFailed {
		t.Errorf("typing a call that must fail: %v", err)
	}
	if _, err := os.Stat(filepath.Join(cmd.Dir, "clipledger.db")); !errors.Is(err, fs.ErrNotExist) {
		t.Error("it left a ledger behind")
	}
}
