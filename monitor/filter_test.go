package monitor_test

import (
	"fmt"
	"strings"
	"testing"

	"clipledger/monitor"
	"clipledger/schema"
	"clipledger/schema/ledgertest"
)

func TestYearsAreRead(t *testing.T) {
	for text, want := range map[string]string{"2015": "2015 2015", "2011..2020": "2011 2020", "2011..": "2011 0", "..2020": "0 2020", "": "0 0"} {
		first, last, err := monitor.ParseYears(text)
		if got := fmt.Sprint(first, last); got != want || err != nil {
			t.Errorf("%q: %s (%v), want %s", text, got, err, want)
		}
	}
	for _, text := range []string{"15", "2020..2011", "2011-2020", "2011...2020", "x..2020"} {
		if _, _, err := monitor.ParseYears(text); err == nil {
			t.Errorf("%q was taken for years", text)
		}
	}
}

// A filter narrows what is shown and never changes a number: the years and
// frames that are not shown still say what was looked for.
func TestFiltersNarrowAndChangeNothing(t *testing.T) {
	text := `2019 1 herbaceous dry=10
		2019 1 browse dry=5
		2020 1 herbaceous dry=12
		2020 2 herbaceous dry=14
		2021 1 browse dry=3
		2020 1 herbaceous dry=1 season=fall
		2020 1 herbaceous dry=20 site=B
		2020 1 herbaceous dry=20 site=BB`
	path := ledgertest.Path(t, ledgertest.Records{
		Sites:     []schema.Site{{Site: "A", Stratum: "North", SamplingUnit: "frame"}, {Site: "B", Stratum: "South", SamplingUnit: "frame"}, {Site: "BB", Stratum: "South", SamplingUnit: "frame"}},
		Clippings: rows(t, text)})
	all := map[string]string{}
	name := func(m *monitor.Mean) string {
		return fmt.Sprint(m.Site.Site, " ", m.Year, " ", m.Season, " ", m.Component)
	}
	for _, m := range meansOf(t, path, monitor.Query{}) {
		all[name(m)] = fmt.Sprint(m.N, m.Mean, m.SD, m.ZerosInfer)
	}
	for _, tt := range []struct {
		filter monitor.Filter
		want   string
	}{
		{monitor.Filter{Sites: []string{"B"}, Components: []string{"production"}}, "B 2020 peak production"},
		{monitor.Filter{Sites: []string{"B*"}, Components: []string{"herbaceous"}}, "B 2020 peak herbaceous; BB 2020 peak herbaceous"},
		{monitor.Filter{Strata: []string{"N*"}, FirstYear: 2020, LastYear: 2020, Components: []string{"browse"}}, "A 2020 peak browse"},
		{monitor.Filter{Seasons: []string{"fall"}, Components: []string{"production"}}, "A 2020 fall production"},
		{monitor.Filter{Sites: []string{"?"}, FirstYear: 2021, Components: []string{"browse"}}, "A 2021 peak browse"},
		{monitor.Filter{Sites: []string{"C"}}, ""},
	} {
		var got []string
		for _, m := range meansOf(t, path, monitor.Query{Filter: tt.filter}) {
			got = append(got, name(m))
			if now := fmt.Sprint(m.N, m.Mean, m.SD, m.ZerosInfer); now != all[name(m)] {
				t.Errorf("%s: %s filtered, %s in all", name(m), now, all[name(m)])
			}
		}
		if strings.Join(got, "; ") != tt.want {
			t.Errorf("%+v: %v, want %s", tt.filter, got, tt.want)
		}
	}
	for _, bad := range []monitor.Filter{{Sites: []string{"[a"}}, {Components: []string{"grass"}}} {
		if bad.Check() == nil {
			t.Errorf("%+v was taken", bad)
		}
	}
}
