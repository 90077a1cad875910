package export

import (
	"strings"

	"clipledger/monitor"
	"clipledger/schema"
)

func snake(s string) string { return strings.ReplaceAll(s, "-", "_") }

// meanComponent is the component of a mean, of which production is one.
var meanComponent = Column{Name: "component", Meaning: "component, or production, the total of herbaceous and browse", Words: append(componentWords(), monitor.Production)}

// meanColumns are the columns of a mean after those of its key.
func meanColumns() []Column {
	density := func(name, meaning string) Column {
		return Column{Name: name, Type: Number, Unit: "g/m2", Meaning: meaning}
	}
	return []Column{
		{Name: "basis", Meaning: "basis of the dry weight: the ledger's", Words: []string{schema.AirDry, schema.OvenDry}},
		{Name: "n", Type: Whole, Unit: "1", Meaning: "sampling units (frames or transects)"},
		density("mean_g_m2", "mean over the sampling units"),
		density("sd_g_m2", "standard deviation, n - 1"),
		density("se_g_m2", "standard error, the error of drying ratios included"),
		density("se_drying_g_m2", "the part of it that is the error of drying ratios"),
		{Name: "df", Type: Number, Unit: "1", Meaning: "degrees of freedom of the interval (Satterthwaite)"},
		{Name: "cv_pct", Type: Number, Unit: "%", Meaning: "coefficient of variation"},
		{Name: "confidence", Type: Number, Unit: "1", Meaning: "confidence of the intervals"},
		density("ci_low_g_m2", "lower end of the t interval"),
		density("ci_high_g_m2", "upper end of the t interval"),
		density("hall_low_g_m2", "lower end of Hall's interval for skewed values"),
		density("hall_high_g_m2", "upper end of Hall's interval for skewed values"),
		{Name: "zeros_inferred", Type: Whole, Unit: "1", Meaning: "frames whose zero no row wrote"},
		{Name: "missing", Type: Whole, Unit: "1", Meaning: "frames left out because their weight is missing"},
		{Name: "book_value_pct", Type: Number, Unit: "%", Meaning: "share of the dry weight that rests on book values"},
		{Name: "n_required", Type: Number, Unit: "1", Meaning: "sampling units for the wanted precision (settings precision, adequacy-confidence, sides)"},
		{Name: "adequate", Type: YesNo, Meaning: "whether there were that many"},
		{Name: "class", Meaning: "class of the mean, by the scheme that the site names"},
		{Name: "remarks", Meaning: "what the number rests on, joined by |"},
	}
}

// meanRows are the means of the occasions.
func meanRows(src *source, _ part, emit func([]Cell) error) error { return meanTables(src, emit, nil) }

// meanTables reads the means once for the two tables that are made of them:
// occasion_means and trends; nil where one is not wanted.
func meanTables(src *source, mean, trend func([]Cell) error) error {
	unit, err := monitor.UnitNamed("g/m2")
	if err != nil {
		return err
	}
	q := monitor.Query{Unit: unit, Confidence: src.options.Confidence, Classes: true}
	var row []Cell
	means := func(m *monitor.Mean) error {
		row = src.meanRow(row[:0], m)
		return mean(row)
	}
	if trend == nil {
		return monitor.Means(src.snap, q, means)
	}
	return monitor.MeansAndTrends(src.snap, q, means, func(s *monitor.Series) error {
		for i := range s.Trends {
			if err := trend(src.trendRow(s, &s.Trends[i])); err != nil {
				return err
			}
		}
		return nil
	})
}

// meanRow is one row of the table occasion_means.
func (src *source) meanRow(row []Cell, m *monitor.Mean) []Cell {
	return append(row, text(m.Site.Site), whole(int64(m.Year)), text(m.Season), text(m.Component), text(src.values["basis"]), whole(int64(m.N)), number(m.Mean), number(m.SD),
		number(m.SE), number(m.SEDrying), number(m.DF), number(m.CVPct), Cell{Number: m.Confidence, Has: true}, number(m.CI.Low), number(m.CI.High),
		number(m.Hall.Low), number(m.Hall.High), whole(int64(m.ZerosInfer)), whole(int64(m.Missing)), number(m.BookPct), number(m.NRequired),
		text(m.Adequate.String()), text(classLabel(m)), text(src.remarkWords(m.Remarks)))
}

// classLabel is the class of a mean, "" where it has none.
func classLabel(m *monitor.Mean) string {
	if m.Class == nil {
		return ""
	}
	return m.Class.Label
}

func (src *source) remarkWords(remarks []monitor.Remark) string {
	texts := make([]string, len(remarks))
	for i, r := range remarks {
		texts[i] = r.Text
	}
	return src.withoutNames(strings.Join(texts, " | "))
}
