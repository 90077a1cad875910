package charts

import (
	"regexp"
	"slices"
	"strings"
)

// Remarks that differ in their numbers alone are one remark: a page that says
// the same of every year is not read.

// numberRun is a number, a date, or a list or span of them.
var numberRun = regexp.MustCompile(`\d+(?:(?:[–.,:\-]|, | and | to )?\d+)*`)

// condense gives each of some texts the words that it shares with those like
// it: numbers that are not the same in all become "…".
func condense(texts []string) []string {
	like := map[string][]int{}
	for i, t := range texts {
		key := numberRun.ReplaceAllString(t, "#")
		like[key] = append(like[key], i)
	}
	out := slices.Clone(texts)
	for _, places := range like {
		first := numberRun.FindAllString(texts[places[0]], -1)
		same := make([]bool, len(first))
		for k := range same {
			same[k] = true
		}
		for _, i := range places {
			for k, n := range numberRun.FindAllString(texts[i], -1) {
				same[k] = same[k] && n == first[k]
			}
		}
		k := -1
		text := numberRun.ReplaceAllStringFunc(texts[places[0]], func(n string) string {
			if k++; same[k] {
				return n
			}
			return "…"
		})
		for _, i := range places {
			out[i] = text
		}
	}
	return out
}

// clipped is what a remark says of the manner of clipping, whatever the
// component: "different observers: …".
func clipped(text string) string {
	_, rest, ok := strings.Cut(text, " clipped ")
	if !ok {
		return text
	}
	return rest
}
