package intake

import (
	"math"
	"testing"
)

func TestParseFrameType(t *testing.T) {
	for text, want := range map[string]struct {
		name string
		m2   float64
	}{
		"9.6 ft2":          {"9.6 ft2", 9.6 * 0.09290304},
		"9.6ft²":           {"9.6 ft2", 9.6 * 0.09290304},
		" 9.60 Sq. Ft. ":   {"9.6 ft2", 9.6 * 0.09290304},
		"435.6 sq ft":      {"435.6 ft2", 40.468564224},
		"0.01 acre":        {"435.6 ft2", 40.468564224},
		"1.92 square feet": {"1.92 ft2", 1.92 * 0.09290304},
		"0.25 m2":          {"0.25 m2", 0.25},
		".25 M^2":          {"0.25 m2", 0.25},
		"0.250_m2":         {"0.25 m2", 0.25},
		"1 square metre":   {"1 m2", 1},
		"2500 cm2":         {"0.25 m2", 0.25},
		"1m2":              {"1 m2", 1},
	} {
		name, m2, ok := ParseFrameType(text)
		if !ok || name != want.name || math.Abs(m2-want.m2) > 4e-16*want.m2 {
			t.Errorf("%q: %q %v %v, want %q %v", text, name, m2, ok, want.name, want.m2)
		}
	}
	for _, text := range []string{"", "9.6", "ft2", "9,6 ft2", "-1 m2", "0 m2", "1e3 m2", "ring", "9.6 ft", "9.6 ft3", "1 2 m2", "0.0000001 m2", "1000000 m2", "NaN m2", "1..2 m2"} {
		if name, m2, ok := ParseFrameType(text); ok {
			t.Errorf("%q was taken as %q, %v m²", text, name, m2)
		}
	}
}

func TestAreaInName(t *testing.T) {
	for name, want := range map[string]string{
		"9.6 ft2": "9.6 ft2", "small hoop 2.4 ft2": "2.4 ft2", "hoop (0.25 m2)": "0.25 m2", "hoop-1 m2": "1 m2",
		"hoop": "", "hoop 3": "", "hoop2.4 ft2x": "", "": "",
	} {
		if got, _, ok := areaInName(name); got != want || ok != (want != "") {
			t.Errorf("%q: %q, want %q", name, got, want)
		}
	}
}

// A canonical name reads as itself, with the same area.
func FuzzFrameType(f *testing.F) {
	for _, s := range []string{"9.6 ft2", "9.6ft²", "0.25 M^2", "435.6 sq ft", "0.01 ac", "2500 cm2", "1.92", "ft2", "999999999999999 cm2", "0.3333333333 acre"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		name, m2, ok := ParseFrameType(s)
		if !ok {
			if name != "" || m2 != 0 {
				t.Fatalf("%q: %q %v beside not ok", s, name, m2)
			}
			return
		}
		again, m2Again, ok := ParseFrameType(name)
		if !ok || again != name || m2Again != m2 || m2 < leastAreaM2 || m2 > mostAreaM2 {
			t.Fatalf("%q gave %q %v, which gave %q %v", s, name, m2, again, m2Again)
		}
	})
}
