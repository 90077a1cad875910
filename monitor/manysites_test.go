package monitor_test

import (
	"encoding/csv"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"clipledger/monitor"
	"clipledger/monitor/stat"
	"clipledger/schema"
	"clipledger/schema/ledgertest"
)

func regionsOf(t testing.TB, path string, q monitor.Query, across string) []*monitor.Region {
	t.Helper()
	var out []*monitor.Region
	ledgertest.Read(t, path, func(s *schema.Snapshot) error {
		return monitor.Regions(s, q, across, func(r *monitor.Region) error {
			out = append(out, r)
			return nil
		})
	})
	return out
}

func hasRemark(remarks []monitor.Remark, code string) bool {
	for _, r := range remarks {
		if r.Code == code {
			return true
		}
	}
	return false
}

// Four invented sites of six years with a closed form: the slope is that of the
// year means with T - 2 degrees of freedom, and the regional Kendall test needs
// the covariances (testdata/reference/stat-site-year.csv). Taking the 24 values
// as independent would give p = .0059 without the years.
func TestRegionOfFourSitesClosedForm(t *testing.T) {
	file, err := os.Open(filepath.Join("..", "testdata", "reference", "stat-site-year.csv"))
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	lines, err := csv.NewReader(file).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var r ledgertest.Records
	for _, s := range []string{"A", "B", "C", "D"} {
		r.Sites = append(r.Sites, schema.Site{Site: s, Stratum: "Flats", SamplingUnit: "frame", Selection: "chosen"})
	}
	for _, line := range lines[1:] {
		year, _ := strconv.Atoi(line[0])
		y, err := strconv.ParseFloat(line[2], 64)
		if err != nil {
			t.Fatal(err)
		}
		r.Clippings = append(r.Clippings, clipped(line[1], year, "1", y))
	}
	q := monitor.Query{}
	q.Components = []string{"herbaceous"}
	got := regionsOf(t, ledgertest.Path(t, r), q, monitor.AcrossStratum)
	if len(got) != 1 || got[0].Site.Site != "stratum Flats" || len(got[0].Trends) != 2 {
		t.Fatalf("%+v", got)
	}
	ols, kendall := got[0].Trends[0], got[0].Trends[1]
	if ols.Method != monitor.MethodOLS || !hasRemark(ols.Remarks, "few-sites") || !hasRemark(got[0].Remarks, "chosen") {
		t.Errorf("%+v", ols)
	}
	for _, c := range []struct {
		what      string
		got       monitor.Num
		want, tol float64
	}{
		{"slope", ols.Slope, -29.0571428571, 1e-9}, {"standard error", ols.SE, 19.9331715121, 1e-9},
		{"degrees of freedom", ols.DF, 4, 0}, {"p", ols.P, 0.2186560, 5e-8},
		{"S", kendall.Statistic, -28, 0}, {"p of S", kendall.P, 0.2048, 5e-5},
	} {
		if !c.got.Valid || math.Abs(c.got.Float64-c.want) > c.tol {
			t.Errorf("%s: %+v, want %v", c.what, c.got, c.want)
		}
	}
	if ols.Verdict != monitor.NoTrend || kendall.Verdict != monitor.NoTrend || !strings.HasPrefix(got[0].Sentence, "No trend in herbaceous growth is detected over 4 sites and 6 years") {
		t.Errorf("%s, %s: %s", ols.Verdict, kendall.Verdict, got[0].Sentence)
	}
}

// sixSites is six sites of two strata over eight years: five that fall, one of
// them not visited in two years, and one visited twice.
func sixSites() ledgertest.Records {
	var r ledgertest.Records
	for s := range 6 {
		name := fmt.Sprintf("S%d", s)
		stratum := "Low"
		if s >= 3 {
			stratum = "High"
		}
		r.Sites = append(r.Sites, schema.Site{Site: name, Stratum: stratum, SamplingUnit: "frame", AreaHa: schema.Some(float64(10 * (s + 1)))})
		for year := 2011; year <= 2018; year++ {
			if s == 1 && year > 2016 || s == 5 && year < 2017 {
				continue
			}
			level := 200 + 30*float64(s) - 9*float64(year-2011) + 12*math.Sin(float64(5*year)) + 8*math.Sin(float64(31*s+7*year))
			for f, spread := range []float64{-20, -5, 5, 20} {
				r.Clippings = append(r.Clippings, clipped(name, year, fmt.Sprint(f+1), level+spread))
			}
		}
	}
	return r
}

func TestRegionOfAllSites(t *testing.T) {
	path := ledgertest.Path(t, sixSites())
	q := monitor.Query{}
	q.Components = []string{"herbaceous"}
	got := regionsOf(t, path, q, monitor.AcrossLedger)
	if len(got) != 1 || got[0].Site.Site != monitor.AllSites || got[0].Model == nil {
		t.Fatalf("%+v", got)
	}
	r := got[0]
	if len(r.Sites) != 5 || len(r.LeftOut) != 1 || r.LeftOut[0] != "S5" || !hasRemark(r.Remarks, "sites-left-out") || !hasRemark(r.Remarks, "site-adjusted") || !hasRemark(r.Remarks, "sites-alike") {
		t.Errorf("%d sites, left out %v, %+v", len(r.Sites), r.LeftOut, r.Remarks)
	}
	// The same from the means of the same sites, straight to the model.
	place := map[string]int{"S0": 0, "S1": 1, "S2": 2, "S3": 3, "S4": 4}
	var y []float64
	var site, year []int
	for _, m := range meansOf(t, path, q) {
		if k, ok := place[m.Site.Site]; ok {
			y, site, year = append(y, m.Mean.Float64), append(site, k), append(year, m.Year)
		}
	}
	want, err := stat.SiteYearTrend(y, site, year)
	if err != nil {
		t.Fatal(err)
	}
	mixed := r.Trends[0]
	if mixed.Method != monitor.MethodMixed || math.Abs(mixed.Slope.Float64-want.Slope) > 1e-9 || math.Abs(mixed.P.Float64-want.P) > 1e-9 || mixed.Verdict != monitor.Decreasing {
		t.Errorf("%+v, want %+v", mixed, want)
	}
	if !strings.HasPrefix(r.Sentence, "Herbaceous growth fell ") || !strings.Contains(r.Sentence, "over 5 sites (p") {
		t.Error(r.Sentence)
	}
	if !strings.Contains(r.Planning, "three times the sites") {
		t.Error(r.Planning)
	}
	var share float64
	sources := r.Sources()
	for _, v := range sources {
		share += v.SharePct.Float64
	}
	if len(sources) != 4 || math.Abs(share-100) > 1e-9 || sources[1].SharePct.Float64 != 0 {
		t.Errorf("%+v", sources)
	}

	// By stratum there are too few sites for the model.
	for _, r := range regionsOf(t, path, q, monitor.AcrossStratum) {
		if r.Model != nil || r.Trends[0].Method != monitor.MethodOLS || r.Planning != "" || r.Sources() != nil {
			t.Errorf("%s: %+v", r.Site.Site, r.Trends[0])
		}
	}
}

// Odd records: an answer with a remark, never a NaN.
func TestRegionsOfOddRecords(t *testing.T) {
	for name, value := range map[string]func(s, year int) float64{
		"all zero":      func(int, int) float64 { return 0 },
		"all equal":     func(int, int) float64 { return 81 },
		"sites differ":  func(s, _ int) float64 { return float64(10 + s) },
		"years differ":  func(_, year int) float64 { return float64(year - 2000) },
		"only rounding": func(s, year int) float64 { return 100 + 1e-13*float64(s*year) },
	} {
		for _, years := range []int{1, 2, 3, 4, 6} {
			var r ledgertest.Records
			for s := range 6 {
				r.Sites = append(r.Sites, schema.Site{Site: fmt.Sprint("S", s), SamplingUnit: "frame"})
				for k := range years {
					r.Clippings = append(r.Clippings, clipped(fmt.Sprint("S", s), 2011+k, "1", value(s, 2011+k)))
				}
			}
			path := ledgertest.Path(t, r)
			for _, across := range []string{monitor.AcrossStratum, monitor.AcrossLedger} {
				for _, g := range regionsOf(t, path, monitor.Query{}, across) {
					if g.Sentence == "" || len(g.Trends) == 0 {
						t.Errorf("%s, %d years: %+v", name, years, g)
					}
					for _, tr := range g.Trends {
						for _, n := range []monitor.Num{tr.Slope, tr.SE, tr.P, tr.Statistic, tr.DF, tr.CI.Low, tr.CI.High, tr.MinDetectable} {
							if math.IsNaN(n.Float64) || math.IsInf(n.Float64, 0) {
								t.Errorf("%s, %d years: %+v", name, years, tr)
							}
						}
						if years < 5 && tr.Verdict != monitor.TooFewYears && tr.Verdict != "" {
							t.Errorf("%s, %d years: verdict %q", name, years, tr.Verdict)
						}
					}
				}
			}
		}
	}
}
