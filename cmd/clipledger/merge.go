package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"unicode"

	"github.com/spf13/cobra"

	"clipledger/schema"
)

// mergeOptions are the flags of merge.
type mergeOptions struct {
	dryRun, replace bool
	prefix          string
}

func newMerge(a *app) *cobra.Command {
	o := &mergeOptions{}
	cmd := &cobra.Command{
		Use:   "merge LEDGER...",
		Short: "Bring other offices' ledgers into this one, all of them or nothing",
		Long: `Brings the records of other ledgers into this one in one transaction, by the
rules of an import: what is the same changes nothing, blanks are completed, and
contradictions are listed with both values and where they came from; then
nothing is kept, unless --replace says that the other ledger is right. Sites,
species, frame types and stations that share a name are taken for the same.
--prefix keeps apart the sites of two offices that gave the same codes; species,
frame types and rain stations keep their names.

Every import of the other ledger that brought records comes along, with its
file, its time and its options, and the records name it and their line. Merging
again changes nothing, and the order of merging does not matter. The other
ledgers are only read. Not merged: settings, accepted findings, the built-in
book table, a sampling unit that was never declared, and the history of old
values, which stays in the other ledger. Ledgers that differ in basis, moisture
or trace-g are refused until that is settled.`,
		Example: `  clipledger merge old.db --dry-run
  clipledger merge old.db --prefix north-
  clipledger merge old.db`,
		Args: cobra.MinimumNArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			if strings.ContainsFunc(o.prefix, unicode.IsControl) || strings.TrimSpace(o.prefix) != o.prefix {
				return usagef("--prefix %q: give letters, digits or signs, without blanks around them", o.prefix)
			}
			return runMerge(cmd.Context(), a, o, args)
		},
	}
	f := cmd.Flags()
	f.BoolVar(&o.dryRun, "dry-run", false, "try everything, keep nothing")
	f.BoolVar(&o.replace, "replace", false, "where the other ledger contradicts this one, take its value and keep the old one in the history")
	f.StringVar(&o.prefix, "prefix", "", "`TEXT` to put before the site codes of the ledgers merged")
	return cmd
}

// mergedLedger is one ledger of the call and what became of it.
type mergedLedger struct {
	name     string // base name
	ledger   *schema.Ledger
	merged   schema.Merged
	problems []schema.Problem
	notices  []string
}

// runMerge merges ledgers in one transaction.
func runMerge(ctx context.Context, a *app, o *mergeOptions, paths []string) error {
	if err := mergedTwice(a.ledger, paths); err != nil {
		return err
	}
	var list []*mergedLedger
	defer func() {
		for _, m := range list {
			m.ledger.Close()
		}
	}()
	for _, p := range paths {
		other, err := schema.OpenForeign(ctx, p)
		if err != nil {
			return err
		}
		list = append(list, &mergedLedger{name: filepath.Base(p), ledger: other})
	}
	l, err := schema.OpenWrite(ctx, a.ledger)
	if err != nil {
		return err
	}
	defer l.Close()
	created := l.Created()
	var writing *schema.Tx
	err = l.Write(ctx, a.at(), func(tx *schema.Tx) error {
		writing = tx
		return mergeAll(ctx, tx, o, list)
	})
	if writing == nil {
		return err
	}
	return a.finishMerge(err, o, list, created, writing.Notices)
}

// mergedTwice refuses a ledger that is named twice or merged into itself.
func mergedTwice(own string, paths []string) error {
	if err := namedTwice(paths); err != nil {
		return err
	}
	ours, err := os.Stat(own)
	if err != nil {
		return nil // there is none yet, or opening it says what is wrong
	}
	for _, p := range paths {
		if info, err := os.Stat(p); err == nil && os.SameFile(ours, info) {
			return usagef("%s is the ledger itself; name another office's, or another --ledger to merge into", p)
		}
	}
	return nil
}

// mergeAll merges every ledger into the transaction.
func mergeAll(ctx context.Context, tx *schema.Tx, o *mergeOptions, list []*mergedLedger) error {
	problems := 0
	for _, m := range list {
		err := m.ledger.Read(ctx, func(s *schema.Snapshot) error {
			var err error
			m.merged, err = tx.MergeLedger(s, schema.MergeOptions{Name: m.name, Prefix: o.prefix, Replace: o.replace,
				Problem: func(p schema.Problem) { m.problems = append(m.problems, p) },
				Notice:  func(text string) { m.notices = append(m.notices, text) }})
			return err
		})
		if err != nil {
			return err
		}
		problems += len(m.problems)
	}
	switch {
	case problems > 0:
		return errData
	case o.dryRun:
		return schema.ErrDryRun
	}
	return nil
}

// finishMerge says what the merge came to.
func (a *app) finishMerge(err error, o *mergeOptions, list []*mergedLedger, created bool, settled []string) error {
	var unlike *schema.UnlikeError
	switch {
	case errors.As(err, &unlike):
		fmt.Fprintln(a.Err, plain(unlike.Error()))
		a.say("set one of the two ledgers to agree, with clipledger settings NAME=VALUE --yes in a copy of it, and merge again; nothing was merged")
		return errData
	case errors.Is(err, errData):
		n := 0
		for _, m := range list {
			for _, p := range m.problems {
				if n++; n <= mostProblems {
					fmt.Fprintln(a.Err, plain(p.String()))
				}
			}
		}
		if n > mostProblems {
			fmt.Fprintf(a.Err, "… and %s\n", counted(n-mostProblems, "more problem"))
		}
		a.say("nothing was merged: %s; the ledger is as it was", counted(n, "problem"))
		return errData
	case err != nil && !errors.Is(err, schema.ErrDryRun):
		return err
	}
	changed := false
	for _, m := range list {
		for _, text := range m.notices {
			a.say("%s: %s", m.name, text)
		}
		if err := a.printMerged(o, m); err != nil {
			return err
		}
		changed = changed || m.merged.Imports > 0
	}
	for _, text := range settled {
		a.say("%s", text)
	}
	switch {
	case o.dryRun:
		a.say("dry run: nothing was kept")
	case created && changed:
		a.say("made the ledger %s", a.ledger)
	}
	return nil
}

// printMerged prints the counts of one ledger, on stdout.
func (a *app) printMerged(o *mergeOptions, m *mergedLedger) error {
	would := ""
	if o.dryRun {
		would = "would be "
	}
	text := fmt.Sprintf("%s: %s %sadded, %d %scompleted", m.name, counted(m.merged.Added, "record"), would, m.merged.Changed, would)
	if o.replace {
		text += " or replaced"
	}
	text += fmt.Sprintf(", %d already there", m.merged.Identical)
	if m.merged.Imports > 0 {
		verb := "came"
		if o.dryRun {
			verb = "would come"
		}
		text += fmt.Sprintf("; %s of it %s along", counted(m.merged.Imports, "import"), verb)
	} else {
		text += "; nothing changed"
	}
	_, err := fmt.Fprintln(a.Out, plain(text))
	return err
}
