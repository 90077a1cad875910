package stat

import (
	"math"
	"math/rand/v2"
	"testing"
)

// yearsAlike is how two years are drawn in which nothing changed: 20 permanent
// frames, lognormal, whose green weights have a CV of 0.5 and correlate (on the
// log scale) by 0.9 between the years. Each year all of them are converted by
// the ratio of three bags whose dry-matter fractions have a CV of 0.15.
type yearsAlike struct {
	name string
	bag  func(*rand.Rand) float64 // green weight of a dried bag
	// The bands hold 99.9 % of correct programs with 5,000 runs.
	withLow, withHigh, withoutLow, withoutHigh float64
}

func yearsAlikes() []yearsAlike {
	return []yearsAlike{
		// Bags as they come, which vary like the frames do: the variance of a
		// ratio of three runs low, and the test alarms a little too often.
		{"bags-as-they-come", func(r *rand.Rand) float64 { return lognormal(r.NormFloat64()) }, 0.101, 0.131, 0.51, 0.556},
		{"bags-of-equal-weight", func(*rand.Rand) float64 { return 100 }, 0.078, 0.105, 0.487, 0.534},
	}
}

// lognormal is a weight of mean 100 and CV 0.5.
func lognormal(z float64) float64 {
	sigma := math.Sqrt(math.Log1p(0.25))
	return 100 * math.Exp(sigma*z-sigma*sigma/2)
}

// falseAlarms compares such years over and over, and returns how often p comes
// out below 0.10: with the error of the drying ratios of both years added, and
// with it left out.
func (y yearsAlike) falseAlarms(runs int, seed uint64) (with, without float64) {
	const frames, bags, r, fraction, cv = 20, 3, 0.9, 0.45, 0.15
	rng := rand.New(rand.NewPCG(seed, 11))
	for range runs {
		var green, dry [2][]float64
		for range frames {
			z := rng.NormFloat64()
			green[0] = append(green[0], lognormal(z))
			green[1] = append(green[1], lognormal(r*z+math.Sqrt(1-r*r)*rng.NormFloat64()))
		}
		var drying []VariancePart
		for year := range 2 {
			var g, d []float64
			for range bags {
				w := y.bag(rng)
				g, d = append(g, w), append(d, w*fraction*(1+cv*rng.NormFloat64()))
			}
			ratio, _ := RatioOf(d, g)
			mean := MomentsOf(green[year]).Mean()
			drying = append(drying, VariancePart{mean * mean * ratio.Variance, float64(ratio.M - 1)})
			for _, w := range green[year] {
				dry[year] = append(dry[year], w*ratio.R)
			}
		}
		difference, part, _ := PairedDifference(dry[0], dry[1])
		if test, ok := TTestOf(difference, append(drying, part)); ok && test.P < 0.10 {
			with++
		}
		if test, ok := TTestOf(difference, []VariancePart{part}); ok && test.P < 0.10 {
			without++
		}
	}
	return with / float64(runs), without / float64(runs)
}

func TestFalseAlarmsOfPairedYears(t *testing.T) {
	for _, y := range yearsAlikes() {
		with, without := y.falseAlarms(5000, 1)
		if with < y.withLow || with > y.withHigh {
			t.Errorf("%s: with the drying error %.3f false alarms at .10, want %.3f to %.3f", y.name, with, y.withLow, y.withHigh)
		}
		if without < y.withoutLow || without > y.withoutHigh {
			t.Errorf("%s: without the drying error %.3f false alarms at .10, want %.3f to %.3f", y.name, without, y.withoutLow, y.withoutHigh)
		}
	}
}

// BenchmarkCoverageOfChange reports the share of false alarms at .10; every
// round is 5,000 more pairs of years.
func BenchmarkCoverageOfChange(b *testing.B) {
	for _, y := range yearsAlikes() {
		b.Run(y.name, func(b *testing.B) {
			var rounds uint64
			var sumWith, sumWithout float64
			for b.Loop() {
				rounds++
				with, without := y.falseAlarms(5000, rounds)
				sumWith += with
				sumWithout += without
			}
			b.ReportMetric(sumWith/float64(rounds), "false-alarms")
			b.ReportMetric(sumWithout/float64(rounds), "drying-left-out")
		})
	}
}
