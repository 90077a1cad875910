package main

import (
	"fmt"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"clipledger/monitor"
	"clipledger/schema"
)

// Trends across many sites: of each stratum, or of the whole ledger.

const acrossHelp = `With --across stratum, or --across ledger, the trends are those of many sites
together: site then names "stratum NAME" or "all sites". mixed is the verdict
there (5 sites or more with values in 3 years or more: sites differ in level and
slope, years are shared by all; with fewer sites ols on their yearly means), and
regional-kendall stands beside it (statistic S over all sites, p with the
covariances of sites that share weather). Every site counts alike. --variances
prints what differs by how much: years, sites, their slopes and the rest, each
with its part in the uncertainty of the slope (share_pct) and what would make it
smaller.`

const acrossExample = "  clipledger trend --across stratum --component production\n  clipledger trend --across ledger --variances"

// acrossFlags are the flags of trends across sites.
type acrossFlags struct {
	across    string
	variances bool
}

func (f *acrossFlags) add(cmd *cobra.Command) {
	cmd.Flags().StringVar(&f.across, "across", "", "trends of many sites together: of each `stratum`, or of the whole ledger")
	cmd.Flags().BoolVar(&f.variances, "variances", false, "with --across: print the variances in place of the trends")
}

func (f *acrossFlags) wanted() bool { return f.across != "" || f.variances }

func (f *acrossFlags) run(cmd *cobra.Command, a *app, q monitor.Query, rain bool) error {
	switch {
	case f.across != monitor.AcrossStratum && f.across != monitor.AcrossLedger:
		return usagef("--across %q: use --across stratum or --across ledger", f.across)
	case rain:
		return usagef("--rain prints the years of single sites: leave out --across or --rain")
	}
	return a.read(cmd.Context(), func(s *schema.Snapshot) error {
		values, err := s.Settings()
		if err != nil {
			return err
		}
		if q.Unit, err = a.unit(values); err != nil {
			return err
		}
		if q.Confidence == 0 {
			q.Confidence = values.Must("confidence")
		}
		if f.variances {
			return f.printVariances(a, s, q, values)
		}
		return f.printTrends(a, s, q, values)
	})
}

// printTrends prints regions with the columns of trend.
func (f *acrossFlags) printTrends(a *app, s *schema.Snapshot, q monitor.Query, values schema.Values) error {
	regions := map[*monitor.Series]*monitor.Region{}
	r := &results[trendRow]{out: a.Out, format: a.format, columns: trendColumns(q.Unit),
		where: func(t *trendRow) string { return fmt.Sprintf("%s %s %s", t.Site.Site, t.Season, t.Component) },
		remarks: func(t *trendRow) []monitor.Remark {
			if t.Trend == &t.Trends[0] {
				return slices.Concat(t.Trend.Remarks, t.Series.Remarks)
			}
			return t.Trend.Remarks
		}}
	trendTable(r, q.Unit)
	r.more = func(t *trendRow) map[string]any { return moreOfRegion(t, regions[t.Series], q.Unit) }
	var sentences []string
	err := monitor.Regions(s, q, f.across, func(region *monitor.Region) error {
		regions[&region.Series] = region
		sentences = append(sentences, strings.TrimSpace(fmt.Sprintf("%s %s: %s %s", region.Site.Site, region.Season, region.Sentence, region.Planning)))
		for i := range region.Trends {
			if err := r.add(&trendRow{&region.Series, &region.Trends[i]}); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		return err
	}
	caption := fmt.Sprintf("Slopes in %s a year, %s; intervals at %g %% confidence, verdicts at α = %.2g; min_detectable with power %g.\n"+
		"The verdict is that of mixed (sites and years random), of ols where sites are few.",
		q.Unit.Name, values["basis"], monitor.Percent(q.Confidence), 1-q.Confidence, monitor.TrendPower)
	return r.finish(a, plainLines(append(strings.Split(caption+"\n", "\n"), sentences...)))
}

// moreOfRegion is what JSON holds beyond the columns.
func moreOfRegion(t *trendRow, region *monitor.Region, unit monitor.Unit) map[string]any {
	out := map[string]any{"years_used": append([]int{}, t.YearsUsed...), "slope_per_decade": jsonValue(in(unit, t.PerDecade())), "slope_se": jsonValue(in(unit, t.SE))}
	if t.Trend != &t.Trends[0] {
		return out
	}
	sites := []string{}
	for _, s := range region.Sites {
		sites = append(sites, s.Site)
	}
	out["sites"], out["left_out"] = sites, append([]string{}, region.LeftOut...)
	out["sentence"], out["planning"], out["confidence"] = t.Sentence, nullIfEmpty(region.Planning), t.Confidence
	out["mean"], out["site_adjusted"] = jsonValue(in(unit, t.Series.Mean)), t.FrameAdjusted
	series := []map[string]any{}
	for i := range t.Years {
		y := &t.Years[i]
		series = append(series, map[string]any{"year": y.Year, "value": jsonValue(in(unit, y.Value)), "sites": y.Mean.N, "mean": jsonValue(in(unit, y.Mean.Mean))})
	}
	out["series"] = series
	variances := []map[string]any{}
	for _, v := range region.Sources() {
		variances = append(variances, map[string]any{"source": v.Source, "variance": v.Variance * unit.PerGM2 * unit.PerGM2,
			"sd": v.SD * unit.PerGM2, "sd_pct": jsonValue(v.SDPct), "share_pct": jsonValue(v.SharePct), "meaning": v.Meaning})
	}
	out["variances"] = variances
	return out
}

// printVariances prints the variance components of regions.
func (f *acrossFlags) printVariances(a *app, s *schema.Snapshot, q monitor.Query, values schema.Values) error {
	type row = monitor.VarianceSource
	unit := q.Unit
	c := func(name string, value func(*row) any) column[row] { return column[row]{name, value} }
	square := unit.PerGM2 * unit.PerGM2
	r := &results[row]{out: a.Out, format: a.format,
		where:   func(v *row) string { return fmt.Sprintf("%s %s %s", v.Site.Site, v.Season, v.Component) },
		remarks: (*row).Notes,
		columns: []column[row]{
			c("site", func(v *row) any { return v.Site.Site }),
			c("season", func(v *row) any { return v.Season }),
			c("component", func(v *row) any { return v.Component }),
			c("unit", func(*row) any { return unit.Name }),
			c("sites", func(v *row) any { return len(v.Sites) }),
			c("years", func(v *row) any { return len(v.Years) }),
			c("source", func(v *row) any { return v.Source }),
			c("variance", func(v *row) any { return schema.Some(v.Variance * square) }),
			c("sd", func(v *row) any { return schema.Some(v.SD * unit.PerGM2) }),
			c("sd_pct", func(v *row) any { return v.SDPct }),
			c("share_pct", func(v *row) any { return v.SharePct }),
			c("meaning", func(v *row) any { return v.Meaning }),
		}}
	r.shown = []string{"site", "season", "component", "sites", "years", "source", "sd", "sd_pct", "share_pct", "meaning"}
	r.table = map[string]func(*row) string{
		"sd":        func(v *row) string { return rounded(schema.Some(v.SD*unit.PerGM2), unit.Decimal+1) },
		"sd_pct":    func(v *row) string { return rounded(v.SDPct, 1) },
		"share_pct": func(v *row) string { return rounded(v.SharePct, 0) },
	}
	var lines []string
	err := monitor.Regions(s, q, f.across, func(region *monitor.Region) error {
		sources := region.Sources()
		if len(sources) == 0 {
			a.say("%s %s %s: no variances, for want of a model (5 sites with values in 3 years or more)", region.Site.Site, region.Season, region.Component)
		}
		if region.Planning != "" {
			lines = append(lines, fmt.Sprintf("%s %s %s: %s", region.Site.Site, region.Season, region.Component, region.Planning))
		}
		for i := range sources {
			if err := r.add(&sources[i]); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		return err
	}
	caption := fmt.Sprintf("sd in %s, %s, sd_pct in percent of the mean (of slopes: a year); share_pct is the part in the variance of the slope of year, as if every site were visited every year.", unit.Name, values["basis"])
	return r.finish(a, plainLines(append([]string{caption}, lines...)))
}
