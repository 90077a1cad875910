package main

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"unicode"

	"github.com/spf13/cobra"

	"clipledger/monitor"
	"clipledger/schema"
)

func newAccept(a *app) *cobra.Command {
	var note string
	cmd := &cobra.Command{
		Use:   "accept ID",
		Short: "Keep why a finding of check is right as it is",
		Long: `Stores a note with the ID of a finding of clipledger check. The finding is then
shown as accepted, after the open ones, and no longer counts. Where the records
behind it change their values it comes back under another ID. Accepting again
changes the note; the first one stays in the history.`,
		Example: "  clipledger accept " + exampleFinding + ` --note "all frames were clipped that way in 2019, as the sheet says"`,
		Args:    cobra.ExactArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			note = strings.TrimSpace(note)
			if note == "" {
				return usagef("say why with --note TEXT: whoever reads it in ten years must understand it")
			}
			if len(note) > longestNote || strings.ContainsFunc(note, unicode.IsControl) {
				return usagef("the note is longer than %d bytes, or holds a line break or another control character", longestNote)
			}
			return runAccept(cmd.Context(), a, args[0], note)
		},
	}
	cmd.Flags().StringVar(&note, "note", "", "why the finding is right as it is: `TEXT`")
	return cmd
}

// longestNote bounds a note, in bytes.
const longestNote = 2000

// exampleFinding is the ID of a finding in the invented district, for the
// example of the help.
const exampleFinding = "f4ddab103fc"

func runAccept(ctx context.Context, a *app, id, note string) error {
	finding, err := findingNamed(ctx, a, id)
	if err != nil {
		return err
	}
	l, err := schema.OpenExisting(ctx, a.ledger)
	if err != nil {
		return err
	}
	defer l.Close()
	var changed bool
	err = l.Write(ctx, a.at(), func(tx *schema.Tx) error {
		im, err := tx.Import(schema.Source{Kind: "accept", Replace: true})
		if err != nil {
			return err
		}
		if err := im.AcceptFinding(id, note); err != nil {
			return err
		}
		changed = im.Added+im.Changed > 0
		return im.Finish("")
	})
	if err != nil {
		return err
	}
	done := "accepted"
	if !changed {
		done = "was accepted with this note already"
	}
	_, err = fmt.Fprintf(a.Out, "%s (%s, %s) %s: %s\n", id, finding.Check, plain(findingPlace(finding)), done, plain(note))
	return err
}

// errNoFinding says that no finding has the ID.
var errNoFinding = errors.New("no such finding")

// findingNamed finds a finding of the ledger as it stands.
func findingNamed(ctx context.Context, a *app, id string) (*monitor.Finding, error) {
	var finding *monitor.Finding
	err := a.read(ctx, func(s *schema.Snapshot) error {
		findings, err := monitor.Check(s, monitor.Filter{})
		if err != nil {
			return err
		}
		i := slices.IndexFunc(findings, func(f monitor.Finding) bool { return f.ID == id })
		if i < 0 {
			return errNoFinding
		}
		finding = &findings[i]
		return nil
	})
	if errors.Is(err, errNoFinding) {
		fmt.Fprintf(a.Err, "there is no finding %q in the ledger as it stands; clipledger check lists them with their IDs\n", id)
		return nil, errData
	}
	return finding, err
}
