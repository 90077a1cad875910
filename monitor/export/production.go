package export

import "clipledger/schema"

// productionTable makes the table frame_production of frames: of each occasion
// first what was weighed, then what no bag stands behind.
type productionTable struct {
	src    *source
	emit   func([]Cell) error
	at     *place // occasion in hand
	row    []Cell
	values []schema.ComponentValue
	noBag  [][]Cell // its rows without bags
}

// frame takes the next frame.
func (t *productionTable) frame(at *place, f *schema.FrameRecord) error {
	if at != t.at {
		if err := t.end(); err != nil {
			return err
		}
		t.at = at
	}
	t.values = f.Values(t.values[:0])
	for i := range t.values {
		v := &t.values[i]
		t.row = append(t.row[:0], text(at.site), whole(int64(at.year)), text(at.season), text(f.Transect), text(f.Frame), yesNo(f.Caged),
			text(v.Component.String()), number(v.GPerM2), text(zeroFrom(v)), text(v.Why), text(f.Date), text(f.Treatment), text(f.Block))
		if v.NoBag {
			t.noBag = append(t.noBag, append([]Cell(nil), t.row...))
			continue
		}
		if err := t.emit(t.row); err != nil {
			return err
		}
	}
	return nil
}

// end hands on what is left of the occasion in hand.
func (t *productionTable) end() error {
	for _, row := range t.noBag {
		if err := t.emit(row); err != nil {
			return err
		}
	}
	t.noBag = t.noBag[:0]
	return nil
}

// zeroFrom says where a zero comes from.
func zeroFrom(v *schema.ComponentValue) string {
	switch {
	case !v.GPerM2.Valid || v.GPerM2.Float64 != 0:
		return ""
	case v.Inferred:
		return "inferred"
	}
	return "recorded"
}
