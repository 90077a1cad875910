package monitor_test

import (
	"testing"

	"clipledger/schema/ledgertest"
)

// Which components a frame of a given type was looked through for: frame
// types carried together are nested; shrubs can sit on plots of their own;
// and a site can change the size of its frames.

func TestNestedPlotsAndPlotsOfTheirOwn(t *testing.T) {
	runLooked(t, []lookedCase{
		{"nested: every frame has both types", "", // frame 2 has a browse plot too, and nothing in it
			`2020 1 herbaceous dry=10
			2020 1 browse dry=40 type=4_m2
			2020 2 herbaceous dry=10
			2020 3 browse dry=20 type=4_m2`,
			`2020 1 herbaceous 10
			2020 1 browse 10
			2020 2 herbaceous 10
			2020 2 browse 0 inferred
			2020 3 herbaceous 0 inferred
			2020 3 browse 5`},
		{"nested in another year of the season is nested", "",
			`2019 1 herbaceous dry=10
			2019 1 browse dry=40 type=4_m2
			2020 1 herbaceous dry=10
			2020 2 browse dry=20 type=4_m2
			2021 1 browse dry=8 type=4_m2`,
			`2019 1 herbaceous 10
			2019 1 browse 10
			2020 1 herbaceous 10
			2020 1 browse 0 inferred
			2020 2 herbaceous 0 inferred
			2020 2 browse 5
			2021 1 herbaceous missing: not declared, outside its recorded years
			2021 1 browse 2`},
		{"on frames of their own: no zeros on the other's frames", "", // zeros would halve both means
			`2020 1 herbaceous dry=10
			2020 2 herbaceous dry=12
			2020 P1 browse dry=40 type=4_m2
			2020 P2 browse dry=20 type=4_m2
			2020 P3 - empty type=4_m2`,
			`2020 1 herbaceous 10
			2020 2 herbaceous 12
			2020 P1 browse 10
			2020 P2 browse 5
			2020 P3 browse 0`},
		{"of their own, in a year without any shrub growth", "", // 2020 has no browse row: the plots were empty
			`2019 1 herbaceous dry=10
			2019 P1 browse dry=40 type=4_m2
			2020 1 herbaceous dry=12
			2020 P1 - empty type=4_m2
			2021 1 herbaceous dry=10
			2021 P1 browse dry=40 type=4_m2`,
			`2019 1 herbaceous 10
			2019 P1 browse 10
			2020 1 herbaceous 12
			2020 P1 browse 0
			2021 1 herbaceous 10
			2021 P1 browse 10`},
		{"weights per area stand on a kind of their own", "",
			`2020 1 herbaceous dry=10 perm2 type=
			2020 2 herbaceous dry=12
			2020 2 browse dry=4
			2020 3 - empty type=`,
			`2020 1 herbaceous 10
			2020 2 herbaceous 12
			2020 2 browse 4
			2020 3 herbaceous 0`},
		{"one component on two types, unlike another on one", "", // 1 m² frames never carried browse
			`2020 1 herbaceous dry=10
			2020 2 herbaceous dry=40 type=4_m2
			2020 3 browse dry=40 type=4_m2`,
			`2020 1 herbaceous 10
			2020 2 herbaceous 10
			2020 2 browse 0 inferred
			2020 3 herbaceous 0 inferred
			2020 3 browse 10`},
	})
}

func TestChangedFrameSize(t *testing.T) {
	runLooked(t, []lookedCase{
		{"both components found on both sizes", "",
			`2019 1 herbaceous dry=40 type=4_m2
			2019 2 browse dry=8 type=4_m2
			2020 1 herbaceous dry=10
			2020 2 browse dry=2`,
			`2019 1 herbaceous 10
			2019 1 browse 0 inferred
			2019 2 herbaceous 0 inferred
			2019 2 browse 2
			2020 1 herbaceous 10
			2020 1 browse 0 inferred
			2020 2 herbaceous 0 inferred
			2020 2 browse 2`},
		// After the change no frame held any browse. It is still looked for
		// where the site declares it; else it is outside its recorded years,
		// which must make it missing and not silently drop it from production.
		{"declared, and never found on the new size", "herbaceous;browse",
			`2019 1 herbaceous dry=40 type=4_m2
			2019 1 browse dry=8 type=4_m2
			2020 1 herbaceous dry=10`,
			`2019 1 herbaceous 10
			2019 1 browse 2
			2020 1 herbaceous 10
			2020 1 browse 0 inferred`},
		{"undeclared, and never found on the new size", "",
			`2019 1 herbaceous dry=40 type=4_m2
			2019 1 browse dry=8 type=4_m2
			2020 1 herbaceous dry=10`,
			`2019 1 herbaceous 10
			2019 1 browse 2
			2020 1 herbaceous 10
			2020 1 browse missing: not declared, outside its recorded years`},
		{"the herbaceous frames change, the shrub plots stay on their own", "herbaceous;browse",
			`2019 1 herbaceous dry=40 type=4_m2
			2019 P1 browse dry=40 type=40_m2
			2020 1 herbaceous dry=10
			2020 P1 browse dry=80 type=40_m2`,
			`2019 1 herbaceous 10
			2019 P1 browse 1
			2020 1 herbaceous 10
			2020 P1 browse 2`},
		{"the herbaceous frames change when the shrub plots are given up", "",
			`2019 1 herbaceous dry=40 type=4_m2
			2019 P1 browse dry=40 type=40_m2
			2020 1 herbaceous dry=10`,
			`2019 1 herbaceous 10
			2019 P1 browse 1
			2020 1 herbaceous 10`},
		{"nested plots, both sizes changed", "",
			`2019 1 herbaceous dry=40 type=4_m2
			2019 1 browse dry=40 type=40_m2
			2020 1 herbaceous dry=10
			2020 1 browse dry=20 type=20_m2
			2020 2 herbaceous dry=10`,
			`2019 1 herbaceous 10
			2019 1 browse 1
			2020 1 herbaceous 10
			2020 1 browse 1
			2020 2 herbaceous 10
			2020 2 browse 0 inferred`},
	})
}

// A frame without a frame type still counts: an empty frame has no weight
// that would need an area.
func TestEmptyFrameWithoutFrameType(t *testing.T) {
	for _, site := range []string{"", "herbaceous", "herbaceous;browse"} {
		all := rows(t, "2020 1 herbaceous dry=10\n2020 2 - empty\n2020 3 herbaceous dry=20")
		all[1].FrameType = ""
		path := ledgertest.Path(t, ledgertest.Records{Sites: siteA(site), Clippings: all})
		m := meanOf(t, path, 2020, "herbaceous")
		if m.N != 3 {
			t.Errorf("site that declares %q: n %d, want 3", site, m.N)
		}
		near(t, "mean", m.Mean, 10, 1e-12)
		soundLedger(t, path)
	}
}
