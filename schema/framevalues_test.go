package schema_test

import (
	"testing"

	"clipledger/schema"
	"clipledger/schema/ledgertest"
)

// TestFrameValuesAreThoseOfTheViews compares what the bags in hand come to
// with the views, bit for bit and in their order, on random ledgers.
func TestFrameValuesAreThoseOfTheViews(t *testing.T) {
	values, missing, zeros := 0, map[string]int{}, map[bool]int{}
	for seed := range worlds(t, 40) {
		w := ledgertest.NewWorld(uint64(seed))
		ledgertest.Read(t, ledgertest.Path(t, w.Records()...), func(s *schema.Snapshot) error {
			occasions, err := s.Occasions()
			if err != nil {
				return err
			}
			for _, o := range occasions {
				want, err := viewed(s, o.ID)
				if err != nil {
					return err
				}
				got, err := valued(s, o.ID)
				if err != nil {
					return err
				}
				if len(got) != len(want) {
					t.Fatalf("seed %d, occasion %d: %d values, the views have %d", seed, o.ID, len(got), len(want))
				}
				for i := range want {
					if got[i] != want[i] {
						t.Errorf("seed %d, occasion %d, value %d: %+v, the views have %+v", seed, o.ID, i, got[i], want[i])
					}
					switch values++; {
					case !want[i].GPerM2.Valid:
						missing[want[i].Why]++
					case want[i].GPerM2.Float64 == 0:
						zeros[want[i].Inferred]++
					}
				}
			}
			return nil
		})
	}
	t.Logf("%d values, missing %v, zeros inferred %v", values, missing, zeros)
	if values == 0 || len(missing) < 4 || len(zeros) < 2 {
		t.Errorf("%d values, missing %v, zeros inferred %v: some kinds were not tried", values, missing, zeros)
	}
}

// oneValue is what both tell of a component of a frame.
type oneValue struct {
	visit    string
	of       schema.Component
	GPerM2   schema.Num
	Why      string
	Inferred bool
}

// viewed are the values of an occasion by the views.
func viewed(s *schema.Snapshot, occasion int64) ([]oneValue, error) {
	names := map[int64]string{}
	err := s.Visits(occasion, occasion, func(v *schema.VisitRecord) error {
		names[v.Visit] = frameNamed(v.Transect, v.Frame, v.Caged)
		return nil
	})
	var out []oneValue
	if err == nil {
		err = s.Frames(occasion, occasion, func(f *schema.FrameValue) error {
			out = append(out, oneValue{names[f.Visit], f.Component, f.GPerM2, f.Why, f.Inferred})
			return nil
		})
	}
	return out, err
}

// valued are the values of an occasion by its frames, those without bags last.
func valued(s *schema.Snapshot, occasion int64) (out []oneValue, err error) {
	reader, err := s.FrameReader()
	if err != nil {
		return nil, err
	}
	var last []oneValue
	err = reader.Read([]int64{occasion}, func(f *schema.FrameRecord) error {
		for _, v := range f.Values(nil) {
			one := oneValue{frameNamed(f.Transect, f.Frame, f.Caged), v.Component, v.GPerM2, v.Why, v.Inferred}
			if v.NoBag {
				last = append(last, one)
			} else {
				out = append(out, one)
			}
		}
		return nil
	})
	return append(out, last...), err
}

func frameNamed(transect, frame string, caged bool) string {
	if caged {
		return transect + "/" + frame + "/caged"
	}
	return transect + "/" + frame
}
