package monitor_test

import (
	"fmt"
	"testing"

	"clipledger/schema"
	"clipledger/schema/ledgertest"
)

// The mean of earlier years has the same last digit every time: years are
// added in their order, whatever the order a map gives them in.
func TestSummaryIsTheSameEveryTime(t *testing.T) {
	r := ledgertest.Records{Sites: []schema.Site{{Site: "A", SamplingUnit: "frame", Components: declared("herbaceous")}}}
	for year := 2000; year < 2020; year++ {
		weight := 10 + 7.1/float64(year-1990)
		for _, c := range rows(t, fmt.Sprintf("%d 1 herbaceous dry=%g\n%d 2 herbaceous dry=%g", year, weight, year, weight*1.37)) {
			c.Site = "A"
			r.Clippings = append(r.Clippings, c)
		}
	}
	path := ledgertest.Path(t, r)
	var first float64
	for i := range 30 {
		last := summariesOf(t, path, 2019, 2019)["all"].LongTerm.Float64
		if i == 0 {
			first = last
		}
		if last != first {
			t.Fatalf("the long-term mean is %v and, asked again, %v", first, last)
		}
	}
}
