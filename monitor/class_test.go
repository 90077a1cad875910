package monitor_test

import (
	"math"
	"testing"

	"clipledger/monitor"
	"clipledger/schema"
	"clipledger/schema/ledgertest"
)

func classLedger(t testing.TB, basis string, text string) string {
	t.Helper()
	bound := func(lower float64, upper schema.Num, label string) schema.ClassBound {
		return schema.ClassBound{Scheme: "s", Component: "herbaceous", LowerG: lower, UpperG: upper, Basis: basis, Label: label}
	}
	return ledgertest.Path(t, ledgertest.Records{
		Sites:     []schema.Site{{Site: "A", SamplingUnit: "frame", ClassScheme: "s", Components: declared("herbaceous")}},
		Clippings: rows(t, text),
		Classes:   []schema.ClassBound{bound(0, schema.Some(20), "low"), bound(20, schema.Some(40), "middle"), bound(40, schema.Num{}, "high")},
	})
}

// Four frames of mean 19 with standard error 1.290994: below 20 at
// pt(1/1.290994, 3) = 0.7524 (R 4.2), so the class is not sure, and that is said.
func TestClassNearABoundSaysSo(t *testing.T) {
	m := meanOf(t, classLedger(t, "air-dry", dryFrames(2020, 16, 18, 20, 22)), 2020, "herbaceous")
	if m.Class == nil || m.Class.Label != "low" || m.Class.Scheme != "s" {
		t.Fatalf("class %+v, want low", m.Class)
	}
	near(t, "confidence", m.Class.Confidence, 0.7524873270, 1e-9)
	sum := 0.0
	for _, share := range m.Class.Others {
		sum += share.Confidence
	}
	if math.Abs(sum-1) > 1e-12 || len(m.Class.Others) != 3 || !remarked(m.Remarks, "class-unsure") {
		t.Errorf("shares %+v sum to %v; remarks %v", m.Class.Others, sum, m.Remarks)
	}
	sure := meanOf(t, classLedger(t, "air-dry", dryFrames(2020, 29, 30, 31, 30)), 2020, "herbaceous")
	if sure.Class.Label != "middle" || remarked(sure.Remarks, "class-unsure") {
		t.Errorf("class %+v, remarks %v", sure.Class, sure.Remarks)
	}
}

// A bound belongs to the class above it, and bounds stated oven-dry are higher
// on an air-dry ledger: 20 oven-dry is 22.2 air-dry.
func TestClassBounds(t *testing.T) {
	at := dryFrames(2020, 19, 21)
	if m := meanOf(t, classLedger(t, "air-dry", at), 2020, "herbaceous"); m.Class.Label != "middle" {
		t.Errorf("20 is in %q, want middle", m.Class.Label)
	}
	if m := meanOf(t, classLedger(t, "oven-dry", at), 2020, "herbaceous"); m.Class.Label != "low" {
		t.Errorf("20 air-dry against 20 oven-dry is in %q, want low", m.Class.Label)
	}
	one := meanOf(t, classLedger(t, "air-dry", dryFrames(2020, 25)), 2020, "herbaceous")
	if one.Class.Label != "middle" || one.Class.Confidence.Valid || !remarked(one.Remarks, "class-unsure") {
		t.Errorf("one frame: class %+v, remarks %v", one.Class, one.Remarks)
	}
}

// A group of a site is not the site, and a scheme that is not there is told.
func TestClassOnlyOfSitesWithAScheme(t *testing.T) {
	path := classLedger(t, "air-dry", dryFrames(2020, 19, 21))
	for _, m := range meansOf(t, path, monitor.Query{By: "transect", Classes: true}) {
		if m.Class != nil {
			t.Errorf("a transect of a site has class %+v", m.Class)
		}
	}
	lacking := ledgerOf(t, schema.Site{ClassScheme: "elsewhere"}, nil, dryFrames(2020, 19, 21))
	if m := meanOf(t, lacking, 2020, "production"); m.Class != nil || !remarked(m.Remarks, "no-class-scheme") {
		t.Errorf("class %+v, remarks %v", m.Class, m.Remarks)
	}
}

// 60 g in each of two frames, at 90 % of growth done and 80 % ungrazed, would
// have been 60/0.80/0.90 = 83.33: the arithmetic of check 340.9091 × 1.10 =
// 375.0 (reconstruction of the handbook, formula from memory), beside the
// as-clipped mean.
func TestFullSeasonStandsBesideTheMean(t *testing.T) {
	curve := []schema.CurvePoint{{Curve: "c", DayOfYear: 100, Pct: 0}, {Curve: "c", DayOfYear: 190, Pct: 90}, {Curve: "c", DayOfYear: 250, Pct: 100}}
	ledger := func(text string, edit func(*schema.Clipping)) string {
		clippings := rows(t, text)
		for i := range clippings {
			edit(&clippings[i])
		}
		return ledgertest.Path(t, ledgertest.Records{Curves: curve,
			Sites: []schema.Site{{Site: "A", SamplingUnit: "frame", GrowthCurve: "c", Components: declared("herbaceous")}}, Clippings: clippings})
	}
	full := func(path string) *monitor.Mean {
		q := monitor.Query{FullSeason: true}
		q.Components = []string{"herbaceous"}
		return meansOf(t, path, q)[0]
	}
	text := "2020 1 herbaceous dry=60\n2020 2 herbaceous dry=60\n2020 3 - empty"
	m := full(ledger(text, func(c *schema.Clipping) {
		c.Date, c.UngrazedPct = "2020-07-09", schema.Some(80)
	}))
	near(t, "as clipped", m.Mean, 40, 1e-12)
	near(t, "full season", m.FullSeason.Mean, 2*60/0.8/0.9/3, 1e-9)
	near(t, "growth", m.FullSeason.GrowthPct, 90, 1e-9)
	near(t, "ungrazed", m.FullSeason.UngrazedPct, 80, 1e-9)

	m = full(ledger(text, func(c *schema.Clipping) { c.Date = "2020-07-09" }))
	near(t, "nothing grazed assumed", m.FullSeason.Mean, 2*60/0.9/3, 1e-9)
	if !remarked(m.Remarks, "full-season") {
		t.Error("the assumption is not told")
	}
	m = full(ledger(text, func(c *schema.Clipping) { c.Date = "2020-03-01" }))
	absent(t, "nothing had grown by then", m.FullSeason.Mean)
	if !remarked(m.Remarks, "not-scaled") {
		t.Errorf("remarks %v", m.Remarks)
	}
	m = full(ledger(text, func(c *schema.Clipping) { c.Date = "2020-04-20" }))
	if !remarked(m.Remarks, "little-growth") {
		t.Errorf("scaled up from a tenth of the growth without a warning: %v", m.Remarks)
	}
	absent(t, "no date", full(ledger(text, func(*schema.Clipping) {})).FullSeason.Mean)
	if plain := meanOf(t, ledger(text, func(*schema.Clipping) {}), 2020, "herbaceous"); plain.FullSeason != nil {
		t.Error("full-season production unasked for")
	}
}
