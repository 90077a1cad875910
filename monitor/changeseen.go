package monitor

import "clipledger/schema"

// Which change from the year before could this year's sample see? Beside a
// mean, by the design and the spread that comparing the two years would use:
// the smallest change with a power of ChangePower at alpha = 1 − confidence of
// intervals, in percent of the year before.

// detectableChanges fills in the detectable change of the means of a group of
// sites, which come in the order of their sites.
func (c *calculation) detectableChanges(means []*Mean) {
	var pairs [][2]*Mean
	for start := 0; start < len(means); {
		end := start + 1
		for end < len(means) && means[end].Site.ID == means[start].Site.ID {
			end++
		}
		for _, s := range likeYearsOf(means[start:end]) {
			var last *Mean
			for _, m := range s.means {
				if m.Mean.Valid {
					pairs = append(pairs, [2]*Mean{last, m})
					last = m
				}
			}
		}
		start = end
	}
	inHalves(len(pairs), func(i int) { c.detectableChange(pairs[i][0], pairs[i][1]) })
}

// detectableChange fills in the change from one year that the next could see.
func (c *calculation) detectableChange(before, m *Mean) {
	if before == nil {
		m.note("no-year-before", "no earlier year has values in this season: which change could be seen is not known")
		return
	}
	m.ChangeFrom = before.Year
	if m.Year-before.Year > 1 {
		m.note("change-from", "the change that could be seen is counted from the last year before that has values")
	}
	ch, remarks := c.changeOf(before, m)
	if ch != nil && ch.mean1 > 0 {
		if test, ok := ch.test(); ok {
			if d, ok := c.detectable(test); ok {
				m.ChangePct = schema.Some(100 * d / ch.mean1)
				if m.Double != nil {
					m.note("clipped-alone", "the change that could be seen is that of the clipped frames alone, which are what years are compared by")
				}
				return
			}
		}
	}
	m.noteNoChange(ch, remarks)
}

// noteNoChange says why no detectable change is known.
func (m *Mean) noteNoChange(ch *change, remarks []Remark) {
	if ch != nil && ch.n1 > 0 && ch.mean1 == 0 {
		m.note("no-change", "the year before weighs nothing: no percent of it could be seen")
		return
	}
	for _, r := range remarks {
		switch r.Code {
		case "part-absent", "no-pairs", "one-unit", "all-zero", "identical", "all-alike":
			m.Remarks = append(m.Remarks, Remark{Code: "no-change", Text: "which change could be seen is not known; against the year before: " + r.Text, Loud: r.Loud})
		}
	}
}
