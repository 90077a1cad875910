package monitor

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
)

// What must be known beside the rows of a summary.

// ChangedMost lists the sites of a row that changed most from the year before,
// by the size of the change in percent, whether or not it is significant.
func (s *Summary) ChangedMost(most int) []SummarySite {
	var out []SummarySite
	for _, x := range s.Sites {
		if x.ChangePct.Valid {
			out = append(out, x)
		}
	}
	slices.SortStableFunc(out, func(a, b SummarySite) int {
		return cmp.Compare(math.Abs(b.ChangePct.Float64), math.Abs(a.ChangePct.Float64))
	})
	return out[:min(most, len(out))]
}

func (s *Summary) remark() {
	if len(s.Sites) == 1 && !s.All {
		s.note("one-site", "one site: nothing is known of how sites of the stratum differ, so no interval between sites")
	} else if len(s.Sites) > 1 && !s.CI.Low.Valid && s.Mean.Valid {
		s.note("one-site", "a stratum with one site leaves the whole without an interval")
	}
	if s.All && s.Mean.Valid && !s.Weighted {
		s.note("unweighted", "the areas of some sites are not known: every site counts alike")
	} else if s.All && s.Mean.Valid {
		s.note("weighted", "strata count by the areas of their sites")
	}
	s.remarkSites()
	if n := len(s.NotVisited); n > 0 {
		s.note("not-visited", "not visited: "+namesOf(s.NotVisited, 8))
	}
	if s.ChangePct.Valid && s.ChangeOf < len(s.Sites) {
		s.note("change-of", fmt.Sprintf("the change from last year is of the %s visited in both years", sitesWord(s.ChangeOf)))
	}
	if !s.All {
		return
	}
	var words []string
	for _, x := range s.ChangedMost(3) {
		words = append(words, fmt.Sprintf("%s %+.0f %%", x.Site.Site, x.ChangePct.Float64))
	}
	if len(words) > 1 {
		s.note("changed-most", "changed most from last year, significantly or not: "+strings.Join(words, ", "))
	}
}

// remarkSites passes on what must be known of the sites behind a row.
func (s *Summary) remarkSites() {
	chosen, few, fewest := 0, 0, 0
	var totals, loud []string
	for i := range s.Sites {
		x := &s.Sites[i]
		if x.Site.Selection == "chosen" {
			chosen++
		}
		if x.LongTerm.Valid && x.Earlier < 5 {
			few++
			if fewest == 0 || x.Earlier < fewest {
				fewest = x.Earlier
			}
		}
		if x.Season != s.Season {
			totals = append(totals, x.Site.Site)
		}
		if slices.ContainsFunc(x.Remarks, func(r Remark) bool { return r.Loud }) {
			loud = append(loud, x.Site.Site)
		}
	}
	if chosen > 0 {
		s.warn("chosen", fmt.Sprintf("%d of %s chosen, not drawn: this is the mean of these sites, not of the whole stratum", chosen, sitesWord(len(s.Sites))))
	}
	if len(totals) > 0 {
		s.note("yearly-total", "the year's total takes each component in its own season at "+namesOf(totals, 8))
	}
	if few > 0 {
		s.note("short-record", fmt.Sprintf("the long-term mean of %s rests on fewer than 5 earlier years (%d at the least)", sitesWord(few), fewest))
	}
	if len(loud) > 0 {
		s.warn("look-at", "see the remarks on the means of "+namesOf(loud, 8)+" (clipledger means)")
	}
}

func sitesWord(n int) string {
	if n == 1 {
		return "1 site"
	}
	return fmt.Sprintf("%d sites", n)
}

// namesOf names the first of many.
func namesOf(names []string, most int) string {
	if len(names) <= most {
		return strings.Join(names, ", ")
	}
	return fmt.Sprintf("%s and %d more", strings.Join(names[:most], ", "), len(names)-most)
}
