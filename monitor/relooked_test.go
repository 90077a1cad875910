package monitor_test

import (
	"slices"

	"clipledger/schema"
)

// Part of the recomputation from raw records: what was looked for in a frame
// where its row does not say.

// siteSeason is the scope within which the rule looks at all years.
type siteSeason struct{ site, season string }

// lookedRule gathers, by site and season, on which kinds of frame types each
// component was recorded and when. A kind is a set of types carried together.
type lookedRule struct {
	o     *oracle
	kind  map[siteSeason]map[string]string             // frame type -> name of its kind
	years map[siteSeason]map[string][]int              // kind -> years in use
	on    map[siteSeason]map[schema.Component][]string // component -> kinds it was recorded on
	when  map[siteSeason]map[schema.Component][]int    // component -> years in which it was recorded
}

func newLookedRule(o *oracle) *lookedRule {
	r := &lookedRule{o, map[siteSeason]map[string]string{}, map[siteSeason]map[string][]int{}, map[siteSeason]map[schema.Component][]string{}, map[siteSeason]map[schema.Component][]int{}}
	for _, f := range o.frames {
		s := siteSeason{f.id.site, f.id.season}
		if r.kind[s] == nil {
			r.kind[s], r.years[s], r.on[s], r.when[s] = map[string]string{}, map[string][]int{}, map[schema.Component][]string{}, map[schema.Component][]int{}
		}
		r.join(s, f)
	}
	for _, f := range o.frames {
		s := siteSeason{f.id.site, f.id.season}
		for t := range f.types {
			r.years[s][r.kind[s][t]] = append(r.years[s][r.kind[s][t]], f.id.year)
		}
		for c, bags := range f.bags {
			for _, b := range bags {
				if b.HasWeight() || b.Status != "" {
					r.on[s][c] = append(r.on[s][c], r.kind[s][b.FrameType])
					r.when[s][c] = append(r.when[s][c], f.id.year)
				}
			}
		}
	}
	return r
}

// join puts the types of one frame into one kind.
func (r *lookedRule) join(s siteSeason, f *oracleFrame) {
	for t := range f.types {
		if r.kind[s][t] == "" {
			r.kind[s][t] = "kind of " + t
		}
	}
	for a := range f.types {
		for b := range f.types {
			from, to := r.kind[s][a], r.kind[s][b]
			for t, k := range r.kind[s] {
				if k == from {
					r.kind[s][t] = to
				}
			}
		}
	}
}

// looked tells whether a component was looked for in a frame, or whether that
// is unknown because it lies outside the component's recorded years.
func (r *lookedRule) looked(f *oracleFrame, c schema.Component) (yes, outside bool) {
	if f.sampled != 0 {
		return f.sampled&c.Bit() != 0, false
	}
	s := siteSeason{f.id.site, f.id.season}
	var own string
	for t := range f.types {
		own = r.kind[s][t]
	}
	carried := len(r.on[s][c]) == 0 || slices.ContainsFunc(r.on[s][c], func(k string) bool { return k == own || r.tookTurns(s, own, k) })
	if site := r.o.site[f.id.site]; len(site.Components) > 0 {
		return slices.ContainsFunc(site.Components, func(d schema.DeclaredComponent) bool {
			inSeason := d.Component == c && (d.Season == "" || d.Season == f.id.season)
			return inSeason && (d.FrameType == "" && carried || d.FrameType != "" && r.kind[s][d.FrameType] == own)
		}), false
	}
	if len(r.on[s][c]) == 0 || !carried {
		return false, false
	}
	within := slices.Min(r.when[s][c]) <= f.id.year && f.id.year <= slices.Max(r.when[s][c])
	return within, !within
}

// tookTurns tells whether one kind of frame replaced another: no years in
// common, and a component recorded on both.
func (r *lookedRule) tookTurns(s siteSeason, a, b string) bool {
	if slices.Min(r.years[s][a]) <= slices.Max(r.years[s][b]) && slices.Min(r.years[s][b]) <= slices.Max(r.years[s][a]) {
		return false
	}
	for _, kinds := range r.on[s] {
		if slices.Contains(kinds, a) && slices.Contains(kinds, b) {
			return true
		}
	}
	return false
}
