package main

import (
	"fmt"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"clipledger/monitor"
	"clipledger/schema"
)

// Is what was asked for by name in the ledger at all? A site that is mistyped
// would otherwise look like one without findings, and one of several would be
// missed without a word.

// asked are the names of sites, strata and seasons of a command line.
type asked struct{ sites, strata, seasons []string }

// askedOf reads them from the flags; a command without such a flag asks for none.
func askedOf(cmd *cobra.Command) asked {
	list := func(flag string) []string {
		names, err := cmd.Flags().GetStringArray(flag)
		if err != nil {
			return nil
		}
		return names
	}
	if cmd.Name() == "history" { // it holds sites that are no longer there
		return asked{}
	}
	return asked{list("site"), list("stratum"), list("season")}
}

// sayUnmatched tells once which of the names nothing in the ledger fits.
func (a *app) sayUnmatched(s *schema.Snapshot) error {
	wanted := a.asked
	a.asked = asked{}
	if a.quiet || len(wanted.sites)+len(wanted.strata)+len(wanted.seasons) == 0 {
		return nil
	}
	known, err := namesOf(s)
	if err != nil {
		return err
	}
	a.sayMissing("site", "site", "sites", wanted.sites, known.sites)
	a.sayMissing("stratum", "stratum", "strata", wanted.strata, known.strata)
	a.sayMissing("season", "season", "seasons", wanted.seasons, known.seasons)
	return nil
}

// namesOf are the names that the ledger has: seasons are those in which
// something was recorded.
func namesOf(s *schema.Snapshot) (asked, error) {
	sites, err := s.Sites()
	if err != nil {
		return asked{}, err
	}
	occasions, err := s.Occasions()
	if err != nil {
		return asked{}, err
	}
	var known asked
	for i := range sites {
		known.sites = append(known.sites, sites[i].Site)
		if sites[i].Stratum != "" {
			known.strata = append(known.strata, sites[i].Stratum)
		}
	}
	for i := range occasions {
		known.seasons = append(known.seasons, occasions[i].Season)
	}
	slices.Sort(known.strata)
	slices.Sort(known.seasons)
	known.strata, known.seasons = slices.Compact(known.strata), slices.Compact(known.seasons)
	return known, nil
}

// namesShown is how many names a message lists.
const namesShown = 20

func (a *app) sayMissing(flag, one, many string, wanted, known []string) {
	for _, name := range wanted {
		parts := []string{name}
		if flag == "season" { // a year's total is named for all its seasons
			parts = strings.Split(name, "+")
		}
		if !slices.ContainsFunc(parts, func(p string) bool { return !fitsAny(flag, p, known) }) {
			continue
		}
		a.say("--%s %q: no %s of the ledger fits%s", flag, name, one, haves(many, known))
	}
}

// fitsAny tells whether a name, or for sites and strata a pattern, fits.
func fitsAny(flag, name string, known []string) bool {
	if flag == "season" {
		return slices.Contains(known, name)
	}
	return slices.ContainsFunc(known, func(k string) bool { return monitor.Matches([]string{name}, k) })
}

// haves says what names there are, where they are few.
func haves(many string, known []string) string {
	switch {
	case len(known) == 0:
		return "; it has no " + many
	case len(known) > namesShown:
		return fmt.Sprintf("; it has %d %s", len(known), many)
	}
	return fmt.Sprintf("; its %s: %s", many, strings.Join(known, ", "))
}
