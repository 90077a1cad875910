package charts

import (
	"fmt"
	"html/template"
	"strings"
)

// verdictMark is a verdict as a small drawing, the same marks as in the
// charts: filled is enough, hollow too few, a cross not judged. It always
// stands beside its word, so screen readers skip it.
func verdictMark(y *Year) string {
	return markSVG(y.mark())
}

func markSVG(mark int) string {
	const open = `<svg class="mark" width="12" height="12" viewBox="0 0 12 12" aria-hidden="true">`
	switch mark {
	case markEnough:
		return open + `<circle cx="6" cy="6" r="4" class="full"/></svg>`
	case markTooFew:
		return open + `<circle cx="6" cy="6" r="3.6" class="open"/></svg>`
	}
	return open + `<path d="M3 3L9 9M9 3L3 9" class="open"/></svg>`
}

// Sizes of the drawings in the table of sites.
const (
	barWidth, barHeight     = 150.0, 18.0
	sparkWidth, sparkHeight = 110.0, 24.0
	drawingPad              = 4.0
)

// intervalSVG draws a mean and its interval on the scale all sites share, cut
// at 0 as in the charts.
func intervalSVG(y *Year, scale axis, label string) template.HTML {
	at := func(v float64) float64 {
		return drawingPad + max(v, 0)/scale.max*(barWidth-2*drawingPad)
	}
	var b strings.Builder
	fmt.Fprintf(&b, `<svg class="bar" width="%g" height="%g" viewBox="0 0 %g %g" role="img" aria-label="%s">`,
		barWidth, barHeight, barWidth, barHeight, template.HTMLEscapeString(label))
	fmt.Fprintf(&b, `<path class="base" d="M%.1f 1V17M%.1f 1V17"/>`, at(0), at(scale.max))
	if y.Low != nil && y.High != nil {
		lo, hi := at(*y.Low), at(*y.High)
		fmt.Fprintf(&b, `<rect class="range" x="%.1f" y="5" width="%.1f" height="8"/>`, lo, max(hi-lo, 0.5))
	}
	x := at(*y.Mean)
	switch y.mark() {
	case markEnough:
		fmt.Fprintf(&b, `<circle class="full" cx="%.1f" cy="9" r="3.5"/>`, x)
	case markTooFew:
		fmt.Fprintf(&b, `<circle class="open" cx="%.1f" cy="9" r="3.2"/>`, x)
	default:
		fmt.Fprintf(&b, `<path class="open" d="M%.1f 6L%.1f 12M%.1f 6L%.1f 12"/>`, x-3, x+3, x+3, x-3)
	}
	b.WriteString(`</svg>`)
	return template.HTML(b.String())
}

// sparkSVG draws the means of all years, from 0 to the site's own highest
// mean, broken where a year has none.
func sparkSVG(s *Site, x *Series, label string) template.HTML {
	years := s.yearSpan()
	_, high, n := x.extremes()
	if n == 0 {
		return ""
	}
	top := max(*high.Mean, 1e-9)
	step := 0.0
	if len(years) > 1 {
		step = (sparkWidth - 2*drawingPad) / float64(len(years)-1)
	}
	var path, dots strings.Builder
	pen := false
	for i, year := range years {
		y := x.year(year)
		if y == nil || y.Mean == nil {
			pen = false
			continue
		}
		px := drawingPad + float64(i)*step
		py := sparkHeight - drawingPad - *y.Mean/top*(sparkHeight-2*drawingPad)
		verb := "M"
		if pen {
			verb = "L"
		}
		fmt.Fprintf(&path, "%s%.1f %.1f", verb, px, py)
		if pen = true; lonely(x, years, i) {
			fmt.Fprintf(&dots, `<circle class="dot" cx="%.1f" cy="%.1f" r="1.3"/>`, px, py)
		}
		if y == x.latestWithMean() {
			fmt.Fprintf(&dots, `<circle class="full" cx="%.1f" cy="%.1f" r="2.6"/>`, px, py)
		}
	}
	return template.HTML(fmt.Sprintf(
		`<svg class="spark" width="%g" height="%g" viewBox="0 0 %g %g" role="img" aria-label="%s"><path class="base" d="M%.1f %.1fH%.1f"/><path class="line" d="%s"/>%s</svg>`,
		sparkWidth, sparkHeight, sparkWidth, sparkHeight, template.HTMLEscapeString(label),
		drawingPad, sparkHeight-drawingPad+1, sparkWidth-drawingPad, path.String(), dots.String()))
}

// lonely tells whether the i-th year has no mean on either side: a line would
// not show it.
func lonely(x *Series, years []int, i int) bool {
	for _, j := range []int{i - 1, i + 1} {
		if j < 0 || j >= len(years) {
			continue
		}
		if y := x.year(years[j]); y != nil && y.Mean != nil {
			return false
		}
	}
	return true
}
