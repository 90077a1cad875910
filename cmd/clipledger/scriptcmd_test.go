package main

import (
	"context"
	"crypto/sha256"
	"database/sql"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"maps"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/rogpeppe/go-internal/testscript"
)

// scriptCommands are the commands of our own that scripts can use:
//
//	exits N COMMAND...     the command must exit with the code N
//	refused N COMMAND...   the same, and no file may be added, changed or removed
//	same FILE FILE         the files must hold the same bytes
//	rounded                the last stdout again, its long numbers cut to ten
//	                       digits: the last ones differ between processors
//	sql FILE STATEMENT     runs SQL on a SQLite file, as another program would;
//	                       what it selects is stdout, and with ! it must fail
//	write FILE TEXT        writes a file, both as in a Go string: \n \t \r \xFF
//	workbook FILE TEXT     writes the workbook that a text file describes in the
//	                       way of package booktest
//	tear FILE              overwrites the middle of a file with zeros
//	await FILE TIME        waits until the file is there
//
// and the program holdlock, which see.
var scriptCommands = map[string]func(*testscript.TestScript, bool, []string){
	"exits":    cmdExits,
	"refused":  cmdRefused,
	"same":     cmdSame,
	"rounded":  cmdRounded,
	"sql":      cmdSQL,
	"write":    cmdWrite,
	"workbook": cmdWorkbook,
	"tear":     cmdTear,
	"await":    cmdAwait,
}

// need stops a script whose command is called the wrong way.
func need(ts *testscript.TestScript, ok bool, usage string) {
	if !ok {
		ts.Fatalf("usage: %s", usage)
	}
}

func cmdExits(ts *testscript.TestScript, neg bool, args []string) {
	need(ts, !neg && len(args) >= 2, "exits N COMMAND...")
	want, err := strconv.Atoi(args[0])
	ts.Check(err)
	got := 0
	if err := ts.Exec(args[1], args[2:]...); err != nil {
		var exit *exec.ExitError
		if !errors.As(err, &exit) {
			ts.Fatalf("%s did not run: %v", args[1], err)
		}
		got = exit.ExitCode()
	}
	if got != want {
		ts.Fatalf("%s exited with %d, not %d", strings.Join(args[1:], " "), got, want)
	}
}

func cmdRefused(ts *testscript.TestScript, neg bool, args []string) {
	need(ts, !neg && len(args) >= 2, "refused N COMMAND...")
	before, err := digests(ts.Getenv("WORK"))
	ts.Check(err)
	cmdExits(ts, false, args)
	after, err := digests(ts.Getenv("WORK"))
	ts.Check(err)
	var told []string
	for name, sum := range after {
		if was, ok := before[name]; !ok {
			told = append(told, name+" was added")
		} else if was != sum {
			told = append(told, name+" was changed")
		}
	}
	for name := range before {
		if _, ok := after[name]; !ok {
			told = append(told, name+" was removed")
		}
	}
	if len(told) > 0 {
		slices.Sort(told)
		ts.Fatalf("%s: %s", strings.Join(args[1:], " "), strings.Join(told, ", "))
	}
}

// digests hashes every file below a folder, with the time of its last write:
// a file that is written again with the same bytes counts as changed. Folders
// count by their names; what commands keep in .tmp for themselves does not.
func digests(root string) (map[string]string, error) {
	sums := map[string]string{}
	return sums, filepath.WalkDir(root, func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		name, err := filepath.Rel(root, path)
		if err != nil {
			return err
		}
		if d.IsDir() {
			sums[name] = "a folder"
			if name == ".tmp" {
				return fs.SkipDir
			}
			return nil
		}
		info, err := d.Info()
		if err != nil {
			return err
		}
		content, err := os.ReadFile(path)
		sums[name] = fmt.Sprintf("%x %d", sha256.Sum256(content), info.ModTime().UnixNano())
		return err
	})
}

func cmdSame(ts *testscript.TestScript, neg bool, args []string) {
	need(ts, !neg && len(args) == 2 && args[0] != args[1], "same FILE FILE")
	if ts.ReadFile(args[0]) != ts.ReadFile(args[1]) {
		ts.Fatalf("%s and %s differ", args[0], args[1])
	}
}

func cmdRounded(ts *testscript.TestScript, neg bool, args []string) {
	need(ts, !neg && len(args) == 0, "rounded")
	out, errs := ts.ReadFile("stdout"), ts.ReadFile("stderr")
	fmt.Fprint(ts.Stdout(), rounded10(out))
	fmt.Fprint(ts.Stderr(), errs)
}

// longNumber is a number in full precision.
var longNumber = regexp.MustCompile(`-?\b[0-9]+\.[0-9]{8,}(e[+-]?[0-9]+)?\b`)

// rounded10 rounds the long numbers of a text to ten digits.
func rounded10(text string) string {
	return longNumber.ReplaceAllStringFunc(text, func(s string) string {
		v, err := strconv.ParseFloat(s, 64)
		if err != nil {
			return s
		}
		return strconv.FormatFloat(v, 'g', 10, 64)
	})
}

func cmdSQL(ts *testscript.TestScript, neg bool, args []string) {
	need(ts, len(args) == 2, "sql FILE STATEMENT")
	err := runSQL(ts.Stdout(), ts.MkAbs(args[0]), args[1])
	if !neg {
		ts.Check(err)
		return
	}
	if err == nil {
		ts.Fatalf("%s did not fail", args[1])
	}
	fmt.Fprintln(ts.Stderr(), err)
}

// runSQL runs SQL on a SQLite file and writes the rows that it gives.
func runSQL(out io.Writer, path, statement string) error {
	db, err := sql.Open("sqlite", path)
	if err != nil {
		return err
	}
	defer db.Close()
	rows, err := db.Query(statement)
	if err != nil {
		return err
	}
	defer rows.Close()
	columns, err := rows.Columns()
	if err != nil {
		return err
	}
	for rows.Next() {
		cells := make([]sql.NullString, len(columns))
		dest := make([]any, len(columns))
		for i := range cells {
			dest[i] = &cells[i]
		}
		if err := rows.Scan(dest...); err != nil {
			return err
		}
		texts := make([]string, len(cells))
		for i, c := range cells {
			texts[i] = c.String
		}
		fmt.Fprintln(out, strings.Join(texts, "|"))
	}
	return rows.Err()
}

func cmdWrite(ts *testscript.TestScript, neg bool, args []string) {
	need(ts, !neg && len(args) == 2, "write FILE TEXT")
	name, err := strconv.Unquote(`"` + args[0] + `"`)
	ts.Check(err)
	text, err := strconv.Unquote(`"` + args[1] + `"`)
	ts.Check(err)
	ts.Check(os.WriteFile(ts.MkAbs(name), []byte(text), 0o666))
}

func cmdTear(ts *testscript.TestScript, neg bool, args []string) {
	need(ts, !neg && len(args) == 1, "tear FILE")
	path := ts.MkAbs(args[0])
	content, err := os.ReadFile(path)
	ts.Check(err)
	third := len(content) / 3
	clear(content[third : 2*third])
	ts.Check(os.WriteFile(path, content, 0o666))
}

func cmdAwait(ts *testscript.TestScript, neg bool, args []string) {
	need(ts, !neg && len(args) == 2, "await FILE TIME")
	longest, err := time.ParseDuration(args[1])
	ts.Check(err)
	if !comes(ts.MkAbs(args[0]), longest) {
		ts.Fatalf("%s did not come", args[0])
	}
}

// comes waits until a file is there.
func comes(path string, longest time.Duration) bool {
	for end := time.Now().Add(longest); time.Now().Before(end); time.Sleep(5 * time.Millisecond) {
		if _, err := os.Stat(path); err == nil {
			return true
		}
	}
	return false
}

// holdLock is the program holdlock FILE: another program that has the SQLite
// file to itself until FILE.release is there. It makes FILE.held once it has.
// It must be a process of its own, since a process loses its locks of a file
// when any part of it closes that file.
func holdLock() {
	if err := hold(os.Args[1]); err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
}

func hold(path string) error {
	db, err := sql.Open("sqlite", path)
	if err != nil {
		return err
	}
	defer db.Close()
	conn, err := db.Conn(context.Background())
	if err != nil {
		return err
	}
	defer conn.Close()
	if _, err := conn.ExecContext(context.Background(), "BEGIN EXCLUSIVE"); err != nil {
		return err
	}
	if err := os.WriteFile(path+".held", nil, 0o666); err != nil {
		return err
	}
	if !comes(path+".release", 30*time.Second) {
		return errors.New("was never released")
	}
	_, err = conn.ExecContext(context.Background(), "ROLLBACK")
	return err
}

// sortedKeys lists the keys of a map in order.
func sortedKeys[V any](m map[string]V) []string { return slices.Sorted(maps.Keys(m)) }
