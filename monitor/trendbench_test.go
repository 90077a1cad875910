package monitor_test

import (
	"fmt"
	"math/rand/v2"
	"testing"

	"clipledger/monitor"
	"clipledger/schema"
	"clipledger/schema/ledgertest"
)

// manySites makes a ledger of sites with 25 years of 20 frames that stay in
// place, herbaceous and browse, some frames missing, with rain.
func manySites(b *testing.B, sites int) string {
	b.Helper()
	rng := rand.New(rand.NewPCG(400, 25))
	var r ledgertest.Records
	for year := 1999; year <= 2024; year++ {
		for month := 1; month <= 12; month++ {
			r.Rain = append(r.Rain, schema.Rain{Station: "GAUGE", Year: year, Month: month, RainMM: 10 + 40*rng.Float64()})
		}
	}
	for s := range sites {
		site := fmt.Sprintf("S%03d", s)
		r.Sites = append(r.Sites, schema.Site{Site: site, Placement: "same", SamplingUnit: "frame", Station: "GAUGE", RainMonths: "10-6"})
		for year := 2000; year <= 2024; year++ {
			good := rng.NormFloat64()
			for f := range 20 {
				if rng.IntN(20) == 0 {
					continue
				}
				for _, c := range []schema.Component{schema.Herbaceous, schema.Browse} {
					dry := max(0, 40+float64(f)+8*good+10*rng.NormFloat64())
					r.Clippings = append(r.Clippings, schema.Clipping{Site: site, Year: year, Frame: fmt.Sprint(f + 1), FrameType: "1 m2", Component: c, DryG: schema.Some(dry)})
				}
			}
		}
	}
	return ledgertest.Path(b, r)
}

// BenchmarkTrends works out every trend of many sites, mixed models included:
// herbaceous, browse and production of each.
//
//	go test -run XXX -bench Trends -benchtime 3x ./monitor
func BenchmarkTrends(b *testing.B) {
	for _, sites := range []int{100, 400} {
		b.Run(fmt.Sprintf("sites-%d", sites), func(b *testing.B) {
			path := manySites(b, sites)
			for b.Loop() {
				n, mixed := 0, 0
				ledgertest.Read(b, path, func(s *schema.Snapshot) error {
					return monitor.Trends(s, monitor.Query{}, func(s *monitor.Series) error {
						n++
						if s.Components != nil {
							mixed++
						}
						return nil
					})
				})
				if n != 3*sites || mixed != n {
					b.Fatalf("%d series, %d with a mixed model", n, mixed)
				}
			}
		})
	}
}
