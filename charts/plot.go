package charts

import (
	"math"
	"strconv"

	gocharts "github.com/go-echarts/go-echarts/v2/charts"
	"github.com/go-echarts/go-echarts/v2/opts"
	"github.com/go-echarts/go-echarts/v2/types"
)

// Axes and layers of the charts that are not simply years across and weights
// up.

// span is a value axis with both ends on a step.
type span struct {
	min, max float64
	steps    int
}

// spanFor holds lo and hi in at most so many steps of 1, 2 or 5 times a power
// of ten.
func spanFor(lo, hi float64, most int) span {
	if hi <= lo {
		hi = lo + math.Max(1, math.Abs(lo)/2)
	}
	unit := math.Pow(10, math.Floor(math.Log10(hi-lo))-1)
	for {
		for _, k := range []float64{1, 2, 5} {
			step := k * unit
			low, high := math.Floor(lo/step+1e-9), math.Ceil(hi/step-1e-9)
			if n := int(high - low); n <= most {
				return span{tidy(low * step), tidy(high * step), max(n, 1)}
			}
		}
		unit *= 10
	}
}

func (a axis) span() span { return span{0, a.max, a.steps} }

func axisLabel() *opts.AxisLabel {
	return &opts.AxisLabel{Color: mutedColor, FontSize: 12, HideOverlap: opts.Bool(true)}
}

// upAxis is the value axis of a chart.
func upAxis(a span, name string) opts.YAxis {
	return opts.YAxis{Type: "value", Name: name, NameLocation: "end", NameGap: 14, Min: a.min, Max: a.max, SplitNumber: a.steps,
		AxisLabel: &opts.AxisLabel{Color: mutedColor, FontSize: 12},
		SplitLine: &opts.SplitLine{LineStyle: &opts.LineStyle{Color: gridColor}}}
}

// yearsAxis is the axis of growth years.
func yearsAxis() opts.XAxis {
	return opts.XAxis{Type: "category", Name: "growth year", NameLocation: "middle", NameGap: 27,
		AxisLabel: axisLabel(),
		AxisLine:  &opts.AxisLine{LineStyle: &opts.LineStyle{Color: mutedColor}},
		AxisTick:  &opts.AxisTick{AlignWithLabel: opts.Bool(true)}}
}

// overYears is a chart of years across on any value axis. Its line spans the
// years and carries what a pointer shows.
func overYears(years []int, y span, yName, right string) *gocharts.Line {
	line := gocharts.NewLine()
	line.SetGlobalOptions(
		gocharts.WithAnimation(false),
		gocharts.WithTooltipOpts(opts.Tooltip{Show: opts.Bool(true), Trigger: "axis"}),
		gocharts.WithGridOpts(opts.Grid{Left: "54", Right: right, Top: "32", Bottom: "44"}),
		gocharts.WithXAxisOpts(yearsAxis()),
		gocharts.WithYAxisOpts(upAxis(y, yName)),
	)
	line.SetXAxis(yearLabels(years))
	return line
}

func yearLabels(years []int) []string {
	labels := make([]string, len(years))
	for i, v := range years {
		labels[i] = strconv.Itoa(v)
	}
	return labels
}

// spanYears adds the line without values by which the library sets up the axis
// of years where nothing else is a line.
func spanYears(line *gocharts.Line, years []int) {
	line.AddSeries("years", make([]opts.LineData, len(years)),
		gocharts.WithLineChartOpts(opts.LineChart{ShowSymbol: opts.Bool(false)}))
}

// plane is a chart of one measure against another.
func plane(x span, xName string, y span, yName string) *gocharts.Line {
	line := gocharts.NewLine()
	line.SetGlobalOptions(
		gocharts.WithAnimation(false),
		gocharts.WithTooltipOpts(opts.Tooltip{Show: opts.Bool(false)}),
		gocharts.WithGridOpts(opts.Grid{Left: "54", Right: "18", Top: "32", Bottom: "44"}),
		gocharts.WithXAxisOpts(opts.XAxis{Type: "value", Name: xName, NameLocation: "middle", NameGap: 27, Min: x.min, Max: x.max, SplitNumber: x.steps,
			AxisLabel: axisLabel(), AxisLine: &opts.AxisLine{LineStyle: &opts.LineStyle{Color: mutedColor}},
			SplitLine: &opts.SplitLine{Show: opts.Bool(false)}}),
		gocharts.WithYAxisOpts(upAxis(y, yName)),
	)
	return line
}

// overlayOn adds a series that report.js draws, in a panel of the chart.
func overlayOn(line *gocharts.Line, panel int, name, shape string, data []opts.CustomData) {
	if len(data) == 0 {
		return
	}
	c := gocharts.NewCustom()
	c.AddSeries(name, data, gocharts.WithCustomChartOpts(opts.CustomChart{RenderItem: types.FuncStr("@" + shape), XAxisIndex: panel, YAxisIndex: panel}))
	line.Overlap(c)
}

// at is one item of a series that report.js draws.
func at(values ...any) opts.CustomData { return opts.CustomData{Value: values} }

// shownAt rounds what a drawing cannot show finer.
func shownAt(v float64) float64 { return significant(v, 6) }

type opt = opts.CustomData
