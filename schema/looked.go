package schema

import (
	"cmp"
	"fmt"
	"maps"
	"slices"
)

// What was looked for in a frame, where its row does not say: by what the
// site declares, else by what was recorded at the site and season in any
// year, from its first to its last recorded year. A component that was
// clipped only on frame types that a frame does not have was not looked for
// in it; types that some frame carries together are nested, and every frame
// that has one of them has them all. A type that took another's place, in
// years of its own and for some of the same components, was looked through
// for all of them. Nothing here looks at a weight.

// spanKey names a component on a frame type at a site and season; component
// NoComponent stands for any frame of the type.
type spanKey struct {
	site      int64
	season    string
	component Component
	frameType int64
}

type yearSpan struct{ first, last int }

// pairKey names two frame types carried together by a frame, a < b.
type pairKey struct {
	site   int64
	season string
	a, b   int64
}

// noteSpan remembers that a component was recorded on a frame type.
func (t *Tx) noteSpan(k spanKey, year int) {
	s, ok := t.touch.spans[k]
	if !ok {
		s = yearSpan{year, year}
	}
	t.touch.spans[k] = yearSpan{min(s.first, year), max(s.last, year)}
}

// notePair remembers that a frame carries two frame types.
func (t *Tx) notePair(site int64, season string, a, b int64) {
	if a != b {
		t.touch.pairs[pairKey{site, season, min(a, b), max(a, b)}] = true
	}
}

// The spans and pairs as the records give them, for sites whose records were
// taken away or moved, and for Verify.
const (
	spansNow = `SELECT o.site_id, o.season, 0 AS component, coalesce(v.frame_type_id, 0) AS frame_type_id, min(o.growth_year), max(o.growth_year)
		FROM visit v JOIN occasion o ON o.occasion_id = v.occasion_id WHERE o.site_id = ?1 AND (v.found OR v.empty OR v.components_sampled IS NOT NULL) GROUP BY 1, 2, 4
		UNION ALL
		SELECT o.site_id, o.season, c.component, coalesce(p.frame_type_id, v.frame_type_id, 0), min(o.growth_year), max(o.growth_year)
		FROM visit v JOIN occasion o ON o.occasion_id = v.occasion_id JOIN component c ON v.recorded & c.bit
		LEFT JOIN plot p ON p.visit_id = v.visit_id AND p.component = c.component WHERE o.site_id = ?1 GROUP BY 1, 2, 3, 4`
	pairsNow = `SELECT DISTINCT o.site_id, o.season, min(coalesce(v.frame_type_id, 0), p.frame_type_id), max(coalesce(v.frame_type_id, 0), p.frame_type_id)
		FROM plot p JOIN visit v ON v.visit_id = p.visit_id JOIN occasion o ON o.occasion_id = v.occasion_id
		WHERE o.site_id = ?1 AND p.frame_type_id IS NOT NULL AND p.frame_type_id <> coalesce(v.frame_type_id, 0)`
)

func compareSpanKeys(a, b spanKey) int {
	return cmp.Or(cmp.Compare(a.site, b.site), cmp.Compare(a.season, b.season), cmp.Compare(a.component, b.component), cmp.Compare(a.frameType, b.frameType))
}

// saveSpans writes what noteSpan and notePair gathered, and reads anew the
// sites whose records were taken away or moved.
func (t *Tx) saveSpans() error {
	for _, k := range slices.SortedFunc(maps.Keys(t.touch.spans), compareSpanKeys) {
		s := t.touch.spans[k]
		err := t.exec(`INSERT INTO type_span VALUES(?,?,?,?,?,?) ON CONFLICT DO UPDATE SET
			first_year=min(first_year, excluded.first_year), last_year=max(last_year, excluded.last_year)`,
			k.site, k.season, k.component, k.frameType, s.first, s.last)
		if err != nil {
			return err
		}
	}
	for k := range t.touch.pairs {
		if err := t.exec(`INSERT INTO type_pair VALUES(?,?,?,?) ON CONFLICT DO NOTHING`, k.site, k.season, k.a, k.b); err != nil {
			return err
		}
	}
	for _, site := range slices.Sorted(maps.Keys(t.touch.rebuild)) {
		for _, q := range []string{`DELETE FROM type_span WHERE site_id=?1`, `DELETE FROM type_pair WHERE site_id=?1`,
			`INSERT INTO type_span ` + spansNow, `INSERT INTO type_pair ` + pairsNow} {
			if err := t.exec(q, site); err != nil {
				return err
			}
		}
	}
	return nil
}

// settleLookedFor makes looked_for anew for one site.
func (t *Tx) settleLookedFor(site int64) error {
	rows, err := lookedForNow(t, site)
	if err != nil {
		return err
	}
	err = t.exec(`DELETE FROM looked_for WHERE occasion_id IN (SELECT occasion_id FROM occasion WHERE site_id=?)`, site)
	if err != nil {
		return err
	}
	for _, r := range rows {
		if err := t.exec(`INSERT INTO looked_for VALUES(?,?,?,?)`, r.occasion, r.frameType, r.mask, r.outside); err != nil {
			return err
		}
	}
	return nil
}

// lookedRow is a row of the table looked_for.
type lookedRow struct {
	occasion, frameType int64
	mask, outside       uint8
}

// eacher runs a query row by row: a transaction or an open ledger.
type eacher interface {
	each(query string, args []any, fn func(scan func(...any) error) error) error
}

// siteLooked is what the rule looks at, for one site.
type siteLooked struct {
	declared bool
	entries  []DeclaredEntry
	spans    map[string]map[Component]map[int64]yearSpan // season, component, type
	types    map[string]map[int64]yearSpan               // season, types that frames have, and when
	nests    map[string]*nests                           // season
}

// DeclaredEntry is one entry of what a site declares, by numbers.
type DeclaredEntry struct {
	Component Component
	Season    string
	FrameType int64
}

// lookedForNow works out the rows of looked_for of one site.
func lookedForNow(q eacher, site int64) ([]lookedRow, error) {
	s, err := readSiteLooked(q, site)
	if err != nil {
		return nil, err
	}
	var out []lookedRow
	err = q.each(`SELECT occasion_id, growth_year, season FROM occasion WHERE site_id=? ORDER BY occasion_id`, []any{site}, func(scan func(...any) error) error {
		var occasion int64
		var year int
		var season string
		if err := scan(&occasion, &year, &season); err != nil {
			return err
		}
		for _, frameType := range slices.Sorted(maps.Keys(s.types[season])) {
			mask, outside := s.looked(season, year, frameType)
			out = append(out, lookedRow{occasion, frameType, mask, outside})
		}
		return nil
	})
	return out, err
}

// looked applies the rule to frames of one type on one occasion.
func (s *siteLooked) looked(season string, year int, frameType int64) (mask, outside uint8) {
	if s.declared {
		for _, e := range s.entries {
			if e.Season != "" && e.Season != season {
				continue
			}
			if e.FrameType != 0 && s.has(season, frameType, e.FrameType) || e.FrameType == 0 && s.carries(season, e.Component, frameType) {
				mask |= e.Component.Bit()
			}
		}
		return mask, 0
	}
	for c, byType := range s.spans[season] {
		if c == NoComponent || !s.carries(season, c, frameType) {
			continue
		}
		if whole := spanOf(byType); year >= whole.first && year <= whole.last {
			mask |= c.Bit()
		} else {
			outside |= c.Bit()
		}
	}
	return mask, outside
}

// carries tells whether a component was ever clipped on a frame type that
// frames of the given type have, or on one whose place that type took; one
// never clipped anywhere could be on any.
func (s *siteLooked) carries(season string, c Component, frameType int64) bool {
	byType := s.spans[season][c]
	for t := range byType {
		if s.has(season, frameType, t) || s.replaced(season, frameType, t) {
			return true
		}
	}
	return len(byType) == 0
}

// has tells whether frames of one type have the other: it is the same, or
// nested with it, or the frames name no type and only one can be meant.
func (s *siteLooked) has(season string, frameType, other int64) bool {
	return s.nested(season, frameType, other) || frameType == 0 && s.oneKind(season)
}

func (s *siteLooked) nested(season string, a, b int64) bool {
	n := s.nests[season]
	return a == b || n != nil && n.root(a) == n.root(b)
}

// replaced tells whether two types took turns: never in use in the same
// years, and with a component that was clipped on both.
func (s *siteLooked) replaced(season string, a, b int64) bool {
	var usedA, usedB yearSpan
	for t, span := range s.types[season] {
		if s.nested(season, a, t) {
			usedA = usedA.with(span)
		}
		if s.nested(season, b, t) {
			usedB = usedB.with(span)
		}
	}
	if usedA.first <= usedB.last && usedB.first <= usedA.last {
		return false
	}
	for _, byType := range s.spans[season] {
		onA, onB := false, false
		for t := range byType {
			onA = onA || s.nested(season, a, t)
			onB = onB || s.nested(season, b, t)
		}
		if onA && onB {
			return true
		}
	}
	return false
}

// oneKind tells whether a frame that names no type can only be of one kind:
// no weight stands without a type, and some type has every component that
// was recorded or is declared on a type.
func (s *siteLooked) oneKind(season string) bool {
	on := map[Component][]int64{}
	for c, byType := range s.spans[season] {
		for t := range byType {
			on[c] = append(on[c], t)
		}
	}
	for _, e := range s.entries {
		if e.FrameType != 0 && (e.Season == "" || e.Season == season) {
			on[e.Component] = append(on[e.Component], e.FrameType)
		}
	}
	candidates := map[int64]bool{}
	for _, types := range on {
		for _, t := range types {
			candidates[t] = true
		}
	}
	for candidate := range candidates {
		all := !candidates[0]
		for _, types := range on {
			all = all && slices.ContainsFunc(types, func(t int64) bool { return s.nested(season, candidate, t) })
		}
		if all {
			return true
		}
	}
	return len(candidates) == 0
}

// with widens a span to hold another; the zero span holds nothing.
func (y yearSpan) with(other yearSpan) yearSpan {
	if y == (yearSpan{}) {
		return other
	}
	return yearSpan{min(y.first, other.first), max(y.last, other.last)}
}

func spanOf(byType map[int64]yearSpan) yearSpan {
	var whole yearSpan
	for _, s := range byType {
		whole = whole.with(s)
	}
	return whole
}

// nests are sets of frame types carried together.
type nests struct{ parent map[int64]int64 }

func (n *nests) root(a int64) int64 {
	for {
		p, ok := n.parent[a]
		if !ok || p == a {
			return a
		}
		a = p
	}
}

func (n *nests) join(a, b int64) { n.parent[n.root(a)] = n.root(b) }

func readSiteLooked(q eacher, site int64) (*siteLooked, error) {
	s := &siteLooked{spans: map[string]map[Component]map[int64]yearSpan{}, types: map[string]map[int64]yearSpan{}, nests: map[string]*nests{}}
	err := q.each(`SELECT component, season, frame_type_id FROM site_component WHERE site_id=?`, []any{site}, func(scan func(...any) error) error {
		var e DeclaredEntry
		err := scan(&e.Component, &e.Season, &e.FrameType)
		s.entries = append(s.entries, e)
		s.declared = true
		return err
	})
	if err != nil {
		return nil, err
	}
	err = q.each(`SELECT season, component, frame_type_id, first_year, last_year FROM type_span WHERE site_id=?`, []any{site}, func(scan func(...any) error) error {
		var season string
		var c Component
		var frameType int64
		var span yearSpan
		err := scan(&season, &c, &frameType, &span.first, &span.last)
		s.noteSpan(season, c, frameType, span)
		return err
	})
	if err != nil {
		return nil, fmt.Errorf("read what was recorded: %w", err)
	}
	return s, q.each(`SELECT season, a, b FROM type_pair WHERE site_id=?`, []any{site}, func(scan func(...any) error) error {
		var season string
		var a, b int64
		err := scan(&season, &a, &b)
		if s.nests[season] == nil {
			s.nests[season] = &nests{map[int64]int64{}}
		}
		s.nests[season].join(a, b)
		return err
	})
}

func (s *siteLooked) noteSpan(season string, c Component, frameType int64, span yearSpan) {
	if s.types[season] == nil {
		s.types[season] = map[int64]yearSpan{}
		s.spans[season] = map[Component]map[int64]yearSpan{}
	}
	s.types[season][frameType] = s.types[season][frameType].with(span)
	if c == NoComponent {
		return
	}
	if s.spans[season][c] == nil {
		s.spans[season][c] = map[int64]yearSpan{}
	}
	s.spans[season][c][frameType] = span
}
