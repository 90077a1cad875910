package monitor_test

import (
	"testing"

	"clipledger/monitor"
	"clipledger/schema/ledgertest"
)

// Production is the sum of its parts: by frames where the parts share frames,
// else by means.

func TestFrameTotalNeedsEveryPart(t *testing.T) {
	text := `2020 1 herbaceous dry=10
		2020 1 browse dry=5
		2020 2 herbaceous dry=20
		2020 2 browse lost
		2020 3 herbaceous dry=30
		2020 3 browse dry=7
		2020 3 litter dry=100
		2020 3 standing-dead dry=50`
	path := ledgertest.Path(t, ledgertest.Records{Sites: siteA("herbaceous;browse"), Clippings: rows(t, text)})
	m := meanOf(t, path, 2020, "production")
	// Frame 2 counted with herbaceous alone would give 24; litter is no production.
	near(t, "production", m.Mean, (15.0+37)/2, 1e-12)
	if m.N != 2 || m.Missing != 1 {
		t.Errorf("n %d, missing %d; want 2 and 1", m.N, m.Missing)
	}
	near(t, "herbaceous", meanOf(t, path, 2020, "herbaceous").Mean, 20, 1e-12)
	near(t, "browse", meanOf(t, path, 2020, "browse").Mean, 6, 1e-12)
	soundLedger(t, path)
}

func TestPartsThatDoNotAddUpAreSaid(t *testing.T) {
	for _, tt := range []struct {
		name, rows string
		total      float64
		differ     bool
	}{
		{"they add up", "2020 1 herbaceous dry=10\n2020 1 browse dry=4\n2020 2 herbaceous dry=20\n2020 2 browse dry=6", 20, false},
		{"a bag was lost", "2020 1 herbaceous dry=10\n2020 1 browse dry=4\n2020 2 herbaceous dry=20\n2020 2 browse lost", 14, true},
	} {
		t.Run(tt.name, func(t *testing.T) {
			path := ledgertest.Path(t, ledgertest.Records{Sites: siteA("herbaceous;browse"), Clippings: rows(t, tt.rows)})
			m := meanOf(t, path, 2020, "production")
			near(t, "production", m.Mean, tt.total, 1e-12)
			if _, said := remark(m, "parts-differ"); said != tt.differ {
				t.Errorf("said that the parts do not add up: %v, want %v", said, tt.differ)
			}
		})
	}
}

// Four herbaceous frames (variance 20/3) and three shrub plots (variance 13):
// the total is 13 + 5, se² = (20/3)/4 + 13/3 = 6, and Satterthwaite's df are
// 36/((5/3)²/3 + (13/3)²/2) = 972/278.5. The interval by qt in R 4.2.
func TestTotalOfPartsOnFramesOfTheirOwn(t *testing.T) {
	text := `2020 1 herbaceous dry=10
		2020 2 herbaceous dry=12
		2020 3 herbaceous dry=14
		2020 4 herbaceous dry=16
		2020 P1 browse dry=8 type=4_m2
		2020 P2 browse dry=16 type=4_m2
		2020 P3 browse dry=36 type=4_m2`
	path := ledgertest.Path(t, ledgertest.Records{Sites: siteA("herbaceous@1 m2;browse@4 m2"), Clippings: rows(t, text)})
	m := meanOf(t, path, 2020, "production")
	near(t, "mean", m.Mean, 18, 1e-12)
	near(t, "se²", monitor.Num{Float64: m.SE.Float64 * m.SE.Float64, Valid: m.SE.Valid}, 6, 1e-12)
	near(t, "df", m.DF, 972/278.5, 1e-12)
	near(t, "low", m.CI.Low, 12.55097058463, 1e-8)
	near(t, "high", m.CI.High, 23.44902941537, 1e-8)
	says(t, m, "sum-of-means", false)
	silent(t, m, "parts-differ")
	soundLedger(t, path)
}

func TestTotalOfPartsOnFramesOfTheirOwnWithAPartWithoutMean(t *testing.T) {
	text := `2020 1 herbaceous dry=10
		2020 2 herbaceous dry=12
		2020 P1 browse lost type=4_m2
		2020 P2 browse lost type=4_m2`
	path := ledgertest.Path(t, ledgertest.Records{Sites: siteA("herbaceous@1 m2;browse@4 m2"), Clippings: rows(t, text)})
	m := meanOf(t, path, 2020, "production")
	absent(t, "production with all browse lost", m.Mean) // 11 by herbaceous alone
	says(t, m, "part-missing", true)
}

func TestYearlyTotalAcrossSeasons(t *testing.T) {
	text := `2020 1 herbaceous dry=10 season=summer
		2020 2 herbaceous dry=14 season=summer
		2020 P1 browse dry=8 type=4_m2 season=fall
		2020 P2 browse dry=24 type=4_m2 season=fall
		2021 1 herbaceous dry=10 season=summer
		2021 2 herbaceous dry=14 season=summer`
	path := ledgertest.Path(t, ledgertest.Records{Sites: siteA("herbaceous@1 m2/summer;browse@4 m2/fall"), Clippings: rows(t, text)})
	m := meanOf(t, path, 2020, "production")
	near(t, "production", m.Mean, 12+4, 1e-12)
	if m.Season != "summer+fall" {
		t.Errorf("season %q, want summer+fall", m.Season)
	}
	// Variances 8/2 and 8/2 on one degree of freedom each.
	near(t, "se²", monitor.Num{Float64: m.SE.Float64 * m.SE.Float64, Valid: m.SE.Valid}, 8, 1e-12)
	near(t, "df", m.DF, 2, 1e-12)
	says(t, m, "yearly-total", false)

	next := meanOf(t, path, 2021, "production")
	absent(t, "production of a year without its fall clipping", next.Mean)
	says(t, next, "part-missing", true)
	soundLedger(t, path)
}

// A stray fall bag of grass does not undo what the site declares.
func TestYearlyTotalFollowsTheDeclaration(t *testing.T) {
	text := `2020 1 herbaceous dry=10 season=summer
		2020 P1 browse dry=8 type=4_m2 season=fall
		2021 1 herbaceous dry=12 season=summer
		2021 P1 browse dry=16 type=4_m2 season=fall
		2021 P1 herbaceous dry=4 type=4_m2 season=fall`
	path := ledgertest.Path(t, ledgertest.Records{Sites: siteA("herbaceous/summer;browse/fall"), Clippings: rows(t, text)})
	near(t, "production 2020", meanOf(t, path, 2020, "production").Mean, 10+2, 1e-12)
	near(t, "production 2021", meanOf(t, path, 2021, "production").Mean, 12+4, 1e-12)
}
