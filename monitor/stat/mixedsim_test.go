package stat

import (
	"math"
	"math/rand/v2"
	"testing"
)

// Nothing changes, and weather moves all frames of a year together: how often
// does each test call a trend at .10? Frames 15, year variance twice the
// residual variance over frames. Correct answers are within .086 to .114 of
// 5,000 series (99.9 % Monte Carlo band).
//
// BenchmarkCoverageTrend reports the shares; every round is 5,000 series.
func BenchmarkCoverageTrend(b *testing.B) {
	for _, years := range []int{5, 8, 12} {
		b.Run("mixed/T="+string(rune('0'+years/10))+string(rune('0'+years%10)), func(b *testing.B) {
			var sum alarmShares
			rounds := 0.0
			for b.Loop() {
				rounds++
				sum.add(mixedAlarms(rand.New(rand.NewPCG(uint64(years), uint64(rounds))), 5000, years))
			}
			b.ReportMetric(sum.product/rounds, "false-alarms")
			b.ReportMetric(sum.bare/rounds, "without-fallback")
			b.ReportMetric(sum.singular/rounds, "year-singular")
		})
	}
	b.Run("kendall/sites=20/T=08", func(b *testing.B) {
		var corrected, plain float64
		rounds := 0.0
		for b.Loop() {
			rounds++
			c, p := kendallAlarms(rand.New(rand.NewPCG(20, uint64(rounds))), 5000)
			corrected += c
			plain += p
		}
		b.ReportMetric(corrected/rounds, "corrected")
		b.ReportMetric(plain/rounds, "uncorrected")
	})
}

type alarmShares struct{ product, bare, singular float64 }

func (a *alarmShares) add(b alarmShares) {
	a.product += b.product
	a.bare += b.bare
	a.singular += b.singular
}

// mixedAlarms is how often the mixed model of frames and years calls a trend
// that is not there, with the rule of the program (a singular year variance
// falls back to the yearly series) and without.
func mixedAlarms(rng *rand.Rand, series, years int) alarmShares {
	const frames, restSD = 15, 1.0
	yearSD := math.Sqrt(2 * restSD * restSD / frames)
	var a alarmShares
	for range series {
		y, frame, year := unbalanced(rng, design{frames: frames, years: years, frameSD: 1.5, yearSD: yearSD, restSD: restSD})
		r, err := FrameYearTrend(y, frame, year)
		if err != nil {
			panic(err)
		}
		p := r.P
		if p < 0.1 {
			a.bare++
		}
		if r.YearSingular {
			a.singular++
			p = yearlySeriesP(y, year)
		}
		if p < 0.1 {
			a.product++
		}
	}
	n := float64(series)
	return alarmShares{a.product / n, a.bare / n, a.singular / n}
}

// yearlySeriesP is the p of least squares on the means of years that hold all
// frames.
func yearlySeriesP(y []float64, year []int) float64 {
	means := map[int]*Moments{}
	for i, v := range y {
		if means[year[i]] == nil {
			means[year[i]] = &Moments{}
		}
		means[year[i]].Add(v)
	}
	var x, m []float64
	for t := range means {
		x, m = append(x, float64(t)), append(m, means[t].Mean())
	}
	fit, _ := LeastSquares(m, x)
	_, p, _ := fit.Slopes[0].Test(fit.DF)
	return p
}

// kendallAlarms is how often the regional Kendall test calls a trend in 20
// sites and 8 years, half of the variance shared by the sites of a year.
func kendallAlarms(rng *rand.Rand, series int) (corrected, plain float64) {
	for range series {
		y, site, year := unbalanced(rng, design{frames: 20, years: 8, frameSD: 3, yearSD: 1, restSD: 1})
		r, _ := RegionalKendallOf(y, site, year)
		if r.CorrectedOK && r.P < 0.1 {
			corrected++
		}
		if r.PlainP < 0.1 {
			plain++
		}
	}
	return corrected / float64(series), plain / float64(series)
}
