package main

import (
	"strings"

	"clipledger/charts"
	"clipledger/monitor"
	"clipledger/schema"
)

// Changes between years, eyes beside clippings, and the long-term mean, for
// the pages of sites.

// addChanges puts every year's difference from the one before it on its page.
func (b *siteBuilder) addChanges(s *schema.Snapshot, q monitor.Query) error {
	changes, _, err := monitor.Compare(s, monitor.ChangeQuery{Filter: q.Filter, Confidence: q.Confidence, Unit: b.unit})
	if err != nil {
		return err
	}
	for _, c := range changes {
		if _, x := b.find(c.Site.Site, c.Component, c.Season); x != nil && c.Year1 != 0 {
			x.Changes = append(x.Changes, differenceOf(c, b.unit))
		}
	}
	return nil
}

func differenceOf(c *monitor.Comparison, unit monitor.Unit) charts.Difference {
	show := func(n monitor.Num) *float64 { return ptr(in(unit, n)) }
	return charts.Difference{Year1: c.Year1, Year2: c.Year2, Design: c.Design, N1: c.N1, N2: c.N2, Mean1: show(c.Mean1), Mean2: show(c.Mean2), Value: show(c.Difference),
		Pct: ptr(c.DifferencePct), Low: show(c.CI.Low), High: show(c.CI.High), P: ptr(c.P), PHolm: ptr(c.PHolm), MinDetectable: show(c.MinDetectable), Remarks: remarksOf(c.Remarks)}
}

// addEyes puts every observer's estimates beside the clipped weights of the
// same frames.
func (b *siteBuilder) addEyes(s *schema.Snapshot, q monitor.Query) error {
	eyes, err := monitor.SiteCalibrations(s, monitor.CalibrateQuery{Filter: q.Filter, Confidence: q.Confidence, Unit: b.unit})
	if err != nil {
		return err
	}
	for _, k := range eyes {
		i, ok := b.place[k.Site.Site]
		if !ok {
			continue
		}
		e := charts.Eye{Observer: k.Observer, Component: k.Component, State: k.State, Unit: b.unit.Name, Bias: ptr(in(b.unit, k.Bias)), Ratio: ptr(k.Ratio), CCC: ptr(k.Concordance), Remarks: remarksOf(eyeRemarks(k.Remarks))}
		for _, p := range k.Pairs {
			e.Pairs = append(e.Pairs, charts.EyePair{Year: p.Year, Estimated: b.unit.Of(p.Estimated), Clipped: b.unit.Of(p.Clipped)})
		}
		b.sites[i].Eyes = append(b.sites[i].Eyes, e)
	}
	return nil
}

// eyeRemarks are what an observer should practise, and the frames without a
// clipped weight. The rest is in the numbers beside them, and in calibrate.
func eyeRemarks(remarks []monitor.Remark) []monitor.Remark {
	var out []monitor.Remark
	for _, r := range remarks {
		if strings.HasPrefix(r.Code, "practise-") || r.Code == "not-clipped" {
			out = append(out, r)
		}
	}
	return out
}

// addLongTerm works out the mean of the years before the latest, each counting
// once. Years that the trend leaves out, for want of a part, are left out here.
func (b *siteBuilder) addLongTerm() {
	for i := range b.sites {
		for k := range b.sites[i].Series {
			longTerm(&b.sites[i].Series[k])
		}
	}
}

func longTerm(x *charts.Series) {
	left := map[int]bool{}
	if x.Trend != nil {
		for _, y := range x.Trend.Years {
			left[y.Year] = y.LeftOut != ""
		}
	}
	sum, n := 0.0, 0
	latest := -1
	for i := range x.Years {
		if x.Years[i].Mean != nil {
			latest = i
		}
	}
	for i := range latest {
		if y := &x.Years[i]; y.Mean != nil && !left[y.Year] {
			sum += *y.Mean
			n++
		}
	}
	if n > 0 {
		mean := sum / float64(n)
		x.LongTerm, x.Earlier = &mean, n
	}
}
