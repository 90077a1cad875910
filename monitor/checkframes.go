package monitor

import (
	"fmt"
	"slices"
	"sort"
	"strconv"
	"strings"

	"clipledger/schema"
)

// Frames that are missing against other years. Where the same spots are
// clipped every year, a frame is missed by its label: it was there in more
// than half of the other years, before and after, or it is not there in the
// latest year. Else an occasion with fewer than half of the frames that are
// usual (the median of the other years, three or more), and at least three
// fewer, is one in which rows may be missing.

const fewestOtherYears = 3

func (c *checker) checkFramesMissing() error {
	for i := range c.series {
		s := &c.series[i]
		if s.site.Placement == "same" {
			c.missedLabels(s)
		} else {
			c.fewFrames(s)
		}
	}
	return nil
}

// clippedLabels are the frames clipped on each occasion of a series that has
// any.
func (c *checker) clippedLabels(s *series) (years []int, sets []map[string]bool) {
	for _, o := range s.occasions {
		set := map[string]bool{}
		frames := c.framesOf(o.ID)
		for i := range frames {
			if frames[i].Clipped {
				set[label(&frames[i])] = true
			}
		}
		if len(set) > 0 {
			years, sets = append(years, o.Year), append(sets, set)
		}
	}
	return years, sets
}

func (c *checker) missedLabels(s *series) {
	years, sets := c.clippedLabels(s)
	if len(sets) < fewestOtherYears+1 {
		return
	}
	in := map[string][]int{} // the occasions that have a frame, ascending
	for i, set := range sets {
		for l := range set {
			in[l] = append(in[l], i)
		}
	}
	latest := len(sets) - 1
	missed := make([][]string, len(sets))
	for l, has := range in {
		for i := range sets {
			if sets[i][l] || 2*len(has) <= len(sets)-1 {
				continue
			}
			first, last := has[0], has[len(has)-1]
			if first < i && (i < last || i == latest && last == latest-1) {
				missed[i] = append(missed[i], l)
			}
		}
	}
	for i, list := range missed {
		if len(list) == 0 {
			continue
		}
		sortLabels(list)
		c.report(s.place, Finding{Severity: Look, Check: "frames-missing", Years: []int{years[i]},
			Found: fmt.Sprintf("%d of the permanent frames %s not here and in most other years: %s", len(list), isAre(len(list)), labels(list)),
			Why:   "a heavy or light spot left out shifts the mean, and rows that were lost look just so",
			Do:    "look for rows not entered or labelled otherwise; a frame that was there and held nothing needs a row with status empty, a bag that was lost one with status lost"},
			evidence{key: fmt.Sprintf("%s %d %s", s.site.Site, years[i], s.season), values: strings.Join(list, "\x1d")})
	}
}

func isAre(n int) string {
	if n == 1 {
		return "is"
	}
	return "are"
}

// sortLabels sorts labels of frames as people count: frame 2 before frame 10.
func sortLabels(list []string) {
	number := func(s string) int {
		n, err := strconv.Atoi(s[strings.LastIndexByte(s, ' ')+1:])
		if err != nil {
			return 0
		}
		return n
	}
	sort.Slice(list, func(i, j int) bool {
		if a, b := number(list[i]), number(list[j]); a != b {
			return a < b
		}
		return list[i] < list[j]
	})
}

func (c *checker) fewFrames(s *series) {
	years, sets := c.clippedLabels(s)
	for i := range sets {
		var others []float64
		for j := range sets {
			if j != i {
				others = append(others, float64(len(sets[j])))
			}
		}
		usual, n := medianOf(others), float64(len(sets[i]))
		if len(others) < fewestOtherYears || n >= usual/2 || usual-n < 3 {
			continue
		}
		c.report(s.place, Finding{Severity: Look, Check: "frames-missing", Years: []int{years[i]},
			Found: fmt.Sprintf("%d frames, where the other years have %g in the middle", len(sets[i]), usual),
			Why:   "rows or a whole sheet may not have been entered; if these were all, the year's mean is less sure than the others",
			Do:    "look for sheets not entered; if these were all the frames, accept it with a note"},
			evidence{key: fmt.Sprintf("%s %d %s", s.site.Site, years[i], s.season), values: strconv.Itoa(len(sets[i]))})
	}
}

// A frame type that was used on one occasion only, beside another type: more
// likely a word written wrong than a frame carried once. Where all frames of
// the first or the latest occasion have it, the frame was changed, which
// another check says.
func (c *checker) checkTypeOnce() error {
	for i := range c.series {
		s := &c.series[i]
		uses, known := c.typesOf(s)
		for id, on := range uses {
			if len(known) >= 3 && c.usedOnce(id, on, known) {
				c.reportTypeOnce(s, id, on)
			}
		}
	}
	return nil
}

// typesOf tells which frame types were carried on which occasions of a
// series, and which occasions know any.
func (c *checker) typesOf(s *series) (uses map[int64][]*schema.OccasionRecord, known []*schema.OccasionRecord) {
	uses = map[int64][]*schema.OccasionRecord{}
	for _, o := range s.occasions {
		seen := map[int64]bool{}
		frames := c.framesOf(o.ID)
		for i := range frames {
			for _, id := range c.typesOn(&frames[i]) {
				seen[id] = true
			}
		}
		for id := range seen {
			uses[id] = append(uses[id], o)
		}
		if len(seen) > 0 {
			known = append(known, o)
		}
	}
	return uses, known
}

// typesOn are the frame types that a frame carries.
func (c *checker) typesOn(v *schema.CheckVisit) []int64 {
	var out []int64
	if v.FrameTypeID != 0 {
		out = append(out, v.FrameTypeID)
	}
	for _, p := range c.plotsOf(v.Visit) {
		if p.FrameTypeID != 0 && !slices.Contains(out, p.FrameTypeID) {
			out = append(out, p.FrameTypeID)
		}
	}
	return out
}

// usedOnce tells whether a type stands out for being used on one occasion.
func (c *checker) usedOnce(id int64, on, known []*schema.OccasionRecord) bool {
	if len(on) != 1 {
		return false
	}
	if at := on[0]; at != known[0] && at != known[len(known)-1] {
		return true
	}
	frames := c.framesOf(on[0].ID)
	return slices.ContainsFunc(frames, func(v schema.CheckVisit) bool {
		types := c.typesOn(&v)
		return len(types) > 0 && !slices.Contains(types, id)
	})
}

func (c *checker) reportTypeOnce(s *series, id int64, on []*schema.OccasionRecord) {
	var records []evidence
	frames := c.framesOf(on[0].ID)
	var mask uint8
	for i := range frames {
		if slices.Contains(c.typesOn(&frames[i]), id) {
			records = append(records, c.ofFrame(&frames[i], c.names.FrameTypes[id]))
			mask |= frames[i].Recorded
		}
	}
	c.report(s.place, Finding{Severity: Look, Check: "frame-type-once", Years: []int{on[0].Year}, Components: componentNames(mask),
		Found: fmt.Sprintf("the frame type %s was used in this season here only in %d, in %s", c.names.FrameTypes[id], on[0].Year, framesWord(len(records))),
		Why:   "a frame type written wrong makes the weight per area wrong by the ratio of the areas",
		Do:    "look at the sheet; correct the frame type with --replace, or accept it if that frame was used"}, records...)
}

func componentNames(mask uint8) []string {
	var out []string
	for _, component := range componentsIn(mask) {
		out = append(out, component.String())
	}
	return out
}

// Frames that carry two frame types, where frames of these types are usually
// apart: one such frame makes the types nested, and then every frame of
// either type is taken to have been looked through for the components of
// both.
func (c *checker) checkNests() error {
	for i := range c.series {
		s := &c.series[i]
		type pair [2]int64
		alone, years := map[int64]int{}, map[pair][]int{}
		both := map[pair][]*schema.CheckVisit{}
		for _, o := range s.occasions {
			frames := c.framesOf(o.ID)
			for i := range frames {
				types := c.typesOn(&frames[i])
				if len(types) == 1 {
					alone[types[0]]++
				}
				for a := range types {
					for _, b := range types[a+1:] {
						k := pair{min(types[a], b), max(types[a], b)}
						both[k], years[k] = append(both[k], &frames[i]), append(years[k], o.Year)
					}
				}
			}
		}
		for k, frames := range both {
			if alone[k[0]] > len(frames) && alone[k[1]] > len(frames) {
				c.reportNest(s, k, frames, years[k], [2]int{alone[k[0]], alone[k[1]]})
			}
		}
	}
	return nil
}

func (c *checker) reportNest(s *series, types [2]int64, frames []*schema.CheckVisit, years []int, alone [2]int) {
	a, b := c.names.FrameTypes[types[0]], c.names.FrameTypes[types[1]]
	records := make([]evidence, len(frames))
	for i, v := range frames {
		records[i] = c.ofFrame(v, a+" "+b)
	}
	c.report(s.place, Finding{Severity: Look, Check: "frame-types-share-label", Years: years,
		Found: fmt.Sprintf("%s one label for the frame types %s and %s, which otherwise stand apart (%s with %s alone, %s with %s alone)",
			uses(len(frames)), a, b, framesWord(alone[0]), a, framesWord(alone[1]), b),
		Why: "two types under one label are taken as nested plots, and then every frame of either type counts zeros for the components of both",
		Do:  "if the plots are not nested, give those of one type labels of their own (P1, P2, ...); take the file back with undo and import it corrected; if they are nested, accept it"}, records...)
}

func uses(frames int) string {
	if frames == 1 {
		return "1 frame uses"
	}
	return fmt.Sprintf("%d frames use", frames)
}
