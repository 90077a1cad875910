package charts

import (
	"fmt"
	"strconv"
	"strings"
)

var summaryHeader = []string{
	"stratum", "site", "year", "season", "component", "unit", "basis", "sites", "n", "mean", "confidence", "ci_low", "ci_high", "change_pct", "change_of_sites",
	"long_term_mean", "pct_of_mean", "rain_pct", "judged_sites", "adequate_sites", "adequate", "n_required", "short_by", "class", "not_visited", "remarks",
}

// summaryCSV holds the rows of every summarised year: a stratum, all of them
// ("all"), and under each stratum its sites.
func summaryCSV(r *Report) []byte {
	return table(summaryHeader, func(row func(...string)) {
		for i := range r.Summaries {
			y := &r.Summaries[i]
			for j := range y.Rows {
				x := &y.Rows[j]
				row(stratumRecord(r, y.Year, x)...)
				for k := range x.Each {
					if !x.All {
						row(siteRecord(r, y.Year, x, &x.Each[k])...)
					}
				}
			}
		}
	})
}

func stratumRecord(r *Report, year int, x *SummaryRow) []string {
	name := text(x.Stratum)
	if x.All {
		name = "all"
	}
	var classes, remarks []string
	for _, c := range x.Classes {
		classes = append(classes, fmt.Sprintf("%s: %d", c.Label, c.Sites))
	}
	for _, m := range x.Remarks {
		remarks = append(remarks, m.Text)
	}
	changeOf := ""
	if x.ChangePct != nil {
		changeOf = strconv.Itoa(x.ChangeOf)
	}
	return []string{name, "", strconv.Itoa(year), text(x.Season), text(x.Component), text(r.Unit), text(r.Basis), strconv.Itoa(x.Sites), strconv.Itoa(x.N),
		number(x.Mean), full(r.Confidence), number(x.Low), number(x.High), number(x.ChangePct), changeOf, number(x.LongTerm), number(x.PctOfMean), number(x.RainPct),
		strconv.Itoa(x.Judged), strconv.Itoa(x.Adequate), "", "", "", text(strings.Join(classes, "; ")), text(strings.Join(x.NotVisited, "; ")), text(strings.Join(remarks, "; "))}
}

func siteRecord(r *Report, year int, x *SummaryRow, s *SummarySite) []string {
	adequate := ""
	if s.Adequate != nil {
		adequate = strconv.FormatBool(*s.Adequate)
	}
	return []string{text(x.Stratum), text(s.Code), strconv.Itoa(year), text(x.Season), text(x.Component), text(r.Unit), text(r.Basis), "", strconv.Itoa(s.N),
		number(s.Mean), full(r.Confidence), number(s.Low), number(s.High), number(s.ChangePct), "", number(s.LongTerm), number(s.PctOfMean), number(s.RainPct),
		"", "", adequate, number(s.Required), whole(s.ShortBy), text(s.Class), "", ""}
}
