package monitor_test

import (
	"slices"
	"testing"

	"clipledger/monitor"
	"clipledger/monitor/stat"
	"clipledger/schema"
	"clipledger/schema/ledgertest"
)

// Ends of the interval of open/caged of the four pairs below, by R 4.2:
// uniroot of t.test(c(30,52,41,60) - r*c(50,80,65,95))$p.value - 0.1.
const pairedLow, pairedHigh = 0.604474109653, 0.648322257014

func utilizationsOf(t testing.TB, path string, q monitor.Query) []*monitor.Utilization {
	t.Helper()
	var out []*monitor.Utilization
	ledgertest.Read(t, path, func(s *schema.Snapshot) error {
		return monitor.Utilizations(s, q, func(u *monitor.Utilization) error {
			out = append(out, u)
			return nil
		})
	})
	return out
}

func utilizationOf(t testing.TB, text string, drying ...schema.Drying) *monitor.Utilization {
	t.Helper()
	path := ledgerOf(t, schema.Site{Components: declared("herbaceous")}, nil, text, drying...)
	q := monitor.Query{}
	q.Components = []string{"herbaceous"}
	found := utilizationsOf(t, path, q)
	if len(found) != 1 {
		t.Fatalf("%d utilizations, want one", len(found))
	}
	return found[0]
}

func remarked(remarks []monitor.Remark, code string) bool {
	return slices.ContainsFunc(remarks, func(r monitor.Remark) bool { return r.Code == code })
}

const cagesAndOpen = `2020 1 herbaceous dry=50 caged
	2020 2 herbaceous dry=80 caged
	2020 3 herbaceous dry=65 caged
	2020 4 herbaceous dry=95 caged
	2020 1 herbaceous dry=30
	2020 2 herbaceous dry=52
	2020 3 herbaceous dry=41
	2020 4 herbaceous dry=60`

// Labels match, so frames are pairs: the interval is that of the ratio by a t
// test of open − ρ·caged on three degrees of freedom.
func TestUtilizationOfMatchingLabelsIsPaired(t *testing.T) {
	u := utilizationOf(t, cagesAndOpen)
	if !u.Paired || u.NCaged != 4 || u.NOpen != 4 {
		t.Fatalf("paired %v, n %d and %d, want four pairs", u.Paired, u.NCaged, u.NOpen)
	}
	near(t, "utilization", u.Utilization, 1-183.0/290, 1e-12)
	near(t, "low", u.CI.Low, 1-pairedHigh, 1e-8)
	near(t, "high", u.CI.High, 1-pairedLow, 1e-8)
}

// The same frames under labels that do not match: two samples, a far wider
// interval.
func TestUtilizationOfOtherLabelsIsOfTwoSamples(t *testing.T) {
	u := utilizationOf(t, `2020 1 herbaceous dry=50 caged
		2020 2 herbaceous dry=80 caged
		2020 3 herbaceous dry=65 caged
		2020 4 herbaceous dry=95 caged
		2020 5 herbaceous dry=30
		2020 6 herbaceous dry=52
		2020 7 herbaceous dry=41
		2020 8 herbaceous dry=60`)
	if u.Paired {
		t.Fatal("no labels match")
	}
	x, y := stat.MomentsOf([]float64{50, 80, 65, 95}), stat.MomentsOf([]float64{30, 52, 41, 60})
	sx, _ := x.SD()
	sy, _ := y.SD()
	pair := stat.MeanPair{Y: 45.75, X: 72.5, VarY: sy * sy / 4, VarX: sx * sx / 4}
	r := pair.Y / pair.X
	a, b := pair.VarY, r*r*pair.VarX
	var tt stat.TTable
	want, _ := stat.Fieller(pair, tt.Quantile(0.95, (a+b)*(a+b)/(a*a/3+b*b/3)))
	near(t, "low", u.CI.Low, 1-want.High, 1e-12)
	near(t, "high", u.CI.High, 1-want.Low, 1e-12)
	if u.CI.High.Float64-u.CI.Low.Float64 < 3*(pairedHigh-pairedLow) {
		t.Errorf("the interval of two samples %+v is not far wider than that of pairs", u.CI)
	}
}

// One ratio converts caged and open frames, so its error cancels in their
// ratio: with green weights proportional everywhere, three very different
// drying samples leave nearly nothing of it.
func TestDryingErrorCancelsInUtilization(t *testing.T) {
	drying := []schema.Drying{
		{Site: "A", Year: 2020, Season: "peak", Component: schema.Herbaceous, GreenG: 100, DryG: 40, Basis: schema.AirDry},
		{Site: "A", Year: 2020, Season: "peak", Component: schema.Herbaceous, GreenG: 101, DryG: 50, Basis: schema.AirDry},
		{Site: "A", Year: 2020, Season: "peak", Component: schema.Herbaceous, GreenG: 102, DryG: 60, Basis: schema.AirDry}}
	text := `2020 1 herbaceous green=100 caged
		2020 2 herbaceous green=140 caged
		2020 3 herbaceous green=121 caged
		2020 1 herbaceous green=60
		2020 2 herbaceous green=84
		2020 3 herbaceous green=72`
	u := utilizationOf(t, text, drying...)
	near(t, "utilization", u.Utilization, 1-216.0/361, 1e-12)
	if wide := u.CI.High.Float64 - u.CI.Low.Float64; !(wide > 0 && wide < 0.02) {
		t.Errorf("interval %+v: the ratio's error should cancel", u.CI)
	}
}

// Every divisor is guarded, and says so.
func TestUtilizationThatCannotBeTold(t *testing.T) {
	for _, test := range []struct{ name, text, remark string }{
		{"caged mean not above zero", "2020 1 herbaceous dry=1 caged\n2020 2 herbaceous dry=80 caged\n2020 1 herbaceous dry=3\n2020 2 herbaceous dry=9", "caged-near-zero"},
		{"nothing grew", "2020 1 - empty caged\n2020 2 - empty caged\n2020 1 herbaceous dry=3\n2020 2 herbaceous dry=9", "nothing-grew"},
		{"one pair", "2020 1 herbaceous dry=50 caged\n2020 1 herbaceous dry=30", "one-unit"},
	} {
		u := utilizationOf(t, test.text)
		absent(t, test.name, u.Utilization)
		absent(t, test.name, u.CI.Low)
		if !remarked(u.Remarks, test.remark) {
			t.Errorf("%s: remarks %v lack %s", test.name, u.Remarks, test.remark)
		}
	}
}

// A lost bag leaves its pair out, and is counted.
func TestUtilizationLeavesOutThePairOfALostBag(t *testing.T) {
	u := utilizationOf(t, cagesAndOpen+"\n2020 5 herbaceous dry=70 caged\n2020 5 herbaceous lost")
	near(t, "utilization", u.Utilization, 1-183.0/290, 1e-12)
	if u.NCaged != 4 || !remarked(u.Remarks, "missing") || !remarked(u.Remarks, "unpaired") {
		t.Errorf("n %d, remarks %v", u.NCaged, u.Remarks)
	}
}

func TestNoCagesNoUtilization(t *testing.T) {
	path := ledgerOf(t, schema.Site{}, nil, dryFrames(2020, 1, 2, 3))
	if found := utilizationsOf(t, path, monitor.Query{}); len(found) > 0 {
		t.Errorf("utilization %+v without cages", found[0])
	}
}
