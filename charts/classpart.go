package charts

import (
	"fmt"
	"strconv"
)

// Which class is the site in, how sure is that, and what would the whole
// season have grown? The full-season figure stands beside the clipped one and
// is never mixed with it.

// classPart is the section; ok is false for a site without classes and without
// growth curve.
func classPart(r *Report, s *Site, page string, views []shown) (p part, ok bool) {
	classes, seasons := hasClass(s), hasFullSeason(s)
	if !classes && !seasons {
		return p, false
	}
	p = part{ID: "class", Heading: classHeading(classes, seasons), Caution: classes, Screen: true}
	if classes {
		p.Lead = append(p.Lead, classTitle(s))
	}
	if seasons {
		p.Lead = append(p.Lead, "Full season: what was clipped, divided by the share of growth completed by then. It rests on the growth curve as well as on the sample, and enters no mean, interval or trend of this page."+fullSeasonText(r, s))
	}
	t := &smallTable{ID: "classes", CSV: page, Title: "Every year", Folded: true, Caption: fmt.Sprintf("Dry matter in %s, %s; confidence is that of the class under the interval’s own distribution, no probability of the site’s state", r.Unit, r.Basis)}
	t.Head = append(t.Head, column{Short: "As clipped", Long: "mean of what was clipped"})
	if classes {
		t.Head = append(t.Head, column{Short: "Class", Long: "class of the mean", Words: true}, column{Short: "Confidence of every class", Long: "of classes with at least 1 %", Words: true})
	}
	if seasons {
		t.Head = append(t.Head, column{Short: "Growth\u00a0%", Long: "share of growth completed when clipped"}, column{Short: "Full season", Long: "as clipped, divided by that share"})
	}
	f := s.figures()
	rows := rows{width: len(t.Head) + 1}
	for _, v := range views {
		if !v.saysClass() {
			continue
		}
		rows.group(groupTitle(v))
		for i := range v.Years {
			y := &v.Years[i]
			cells := []any{f.show(y.Mean)}
			if classes {
				cells = append(cells, word(y.Class), word(sharesText(y)))
			}
			if seasons {
				cells = append(cells, percent(y.GrowthPct), f.show(y.FullSeason))
			}
			rows.row(strconv.Itoa(y.Year), cells...)
		}
	}
	t.Body = rows.body()
	p.Tables = []*smallTable{t}
	return p, true
}

// fullSeasonText is the headline's latest year with a full-season figure.
func fullSeasonText(r *Report, s *Site) string {
	x := s.headline()
	for i := len(x.Years) - 1; i >= 0; i-- {
		if y := &x.Years[i]; y.FullSeason != nil {
			f := s.figures()
			text := fmt.Sprintf(" In %d: %s as clipped", y.Year, f.show(y.Mean))
			if y.GrowthPct != nil {
				text += fmt.Sprintf(", with %s%s%% of growth completed", percent(y.GrowthPct), nbsp)
			}
			return fmt.Sprintf("%s; %s%s%s for the full season.", text, f.show(y.FullSeason), nbsp, r.Unit)
		}
	}
	return ""
}

func (x *Series) saysClass() bool {
	for i := range x.Years {
		if x.Years[i].Class != "" || x.Years[i].FullSeason != nil {
			return true
		}
	}
	return false
}

func hasFullSeason(s *Site) bool {
	for i := range s.Series {
		for j := range s.Series[i].Years {
			if s.Series[i].Years[j].FullSeason != nil {
				return true
			}
		}
	}
	return false
}

func classHeading(classes, seasons bool) string {
	switch {
	case classes && seasons:
		return "Class, and the full season"
	case classes:
		return "Class"
	}
	return "The full season"
}

// classTitle says in which class the latest year is, and how the years fell.
func classTitle(s *Site) string {
	for i := range s.Series {
		x := &s.Series[i]
		for j := len(x.Years) - 1; j >= 0; j-- {
			y := &x.Years[j]
			if y.Class == "" {
				continue
			}
			text := fmt.Sprintf("In %d %s is in class “%s”", y.Year, s.label(x), y.Class)
			if share := y.shareOf(y.Class); share != nil {
				text += " with a confidence of " + sure(*share)
			}
			if last := x.latestWithMean(); last != nil && last.Year != y.Year {
				return text + "."
			}
			return text + ". " + classCounts(x)
		}
	}
	return ""
}

func (y *Year) shareOf(label string) *float64 {
	for i := range y.ClassShares {
		if y.ClassShares[i].Label == label {
			return &y.ClassShares[i].Share
		}
	}
	return nil
}

// classCounts says how many years fell in each class, lowest first.
func classCounts(x *Series) string {
	n := map[string]int{}
	judged := 0
	for i := range x.Years {
		if c := x.Years[i].Class; c != "" {
			n[c]++
			judged++
		}
	}
	if judged < 2 {
		return ""
	}
	var words []string
	for _, c := range x.Classes {
		if n[c.Label] > 0 {
			words = append(words, fmt.Sprintf("%d in “%s”", n[c.Label], c.Label))
		}
	}
	if len(words) == 0 {
		return ""
	}
	return fmt.Sprintf("Of %d years, %s.", judged, join(words))
}

// sharesText lists the confidence of every class that has any to speak of.
func sharesText(y *Year) string {
	var words []string
	for _, c := range y.ClassShares {
		if c.Share >= 0.01 {
			words = append(words, c.Label+" "+sure(c.Share))
		}
	}
	return joinComma(words)
}

func joinComma(words []string) string {
	text := ""
	for i, w := range words {
		if i > 0 {
			text += ", "
		}
		text += w
	}
	return text
}
