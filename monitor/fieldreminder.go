package monitor

import (
	"cmp"
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"

	"clipledger/schema"
)

// reminders say how it was done last time, so that a change of method is a
// decision and not a slip.
func (l *sheetLayout) reminders(estimates bool) []string {
	var out []string
	add := func(name string, of func(*schema.LaidFrame, schema.Component) string) {
		if text := l.tally(of); text != "" {
			out = append(out, name+": "+text)
		}
	}
	if l.lastYear == 0 {
		return []string{"Nothing was clipped here before in this season: what is done now is what later years repeat"}
	}
	out = append(out, "Last time: "+l.lastDates())
	add("Frame", typeIn)
	add("Edge rule", func(f *schema.LaidFrame, c schema.Component) string {
		edge, _ := methodIn(f, c)
		return cmp.Or(map[string]string{"rooted": "plants rooted in the frame", "vertical": "everything above the frame"}[edge], edge, "not recorded; write it down this time")
	})
	if !estimates {
		add("Clipping height", heightIn)
	}
	if species := l.speciesApart(); len(species) > 0 {
		out = append(out, "Species kept apart: "+strings.Join(species, ", "))
	}
	return out
}

// heightIn words the height at which a component of a frame was cut.
func heightIn(f *schema.LaidFrame, c schema.Component) string {
	if _, height := methodIn(f, c); height.Valid {
		return strconv.FormatFloat(height.Float64, 'f', -1, 64) + " cm"
	}
	return "not recorded; write it down this time"
}

// tally words a thing by component, in one word where it is the same for all.
func (l *sheetLayout) tally(of func(*schema.LaidFrame, schema.Component) string) string {
	counts := map[schema.Component]map[string]int{}
	all := map[string]bool{}
	for i := range l.last {
		f := &l.last[i]
		for _, c := range schema.Components {
			if f.Recorded&c.Bit() == 0 {
				continue
			}
			if counts[c] == nil {
				counts[c] = map[string]int{}
			}
			word := of(f, c)
			counts[c][word]++
			all[word] = true
		}
	}
	if len(all) == 1 {
		for word := range all {
			return word
		}
	}
	var parts []string
	for _, c := range schema.Components {
		if counts[c] == nil {
			continue
		}
		words := slices.Sorted(maps.Keys(counts[c]))
		if len(words) == 1 {
			parts = append(parts, c.String()+" "+cmp.Or(words[0], "not recorded"))
			continue
		}
		for i, w := range words {
			words[i] = fmt.Sprintf("%s in %s", cmp.Or(w, "not recorded"), count(counts[c][w], "frame", "frames"))
		}
		parts = append(parts, c.String()+" "+strings.Join(words, ", ")+" (settle on one)")
	}
	return strings.Join(parts, "; ")
}

func count(n int, one, more string) string {
	if n == 1 {
		return "1 " + one
	}
	return strconv.Itoa(n) + " " + more
}

// lastDates says when the last occasion was.
func (l *sheetLayout) lastDates() string {
	var dates []string
	for i := range l.last {
		if d := l.last[i].Date; d != "" {
			dates = append(dates, d)
		}
	}
	if len(dates) == 0 {
		return fmt.Sprintf("growth year %d", l.lastYear)
	}
	first, last := slices.Min(dates), slices.Max(dates)
	if first == last {
		return first
	}
	return first + " to " + last
}

// cares are what to beware of at a site: which spots, and which frames were
// missed last time.
func (l *sheetLayout) cares() []string {
	var out []string
	switch l.site.Placement {
	case "same":
		out = append(out, "The same spots as last time: find each one's mark")
		var missed []string
		for _, f := range l.frames {
			if f.year < l.lastYear {
				missed = append(missed, fmt.Sprintf("%s (last in %d)", f.Frame, f.year))
			}
		}
		if len(missed) > 0 {
			out = append(out, fmt.Sprintf("Not recorded in %d, and on the sheet again: frame %s", l.lastYear, strings.Join(missed, ", ")))
		}
	case "shifted":
		out = append(out, "Along the same transect, never on a spot that was clipped before")
	default:
		out = append(out, "New spots: the labels are only names for this year's frames")
	}
	return out
}
