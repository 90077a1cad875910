package charts

import (
	"strings"
	"testing"
)

// yearOfTest is a site whose production has these means in 2020, 2021 and so
// on; a negative one is a year without clipping.
func yearOfTest(code string, means ...float64) Site {
	x := Series{Component: "production", Season: "peak", Production: true}
	for i, m := range means {
		if m >= 0 {
			x.Years = append(x.Years, Year{Year: 2020 + i, N: 5, Mean: ptr(m)})
		}
	}
	return Site{Code: code, Series: []Series{x}}
}

func TestChangeText(t *testing.T) {
	tested := func(s Site, low, high float64) Site {
		s.Series[0].Changes = []Difference{{Year1: 2020, Year2: 2021, Low: ptr(low), High: ptr(high)}}
		return s
	}
	for _, c := range []struct {
		sites []Site
		want  string
	}{
		{[]Site{yearOfTest("A", -1, 5)}, "No site was clipped in both 2020 and 2021, so nothing can be compared with the year before."},
		{[]Site{yearOfTest("A", 4, 5)}, "Against 2020, the mean rose at the one site visited in both years."},
		{[]Site{yearOfTest("A", 5, 4)}, "Against 2020, the mean fell at the one site visited in both years."},
		{[]Site{yearOfTest("A", 5, 5)}, "Against 2020, the mean is unchanged at the 1 site visited in both years."},
		{[]Site{yearOfTest("A", 4, 5), yearOfTest("B", 4, 5)}, "Against 2020, the mean rose at all 2 sites visited in both years."},
		{[]Site{yearOfTest("A", 6, 5), yearOfTest("B", 6, 5)}, "Against 2020, the mean fell at all 2 sites visited in both years."},
		{[]Site{yearOfTest("A", 6, 5), yearOfTest("B", 5, 5)}, "Against 2020, the mean fell at 1 of 2 sites visited in both years."},
		{[]Site{yearOfTest("A", 5, 6), yearOfTest("B", 5, 5)}, "Against 2020, the mean rose at 1 of 2 sites visited in both years."},
		{[]Site{yearOfTest("A", 5, 6), yearOfTest("B", 5, 4), yearOfTest("C", 5, -1)}, "Against 2020, the mean rose at 1 and fell at 1 of 2 sites visited in both years."},
		{[]Site{tested(yearOfTest("A", 5, 6), -1, 3), yearOfTest("B", 5, 4)},
			"Against 2020, the mean rose at 1 and fell at 1 of 2 sites visited in both years; no single change was beyond what other samples of the same sites could show."},
		{[]Site{tested(yearOfTest("A", 5, 9), 1, 3), yearOfTest("B", 5, 4)},
			"Against 2020, the mean rose at 1 and fell at 1 of 2 sites visited in both years; one change was beyond what other samples of the same site could show at A."},
		{[]Site{tested(yearOfTest("A", 5, 9), 1, 3), tested(yearOfTest("B", 5, 2), -3, -1)},
			"Against 2020, the mean rose at 1 and fell at 1 of 2 sites visited in both years; 2 changes were beyond what other samples of the same site could show at A and B."},
	} {
		if got := changeText(&Report{Sites: c.sites}, 2021); got != c.want {
			t.Errorf("got %q, want %q", got, c.want)
		}
	}
}

func TestMostChangedText(t *testing.T) {
	for _, c := range []struct {
		sites []Site
		want  string
	}{
		{[]Site{yearOfTest("A", 4, 5)}, ""},
		{[]Site{yearOfTest("A", 0, 5), yearOfTest("B", 4, 4)}, ""},
		{[]Site{yearOfTest("A", 400, 500), yearOfTest("B", 500, 400)}, "It rose most at A (+25_%, from 400 to 500_u) and fell most at B (−20_%, from 500 to 400_u)."},
		{[]Site{yearOfTest("A", 400, 500), yearOfTest("B", 400, 600)}, "It rose most at B (+50_%, from 400 to 600_u)."},
		{[]Site{yearOfTest("A", 400, 300), yearOfTest("B", 400, 200)}, "It fell most at B (−50_%, from 400 to 200_u)."},
	} {
		if got := strings.ReplaceAll(mostChangedText(&Report{Unit: "u", Sites: c.sites}, 2021), nbsp, "_"); got != c.want {
			t.Errorf("got %q, want %q", got, c.want)
		}
	}
}

func TestTrendsText(t *testing.T) {
	with := func(verdicts ...string) *Report {
		r := &Report{}
		for i, v := range verdicts {
			s := yearOfTest(string(rune('A'+i)), 5)
			s.Series[0].Trend = &Trend{Verdict: v}
			r.Sites = append(r.Sites, s)
		}
		return r
	}
	const up, down, none, few = "increasing", "decreasing", "no trend detected", "too few years"
	for want, r := range map[string]*Report{
		"": {Sites: []Site{yearOfTest("A", 5)}},
		"Over the years no trend is detected at the one site.":                                             with(none),
		"Over the years no trend is detected at any of 3 sites; 1 has too few years.":                      with(none, none, few),
		"Over the years no trend is detected at any of 2 sites; 2 have too few years.":                     with(few, few),
		"Over the years there is an increase at A.":                                                        with(up),
		"Over the years there is a decrease at A and B.":                                                   with(down, down),
		"Over the years there is an increase at A and a decrease at B; at 1 other no trend is detected.":   with(up, down, none),
		"Over the years there is an increase at C; at 2 others no trend is detected; 1 has too few years.": with(none, none, up, few),
		"Over the years there is an increase at A, B, C, D, E, F and 2 more.":                              with(up, up, up, up, up, up, up, up),
		"Over the years there is an increase at A, B, C, D, E, F and G.":                                   with(up, up, up, up, up, up, up),
	} {
		if got := trendsText(r); got != want {
			t.Errorf("got %q, want %q", got, want)
		}
	}
}

func TestNotVisitedText(t *testing.T) {
	r := &Report{Sites: []Site{yearOfTest("A", 5, 5), yearOfTest("B", 5, -1), {Code: "C"}}}
	if got, want := notVisitedText(r, 2021), "Not visited in 2021: B (last in 2020)."; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
	if got := notVisitedText(&Report{Sites: r.Sites[:1]}, 2021); got != "" {
		t.Errorf("got %q", got)
	}
	if got := yearFindings(&Report{Sites: r.Sites[2:]}); got != nil {
		t.Errorf("a report without clippings finds %q", got)
	}
}
