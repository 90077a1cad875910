package monitor_test

import (
	"testing"

	"clipledger/schema/ledgertest"
)

// What was looked for in a frame: by its row, else by what the site declares,
// else by what was recorded there in any year.

type lookedCase struct {
	name   string
	site   string // what it declares; "" nothing
	rows   string
	frames string
}

func runLooked(t *testing.T, tests []lookedCase) {
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			path := ledgertest.Path(t, ledgertest.Records{Sites: siteA(tt.site), Clippings: rows(t, tt.rows)})
			sameLines(t, frameLines(t, path), tt.frames)
			soundLedger(t, path)
		})
	}
}

func TestLookedForByRow(t *testing.T) {
	runLooked(t, []lookedCase{
		{"the row beats the site", "herbaceous;browse",
			`2020 1 herbaceous dry=10 sampled=herbaceous
			2020 2 herbaceous dry=10 sampled=herbaceous+browse
			2020 3 herbaceous dry=10`,
			`2020 1 herbaceous 10
			2020 2 herbaceous 10
			2020 2 browse 0
			2020 3 herbaceous 10
			2020 3 browse 0 inferred`},
		{"the row beats what was recorded", "",
			`2020 1 herbaceous dry=10 sampled=herbaceous
			2020 2 browse dry=4`,
			`2020 1 herbaceous 10
			2020 2 herbaceous 0 inferred
			2020 2 browse 4`},
		{"a row that names only what was looked for writes the zeros", "",
			`2020 1 - empty sampled=herbaceous+browse
			2020 2 herbaceous dry=10 sampled=herbaceous+browse`,
			`2020 1 herbaceous 0
			2020 1 browse 0
			2020 2 herbaceous 10
			2020 2 browse 0`},
	})
}

func TestLookedForByDeclaration(t *testing.T) {
	runLooked(t, []lookedCase{
		{"declared and never found is zero", "herbaceous;browse",
			"2020 1 herbaceous dry=10",
			`2020 1 herbaceous 10
			2020 1 browse 0 inferred`},
		{"not declared is not looked for, whatever other years found", "herbaceous",
			`2019 1 herbaceous dry=8
			2019 1 litter dry=3
			2020 1 herbaceous dry=10`,
			`2019 1 litter 3
			2019 1 herbaceous 8
			2020 1 herbaceous 10`},
		{"declared for one season", "herbaceous;browse/fall",
			`2020 1 herbaceous dry=10
			2020 1 herbaceous dry=2 season=fall`,
			`2020 fall 1 herbaceous 2
			2020 fall 1 browse 0 inferred
			2020 1 herbaceous 10`},
		{"declared on a frame type of its own", "herbaceous@1 m2;browse@40 m2",
			`2020 1 herbaceous dry=10
			2020 2 - empty
			2020 P1 browse dry=400 type=40_m2
			2020 P2 - empty type=40_m2`,
			`2020 1 herbaceous 10
			2020 2 herbaceous 0
			2020 P1 browse 10
			2020 P2 browse 0`},
		{"declared without a frame type, clipped on plots of its own", "herbaceous;browse",
			`2020 1 herbaceous dry=10
			2020 2 - empty
			2020 P1 browse dry=400 type=40_m2
			2020 P2 - empty type=40_m2`,
			`2020 1 herbaceous 10
			2020 2 herbaceous 0
			2020 P1 browse 10
			2020 P2 browse 0`},
		{"recorded although not declared", "herbaceous",
			"2020 1 browse dry=3",
			`2020 1 herbaceous 0 inferred
			2020 1 browse 3`},
	})
}

func TestLookedForByWhatWasRecorded(t *testing.T) {
	runLooked(t, []lookedCase{
		{"from its first to its last recorded year", "",
			`2018 1 herbaceous dry=10
			2019 1 herbaceous dry=10
			2019 1 browse dry=4
			2020 1 herbaceous dry=10
			2021 1 browse dry=6
			2022 1 herbaceous dry=10`,
			`2018 1 herbaceous 10
			2018 1 browse missing: not declared, outside its recorded years
			2019 1 herbaceous 10
			2019 1 browse 4
			2020 1 herbaceous 10
			2020 1 browse 0 inferred
			2021 1 herbaceous 0 inferred
			2021 1 browse 6
			2022 1 herbaceous 10
			2022 1 browse missing: not declared, outside its recorded years`},
		{"a lost bag is a record: someone looked", "",
			`2019 1 herbaceous dry=10
			2019 2 browse lost
			2020 1 browse dry=5`,
			`2019 1 herbaceous 10
			2019 1 browse 0 inferred
			2019 2 herbaceous 0 inferred
			2019 2 browse missing: lost
			2020 1 herbaceous missing: not declared, outside its recorded years
			2020 1 browse 5`},
		{"a blank cell is no record", "",
			`2019 1 herbaceous dry=10
			2019 1 browse blank
			2020 1 herbaceous dry=10`,
			`2019 1 herbaceous 10
			2020 1 herbaceous 10`},
		{"each season by itself", "",
			`2020 1 herbaceous dry=10
			2020 1 browse dry=2 season=fall`,
			`2020 fall 1 browse 2
			2020 1 herbaceous 10`},
	})
}

func TestOutsideItsYearsProductionIsMissing(t *testing.T) {
	text := `2018 1 herbaceous dry=10
		2018 2 herbaceous dry=14
		2019 1 herbaceous dry=10
		2019 1 browse dry=4
		2019 2 herbaceous dry=10`
	path := ledgertest.Path(t, ledgertest.Records{Clippings: rows(t, text)})
	m := meanOf(t, path, 2018, "production")
	absent(t, "production of a year before browse was ever recorded", m.Mean) // 12 if the unknown were zero
	if m.Missing != 2 {
		t.Errorf("missing %d, want both frames", m.Missing)
	}
	says(t, m, "undeclared", true)
	near(t, "production 2019", meanOf(t, path, 2019, "production").Mean, (14.0+10)/2, 1e-12)

	// Declaring the site settles it: browse was looked for all along.
	ledgertest.Import(t, path, ledgertest.Records{Sites: siteA("herbaceous;browse")})
	near(t, "production 2018, declared", meanOf(t, path, 2018, "production").Mean, 12, 1e-12)
	soundLedger(t, path)
}

func TestInferredZerosAreCountedAndAllOfThemAreLoud(t *testing.T) {
	text := `2019 1 herbaceous dry=10
		2019 1 browse dry=4
		2019 2 herbaceous dry=10
		2020 1 herbaceous dry=10
		2020 2 herbaceous dry=12
		2020 3 herbaceous dry=12 sampled=herbaceous+browse
		2021 1 herbaceous dry=10
		2021 2 browse empty
		2021 2 herbaceous dry=3
		2022 1 herbaceous dry=10
		2022 2 herbaceous dry=10`
	path := ledgertest.Path(t, ledgertest.Records{Sites: siteA("herbaceous;browse"), Clippings: rows(t, text)})
	for _, tt := range []struct {
		year, inferred int
		all            bool
	}{{2019, 1, false}, {2020, 2, false}, {2021, 1, false}, {2022, 2, true}} {
		m := meanOf(t, path, tt.year, "browse")
		if m.ZerosInfer != tt.inferred {
			t.Errorf("%d: %d zeros inferred, want %d", tt.year, m.ZerosInfer, tt.inferred)
		}
		if tt.all {
			says(t, m, "all-zeros-inferred", true)
		} else {
			says(t, m, "zeros-inferred", false)
			silent(t, m, "all-zeros-inferred")
		}
	}
	silent(t, meanOf(t, path, 2022, "production"), "all-zeros-inferred")
}
