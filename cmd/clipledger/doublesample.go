package main

import (
	"fmt"

	"github.com/spf13/cobra"

	"clipledger/monitor"
	"clipledger/schema"
)

func newDoubleSample(a *app) *cobra.Command {
	var flags filterFlags
	var q monitor.DoubleQuery
	cmd := &cobra.Command{
		Use:   "double-sample",
		Short: "Means from many frames judged by eye and some of them clipped",
		Long: `Prints, for every occasion on which an observer estimated frames of which some
were clipped, the mean dry weight per area by three estimators: ratio (clipped
over estimated carries the mean estimate over), regression (the same by a
straight line) and clipped-only. n_estimated counts all estimated frames, with
the clipped ones. All three are printed; the one that speaks is the setting
double-sampling-estimator, marked *, and is to be chosen before looking.

Estimates may be green: the factor then carries the dry matter too. Where
species were estimated apart each has a factor of its own, and so has each
component of production. Each observer is apart unless --pooled. The formulas
take the clipped frames as a random part of the estimated ones.

--cost-ratio says what a clipped frame costs, counted in estimated ones; then
the best number of estimated frames per clipped one is printed, and what the
wanted precision takes.`,
		Example: "  clipledger double-sample --site THIMBLE --year 2024\n  clipledger double-sample --observer Wren --cost-ratio 10 --precision 0.15\n  clipledger double-sample --pooled --component production --format csv",
		Args:    cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			var err error
			if q.Filter, err = flags.parse(); err != nil {
				return err
			}
			if cmd.Flags().Changed("cost-ratio") && !(q.CostRatio > 0 && q.CostRatio < 1e6) {
				return usagef("--cost-ratio %g: give what a clipped frame costs, counted in estimated ones, such as 10", q.CostRatio)
			}
			if cmd.Flags().Changed("precision") && !(q.Precision >= 0.01 && q.Precision <= 1) {
				return usagef("--precision %g: give a fraction of the mean from 0.01 to 1, such as 0.20", q.Precision)
			}
			if cmd.Flags().Changed("precision") && q.CostRatio == 0 {
				return usagef("--precision is for the best number of frames; give --cost-ratio too")
			}
			q.Confidence = a.confidence
			return runDoubleSample(cmd, a, q)
		},
	}
	flags.add(cmd)
	f := cmd.Flags()
	f.StringArrayVar(&q.Observers, "observer", nil, "only estimates by `NAME`; repeatable")
	f.BoolVar(&q.Pooled, "pooled", false, "pool the observers: a frame's estimate is the mean of theirs")
	f.Float64Var(&q.CostRatio, "cost-ratio", 0, "what a clipped frame costs, as a `NUMBER` of estimated ones")
	f.Float64Var(&q.Precision, "precision", 0, "with --cost-ratio: wanted half-width as a `FRACTION` of the mean (default: the ledger's setting)")
	return cmd
}

func runDoubleSample(cmd *cobra.Command, a *app, q monitor.DoubleQuery) error {
	return a.read(cmd.Context(), func(s *schema.Snapshot) error {
		values, err := s.Settings()
		if err != nil {
			return err
		}
		if q.Unit, err = a.unit(values); err != nil {
			return err
		}
		rows, err := monitor.DoubleSamples(s, q)
		if err != nil {
			return observerFault(err)
		}
		r := doubleView(a, q.Unit)
		for _, m := range rows {
			if err := r.add(m); err != nil {
				return err
			}
		}
		confidence := q.Confidence
		if confidence == 0 {
			confidence = values.Must("confidence")
		}
		return r.finish(a, fmt.Sprintf("%s, %s, intervals at %g %% confidence. * marks the estimator that speaks, by the setting %s; the others stand beside it. The clipped frames are taken as a random part of the estimated ones.",
			q.Unit.Name, values["basis"], monitor.Percent(confidence), monitor.EstimatorSetting))
	})
}

// doubleView is the output of double-sample.
func doubleView(a *app, unit monitor.Unit) *results[monitor.DoubleMean] {
	type row = monitor.DoubleMean
	col := func(name string, value func(*row) any) column[row] { return column[row]{name, value} }
	per := func(name string, of func(*row) monitor.Num) column[row] {
		return column[row]{name, func(m *row) any { return in(unit, of(m)) }}
	}
	r := &results[row]{out: a.Out, format: a.format, needs: "eye estimates (clipledger import estimates)", remarks: func(m *row) []monitor.Remark { return m.Remarks },
		where: func(m *row) string {
			return fmt.Sprintf("%s %d %s %s %s %s", m.Site.Site, m.Year, m.Season, m.Component, m.Observer, m.Estimator)
		}}
	r.columns = []column[row]{
		col("site", func(m *row) any { return m.Site.Site }),
		col("year", func(m *row) any { return m.Year }),
		col("season", func(m *row) any { return m.Season }),
		col("component", func(m *row) any { return m.Component }),
		col("observer", func(m *row) any { return m.Observer }),
		col("unit", func(*row) any { return unit.Name }),
		col("n_estimated", func(m *row) any { return m.Estimated }),
		col("n_clipped", func(m *row) any { return m.Clipped }),
		col("estimator", func(m *row) any { return m.Estimator }),
		per("mean", func(m *row) monitor.Num { return m.Mean }),
		per("se", func(m *row) monitor.Num { return m.SE }),
		col("df", func(m *row) any { return m.DF }),
		per("ci_low", func(m *row) monitor.Num { return m.CI.Low }),
		per("ci_high", func(m *row) monitor.Num { return m.CI.High }),
	}
	r.more = func(m *row) map[string]any { return moreOfDouble(m, unit) }
	r.shown = []string{"site", "year", "season", "component", "observer", "n_estimated", "n_clipped", "estimator", "mean", "se", "interval"}
	r.table = map[string]func(*row) string{
		"estimator": func(m *row) string {
			if m.Speaks {
				return m.Estimator + " *"
			}
			return m.Estimator
		},
		"mean":     func(m *row) string { return rounded(in(unit, m.Mean), unit.Decimal) },
		"se":       func(m *row) string { return rounded(in(unit, m.SE), unit.Decimal) },
		"interval": func(m *row) string { return span(m.CI, unit) },
	}
	return r
}

// moreOfDouble is what JSON holds beyond the columns.
func moreOfDouble(m *monitor.DoubleMean, unit monitor.Unit) map[string]any {
	factors := []map[string]any{}
	for _, f := range m.Factors {
		factors = append(factors, map[string]any{"component": f.Component, "species": f.Species, "factor": f.Factor, "mean_estimated": unit.Of(f.Estimated)})
	}
	out := map[string]any{"state": m.State, "speaks": m.Speaks, "se_drying": jsonValue(in(unit, m.SEDrying)), "confidence": m.Confidence,
		"factor": jsonValue(m.Factor), "factors": factors, "mean_by_one_factor": jsonValue(in(unit, m.OneFactor)), "allocation": nil}
	if a := m.Allocation; a != nil {
		out["allocation"] = map[string]any{"cost_ratio": a.CostRatio, "estimated_per_clipped": a.EstimatedPerClipped, "precision": a.Precision, "confidence": a.Confidence,
			"clipped": a.Clipped, "estimated": a.Estimated, "clipped_alone": a.ClippedAlone}
	}
	return out
}
