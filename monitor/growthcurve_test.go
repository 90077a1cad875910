package monitor

import (
	"math"
	"strings"
	"testing"

	"clipledger/schema"
)

func points(pairs ...float64) []schema.CurvePoint {
	var out []schema.CurvePoint
	for i := 0; i < len(pairs); i += 2 {
		out = append(out, schema.CurvePoint{DayOfYear: int(pairs[i]), Pct: pairs[i+1]})
	}
	return out
}

func TestGrowthDoneByADate(t *testing.T) {
	spring := points(60, 0, 121, 28, 152, 62, 274, 100)
	winter := points(305, 0, 365, 20, 120, 100) // November to April
	for _, test := range []struct {
		name  string
		curve []schema.CurvePoint
		start int
		date  string
		year  int
		want  float64
		why   string
	}{
		{"on a point", spring, 1, "2021-05-01", 2021, 28, ""},
		{"halfway between two points", points(100, 10, 120, 30), 1, "2021-04-20", 2021, 20, ""},
		{"a leap year counts the days as other years", spring, 1, "2024-05-01", 2024, 28, ""},
		{"the 29th of February as the 28th", points(59, 5, 69, 15), 1, "2024-02-29", 2024, 5, ""},
		{"after the last point", spring, 1, "2021-12-24", 2021, 100, ""},
		{"before growth began", spring, 1, "2021-01-20", 2021, 0, "no growth was completed"},
		{"before a curve that does not begin at zero", points(60, 5, 200, 100), 1, "2021-02-01", 2021, 0, "before the growth curve begins"},
		{"over the new year", winter, 10, "2020-12-31", 2021, 20, ""},
		{"over the new year, in spring", winter, 10, "2021-04-30", 2021, 100, ""},
		{"residue of last year", winter, 10, "2021-11-20", 2021, 100, ""},
		{"no date", spring, 1, "", 2021, 0, "no date"},
		{"an earlier growth year", spring, 1, "2020-06-01", 2021, 0, "before its growth year"},
	} {
		c, err := newCurve("c", test.curve, test.start)
		if err != nil {
			t.Fatalf("%s: %v", test.name, err)
		}
		got, why := c.done(test.date, test.year)
		if math.Abs(got-test.want) > 1e-12 || !strings.Contains(why, test.why) || (why == "") != (test.why == "") {
			t.Errorf("%s: %v %q, want %v %q", test.name, got, why, test.want, test.why)
		}
	}
	if _, err := newCurve("c", winter, 1); err == nil || !strings.Contains(err.Error(), "runs over the start") {
		t.Errorf("a winter curve in calendar years: %v, want a refusal", err)
	}
	if _, err := newCurve("c", nil, 1); err == nil {
		t.Error("no such curve: no refusal")
	}
}
