package main

import (
	"errors"
	"fmt"
	"strconv"

	"github.com/spf13/cobra"

	"clipledger/schema"
)

func newUndo(a *app) *cobra.Command {
	return &cobra.Command{
		Use:   "undo IMPORT",
		Short: "Take a whole import back",
		Long: `Takes back everything that one import brought or changed: rows it added go,
values it changed return to what they were. Undoing is kept in the history like
any other change. Where later imports stand on the one to be undone, nothing is
done and they are named. clipledger history lists the imports by number.`,
		Example: "  clipledger history\n  clipledger undo 7",
		Args:    cobra.ExactArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			target, err := strconv.ParseInt(args[0], 10, 64)
			if err != nil || target < 1 {
				return usagef("%q is not the number of an import; clipledger history lists them", args[0])
			}
			return runUndo(cmd, a, target)
		},
	}
}

func runUndo(cmd *cobra.Command, a *app, target int64) error {
	l, err := schema.OpenExisting(cmd.Context(), a.ledger)
	if err != nil {
		return err
	}
	defer l.Close()
	var problems []schema.Problem
	var back int
	err = l.Write(cmd.Context(), a.at(), func(tx *schema.Tx) error {
		im, err := tx.Import(schema.Source{Kind: "undo", Problem: func(p schema.Problem) { problems = append(problems, p) }})
		if err != nil {
			return err
		}
		if err := im.Undo(target); err != nil {
			return err
		}
		back = im.Changed
		if len(problems) > 0 {
			return errData
		}
		return im.Finish("")
	})
	if errors.Is(err, errData) {
		for _, p := range problems {
			fmt.Fprintln(a.Err, plain(p.Message()))
		}
		a.say("nothing was undone; the ledger is as it was")
		return errData
	}
	if err == nil {
		_, err = fmt.Fprintf(a.Out, "import %d undone: %s taken back\n", target, counted(back, "record"))
	}
	return err
}
