package monitor_test

import (
	"fmt"
	"strings"
	"testing"

	"clipledger/monitor"
	"clipledger/schema"
	"clipledger/schema/ledgertest"
)

// A site that is planned for two seasons says which of them a sentence is of.
func TestPlanNamesTheSeason(t *testing.T) {
	r := ledgertest.Records{Sites: []schema.Site{{Site: "M", SamplingUnit: "frame"}, {Site: "N", SamplingUnit: "frame"}}}
	for year := 2015; year < 2021; year++ {
		for frame, dry := range []int{20, 25, 31 + year%3} {
			for _, at := range []struct{ site, season string }{{"M", "spring"}, {"M", "fall"}, {"N", "peak"}} {
				for _, c := range rows(t, fmt.Sprintf("%d %d herbaceous dry=%d", year, frame+1, dry)) {
					c.Site, c.Season = at.site, at.season
					r.Clippings = append(r.Clippings, c)
				}
			}
		}
	}
	var first []string
	ledgertest.Read(t, ledgertest.Path(t, r), func(s *schema.Snapshot) error {
		return monitor.Plan(s, monitor.PlanQuery{Costs: monitor.PlanCosts{Frame: 15}, ChangePct: 3, MoreFrames: 5, MoreYears: 5, MoreSites: 3}, func(row *monitor.PlanRow) error {
			if row.Conclusion != "" && row.Sites == 1 {
				name, _, _ := strings.Cut(row.Conclusion, ":")
				first = append(first, name)
			}
			return nil
		})
	})
	if got := strings.Join(first, ", "); got != "M fall, M spring, N" {
		t.Errorf("the sentences are of %s", got)
	}
}
