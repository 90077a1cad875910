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

// sheetLayout is how a site was clipped in a season, over its last occasions.
type sheetLayout struct {
	site     *schema.SiteRecord
	season   string
	lastYear int
	last     []schema.LaidFrame // of the last occasion
	frames   []sheetFrame
	pairs    [][2]string // frame types that some frame carries together: nested
	parts    map[schema.Component]*sheetPart
}

// sheetFrame is a frame with the year of its last record.
type sheetFrame struct {
	schema.LaidFrame
	year  int
	blank bool // a number only: nothing of the record is about this spot
}

// sheetPart is what is known of one component.
type sheetPart struct {
	types   map[string]bool // frame types it was recorded on
	species map[string]bool
	apart   bool // species were kept apart in the last occasion
}

// frameKey tells frames of a site apart.
type frameKey struct {
	transect, frame string
	caged           bool
}

func keyOf(f *schema.LaidFrame) frameKey { return frameKey{f.Transect, f.Frame, f.Caged} }

// add takes in an occasion; the last one comes first. Frames that it lacked
// and earlier ones had are on the sheet where frames stay on their spots: one
// that was missed once is not given up.
func (l *sheetLayout) add(year int, frames []schema.LaidFrame) {
	first := l.lastYear == 0
	if first {
		l.lastYear, l.last = year, frames
	}
	had := map[frameKey]bool{}
	for i := range l.frames {
		had[keyOf(&l.frames[i].LaidFrame)] = true
	}
	for i := range frames {
		f := &frames[i]
		l.note(f, first)
		if (first || l.site.Placement == "same") && !had[keyOf(f)] {
			l.frames = append(l.frames, sheetFrame{LaidFrame: *f, year: year})
		}
	}
	sortFrames(l.frames)
}

// sortFrames orders frames as people walk: by transect and label, the caged
// one of a pair first.
func sortFrames(frames []sheetFrame) {
	openLast := func(f *sheetFrame) int {
		if f.Caged {
			return 0
		}
		return 1
	}
	slices.SortStableFunc(frames, func(a, b sheetFrame) int {
		return cmp.Or(compareLabels(a.Transect, b.Transect), compareLabels(a.Frame, b.Frame), cmp.Compare(openLast(&a), openLast(&b)))
	})
}

// note takes in what a frame tells of components and frame types.
func (l *sheetLayout) note(f *schema.LaidFrame, last bool) {
	for _, c := range schema.Components {
		if f.Recorded&c.Bit() != 0 {
			l.part(c).types[typeIn(f, c)] = true
		}
	}
	for _, b := range f.Bags {
		if b.Species != "" {
			p := l.part(b.Component)
			p.species[b.Species] = true
			p.apart = p.apart || last
		}
	}
	types := slices.Sorted(maps.Keys(typesOf(f)))
	for i, a := range types {
		for _, b := range types[i+1:] {
			l.pairs = append(l.pairs, [2]string{a, b})
		}
	}
	slices.SortFunc(l.pairs, func(a, b [2]string) int { return cmp.Or(cmp.Compare(a[0], b[0]), cmp.Compare(a[1], b[1])) })
	l.pairs = slices.Compact(l.pairs)
}

func (l *sheetLayout) part(c schema.Component) *sheetPart {
	p := l.parts[c]
	if p == nil {
		p = &sheetPart{types: map[string]bool{}, species: map[string]bool{}}
		l.parts[c] = p
	}
	return p
}

// typeIn is the frame type of a component of a frame.
func typeIn(f *schema.LaidFrame, c schema.Component) string {
	for _, p := range f.Parts {
		if p.Component == c && p.FrameType != "" {
			return p.FrameType
		}
	}
	return f.FrameType
}

// typesOf are the frame types that a frame carries.
func typesOf(f *schema.LaidFrame) map[string]bool {
	out := map[string]bool{}
	if f.FrameType != "" {
		out[f.FrameType] = true
	}
	for _, p := range f.Parts {
		if p.FrameType != "" {
			out[p.FrameType] = true
		}
	}
	return out
}

// typesHad are the frame types that a frame has: those it carries, and those
// that are nested with them in other frames.
func (l *sheetLayout) typesHad(f *schema.LaidFrame) map[string]bool {
	has := typesOf(f)
	for _, pair := range l.pairs {
		if has[pair[0]] || has[pair[1]] {
			has[pair[0]], has[pair[1]] = true, true
		}
	}
	return has
}

// declare adds the components that the site declares for the season.
func (l *sheetLayout) declare() {
	for _, d := range l.site.Declared {
		if d.Season != "" && d.Season != l.season {
			continue
		}
		p := l.part(d.Component)
		if d.FrameType != "" && len(l.frames) > 0 {
			p.types[d.FrameType] = true
		}
	}
}

// speciesApart lists the species that were kept apart last time.
func (l *sheetLayout) speciesApart() []string {
	all := map[string]bool{}
	for _, p := range l.parts {
		if p.apart {
			maps.Copy(all, p.species)
		}
	}
	return slices.Sorted(maps.Keys(all))
}

// lines are the lines of one frame: one for every component that was looked
// for in frames of its types, and for every species where those were kept
// apart.
func (l *sheetLayout) lines(f *sheetFrame, oneSpecies bool) []FieldLine {
	var out []FieldLine
	for _, c := range schema.Components {
		p := l.parts[c]
		if p == nil {
			continue
		}
		frameType, ok := l.typeFor(f, c, p)
		if !ok {
			continue
		}
		line := FieldLine{Transect: f.Transect, Frame: f.Frame, Caged: f.Caged, Treatment: f.Treatment, Block: f.Block, FrameType: frameType, Component: c}
		for _, part := range f.Parts {
			if part.Component == c {
				line.FramesInBag = part.FramesInBag
			}
		}
		species := []string{""}
		if p.apart && !oneSpecies {
			species = slices.Sorted(maps.Keys(p.species))
		}
		for _, s := range species {
			line.Species = s
			out = append(out, l.withLast(line, f, oneSpecies))
		}
	}
	return out
}

// typeFor is the frame type on which a component is clipped in a frame; not
// ok where it is clipped only on types that the frame does not have.
func (l *sheetLayout) typeFor(f *sheetFrame, c schema.Component, p *sheetPart) (string, bool) {
	if f.Recorded&c.Bit() != 0 {
		return l.orDefault(typeIn(&f.LaidFrame, c), c), true
	}
	has := l.typesHad(&f.LaidFrame)
	if p.types[f.FrameType] || len(p.types) == 0 {
		return l.orDefault(f.FrameType, c), true
	}
	for _, t := range slices.Sorted(maps.Keys(p.types)) {
		if has[t] {
			return t, true
		}
	}
	return "", false
}

// orDefault is a frame type, or what the site declares where none is known.
func (l *sheetLayout) orDefault(frameType string, c schema.Component) string {
	if frameType != "" {
		return frameType
	}
	d := schema.SiteDefaults{FrameType: l.site.FrameType, Declared: l.site.Declared}
	return d.FrameTypeFor(c, l.season)
}

// withLast adds what was recorded last time: the weights only where the spot
// is the same or beside it.
func (l *sheetLayout) withLast(line FieldLine, f *sheetFrame, oneSpecies bool) FieldLine {
	if f.blank {
		return line
	}
	line.LastEdgeRule, line.LastHeightCM = methodIn(&f.LaidFrame, line.Component)
	if l.site.Placement != "same" && l.site.Placement != "shifted" {
		return line
	}
	bags := 0
	green, dry := schema.Some(0), schema.Some(0)
	for _, b := range f.Bags {
		if b.Component != line.Component || !oneSpecies && b.Species != line.Species {
			continue
		}
		bags++
		green, dry = plus(green, b.GreenG, b.PerM2), plus(dry, b.DryG, b.PerM2)
	}
	if bags > 0 || f.Empty { // nothing was found: zero of everything
		line.LastYear, line.LastGreenG, line.LastDryG = f.year, green, dry
	}
	return line
}

// plus adds the weight of a bag; a sum that lacks one is missing.
func plus(sum, bag Num, perM2 bool) Num {
	if !sum.Valid || !bag.Valid || perM2 {
		return Num{}
	}
	return schema.Some(sum.Float64 + bag.Float64)
}

// methodIn is the edge rule and the clipping height of a component of a frame.
func methodIn(f *schema.LaidFrame, c schema.Component) (edge string, height Num) {
	edge, height = f.EdgeRule, f.ClipHeightCM
	for _, p := range f.Parts {
		if p.Component != c {
			continue
		}
		edge = cmp.Or(p.EdgeRule, edge)
		if p.ClipHeightCM.Valid {
			height = p.ClipHeightCM
		}
	}
	return edge, height
}

// renumber gives as many frames as wanted, shared out over the layouts that
// the site had last time: a transect, caged or open, a frame type. Where there
// were none, it numbers from 1.
func (l *sheetLayout) renumber(wanted int) []sheetFrame {
	if len(l.frames) == 0 {
		var out []sheetFrame
		for i := range wanted {
			out = append(out, sheetFrame{blank: true, LaidFrame: schema.LaidFrame{Transect: "1", Frame: strconv.Itoa(i + 1)}})
		}
		return out
	}
	var order []string
	groups := map[string][]sheetFrame{}
	for _, f := range l.frames {
		key := fmt.Sprintf("%q %v %q %q %q", f.Transect, f.Caged, slices.Sorted(maps.Keys(l.typesHad(&f.LaidFrame))), f.Treatment, f.Block)
		if groups[key] == nil {
			order = append(order, key)
		}
		groups[key] = append(groups[key], f)
	}
	used := map[frameKey]bool{}
	for i := range l.frames {
		used[keyOf(&l.frames[i].LaidFrame)] = true
	}
	var out []sheetFrame
	given, seen := 0, 0
	for _, key := range order {
		group := groups[key]
		seen += len(group)
		n := wanted*seen/len(l.frames) - given // the shares add up to what is wanted
		n = max(n, 1)
		given += n
		out = append(out, resize(group, n, used)...)
	}
	sortFrames(out)
	return out
}

// resize takes the first n frames of a group, or goes on numbering after its
// last, past the labels that are used.
func resize(group []sheetFrame, n int, used map[frameKey]bool) []sheetFrame {
	if n <= len(group) {
		return group[:n]
	}
	out := slices.Clone(group)
	stem := strings.TrimRight(group[len(group)-1].Frame, "0123456789")
	for i := len(group) + 1; len(out) < n; i++ {
		more := sheetFrame{blank: true, LaidFrame: group[0].LaidFrame}
		more.Frame, more.Bags, more.Recorded = stem+strconv.Itoa(i), nil, 0
		if key := keyOf(&more.LaidFrame); !used[key] {
			used[key] = true
			out = append(out, more)
		}
	}
	return out
}

// compareLabels orders labels as people count: 2 before 10, T2 before T10.
func compareLabels(a, b string) int {
	for a != "" && b != "" {
		ra, rb := leadingRun(a), leadingRun(b)
		if isDigit(ra[0]) && isDigit(rb[0]) {
			na, nb := strings.TrimLeft(ra, "0"), strings.TrimLeft(rb, "0")
			if c := cmp.Or(cmp.Compare(len(na), len(nb)), cmp.Compare(na, nb), cmp.Compare(len(ra), len(rb))); c != 0 {
				return c
			}
		} else if c := cmp.Compare(ra, rb); c != 0 {
			return c
		}
		a, b = a[len(ra):], b[len(rb):]
	}
	return cmp.Compare(len(a), len(b))
}

// leadingRun is the digits, or the other bytes, that a label begins with.
func leadingRun(s string) string {
	i := 1
	for i < len(s) && isDigit(s[i]) == isDigit(s[0]) {
		i++
	}
	return s[:i]
}

func isDigit(b byte) bool { return b >= '0' && b <= '9' }
