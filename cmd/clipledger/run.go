package main

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"strings"
	"syscall"
	"time"

	"github.com/spf13/cobra"

	"clipledger/monitor"
	"clipledger/schema"
)

// Streams are what a run of the program may touch besides files: the whole
// program is a function of its arguments and these.
type Streams struct {
	In     io.Reader
	Out    io.Writer
	Err    io.Writer
	Getenv func(string) string
	Now    func() time.Time
}

// The exit codes.
const (
	exitDone        = 0
	exitFailed      = 1
	exitUsage       = 2
	exitData        = 3
	exitInterrupted = 130
)

// exitStatus is printed at the foot of every command's help.
const exitStatus = `Exit status:
  0 done; 1 failed (disk, lock, not a ledger); 2 wrong use;
  3 the data has problems (rows refused or rejected, conflicts, serious findings);
  130 interrupted`

// usageError is a call that the program cannot make sense of.
type usageError struct{ err error }

func (e usageError) Error() string { return e.err.Error() }
func (e usageError) Unwrap() error { return e.err }

func usagef(format string, args ...any) error { return usageError{fmt.Errorf(format, args...)} }

// errData says that the data has problems, which were printed already.
var errData = errors.New("the data has problems")

// app is one run: its streams and the global flags.
type app struct {
	Streams
	ledger     string
	format     string
	units      string
	confidence float64
	quiet      bool
	asked      asked
}

// Main runs the program and returns its exit code.
func Main(ctx context.Context, args []string, s Streams) int {
	out := bufio.NewWriter(s.Out)
	s.Out = out
	a := &app{Streams: s}
	root := newRoot(a)
	root.SetArgs(args)
	root.SetIn(s.In)
	root.SetOut(out)
	root.SetErr(s.Err)
	err := root.ExecuteContext(ctx)
	if flushErr := out.Flush(); flushErr != nil && err == nil {
		err = fmt.Errorf("write the results: %w", flushErr)
	}
	return a.report(ctx, err)
}

// report prints an error once, with what to do about it, and picks the exit
// code.
func (a *app) report(ctx context.Context, err error) int {
	var usage usageError
	switch {
	case err == nil:
		return exitDone
	case ctx.Err() != nil:
		fmt.Fprintln(a.Err, "clipledger: interrupted; the ledger is as it was")
		return exitInterrupted
	case errors.Is(err, errData):
		return exitData
	case errors.As(err, &usage):
		a.fault(err)
		return exitUsage
	}
	a.fault(err)
	if remedy := remedyFor(err); remedy != "" {
		fmt.Fprintln(a.Err, remedy)
	}
	if errors.Is(err, schema.ErrLocked) {
		a.sayHolder()
	}
	return exitFailed
}

// fault prints an error, which can hold names of files and lines of them.
func (a *app) fault(err error) {
	lines := strings.Split(err.Error(), "\n")
	for i, line := range lines {
		lines[i] = plain(line)
	}
	fmt.Fprintf(a.Err, "clipledger: %s\n", strings.Join(lines, "\n"))
}

// remedyFor says what to do about an error of the ledger file.
func remedyFor(err error) string {
	switch {
	case errors.Is(err, schema.ErrNoLedger):
		return "The first import makes it: clipledger import clippings FILE. Or name another file with --ledger."
	case errors.Is(err, schema.ErrNotLedger):
		return "Name the ledger with --ledger FILE, or with the variable CLIPLEDGER_FILE."
	case errors.Is(err, schema.ErrNewer):
		return "Get the newer clipledger; this one leaves the file alone."
	case errors.Is(err, schema.ErrLocked):
		return "Wait until the other program is done, or close it, and try again."
	case errors.Is(err, schema.ErrDamaged):
		return "Keep the file as it is, go back to a backup, and look at the disk."
	case errors.Is(err, schema.ErrFull), isFull(err):
		return "Make room there, or name a place on another disk, and try again. The ledger is as it was."
	case errors.Is(err, schema.ErrReadOnly), errors.Is(err, syscall.EROFS):
		return "Ask for the right to write the file and its folder, or copy the ledger to a disk that can be written. The ledger is as it was."
	case errors.Is(err, schema.ErrHalfway):
		return "Copy the ledger and the file of the same name with -journal after it, both, to a disk that can be written, and open it there. Remove neither."
	case errors.Is(err, schema.ErrNoOpening):
		return "Look whether you may read the file and write its folder: a write keeps a file with -journal after its name there. The ledger is as it was."
	case errors.Is(err, schema.ErrDisk):
		return "Look whether the disk is full and the share connected, then try again; clipledger verify tells whether the ledger is whole."
	case errors.Is(err, fs.ErrNotExist):
		return "Look at how the name is written, and whether its folder is there."
	case errors.Is(err, fs.ErrPermission):
		return "Ask for the right to read or write there, or name another place."
	}
	return ""
}

// sayHolder names the process that has the ledger locked, where the system
// knows it.
func (a *app) sayHolder() {
	h, ok := schema.HolderOf(a.ledger)
	if !ok {
		return
	}
	does := "reading"
	if h.Writes {
		does = "writing"
	}
	name := "a program on another computer"
	if h.PID > 0 {
		name = strings.TrimSpace(fmt.Sprintf("process %d %s", h.PID, plain(h.Program)))
	}
	fmt.Fprintf(a.Err, "Just now %s is %s.\n", name, does)
}

func newRoot(a *app) *cobra.Command {
	root := &cobra.Command{
		Use:   "clipledger",
		Short: "Clipped plots to dry production per area, for decades",
		Long: `clipledger keeps clippings from permanent or new frames, of many sites and
seasons, in one SQLite file: green weights become dry matter, grams become
weight per area, empty frames count as zeros, and every mean comes with its
interval and with whether enough frames were clipped.

` + exitStatus,
		Example:       "  clipledger demo\n  clipledger import clippings clip-2025.csv\n  clipledger means --site QUILL",
		SilenceUsage:  true,
		SilenceErrors: true,
		Args:          cobra.ArbitraryArgs,
		RunE: func(cmd *cobra.Command, args []string) error {
			if len(args) > 0 {
				return usagef("there is no command %q; clipledger --help lists them", args[0])
			}
			return cmd.Help()
		},
	}
	root.CompletionOptions.HiddenDefaultCmd = true
	root.SetFlagErrorFunc(func(cmd *cobra.Command, err error) error {
		text, _, _ := strings.Cut(err.Error(), ": strconv.") // how Go read it helps nobody
		return usagef("%s; %s --help lists the flags", text, cmd.CommandPath())
	})
	f := root.PersistentFlags()
	f.StringVar(&a.ledger, "ledger", "", "the ledger `FILE` (default $CLIPLEDGER_FILE, else clipledger.db here)")
	f.StringVar(&a.format, "format", "table", "`FORMAT` of results: table, csv or json")
	f.StringVar(&a.units, "units", "", "`UNIT` of weight per area: lb/ac, kg/ha or g/m2 (default: the ledger's setting)")
	f.Float64Var(&a.confidence, "confidence", 0, "confidence of intervals, as a `FRACTION` (default: the ledger's setting, 0.90)")
	f.BoolVar(&a.quiet, "quiet", false, "no progress and no remarks on stderr")
	root.PersistentPreRunE = func(cmd *cobra.Command, _ []string) error {
		a.asked = askedOf(cmd)
		return a.checkGlobals()
	}
	root.AddCommand(newDemo(a), newImport(a), newMeans(a), newAdequacy(a), newCompare(a), newCalibrate(a), newDoubleSample(a), newUtilization(a), newForage(a), newSummary(a), newTrend(a), newPlan(a), newReport(a), newExport(a), newSheet(a), newSettings(a), newMerge(a), newHistory(a), newUndo(a), newCheck(a), newAccept(a), newVerify(a), newBackup(a), newHelp(root))
	for _, c := range root.Commands() {
		c.Long = strings.TrimSpace(c.Long) + "\n\n" + exitStatus
		if c.Args != nil {
			c.Args = usageArgs(c.Args)
		}
	}
	return root
}

// newHelp shows the help of a command; a name that is none is wrong use.
func newHelp(root *cobra.Command) *cobra.Command {
	help := &cobra.Command{
		Use:     "help [COMMAND]",
		Short:   "Show how a command is called, with an example",
		Long:    "Shows what a command does and how it is called, as clipledger COMMAND --help does.",
		Example: "  clipledger help import",
		RunE: func(_ *cobra.Command, args []string) error {
			cmd, rest, err := root.Find(args)
			if err != nil || len(rest) > 0 {
				return usagef("there is no command %q; clipledger --help lists them", strings.Join(args, " "))
			}
			cmd.InitDefaultHelpFlag()
			return cmd.Help()
		},
	}
	root.SetHelpCommand(help)
	return help
}

// usageArgs makes a wrong number of arguments wrong use.
func usageArgs(check cobra.PositionalArgs) cobra.PositionalArgs {
	return func(cmd *cobra.Command, args []string) error {
		if err := check(cmd, args); err != nil {
			call := strings.TrimSuffix(cmd.UseLine(), " [flags]")
			return usagef("call it as `%s`; clipledger %s --help has an example", call, cmd.Name())
		}
		return nil
	}
}

func (a *app) checkGlobals() error {
	if a.format != "table" && a.format != "csv" && a.format != "json" {
		return usagef("there is no format %q; use table, csv or json", a.format)
	}
	if a.units != "" {
		if _, err := monitor.UnitNamed(a.units); err != nil {
			return usageError{err}
		}
	}
	if a.confidence != 0 && !(a.confidence >= 0.5 && a.confidence < 1) {
		return usagef("--confidence %g: give a fraction from 0.5 to below 1, such as 0.90", a.confidence)
	}
	if a.ledger == "" {
		a.ledger = a.Getenv("CLIPLEDGER_FILE")
	}
	if a.ledger == "" {
		a.ledger = "clipledger.db"
	}
	return nil
}

// at is the time that an import names, in UTC to the second.
func (a *app) at() string { return a.Now().UTC().Format(time.RFC3339) }

// say prints a line for people, on stderr.
func (a *app) say(format string, args ...any) {
	if !a.quiet {
		fmt.Fprintln(a.Err, plain(fmt.Sprintf(format, args...)))
	}
}

// read opens the ledger and runs fn on a snapshot of it.
func (a *app) read(ctx context.Context, fn func(*schema.Snapshot) error) error {
	l, err := schema.OpenRead(ctx, a.ledger)
	if err != nil {
		return err
	}
	defer l.Close()
	return l.Read(ctx, func(s *schema.Snapshot) error {
		if err := a.sayUnmatched(s); err != nil {
			return err
		}
		return fn(s)
	})
}

// unit is the unit of display: the flag's, else the ledger's.
func (a *app) unit(v schema.Values) (monitor.Unit, error) {
	if a.units != "" {
		return monitor.UnitNamed(a.units)
	}
	return monitor.UnitNamed(v["units"])
}
