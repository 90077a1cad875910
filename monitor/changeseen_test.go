package monitor_test

import (
	"math"
	"testing"

	"clipledger/monitor"
	"clipledger/schema"
)

// The change that a sample could see, beside adequacy and as sample sizes.

// meanWithChange finds the mean of a year with its detectable change.
func meanWithChange(t *testing.T, path string, year int) *monitor.Mean {
	t.Helper()
	q := monitor.Query{Change: true}
	q.Components, q.FirstYear, q.LastYear = []string{"herbaceous"}, year, year
	found := meansOf(t, path, q)
	if len(found) != 1 {
		t.Fatalf("%d means, want one", len(found))
	}
	return found[0]
}

// Differences 1, 3, 5, 7 of 25: se √(5/3) on 3 df. R 4.2: power.t.test(n = 4,
// sd = sqrt(20/3), sig.level = .1, power = .8, type = "paired", tol = 1e-12)
// gives a delta of 4.25957053647.
func TestDetectableChange(t *testing.T) {
	const delta = 4.25957053647
	text := dryFrames(2019, 10, 20, 30, 40) + dryFrames(2020, 11, 23, 35, 47) + "2021 1 herbaceous lost\n" + dryFrames(2022, 12, 25, 35, 50)
	path := ledgerOf(t, schema.Site{Placement: same}, nil, text)
	first := must(changesOf(t, path, monitor.ChangeQuery{Filter: monitor.Filter{Components: []string{"herbaceous"}, LastYear: 2020}}))[0]
	near(t, "detectable", first.MinDetectable, delta, 1e-9)

	// The year before is read although it is not shown.
	m := meanWithChange(t, path, 2020)
	near(t, "percent", m.ChangePct, 100*first.MinDetectable.Float64/25, 1e-9)
	if m.ChangeFrom != 2019 {
		t.Errorf("from %d, want 2019", m.ChangeFrom)
	}
	m = meanWithChange(t, path, 2019)
	absent(t, "change of the first year", m.ChangePct)
	says(t, m, "no-year-before", false)
	m = meanWithChange(t, path, 2022)
	if m.ChangeFrom != 2020 || !m.ChangePct.Valid {
		t.Errorf("from %d, %v; want 2020", m.ChangeFrom, m.ChangePct)
	}
	says(t, m, "change-from", false)
	silent(t, meanWithChange(t, path, 2020), "change-from")

	// Frames that are new each year see far less.
	m = meanWithChange(t, ledgerOf(t, schema.Site{}, nil, text), 2020)
	if !m.ChangePct.Valid || m.ChangePct.Float64 < 100*delta/25*3 {
		t.Errorf("new frames see %v %%", m.ChangePct)
	}
}

// Where no change could be seen a reason stands in its place.
func TestNoDetectableChange(t *testing.T) {
	for name, text := range map[string]string{
		"zeros before":   dryFrames(2019, 0, 0, 0) + dryFrames(2020, 1, 2, 3),
		"one frame":      dryFrames(2019, 1, 2, 3) + dryFrames(2020, 1),
		"copied":         dryFrames(2019, 1, 2, 3) + dryFrames(2020, 1, 2, 3),
		"no frame in it": dryFrames(2019, 1, 2, 3) + "2020 8 herbaceous dry=1\n2020 9 herbaceous dry=3\n",
	} {
		m := meanWithChange(t, ledgerOf(t, schema.Site{Placement: same}, nil, text), 2020)
		absent(t, name, m.ChangePct)
		if _, ok := remark(m, "no-change"); !ok {
			t.Errorf("%s: no reason in %v", name, m.Remarks)
		}
	}
}

// Sizes for a wanted change, whose exact answer for two occasions is R's and
// whose other two are handbooks'. Two years of mean 1000 and variance 62,500;
// a change of 20 % at power 0.80 and alpha 0.10: R 4.2 power.t.test(delta =
// 200, sd = 250, sig.level = .1, power = .8) gives 20.0328 and (1.6449 +
// 0.8416)²·2·62500/200² = 19.32.
func TestWantedChange(t *testing.T) {
	text := dryFrames(2019, pairs(1000, 62500, 10)...) + dryFrames(2020, pairs(1000, 62500, 10)...)
	q := monitor.ChangeQuery{WantedPct: 20}
	q.Components = []string{"herbaceous"}
	x := must(changesOf(t, ledgerOf(t, schema.Site{}, nil, text), q))[0]
	near(t, "n", x.NWanted, 21, 0)
	near(t, "normal theory", x.NNormal, 19.3205, 1e-3)
	near(t, "tabled z", x.NTabled, (1.64+0.84)*(1.64+0.84)*125000/40000, 1e-9)
	q.WantedPct = 0
	absent(t, "n where none is wanted", must(changesOf(t, ledgerOf(t, schema.Site{}, nil, text), q))[0].NWanted)

	// Drying samples that miss more than the wanted change: no number of frames
	// helps, and the handbook does not know it.
	green := `2019 1 herbaceous green=100
		2019 2 herbaceous green=200
		2019 3 herbaceous green=300
		2020 1 herbaceous green=110
		2020 2 herbaceous green=220
		2020 3 herbaceous green=330`
	path := ledgerOf(t, schema.Site{Placement: same}, nil, green, dried(2019, 100, 40), dried(2019, 100, 60), dried(2020, 100, 40), dried(2020, 100, 60))
	q.WantedPct = 10
	x = must(changesOf(t, path, q))[0]
	absent(t, "n out of reach", x.NWanted)
	told(t, x, "out-of-reach", false)
	if !x.NNormal.Valid || x.NNormal.Float64 > 4 {
		t.Errorf("the handbook's n %v, want a few", x.NNormal)
	}
}

// Weights in another unit, or rows in another order, change nothing but the
// unit.
func TestChangeScalesAndKnowsNoOrder(t *testing.T) {
	text := dryFrames(2019, 10, 20.5, 30, 44) + dryFrames(2020, 11, 23, 35.25, 47)
	path := ledgerOf(t, schema.Site{Placement: same}, nil, text)
	x := changeOf(t, path, "herbaceous")
	tenfold := dryFrames(2020, 110, 230, 352.5, 470) + dryFrames(2019, 100, 205, 300, 440)
	y := changeOf(t, ledgerOf(t, schema.Site{Placement: same}, nil, tenfold), "herbaceous")
	for name, v := range map[string][2]monitor.Num{"difference": {x.Difference, y.Difference}, "se": {x.SE, y.SE}, "low": {x.CI.Low, y.CI.Low}, "detectable": {x.MinDetectable, y.MinDetectable}} {
		near(t, name, v[1], 10*v[0].Float64, 1e-11*math.Abs(10*v[0].Float64))
	}
	near(t, "p", y.P, x.P.Float64, 1e-12)
	near(t, "percent", y.DifferencePct, x.DifferencePct.Float64, 1e-11)
}
