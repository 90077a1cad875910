package monitor

import "clipledger/schema"

// Everything that a report says of sites and strata rests on the same means.
// They are worked out once, in one pass over the ledger, and each is handed on
// to all that ask for it.

// Sinks take what one pass over the ledger gives. Series come site by site a
// little after the means of the site, summaries at the end.
type Sinks struct {
	Mean    func(*Mean) error
	Series  func(*Series) error
	Summary func(*Summary) error
}

// Everything gives what Means, Trends and Summaries give for the same query.
// Summaries are of every year that the query wants, not of the last one alone.
func Everything(snap *schema.Snapshot, q Query, to Sinks) error {
	trends, err := newTrendWork(snap, q, q.Filter, false, to.Series)
	if err != nil {
		return err
	}
	r, confidence, err := newRecord(snap, q)
	if err != nil {
		return err
	}
	// Totals need their parts, and long-term means the years before.
	all := q
	all.Seasons, all.Components, all.FirstYear = nil, nil, 0
	all.KeepValues, all.Classes, all.By = true, true, ""
	err = Means(snap, all, func(m *Mean) error {
		if q.component(m.Component) {
			r.take(m, &q)
		}
		if !q.year(m.Year) {
			return nil
		}
		if err := trends.take(m); err != nil {
			return err
		}
		if !q.season(m.Season) || !q.component(m.Component) {
			return nil
		}
		return to.Mean(m)
	})
	if err == nil {
		err = trends.end()
	}
	if err != nil {
		return err
	}
	every := q
	if every.FirstYear == 0 && every.LastYear == 0 {
		every.LastYear = r.latest
	}
	return r.emit(every, confidence, to.Summary)
}
