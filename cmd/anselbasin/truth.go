package main

import (
	"encoding/json"
)

// fault is something odd that was planted, for quality checks to find.
type fault struct {
	File string `json:"file"`
	Site string `json:"site"`
	Year int    `json:"year"`
	What string `json:"what"`
}

// fault notes a planted fault.
func (w *world) fault(t *table, site string, year int, what string) {
	w.faults = append(w.faults, fault{t.name, site, year, what})
}

// truthFile is the layout of truth.json.
type truthFile struct {
	Note      string          `json:"note"`
	Unit      string          `json:"unit"`
	Basis     string          `json:"basis"`
	OvenShare float64         `json:"oven_dry_part_of_air_dry"`
	Sites     []siteTruth     `json:"sites"`
	Stations  []stationTruth  `json:"stations"`
	Observers []observerTruth `json:"observers"`
	Faults    []fault         `json:"faults"`
}

// siteTruth says what a site is for and what grows there.
type siteTruth struct {
	Site        string             `json:"site"`
	Roles       []string           `json:"roles"`
	Clean       bool               `json:"clean"`
	NotVisited  []int              `json:"not_visited"`
	Lost        lostCount          `json:"lost_bags"`
	Utilization map[string]float64 `json:"true_utilization,omitempty"`
	Production  promise            `json:"promise_for_production"`
	Components  []componentTruth   `json:"components"`
}

// componentTruth is one component in one season.
type componentTruth struct {
	Component    string      `json:"component"`
	Season       string      `json:"season"`
	SlopePct     float64     `json:"planted_slope_pct_per_year"`
	RainResponse float64     `json:"rain_response"`
	RainMonths   string      `json:"rain_months"`
	Promise      promise     `json:"promise"`
	Years        []yearTruth `json:"years"`
}

// yearTruth is the mean that was put in, and the mean that the frames drawn
// happened to have, before weighing, drying, loss and planted faults.
type yearTruth struct {
	Year         int     `json:"year"`
	RainMM       float64 `json:"rain_mm"`
	TrueMean     float64 `json:"true_mean"`
	RealisedMean float64 `json:"realised_frame_mean"`
	Frames       int     `json:"frames"`
}

// stationTruth is the planted rise of a gauge.
type stationTruth struct {
	Station string  `json:"station"`
	RisePct float64 `json:"planted_rise_pct_per_year"`
}

// observerTruth is an observer's planted bias.
type observerTruth struct {
	Observer string `json:"observer"`
	Bias     string `json:"bias"`
}

// truth renders truth.json.
func (w *world) truth() []byte {
	f := truthFile{
		Note:      "Invented: Ansel Basin does not exist. What was put into its files, and what a program that reads them must find. Promises: a trend is detected with p below 0.05, no trend means p above 0.2.",
		Unit:      "g/m2",
		Basis:     "air-dry",
		OvenShare: ovenShare,
		Faults:    w.faults,
	}
	for _, s := range sites {
		f.Sites = append(f.Sites, w.siteTruth(s))
	}
	for _, s := range stations {
		f.Stations = append(f.Stations, stationTruth{s.name, rounded(s.rise*100, 2)})
	}
	for _, o := range observers {
		f.Observers = append(f.Observers, observerTruth{o.name, o.truth})
	}
	out, err := json.MarshalIndent(f, "", "  ")
	if err != nil {
		panic(err) // a struct of strings and finite numbers
	}
	return append(out, '\n')
}

// siteTruth collects one site.
func (w *world) siteTruth(s *site) siteTruth {
	out := siteTruth{Site: s.code, Roles: s.roles, Clean: s.clean, NotVisited: []int{}, Lost: w.lost[s.code]}
	out.Production = s.promise("production", "peak")
	if s.skipped != 0 {
		out.NotVisited = append(out.NotVisited, s.skipped)
	}
	if s.code == "BUTTON" {
		out.Utilization = map[string]float64{"herbaceous": buttonHerbEaten, "browse": buttonShrubEaten}
	}
	for _, p := range s.plants {
		out.Components = append(out.Components, w.componentTruth(s, p))
	}
	return out
}

// componentTruth collects one component of a site; years in which it was not
// clipped are left out.
func (w *world) componentTruth(s *site, p plant) componentTruth {
	k := s.series(p)
	out := componentTruth{
		Component: p.component, Season: p.season, SlopePct: rounded(p.slope*100, 2),
		RainResponse: p.rain, RainMonths: s.window.String(), Promise: s.promise(p.component, p.season),
	}
	for i, y := range growthYears() {
		if seen := w.frames[k][y]; seen != nil {
			out.Years = append(out.Years, yearTruth{
				Year: y, RainMM: rounded(w.gauges[s.station].fall(s.window, y), 1), TrueMean: rounded(w.means[k][i], 4),
				RealisedMean: rounded(mean(seen), 4), Frames: len(seen),
			})
		}
	}
	return out
}

// promise is the verdict that the files must give on one component: ols is
// least squares of the yearly means on year, ols_rain the same with the rain
// of the window held. Detected means p < 0.05, no trend p > 0.2.
type promise struct {
	OLS     string `json:"ols"`
	OLSRain string `json:"ols_rain"`
}

// promise gives the verdict on a component, or on production.
func (s *site) promise(component, season string) promise {
	switch {
	case s.code == "LANTERN" && season == "fall":
		return promise{"too few years", "too few years"}
	case s.code == "QUILL" && component == "browse":
		return promise{"decreasing", "decreasing"}
	case s.code == "QUILL" && component == "production":
		return promise{"not promised", "not promised"} // half of it declines
	case s.code == "THIMBLE" && component != "browse":
		return promise{"increasing", "no trend"}
	}
	return promise{"no trend", "no trend"}
}
