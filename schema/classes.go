package schema

import (
	"fmt"
	"math"
)

// ClassBound takes one class into the ledger. It is written with the rest of
// its scheme when the import is finished: then the bounds must touch.
func (im *Import) ClassBound(b ClassBound) error {
	if b.Basis == "" {
		values, err := readSettings(im.ctx, im.tx)
		if err != nil {
			return err
		}
		b.Basis = values["basis"]
	}
	im.bounds = append(im.bounds, broughtRow[ClassBound]{row: b, im: im})
	return nil
}

func (b ClassBound) set() string { return b.Scheme + "\x00" + b.Component }
func (b ClassBound) at() float64 { return b.LowerG }
func (b ClassBound) line() int   { return b.Line }

// classSets are the classes of one component of a scheme.
var classSets = &setKind[ClassBound]{
	table: "class_bound", rows: "classes",
	what:  func(b ClassBound) string { return fmt.Sprintf("scheme %q for %s", b.Scheme, b.Component) },
	order: "scheme, component, lower_g_m2", same: "scheme=? AND component=?",
	keys: func(b ClassBound) []field {
		return []field{key("scheme", b.Scheme), key("component", b.Component), key("lower_g_m2", b.LowerG)}
	},
	values: func(b ClassBound) []field {
		upper := number("upper_g_m2", b.UpperG)
		upper.column, upper.orNone = "upper", true
		if !b.UpperG.Valid {
			upper.shown = show(nil)
		}
		return []field{upper, text("basis", b.Basis), text("label", b.Label)}
	},
	scan: func(b *ClassBound) ([]any, *int) {
		return []any{&b.Scheme, &b.Component, &b.LowerG, &b.UpperG, &b.Basis, &b.Label}, &b.Line
	},
	fault: classFault,
	covers: func(set, other []ClassBound) bool {
		return set[0].LowerG <= other[0].LowerG && topOf(set) >= topOf(other)
	},
}

// topOf is where classes end.
func topOf(list []ClassBound) float64 {
	if u := list[len(list)-1].UpperG; u.Valid {
		return u.Float64
	}
	return math.Inf(1)
}

// touching is how far apart, relatively, two bounds may be that are the same:
// enough for two ways of converting one number, and no more.
const touching = 1e-9

// classFault says what is wrong with the classes of a component, lowest
// first. They touch, on one basis, and only the last is open.
func classFault(list []ClassBound) *setFault {
	const touch = "let each class end where the next begins: a bound belongs to the class above it"
	for i := 1; i < len(list); i++ {
		a, b := list[i-1], list[i]
		fault := func(do, format string, args ...any) *setFault {
			return &setFault{before: i - 1, row: i, what: fmt.Sprintf(format, args...), do: do}
		}
		switch {
		case a.Basis != b.Basis:
			return fault("give the bounds of one scheme on one basis", "the class %q is %s and %q is %s", a.Label, a.Basis, b.Label, b.Basis)
		case !a.UpperG.Valid:
			return fault("give every class but the highest an upper bound", "the class %q has no upper bound, and %q begins above its lower one", a.Label, b.Label)
		case math.Abs(a.UpperG.Float64-b.LowerG) <= touching*math.Abs(b.LowerG):
		case a.UpperG.Float64 > b.LowerG:
			return fault(touch, "the classes %q and %q overlap", a.Label, b.Label)
		default:
			return fault(touch, "there is a gap between the classes %q and %q", a.Label, b.Label)
		}
	}
	return labelFault(list)
}

// labelFault finds two classes of one name.
func labelFault(list []ClassBound) *setFault {
	seen := map[string]int{}
	for i, b := range list {
		if before, twice := seen[b.Label]; twice {
			return &setFault{before: before, row: i, what: fmt.Sprintf("two classes are called %q", b.Label), do: "give each class a label of its own"}
		}
		seen[b.Label] = i
	}
	return nil
}
