package monitor_test

import (
	"fmt"
	"strings"
	"testing"

	"clipledger/monitor"
	"clipledger/schema"
	"clipledger/schema/ledgertest"
)

// Three strata: Hills with two sites, Flats with three, Ridge with one. Every
// site is two frames that weigh its mean ∓ 1, so that each has an interval.
// H1 was not visited in 2021, F3 began in 2021.
var summarySites = []struct {
	site, stratum string
	areaHa        float64
	mean          map[int]float64
}{
	{"H1", "Hills", 100, map[int]float64{2018: 40, 2019: 60, 2020: 50}},
	{"H2", "Hills", 200, map[int]float64{2018: 20, 2019: 40, 2020: 30, 2021: 60}},
	{"F1", "Flats", 50, map[int]float64{2020: 100, 2021: 120}},
	{"F2", "Flats", 50, map[int]float64{2020: 140, 2021: 140}},
	{"F3", "Flats", 100, map[int]float64{2021: 190}},
	{"R1", "Ridge", 500, map[int]float64{2020: 10, 2021: 8}},
}

func summaryLedger(t testing.TB, areas bool) string {
	t.Helper()
	var r ledgertest.Records
	for _, s := range summarySites {
		site := schema.Site{Site: s.site, Stratum: s.stratum, SamplingUnit: "frame", Components: declared("herbaceous")}
		if areas {
			site.AreaHa = schema.Some(s.areaHa)
		}
		r.Sites = append(r.Sites, site)
		for year, mean := range s.mean {
			text := fmt.Sprintf("%d 1 herbaceous dry=%g\n%d 2 herbaceous dry=%g", year, mean-1, year, mean+1)
			for _, c := range rows(t, text) {
				c.Site = s.site
				r.Clippings = append(r.Clippings, c)
			}
		}
	}
	return ledgertest.Path(t, r)
}

func summariesOf(t testing.TB, path string, first, last int) map[string]*monitor.Summary {
	t.Helper()
	q := monitor.Query{}
	q.FirstYear, q.LastYear, q.Components = first, last, []string{"herbaceous"}
	out := map[string]*monitor.Summary{}
	ledgertest.Read(t, path, func(s *schema.Snapshot) error {
		return monitor.Summaries(s, q, func(row *monitor.Summary) error {
			name := row.Stratum
			if row.All {
				name = "all"
			}
			out[name] = row
			return nil
		})
	})
	return out
}

func TestSummaryOfAStratum(t *testing.T) {
	got := summariesOf(t, summaryLedger(t, true), 2021, 2021)
	f := got["Flats"]
	near(t, "mean of sites alike", f.Mean, 150, 1e-12)
	// sd of 120, 140, 190 is 36.0555; t(.95, 2) = 2.919986 (tables): ± 60.784
	near(t, "low", f.CI.Low, 150-60.7843, 1e-3)
	near(t, "high", f.CI.High, 150+60.7843, 1e-3)
	near(t, "change of the sites visited in both years", f.ChangePct, 100*(130.0/120-1), 1e-12)
	near(t, "long-term mean of the sites that have one", f.LongTerm, 120, 1e-12)
	near(t, "percent of it, of the same sites", f.PctOfMean, 100*130.0/120, 1e-12)
	if len(f.Sites) != 3 || f.N != 6 || f.ChangeOf != 2 {
		t.Errorf("%d sites, n %d, change of %d", len(f.Sites), f.N, f.ChangeOf)
	}
	h := got["Hills"]
	if len(h.Sites) != 1 || strings.Join(h.NotVisited, " ") != "H1" {
		t.Errorf("sites %d, not visited %v; want H2 alone, and H1", len(h.Sites), h.NotVisited)
	}
	near(t, "H1 is in neither year of the change", h.ChangePct, 100, 1e-12)
	near(t, "long-term mean has equal weights for years", h.LongTerm, 30, 1e-12)
	absent(t, "one site", h.CI.Low)
	if !remarked(h.Remarks, "one-site") || !remarked(h.Remarks, "not-visited") {
		t.Errorf("remarks %v", h.Remarks)
	}
}

// Strata count by the areas of all their sites, also those not visited.
func TestSummaryOfAllStrataIsWeightedByArea(t *testing.T) {
	all := summariesOf(t, summaryLedger(t, true), 2021, 2021)["all"]
	near(t, "mean", all.Mean, (300*60+200*150+500*8)/1000.0, 1e-12)
	absent(t, "strata with one site leave no interval", all.CI.Low)
	near(t, "change", all.ChangePct, 100*((300*60+200*130+500*8)/(300*30+200*120+500*10.0)-1), 1e-12)
	all = summariesOf(t, summaryLedger(t, false), 2021, 2021)["all"]
	near(t, "without areas every site counts alike", all.Mean, (60+120+140+190+8)/5.0, 1e-12)
	if all.Weighted || !remarked(all.Remarks, "unweighted") {
		t.Errorf("weighted %v, remarks %v", all.Weighted, all.Remarks)
	}
	if most := all.ChangedMost(2); len(most) != 2 || most[0].Site.Site != "H2" || most[1].Site.Site != "F1" && most[1].Site.Site != "R1" {
		t.Errorf("changed most: %v", most)
	}
}

// Without --year it is the ledger's last growth year; a first year has nothing
// to be compared with.
func TestSummaryYears(t *testing.T) {
	path := summaryLedger(t, true)
	if got := summariesOf(t, path, 0, 0)["all"]; got.Year != 2021 {
		t.Errorf("year %d, want the last", got.Year)
	}
	first := summariesOf(t, path, 2018, 2018)["all"]
	near(t, "mean", first.Mean, 30, 1e-12)
	absent(t, "change of the first year", first.ChangePct)
	absent(t, "long-term mean of the first year", first.LongTerm)
	if got := summariesOf(t, path, 1990, 1995); len(got) > 0 {
		t.Errorf("rows of years without means: %v", got)
	}
}
