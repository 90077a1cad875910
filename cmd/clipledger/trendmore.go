package main

import (
	"fmt"
	"strings"

	"clipledger/monitor"
	"clipledger/schema"
)

// moreOfTrend is what JSON holds beyond the columns: of every method its years
// and the slope of ten years, and with ols all that belongs to the series.
func moreOfTrend(t *trendRow, unit monitor.Unit) map[string]any {
	out := map[string]any{"years_used": t.YearsUsed, "slope_per_decade": jsonValue(in(unit, t.PerDecade())), "slope_se": jsonValue(in(unit, t.SE))}
	if t.YearsUsed == nil {
		out["years_used"] = []int{}
	}
	if m := t.Components; m != nil && t.Method == monitor.MethodMixed {
		square := unit.PerGM2 * unit.PerGM2
		out["variance_components"] = map[string]any{"frame": m.GroupVar * square, "year": m.YearVar * square, "rest": m.ResidualVar * square, "year_is_zero": m.YearSingular}
	}
	if t.Method == monitor.MethodTheilSen {
		out["p_exact"] = t.PExact
	}
	if t.Method != monitor.MethodOLS {
		return out
	}
	out["stratum"], out["sentence"], out["confidence"] = t.Site.Stratum, t.Sentence, t.Confidence
	out["mean"], out["frame_adjusted"] = jsonValue(in(unit, t.Series.Mean)), t.FrameAdjusted
	out["series"] = yearsOfSeries(t.Series, unit)
	out["rain"] = rainOfSeries(t.Rain, unit)
	out["autocorrelation"] = nil
	if a := t.Autocorrelation; a != nil {
		out["autocorrelation"] = map[string]any{"lag_1": a.R, "pairs": a.Pairs, "p": a.P}
	}
	events := []map[string]any{}
	for _, e := range t.Events {
		events = append(events, map[string]any{"site": e.Site, "stratum": e.Stratum, "start": e.Start, "end": e.End, "kind": e.Kind, "note": e.Note})
	}
	out["events"] = events
	out["transects"] = transectsOf(t.Transects)
	return out
}

func transectsOf(places []schema.TransectPlace) []map[string]any {
	out := []map[string]any{}
	for _, p := range places {
		out = append(out, map[string]any{"transect": p.Transect, "latitude": jsonValue(p.Latitude), "longitude": jsonValue(p.Longitude), "bearing": jsonValue(p.Bearing),
			"length_m": jsonValue(p.LengthM), "side": p.Side, "offset_m": jsonValue(p.OffsetM), "photo": p.Photo, "note": p.Note})
	}
	return out
}

// transectLine says where a transect lies.
func transectLine(p schema.TransectPlace) string {
	words := []string{fmt.Sprintf("%s: transect %s", p.Site, p.Transect)}
	add := func(n schema.Num, format string) {
		if n.Valid {
			words = append(words, fmt.Sprintf(format, n.Float64))
		}
	}
	if p.Latitude.Valid && p.Longitude.Valid {
		words = append(words, fmt.Sprintf("begins at %g, %g", p.Latitude.Float64, p.Longitude.Float64))
	}
	add(p.Bearing, "bearing %g degrees")
	add(p.LengthM, "%g m long")
	if p.OffsetM.Valid && p.Side != "" {
		words = append(words, fmt.Sprintf("frames %g m to the %s", p.OffsetM.Float64, p.Side))
	}
	return strings.Join(words, ", ") + "."
}

func yearsOfSeries(s *monitor.Series, unit monitor.Unit) []map[string]any {
	out := []map[string]any{}
	for i := range s.Years {
		y := &s.Years[i]
		out = append(out, map[string]any{
			"year": y.Year, "value": jsonValue(in(unit, y.Value)), "left_out": nullIfEmpty(y.LeftOut),
			"mean": jsonValue(in(unit, y.Mean.Mean)), "ci_low": jsonValue(in(unit, y.Mean.CI.Low)), "ci_high": jsonValue(in(unit, y.Mean.CI.High)),
			"n": y.Mean.N, "adequate": jsonValue(y.Mean.Adequate), "mean_pct": jsonValue(y.MeanPct), "rain_mm": jsonValue(y.RainMM),
			"rain_missing": nullIfEmpty(y.RainWhy), "rain_pct": jsonValue(y.RainPct), "rain_use_kg_ha_mm": jsonValue(y.RainUse)})
	}
	return out
}

func nullIfEmpty(s string) any {
	if s == "" {
		return nil
	}
	return s
}

func rainOfSeries(r *monitor.SeriesRain, unit monitor.Unit) any {
	if r == nil {
		return nil
	}
	u := func(n monitor.Num) any { return jsonValue(in(unit, n)) }
	return map[string]any{
		"station": r.Station, "months": r.Window.String(), "long_term_mean_mm": jsonValue(r.MeanMM), "long_term_years": r.MeanYears,
		"years_used": append([]int{}, r.YearsUsed...), "correlation_with_year": jsonValue(r.Correlation), "rain_slope_mm": jsonValue(r.RainSlope),
		"per_mm": u(r.PerMM), "per_mm_low": u(r.PerMMCI.Low), "per_mm_high": u(r.PerMMCI.High),
		"slope_without_rain": u(r.Alone), "slope_without_rain_low": u(r.AloneCI.Low), "slope_without_rain_high": u(r.AloneCI.High),
		"slope_with_rain": u(r.Held), "slope_with_rain_low": u(r.HeldCI.Low), "slope_with_rain_high": u(r.HeldCI.High),
		"change_in_slope": u(r.Change), "change_low": u(r.ChangeCI.Low), "change_high": u(r.ChangeCI.High), "why_none": nullIfEmpty(r.Why),
	}
}

// rainRow is one year of a series beside its rain.
type rainRow struct {
	*monitor.Series
	year *monitor.SeriesYear
}

// remarks of a year: why it has no value or no rain.
func (r *rainRow) remarks() []monitor.Remark {
	var out []monitor.Remark
	if r.year.LeftOut != "" {
		out = append(out, monitor.Remark{Code: "left-out", Text: "no value for trends: " + r.year.LeftOut})
	}
	switch {
	case r.Rain == nil:
		out = append(out, monitor.Remark{Code: "no-station", Text: "the site declares no rain station"})
	case !r.Rain.Known:
		out = append(out, monitor.Remark{Code: "rain-unknown", Text: r.Rain.Why, Loud: true})
	case r.year.RainWhy != "":
		out = append(out, monitor.Remark{Code: "rain-missing", Text: "rain missing: " + r.year.RainWhy})
	}
	return out
}

func printRain(a *app, s *schema.Snapshot, q monitor.Query, values schema.Values) error {
	unit := q.Unit
	c := func(name string, value func(*rainRow) any) column[rainRow] { return column[rainRow]{name, value} }
	r := &results[rainRow]{out: a.Out, format: a.format, remarks: (*rainRow).remarks,
		where: func(t *rainRow) string {
			return fmt.Sprintf("%s %d %s %s", t.Site.Site, t.year.Year, t.Season, t.Component)
		},
		columns: []column[rainRow]{
			c("site", func(t *rainRow) any { return t.Site.Site }),
			c("season", func(t *rainRow) any { return t.Season }),
			c("component", func(t *rainRow) any { return t.Component }),
			c("unit", func(*rainRow) any { return unit.Name }),
			c("year", func(t *rainRow) any { return t.year.Year }),
			c("value", func(t *rainRow) any { return in(unit, t.year.Value) }),
			c("mean_pct", func(t *rainRow) any { return t.year.MeanPct }),
			c("rain_mm", func(t *rainRow) any { return t.year.RainMM }),
			c("rain_pct", func(t *rainRow) any { return t.year.RainPct }),
			c("rain_use_kg_ha_mm", func(t *rainRow) any { return t.year.RainUse }),
		}}
	r.shown = []string{"site", "season", "component", "year", "value", "mean_pct", "rain_mm", "rain_pct", "rain_use_kg_ha_mm"}
	r.table = map[string]func(*rainRow) string{
		"value":             func(t *rainRow) string { return rounded(in(unit, t.year.Value), unit.Decimal) },
		"mean_pct":          func(t *rainRow) string { return rounded(t.year.MeanPct, 0) },
		"rain_mm":           func(t *rainRow) string { return rounded(t.year.RainMM, 0) },
		"rain_pct":          func(t *rainRow) string { return rounded(t.year.RainPct, 0) },
		"rain_use_kg_ha_mm": func(t *rainRow) string { return rounded(t.year.RainUse, 2) },
	}
	var lines []string
	err := monitor.Trends(s, q, func(series *monitor.Series) error {
		if line := rainLine(series); line != "" && (len(lines) == 0 || lines[len(lines)-1] != line) {
			lines = append(lines, line)
		}
		for i := range series.Years {
			if err := r.add(&rainRow{series, &series.Years[i]}); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		return err
	}
	caption := fmt.Sprintf("value in %s, %s; mean_pct in percent of the mean of the years shown, rain_pct of the station's long-term mean; rain use in kg/ha of dry matter for each mm.", unit.Name, values["basis"])
	return r.finish(a, plainLines(append([]string{caption}, lines...)))
}

// rainLine says which rain counts at a site.
func rainLine(s *monitor.Series) string {
	if s.Rain == nil || !s.Rain.Known {
		return ""
	}
	mean := "no growth year is complete"
	if s.Rain.MeanMM.Valid {
		mean = fmt.Sprintf("long-term mean %.0f mm over %d growth years", s.Rain.MeanMM.Float64, s.Rain.MeanYears)
	}
	return fmt.Sprintf("%s: rain of %s, months %s; %s.", s.Site.Site, s.Rain.Station, s.Rain.Window, mean)
}
