// Command anselbasin writes the files of Ansel Basin, a shared grazing
// district that does not exist: sites, clippings, drying samples, rain and
// eye estimates of 14 growth years, in the shapes in which people hand such
// files over, and beside them truth.json, which says what was put in.
//
//	go run ./cmd/anselbasin DIR
//
// The numbers come from fixed seeds and nothing else, so the same program
// gives the same bytes. testdata/ansel-basin holds them frozen; a test writes
// them anew and compares. Everything is invented, and every file says so.
package main

import (
	"fmt"
	"io"
	"os"
	"path/filepath"
)

func main() {
	os.Exit(run(os.Args[1:], os.Stderr))
}

// run writes the scenario into the one folder named in args. It returns 0
// when done, 1 when a file cannot be written and 2 on wrong use.
func run(args []string, stderr io.Writer) int {
	if len(args) != 1 {
		fmt.Fprintln(stderr, "usage: anselbasin DIR")
		return 2
	}
	if err := write(args[0], files()); err != nil {
		fmt.Fprintf(stderr, "anselbasin: %v\n", err)
		return 1
	}
	return 0
}

// write puts every file into dir, which is made where it is missing.
func write(dir string, files map[string][]byte) error {
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return fmt.Errorf("make folder: %w", err)
	}
	for name, data := range files {
		if err := os.WriteFile(filepath.Join(dir, name), data, 0o644); err != nil {
			return fmt.Errorf("write file: %w", err)
		}
	}
	return nil
}
