package main

import (
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"clipledger/monitor"
	"clipledger/schema"
)

// historyOptions are the flags of history.
type historyOptions struct {
	changes                 bool
	sites, records, kinds   []string
	imports                 []int64
	from, to, first, latest string // latest: the end of the last day
}

func newHistory(a *app) *cobra.Command {
	o := &historyOptions{}
	cmd := &cobra.Command{
		Use:   "history",
		Short: "What came into the ledger when, and what was changed",
		Long: `Prints every import with its file, time and counts, oldest first; with
--changes every value that an import changed, with the old and the new one,
when, and by which import. The flags narrow both: with --site, only imports
that brought or changed records of the site, and only changes of those. Times
are UTC. What an import brought and undo took away is listed by its changes.`,
		Example: "  clipledger history\n  clipledger history --changes --format csv\n  clipledger history --site QUILL --from 2000-01-01\n  clipledger history --record rain --kind rain",
		Args:    cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			if err := o.parse(); err != nil {
				return err
			}
			return a.read(cmd.Context(), func(s *schema.Snapshot) error {
				if o.changes {
					return printChanges(a, s, o)
				}
				return printImports(a, s, o)
			})
		},
	}
	f := cmd.Flags()
	f.BoolVar(&o.changes, "changes", false, "every changed value, old and new")
	f.StringArrayVar(&o.sites, "site", nil, "only records of the site `CODE`; repeatable, * and ? stand for any letters and one")
	f.Int64SliceVar(&o.imports, "import", nil, "only the import `N`; repeatable")
	f.StringVar(&o.from, "from", "", "only imports of this `DATE` (UTC) and later: 2025-06-30")
	f.StringVar(&o.to, "to", "", "only imports of this `DATE` (UTC) and earlier")
	f.StringArrayVar(&o.records, "record", nil, "only records of this `KIND`, as --changes names them: "+strings.Join(schema.RecordKinds(), ", ")+"; repeatable")
	f.StringArrayVar(&o.kinds, "kind", nil, "only imports of this `KIND`, such as clippings, settings or undo; repeatable")
	return cmd
}

// parse checks the flags.
func (o *historyOptions) parse() error {
	filter := monitor.Filter{Sites: o.sites}
	if err := filter.Check(); err != nil {
		return usageError{err}
	}
	for _, r := range o.records {
		if !slices.Contains(schema.RecordKinds(), r) {
			return usagef("there is no record %q; use %s", r, strings.Join(schema.RecordKinds(), ", "))
		}
	}
	for _, n := range o.imports {
		if n < 1 {
			return usagef("--import %d: give the number of an import; clipledger history lists them", n)
		}
	}
	for flag, text := range map[string]string{"--from": o.from, "--to": o.to} {
		if _, err := time.Parse(time.DateOnly, text); text != "" && err != nil {
			return usagef("%s %q: write a day as 2025-06-30", flag, text)
		}
	}
	if o.from != "" && o.to != "" && o.from > o.to {
		return usagef("--from %s is after --to %s", o.from, o.to)
	}
	o.first, o.latest = o.from, o.to
	if o.to != "" {
		o.latest += "T23:59:59Z"
	}
	return nil
}

// when tells whether an import's time is asked for.
func (o *historyOptions) when(at string) bool {
	return at >= o.first && (o.latest == "" || at <= o.latest)
}

// number tells whether an import is asked for by its number.
func (o *historyOptions) number(id int64) bool {
	return len(o.imports) == 0 || slices.Contains(o.imports, id)
}

// about tells whether a record is asked for by its kind and site. A record of
// no site is not, where a site is named.
func (o *historyOptions) about(record, site string) bool {
	return (len(o.records) == 0 || slices.Contains(o.records, record)) && (len(o.sites) == 0 || site != "" && monitor.Matches(o.sites, site))
}

// kindsOf maps the numbers of imports to their kinds.
func kindsOf(s *schema.Snapshot) (map[int64]string, error) {
	all, err := s.Imports()
	kinds := map[int64]string{}
	for _, r := range all {
		kinds[r.ID] = r.Kind
	}
	return kinds, err
}

// kind tells whether a kind of import is asked for.
func (o *historyOptions) kind(kind string) bool {
	return len(o.kinds) == 0 || slices.Contains(o.kinds, kind)
}

func printImports(a *app, s *schema.Snapshot, o *historyOptions) error {
	all, err := s.Imports()
	if err != nil {
		return err
	}
	touched := map[int64]bool{}
	if byRecord := len(o.sites)+len(o.records) > 0; byRecord {
		err := s.Touches(func(t schema.Touch) error {
			touched[t.ImportID] = touched[t.ImportID] || o.about(t.Record, t.Site)
			return nil
		})
		if err != nil {
			return err
		}
	} else {
		for _, r := range all {
			touched[r.ID] = true
		}
	}
	rows := slices.DeleteFunc(all, func(r schema.ImportRecord) bool {
		return !o.number(r.ID) || !o.when(r.At) || !o.kind(r.Kind) || !touched[r.ID]
	})
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

func printChanges(a *app, s *schema.Snapshot, o *historyOptions) error {
	kinds, err := kindsOf(s)
	if err != nil {
		return err
	}
	var rows []schema.ChangeRecord
	gone := 0
	err = s.Changes(func(c *schema.ChangeRecord) error {
		switch {
		case !o.number(c.ImportID) || !o.when(c.At) || !o.kind(kinds[c.ImportID]):
		case o.about(c.Record, c.Site):
			rows = append(rows, *c)
		case len(o.sites) > 0 && c.SiteGone:
			gone++
		}
		return nil
	})
	if err != nil {
		return err
	}
	if gone > 0 {
		a.say("%s of occasions that are no longer there cannot be told by site; without --site they are listed", counted(gone, "change"))
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
	if len(rows) == 0 {
		a.say("nothing to show: no record fits")
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
