package main

import (
	"strconv"

	"github.com/spf13/cobra"

	"clipledger/schema"
)

func newHistory(a *app) *cobra.Command {
	var changes bool
	cmd := &cobra.Command{
		Use:   "history",
		Short: "What came into the ledger when, and what was changed",
		Long: `Prints every import with its file, time and counts, oldest first; with
--changes every value that an import changed, with the old and the new one.`,
		Example: "  clipledger history\n  clipledger history --changes --format csv",
		Args:    cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			return a.read(cmd.Context(), func(s *schema.Snapshot) error {
				if changes {
					return printChanges(a, s)
				}
				return printImports(a, s)
			})
		},
	}
	cmd.Flags().BoolVar(&changes, "changes", false, "every changed value, old and new")
	return cmd
}

func printImports(a *app, s *schema.Snapshot) error {
	rows, err := s.Imports()
	if err != nil {
		return err
	}
	names := []string{"import", "at", "kind", "file", "added", "changed", "sha256", "options"}
	cells := func(r *schema.ImportRecord) []string {
		out := []string{strconv.FormatInt(r.ID, 10), r.At, r.Kind, r.File, strconv.Itoa(r.Added), strconv.Itoa(r.Changed), r.SHA256, r.Options}
		if a.format == "table" {
			out[6] = out[6][:min(12, len(out[6]))]
		}
		return out
	}
	return withHeader(a, names, rows, cells)
}

func printChanges(a *app, s *schema.Snapshot) error {
	var rows []schema.ChangeRecord
	err := s.Changes(func(c *schema.ChangeRecord) error {
		rows = append(rows, *c)
		return nil
	})
	if err != nil {
		return err
	}
	names := []string{"import", "at", "record", "key", "column", "old", "new"}
	return withHeader(a, names, rows, func(r *schema.ChangeRecord) []string {
		now := r.New
		if r.Deleted {
			now = "(deleted)"
		}
		return []string{strconv.FormatInt(r.ImportID, 10), r.At, r.Record, r.Key, r.Column, r.Old, now}
	})
}

// withHeader prints text rows; the table has the names as its first line.
func withHeader[T any](a *app, names []string, rows []T, cells func(*T) []string) error {
	if a.format != "table" {
		return printText(a, names, rows, cells)
	}
	head := true
	all := append(make([]T, 1), rows...)
	return printText(a, names, all, func(t *T) []string {
		if head {
			head = false
			return append([]string{}, names...)
		}
		return cells(t)
	})
}
