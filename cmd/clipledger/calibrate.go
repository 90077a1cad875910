package main

import (
	"errors"
	"fmt"

	"github.com/spf13/cobra"

	"clipledger/monitor"
	"clipledger/schema"
)

// calibrateOptions are the flags of calibrate.
type calibrateOptions struct {
	filter    filterFlags
	observers []string
	weights   string
	practice  string
	frames    int
	seed      uint64
}

func newCalibrate(a *app) *cobra.Command {
	var o calibrateOptions
	cmd := &cobra.Command{
		Use:   "calibrate",
		Short: "How good each observer's eye is, and what it should practise",
		Long: `Compares eye estimates with the clipped weight of the same frame, green with
green and dry with dry, per observer and component: bias (estimated less
clipped), ratio of the means, root mean square error, Lin's concordance, and,
where the site names a class scheme with bounds for the component, the share of
frames in the right class with a weighted kappa. Remarks say between which
limits most estimates lie, whether errors shrank over the dates, and what to
practise: light or heavy plots, steadiness, and which component. Production is
there where an observer estimated all parts of it.

With --practice a new folder gets a sheet of past frames to judge (to print,
and as CSV) and, in a file apart, what they weighed. The frames are drawn
across the range of weights of each site and component; the same seed draws the
same frames.`,
		Example: "  clipledger calibrate\n  clipledger calibrate --observer Wren --component herbaceous --format json\n  clipledger calibrate --site THIMBLE --practice practice-1 --frames 8 --seed 3",
		Args:    cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			if o.practice != "" {
				return runPractice(cmd, a, &o)
			}
			if cmd.Flags().Changed("frames") || cmd.Flags().Changed("seed") {
				return usagef("--frames and --seed draw a practice sheet; name its folder with --practice DIR")
			}
			return runCalibrate(cmd, a, &o)
		},
	}
	o.filter.add(cmd)
	f := cmd.Flags()
	f.StringArrayVar(&o.observers, "observer", nil, "only estimates by `NAME`; repeatable")
	f.StringVar(&o.weights, "weights", "linear", "`WEIGHTS` of kappa: linear or quadratic")
	f.StringVar(&o.practice, "practice", "", "write a practice sheet into the new folder `DIR`")
	f.IntVar(&o.frames, "frames", 12, "with --practice: `NUMBER` of frames per site and component")
	f.Uint64Var(&o.seed, "seed", 1, "with --practice: another `NUMBER` draws other frames")
	return cmd
}

func runCalibrate(cmd *cobra.Command, a *app, o *calibrateOptions) error {
	filter, err := o.filter.parse()
	if err != nil {
		return err
	}
	if o.weights != "linear" && o.weights != "quadratic" {
		return usagef("there are no weights %q; use linear or quadratic", o.weights)
	}
	return a.read(cmd.Context(), func(s *schema.Snapshot) error {
		values, err := s.Settings()
		if err != nil {
			return err
		}
		unit, err := a.unit(values)
		if err != nil {
			return err
		}
		rows, err := monitor.Calibrate(s, monitor.CalibrateQuery{Filter: filter, Observers: o.observers, Confidence: a.confidence, Quadratic: o.weights == "quadratic", Unit: unit})
		if err != nil {
			return observerFault(err)
		}
		r := calibrateView(a, unit)
		for _, k := range rows {
			if err := r.add(k); err != nil {
				return err
			}
		}
		return r.finish(a, fmt.Sprintf("%s, dry ones %s. Bias is estimated less clipped; rmse and concordance with n divisors; class_agreement_pct and kappa (%s weights) by the site's class scheme.",
			unit.Name, values["basis"], o.weights))
	})
}

// observerFault makes an unknown observer wrong use.
func observerFault(err error) error {
	var unknown monitor.ErrNoObserver
	if errors.As(err, &unknown) {
		return usageError{err}
	}
	return err
}

// calibrateView is the output of calibrate.
func calibrateView(a *app, unit monitor.Unit) *results[monitor.Calibration] {
	type row = monitor.Calibration
	col := func(name string, value func(*row) any) column[row] { return column[row]{name, value} }
	per := func(name string, of func(*row) monitor.Num) column[row] {
		return column[row]{name, func(k *row) any { return in(unit, of(k)) }}
	}
	r := &results[row]{out: a.Out, format: a.format, needs: "eye estimates (clipledger import estimates)", remarks: func(k *row) []monitor.Remark { return k.Remarks },
		where: func(k *row) string { return fmt.Sprintf("%s %s %s", k.Observer, k.Component, k.State) }}
	r.columns = []column[row]{
		col("observer", func(k *row) any { return k.Observer }),
		col("component", func(k *row) any { return k.Component }),
		col("state", func(k *row) any { return k.State }),
		col("unit", func(*row) any { return unit.Name }),
		col("n", func(k *row) any { return k.N }),
		per("mean_estimated", func(k *row) monitor.Num { return k.MeanEstimated }),
		per("mean_clipped", func(k *row) monitor.Num { return k.MeanClipped }),
		per("bias", func(k *row) monitor.Num { return k.Bias }),
		col("ratio", func(k *row) any { return k.Ratio }),
		per("rmse", func(k *row) monitor.Num { return k.RMSE }),
		col("concordance", func(k *row) any { return k.Concordance }),
		col("class_agreement_pct", func(k *row) any { return k.ClassAgreementPct }),
		col("kappa", func(k *row) any { return k.Kappa }),
	}
	r.more = func(k *row) map[string]any { return moreOfCalibration(k, unit) }
	r.shown = []string{"observer", "component", "state", "n", "mean_estimated", "mean_clipped", "bias", "ratio", "rmse", "concordance", "class_agreement_pct", "kappa"}
	inUnit := func(of func(*row) monitor.Num) func(*row) string {
		return func(k *row) string { return rounded(in(unit, of(k)), unit.Decimal) }
	}
	r.table = map[string]func(*row) string{
		"mean_estimated":      inUnit(func(k *row) monitor.Num { return k.MeanEstimated }),
		"mean_clipped":        inUnit(func(k *row) monitor.Num { return k.MeanClipped }),
		"bias":                inUnit(func(k *row) monitor.Num { return k.Bias }),
		"ratio":               func(k *row) string { return rounded(k.Ratio, 2) },
		"rmse":                inUnit(func(k *row) monitor.Num { return k.RMSE }),
		"concordance":         func(k *row) string { return rounded(k.Concordance, 2) },
		"class_agreement_pct": func(k *row) string { return rounded(k.ClassAgreementPct, 0) },
		"kappa":               func(k *row) string { return rounded(k.Kappa, 2) },
	}
	return r
}

// moreOfCalibration is what JSON holds beyond the columns.
func moreOfCalibration(k *monitor.Calibration, unit monitor.Unit) map[string]any {
	practise := []map[string]any{}
	for _, p := range k.Practice {
		practise = append(practise, map[string]any{"code": p.Code, "text": p.Text})
	}
	schemes := k.Schemes
	if schemes == nil {
		schemes = []string{}
	}
	l := k.Learning
	return map[string]any{
		"n_estimated": k.Estimated, "confidence": k.Confidence, "rmse_pct": jsonValue(k.RMSEPct), "correlation": jsonValue(k.Correlation),
		"limits_of_agreement":  lowHigh(k.Limits, unit.PerGM2),
		"concordance_interval": lowHigh(k.ConcordanceCI, 1),
		"kappa_se":             jsonValue(k.KappaSE), "class_schemes": schemes,
		"light_third": third(k.Light), "heavy_third": third(k.Heavy),
		"error_on_weight": map[string]any{"slope": jsonValue(k.Line.Slope), "p": jsonValue(k.Line.P)},
		"scatter_pct":     jsonValue(k.ScatterPct),
		"learning": map[string]any{"dates": l.Dates, "first": l.First, "last": l.Last, "first_error_pct": jsonValue(l.FirstPct), "last_error_pct": jsonValue(l.LastPct),
			"change_pct_per_year": jsonValue(l.PctPerYear), "p": jsonValue(l.P), "undated_frames": l.Undated},
		"practise": practise,
	}
}

func lowHigh(i monitor.Interval, factor float64) map[string]any {
	scale := func(n monitor.Num) monitor.Num {
		if n.Valid {
			n.Float64 *= factor
		}
		return n
	}
	return map[string]any{"low": jsonValue(scale(i.Low)), "high": jsonValue(scale(i.High))}
}

func third(t monitor.Third) map[string]any {
	return map[string]any{"n": t.N, "ratio": jsonValue(t.Ratio), "interval": lowHigh(t.CI, 1)}
}
