package monitor_test

import (
	"fmt"
	"math"
	"testing"

	"clipledger/monitor"
	"clipledger/schema"
)

// Was the sample enough, through the whole pipeline.

// pairs makes n weights whose mean and variance are exactly those asked for:
// half lie above the mean and half below, and with an odd n one on it.
func pairs(mean, variance float64, n int) []float64 {
	a := math.Sqrt(variance * float64(n-1) / float64(n-n%2))
	out := make([]float64, n)
	for i := range out {
		switch {
		case i == n-1 && n%2 == 1:
			out[i] = mean
		case i%2 == 0:
			out[i] = mean - a
		default:
			out[i] = mean + a
		}
	}
	return out
}

// Published: Colorado Division of Reclamation, Mining and Safety, file
// 1250747, p. 52, table SA: smallest n by one-tailed t at 90 %, ± 10 %, with
// the degrees of freedom in hand, not rounded up. Two-tailed t would give
// 21.91, 9.71 and 22.66.
func TestPublishedAdequacyTable(t *testing.T) {
	settings := map[string]string{"sides": "one-sided", "sample-size-rule": "pilot", "precision": "0.10", "adequacy-confidence": "0.90"}
	for _, tt := range []struct {
		mean, variance float64
		n              int
		printed        float64
		t              float64 // R 4.2
	}{{48.83, 188.06, 72, 13.20, 1.2935893}, {64.40, 134.67, 20, 5.72, 1.3277282}, {51.95, 204.58, 20, 13.36, 1.3277282}} {
		path := ledgerOf(t, schema.Site{}, settings, dryFrames(2020, pairs(tt.mean, tt.variance, tt.n)...))
		m := meanOf(t, path, 2020, "herbaceous")
		near(t, "mean", m.Mean, tt.mean, 1e-9)
		near(t, "variance", schema.Some(m.SD.Float64*m.SD.Float64), tt.variance, 1e-9)
		near(t, "n required", m.NRequired, tt.printed, 0.005)
		near(t, "half-width", m.HalfPct, 100*tt.t*math.Sqrt(tt.variance/float64(tt.n))/tt.mean, 1e-5)
		if m.Adequate != monitor.Yes || m.ShortBy().Float64 != 0 {
			t.Errorf("n %d of %v: adequate %q, short by %v; want yes, 0", tt.n, tt.printed, m.Adequate, m.ShortBy().Float64)
		}
	}
}

// Ten frames of CV 0.40; the smallest n with n >= (t(n-1)·CV/d)², and one step
// with the t of n = 10, both worked out in R 4.2.
func TestSampleSizes(t *testing.T) {
	text := dryFrames(2020, pairs(100, 1600, 10)...)
	for _, tt := range []struct {
		confidence, precision string
		iterated, pilot       float64
	}{
		{"0.80", "0.10", 28, 30.604}, {"0.80", "0.20", 9, 7.651}, {"0.90", "0.10", 46, 53.765}, {"0.90", "0.20", 13, 13.441},
		{"0.95", "0.10", 64, 81.878}, {"0.95", "0.20", 18, 20.469}, {"0.95", "0.25", 13, 13.100},
	} {
		t.Run(fmt.Sprintf("%s at ±%s", tt.confidence, tt.precision), func(t *testing.T) {
			settings := map[string]string{"adequacy-confidence": tt.confidence, "precision": tt.precision}
			m := meanOf(t, ledgerOf(t, schema.Site{}, settings, text), 2020, "herbaceous")
			near(t, "cv", m.CVPct, 40, 1e-9)
			near(t, "n required", m.NRequired, tt.iterated, 0)
			short := math.Max(0, tt.iterated-10)
			near(t, "short by", m.ShortBy(), short, 0)
			if want := map[bool]monitor.Verdict{true: monitor.No, false: monitor.Yes}[short > 0]; m.Adequate != want {
				t.Errorf("adequate %q, want %q", m.Adequate, want)
			}
			settings["sample-size-rule"] = "pilot"
			m = meanOf(t, ledgerOf(t, schema.Site{}, settings, text), 2020, "herbaceous")
			near(t, "n required by the pilot rule", m.NRequired, tt.pilot, 5e-4)
		})
	}
}

// Sampling units are what is counted: thirty frames on three transects are
// three units.
func TestAdequacyCountsUnits(t *testing.T) {
	text := ""
	for i, mean := range []int{80, 100, 120} {
		for f := 1; f <= 10; f++ {
			text += fmt.Sprintf("2020 %d herbaceous dry=%d t=%c\n", f, mean+f%2*10-5, 'A'+i)
		}
	}
	m := meanOf(t, ledgerOf(t, schema.Site{SamplingUnit: "transect"}, nil, text), 2020, "herbaceous")
	if m.N != 3 {
		t.Errorf("n %d, want 3", m.N)
	}
	// CV 0.20 at ± 20 % and 80 %: t(.90; 2) = 1.885618, squared 3.56 > 3;
	// t(.90; 3) = 1.637744, squared 2.68 <= 4 (t quantiles: R 4.2).
	near(t, "n required", m.NRequired, 4, 0)
	near(t, "half-width", m.HalfPct, 100*1.885618083164*0.20/math.Sqrt(3), 1e-9)
}

// The assured size: the smallest n with P[T′(n-1; √n/CV) >= t/d] at least the
// assurance, T′ noncentral t; CV 0.40, by pt in R 4.2. The size by the
// iterated rule is reached only about half the time.
func TestAssuredSizes(t *testing.T) {
	text := dryFrames(2020, pairs(100, 1600, 10)...)
	for _, tt := range []struct {
		confidence, precision, assurance string
		want                             float64
	}{{"0.80", "0.20", "0.90", 13}, {"0.90", "0.10", "0.90", 58}, {"0.90", "0.20", "0.80", 17}} {
		settings := map[string]string{"adequacy-confidence": tt.confidence, "precision": tt.precision, "assurance": tt.assurance}
		near(t, "n assured", meanOf(t, ledgerOf(t, schema.Site{}, settings, text), 2020, "herbaceous").NAssured, tt.want, 0)
	}
}
