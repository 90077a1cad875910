package main

import (
	"errors"
	"fmt"
	"io"
	"strings"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"clipledger/monitor"
	"clipledger/schema"
)

func newSettings(a *app) *cobra.Command {
	var yes bool
	cmd := &cobra.Command{
		Use:   "settings [NAME[=VALUE]...]",
		Short: "Show the ledger's settings, or set them",
		Long: `Without arguments prints every setting with its value and meaning; with NAME
prints one; with NAME=VALUE sets it. A setting that changes past numbers (the
basis, the moisture, the book tables in force, trace and fallback weights) is
first shown with what it would change, and set only with --yes. Every setting
made is kept in the history.`,
		Example: "  clipledger settings\n  clipledger settings units=kg/ha precision=0.10\n  clipledger settings book-tables=mine,handbook --yes",
		RunE: func(cmd *cobra.Command, args []string) error {
			set, show, err := splitSettings(args)
			if err != nil {
				return err
			}
			if len(set) == 0 {
				return showSettings(cmd, a, show)
			}
			return makeSettings(cmd, a, set, yes)
		},
	}
	cmd.Flags().BoolVar(&yes, "yes", false, "set it although past numbers change")
	return cmd
}

// nameValue is one setting to be made.
type nameValue struct{ name, value string }

func splitSettings(args []string) (set []nameValue, show []string, err error) {
	for _, arg := range args {
		name, value, isSet := strings.Cut(arg, "=")
		s, known := schema.SettingNamed(name)
		if !known {
			return nil, nil, usagef("there is no setting %q; clipledger settings lists them", name)
		}
		if !isSet {
			show = append(show, name)
			continue
		}
		if err := s.Check(value); err != nil {
			return nil, nil, usagef("%s=%q %w", name, value, err)
		}
		set = append(set, nameValue{name, value})
	}
	if len(set) > 0 && len(show) > 0 {
		return nil, nil, usagef("either show settings or set them, not both in one call")
	}
	return set, show, nil
}

// settingRow is a setting as it is printed.
type settingRow struct{ name, value, meaning string }

func showSettings(cmd *cobra.Command, a *app, names []string) error {
	return a.read(cmd.Context(), func(s *schema.Snapshot) error {
		values, err := s.Settings()
		if err != nil {
			return err
		}
		var rows []settingRow
		for _, d := range schema.Settings {
			if len(names) == 0 || strings.Contains(" "+strings.Join(names, " ")+" ", " "+d.Name+" ") {
				rows = append(rows, settingRow{d.Name, values[d.Name], d.Meaning})
			}
		}
		return printText(a, []string{"name", "value", "meaning"}, rows, func(r *settingRow) []string { return []string{r.name, r.value, r.meaning} })
	})
}

// printText prints rows of text in the format asked for.
func printText[T any](a *app, names []string, rows []T, cells func(*T) []string) error {
	if a.format == "table" {
		w := tabwriter.NewWriter(a.Out, 0, 8, 2, ' ', 0)
		for i := range rows {
			fmt.Fprintln(w, strings.Join(tabless(cells(&rows[i])), "\t"))
		}
		return w.Flush()
	}
	r := &results[T]{out: a.Out, format: a.format, remarks: func(*T) []monitor.Remark { return nil }, where: func(*T) string { return "" }}
	for i, name := range names {
		r.columns = append(r.columns, column[T]{name, func(t *T) any { return cells(t)[i] }})
	}
	for i := range rows {
		if err := r.add(&rows[i]); err != nil {
			return err
		}
	}
	return r.finish(a, "")
}

// tabless keeps tabs of typed text out of the table's layout, and its other
// control characters off the terminal.
func tabless(cells []string) []string {
	for i, c := range cells {
		cells[i] = plain(strings.ReplaceAll(c, "\t", " "))
	}
	return cells
}

// errAskYes rolls a setting back after its effect was looked at.
var errAskYes = errors.New("needs --yes")

// makeSettings sets settings in one transaction. Where past numbers would
// change, it first says which.
func makeSettings(cmd *cobra.Command, a *app, set []nameValue, yes bool) error {
	l, err := schema.OpenWrite(cmd.Context(), a.ledger)
	if err != nil {
		return err
	}
	defer l.Close()
	created := l.Created()
	var effect schema.Effect
	err = l.Write(cmd.Context(), a.at(), func(tx *schema.Tx) error {
		im, err := tx.Import(schema.Source{Kind: "settings", Replace: true})
		if err != nil {
			return err
		}
		for _, s := range set {
			if s.name == "book-tables" {
				if err := tx.CheckBookTables(s.value); err != nil {
					return usageError{err}
				}
			}
			if sites, err := tx.DoubleSampledSites(s.name, s.value); err != nil {
				return err
			} else if sites > 0 && !yes {
				return usagef("nothing was set, because the means of %s that say double sampling would change; add --yes to set it all the same", counted(sites, "site"))
			}
			if err := im.PutSetting(s.name, s.value); err != nil {
				return err
			}
		}
		if err := im.Finish(""); err != nil {
			return err
		}
		if effect, err = tx.EffectOnWeights(); err != nil {
			return err
		}
		if effect.Bags > 0 && !yes {
			return errAskYes
		}
		return nil
	})
	if errors.Is(err, errAskYes) {
		printEffect(a.Err, "this would change", effect)
		return usagef("nothing was set, because past numbers would change; add --yes to set it all the same")
	}
	if err != nil {
		return err
	}
	if effect.Bags > 0 {
		printEffect(a.Err, "this changed", effect)
	}
	if created {
		a.say("made the ledger %s", a.ledger)
	}
	for _, s := range set {
		fmt.Fprintf(a.Out, "%s=%s\n", s.name, plain(s.value))
	}
	return nil
}

func printEffect(w io.Writer, verb string, e schema.Effect) {
	fmt.Fprintf(w, "%s the dry weight of %s at %s: from %.1f g to %.1f g in all (bags without a dry weight: %d before, %d after)\n",
		verb, counted(e.Bags, "bag"), counted(e.Sites, "site"), e.Before, e.After, e.WithoutBefore, e.WithoutAfter)
}
