package charts

import (
	"bytes"
	"encoding/csv"
	"strconv"
	"strings"
)

// The CSV files hold the numbers of tables and charts in full precision.
// Missing is an empty cell.

var yearHeader = []string{
	"site", "year", "season", "component", "unit", "basis", "n", "mean", "sd", "se", "se_drying", "df",
	"cv_pct", "confidence", "ci_low", "ci_high", "hall_low", "hall_high", "zeros_inferred", "missing",
	"book_value_pct", "book_low", "book_high", "half_width_pct", "precision_pct", "n_required", "n_assured", "short_by", "adequate",
	"change_detectable_pct", "long_term_mean", "class", "class_confidence", "growth_pct", "full_season", "remarks",
}

// yearsCSV is the table of one site's years.
func yearsCSV(r *Report, s *Site) []byte {
	return table(yearHeader, func(row func(...string)) {
		for i := range s.Series {
			for j := range s.Series[i].Years {
				row(yearRecord(r, s, &s.Series[i], &s.Series[i].Years[j])...)
			}
		}
	})
}

// sitesCSV is the table behind the index: the latest year of each site's
// headline series.
func sitesCSV(r *Report) []byte {
	header := append([]string{"site", "name", "stratum"}, yearHeader[1:]...)
	return table(header, func(row func(...string)) {
		for i := range r.Sites {
			s := &r.Sites[i]
			head := []string{text(s.Code), text(s.Name), text(s.Stratum)}
			x := s.headline()
			y := x.latest()
			if y == nil {
				row(append(head, make([]string, len(yearHeader)-1)...)...)
				continue
			}
			row(append(head, yearRecord(r, s, x, y)[1:]...)...)
		}
	})
}

// framesCSV holds the points of a site's charts.
func framesCSV(r *Report, s *Site) []byte {
	header := []string{"site", "year", "season", "component", "unit", "basis", "sampling_unit", "point", "value"}
	return table(header, func(row func(...string)) {
		for i := range s.Series {
			x := &s.Series[i]
			for j := range x.Years {
				for k, v := range x.Years[j].Frames {
					row(text(s.Code), strconv.Itoa(x.Years[j].Year), text(x.Season), text(x.Component),
						text(r.Unit), text(r.Basis), text(s.unitWord(1)), strconv.Itoa(k+1), full(v))
				}
			}
		}
	})
}

func yearRecord(r *Report, s *Site, x *Series, y *Year) []string {
	precision := ""
	if r.PrecisionPct > 0 {
		precision = full(r.PrecisionPct)
	}
	adequate := ""
	if y.Adequate != nil {
		adequate = strconv.FormatBool(*y.Adequate)
	}
	var longTerm *float64
	if y == x.latestWithMean() {
		longTerm = x.LongTerm
	}
	return []string{
		text(s.Code), strconv.Itoa(y.Year), text(x.Season), text(x.Component), text(r.Unit), text(r.Basis),
		strconv.Itoa(y.N), number(y.Mean), number(y.SD), number(y.SE), number(y.SEDrying), number(y.DF),
		number(y.CVPct), full(r.Confidence), number(y.Low), number(y.High), number(y.HallLow), number(y.HallHigh),
		strconv.Itoa(y.ZerosInferred), strconv.Itoa(y.Missing), number(y.BookPct), number(y.BookLow), number(y.BookHigh), number(y.HalfWidthPct), precision,
		number(y.Required), whole(y.Assured), whole(y.ShortBy), adequate,
		number(y.Detectable), number(longTerm), text(y.Class), number(y.shareOf(y.Class)), number(y.GrowthPct), number(y.FullSeason), remarkTexts(y.Remarks),
	}
}

func table(header []string, fill func(row func(...string))) []byte {
	var b bytes.Buffer
	w := csv.NewWriter(&b)
	// Writing to a buffer cannot fail.
	row := func(cells ...string) { _ = w.Write(cells) }
	row(header...)
	fill(row)
	w.Flush()
	return b.Bytes()
}

// text neutralises a cell that a spreadsheet would run as a formula, by one
// leading apostrophe. A cell that begins with an apostrophe before such a
// sign gets one too, so that stripping one always gives the text back.
func text(s string) string {
	if bare := strings.TrimLeft(s, "'"); bare != "" && strings.ContainsRune("=+-@\t\r", rune(bare[0])) {
		return "'" + s
	}
	return s
}

func full(v float64) string { return strconv.FormatFloat(v, 'g', -1, 64) }

func number(v *float64) string {
	if v == nil {
		return ""
	}
	return full(*v)
}

func whole(v *int) string {
	if v == nil {
		return ""
	}
	return strconv.Itoa(*v)
}
