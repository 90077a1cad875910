package main

import (
	"github.com/spf13/cobra"

	"clipledger/monitor"
	"clipledger/schema"
)

func newAdequacy(a *app) *cobra.Command {
	var flags filterFlags
	cmd := &cobra.Command{
		Use:   "adequacy",
		Short: "Were enough frames clipped, and how many would be",
		Long: `Prints, for every mean, how precise it is and how many sampling units the
wanted precision takes: n_required from the spread found, n_assured so that the
precision is reached with the stated assurance. Precision, confidence, one- or
two-sided t and the rule are settings (clipledger settings).

change_detectable_pct is the change from the year before that this sample would
see four times in five, in percent, compared as clipledger compare does, at
alpha = 1 - confidence of intervals.`,
		Example: "  clipledger adequacy --year 2024\n  clipledger settings sides=one-sided precision=0.10",
		Args:    cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			filter, err := flags.parse()
			if err != nil {
				return err
			}
			if a.confidence != 0 {
				a.say("--confidence sets the alpha of change_detectable_pct; the precision's own is the setting adequacy-confidence")
			}
			return runMeans(cmd, a, monitor.Query{Filter: filter, Confidence: a.confidence, Assured: true, Change: true}, adequacyView)
		},
	}
	flags.add(cmd)
	return cmd
}

// adequacyView is the output of adequacy.
func adequacyView(r *results[monitor.Mean], unit monitor.Unit, rules monitor.Rules, q monitor.Query) {
	r.columns = append(keyColumns(unit, q),
		col("n", func(m *monitor.Mean) any { return m.N }),
		density("mean", unit, func(m *monitor.Mean) monitor.Num { return m.Mean }),
		density("sd", unit, func(m *monitor.Mean) monitor.Num { return m.SD }),
		col("cv_pct", func(m *monitor.Mean) any { return m.CVPct }),
		col("precision", func(*monitor.Mean) any { return schema.Some(rules.Precision.Relative) }),
		col("confidence", func(*monitor.Mean) any { return schema.Some(rules.Precision.Confidence) }),
		col("half_width_pct", func(m *monitor.Mean) any { return m.HalfPct }),
		col("n_required", func(m *monitor.Mean) any { return m.NRequired }),
		col("assurance", func(*monitor.Mean) any { return schema.Some(rules.Assurance) }),
		col("n_assured", func(m *monitor.Mean) any { return m.NAssured }),
		col("short_by", func(m *monitor.Mean) any { return m.ShortBy() }),
		col("adequate", func(m *monitor.Mean) any { return m.Adequate }),
		col("change_detectable_pct", func(m *monitor.Mean) any { return m.ChangePct }),
	)
	r.more = func(m *monitor.Mean) map[string]any { return moreOf(m, unit) }
	r.shown = []string{"site", "year", "season", "component", "n", "mean", "cv_pct", "half_width_pct", "n_required", "n_assured", "short_by", "adequate", "change_detectable_pct"}
	r.table = map[string]func(*monitor.Mean) string{
		"mean":                  func(m *monitor.Mean) string { return rounded(in(unit, m.Mean), unit.Decimal) },
		"cv_pct":                func(m *monitor.Mean) string { return rounded(m.CVPct, 0) },
		"half_width_pct":        func(m *monitor.Mean) string { return rounded(m.HalfPct, 0) },
		"n_required":            func(m *monitor.Mean) string { return rounded(m.NRequired, decimalsOf(rules)) },
		"n_assured":             func(m *monitor.Mean) string { return rounded(m.NAssured, 0) },
		"short_by":              func(m *monitor.Mean) string { return rounded(m.ShortBy(), 0) },
		"adequate":              func(m *monitor.Mean) string { return dash(m.Adequate.String()) },
		"change_detectable_pct": func(m *monitor.Mean) string { return rounded(m.ChangePct, 0) },
	}
}
