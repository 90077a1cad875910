package charts

import (
	"fmt"
	"slices"
	"strings"
)

// What do the years say together? Sentences for the head of a page, and the
// table of every method.

// trendLead are the composed sentences that stand under the finding: of the
// headline, and of parts whose trend was detected.
func trendLead(s *Site, views []shown) []string {
	var out []string
	for _, v := range views {
		if v.Trend == nil || v.Trend.Sentence == "" {
			continue
		}
		if v.Series == s.headline() || v.Production && !v.brief && v.Trend.Detected() {
			out = append(out, v.Trend.Sentence)
		}
	}
	return out
}

// trendCaption is the sentence of a part that the head of the page leaves out.
func trendCaption(s *Site, v shown) string {
	if v.Trend == nil || v.Series == s.headline() || v.Production && v.Trend.Detected() {
		return ""
	}
	return v.Trend.Sentence + " "
}

var methodWords = map[string]string{"ols": "least squares: the verdict", "theil-sen": "Theil–Sen, Mann–Kendall", "ols-rain": "least squares, rain held", "mixed": "frames and years random"}

// trendsTable holds every method of every series; nil without any.
func trendsTable(r *Report, s *Site, views []shown, page string) *smallTable {
	f := s.figures().finer()
	t := &smallTable{ID: "trends", Title: "Trends by every method", Folded: true, CSV: page + "-trends",
		Caption: fmt.Sprintf("Slopes in %s a year with %s intervals. “Could be seen” is the smallest slope that would have been found four times in five", r.Unit, share(r.Confidence)),
		Head: []column{{Short: "Years", Long: "years used"}, {Short: "Slope", Long: "change a year"}, {Short: "Interval", Long: "interval of the slope"}, {Short: "%\u00a0a year", Long: "slope in % of the mean"},
			{Short: "p", Long: "p of the slope"}, {Short: "Verdict", Long: "verdict", Words: true}, {Short: "Could be seen", Long: "smallest slope that would have been found four times in five"}}}
	rows := rows{width: len(t.Head) + 1}
	for _, v := range views {
		if v.Trend == nil || v.brief || len(v.Trend.Methods) == 0 {
			continue
		}
		rows.group(groupTitle(v))
		for i := range v.Trend.Methods {
			m := &v.Trend.Methods[i]
			name := methodWords[m.Name]
			if name == "" {
				name = m.Name
			}
			pct := ""
			if m.Pct != nil {
				pct = plus(trimmed(*m.Pct, 1))
			}
			rows.row(name, fmt.Sprint(m.Years), f.signed(m.Slope), f.signedSpan(m.Low, m.High), pct, probability(m.P), word(m.Verdict), f.show(m.MinDetectable))
		}
	}
	if len(rows.b) == 0 {
		return nil
	}
	t.Body = rows.body()
	return t
}

// trendNotes are the remarks on trends, each once, with the series they stand
// at. Events are left out: the chart shows them.
func trendNotes(s *Site, views []shown) []string {
	said := map[string]bool{}
	for _, m := range s.Remarks {
		said[clipped(m.Text)] = true
	}
	var texts, names []string
	add := func(m Remark, name string) {
		if strings.HasPrefix(m.Text, "event: ") || said[clipped(m.Text)] {
			return
		}
		texts, names = append(texts, m.Text), append(names, name)
	}
	for _, v := range views {
		if v.Trend == nil || v.brief {
			continue
		}
		for _, m := range v.Trend.Remarks {
			add(m, s.label(v.Series))
		}
		for i := range v.Trend.Methods {
			for _, m := range v.Trend.Methods[i].Remarks {
				add(m, s.label(v.Series))
			}
		}
	}
	var order, out []string
	where := map[string][]string{}
	for i, text := range condense(texts) {
		if where[text] == nil {
			order = append(order, text)
		}
		if !slices.Contains(where[text], names[i]) {
			where[text] = append(where[text], names[i])
		}
	}
	for _, text := range order {
		out = append(out, sentence(text)+" ("+join(where[text])+")")
	}
	return out
}
