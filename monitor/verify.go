package monitor

import (
	"fmt"
	"math"

	"clipledger/schema"
)

// VerifyMeans compares the view occasion_mean, which other programs read,
// with what this program works out: one rule, held together.
func VerifyMeans(s *schema.Snapshot) (schema.Check, error) {
	c := schema.Check{Name: "means"}
	type key struct {
		site      string
		year      int
		season    string
		component string
	}
	views := map[key]schema.OccasionMean{}
	err := s.OccasionMeans(func(m *schema.OccasionMean) error {
		views[key{m.Site, m.Year, m.Season, m.Component}] = *m
		return nil
	})
	if err != nil {
		return c, err
	}
	fault := func(k key, what string, args ...any) {
		if len(c.Faults) < 20 {
			c.Faults = append(c.Faults, fmt.Sprintf("%s %d %s %s: %s", k.site, k.year, k.season, k.component, fmt.Sprintf(what, args...)))
		}
	}
	err = Means(s, Query{Clipped: true}, func(m *Mean) error {
		k := key{m.Site.Site, m.Year, m.Season, m.Component}
		v, ok := views[k]
		delete(views, k)
		switch {
		case m.has("sum-of-means") || m.has("part-missing"):
			return nil // sums over frames of their own are the program's alone
		case !ok && m.N > 0:
			fault(k, "not in the view")
		case ok && (v.N != m.N || !agree(v.Mean, m.Mean.Float64) || !agree(v.SD.Float64, m.SD.Float64)):
			fault(k, "the view has n %d, mean %g, sd %g; the program n %d, mean %g, sd %g", v.N, v.Mean, v.SD.Float64, m.N, m.Mean.Float64, m.SD.Float64)
		}
		c.Looked++
		return nil
	})
	for k := range views {
		if k.component != Production { // where parts have seasons of their own the total is the year's
			fault(k, "only in the view")
		}
	}
	return c, err
}

func (m *Mean) has(code string) bool {
	for _, r := range m.Remarks {
		if r.Code == code {
			return true
		}
	}
	return false
}

func agree(a, b float64) bool {
	return math.Abs(a-b) <= 1e-9*math.Max(1e-6, math.Max(math.Abs(a), math.Abs(b)))
}
