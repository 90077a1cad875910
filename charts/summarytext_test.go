package charts

import (
	"strings"
	"testing"
)

func plainSpaces(s string) string { return strings.ReplaceAll(s, nbsp, "_") }

func TestSummaryFinding(t *testing.T) {
	r := &Report{Unit: "u", Basis: "air-dry", Confidence: 0.9}
	base := SummaryRow{All: true, Component: "production", Sites: 3, Mean: ptr(500.0)}
	with := func(change func(*SummaryRow)) *SummaryYear {
		row := base
		change(&row)
		return &SummaryYear{Year: 2021, Rows: []SummaryRow{row}}
	}
	for _, c := range []struct {
		year *SummaryYear
		want string
	}{
		{&SummaryYear{Year: 2021}, "No mean over sites could be computed for 2021."},
		{with(func(x *SummaryRow) { x.Mean = nil }), "No mean over sites could be computed for 2021."},
		{with(func(*SummaryRow) {}), "In 2021 the mean production of 3 sites was 500_u (air-dry; no interval)."},
		{with(func(x *SummaryRow) { x.Sites, x.Low, x.High = 1, ptr(400.0), ptr(600.0) }), "In 2021 the mean production of 1 site was 500_u (90_% interval 400 to 600, air-dry)."},
		{with(func(x *SummaryRow) { x.ChangePct, x.ChangeOf = ptr(12.0), 3 }), "In 2021 the mean production of 3 sites was 500_u (air-dry; no interval), 12_% more than in 2020."},
		{with(func(x *SummaryRow) { x.ChangePct, x.ChangeOf, x.PctOfMean = ptr(-12.0), 2, ptr(90.0) }),
			"In 2021 the mean production of 3 sites was 500_u (air-dry; no interval), 12_% less than in 2020 at the 2 visited in both, and 90_% of the mean of earlier years."},
		{with(func(x *SummaryRow) { x.ChangePct, x.ChangeOf, x.RainPct = ptr(0.01), 1, ptr(80.0) }),
			"In 2021 the mean production of 3 sites was 500_u (air-dry; no interval), as in 2020 at the one visited in both. Rain was 80_% of its long-term mean."},
		{with(func(x *SummaryRow) { x.PctOfMean = ptr(104.0) }), "In 2021 the mean production of 3 sites was 500_u (air-dry; no interval), 104_% of the mean of earlier years."},
	} {
		if got := plainSpaces(summaryFinding(r, c.year)); got != c.want {
			t.Errorf("got %q, want %q", got, c.want)
		}
	}
}

func TestSummarySentences(t *testing.T) {
	r := &Report{Unit: "u", AdequacyText: "x"}
	row := func(stratum string, pct float64, changes ...float64) SummaryRow {
		s := SummaryRow{Stratum: stratum, Component: "production", PctOfMean: ptr(pct)}
		for i, c := range changes {
			s.Each = append(s.Each, SummarySite{Code: stratum + string(rune('1'+i)), Mean: ptr(400.0), ChangePct: ptr(c)})
		}
		return s
	}
	all := SummaryRow{All: true, Component: "production", Mean: ptr(400.0)}
	for _, c := range []struct {
		rows         []SummaryRow
		strata, most string
	}{
		{[]SummaryRow{row("A", 90, 5), all}, "", ""},
		{[]SummaryRow{row("A", 90, 5), row("B", 110, -5), all}, "At or above the mean of earlier years: B (110_%); below it: A (90_%).", "From 2020 it rose most at A1 (+5_%, to 400_u) and fell most at B1 (−5_%, to 400_u)."},
		{[]SummaryRow{row("A", 100, 5, 7), row("B", 110), all}, "At or above the mean of earlier years: A (100_%) and B (110_%).", "From 2020 it rose most at A2 (+7_%, to 400_u)."},
		{[]SummaryRow{row("A", 90, -5, -7), row("B", 80), all}, "Below the mean of earlier years: A (90_%) and B (80_%).", "From 2020 it fell most at A2 (−7_%, to 400_u)."},
	} {
		y := &SummaryYear{Year: 2021, Rows: c.rows}
		if got := plainSpaces(strataText(y, y.main())); got != c.strata {
			t.Errorf("strata: got %q, want %q", got, c.strata)
		}
		if got := plainSpaces(mostOfYearText(r, y, y.main())); got != c.most {
			t.Errorf("most: got %q, want %q", got, c.most)
		}
	}
	for want, row := range map[string]*SummaryRow{
		"": {},
		"The one classed site is in class “low”.":                     {Classes: []ClassCount{{"low", 1}}},
		"Of 3 classed sites, 2 in class “low” and 1 in class “high”.": {Classes: []ClassCount{{"low", 2}, {"high", 1}}},
	} {
		if got := classesText(row); got != want {
			t.Errorf("got %q, want %q", got, want)
		}
	}
	if got, want := notVisitedOf(&SummaryRow{NotVisited: []string{"A", "B"}}, 2021), "Not visited in 2021: A and B."; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
	if got, want := notVisitedOf(&SummaryRow{}, 2021), "Every site with earlier years was visited in 2021."; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
	if got, want := enoughText(r, &SummaryRow{}), "Whether the samples were large enough could be judged at no site."; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
}

func TestMoreText(t *testing.T) {
	r := &Report{AdequacyText: "x"}
	for _, c := range []struct {
		short  []shortRow
		judged bool
		want   string
	}{
		{nil, false, "No sample of 2021 could be judged."},
		{nil, true, "No sample of 2021 was short of x."},
		{[]shortRow{{ShortBy: 1, Units: "frame"}}, true, "With the spread of 2021, 1 more frame in 1 sample would have reached x. A year with another spread needs another number."},
		{[]shortRow{{ShortBy: 4, Units: "frames"}, {ShortBy: 2, Units: "transects"}, {ShortBy: 1, Units: "frame"}}, true,
			"With the spread of 2021, 5 more frames and 2 more transects in 3 samples would have reached x. A year with another spread needs another number."},
	} {
		if got := moreText(r, 2021, c.short, c.judged); got != c.want {
			t.Errorf("got %q, want %q", got, c.want)
		}
	}
}

func TestQualityFinding(t *testing.T) {
	for _, c := range []struct {
		serious, look, note, accepted int
		want                          string
	}{
		{0, 0, 0, 0, "The quality checks found nothing."},
		{0, 0, 0, 2, "The quality checks found nothing that is not accepted. 2 were looked at and accepted."},
		{0, 3, 0, 0, "The quality checks found nothing serious; 3 to look at and nothing to know."},
		{1, 0, 2, 1, "The quality checks found 1 serious thing; nothing to look at and 2 to know. 1 more was looked at and accepted."},
		{2, 1, 1, 0, "The quality checks found 2 serious things; 1 to look at and 1 to know."},
	} {
		if got := qualityFinding(c.serious, c.look, c.note, c.accepted); got != c.want {
			t.Errorf("got %q, want %q", got, c.want)
		}
	}
}
