package main

// Areas of the frames in m² (1 ft = 0.3048 m).
const (
	ft2        = 0.3048 * 0.3048
	area9_6    = 9.6 * ft2
	area4_8    = 4.8 * ft2
	area2_4    = 2.4 * ft2
	area435    = 435.6 * ft2
	areaSquare = 0.25 // half a metre by half a metre
)

// ovenShare is the oven-dry part of an air-dry weight in this scenario: the
// ledger's own default of 10 % moisture in air-dry matter.
const ovenShare = 0.90

// sharedSeed fixes the part of the year effects that all sites share.
const sharedSeed = 1

// plant is one component of a site as it truly grows: its mean over the years
// in air-dry g/m², how its production answers to rain (1: as many percent as
// the rain differs from its mean), its planted trend per year, and the
// standard deviation of what the year does beyond rain.
type plant struct {
	component string
	season    string
	base      float64
	rain      float64
	slope     float64
	spread    float64
}

// site is one invented site: where its rain is read, and what grows there.
type site struct {
	code    string
	seed    uint64
	station string
	window  window
	roles   []string
	clean   bool // no fault is planted here
	skipped int  // growth year without a visit, 0 for none
	plants  []plant
}

// sites of Ansel Basin, two to a stratum.
var sites = []*site{
	{
		code: "QUILL", seed: 7, station: "LOW", window: window{10, 6}, clean: true,
		roles: []string{"permanent shrub transect", "true downward trend in browse", "book values"},
		plants: []plant{
			{"herbaceous", "peak", 55, 0.8, 0, 0.07},
			{"browse", "peak", 32, 0.3, -0.05, 0.05},
		},
	},
	{
		code: "BUTTON", seed: 17, station: "LOW", window: window{4, 7}, skipped: 2020,
		roles: []string{"caged and open frames", "gross and tare weights"},
		plants: []plant{
			{"herbaceous", "peak", 75, 0.6, 0, 0.07},
			{"browse", "peak", 18, 0.3, 0, 0.07},
		},
	},
	{
		code: "LANTERN", seed: 6, station: "FOOT", window: window{10, 4}, clean: true,
		roles: []string{"winter-rain grassland", "every bag dried"},
		plants: []plant{
			{"herbaceous", "peak", 65, 0.9, 0, 0.08},
			{"herbaceous", "fall", 8, 0, 0, 0.1},
			{"standing-dead", "peak", 14, 0, 0, 0.15},
			{"litter", "peak", 28, 0, 0, 0.15},
		},
	},
	{
		code: "SPINDLE", seed: 16, station: "FOOT", window: window{10, 6},
		roles: []string{"frame size changed in 2018", "four transects", "species drying samples"},
		plants: []plant{
			{"herbaceous", "peak", 48, 0.7, 0, 0.07},
			{"browse", "peak", 22, 0.3, 0, 0.06},
		},
	},
	{
		code: "THIMBLE", seed: 25, station: "HIGH", window: window{10, 6}, clean: true,
		roles: []string{"upward trend in herbaceous is only rain", "double sampling"},
		plants: []plant{
			{"herbaceous", "peak", 62, 1.0, 0, 0.05},
			{"browse", "peak", 14, 0, 0, 0.06},
		},
	},
	{
		code: "BUCKLE", seed: 9, station: "FOOT", window: window{10, 6},
		roles: []string{"lost bags", "browse in fall on larger plots"},
		plants: []plant{
			{"herbaceous", "peak", 42, 0.6, 0, 0.07},
			{"browse", "fall", 15, 0.3, 0, 0.06},
		},
	},
}

// siteOf finds a site by its code.
func siteOf(code string) *site {
	for _, s := range sites {
		if s.code == code {
			return s
		}
	}
	panic("no site " + code)
}
