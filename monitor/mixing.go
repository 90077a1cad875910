package monitor

import (
	"fmt"
	"strings"

	"clipledger/schema"
)

// How a site was clipped, where that can make a trend by itself: the same spot
// every year, or a frame size, edge rule or height that changed.

// SiteRemarks says, by site number, what a reader of the whole record of a
// site must know.
func SiteRemarks(s *schema.Snapshot, sites []schema.SiteRecord) (map[int64][]Remark, error) {
	out := map[int64][]Remark{}
	for i := range sites {
		if sites[i].Placement == "same" {
			out[sites[i].ID] = append(out[sites[i].ID], Remark{Code: "same-spot", Text: "the same spots are clipped every year: clipping to the ground is itself a treatment, and a trend may be its doing"})
		}
		if !sites[i].UnitDeclared {
			out[sites[i].ID] = append(out[sites[i].ID], Remark{Code: "unit-chosen", Text: fmt.Sprintf("the site declares no sampling unit; the %s was chosen from how it was first sampled", sites[i].SamplingUnit)})
		}
	}
	mixings, err := mixingsOf(s)
	if err != nil {
		return nil, err
	}
	for id, list := range mixings {
		for _, m := range list {
			out[id] = append(out[id], m.remark)
		}
	}
	return out, nil
}

// mixing is a component of a site and season that was clipped in more ways
// than one over the years.
type mixing struct {
	season    string
	component schema.Component
	uses      []schema.Use
	remark    Remark
}

// mixingsOf finds, by site number, what was clipped in more ways than one.
func mixingsOf(s *schema.Snapshot) (map[int64][]mixing, error) {
	used, err := s.HowClipped()
	if err != nil {
		return nil, err
	}
	out := map[int64][]mixing{}
	for _, attribute := range []struct {
		how             schema.How
		code, what, why string
	}{
		{schema.HowFrameType, "frame-changed", "was clipped on different frame types", "a change of frame can make a trend"},
		{schema.HowEdgeRule, "edge-rule-changed", "was clipped by different edge rules", "a change of rule can make a trend"},
		{schema.HowHeight, "height-changed", "was clipped at different heights", "a change of height can make a trend"},
		{schema.HowObserver, "observer-changed", "was clipped by different observers", "look whether a step in the means falls on a change of hands"},
	} {
		for _, group := range groupUses(used[attribute.how]) {
			id := group[0].SiteID
			text := fmt.Sprintf("%s %s: %s; %s", group[0].Component, attribute.what, spans(group), attribute.why)
			out[id] = append(out[id], mixing{group[0].Season, group[0].Component, group,
				Remark{Code: attribute.code, Text: text, Loud: attribute.code == "edge-rule-changed"}})
		}
	}
	return out, nil
}

// groupUses gathers the uses of one site, season and component, and keeps the
// groups with more than one value.
func groupUses(uses []schema.Use) [][]schema.Use {
	var out [][]schema.Use
	for start := 0; start < len(uses); {
		end := start + 1
		for end < len(uses) && uses[end].SiteID == uses[start].SiteID && uses[end].Season == uses[start].Season && uses[end].Component == uses[start].Component {
			end++
		}
		if end-start > 1 {
			out = append(out, uses[start:end])
		}
		start = end
	}
	return out
}

func spans(uses []schema.Use) string {
	words := make([]string, len(uses))
	for i, u := range uses {
		years := fmt.Sprint(u.First)
		if u.Last != u.First {
			years = fmt.Sprintf("%d–%d", u.First, u.Last)
		}
		words[i] = fmt.Sprintf("%s (%s)", u.Value, years)
	}
	return strings.Join(words, ", ")
}
