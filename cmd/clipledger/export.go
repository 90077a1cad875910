package main

import (
	"context"
	"fmt"
	"path/filepath"
	"runtime/debug"
	"strings"
	"sync/atomic"

	"github.com/spf13/cobra"

	"clipledger/monitor/export"
	"clipledger/schema"
)

func newExport(a *app) *cobra.Command {
	var o export.Options
	cmd := &cobra.Command{
		Use:   "export DIR",
		Short: "Write the whole record out by open standards, for others to cite, read and compute with",
		Long: `Writes the ledger into DIR, which must be new, empty or an earlier export; an
earlier one is replaced when the last file of the new one is written, and not
before. --as says in which form:

  csv          tidy tables with one header line, and README.txt, which says
               what every column means and how to make the ledger again
  datapackage  the same, and datapackage.json (Data Package, version 2)
  eml          the same, and eml.xml (Ecological Metadata Language 2.2.0)
  darwin-core  events, measurements and occurrences by the terms of Darwin Core
  xlsx         a workbook for an office: summary, means by year, bags
  parquet      for engines that outgrow one machine, in parts by growth year
               and stratum, with SQL that computes the means there

Names of observers and coordinates stay in the ledger unless
--with-observers and --with-coordinates ask for them. The same ledger gives
the same bytes. Title, contact, licence and what else a repository asks for
are settings; an export without them says which.`,
		Example: "  clipledger export deposit --as datapackage\n  clipledger export tables --with-coordinates",
		Args:    cobra.ExactArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			return runExport(cmd.Context(), a, o, args[0])
		},
	}
	f := cmd.Flags()
	f.StringVar(&o.Form, "as", "csv", "`FORM`: "+strings.Join(export.Forms, ", "))
	f.BoolVar(&o.Observers, "with-observers", false, "names of observers too, not numbers in their place")
	f.BoolVar(&o.Coordinates, "with-coordinates", false, "latitudes and longitudes too")
	return cmd
}

// exportGCPercent makes the collector run before the heap has doubled: the
// frames' values that trends rest on are held while other tables are written.
const exportGCPercent = 50

func runExport(ctx context.Context, a *app, o export.Options, dir string) error {
	if !isForm(o.Form) {
		return usagef("there is no form %q; use %s", o.Form, strings.Join(export.Forms, ", "))
	}
	defer debug.SetGCPercent(debug.SetGCPercent(exportGCPercent))
	o.Confidence, o.Ledger, o.Units = a.confidence, a.ledger, a.units
	var rows atomic.Int64
	o.Progress = rows.Store
	stop := a.progress(func() string { return fmt.Sprintf("%d rows written", rows.Load()) })
	var result *export.Result
	err := a.read(ctx, func(s *schema.Snapshot) error {
		var err error
		result, err = export.Write(ctx, dir, s, o)
		return err
	})
	stop()
	if err != nil {
		return err
	}
	fmt.Fprintf(a.Out, "wrote %s with %s to %s; %s says what is in it\n", counted(result.Files, "file"), counted(int(result.Rows), "row"), plain(dir),
		plain(filepath.Join(dir, "README.txt")))
	for _, text := range result.Remarks {
		a.say("%s", text)
	}
	return nil
}

func isForm(name string) bool {
	for _, f := range export.Forms {
		if f == name {
			return true
		}
	}
	return false
}
