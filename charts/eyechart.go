package charts

import (
	"fmt"
	"math"
	"slices"
	"strconv"
)

// How good was the eye? Each observer's estimates against the clipped weight of
// the same frame, beside the line where both are equal.

// eyePart is the section; ok is false where nobody estimated.
func eyePart(s *Site, page string) (p part, ok bool, err error) {
	if len(s.Eyes) == 0 {
		return p, false, nil
	}
	p = part{ID: "eye", Heading: "Eye against clipped", Screen: true, Tables: []*smallTable{eyeTable(s, page)}}
	scale := eyeScales(s.Eyes)
	p.Lead = []string{"Each circle is a frame that was estimated, then clipped. Dashes: the estimate equals the clipped weight."}
	for i := range s.Eyes {
		e := &s.Eyes[i]
		if len(e.Pairs) < 2 || e.Component == "production" && len(scale) > 1 {
			continue // what production adds up from is shown
		}
		js, err := eyeChart(e, scale[eyeKey(e)]).script()
		if err != nil {
			return p, false, err
		}
		p.Figures = append(p.Figures, figure{Page: page, ID: "chart-eye-" + strconv.Itoa(i+1), Kind: kindOf(e.Component) + " square", Title: eyeTitle(e), Script: js, Table: "eyes", CSV: page + "-eyes"})
	}
	p.Notes = eyeNotes(s)
	return p, true, nil
}

func eyeKey(e *Eye) string { return e.Component + "\x00" + e.State + "\x00" + e.Unit }

// eyeNotes are the remarks, each once, with the observers and components they
// are about.
func eyeNotes(s *Site) []string {
	var texts, names, order, out []string
	for i := range s.Eyes {
		for _, m := range s.Eyes[i].Remarks {
			texts = append(texts, m.Text)
			names = append(names, s.Eyes[i].Observer+"’s "+s.Eyes[i].Component)
		}
	}
	where := map[string][]string{}
	for i, text := range texts {
		if where[text] == nil {
			order = append(order, text)
		}
		if !slices.Contains(where[text], names[i]) {
			where[text] = append(where[text], names[i])
		}
	}
	for _, text := range order {
		out = append(out, sentence(text)+" ("+join(where[text])+")")
	}
	return out
}

// eyeScales are the axes that all observers of one component and state share.
func eyeScales(eyes []Eye) map[string]axis {
	top := map[string]float64{}
	for i := range eyes {
		for _, v := range eyes[i].Pairs {
			key := eyeKey(&eyes[i])
			top[key] = math.Max(top[key], math.Max(v.Clipped, v.Estimated))
		}
	}
	out := map[string]axis{}
	for key, v := range top {
		out[key] = axisFor(v, 5)
	}
	return out
}

func eyeTitle(e *Eye) string {
	name := fmt.Sprintf("%s, %s", e.Observer, e.Component)
	if e.State != "" {
		name += " (" + e.State + ")"
	}
	frames := fmt.Sprintf("%d %s", len(e.Pairs), plural(len(e.Pairs), "frame", "frames"))
	if e.Ratio == nil {
		return name + ": " + frames
	}
	pct := 100 * (*e.Ratio - 1)
	switch {
	case math.Abs(pct) < 0.5:
		return fmt.Sprintf("%s: as much as was clipped, over %s", name, frames)
	case pct > 0:
		return fmt.Sprintf("%s: %s%s%% too much, over %s", name, percent(&pct), nbsp, frames)
	}
	pct = -pct
	return fmt.Sprintf("%s: %s%s%% too little, over %s", name, percent(&pct), nbsp, frames)
}

func eyeChart(e *Eye, scale axis) block {
	line := plane(scale.span(), "clipped, "+e.Unit, scale.span(), "estimated, "+e.Unit)
	var dots []opt
	for _, v := range e.Pairs {
		dots = append(dots, at(significant(v.Clipped, 4), significant(v.Estimated, 4)))
	}
	overlay(line, "fit", "segment", []opt{at(0, 0, scale.max, scale.max)})
	overlay(line, "pairs", "pair", dots)
	return block{Option: options(line)}
}

func eyeTable(s *Site, page string) *smallTable {
	t := &smallTable{ID: "eyes", Title: "The same in numbers", Folded: true, CSV: page + "-eyes",
		Caption: "Estimates against the clipped weight of the same frame; each frame is in the CSV. Bias is estimated less clipped; ratio is of the means; concordance is Lin’s, 1 is perfect",
		Head:    []column{{Short: "Component", Long: "component", Words: true}, {Short: "State", Long: "green or dry", Words: true}, {Short: "Frames", Long: "frames estimated and clipped"}, {Short: "Bias", Long: "mean estimated less mean clipped"}, {Short: "Unit", Long: "unit of the bias", Words: true}, {Short: "Ratio", Long: "mean estimated ÷ mean clipped"}, {Short: "Concor\u00addance", Long: "Lin’s concordance"}}}
	rows := rows{width: len(t.Head) + 1}
	for i := range s.Eyes {
		e := &s.Eyes[i]
		ratio, ccc, bias := "", "", ""
		if e.Ratio != nil {
			ratio = fixed(*e.Ratio, 2)
		}
		if e.CCC != nil {
			ccc = fixed(*e.CCC, 2)
		}
		if e.Bias != nil {
			bias = plus(trimmed(*e.Bias, 1))
		}
		rows.row(e.Observer, word(e.Component), word(e.State), strconv.Itoa(len(e.Pairs)), bias, word(e.Unit), ratio, ccc)
	}
	t.Body = rows.body()
	return t
}
