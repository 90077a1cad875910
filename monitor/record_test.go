package monitor_test

import (
	"fmt"
	"slices"
	"testing"

	"clipledger/monitor"
	"clipledger/schema"
	"clipledger/schema/ledgertest"
)

// TestEverything holds the one pass to what Means, Trends and Summaries give
// by themselves, for queries that narrow it in every way.
func TestEverything(t *testing.T) {
	path := summaryLedger(t, true)
	for name, q := range map[string]monitor.Query{
		"all":           {Filter: monitor.Filter{LastYear: 2021}},
		"late years":    {Filter: monitor.Filter{FirstYear: 2020, LastYear: 2021}},
		"a middle year": {Filter: monitor.Filter{FirstYear: 2020, LastYear: 2020}},
		"a component":   {Filter: monitor.Filter{LastYear: 2021, Components: []string{"herbaceous"}}},
		"a season":      {Filter: monitor.Filter{LastYear: 2021, Seasons: []string{"peak"}}},
		"some sites":    {Filter: monitor.Filter{LastYear: 2021, Sites: []string{"H*", "F1"}}, Confidence: 0.8, Assured: true},
		"a stratum":     {Filter: monitor.Filter{LastYear: 2021, Strata: []string{"Flats"}}},
	} {
		var one, apart []string
		sinks := func(into *[]string) monitor.Sinks {
			return monitor.Sinks{
				Mean: func(m *monitor.Mean) error {
					*into = append(*into, fmt.Sprint("mean ", m.Site.Site, m.Year, m.Season, m.Component, m.N, m.Mean, m.CI, m.NRequired, m.NAssured, m.Remarks))
					return nil
				},
				Series: func(s *monitor.Series) error {
					*into = append(*into, fmt.Sprint("series ", s.Site.Site, s.Season, s.Component, len(s.Years), s.Sentence, s.Mean, s.Remarks))
					return nil
				},
				Summary: func(s *monitor.Summary) error {
					*into = append(*into, fmt.Sprint("summary ", s.Stratum, s.All, s.Year, s.Component, s.N, s.Mean, s.CI, s.ChangePct, s.LongTerm, s.NotVisited, len(s.Sites), s.Remarks))
					return nil
				},
			}
		}
		ledgertest.Read(t, path, func(s *schema.Snapshot) error {
			if err := monitor.Everything(s, q, sinks(&one)); err != nil {
				return err
			}
			to := sinks(&apart)
			if err := monitor.Means(s, q, to.Mean); err != nil {
				return err
			}
			if err := monitor.Trends(s, q, to.Series); err != nil {
				return err
			}
			return monitor.Summaries(s, q, to.Summary)
		})
		slices.Sort(one)
		slices.Sort(apart)
		if !slices.Equal(one, apart) || len(apart) < 6 {
			t.Errorf("%s: one pass gives %d results, apart %d:\n%v\n%v", name, len(one), len(apart), one, apart)
		}
	}
}
