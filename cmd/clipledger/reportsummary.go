package main

import (
	"strings"

	"clipledger/charts"
	"clipledger/monitor"
	"clipledger/schema"
)

// The yearly summary and the findings of the quality checks, for their pages.

// summaryBuilder turns rows, which come year by year, into pages.
type summaryBuilder struct {
	unit  monitor.Unit
	years []charts.SummaryYear
}

func (b *summaryBuilder) add(row *monitor.Summary) error {
	if n := len(b.years); n == 0 || b.years[n-1].Year != row.Year {
		b.years = append(b.years, charts.SummaryYear{Year: row.Year})
	}
	last := &b.years[len(b.years)-1]
	last.Rows = append(last.Rows, summaryRow(row, b.unit))
	return nil
}

func summaryRow(s *monitor.Summary, unit monitor.Unit) charts.SummaryRow {
	show := func(n monitor.Num) *float64 { return ptr(in(unit, n)) }
	row := charts.SummaryRow{Stratum: s.Stratum, All: s.All, Season: s.Season, Component: s.Component, Sites: len(s.Sites), N: s.N, Mean: show(s.Mean),
		Low: show(s.CI.Low), High: show(s.CI.High), ChangePct: ptr(s.ChangePct), ChangeOf: s.ChangeOf, LongTerm: show(s.LongTerm), PctOfMean: ptr(s.PctOfMean),
		RainPct: ptr(s.RainPct), Adequate: s.Adequate, Judged: s.Judged, NotVisited: s.NotVisited, Remarks: summaryRemarks(s.Remarks)}
	for _, c := range s.Classes {
		row.Classes = append(row.Classes, charts.ClassCount{Label: c.Label, Sites: c.Sites})
	}
	for i := range s.Sites {
		x := &s.Sites[i]
		row.Each = append(row.Each, charts.SummarySite{Code: x.Site.Site, Name: x.Site.Name, N: x.N, Mean: show(x.Mean), Low: show(x.CI.Low), High: show(x.CI.High),
			Class: x.Class, Adequate: verdictPtr(x.Adequate), Required: ptr(x.NRequired), ShortBy: intPtr(x.ShortBy), ChangePct: ptr(x.ChangePct),
			LongTerm: show(x.LongTerm), PctOfMean: ptr(x.PctOfMean), RainPct: ptr(x.RainPct)})
	}
	return row
}

// summaryRemarks leaves out what the page of a summary says in columns and
// sentences of its own.
func summaryRemarks(remarks []monitor.Remark) []charts.Remark {
	var out []charts.Remark
	for _, r := range remarks {
		switch r.Code {
		case "changed-most", "not-visited", "change-of":
			continue
		}
		out = append(out, charts.Remark{Text: strings.TrimSuffix(r.Text, " (clipledger means)"), Loud: r.Loud})
	}
	return out
}

func verdictPtr(v monitor.Verdict) *bool {
	if v == monitor.NoVerdict {
		return nil
	}
	yes := v == monitor.Yes
	return &yes
}

func qualityOf(s *schema.Snapshot, filter monitor.Filter) ([]charts.QualityFinding, error) {
	findings, err := monitor.Check(s, filter)
	if err != nil {
		return nil, err
	}
	var out []charts.QualityFinding
	for i := range findings {
		f := &findings[i]
		q := charts.QualityFinding{ID: f.ID, Severity: f.Severity.String(), Years: f.YearsText(), Season: f.Season, Components: joinWords(f.Components),
			Records: f.RecordsText(4), Found: f.Found, Why: f.Why, Do: f.Do, Accepted: f.Accepted, Note: f.Note}
		if f.Site != nil {
			q.Site = f.Site.Site
		}
		out = append(out, q)
	}
	return out, nil
}
