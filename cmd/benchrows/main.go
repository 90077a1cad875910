// Command benchrows writes invented clippings in any number, for measuring
// how long reading them takes: every year of every site in turn, as offices
// gather them.
//
//	go run ./cmd/benchrows --sites 400 --years 25 --frames 20 --bags 5 DIR
//
// writes a million rows of clippings.csv into DIR, and beside them sites.csv
// and species.csv, which belong to them, and new500.csv, up to 500 rows of
// the year after for five of the sites. The numbers come from a seed and
// nothing else, so the same call gives the same bytes. Nothing in them is
// real.
package main

import (
	"bufio"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"path/filepath"
)

func main() {
	os.Exit(run(os.Args[1:], os.Stderr))
}

// run writes the files. It returns 0 when done, 1 when a file cannot be
// written and 2 on wrong use.
func run(args []string, stderr io.Writer) int {
	s := size{}
	flags := flag.NewFlagSet("benchrows", flag.ContinueOnError)
	flags.SetOutput(stderr)
	flags.Usage = func() {
		fmt.Fprintln(stderr, "usage: benchrows [flags] DIR")
		flags.PrintDefaults()
	}
	flags.IntVar(&s.sites, "sites", 400, "`count` of sites")
	flags.IntVar(&s.years, "years", 25, "`count` of years")
	flags.IntVar(&s.frames, "frames", 20, "`count` of frames of a site and year")
	flags.IntVar(&s.bags, "bags", 5, "`count` of bags of a frame")
	flags.Uint64Var(&s.seed, "seed", 1, "`number` that the rows are drawn from")
	switch err := flags.Parse(args); {
	case errors.Is(err, flag.ErrHelp):
		return 0
	case err != nil:
		return 2
	}
	if err := s.check(); err != nil {
		fmt.Fprintf(stderr, "benchrows: %v\n", err)
		return 2
	}
	if flags.NArg() != 1 {
		flags.Usage()
		return 2
	}
	if err := write(flags.Arg(0), &s); err != nil {
		fmt.Fprintf(stderr, "benchrows: %v\n", err)
		return 1
	}
	return 0
}

// write puts the four files into dir, which is made where it is missing. A
// file that is there is never overwritten.
func write(dir string, s *size) error {
	if err := os.MkdirAll(dir, 0o777); err != nil {
		return fmt.Errorf("make folder: %w", err)
	}
	w := newWorld(s)
	for _, f := range []struct {
		name  string
		write func(*bufio.Writer) error
	}{
		{"species.csv", writeSpecies},
		{"sites.csv", w.writeSites},
		{"clippings.csv", w.writeClippings},
		{"new500.csv", w.writeNew},
	} {
		if err := writeFile(filepath.Join(dir, f.name), f.write); err != nil {
			return err
		}
	}
	return nil
}

// writeFile makes one file, row by row.
func writeFile(path string, rows func(*bufio.Writer) error) error {
	f, err := os.OpenFile(path, os.O_CREATE|os.O_EXCL|os.O_WRONLY, 0o666)
	if err != nil {
		return fmt.Errorf("make file: %w", err)
	}
	out := bufio.NewWriterSize(f, 1<<16)
	err = rows(out)
	if err == nil {
		err = out.Flush()
	}
	if closeErr := f.Close(); err == nil {
		err = closeErr
	}
	if err != nil {
		return fmt.Errorf("write %s: %w", path, err)
	}
	return nil
}
