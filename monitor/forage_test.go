package monitor_test

import (
	"testing"

	"clipledger/monitor"
	"clipledger/schema"
)

func demandOf(t testing.TB, values schema.Values) monitor.Demand {
	t.Helper()
	d, missing, err := monitor.DemandOf(values)
	if err != nil || len(missing) > 0 {
		t.Fatalf("demand: missing %v, %v", missing, err)
	}
	return d
}

func forageSettings(demand, days string) schema.Values {
	v := schema.Values{}
	for _, s := range schema.Settings {
		v[s.Name] = s.Default
	}
	v["forage-share"], v["forage-demand"], v["forage-demand-basis"], v["forage-days"] = "0.25", demand, "air-dry", days
	return v
}

// 1,200 lb/ac at a share of 25 %: over 26 lb × 30.4 days it is 0.379555 AUM
// an acre, over 30 lb × 30.5 days 0.327869; 640 acres of the first are 242.915.
// Arithmetic on demands that extension sheets print (26 lb air-dry).
func TestForageArithmetic(t *testing.T) {
	gPerM2 := func(lbPerAcre float64) schema.Num {
		return schema.Some(lbPerAcre * monitor.GramsPerPound / monitor.M2PerAcre)
	}
	site := &schema.SiteRecord{Site: "A", AreaHa: schema.Some(640 * monitor.M2PerAcre / 1e4)}
	m := &monitor.Mean{Site: site, Mean: gPerM2(1200), CI: monitor.Interval{Low: gPerM2(-100), High: gPerM2(2400)}}
	v := forageSettings("26 lb", "30.4")
	f := monitor.ForageSupply(m, demandOf(t, v), monitor.RulesOf(v))
	near(t, "AUM an acre", schema.Some(f.AtMean.Float64*monitor.M2PerAcre), 0.379555, 5e-7)
	near(t, "AUM of 640 acres", f.Site[1], 242.915, 5e-4)
	near(t, "low end, never below zero", f.Low, 0, 0)
	near(t, "high end", schema.Some(f.High.Float64*monitor.M2PerAcre), 2*0.379555, 1e-6)
	if !remarked(f.Remarks, "range-cut") || !remarked(f.Remarks, "whole-area") {
		t.Errorf("remarks %v", f.Remarks)
	}
	v = forageSettings("30 lb", "30.5")
	f = monitor.ForageSupply(m, demandOf(t, v), monitor.RulesOf(v))
	near(t, "AUM an acre at 915 lb", schema.Some(f.AtMean.Float64*monitor.M2PerAcre), 0.327869, 5e-7)
}

// An oven-dry demand in an air-dry ledger is a tenth less of it, and said so.
func TestForageDemandOnTheOtherBasis(t *testing.T) {
	m := &monitor.Mean{Site: &schema.SiteRecord{}, Mean: schema.Some(100)}
	v := forageSettings("10 kg", "30")
	air := monitor.ForageSupply(m, demandOf(t, v), monitor.RulesOf(v))
	v["forage-demand-basis"] = schema.OvenDry
	oven := monitor.ForageSupply(m, demandOf(t, v), monitor.RulesOf(v))
	near(t, "air-dry demand", air.AtMean, 100*0.25/300e3, 1e-18)
	near(t, "oven-dry demand", oven.AtMean, 100*0.25/300e3*0.9, 1e-18)
	if !remarked(oven.Remarks, "demand-basis") || remarked(air.Remarks, "demand-basis") {
		t.Error("the conversion of the demand is to be told where there is one")
	}
	absent(t, "no interval, no range", air.Low)
	if !remarked(air.Remarks, "no-range") {
		t.Error("a figure without a range must say so")
	}
}

func TestForageNamesWhatIsNotSet(t *testing.T) {
	v := forageSettings("26 lb", "30")
	v["forage-share"], v["forage-days"] = "", ""
	if _, missing, err := monitor.DemandOf(v); err != nil || len(missing) != 2 || missing[0] != "forage-share" || missing[1] != "forage-days" {
		t.Errorf("missing %v, %v", missing, err)
	}
}

// Chosen species are counted together, frame by frame: a frame without them
// counts as zero.
func TestChosenSpeciesAreCountedTogether(t *testing.T) {
	text := `2020 1 herbaceous dry=10 sp=POA1
		2020 1 herbaceous dry=4 sp=POA2
		2020 1 herbaceous dry=90 sp=FORB1
		2020 2 herbaceous dry=6 sp=POA2
		2020 3 herbaceous dry=5 sp=FORB1
		2020 4 herbaceous lost sp=POA1`
	path := ledgerOf(t, schema.Site{Components: declared("herbaceous")}, nil, text)
	q := monitor.Query{Species: []string{"POA1", "POA2"}}
	q.Components = []string{"herbaceous"}
	found := meansOf(t, path, q)
	if len(found) != 1 || found[0].N != 3 || found[0].Group != "POA1+POA2" {
		t.Fatalf("means %+v", found)
	}
	near(t, "mean", found[0].Mean, (14+6+0)/3.0, 1e-12)
}
