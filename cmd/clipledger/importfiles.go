package main

import (
	"encoding/csv"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"clipledger/monitor/intake"
)

// pipe is the name that stands for the standard input.
const pipe = "-"

// open opens a file to import.
func open(a *app, path string) (*intake.File, error) {
	if path == pipe {
		return intake.OpenPipe(a.In)
	}
	return intake.Open(path)
}

// expand replaces patterns that the shell has left alone, as that of Windows
// does, by the files that they match. A file of that very name comes first.
func expand(args []string) (paths []string, err error) {
	for _, arg := range args {
		if _, err := os.Stat(arg); err == nil || !strings.ContainsAny(arg, "*?[") {
			paths = append(paths, arg)
			continue
		}
		matches, err := filepath.Glob(arg)
		if err != nil { // no pattern either: opening it says that it is not there
			matches = []string{arg}
		}
		if len(matches) == 0 {
			return nil, usagef("no file matches %q; look at how it is written, and at the folder you are in", arg)
		}
		paths = append(paths, matches...)
	}
	return paths, nil
}

// runGuess proposes a map file for one file.
func runGuess(a *app, o *importOptions, paths []string) error {
	if len(paths) != 1 {
		return usagef("--guess reads one file; %d are named", len(paths))
	}
	f, err := open(a, paths[0])
	if err != nil {
		return err
	}
	defer f.Close()
	g, err := intake.GuessMap(f, o.kind, o.read)
	var usage *intake.UsageError
	switch {
	case errors.As(err, &usage):
		return usageError{err}
	case errors.Is(err, intake.ErrUnreadable):
		fmt.Fprintln(a.Err, plain(lines(g.Problems)))
		return errData
	case err != nil:
		return err
	}
	w := csv.NewWriter(a.Out)
	w.Write([]string{"ours", "theirs"}) // its error comes again below
	for _, p := range g.Pairs {
		w.Write([]string{p.Ours, p.Theirs})
	}
	w.Flush()
	if err := w.Error(); err != nil {
		return fmt.Errorf("write the map: %w", err)
	}
	for _, text := range g.Remarks {
		a.say("%s: %s", f.Name(), text)
	}
	a.say("nothing was imported; read the map, mend it, and give it with --map-file")
	return nil
}
