package intake

import "clipledger/schema"

// testVocabulary is a small ledger's.
func testVocabulary() *schema.Vocabulary {
	set := func(words ...string) map[string]bool {
		m := map[string]bool{}
		for _, w := range words {
			m[w] = true
		}
		return m
	}
	return &schema.Vocabulary{
		FrameTypes:  map[string]float64{"9.6 ft2": 9.6 * m2PerFt2, "ring 2019": 0.5},
		Stages:      set("pre-heading", "heading", "seed-ripe", "full-leaf"),
		GrowthForms: set("grass-cool", "forb-leafy", "shrub-evergreen"),
		Seasons:     set("peak", "spring", "summer", "fall", "winter", "dormant"),
		Sites:       map[string]schema.SiteDefaults{"Upper Bench": {FrameType: "9.6 ft2", YearStartMonth: 1}, "No Default": {YearStartMonth: 10}},
		Species:     set("SAGE1", "POSE"),
		Basis:       schema.AirDry,
	}
}
