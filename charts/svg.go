package charts

import (
	"fmt"
	"html/template"
	"slices"
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
	barWidth, barHeight     = 140.0, 18.0
	sparkWidth, sparkHeight = 110.0, 32.0
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

// sparkSVG draws the means of all years with the band of their intervals, from
// 0 to the site's own highest mean and a little more, broken where a year has
// none. An interval that goes beyond is cut there.
func sparkSVG(s *Site, x *Series, label string) template.HTML {
	years := s.yearSpan()
	_, high, n := x.extremes()
	if n == 0 {
		return ""
	}
	d := spark{top: sparkTop(x, max(*high.Mean, 1e-9)), last: x.latestWithMean()}
	if len(years) > 1 {
		d.step = (sparkWidth - 2*drawingPad) / float64(len(years)-1)
	}
	for i, year := range years {
		d.take(x, years, i, x.year(year))
	}
	d.closeBand()
	return template.HTML(fmt.Sprintf(
		`<svg class="spark" width="%g" height="%g" viewBox="0 0 %g %g" role="img" aria-label="%s">%s<path class="base" d="M%.1f %.1fH%.1f"/><path class="line" d="%s"/>%s</svg>`,
		sparkWidth, sparkHeight, sparkWidth, sparkHeight, template.HTMLEscapeString(label), d.bands.String(),
		drawingPad, sparkHeight-drawingPad+1, sparkWidth-drawingPad, d.path.String(), d.dots.String()))
}

// sparkTop is the upper end of a small drawing: the highest limit, but no more
// than half again the highest mean.
func sparkTop(x *Series, highest float64) float64 {
	top := highest
	for i := range x.Years {
		if y := &x.Years[i]; y.High != nil {
			top = max(top, *y.High)
		}
	}
	return min(top, 1.5*highest)
}

// spark is a small drawing in the making.
type spark struct {
	top, step         float64
	last              *Year
	pen               bool // the line is down
	upper, lower      []string
	path, dots, bands strings.Builder
}

func (d *spark) y(v float64) float64 {
	return sparkHeight - drawingPad - min(max(v, 0)/d.top, 1)*(sparkHeight-2*drawingPad)
}

// take adds the i-th year.
func (d *spark) take(x *Series, years []int, i int, y *Year) {
	px := drawingPad + float64(i)*d.step
	if y == nil || y.Low == nil || y.High == nil {
		d.closeBand()
	} else {
		d.upper = append(d.upper, fmt.Sprintf("%.1f %.1f", px, d.y(*y.High)))
		d.lower = append(d.lower, fmt.Sprintf("%.1f %.1f", px, d.y(*y.Low)))
	}
	if y == nil || y.Mean == nil {
		d.pen = false
		return
	}
	py := d.y(*y.Mean)
	verb := "M"
	if d.pen {
		verb = "L"
	}
	fmt.Fprintf(&d.path, "%s%.1f %.1f", verb, px, py)
	if d.pen = true; lonely(x, years, i) {
		fmt.Fprintf(&d.dots, `<circle class="dot" cx="%.1f" cy="%.1f" r="1.3"/>`, px, py)
	}
	if y == d.last {
		fmt.Fprintf(&d.dots, `<circle class="full" cx="%.1f" cy="%.1f" r="2.6"/>`, px, py)
	}
}

// closeBand ends a run of years with intervals; a single one is a bar.
func (d *spark) closeBand() {
	switch n := len(d.upper); {
	case n == 1:
		fmt.Fprintf(&d.bands, `<path class="lone" d="M%sL%s"/>`, d.upper[0], d.lower[0])
	case n > 1:
		slices.Reverse(d.lower)
		fmt.Fprintf(&d.bands, `<path class="range" d="M%sL%sZ"/>`, strings.Join(d.upper, "L"), strings.Join(d.lower, "L"))
	}
	d.upper, d.lower = d.upper[:0], d.lower[:0]
}

// arrowSVG is a verdict over the years as an arrow: up, down, level, or a dot
// where there are too few years. It stands beside its word.
func arrowSVG(verdict string) string {
	const open = `<svg class="mark" width="14" height="12" viewBox="0 0 14 12" aria-hidden="true"><path class="arrow" d="`
	switch verdict {
	case "increasing":
		return open + `M2 10L11 2M5.5 2H11V7.5"/></svg>`
	case "decreasing":
		return open + `M2 2L11 10M5.5 10H11V4.5"/></svg>`
	case "no trend detected":
		return open + `M1 6H13"/></svg>`
	}
	return open + `M5.5 6H8.5"/></svg>`
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
