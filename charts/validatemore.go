package charts

import (
	"fmt"
	"reflect"
)

// What a page says beyond its means is refused like the means: no number may
// be infinite or none, and years must come in order.

func (x *Series) validateMore() error {
	if err := finiteNumbers(x.Trend, "trend"); err != nil {
		return err
	}
	if t := x.Trend; t != nil {
		for i := range t.Years {
			if i > 0 && t.Years[i].Year <= t.Years[i-1].Year {
				return fmt.Errorf("year %d of the trend does not follow %d", t.Years[i].Year, t.Years[i-1].Year)
			}
		}
	}
	for i := range x.Changes {
		d := &x.Changes[i]
		if d.Year2 <= d.Year1 {
			return fmt.Errorf("the change from %d to %d goes backward", d.Year1, d.Year2)
		}
		if i > 0 && d.Year2 <= x.Changes[i-1].Year2 {
			return fmt.Errorf("the change to %d does not follow that to %d", d.Year2, x.Changes[i-1].Year2)
		}
	}
	for i := 1; i < len(x.Classes); i++ {
		if low, high := x.Classes[i].Low, x.Classes[i-1].High; low != nil && high != nil && *low < *high {
			return fmt.Errorf("class %q begins below the end of %q", x.Classes[i].Label, x.Classes[i-1].Label)
		}
	}
	for what, v := range map[string]any{"a change": x.Changes, "a class": x.Classes, "the long-term mean": x.LongTerm} {
		if err := finiteNumbers(v, what); err != nil {
			return err
		}
	}
	return nil
}

func (s *Site) validateMore() error {
	for _, part := range []struct {
		what string
		v    any
		n    int
		year func(i int) int
	}{
		{"composition", s.Composition, len(s.Composition), func(i int) int { return s.Composition[i].Year }},
		{"basis of dry weights", s.DryBasis, len(s.DryBasis), func(i int) int { return s.DryBasis[i].Year }},
		{"rain", s.Rain, s.Rain.years(), func(i int) int { return s.Rain.Years[i].Year }},
		{"estimate", s.Eyes, 0, nil},
		{"use", s.Uses, 0, nil},
		{"event", s.Events, 0, nil},
	} {
		if err := finiteNumbers(part.v, part.what); err != nil {
			return err
		}
		for i := 1; i < part.n; i++ {
			if part.year(i) <= part.year(i-1) {
				return fmt.Errorf("%s: year %d does not follow %d", part.what, part.year(i), part.year(i-1))
			}
		}
	}
	return nil
}

func (r *Rain) years() int {
	if r == nil {
		return 0
	}
	return len(r.Years)
}

// finiteNumbers looks at every number below v, so that a field added to the
// model later is covered the day it is added.
func finiteNumbers(v any, what string) error {
	return allFinite(reflect.ValueOf(v), what)
}

func allFinite(v reflect.Value, what string) error {
	switch v.Kind() {
	case reflect.Float64:
		if !finite(v.Float()) {
			return fmt.Errorf("%s is %v", what, v.Float())
		}
	case reflect.Pointer:
		if !v.IsNil() {
			return allFinite(v.Elem(), what)
		}
	case reflect.Slice:
		for i := range v.Len() {
			if err := allFinite(v.Index(i), what); err != nil {
				return err
			}
		}
	case reflect.Struct:
		for i := range v.NumField() {
			if err := allFinite(v.Field(i), what); err != nil {
				return err
			}
		}
	}
	return nil
}
