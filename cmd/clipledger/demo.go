package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"clipledger/testdata"
)

func newDemo(a *app) *cobra.Command {
	return &cobra.Command{
		Use:   "demo [DIR]",
		Short: "Build an invented ledger and its report, to look around in",
		Long: `Writes the files of an invented grazing district, Ansel Basin, into DIR
(default ansel-basin-demo), imports them into a ledger there, writes the report
and says what to open. Every place, plant record and number in it is invented.`,
		Example: "  clipledger demo\n  clipledger demo look-around",
		Args:    cobra.MaximumNArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			dir := "ansel-basin-demo"
			if len(args) == 1 {
				dir = args[0]
			}
			return runDemo(cmd.Context(), a, dir)
		},
	}
}

// demoOrder is the order in which the kinds of demo files are imported, each
// with the beginning of its files' names.
var demoOrder = []struct{ kind, prefix string }{
	{"frame-types", "frame-types"}, {"book-values", "book-values"}, {"species", "species"}, {"sites", "sites"},
	{"clippings", "clippings-"}, {"drying", "drying"}, {"rain", "rain"},
	{"classes", "classes"}, {"growth-curves", "growth-curves"}, {"transects", "transects"}, {"events", "events"}, {"estimates", "estimates"},
}

func runDemo(ctx context.Context, a *app, dir string) error {
	files := filepath.Join(dir, "files")
	names, err := writeDemo(dir, files)
	if err != nil {
		return err
	}
	a.ledger = filepath.Join(dir, "ansel-basin.db")
	fmt.Fprintf(a.Out, "%d invented files in %s\n", len(names), files)
	used := map[string]bool{"README.txt": true, "truth.json": true}
	for _, step := range demoOrder {
		var paths []string
		for _, n := range names {
			if strings.HasPrefix(n, step.prefix) {
				paths = append(paths, filepath.Join(files, n))
				used[n] = true
			}
		}
		o := &importOptions{kind: step.kind, dates: "iso"}
		if err := o.parse(); err != nil {
			return err
		}
		if err := runImport(ctx, a, o, paths); err != nil {
			return err
		}
	}
	var later []string
	for _, n := range names {
		if !used[n] {
			later = append(later, n)
		}
	}
	if len(later) > 0 {
		a.say("not read by this version: %s", strings.Join(later, ", "))
	}
	return runReport(ctx, a, &reportOptions{}, filepath.Join(dir, "report"))
}

// writeDemo writes the demo's files. A folder that holds other things is
// refused; files that are there already must be the same.
func writeDemo(dir, files string) ([]string, error) {
	entries, err := os.ReadDir(dir)
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return nil, err
	}
	for _, e := range entries {
		if n := e.Name(); n != "files" && n != "report" && !strings.HasPrefix(n, "ansel-basin.db") {
			return nil, usagef("%s holds other things (%s); name a new folder for the demo", dir, n)
		}
	}
	if err := os.MkdirAll(files, 0o777); err != nil {
		return nil, fmt.Errorf("make the demo's folder: %w", err)
	}
	const root = "ansel-basin"
	list, err := fs.ReadDir(testdata.AnselBasin, root)
	if err != nil {
		return nil, err
	}
	var names []string
	for _, e := range list {
		content, err := fs.ReadFile(testdata.AnselBasin, root+"/"+e.Name())
		if err != nil {
			return nil, err
		}
		if err := writeSame(filepath.Join(files, e.Name()), content); err != nil {
			return nil, err
		}
		names = append(names, e.Name())
	}
	return names, nil
}

// writeSame writes a new file, or leaves an identical one alone.
func writeSame(path string, content []byte) error {
	f, err := os.OpenFile(path, os.O_CREATE|os.O_EXCL|os.O_WRONLY, 0o666)
	if errors.Is(err, fs.ErrExist) {
		have, err := os.ReadFile(path)
		if err == nil && !bytes.Equal(have, content) {
			err = usagef("%s was changed; name a new folder for the demo", path)
		}
		return err
	}
	if err != nil {
		return fmt.Errorf("write the demo: %w", err)
	}
	if _, err := f.Write(content); err != nil {
		f.Close()
		return fmt.Errorf("write the demo: %w", err)
	}
	return f.Close()
}
