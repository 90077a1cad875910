package schema

import "fmt"

// CurvePoint takes one point of a growth curve into the ledger. It is written
// with the rest of its curve when the import is finished: then the curve must
// not fall, and end at 100.
func (im *Import) CurvePoint(p CurvePoint) error {
	im.points = append(im.points, broughtRow[CurvePoint]{row: p, im: im})
	return nil
}

func (p CurvePoint) set() string { return p.Curve }
func (p CurvePoint) at() float64 { return float64(p.DayOfYear) }
func (p CurvePoint) line() int   { return p.Line }

// curveSets are the points of a growth curve.
var curveSets = &setKind[CurvePoint]{
	table: "growth_curve", rows: "points",
	what:  func(p CurvePoint) string { return fmt.Sprintf("growth curve %q", p.Curve) },
	order: "curve, day_of_year", same: "curve=?",
	keys: func(p CurvePoint) []field {
		return []field{key("curve", p.Curve), key("day_of_year", int64(p.DayOfYear))}
	},
	values: func(p CurvePoint) []field { return []field{number("cumulative_pct", Some(p.Pct))} },
	scan:   func(p *CurvePoint) ([]any, *int) { return []any{&p.Curve, &p.DayOfYear, &p.Pct}, &p.Line },
	fault:  curveFault,
	covers: func(set, other []CurvePoint) bool { return true },
}

// curveFault says what is wrong with a growth curve, whose points come in the
// order of the calendar. Growth that runs over the new year may begin anew
// once, right after it was complete: 274 0 %, 335 30 %, 60 80 %, 120 100 %.
func curveFault(points []CurvePoint) *setFault {
	last := len(points) - 1
	if last < 1 {
		return &setFault{before: -1, row: last, what: "one point makes no curve", do: "give two points or more, the last at 100"}
	}
	start := 0
	for i := 1; i <= last; i++ {
		if points[i].Pct >= points[i-1].Pct {
			continue
		}
		if start > 0 || points[i-1].Pct != 100 {
			return falls(points, i-1, i)
		}
		start = i
	}
	end := (start + last) % (last + 1) // the point before the start
	switch {
	case start > 0 && points[0].Pct < points[last].Pct:
		if points[last].Pct == 100 { // a curve of the calendar, with a slip in it
			return falls(points, start-1, start)
		}
		return falls(points, last, 0)
	case points[end].Pct != 100:
		return &setFault{before: -1, row: end, what: fmt.Sprintf("the curve ends at %s %%, on day %d", formatNumber(points[end].Pct), points[end].DayOfYear),
			do: "let it end at 100: the percentages are of the whole year's growth"}
	}
	return nil
}

func falls(points []CurvePoint, before, row int) *setFault {
	a, b := points[before], points[row]
	return &setFault{before: before, row: row, what: fmt.Sprintf("the curve falls from %s %% on day %d to %s %% on day %d", formatNumber(a.Pct), a.DayOfYear, formatNumber(b.Pct), b.DayOfYear),
		do: "correct the one that is wrong: the percentages are of growth completed so far"}
}
