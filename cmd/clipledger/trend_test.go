package main

import (
	"encoding/json"
	"os"
	"strings"
	"testing"
)

// trendJSON is a row of trend --format json.
type trendJSON struct {
	Site, Season, Component, Method, Verdict, Sentence string
	Years                                              int
	Slope, P                                           *float64
	Rain                                               *struct {
		Held *float64 `json:"slope_with_rain"`
	}
	Series []struct {
		Year int
		Rain *float64 `json:"rain_mm"`
	}
	Events    []struct{ Kind string }
	Transects []struct{ Transect string }
}

// demoTrends are the trends of the demo by site, season, component and method.
func demoTrends(t *testing.T) map[string]trendJSON {
	t.Helper()
	o := mustRun(t, "trend", "--ledger", sharedDemo(t)+"/ansel-basin.db", "--format", "json")
	var rows []trendJSON
	if err := json.Unmarshal([]byte(o.out), &rows); err != nil {
		t.Fatal(err)
	}
	out := map[string]trendJSON{}
	for _, r := range rows {
		out[strings.Join([]string{r.Site, r.Season, r.Component, r.Method}, " ")] = r
	}
	return out
}

// plantedTruth is what truth.json promises.
type plantedTruth struct {
	Sites []struct {
		Site       string
		Production plantedPromise `json:"promise_for_production"`
		Components []struct {
			Component, Season string
			Promise           plantedPromise
			Years             []struct {
				Year int
				Rain float64 `json:"rain_mm"`
			}
		}
	}
}

type plantedPromise struct {
	OLS     string `json:"ols"`
	OLSRain string `json:"ols_rain"`
}

func readPlanted(t *testing.T) plantedTruth {
	t.Helper()
	content, err := os.ReadFile("../../testdata/ansel-basin/truth.json")
	if err != nil {
		t.Fatal(err)
	}
	var truth plantedTruth
	if err := json.Unmarshal(content, &truth); err != nil {
		t.Fatal(err)
	}
	return truth
}

// Every promise of the invented district is kept: the trends that were put in
// are found, alone and with rain held, and none that were not.
func TestPlantedTrendsAreFound(t *testing.T) {
	trends, kept := demoTrends(t), 0
	hold := func(site, season, component string, p plantedPromise) {
		for method, promise := range map[string]string{"ols": p.OLS, "ols-rain": p.OLSRain} {
			name := strings.Join([]string{site, season, component, method}, " ")
			row, ok := trends[name]
			if !ok {
				t.Errorf("%s is not there", name)
				continue
			}
			want := promise
			switch {
			case promise == "not promised":
				continue
			case promise == "no trend":
				want = "no trend detected"
				if row.P == nil || *row.P <= 0.2 {
					t.Errorf("%s: promised no trend, p %v", name, row.P)
				}
			case promise != "too few years" && (row.P == nil || *row.P >= 0.05):
				t.Errorf("%s: promised %s, p %v", name, promise, row.P)
			}
			if kept++; row.Verdict != want {
				t.Errorf("%s: %q, promised %q", name, row.Verdict, promise)
			}
		}
	}
	for _, s := range readPlanted(t).Sites {
		seasons := map[string]bool{}
		var season []string
		for _, c := range s.Components {
			hold(s.Site, c.Season, c.Component, c.Promise)
			if part := c.Component == "herbaceous" || c.Component == "browse"; part && c.Promise.OLS != "too few years" && !seasons[c.Season] {
				seasons[c.Season] = true
				season = append(season, c.Season)
			}
		}
		hold(s.Site, strings.Join(season, "+"), "production", s.Production)
	}
	if kept != 38 {
		t.Errorf("%d promises held, want 38", kept)
	}
}

// The sentences say what was put in: a decline that is not the rain, a rise
// that is.
func TestPlantedSentences(t *testing.T) {
	trends := demoTrends(t)
	for name, want := range map[string]string{
		"QUILL peak browse ols":       ", and rain does not explain it.",
		"THIMBLE peak herbaceous ols": ", and so did the rain (correlation with year 0.74): with rain accounted for, no trend is detected (",
		"THIMBLE peak production ols": ", and so did the rain (correlation with year 0.74): with rain accounted for, no trend is detected (",
		"LANTERN fall herbaceous ols": "2 years with values, too few for a verdict",
	} {
		if got := trends[name].Sentence; !strings.Contains(got, want) {
			t.Errorf("%s: %s", name, got)
		}
	}
	if got := trends["QUILL peak browse ols"].Sentence; !strings.HasPrefix(got, "Browse fell 5.2 % a year (p < 0.001)") {
		t.Error(got)
	}
}

// The rain of the windows is the rain that the scenario wrote down.
func TestPlantedRain(t *testing.T) {
	trends, compared := demoTrends(t), 0
	for _, s := range readPlanted(t).Sites {
		for _, c := range s.Components {
			rain := map[int]*float64{}
			for _, y := range trends[strings.Join([]string{s.Site, c.Season, c.Component, "ols"}, " ")].Series {
				rain[y.Year] = y.Rain
			}
			for _, y := range c.Years {
				if got := rain[y.Year]; got == nil || *got < y.Rain-1e-9 || *got > y.Rain+1e-9 {
					t.Errorf("%s %s %d: rain %v, want %v", s.Site, c.Component, y.Year, got, y.Rain)
				}
				compared++
			}
		}
	}
	if compared < 150 {
		t.Errorf("%d years compared", compared)
	}
}

// Events and transects of the demo are shown.
func TestPlantedEventsAndTransects(t *testing.T) {
	trends := demoTrends(t)
	for name, want := range map[string]string{"BUTTON peak herbaceous ols": "flood grazing", "QUILL peak browse ols": "grazing", "LANTERN peak herbaceous ols": "fire", "LANTERN fall herbaceous ols": "fire", "THIMBLE peak browse ols": ""} {
		kinds := map[string]bool{}
		for _, e := range trends[name].Events {
			kinds[e.Kind] = true
		}
		if got := strings.Join(sortedKeys(kinds), " "); got != want {
			t.Errorf("%s: events %q, want %q", name, got, want)
		}
	}
	if n := len(trends["SPINDLE peak browse ols"].Transects); n != 4 {
		t.Errorf("%d transects of SPINDLE", n)
	}
}
