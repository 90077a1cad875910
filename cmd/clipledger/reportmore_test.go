package main

import (
	"testing"

	"clipledger/charts"
)

// TestLongTerm: the mean of the years before the latest with a mean; years that
// lack a part are left out, years without a mean count for nothing.
func TestLongTerm(t *testing.T) {
	f := func(v float64) *float64 { return &v }
	x := &charts.Series{Years: []charts.Year{{Year: 2015, Mean: f(10)}, {Year: 2016, Mean: f(99)}, {Year: 2017}, {Year: 2018, Mean: f(20)}, {Year: 2019, Mean: f(70)}, {Year: 2020}},
		Trend: &charts.Trend{Years: []charts.TrendYear{{Year: 2015}, {Year: 2016, LeftOut: "a part was not looked for"}}}}
	longTerm(x)
	if x.LongTerm == nil || *x.LongTerm != 15 || x.Earlier != 2 {
		t.Errorf("got %v over %d years, want 15 over 2", x.LongTerm, x.Earlier)
	}
	lone := &charts.Series{Years: []charts.Year{{Year: 2020, Mean: f(10)}}}
	if longTerm(lone); lone.LongTerm != nil || lone.Earlier != 0 {
		t.Errorf("a single year has the long-term mean %v", lone.LongTerm)
	}
	if longTerm(&charts.Series{}); lone.LongTerm != nil {
		t.Error("no years at all")
	}
}
