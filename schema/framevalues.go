package schema

import "math"

// ComponentValue is one component of one frame: a weight per area, or missing.
type ComponentValue struct {
	Component Component
	GPerM2    Num    // dry, on the ledger's basis; missing where Why says so
	Why       string // why it is missing
	NoBag     bool   // no bag stands behind it: looked for and not found, or missing
	Inferred  bool   // a zero that no row wrote
}

// Values appends the values of a frame that was read whole: those of the
// components with bags, then of those without. They are what the views
// frame_weighed and frame_zero say, from the bags in hand in place of a second
// pass over them; a test compares the two.
func (f *FrameRecord) Values(out []ComponentValue) []ComponentValue {
	looked := f.LookedFor | f.Outside
	var found uint8
	for from := 0; from < len(f.Bags); {
		c := f.Bags[from].Component
		to := from + 1
		for to < len(f.Bags) && f.Bags[to].Component == c {
			to++
		}
		found |= c.Bit()
		value, recorded := weighed(f.Bags[from:to])
		if recorded || looked&c.Bit() != 0 {
			out = append(out, value)
		}
		from = to
	}
	if said := f.Empty || f.Sampled != 0; said || found != 0 {
		for _, c := range Components {
			switch {
			case looked&^found&c.Bit() == 0:
			case f.LookedFor&c.Bit() != 0:
				out = append(out, ComponentValue{Component: c, GPerM2: Some(0), NoBag: true, Inferred: !said})
			default:
				out = append(out, ComponentValue{Component: c, Why: "not declared, outside its recorded years", NoBag: true, Inferred: !said})
			}
		}
	}
	return out
}

// weighed adds up the bags of a component, and tells whether any of them is
// more than a blank cell.
func weighed(bags []FrameBag) (v ComponentValue, recorded bool) {
	v.Component = bags[0].Component
	var sum compensated
	missing, lost, unweighed, perM2 := false, false, false, false
	ground := bags[0].GroundM2
	for i := range bags {
		b := &bags[i]
		recorded = recorded || !b.Blank
		if b.PerM2 {
			perM2, ground = true, b.GroundM2
		}
		if b.UsedDryG.Valid {
			sum.add(b.UsedDryG.Float64)
			continue
		}
		missing = true
		unweighed = unweighed || !b.GreenG.Valid
		lost = lost || !b.GreenG.Valid && b.Status == StatusLost
	}
	switch dry := sum.total(); {
	case missing && lost:
		v.Why = "lost"
	case missing && unweighed:
		v.Why = "no weight"
	case missing:
		v.Why = "no dry-matter basis"
	case dry == 0:
		v.GPerM2 = Some(0)
	case ground.Valid:
		v.GPerM2 = Some(dry / ground.Float64)
	case !perM2:
		v.Why = "no frame type"
	}
	return v, recorded
}

// compensated adds numbers up as SQLite's sum does, to the last bit: Neumaier's
// improved Kahan–Babuška summation (Z. angew. Math. Mech. 54, 1974).
type compensated struct{ sum, err float64 }

func (s *compensated) add(x float64) {
	t := s.sum + x
	if math.Abs(s.sum) > math.Abs(x) {
		s.err += (s.sum - t) + x
	} else {
		s.err += (x - t) + s.sum
	}
	s.sum = t
}

func (s *compensated) total() float64 { return s.sum + s.err }
