package monitor_test

import (
	"math"
	"testing"

	"clipledger/monitor"
	"clipledger/schema"
	"clipledger/schema/ledgertest"
)

// The change of production, which is made of parts, and what can look like a
// change.

// Components on frames of their own: their changes add, and so do their
// variances. Herbaceous, new frames: 10, 12, 14 and 13, 15, 20; browse 4, 6 and
// 5, 9. By hand: 4 + 2; variances 4/3 + 13/3 and 2/2 + 8/2.
func TestChangeOfASumOfMeans(t *testing.T) {
	text := `2019 h1 herbaceous dry=10 type=1_m2
		2019 h2 herbaceous dry=12 type=1_m2
		2019 h3 herbaceous dry=14 type=1_m2
		2019 b1 browse dry=16 type=4_m2
		2019 b2 browse dry=24 type=4_m2
		2020 h1 herbaceous dry=13 type=1_m2
		2020 h2 herbaceous dry=15 type=1_m2
		2020 h3 herbaceous dry=20 type=1_m2
		2020 b1 browse dry=20 type=4_m2
		2020 b2 browse dry=36 type=4_m2`
	site := siteA("herbaceous@1 m2;browse@4 m2")
	path := ledgertest.Path(t, ledgertest.Records{Sites: site, Clippings: rows(t, text)})
	x := changeOf(t, path, "production")
	designed(t, x, monitor.Independent, 2, 2)
	near(t, "mean 1", x.Mean1, 17, 1e-12)
	near(t, "difference", x.Difference, 6, 1e-12)
	v := []float64{4.0 / 3, 13.0 / 3, 1, 4}
	near(t, "se", x.SE, math.Sqrt(v[0]+v[1]+v[2]+v[3]), 1e-12)
	sum := v[0] + v[1] + v[2] + v[3]
	near(t, "df", x.DF, sum*sum/(v[0]*v[0]/2+v[1]*v[1]/2+v[2]*v[2]+v[3]*v[3]), 1e-9)
	told(t, x, "sum-of-means", false)

	// The same frames each year: each component is paired on its own. The
	// differences are 3, 3, 6 and 1, 3.
	site[0].Placement = same
	x = changeOf(t, ledgertest.Path(t, ledgertest.Records{Sites: site, Clippings: rows(t, text)}), "production")
	designed(t, x, monitor.PairedFrames, 2, 2)
	near(t, "difference", x.Difference, 6, 1e-12)
	near(t, "se", x.SE, math.Sqrt(3.0/3+2.0/2), 1e-12)
}

// On shared frames the totals are paired, so that what one component gains and
// the other loses cancels frame by frame.
func TestChangeOfFrameTotals(t *testing.T) {
	text := ""
	for _, l := range []string{"2019 1 herbaceous dry=10", "2019 1 browse dry=30", "2019 2 herbaceous dry=20", "2019 2 browse dry=20", "2019 3 herbaceous dry=40", "2019 3 browse dry=5",
		"2020 1 herbaceous dry=20", "2020 1 browse dry=22", "2020 2 herbaceous dry=10", "2020 2 browse dry=33", "2020 3 herbaceous dry=42", "2020 3 browse dry=4"} {
		text += l + "\n"
	}
	site := siteA("herbaceous;browse")
	site[0].Placement = same
	x := changeOf(t, ledgertest.Path(t, ledgertest.Records{Sites: site, Clippings: rows(t, text)}), "production")
	designed(t, x, monitor.PairedFrames, 3, 3) // 2, 3, 1
	near(t, "difference", x.Difference, 2, 1e-12)
	near(t, "se", x.SE, math.Sqrt(1.0/3), 1e-12)
}

// A total that lacks a part in one year is not compared.
func TestTotalsOfDifferentParts(t *testing.T) {
	text := `2019 1 herbaceous dry=10 sampled=herbaceous
		2019 2 herbaceous dry=14 sampled=herbaceous
		2020 1 herbaceous dry=11
		2020 1 browse dry=100
		2020 2 herbaceous dry=15
		2020 2 browse dry=120`
	x := changeOf(t, ledgerOf(t, schema.Site{}, nil, text), "production")
	told(t, x, "part-absent", true)
	untested(t, x)
	absent(t, "difference", x.Difference)
	near(t, "mean 2", x.Mean2, 123, 1e-9)
	near(t, "herbaceous", changeOf(t, ledgerOf(t, schema.Site{}, nil, text), "herbaceous").Difference, 1, 1e-12)
}

// What was done otherwise in one of the years is said beside the change.
func TestMixedMethodsAreSaid(t *testing.T) {
	for _, tt := range []struct {
		name, one, two, code string
		loud                 bool
	}{
		{"frame type", "type=1_m2", "type=4_m2", "frame-changed", true},
		{"edge rule", "rule=rooted", "rule=vertical", "edge-rule-changed", true},
		{"height", "height=2", "height=5", "height-changed", true},
		{"observer", "observer=Ada", "observer=Bo", "observer-changed", false},
		{"basis", "", "basis=oven-dry", "basis-differs", true},
	} {
		t.Run(tt.name, func(t *testing.T) {
			text := "2019 1 herbaceous dry=10 " + tt.one + "\n2019 2 herbaceous dry=14 " + tt.one + "\n2020 1 herbaceous dry=11 " + tt.two + "\n2020 2 herbaceous dry=19 " + tt.two
			told(t, changeOf(t, ledgerOf(t, schema.Site{}, nil, text), "herbaceous"), tt.code, tt.loud)
			told(t, changeOf(t, ledgerOf(t, schema.Site{}, nil, text), "production"), tt.code, tt.loud)
			alike := "2019 1 herbaceous dry=10 " + tt.one + "\n2019 2 herbaceous dry=14 " + tt.one + "\n2020 1 herbaceous dry=11 " + tt.one + "\n2020 2 herbaceous dry=19 " + tt.one
			untold(t, changeOf(t, ledgerOf(t, schema.Site{}, nil, alike), "herbaceous"), tt.code)
		})
	}
}

// An edge rule that one component of a frame has of its own is that
// component's alone.
func TestMannersAreOfTheComponent(t *testing.T) {
	text := `2019 1 herbaceous dry=10 rule=rooted
		2019 1 browse dry=10 rule=rooted
		2019 2 herbaceous dry=14 rule=rooted
		2020 1 herbaceous dry=11 rule=rooted
		2020 1 browse dry=9 rule=vertical
		2020 2 herbaceous dry=19 rule=rooted`
	path := ledgerOf(t, schema.Site{}, nil, text)
	untold(t, changeOf(t, path, "herbaceous"), "edge-rule-changed")
	told(t, changeOf(t, path, "browse"), "edge-rule-changed", true)
	told(t, changeOf(t, path, "production"), "edge-rule-changed", true)
}

func TestBookValuesAreSaid(t *testing.T) {
	book := "2019 1 herbaceous green=100 form=grass-cool stage=heading\n2019 2 herbaceous green=140 form=grass-cool stage=heading\n"
	both := book + "2020 1 herbaceous green=110 form=grass-cool stage=heading\n2020 2 herbaceous green=150 form=grass-cool stage=heading\n"
	told(t, changeOf(t, ledgerOf(t, schema.Site{}, nil, both), "herbaceous"), "book-values", false)
	one := book + "2020 1 herbaceous dry=50\n2020 2 herbaceous dry=60\n"
	told(t, changeOf(t, ledgerOf(t, schema.Site{}, nil, one), "herbaceous"), "dry-matter-changed", true)
}

func TestInferredZerosAreSaid(t *testing.T) {
	text := `2019 1 herbaceous dry=10
		2019 1 browse dry=3
		2019 2 herbaceous dry=12
		2019 2 browse dry=5
		2020 1 herbaceous dry=10
		2020 2 herbaceous dry=13
		2021 1 browse dry=3
		2021 2 browse dry=2`
	path := ledgerOf(t, schema.Site{Placement: same}, nil, text)
	q := monitor.ChangeQuery{}
	q.Components, q.LastYear = []string{"browse"}, 2020
	x := must(changesOf(t, path, q))[0]
	told(t, x, "all-zeros-inferred", true)
	near(t, "difference", x.Difference, -4, 1e-12)
}
