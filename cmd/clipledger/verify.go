package main

import (
	"context"
	"fmt"

	"github.com/spf13/cobra"

	"clipledger/monitor"
	"clipledger/schema"
)

func newVerify(a *app) *cobra.Command {
	return &cobra.Command{
		Use:   "verify",
		Short: "Look the whole ledger over: file, keys, stored results, history",
		Long: `Checks the file itself, that every row points to rows that exist, that the
layout is this program's, that every stored result is what its rule gives, that
the means of the views agree with the program's, and that every record names
the import it came from.`,
		Example: "  clipledger verify\n  clipledger verify --ledger old.db",
		Args:    cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			return a.read(cmd.Context(), func(s *schema.Snapshot) error { return runVerify(cmd.Context(), a, s) })
		},
	}
}

func runVerify(ctx context.Context, a *app, s *schema.Snapshot) error {
	checks, err := s.Verify()
	if err != nil {
		return err
	}
	means, err := monitor.VerifyMeans(s)
	if err != nil && ctx.Err() != nil {
		return err
	}
	if err != nil { // where the views are not ours the other checks say more
		means = schema.Check{Name: "means", Faults: []string{err.Error()}}
	}
	faults := 0
	for _, c := range append(checks, means) {
		word := "good"
		if len(c.Faults) > 0 {
			word = "FAULTY"
		}
		fmt.Fprintf(a.Out, "%-14s %s (%d looked at)\n", c.Name, word, c.Looked)
		for _, f := range c.Faults {
			fmt.Fprintf(a.Out, "  %s\n", plain(f))
		}
		faults += len(c.Faults)
	}
	if faults > 0 {
		return fmt.Errorf("%s: %d faults: %w", a.ledger, faults, schema.ErrDamaged)
	}
	return nil
}

func newBackup(a *app) *cobra.Command {
	return &cobra.Command{
		Use:     "backup FILE",
		Short:   "Copy the ledger while it is in use, never over another file",
		Long:    `Copies the ledger, as it stands in one moment, to a new FILE. A file that is there is never overwritten.`,
		Example: "  clipledger backup ansel-2025-11-25.db",
		Args:    cobra.ExactArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			l, err := schema.OpenRead(cmd.Context(), a.ledger)
			if err != nil {
				return err
			}
			defer l.Close()
			if err := l.Backup(cmd.Context(), args[0]); err != nil {
				return err
			}
			_, err = fmt.Fprintf(a.Out, "copied %s to %s\n", a.ledger, args[0])
			return err
		},
	}
}
