package monitor_test

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"clipledger/monitor"
	"clipledger/schema"
	"clipledger/schema/ledgertest"
)

// The change between two years, through the whole pipeline: a case for every
// rule in which the easy version gives another number.

// changesOf compares the years of a ledger.
func changesOf(t testing.TB, path string, q monitor.ChangeQuery) ([]*monitor.Comparison, monitor.Family) {
	t.Helper()
	var out []*monitor.Comparison
	var family monitor.Family
	ledgertest.Read(t, path, func(s *schema.Snapshot) (err error) {
		out, family, err = monitor.Compare(s, q)
		return err
	})
	return out, family
}

// changeOf finds the only comparison of a component.
func changeOf(t testing.TB, path, component string) *monitor.Comparison {
	t.Helper()
	q := monitor.ChangeQuery{}
	q.Components = []string{component}
	out, _ := changesOf(t, path, q)
	if len(out) != 1 {
		t.Fatalf("%d comparisons of %s, want one", len(out), component)
	}
	return out[0]
}

// told fails where a comparison lacks a remark, or where it is not as loud as
// wanted.
func told(t testing.TB, x *monitor.Comparison, code string, loud bool) {
	t.Helper()
	i := slices.IndexFunc(x.Remarks, func(r monitor.Remark) bool { return r.Code == code })
	if i < 0 || x.Remarks[i].Loud != loud {
		t.Errorf("%s %d to %d: remark %q there: %v, in %v", x.Component, x.Year1, x.Year2, code, i >= 0, x.Remarks)
	}
}

// untold fails where a comparison has a remark that does not belong to it.
func untold(t testing.TB, x *monitor.Comparison, code string) {
	t.Helper()
	if slices.ContainsFunc(x.Remarks, func(r monitor.Remark) bool { return r.Code == code }) {
		t.Errorf("%s %d to %d: unwanted remark %q", x.Component, x.Year1, x.Year2, code)
	}
}

// untested fails where a comparison has any number that needs a spread.
func untested(t testing.TB, x *monitor.Comparison) {
	t.Helper()
	for name, v := range map[string]monitor.Num{"t": x.T, "df": x.DF, "p": x.P, "p_holm": x.PHolm, "p_bh": x.PBH, "low": x.CI.Low, "high": x.CI.High, "min_detectable": x.MinDetectable, "se": x.SE} {
		absent(t, name, v)
	}
}

func designed(t testing.TB, x *monitor.Comparison, design string, n1, n2 int) {
	t.Helper()
	if x.Design != design || x.N1 != n1 || x.N2 != n2 {
		t.Errorf("%s with n %d and %d; want %s with %d and %d", x.Design, x.N1, x.N2, design, n1, n2)
	}
}

const same = "same"

// Frames 10, 20, 30, 40, then 11, 23, 35, 47: differences 1, 3, 5, 7, mean 4,
// s² = 20/3. The same frames compared as two samples would have s² of 500/3 and
// 240 and see nothing. Quantile and p by R 4.2.
func TestSameFramesArePaired(t *testing.T) {
	text := dryFrames(2019, 10, 20, 30, 40) + dryFrames(2020, 11, 23, 35, 47)
	x := changeOf(t, ledgerOf(t, schema.Site{Placement: same}, nil, text), "herbaceous")
	designed(t, x, monitor.PairedFrames, 4, 4)
	near(t, "difference", x.Difference, 4, 1e-12)
	near(t, "percent", x.DifferencePct, 16, 1e-12)
	near(t, "t", x.T, 4/math.Sqrt(5.0/3), 1e-12)
	near(t, "df", x.DF, 3, 0)
	near(t, "p", x.P, 0.0533627227169, 1e-11)
	near(t, "low", x.CI.Low, 4-2.3533634348018*math.Sqrt(5.0/3), 1e-9)
	near(t, "se of drying", x.SEDrying, 0, 0)
	told(t, x, "same-spot", false)
	untold(t, x, "left-out")

	// The same labels where frames are new each year mean nothing.
	x = changeOf(t, ledgerOf(t, schema.Site{}, nil, text), "herbaceous")
	designed(t, x, monitor.Independent, 4, 4)
	near(t, "t", x.T, 4/math.Sqrt(500.0/12+60), 1e-12)
	untold(t, x, "same-spot")
}

// The heavy frame 4 was lost in 2020: the means of what is left are 35 and 23,
// a fall of a third that never happened. Paired over the frames present in
// both, 20 and 23.
func TestFrameLostInOneYear(t *testing.T) {
	text := dryFrames(2019, 10, 20, 30, 80) + dryFrames(2020, 11, 23, 35) + "2020 4 herbaceous lost\n2020 5 herbaceous dry=50\n"
	x := changeOf(t, ledgerOf(t, schema.Site{Placement: same}, nil, text), "herbaceous")
	designed(t, x, monitor.PairedFrames, 3, 3)
	near(t, "mean 1", x.Mean1, 20, 1e-12)
	near(t, "mean 2", x.Mean2, 23, 1e-12)
	near(t, "difference", x.Difference, 3, 1e-12)
	near(t, "percent", x.DifferencePct, 15, 1e-12)
	near(t, "t", x.T, 3/math.Sqrt(4.0/3), 1e-12)
	if x.LeftOut1 != 1 || x.LeftOut2 != 1 {
		t.Errorf("left out %d and %d, want 1 and 1", x.LeftOut1, x.LeftOut2)
	}
	told(t, x, "left-out", false)
	told(t, x, "missing", false)
}

func dried(year int, green, dry float64) schema.Drying {
	d := sample(green, dry, "")
	d.Year = year
	return d
}

// Drying by hand. 2019: samples of 100 g dried to 40, 50, 60: R 0.5, v 1/300.
// 2020: 100 g to 45 and 55: R 0.5, v = (25+25)/(2·1·100²) = 1/400. Green 100,
// 200, 300 and 110, 220, 330, and a frame 4 in 2020 alone, which must not count
// in the green weight: dry differences 5, 10, 15, s²/n = 25/3; ḡ 200 and 220.
// Left out, t would be 3.46 and not 0.59.
func TestDryingErrorOfBothYearsIsAdded(t *testing.T) {
	text := `2019 1 herbaceous green=100
		2019 2 herbaceous green=200
		2019 3 herbaceous green=300
		2020 1 herbaceous green=110
		2020 2 herbaceous green=220
		2020 3 herbaceous green=330
		2020 4 herbaceous green=4000`
	path := ledgerOf(t, schema.Site{Placement: same}, nil, text, dried(2019, 100, 40), dried(2019, 100, 50), dried(2019, 100, 60), dried(2020, 100, 45), dried(2020, 100, 55))
	x := changeOf(t, path, "herbaceous")
	frames, one, two := 25.0/3, 200*200/300.0, 220*220/400.0
	se2 := frames + one + two
	near(t, "difference", x.Difference, 10, 1e-12)
	near(t, "se", x.SE, math.Sqrt(se2), 1e-9)
	near(t, "se of drying", x.SEDrying, math.Sqrt(one+two), 1e-9)
	near(t, "t", x.T, 10/math.Sqrt(se2), 1e-9)
	near(t, "df", x.DF, se2*se2/(frames*frames/2+one*one/2+two*two/1), 1e-9)

	// The same frames as two samples: 50, 100, 150 and 55, 110, 165, 2000.
	x = changeOf(t, ledgerOf(t, schema.Site{}, nil, text, dried(2019, 100, 40), dried(2019, 100, 50), dried(2019, 100, 60), dried(2020, 100, 45), dried(2020, 100, 55)), "herbaceous")
	designed(t, x, monitor.Independent, 3, 4)
	near(t, "se of drying", x.SEDrying, math.Sqrt(one+1165*1165/400.0), 1e-9)
}

// A ratio of one sample has no error of its own: said, and left out.
func TestChangeWithOneDryingSample(t *testing.T) {
	text := "2019 1 herbaceous green=100\n2019 2 herbaceous green=200\n" + dryFrames(2020, 60, 120)
	x := changeOf(t, ledgerOf(t, schema.Site{Placement: same}, nil, text, dried(2019, 100, 50)), "herbaceous")
	told(t, x, "one-drying-sample", false)
	absent(t, "se of drying", x.SEDrying)
	near(t, "t", x.T, 15/5.0, 1e-9) // 10 and 20: s² = 50, over 2
}

// Permanent frames on three transects, the transect being the sampling unit: a
// transect counts once, as the mean over its frames present in both years.
// Transects change by +2 (frames 1, 3), +4 (5 alone, its other frame was lost)
// and +6 (6, 6): mean 4, s² 4, n 3. Frame by frame it would be n 5.
func TestSameFramesOnTransects(t *testing.T) {
	text := `2019 1 herbaceous dry=10 t=A
		2019 2 herbaceous dry=20 t=A
		2019 1 herbaceous dry=30 t=B
		2019 2 herbaceous dry=90 t=B
		2019 1 herbaceous dry=10 t=C
		2019 2 herbaceous dry=12 t=C
		2020 1 herbaceous dry=11 t=A
		2020 2 herbaceous dry=23 t=A
		2020 1 herbaceous dry=34 t=B
		2020 2 herbaceous lost t=B
		2020 1 herbaceous dry=16 t=C
		2020 2 herbaceous dry=18 t=C`
	x := changeOf(t, ledgerOf(t, schema.Site{Placement: same, SamplingUnit: "transect"}, nil, text), "herbaceous")
	designed(t, x, monitor.PairedTransects, 3, 3)
	near(t, "mean 1", x.Mean1, (15+30+11)/3.0, 1e-12)
	near(t, "difference", x.Difference, 4, 1e-12)
	near(t, "t", x.T, 4/math.Sqrt(4.0/3), 1e-12)
	near(t, "df", x.DF, 2, 0)
	if x.LeftOut1 != 1 || x.LeftOut2 != 0 {
		t.Errorf("left out %d and %d, want 1 and 0", x.LeftOut1, x.LeftOut2)
	}

	// New frames: the transects' means as two samples, all frames.
	x = changeOf(t, ledgerOf(t, schema.Site{SamplingUnit: "transect"}, nil, text), "herbaceous")
	designed(t, x, monitor.Independent, 3, 3)
	near(t, "mean 1", x.Mean1, (15+60+11)/3.0, 1e-12)
}

// Shifted frames are paired by line where three lines were clipped in both
// years, and with fewer compared as two samples.
func TestShiftedFramesArePairedByTransect(t *testing.T) {
	text := `2019 1 herbaceous dry=10 t=A
		2019 2 herbaceous dry=20 t=A
		2019 1 herbaceous dry=30 t=B
		2019 1 herbaceous dry=50 t=C
		2019 1 herbaceous dry=99 t=D
		2020 8 herbaceous dry=17 t=A
		2020 9 herbaceous dry=37 t=B
		2020 8 herbaceous dry=33 t=B
		2020 9 herbaceous dry=57 t=C
		2020 9 herbaceous dry=1 t=E`
	x := changeOf(t, ledgerOf(t, schema.Site{Placement: "shifted"}, nil, text), "herbaceous")
	designed(t, x, monitor.PairedTransects, 3, 3)
	near(t, "mean 1", x.Mean1, (15+30+50)/3.0, 1e-12)
	near(t, "difference", x.Difference, (2+5+7)/3.0, 1e-12)
	if x.LeftOut1 != 1 || x.LeftOut2 != 1 {
		t.Errorf("left out %d and %d, want 1 and 1", x.LeftOut1, x.LeftOut2)
	}
	told(t, x, "transects-alike", false)

	two := strings.ReplaceAll(text, "t=C", "t=B")
	two = strings.Replace(two, "2019 1 herbaceous dry=50", "2019 7 herbaceous dry=50", 1)
	two = strings.Replace(two, "2020 9 herbaceous dry=57", "2020 7 herbaceous dry=57", 1)
	x = changeOf(t, ledgerOf(t, schema.Site{Placement: "shifted"}, nil, two), "herbaceous")
	designed(t, x, monitor.Independent, 5, 5)
	told(t, x, "few-transects", false)
}

// The finite population correction is for means, never for changes.
func TestChangeKnowsNoFinitePopulation(t *testing.T) {
	text := dryFrames(2019, 10, 20, 30, 40) + dryFrames(2020, 21, 23, 35, 47)
	free := changeOf(t, ledgerOf(t, schema.Site{}, nil, text), "herbaceous")
	all := changeOf(t, ledgerOf(t, schema.Site{UnitsPossible: 5}, nil, text), "herbaceous")
	near(t, "t", all.T, free.T.Float64, 0)
	near(t, "se", all.SE, math.Sqrt(500.0/12+(441+529+1225+2209-4*31.5*31.5)/12), 1e-12)
}

// Where nothing varies there is no t and no p, and a reason.
func TestNothingToTest(t *testing.T) {
	for _, tt := range []struct {
		name, text, placement, code string
		loud                        bool
	}{
		{"all zeros", dryFrames(2019, 0, 0, 0) + dryFrames(2020, 0, 0, 0), same, "all-zero", false},
		{"all zeros, new frames", dryFrames(2019, 0, 0, 0) + dryFrames(2020, 0, 0, 0), "new", "all-zero", false},
		{"copied", dryFrames(2019, 10, 20, 30) + dryFrames(2020, 10, 20, 30), same, "identical", true},
		{"equal differences", dryFrames(2019, 10.1, 20.3, 30) + dryFrames(2020, 10.4, 20.6, 30.3), same, "all-alike", false},
		{"all alike", dryFrames(2019, 10, 10, 10) + dryFrames(2020, 20, 20, 20), "new", "all-alike", false},
		{"one frame", dryFrames(2019, 10) + dryFrames(2020, 20), same, "one-unit", false},
		{"one frame in one year", dryFrames(2019, 10, 12, 13) + dryFrames(2020, 20), "new", "one-unit", false},
		{"one frame in both years", dryFrames(2019, 10, 12, 13) + dryFrames(2020, 20) + "2020 7 herbaceous dry=8\n", same, "one-unit", false},
	} {
		t.Run(tt.name, func(t *testing.T) {
			x := changeOf(t, ledgerOf(t, schema.Site{Placement: tt.placement}, nil, tt.text), "herbaceous")
			untested(t, x)
			told(t, x, tt.code, tt.loud)
			if !x.Difference.Valid {
				t.Error("no difference")
			}
		})
	}
	// A zero has no percent; zeros in one year alone leave a test.
	x := changeOf(t, ledgerOf(t, schema.Site{}, nil, dryFrames(2019, 0, 0, 0)+dryFrames(2020, 1, 2, 3)), "herbaceous")
	absent(t, "percent", x.DifferencePct)
	told(t, x, "no-percent", false)
	told(t, x, "year-alike", false)
	near(t, "t", x.T, 2/math.Sqrt(1.0/3), 1e-12)
	near(t, "df", x.DF, 2, 0)
}

// Frames that are named otherwise each year cannot be paired, and a permanent
// site must not be compared as if its frames were new without a word.
func TestNoFrameInBothYears(t *testing.T) {
	text := "2019 1a herbaceous dry=10\n2019 2a herbaceous dry=20\n2020 1b herbaceous dry=30\n2020 2b herbaceous dry=50"
	x := changeOf(t, ledgerOf(t, schema.Site{Placement: same}, nil, text), "herbaceous")
	designed(t, x, monitor.PairedFrames, 0, 0)
	untested(t, x)
	absent(t, "difference", x.Difference)
	absent(t, "mean 1", x.Mean1)
	told(t, x, "no-pairs", true)

	// A cage is part of a frame's identity.
	text = "2019 1 herbaceous dry=10\n2019 2 herbaceous dry=20\n2020 1 herbaceous dry=30 caged\n2020 2 herbaceous dry=50 caged"
	x = changeOf(t, ledgerOf(t, schema.Site{Placement: same}, nil, text), "herbaceous")
	told(t, x, "no-pairs", true)
	told(t, x, "caging-changed", true)
	told(t, changeOf(t, ledgerOf(t, schema.Site{}, nil, text), "herbaceous"), "caging-changed", true)
}

// Each year with the one before it that has values; two years that are asked
// for; and the reason where there is nothing to compare with.
func TestWhichYearsAreCompared(t *testing.T) {
	text := dryFrames(2011, 10, 20, 30) + dryFrames(2012, 12, 22, 31) + "2013 1 herbaceous lost\n" + dryFrames(2015, 14, 25, 37) + `
		2018 1 herbaceous season=fall dry=9
		2018 2 herbaceous season=fall dry=11`
	path := ledgerOf(t, schema.Site{Placement: same}, nil, text)
	lines := func(q monitor.ChangeQuery) (out []string) {
		q.Components = []string{"herbaceous"}
		found, _ := changesOf(t, path, q)
		for _, x := range found {
			line := fmt.Sprintf("%s %d %d", x.Season, x.Year1, x.Year2)
			for _, r := range x.Remarks {
				if r.Code == "years-between" || r.Code == "one-year" || r.Code == "other-seasons" || r.Code == "no-values" {
					line += " " + r.Code
				}
			}
			out = append(out, line)
		}
		return out
	}
	sameLines(t, lines(monitor.ChangeQuery{}), "fall 0 2018 one-year other-seasons\npeak 2011 2012\npeak 2012 2015 years-between")
	sameLines(t, lines(monitor.ChangeQuery{Filter: monitor.Filter{FirstYear: 2013, LastYear: 2015}}), "peak 2012 2015 years-between")
	sameLines(t, lines(monitor.ChangeQuery{From: 2011, To: 2015}), "peak 2011 2015")
	sameLines(t, lines(monitor.ChangeQuery{From: 2012, To: 2018}), "fall 2012 2018 no-values other-seasons\npeak 2012 2018 no-values other-seasons")
	sameLines(t, lines(monitor.ChangeQuery{From: 1990, To: 1991}), "")
	for _, x := range must(changesOf(t, path, monitor.ChangeQuery{From: 2012, To: 2018})) {
		untested(t, x)
		if x.Design != "" || x.Difference.Valid || x.N1 > 0 == (x.N2 > 0) {
			t.Errorf("%s: %+v, want the only year's n and no difference", x.Season, x)
		}
	}
}

func must(x []*monitor.Comparison, _ monitor.Family) []*monitor.Comparison { return x }

// The family is all tests of the ledger without production; filters choose what
// is shown, and change no adjusted p.
func TestFiltersDoNotChangeTheFamily(t *testing.T) {
	var clippings []schema.Clipping
	sites := []schema.Site{}
	for s, shift := range []float64{0.5, 6, 12} {
		code := fmt.Sprint("S", s)
		sites = append(sites, schema.Site{Site: code, SamplingUnit: "frame", Placement: same, Components: declared("herbaceous;browse")})
		for y := range 3 {
			for f, w := range []float64{10, 20, 30, 40, 55} {
				bump := shift*float64(y) + float64((f*7+y*3+s)%5)
				for i, c := range []schema.Component{schema.Herbaceous, schema.Browse} {
					clippings = append(clippings, schema.Clipping{Site: code, Year: 2018 + y, Frame: fmt.Sprint(f), FrameType: "1 m2", Component: c, DryG: schema.Some(w + bump/float64(1+i))})
				}
			}
		}
	}
	path := ledgertest.Path(t, ledgertest.Records{Sites: sites, Clippings: clippings})
	all, family := changesOf(t, path, monitor.ChangeQuery{})
	if len(all) != 18 || family.Tests != 12 || math.Abs(family.ByChance-1.2) > 1e-12 {
		t.Fatalf("%d comparisons, %d tests, %v by chance; want 18, 12, 1.2", len(all), family.Tests, family.ByChance)
	}
	smallest := 1.0
	byName := map[string]*monitor.Comparison{}
	for _, x := range all {
		byName[fmt.Sprint(x.Site.Site, x.Component, x.Year2)] = x
		if x.Component == monitor.Production {
			absent(t, "p_holm of production", x.PHolm)
			absent(t, "p_bh of production", x.PBH)
			if !x.P.Valid {
				t.Error("production has no p")
			}
			continue
		}
		smallest = min(smallest, x.P.Float64)
	}
	for _, x := range all {
		if x.Component != monitor.Production && x.P.Float64 == smallest {
			near(t, "Holm's p of the smallest", x.PHolm, 12*smallest, 1e-12)
		}
	}
	for name, f := range map[string]monitor.Filter{"site": {Sites: []string{"S1"}}, "component": {Components: []string{"browse"}}, "year": {FirstYear: 2020}, "season": {Seasons: []string{"peak"}}} {
		some, again := changesOf(t, path, monitor.ChangeQuery{Filter: f})
		if again != family || len(some) == 0 || name != "season" && len(some) >= len(all) {
			t.Errorf("by %s: %d comparisons, family %+v, want fewer than %d and %+v", name, len(some), again, len(all), family)
		}
		for _, x := range some {
			if was := byName[fmt.Sprint(x.Site.Site, x.Component, x.Year2)]; was.PHolm != x.PHolm || was.PBH != x.PBH || was.P != x.P {
				t.Errorf("by %s: %s %s: p_holm %v, not %v", name, x.Site.Site, x.Component, x.PHolm, was.PHolm)
			}
		}
	}
}
