package monitor_test

import (
	"testing"

	"clipledger/schema/ledgertest"
)

// Empty is zero, lost is missing. Frames of 1 m² and measured dry weights, so
// that every mean can be done in the head.

func TestEmptyIsZeroAndLostIsMissing(t *testing.T) {
	tests := []struct {
		name   string
		rows   string
		frames string
		n      int
		mean   float64
		missed int
	}{
		{"a frame called empty counts as zero", // leaving it out would give 15
			`2020 1 herbaceous dry=10
			2020 2 herbaceous dry=20
			2020 3 - empty`,
			`2020 1 herbaceous 10
			2020 2 herbaceous 20
			2020 3 herbaceous 0`, 3, 10, 0},
		{"an empty component counts as zero",
			`2020 1 herbaceous dry=10
			2020 2 herbaceous empty`,
			`2020 1 herbaceous 10
			2020 2 herbaceous 0`, 2, 5, 0},
		{"a weight of zero counts as zero",
			`2020 1 herbaceous dry=10
			2020 2 herbaceous green=0`,
			`2020 1 herbaceous 10
			2020 2 herbaceous 0`, 2, 5, 0},
		{"an empty component without a frame type, beside weights per area", // nothing is nothing, whatever the area
			`2020 1 herbaceous dry=10 perm2 type=
			2020 2 herbaceous empty type=`,
			`2020 1 herbaceous 10
			2020 2 herbaceous 0`, 2, 5, 0},
		{"a lost bag leaves the mean", // as a zero it would give 10
			`2020 1 herbaceous dry=10
			2020 2 herbaceous dry=20
			2020 3 herbaceous lost`,
			`2020 1 herbaceous 10
			2020 2 herbaceous 20
			2020 3 herbaceous missing: lost`, 2, 15, 1},
		{"one lost bag of two makes the component missing", // the bag at hand alone would give 15
			`2020 1 herbaceous dry=10
			2020 2 herbaceous dry=20 bag=a
			2020 2 herbaceous lost bag=b`,
			`2020 1 herbaceous 10
			2020 2 herbaceous missing: lost`, 1, 10, 1},
		{"a bag weighed green and lost before drying is converted", // as lost it would give 10
			`2020 1 herbaceous dry=10
			2020 2 herbaceous green=50 pct=40 lost`,
			`2020 1 herbaceous 10
			2020 2 herbaceous 20`, 2, 15, 0},
		{"lost after green weighing, with nothing to convert by",
			`2020 1 herbaceous dry=10
			2020 2 herbaceous green=50 lost`,
			`2020 1 herbaceous 10
			2020 2 herbaceous missing: no dry-matter basis`, 1, 10, 1},
		{"a blank cell of a wide row is not a zero", // an inferred zero would give 5
			`2020 1 herbaceous dry=10
			2020 2 herbaceous blank`,
			`2020 1 herbaceous 10
			2020 2 herbaceous missing: no weight`, 1, 10, 1},
		{"a trace counts, as nothing by default", // left out, the mean would be 10
			`2020 1 herbaceous dry=10
			2020 2 herbaceous traceD`,
			`2020 1 herbaceous 10
			2020 2 herbaceous 0`, 2, 5, 0},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			path := ledgertest.Path(t, ledgertest.Records{Sites: siteA("herbaceous"), Clippings: rows(t, tt.rows)})
			sameLines(t, frameLines(t, path), tt.frames)
			m := meanOf(t, path, 2020, "herbaceous")
			if m.N != tt.n || m.Missing != tt.missed {
				t.Errorf("n %d, missing %d; want %d and %d", m.N, m.Missing, tt.n, tt.missed)
			}
			near(t, "mean", m.Mean, tt.mean, 1e-12)
			if _, said := remark(m, "missing"); said != (tt.missed > 0) {
				t.Errorf("the mean says that frames were left out: %v, want %v", said, tt.missed > 0)
			}
			soundLedger(t, path)
		})
	}
}

func TestFramesThatAreAllEmpty(t *testing.T) {
	for _, site := range []string{"herbaceous", "herbaceous@1 m2"} {
		path := ledgertest.Path(t, ledgertest.Records{Sites: siteA(site), Clippings: rows(t, "2020 1 - empty\n2020 2 - empty\n2020 3 - empty")})
		m := meanOf(t, path, 2020, "herbaceous")
		if m.N != 3 || !m.Mean.Valid || m.Mean.Float64 != 0 {
			t.Errorf("site that declares %s: n %d, mean %v; want three frames of 0", site, m.N, m.Mean)
		}
		soundLedger(t, path)
	}
}

func TestTraceWeighsWhatTheSettingSays(t *testing.T) {
	text := `2020 1 herbaceous dry=10
		2020 2 herbaceous traceD
		2020 3 herbaceous traceG
		2020 4 herbaceous green=60 traceD`
	path := ledgertest.Path(t,
		ledgertest.Records{Sites: siteA("herbaceous"), Clippings: rows(t, text)},
		ledgertest.Records{Settings: map[string]string{"trace-g": "0.5"}})
	sameLines(t, frameLines(t, path), `2020 1 herbaceous 10
		2020 2 herbaceous 0.5
		2020 3 herbaceous 0.5
		2020 4 herbaceous 0.5`)
	soundLedger(t, path)
}

// A lost bag that is found later completes the record.
func TestLostBagIsFound(t *testing.T) {
	path := ledgertest.Path(t,
		ledgertest.Records{Sites: siteA("herbaceous"), Clippings: rows(t, "2020 1 herbaceous dry=10\n2020 2 herbaceous lost")},
		ledgertest.Records{Clippings: rows(t, "2020 2 herbaceous dry=30")})
	near(t, "mean", meanOf(t, path, 2020, "herbaceous").Mean, 20, 1e-12)
	soundLedger(t, path)
}
