package monitor

import (
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"

	"clipledger/schema"
)

// How a component was clipped, where that changed between years: the frame,
// the edge rule, the height, the observer, the cages. A change can make a
// step, and so a trend, that the plants had no part in. One finding a site,
// season and way of clipping, for the components that changed alike. It keeps
// its ID while years are added that are clipped as the last one was.

// way is one thing about clipping that can change.
type way struct {
	check    string
	severity Severity
	what     string
	why, do  string
	of       func(c *checker, v *schema.CheckVisit, p *schema.CheckPlot) string
}

const (
	stepDo = "look whether a step in the means falls on the change; note the change as an event, compare within the years clipped alike, or clip both ways side by side for a year"
	slipDo = "if one year is a slip of the pen, correct it with --replace; else " + stepDo
)

var ways = []way{
	{"frame-changed", Look, "the frame type", "small frames catch edges and patches in another way than large ones: a change of frame can make a trend", stepDo,
		func(c *checker, _ *schema.CheckVisit, p *schema.CheckPlot) string {
			return c.names.FrameTypes[p.FrameTypeID]
		}},
	{"edge-rule-changed", Look, "the edge rule", "clipping all that hangs over a frame in place of what roots in it changes the weight: a change of rule can make a trend", slipDo,
		func(_ *checker, _ *schema.CheckVisit, p *schema.CheckPlot) string { return p.EdgeRule }},
	{"height-changed", Look, "the clipping height", "a few centimetres of stubble hold much of the weight: a change of height can make a trend", slipDo,
		func(_ *checker, _ *schema.CheckVisit, p *schema.CheckPlot) string {
			if !p.HeightCM.Valid {
				return ""
			}
			return strconv.FormatFloat(p.HeightCM.Float64, 'g', -1, 64) + " cm"
		}},
	{"observer-changed", Note, "the observer", "hands differ in what they count as this year's growth", "look whether a step in the means falls on a change of hands",
		func(c *checker, _ *schema.CheckVisit, p *schema.CheckPlot) string {
			return c.names.Observers[p.ObserverID]
		}},
}

// manner is how a component was clipped in one year.
type manner struct {
	year int
	how  string
}

func (c *checker) checkMethods() error {
	for i := range c.series {
		s := &c.series[i]
		once := c.onceTypes(s)
		for w := range ways {
			c.checkWay(s, &ways[w], once)
		}
		c.checkCaging(s)
	}
	return nil
}

// onceTypes are the frame types that checkTypeOnce speaks of.
func (c *checker) onceTypes(s *series) map[string]bool {
	out := map[string]bool{}
	uses, known := c.typesOf(s)
	for id, on := range uses {
		if len(known) >= 3 && c.usedOnce(id, on, known) {
			out[c.names.FrameTypes[id]] = true
		}
	}
	return out
}

// checkWay looks at one way of clipping, component by component.
func (c *checker) checkWay(s *series, w *way, once map[string]bool) {
	byComponent := map[schema.Component][]manner{}
	for _, o := range s.occasions {
		seen := map[schema.Component]map[string]bool{}
		frames := c.framesOf(o.ID)
		for i := range frames {
			for _, component := range componentsIn(frames[i].Recorded) {
				p := c.part(&frames[i], component)
				how := w.of(c, &frames[i], &p)
				if how == "" || w.check == "frame-changed" && once[how] {
					continue
				}
				if seen[component] == nil {
					seen[component] = map[string]bool{}
				}
				seen[component][how] = true
			}
		}
		for component, set := range seen {
			byComponent[component] = append(byComponent[component], manner{o.Year, strings.Join(slices.Sorted(maps.Keys(set)), " and ")})
		}
	}
	alike := map[string][]string{}
	found := map[string][]manner{}
	for _, component := range schema.Components {
		if turns := turnsOf(byComponent[component]); len(turns) > 1 {
			key := fmt.Sprint(turns)
			alike[key] = append(alike[key], component.String())
			found[key] = byComponent[component]
		}
	}
	for _, key := range slices.Sorted(maps.Keys(alike)) {
		c.reportTurns(s, w, alike[key], found[key])
	}
}

// turnsOf keeps the first year and every year that differs from the one
// before.
func turnsOf(list []manner) []manner {
	var out []manner
	for _, m := range list {
		if len(out) == 0 || out[len(out)-1].how != m.how {
			out = append(out, m)
		}
	}
	return out
}

func (c *checker) reportTurns(s *series, w *way, components []string, list []manner) {
	turns := turnsOf(list)
	var years []int
	var words []string
	for i, t := range turns {
		last := list[len(list)-1].year
		if i+1 < len(turns) {
			for _, m := range list {
				if m.year < turns[i+1].year {
					last = m.year
				}
			}
		}
		span := strconv.Itoa(t.year)
		if last != t.year {
			span += "–" + strconv.Itoa(last)
		}
		words = append(words, t.how+" ("+span+")")
		if i > 0 {
			years = append(years, t.year)
		}
	}
	values := fmt.Sprint(turns)
	c.report(s.place, Finding{Severity: w.severity, Check: w.check, Years: years, Components: components,
		Found: fmt.Sprintf("%s changed between years: %s", w.what, firstOf(words, 12, ", ")), Why: w.why, Do: w.do},
		evidence{key: s.site.Site + " " + s.season, values: values})
}

// checkCaging says where some years have caged frames and some have not.
func (c *checker) checkCaging(s *series) {
	var list []manner
	for _, o := range s.occasions {
		how := ""
		for _, v := range c.framesOf(o.ID) {
			switch {
			case !v.Clipped:
			case v.Caged:
				how = "caged"
			case how == "":
				how = "open"
			}
		}
		if how != "" {
			list = append(list, manner{o.Year, how})
		}
	}
	if len(turnsOf(list)) < 2 {
		return
	}
	w := way{check: "caging-changed", severity: Note, what: "the kind of frames that production is taken from",
		why: "open frames lack what was grazed before clipping, caged ones do not: the two make a step that is none",
		do:  "compare years of one kind only"}
	c.reportTurns(s, &w, nil, list)
}
