package monitor_test

import (
	"math"
	"testing"

	"clipledger/schema"
	"clipledger/schema/ledgertest"
)

// What drying samples add to the error of a mean.

// sample is a drying sample of site A in 2020.
func sample(green, dry float64, species string) schema.Drying {
	return schema.Drying{Line: 2, Site: "A", Year: 2020, Season: "peak", Component: schema.Herbaceous, Species: species, GreenG: green, DryG: dry}
}

// Four frames of 100, 200, 300 and 400 g green; three samples of 100 g that
// dried to 40, 50 and 60 g. By hand: R = 150/300 = 0.5; Σ(d - R·g)² = 200;
// v(R) = 200/(3·2·100²) = 1/300. Dry 50, 100, 150, 200: mean 125, s² =
// 12,500/3, s²/n = 3,125/3. Mean green weight 250, so drying adds 250²/300 =
// 625/3, and se² = 1,250. df = 1250²/((3125/3)²/3 + (625/3)²/2). The t
// quantile by R 4.2.
func TestDryingSamplesWidenTheInterval(t *testing.T) {
	text := `2020 1 herbaceous green=100
		2020 2 herbaceous green=200
		2020 3 herbaceous green=300
		2020 4 herbaceous green=400`
	path := ledgerOf(t, schema.Site{}, nil, text, sample(100, 40, ""), sample(100, 50, ""), sample(100, 60, ""))
	m := meanOf(t, path, 2020, "herbaceous")
	near(t, "mean", m.Mean, 125, 1e-9)
	near(t, "sd", m.SD, math.Sqrt(12500.0/3), 1e-9)
	near(t, "se", m.SE, math.Sqrt(1250), 1e-9) // √(3125/3) = 32.27 with drying left out
	near(t, "se of drying", m.SEDrying, math.Sqrt(625.0/3), 1e-9)
	near(t, "df", m.DF, 1250*1250/(3125.0*3125/27+625.0*625/18), 1e-9) // 4.0755, not 3
	near(t, "low", m.CI.Low, 50.02708845125, 1e-7)
	near(t, "high", m.CI.High, 199.97291154875, 1e-7)
}

// An empty frame halves the mean green weight that the ratio converted: three
// of four frames hold 100 g, so drying adds 75²·v(R) = 5625/300.
func TestEmptyFramesCountInTheMeanGreenWeight(t *testing.T) {
	text := `2020 1 herbaceous green=100
		2020 2 herbaceous green=100
		2020 3 herbaceous green=100
		2020 4 - empty`
	path := ledgerOf(t, schema.Site{}, nil, text, sample(100, 40, ""), sample(100, 50, ""), sample(100, 60, ""))
	m := meanOf(t, path, 2020, "herbaceous")
	near(t, "se of drying, squared", schema.Some(m.SEDrying.Float64*m.SEDrying.Float64), 5625.0/300, 1e-9)
	near(t, "se²", schema.Some(m.SE.Float64*m.SE.Float64), 625.0/4+5625.0/300, 1e-9) // dry 50, 50, 50, 0: s² = 625
}

// Two species, each with its own ratio, in frames of 2 m². Species one: 40 g
// green in each frame, so 20 g/m²; v(R) = 1/300 as above. Species two: 80 and
// 120 g, mean 50 g/m²; samples 100 to 20 and 100 to 40: R = 0.3, Σe² = 200,
// v = 200/(2·1·100²) = 1/100. A measured bag adds nothing to the drying part.
func TestEachRatioAddsItsOwnVariance(t *testing.T) {
	text := `2020 1 herbaceous green=40 sp=ONE type=2_m2
		2020 1 herbaceous green=80 sp=TWO type=2_m2
		2020 2 herbaceous green=40 sp=ONE type=2_m2
		2020 2 herbaceous green=120 sp=TWO type=2_m2
		2020 2 herbaceous dry=10 sp=THREE type=2_m2`
	path := ledgerOf(t, schema.Site{}, nil, text, sample(100, 40, "ONE"), sample(100, 50, "ONE"), sample(100, 60, "ONE"), sample(100, 20, "TWO"), sample(100, 40, "TWO"))
	m := meanOf(t, path, 2020, "herbaceous")
	near(t, "mean", m.Mean, ((20+24)/2.0+(20+36+10)/2.0)/2, 1e-9)
	drying := 20*20/300.0 + 50*50/100.0
	near(t, "drying variance", schema.Some(m.SEDrying.Float64*m.SEDrying.Float64), drying, 1e-9)
	frames := (33.0 - 22) * (33 - 22) / 2 / 2 // s² of 22 and 33, over n
	near(t, "se²", schema.Some(m.SE.Float64*m.SE.Float64), frames+drying, 1e-9)
	near(t, "df", m.DF, (frames+drying)*(frames+drying)/(frames*frames/1+(400/300.0)*(400/300.0)/2+25*25/1), 1e-9)
}

// Drying samples on the other basis: both the ratio and its error shrink by
// 1 - m.
func TestDryingErrorIsOnTheLedgersBasis(t *testing.T) {
	text := "2020 1 herbaceous green=100\n2020 2 herbaceous green=200"
	samples := []schema.Drying{sample(100, 40, ""), sample(100, 50, ""), sample(100, 60, "")}
	for i := range samples {
		samples[i].Basis = schema.AirDry
	}
	path := ledgerOf(t, schema.Site{}, map[string]string{"basis": schema.OvenDry}, text, samples...)
	m := meanOf(t, path, 2020, "herbaceous")
	near(t, "mean", m.Mean, 150*0.45, 1e-9)
	near(t, "se of drying", m.SEDrying, 0.9*150/math.Sqrt(300), 1e-9)
	says(t, m, "basis-converted", false)
}

// One sample has no error of its own: it is left out and said.
func TestSingleDryingSample(t *testing.T) {
	text := "2020 1 herbaceous green=100\n2020 2 herbaceous green=200"
	m := meanOf(t, ledgerOf(t, schema.Site{}, nil, text, sample(100, 50, "")), 2020, "herbaceous")
	absent(t, "se of drying", m.SEDrying)
	near(t, "se", m.SE, 25, 1e-9) // 50 and 100: s² = 1250, over 2
	near(t, "df", m.DF, 1, 0)
	says(t, m, "one-drying-sample", false)

	measured := meanOf(t, ledgerOf(t, schema.Site{}, nil, dryFrames(2020, 50, 100)), 2020, "herbaceous")
	near(t, "se of drying without any", measured.SEDrying, 0, 0)
	silent(t, measured, "one-drying-sample")
}

// By transects, a frame counts by its transect's share: transect A has one
// frame of 300 g, B two of 60 and 120 g; the mean green weight is (300 + 90)/2.
func TestDryingErrorByTransects(t *testing.T) {
	text := `2020 1 herbaceous green=300 t=A
		2020 1 herbaceous green=60 t=B
		2020 2 herbaceous green=120 t=B`
	path := ledgerOf(t, schema.Site{SamplingUnit: "transect"}, nil, text, sample(100, 40, ""), sample(100, 50, ""), sample(100, 60, ""))
	m := meanOf(t, path, 2020, "herbaceous")
	near(t, "mean", m.Mean, 97.5, 1e-9)
	near(t, "se of drying", m.SEDrying, 195/math.Sqrt(300), 1e-9)
}

// The total of two components on shared frames carries both ratios; frames
// without a total carry none.
func TestDryingErrorOfATotal(t *testing.T) {
	text := `2020 1 herbaceous green=100
		2020 1 browse green=40
		2020 2 herbaceous green=200
		2020 2 browse green=80
		2020 3 herbaceous green=900
		2020 3 browse lost`
	browse := []schema.Drying{sample(100, 20, ""), sample(100, 40, "")} // v = 1/100
	for i := range browse {
		browse[i].Component = schema.Browse
	}
	path := ledgertest.Path(t, ledgertest.Records{Sites: siteA("herbaceous;browse"), Clippings: rows(t, text),
		Drying: append(browse, sample(100, 40, ""), sample(100, 50, ""), sample(100, 60, ""))})
	m := meanOf(t, path, 2020, "production")
	near(t, "drying variance", schema.Some(m.SEDrying.Float64*m.SEDrying.Float64), 150*150/300.0+60*60/100.0, 1e-9)
}
