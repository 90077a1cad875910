package monitor

import (
	"fmt"
	"math"

	"clipledger/monitor/stat"
	"clipledger/schema"
)

// Which class is the site in? A site names its scheme; a mean falls in the
// class whose bounds [lower, upper) hold it, and the confidence of each class
// says how sure that is (stat.ClassConfidence). What lies below zero counts to
// the lowest class.

// ClassOf is the class of a mean.
type ClassOf struct {
	Scheme     string
	Label      string // blank: outside all classes
	Confidence Num    // fraction, of the class the mean falls in
	Others     []ClassShare
}

// ClassShare is the confidence of one class.
type ClassShare struct {
	Label      string
	Confidence float64
}

// scheme is the classes of one component.
type scheme struct {
	bounds  []float64
	labels  []string
	unknown bool // their basis is not known
}

// classes are the schemes that sites name, by scheme and component.
type classes map[string]map[string]*scheme

// classesOf reads the schemes that the wanted sites name.
func classesOf(snap *schema.Snapshot, sites []schema.SiteRecord) (classes, error) {
	out := classes{}
	for i := range sites {
		name := sites[i].ClassScheme
		if name == "" || out[name] != nil {
			continue
		}
		bounds, err := snap.ClassBounds(name)
		if err != nil {
			return nil, err
		}
		out[name] = schemesOf(bounds)
	}
	return out, nil
}

func schemesOf(bounds []schema.ClassBound) map[string]*scheme {
	out := map[string]*scheme{}
	for _, b := range bounds {
		s := out[b.Component]
		if s == nil {
			s = &scheme{bounds: []float64{b.LowerG}}
			out[b.Component] = s
		}
		upper := math.Inf(1)
		if b.UpperG.Valid {
			upper = b.UpperG.Float64
		}
		s.bounds, s.labels = append(s.bounds, upper), append(s.labels, b.Label)
		s.unknown = s.unknown || b.Basis == schema.UnknownBasis
	}
	for _, s := range out {
		if s.bounds[0] <= 0 {
			s.bounds[0] = math.Inf(-1)
		}
	}
	return out
}

// classify fills in the class of a mean whose site names a scheme that classes
// its component. A group of a site is not the site and has no class.
func (c *calculation) classify(m *Mean) {
	if c.classes == nil || m.Site.ClassScheme == "" || m.Group != "" || !m.Mean.Valid {
		return
	}
	parts := c.classes[m.Site.ClassScheme]
	if len(parts) == 0 {
		if m.Component == Production {
			m.warn("no-class-scheme", fmt.Sprintf("the site names the class scheme %q, which the ledger does not hold: import classes", m.Site.ClassScheme))
		}
		return
	}
	s := parts[m.Component]
	if s == nil {
		return
	}
	m.Class = &ClassOf{Scheme: m.Site.ClassScheme}
	k, ok := stat.ClassOf(m.Mean.Float64, s.bounds)
	if !ok {
		m.note("outside-classes", "the mean lies outside all classes of "+m.Site.ClassScheme)
		return
	}
	m.Class.Label = s.labels[k]
	if len(s.labels) == 1 {
		m.note("one-class", "the scheme "+m.Site.ClassScheme+" has one class: it tells nothing apart")
	}
	if s.unknown {
		m.note("class-basis-unknown", "the basis of the class bounds is unknown; they are taken as "+c.rules.Basis)
	}
	c.sureness(m, s, k)
}

// sureness fills in the confidence of every class, and says so where the mean
// is near a bound.
func (c *calculation) sureness(m *Mean, s *scheme, k int) {
	if !m.SE.Valid || !m.DF.Valid {
		m.note("class-unsure", "how sure the class is cannot be told: the mean has no standard error")
		return
	}
	shares := stat.ClassConfidence(m.Mean.Float64, m.SE.Float64, m.DF.Float64, s.bounds)
	if shares == nil {
		return
	}
	next := -1
	for i, share := range shares {
		m.Class.Others = append(m.Class.Others, ClassShare{s.labels[i], share})
		if i != k && (next < 0 || share > shares[next]) {
			next = i
		}
	}
	m.Class.Confidence = schema.Some(shares[k])
	if next >= 0 && shares[k] < c.confidence {
		m.note("class-unsure", fmt.Sprintf("near a class bound: %s at %.0f %% confidence, %s at %.0f %%", s.labels[k], 100*shares[k], s.labels[next], 100*shares[next]))
	}
}
