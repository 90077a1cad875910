package main

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"clipledger/monitor"
	"clipledger/schema"
)

func newForage(a *app) *cobra.Command {
	var flags filterFlags
	var species []string
	cmd := &cobra.Command{
		Use:   "forage",
		Short: "Forage supply as a range, from shares and demands of your own",
		Long: `Turns the mean of chosen components and species (herbaceous, where none is
named) into animal unit months: production x the share that may be harvested /
what one animal takes in a month, as a range from the two ends of the mean's
interval. It answers only after you have set the four numbers it rests on,
which have no default: forage-share, forage-demand, forage-demand-basis and
forage-days.

` + monitor.Caution,
		Example: "  clipledger settings forage-share=0.25 forage-demand='26 lb' forage-demand-basis=air-dry forage-days=30.4\n" +
			"  clipledger forage --year 2024",
		Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			if len(flags.filter.Components) == 0 {
				flags.filter.Components = []string{schema.Herbaceous.String()}
			}
			filter, err := flags.parse()
			if err != nil {
				return err
			}
			for i := range species {
				species[i] = strings.TrimSpace(species[i])
			}
			return runForage(cmd, a, monitor.Query{Filter: filter, Confidence: a.confidence, Species: species})
		},
	}
	flags.add(cmd)
	cmd.Flags().StringArrayVar(&species, "species", nil, "only the species `CODE`; repeatable, counted together")
	return cmd
}

func runForage(cmd *cobra.Command, a *app, q monitor.Query) error {
	return a.read(cmd.Context(), func(s *schema.Snapshot) error {
		values, err := s.Settings()
		if err != nil {
			return err
		}
		unit, err := a.unit(values)
		if err != nil {
			return err
		}
		demand, missing, err := monitor.DemandOf(values)
		if err != nil {
			return err
		}
		if len(missing) > 0 {
			return usagef("forage supply rests on numbers of your own; set %s (clipledger settings NAME=VALUE), by your local rules and the advice of a qualified range professional", strings.Join(missing, ", "))
		}
		if err := knownSpecies(s, q.Species); err != nil {
			return err
		}
		q.Unit = unit
		if q.Confidence == 0 {
			q.Confidence = values.Must("confidence")
		}
		rules := monitor.RulesOf(values)
		r := forageResults(a, unit, demand)
		err = monitor.Means(s, q, func(m *monitor.Mean) error { return r.add(monitor.ForageSupply(m, demand, rules)) })
		if err != nil {
			return err
		}
		return r.finish(a, forageCaption(q, unit, demand, rules))
	})
}

// knownSpecies refuses species that the ledger does not hold.
func knownSpecies(s *schema.Snapshot, names []string) error {
	known, err := s.SpeciesCodes()
	if err != nil {
		return err
	}
	for _, name := range names {
		if !known[name] {
			return usagef("--species %q: the ledger holds no such species", name)
		}
	}
	return nil
}

func forageCaption(q monitor.Query, unit monitor.Unit, d monitor.Demand, r monitor.Rules) string {
	what := strings.Join(q.Components, " and ")
	if len(q.Species) > 0 {
		what += ", only " + strings.Join(q.Species, " and ")
	}
	return fmt.Sprintf(`Animal unit months (AUM) per %s of %s: %s, %s × share %g ÷ (%s a day, %s, × %g days a month).
The range is from the two ends of the mean's interval at %g %% confidence; share, demand and days are this ledger's settings, not findings.`, areaWord(unit), what, unit.Name, r.Basis, d.Share, d.Text, d.Basis, d.DaysPerMonth, monitor.Percent(q.Confidence))
}

// areaWord is the area that a unit of display counts by.
func areaWord(unit monitor.Unit) string {
	if unit.Name == "lb/ac" {
		return "acre"
	}
	return "hectare"
}

// perArea brings a figure per m² to the area that the unit counts by.
func perArea(unit monitor.Unit, n monitor.Num) monitor.Num {
	if areaWord(unit) == "acre" {
		n.Float64 *= monitor.M2PerAcre
	} else {
		n.Float64 *= 1e4
	}
	return n
}

func forageResults(a *app, unit monitor.Unit, d monitor.Demand) *results[monitor.Forage] {
	type row = monitor.Forage
	area := areaWord(unit)
	aum := func(of func(*row) monitor.Num) func(*row) any {
		return func(f *row) any { return perArea(unit, of(f)) }
	}
	shown := func(of func(*row) monitor.Num) func(*row) string {
		return func(f *row) string { return rounded(perArea(unit, of(f)), 3) }
	}
	low, mid, high := func(f *row) monitor.Num { return f.Low }, func(f *row) monitor.Num { return f.AtMean }, func(f *row) monitor.Num { return f.High }
	return &results[row]{
		out: a.Out, format: a.format, remarks: func(f *row) []monitor.Remark { return f.Remarks }, caution: func(*row) string { return monitor.Caution },
		where: func(f *row) string {
			return fmt.Sprintf("%s %d %s %s", f.Mean.Site.Site, f.Mean.Year, f.Mean.Season, f.Mean.Component)
		},
		columns: []column[row]{
			{"site", func(f *row) any { return f.Mean.Site.Site }},
			{"year", func(f *row) any { return f.Mean.Year }},
			{"season", func(f *row) any { return f.Mean.Season }},
			{"component", func(f *row) any { return f.Mean.Component }},
			{"species", func(f *row) any { return f.Mean.Group }},
			{"unit", func(*row) any { return unit.Name }},
			{"n", func(f *row) any { return f.Mean.N }},
			{"mean", func(f *row) any { return in(unit, f.Mean.Mean) }},
			{"ci_low", func(f *row) any { return in(unit, f.Mean.CI.Low) }},
			{"ci_high", func(f *row) any { return in(unit, f.Mean.CI.High) }},
			{"share", func(*row) any { return schema.Some(d.Share) }},
			{"demand_per_day", func(*row) any { return d.Text }},
			{"demand_basis", func(*row) any { return d.Basis }},
			{"days_per_month", func(*row) any { return schema.Some(d.DaysPerMonth) }},
			{"area", func(*row) any { return area }},
			{"aum_low", aum(low)},
			{"aum_at_mean", aum(mid)},
			{"aum_high", aum(high)},
			{"site_aum_low", func(f *row) any { return f.Site[0] }},
			{"site_aum_at_mean", func(f *row) any { return f.Site[1] }},
			{"site_aum_high", func(f *row) any { return f.Site[2] }},
		},
		shown: []string{"site", "year", "season", "component", "n", "mean", "aum_low", "aum_at_mean", "aum_high", "site_range"},
		table: map[string]func(*row) string{
			"mean":        func(f *row) string { return rounded(in(unit, f.Mean.Mean), unit.Decimal) },
			"aum_low":     shown(low),
			"aum_at_mean": shown(mid),
			"aum_high":    shown(high),
			"site_range": func(f *row) string {
				if !f.Site[0].Valid {
					return "-"
				}
				return rounded(f.Site[0], 0) + " to " + rounded(f.Site[2], 0)
			},
		},
	}
}
