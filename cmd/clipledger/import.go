package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync/atomic"

	"github.com/spf13/cobra"

	"clipledger/monitor/intake"
	"clipledger/schema"
)

// importOptions are the flags of import.
type importOptions struct {
	dryRun, replace, skipBad       bool
	maps, sets, mapFiles, leaveOut []string
	ignore                         []string
	dates, missing, sheet          string
	unfilled                       string
	decimalComma, guess            bool
	read                           intake.Options
	kind                           string
}

// importKinds are the kinds of files and how each is read into the ledger.
var importKinds = map[string]func(*fileImport) error{
	"clippings":   (*fileImport).clippings,
	"frames":      (*fileImport).frames,
	"drying":      importSmall(intake.Dryings, (*schema.Import).Drying),
	"sites":       importSmall(intake.Sites, (*schema.Import).Site),
	"species":     importSmall(intake.Species, (*schema.Import).Species),
	"frame-types": importSmall(intake.FrameTypes, (*schema.Import).FrameType),
	"book-values": importSmall(intake.BookValues, (*schema.Import).BookValue),
	"rain":        importSmall(intake.Rains, (*schema.Import).Rain),

	"estimates":     importSmall(intake.Estimates, (*schema.Import).Estimate),
	"growth-curves": importSmall(intake.GrowthCurves, (*schema.Import).CurvePoint),
	"classes":       importSmall(intake.Classes, (*schema.Import).ClassBound),
	"transects":     importSmall(intake.Transects, (*schema.Import).TransectPlace),
	"events":        importSmall(intake.Events, (*schema.Import).Event),
}

// kindWords lists the kinds in the order in which a newcomer needs them.
var kindWords = []string{"clippings", "drying", "sites", "species", "frame-types", "book-values", "rain",
	"estimates", "growth-curves", "classes", "transects", "events", "frames"}

func newImport(a *app) *cobra.Command {
	o := &importOptions{}
	cmd := &cobra.Command{
		Use:   "import KIND FILE...",
		Short: "Bring CSV files and workbooks into the ledger, all of them or nothing",
		Long: `Reads files of one KIND into the ledger: clippings, drying, sites, species,
frame-types, book-values, rain, estimates (by eye), growth-curves, classes,
transects, events or frames (without their bags). A FILE is CSV (comma, semicolon or tab;
UTF-8, UTF-16 or Windows-1252; also gzipped), a workbook (XLSX), a pattern
such as "clip-*.csv", or - for the standard input. Column names ignore case,
spaces and underscores. The whole call is one transaction: if any row is
refused or contradicts the ledger, nothing is kept, and every problem is
listed with its file, line (of a workbook: row), column and value. Importing
the same file again changes nothing; blanks are completed.

In a workbook, titles above the header are passed over, dates are those that
the cells hold, and formulas count by the value stored with them.

Missing is an empty cell, NA, NaN, . or -; it is never zero.

With --guess nothing is imported: a map file for --map-file is proposed from
the header of one FILE, to be read and mended before it is used.`,
		Example: `  clipledger import sites sites.csv
  clipledger import clippings clip-2024.csv clip-2025.csv
  clipledger import clippings old.csv --map dry_g="Dry wt (g)" --set frame_type="9.6 ft2" --dates mdy
  clipledger import clippings lab.csv --skip-bad
  clipledger import clippings --guess old.csv > map.csv`,
		Args: cobra.MinimumNArgs(2),
		RunE: func(cmd *cobra.Command, args []string) error {
			o.kind = args[0]
			if err := o.parse(); err != nil {
				return err
			}
			paths, err := expand(args[1:])
			if err != nil {
				return err
			}
			if o.guess {
				return runGuess(a, o, paths)
			}
			return runImport(cmd.Context(), a, o, paths)
		},
	}
	f := cmd.Flags()
	f.BoolVar(&o.dryRun, "dry-run", false, "try everything, keep nothing")
	f.BoolVar(&o.replace, "replace", false, "where the file contradicts the ledger, take the file's value and keep the old one in the history")
	f.BoolVar(&o.skipBad, "skip-bad", false, "take the good rows, write the others with their reasons to FILE.rejected.csv")
	f.StringArrayVar(&o.maps, "map", nil, "`OURS=THEIRS`: the file's column THEIRS is our column OURS; repeatable")
	f.StringArrayVar(&o.mapFiles, "map-file", nil, "a CSV `FILE` with the columns ours,theirs; repeatable")
	f.StringArrayVar(&o.sets, "set", nil, "`OURS=VALUE`: one value for our column OURS in every row; repeatable")
	f.StringArrayVar(&o.ignore, "ignore", nil, "a `COLUMN` of the file to ignore on purpose; repeatable")
	f.StringArrayVar(&o.leaveOut, "leave-out", nil, "`COLUMN=VALUE,...`: rows to leave out on purpose; repeatable")
	f.StringVar(&o.dates, "dates", "iso", "`FORM` of dates: iso (2025-06-30), mdy (6/30/25) or dmy (30.6.25)")
	f.StringVar(&o.missing, "missing", "", "words that mean missing, with commas between, in `PLACE` of NA,NaN,.,-")
	f.StringVar(&o.unfilled, "unfilled", intake.UnfilledLost, "`WHAT` a row of clippings without a weight and a status is: lost (missing, never zero) or left-out (as if it were not there)")
	f.BoolVar(&o.decimalComma, "decimal-comma", false, "numbers have a comma as the decimal mark (cells are then separated by semicolons or tabs)")
	f.StringVar(&o.sheet, "sheet", "", "the `SHEET` of a workbook, by name or number; needed where several hold something")
	f.BoolVar(&o.guess, "guess", false, "import nothing; propose a map file from the header, on stdout, and list on stderr what is left open")
	return cmd
}

// parse turns the flags into what the reader takes.
func (o *importOptions) parse() error {
	if importKinds[o.kind] == nil {
		return usagef("there is no kind %q; use %s", o.kind, strings.Join(kindWords, ", "))
	}
	r := intake.Options{Map: map[string]string{}, Set: map[string]string{}, LeaveOut: map[string][]string{}, Ignore: o.ignore, Dates: o.dates,
		DecimalComma: o.decimalComma, Sheet: o.sheet}
	for _, name := range o.mapFiles {
		m, problems, err := intake.ReadMapFile(name)
		if len(problems) > 0 {
			return usagef("the map file cannot be used:\n%s", lines(problems))
		}
		if err != nil {
			return fmt.Errorf("read the map file: %w", err)
		}
		for ours, theirs := range m {
			r.Map[ours] = theirs
		}
	}
	if err := pairs(o.maps, "--map", r.Map); err != nil {
		return err
	}
	if err := pairs(o.sets, "--set", r.Set); err != nil {
		return err
	}
	for _, text := range o.leaveOut {
		name, values, ok := strings.Cut(text, "=")
		if !ok || name == "" {
			return usagef("--leave-out %q: write COLUMN=VALUE,VALUE", text)
		}
		r.LeaveOut[name] = append(r.LeaveOut[name], strings.Split(values, ",")...)
	}
	switch o.unfilled {
	case "", intake.UnfilledLost:
	case intake.UnfilledLeftOut:
		if o.kind != "clippings" {
			return usagef("--unfilled is for clippings; leave it away")
		}
		r.Unfilled = o.unfilled
	default:
		return usagef("--unfilled %q: use lost or left-out", o.unfilled)
	}
	if o.missing != "" {
		r.Missing = strings.Split(o.missing, ",")
	}
	o.read = r
	return nil
}

// pairs reads NAME=VALUE flags; the value may hold anything, commas too.
func pairs(texts []string, flag string, into map[string]string) error {
	for _, text := range texts {
		name, value, ok := strings.Cut(text, "=")
		if !ok || name == "" {
			return usagef("%s %q: write OURS=VALUE", flag, text)
		}
		if _, twice := into[name]; twice && flag == "--set" {
			return usagef("%s names %s twice", flag, name)
		}
		into[name] = value
	}
	return nil
}

// noted are the options as the ledger remembers them with the import.
func (o *importOptions) noted() map[string]any {
	out := map[string]any{}
	add := func(name string, value any, given bool) {
		if given {
			out[name] = value
		}
	}
	add("map", o.read.Map, len(o.read.Map) > 0)
	add("set", o.read.Set, len(o.read.Set) > 0)
	add("ignore", o.ignore, len(o.ignore) > 0)
	add("leave_out", o.read.LeaveOut, len(o.read.LeaveOut) > 0)
	add("dates", o.dates, o.dates != "iso")
	add("missing", o.read.Missing, len(o.read.Missing) > 0)
	add("decimal_comma", true, o.decimalComma)
	add("sheet", o.sheet, o.sheet != "")
	add("unfilled", o.unfilled, o.read.Unfilled != "")
	add("replace", true, o.replace)
	add("skip_bad", true, o.skipBad)
	return out
}

// importRun is one call of import.
type importRun struct {
	a       *app
	o       *importOptions
	files   []*fileImport
	rows    atomic.Int64 // for the progress line
	refused int
	broken  bool // a file could not be read to its end
}

// fileImport is one file of the call.
type fileImport struct {
	*importRun
	file     *intake.File
	tx       *schema.Tx
	im       *schema.Import
	vocab    *schema.Vocabulary
	summary  intake.Summary
	problems []schema.Problem
	notices  []string
}

// runImport imports the files in one transaction.
func runImport(ctx context.Context, a *app, o *importOptions, paths []string) error {
	if err := namedTwice(paths); err != nil {
		return err
	}
	run := &importRun{a: a, o: o}
	defer run.close()
	for _, p := range paths {
		f, err := open(a, p)
		if err != nil {
			return err
		}
		run.files = append(run.files, &fileImport{importRun: run, file: f})
	}
	l, err := schema.OpenWrite(ctx, a.ledger)
	if err != nil {
		return err
	}
	defer l.Close()
	created := l.Created()
	if err := l.Expect(run.bytes()); err != nil {
		return err
	}
	stop := a.progress(func() string { return fmt.Sprintf("%d rows read", run.rows.Load()) })
	var writing *schema.Tx
	err = l.Write(ctx, a.at(), func(tx *schema.Tx) error {
		writing = tx
		return run.all(tx)
	})
	stop()
	var settled []string
	if writing != nil {
		settled = writing.Notices
	}
	return run.finish(err, created, settled)
}

func (r *importRun) close() {
	for _, f := range r.files {
		f.file.Close()
	}
}

// bytes is the size of all files.
func (r *importRun) bytes() int64 {
	var n int64
	for _, f := range r.files {
		_, size := f.file.Progress()
		n += size
	}
	return n
}

// namedTwice refuses a file that is given twice.
func namedTwice(paths []string) error {
	var seen []os.FileInfo
	piped := false
	for _, p := range paths {
		if p == pipe {
			if piped {
				return usagef("the standard input (-) is named twice")
			}
			piped = true
			continue
		}
		info, err := os.Stat(p)
		if err != nil {
			continue // opening it says why
		}
		if slices.ContainsFunc(seen, func(s os.FileInfo) bool { return os.SameFile(s, info) }) {
			return usagef("%s is named twice", filepath.Base(p))
		}
		seen = append(seen, info)
	}
	return nil
}

// all reads every file into the transaction.
func (r *importRun) all(tx *schema.Tx) error {
	for _, f := range r.files {
		if err := f.run(tx); err != nil {
			return err
		}
		r.refused += len(f.problems)
	}
	// A file that breaks off has no good rows to take: nobody can tell what is
	// missing from it.
	if r.broken || r.refused > 0 && !r.o.skipBad {
		return errData
	}
	if r.o.dryRun {
		return schema.ErrDryRun
	}
	return nil
}

// run reads one file into the transaction.
func (f *fileImport) run(tx *schema.Tx) error {
	f.tx = tx
	var err error
	if f.vocab, err = tx.Vocabulary(); err != nil {
		return err
	}
	f.im, err = tx.Import(schema.Source{Kind: f.o.kind, File: f.file.Name(), Name: f.file.Name(), Options: f.o.noted(), Replace: f.o.replace,
		Problem: f.problem, Notice: func(text string) { f.notices = append(f.notices, text) }})
	if err != nil {
		return err
	}
	err = importKinds[f.o.kind](f)
	var usage *intake.UsageError
	switch {
	case errors.As(err, &usage):
		return usageError{err}
	case errors.Is(err, intake.ErrUnreadable):
		f.broken = true
		if len(f.problems) == 0 {
			f.problem(schema.Problem{File: f.file.Name(), What: "the file cannot be read"})
		}
	case err != nil:
		return fmt.Errorf("import %s: %w", f.file.Name(), err)
	}
	return f.im.Finish(f.file.SHA256())
}

func (f *fileImport) problem(p schema.Problem) { f.problems = append(f.problems, p) }

// importSmall reads a kind of file that comes record by record.
func importSmall[T any](read func(*intake.File, intake.Options, *schema.Vocabulary, func(T) error, func(schema.Problem)) (intake.Summary, error),
	put func(*schema.Import, T) error) func(*fileImport) error {
	return func(f *fileImport) error {
		var err error
		f.summary, err = read(f.file, f.o.read, f.vocab, func(rec T) error {
			f.rows.Add(1)
			return put(f.im, rec)
		}, f.problem)
		return err
	}
}
