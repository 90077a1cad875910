package charts

import (
	"fmt"
	"math/rand/v2"
	"path/filepath"
	"testing"
)

// BenchmarkWrite writes the report of an office: 300 sites, 14 years, three
// series each, into a new folder.
func BenchmarkWrite(b *testing.B) {
	rng := rand.New(rand.NewPCG(1, 2))
	r := sampleReport()
	r.Sites = nil
	for i := range 300 {
		r.Sites = append(r.Sites, sampleSite(rng, fmt.Sprintf("S-%03d", i), "Some site", "Some stratum", 600, 0.2, 0.5, 15))
	}
	for b.Loop() {
		if err := Write(filepath.Join(b.TempDir(), "r"), r, nil); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(300*float64(b.N)/b.Elapsed().Seconds(), "sites/s")
}
