package monitor

import (
	"fmt"
	"slices"

	"clipledger/schema"
)

// Sites that name a class scheme, a growth curve or a rain gauge of which the
// ledger holds nothing: what was asked for with the name silently stays out.

func (c *checker) checkSiteNames() error {
	schemes, err := c.snap.ClassSchemes()
	if err != nil {
		return err
	}
	var known [3][]string
	for _, s := range schemes {
		known[0] = append(known[0], s.Scheme)
	}
	if known[1], err = c.snap.GrowthCurves(); err != nil {
		return err
	}
	if known[2], err = c.snap.Stations(); err != nil {
		return err
	}
	for _, site := range c.sites {
		for i, named := range []struct{ name, column, what, without, kind string }{
			{site.ClassScheme, "class_scheme", "class scheme", "the site is in no class", "classes"},
			{site.GrowthCurve, "growth_curve", "growth curve", "nothing is said of the whole season's growth", "growth-curves"},
			{site.Station, "station", "rain gauge", "its production is not set beside the rain", "rain"},
		} {
			if named.name != "" && !slices.Contains(known[i], named.name) {
				c.reportSiteName(site, named.column, named.what, named.name, named.without, named.kind)
			}
		}
	}
	return nil
}

func (c *checker) reportSiteName(site *schema.SiteRecord, column, what, name, without, kind string) {
	c.report(place{site, ""}, Finding{Severity: Look, Check: "site-names-unknown",
		Found: fmt.Sprintf("the site names the %s %q, of which the ledger holds nothing", what, name),
		Why:   "as long as it is not there, " + without,
		Do:    fmt.Sprintf("import the %s file that has it, or correct the site's %s with --replace if the name is misspelt", kind, column)},
		evidence{words: site.Site, key: site.Site, values: column + " " + name})
}
