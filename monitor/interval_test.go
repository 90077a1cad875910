package monitor_test

import (
	"fmt"
	"strings"
	"testing"

	"clipledger/monitor"
	"clipledger/schema"
	"clipledger/schema/ledgertest"
)

// The numbers beside a mean, through the whole pipeline: from records to
// intervals. Frames are one square metre, so that grams are g/m².

// dryFrames makes one herbaceous frame a weight, in the words of rows.
func dryFrames(year int, weights ...float64) string {
	var b strings.Builder
	for i, w := range weights {
		fmt.Fprintf(&b, "%d %d herbaceous dry=%.17g\n", year, i+1, w)
	}
	return b.String()
}

func ledgerOf(t testing.TB, site schema.Site, settings map[string]string, text string, drying ...schema.Drying) string {
	t.Helper()
	site.Site = "A"
	if site.SamplingUnit == "" {
		site.SamplingUnit = "frame"
	}
	return ledgertest.Path(t, ledgertest.Records{Settings: settings, Sites: []schema.Site{site}, Clippings: rows(t, text), Drying: drying})
}

// Zeros are data. Made-up weights; mean, sd and interval by R 4.2. Dropping
// the three zeros would give 15.142857.
func TestZerosCountInMeanAndInterval(t *testing.T) {
	text := dryFrames(2020, 0, 0, 12.4, 30.1, 8.8, 0, 22.5, 17.3, 5.0, 9.9)
	path := ledgerOf(t, schema.Site{}, map[string]string{"confidence": "0.95"}, text)
	m := meanOf(t, path, 2020, "herbaceous")
	near(t, "mean", m.Mean, 10.6, 1e-12)
	near(t, "sd", m.SD, 10.231542, 1e-6)
	near(t, "low", m.CI.Low, 3.280796, 1e-6)
	near(t, "high", m.CI.High, 17.919204, 1e-6)
	near(t, "df", m.DF, 9, 0)
	if m.N != 10 || m.ZerosAll != 3 || m.ZerosInfer != 0 {
		t.Errorf("n %d, zeros %d, inferred %d; want 10, 3, 0", m.N, m.ZerosAll, m.ZerosInfer)
	}
}

// Ten of 156 possible units. Worked example: mean 34, variance 328, standard
// error 5.540527, 95 % interval 21.46646 to 46.53354, and for ± 20 % 36.2996
// units of endlessly many, 29.4475 of 156; the arithmetic by R 4.2.
func TestFinitePopulation(t *testing.T) {
	text := dryFrames(2020, 41, 33, 24, 31, 10, 32, 62, 16, 66, 25)
	settings := map[string]string{"confidence": "0.95", "adequacy-confidence": "0.95", "sample-size-rule": "pilot"}
	m := meanOf(t, ledgerOf(t, schema.Site{UnitsPossible: 156}, settings, text), 2020, "herbaceous")
	near(t, "mean", m.Mean, 34, 1e-12)
	near(t, "variance", schema.Some(m.SD.Float64*m.SD.Float64), 328, 1e-9)
	near(t, "cv", m.CVPct, 53.2670, 1e-4)
	near(t, "se", m.SE, 5.540527, 1e-6)
	near(t, "low", m.CI.Low, 21.46646, 1e-5)
	near(t, "high", m.CI.High, 46.53354, 1e-5)
	near(t, "half-width", m.HalfPct, 36.8634, 1e-4)
	near(t, "n required", m.NRequired, 29.4475, 1e-4)

	endless := meanOf(t, ledgerOf(t, schema.Site{}, settings, text), 2020, "herbaceous")
	near(t, "n required of endlessly many", endless.NRequired, 36.2996, 1e-4)
	near(t, "se of endlessly many", endless.SE, 5.727128425310541, 1e-12) // √32.8
}

// The correction is refused where it does not fit: with transects, and where
// more units were sampled than the site says there are.
func TestFinitePopulationIsRefused(t *testing.T) {
	text := dryFrames(2020, 41, 33, 24)
	m := meanOf(t, ledgerOf(t, schema.Site{UnitsPossible: 2}, nil, text), 2020, "herbaceous")
	near(t, "variance of the mean", schema.Some(m.SE.Float64*m.SE.Float64), 217.0/9, 1e-9) // deviations 25/3, 1/3, -26/3
	says(t, m, "units-possible", true)

	lines := rows(t, "2020 1 herbaceous dry=41 t=A\n2020 1 herbaceous dry=33 t=B\n2020 1 herbaceous dry=24 t=C")
	path := ledgertest.Path(t, ledgertest.Records{Sites: []schema.Site{{Site: "A", SamplingUnit: "transect", UnitsPossible: 4}}, Clippings: lines})
	m = meanOf(t, path, 2020, "herbaceous")
	near(t, "variance of the mean by transects", schema.Some(m.SE.Float64*m.SE.Float64), 217.0/9, 1e-9)
}

// What has no interval has none, and says why.
func TestNoIntervalWithoutSpread(t *testing.T) {
	for _, tt := range []struct {
		name, rows string
		mean       float64
		remark     string
	}{
		{"one frame", dryFrames(2020, 12), 12, "one-unit"},
		{"all alike", dryFrames(2020, 12, 12, 12), 12, "all-alike"},
		{"all zero", dryFrames(2020, 0, 0, 0), 0, "all-zero"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			m := meanOf(t, ledgerOf(t, schema.Site{}, nil, tt.rows), 2020, "herbaceous")
			near(t, "mean", m.Mean, tt.mean, 0)
			for what, n := range map[string]monitor.Num{"se": m.SE, "low": m.CI.Low, "high": m.CI.High, "Hall's low": m.Hall.Low, "n required": m.NRequired,
				"n assured": m.NAssured, "half-width": m.HalfPct} {
				absent(t, what, n)
			}
			if m.Adequate != monitor.NoVerdict {
				t.Errorf("verdict %q, want none", m.Adequate)
			}
			says(t, m, tt.remark, false)
		})
	}
}

// Hall's (1992) interval of six zeros and a long tail: skewness g (divisor n)
// 2.53420602916, a = g/√10, limits mean - se·(3/a)[∛(1 + a(±t - a/6)) - 1],
// worked out in R 4.2.
func TestSkewedValues(t *testing.T) {
	m := meanOf(t, ledgerOf(t, schema.Site{}, nil, dryFrames(2020, 0, 0, 0, 0, 0, 0, 1, 3, 8, 48)), 2020, "herbaceous")
	near(t, "t low", m.CI.Low, -2.68017633088, 1e-9) // printed as computed, below zero too
	near(t, "t high", m.CI.High, 14.68017633088, 1e-9)
	near(t, "Hall low", m.Hall.Low, 0.11909577561, 1e-9)
	near(t, "Hall high", m.Hall.High, 38.47580105315, 1e-9)
	says(t, m, "skewed", false)

	even := meanOf(t, ledgerOf(t, schema.Site{}, nil, dryFrames(2020, 8, 9, 10, 11, 12)), 2020, "herbaceous")
	silent(t, even, "skewed")
	near(t, "Hall low of even values", even.Hall.Low, even.CI.Low.Float64, 1e-12)
}
