package charts

import (
	"strings"
	"testing"
)

// plain puts ordinary spaces in place of those that do not break.
func plain(s string) string { return strings.ReplaceAll(s, nbsp, " ") }

func findingReport() *Report {
	return &Report{Unit: "lb/ac", Basis: "air-dry", Confidence: 0.90, AdequacyText: "±20 % at 80 % confidence", PrecisionPct: 20}
}

// oneSeries is a site with production alone.
func oneSeries(years ...Year) *Site {
	return &Site{Code: "A", Series: []Series{{Component: "production", Season: "peak", Production: true, Years: years}}}
}

func TestFinding(t *testing.T) {
	good := Year{Year: 2024, N: 12, Mean: ptr(612.4), SD: ptr(130.0), Low: ptr(540.2), High: ptr(684.4), Adequate: ptr(true)}
	short := good
	short.Adequate, short.ShortBy = ptr(false), ptr(3)
	shortByOne := good
	shortByOne.Adequate, shortByOne.ShortBy = ptr(false), ptr(1)
	tooFew := good
	tooFew.Adequate = ptr(false)
	unjudged := good
	unjudged.Adequate = nil
	chosen := oneSeries(good)
	chosen.Selection = "chosen"
	transects := oneSeries(good)
	transects.SamplingUnit = "transect"
	seasons := oneSeries(good)
	seasons.Series = append(seasons.Series, Series{Component: "browse", Season: "fall"})

	for _, c := range []struct {
		name string
		site *Site
		want string
	}{
		{"enough", oneSeries(good), "In 2024 production was 612 lb/ac (90 % interval 540 to 684, air-dry) from 12 frames; enough frames for ±20 % at 80 % confidence."},
		{"short", oneSeries(short), "In 2024 production was 612 lb/ac (90 % interval 540 to 684, air-dry) from 12 frames; 3 more frames were needed for ±20 % at 80 % confidence."},
		{"short by one", oneSeries(shortByOne), "In 2024 production was 612 lb/ac (90 % interval 540 to 684, air-dry) from 12 frames; 1 more frame was needed for ±20 % at 80 % confidence."},
		{"too few, not said by how many", oneSeries(tooFew), "In 2024 production was 612 lb/ac (90 % interval 540 to 684, air-dry) from 12 frames; too few frames for ±20 % at 80 % confidence."},
		{"not judged", oneSeries(unjudged), "In 2024 production was 612 lb/ac (90 % interval 540 to 684, air-dry) from 12 frames; whether those were enough frames could not be judged."},
		{"one frame", oneSeries(Year{Year: 2024, N: 1, Mean: ptr(612.4)}), "In 2024 production was 612 lb/ac (air-dry) from 1 frame; a single frame gives no interval."},
		{"all alike", oneSeries(Year{Year: 2024, N: 3, Mean: ptr(612.4), SD: ptr(0.0)}), "In 2024 production was 612 lb/ac (air-dry) from 3 frames; all frames weighed alike, which gives no interval."},
		{"no interval", oneSeries(Year{Year: 2024, N: 3, Mean: ptr(612.4), SD: ptr(9.0)}), "In 2024 production was 612 lb/ac (air-dry) from 3 frames; no interval could be computed."},
		{"all zero", oneSeries(Year{Year: 2024, N: 9, Mean: ptr(0.0), SD: ptr(0.0)}), "In 2024 nothing was found in any of 9 frames: production was 0 lb/ac (air-dry), which gives no interval and no verdict on the number of frames."},
		{"one frame, zero", oneSeries(Year{Year: 2024, N: 1, Mean: ptr(0.0)}), "In 2024 nothing was found in the one frame: production was 0 lb/ac (air-dry), which gives no interval and no verdict on the number of frames."},
		{"missing", oneSeries(Year{Year: 2023, N: 1, Mean: ptr(5.0)}, Year{Year: 2024, Missing: 9}), "In 2024 production could not be computed: 9 frames are missing. In 2023 production was 5.00 lb/ac (air-dry) from 1 frame; a single frame gives no interval."},
		{"never a mean", oneSeries(Year{Year: 2024, Missing: 1}), "In 2024 production could not be computed: 1 frame is missing."},
		{"chosen", chosen, "In 2024 production was 612 lb/ac (90 % interval 540 to 684, air-dry) from 12 frames; enough frames for ±20 % at 80 % confidence. The site was chosen, not drawn at random: the figure speaks for this site, not for its stratum."},
		{"transects", transects, "In 2024 production was 612 lb/ac (90 % interval 540 to 684, air-dry) from 12 transects; enough transects for ±20 % at 80 % confidence."},
		{"seasons", seasons, "In 2024 production (peak) was 612 lb/ac (90 % interval 540 to 684, air-dry) from 12 frames; enough frames for ±20 % at 80 % confidence."},
		{"never clipped", &Site{Code: "A"}, "No clipping is recorded for this site."},
	} {
		if got := plain(Finding(findingReport(), c.site)); got != c.want {
			t.Errorf("%s:\ngot  %s\nwant %s", c.name, got, c.want)
		}
	}
}

func TestSeriesTitle(t *testing.T) {
	r := findingReport()
	at := func(year int, mean float64) Year { return Year{Year: year, N: 5, Mean: ptr(mean)} }
	for _, c := range []struct {
		years []Year
		want  string
	}{
		{[]Year{at(2020, 400), at(2021, 500), at(2022, 600)}, "Production: 600 lb/ac in 2022, the highest of 3 years (lowest 400 in 2020)"},
		{[]Year{at(2020, 400), at(2021, 500), at(2022, 300)}, "Production: 300 lb/ac in 2022, the lowest of 3 years (highest 500 in 2021)"},
		{[]Year{at(2020, 400), at(2021, 600), at(2022, 500)}, "Production: 500 lb/ac in 2022, in the middle of 3 years (lowest 400 in 2020, highest 600 in 2021)"},
		{[]Year{at(2019, 400), at(2020, 700), at(2021, 600), at(2022, 500)}, "Production: 500 lb/ac in 2022, second lowest of 4 years (lowest 400 in 2019, highest 700 in 2020)"},
		{[]Year{at(2019, 400), at(2020, 700), at(2021, 500), at(2022, 600)}, "Production: 600 lb/ac in 2022, second highest of 4 years (lowest 400 in 2019, highest 700 in 2020)"},
		{[]Year{at(2019, 400), at(2020, 700), at(2021, 500), at(2022, 400)}, "Production: 400 lb/ac in 2022, among the lowest of 4 years (lowest 400 in 2019, highest 700 in 2020)"},
		{[]Year{at(2020, 400), {Year: 2021}}, "Production: 400 lb/ac in 2020, the only year"},
		{[]Year{at(2020, 0), at(2021, 0)}, "Production: nothing was found in any of 2 years"},
		{[]Year{at(2020, 0)}, "Production: nothing was found in the one year"},
		{[]Year{{Year: 2021}}, "Production: no mean could be computed in any year"},
	} {
		s := oneSeries(c.years...)
		if got := plain(seriesTitle(r, s, s.shown()[0])); got != c.want {
			t.Errorf("got  %s\nwant %s", got, c.want)
		}
	}
}

func TestSeriesCaption(t *testing.T) {
	s := oneSeries(
		Year{Year: 2018, N: 4, Mean: ptr(10.0), Low: ptr(-2.0), High: ptr(22.0)},
		Year{Year: 2019, N: 1, Mean: ptr(10.0)},
		Year{Year: 2021, Missing: 3},
		Year{Year: 2022, N: 4, Mean: ptr(10.0), Low: ptr(5.0), High: ptr(15.0)})
	want := "Not clipped in 2020. No mean in 2021. No interval in 2019. " +
		"The interval of 2018 reaches below 0 and is drawn from 0; the table gives it as computed. "
	if got := seriesCaption(s, s.shown()[0], axis{100, 5}); got != want {
		t.Errorf("got  %s\nwant %s", got, want)
	}
}

func TestOrdinal(t *testing.T) {
	for n, want := range map[int]string{1: "first", 10: "tenth", 11: "11th", 12: "12th", 13: "13th", 20: "20th", 21: "21st",
		22: "22nd", 23: "23rd", 24: "24th", 111: "111th", 112: "112th", 121: "121st"} {
		if got := ordinal(n); got != want {
			t.Errorf("%d: got %s, want %s", n, got, want)
		}
	}
}

func TestYearList(t *testing.T) {
	for _, c := range []struct {
		years []int
		want  string
	}{
		{nil, ""}, {[]int{2013}, "2013"}, {[]int{2013, 2014}, "2013 and 2014"},
		{[]int{2011, 2012, 2013, 2015, 2017, 2018}, "2011–2013, 2015, 2017 and 2018"},
		{[]int{2011, 2013, 2014, 2015}, "2011 and 2013–2015"},
	} {
		if got := yearList(c.years); got != c.want {
			t.Errorf("%v: got %q, want %q", c.years, got, c.want)
		}
	}
}
