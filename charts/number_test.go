package charts

import (
	"math"
	"testing"
)

func TestFixed(t *testing.T) {
	for _, c := range []struct {
		v    float64
		d    int
		want string
	}{
		{0, 0, "0"}, {999.5, 0, "1,000"}, {1234567.891, 1, "1,234,567.9"}, {-12.34, 1, "−12.3"},
		{-0.04, 1, "0.0"}, {-1234, 0, "−1,234"}, {100, 0, "100"}, {0.005, 2, "0.01"},
	} {
		if got := fixed(c.v, c.d); got != c.want {
			t.Errorf("fixed(%v, %d) = %q, want %q", c.v, c.d, got, c.want)
		}
	}
}

func TestFigures(t *testing.T) {
	for _, c := range []struct {
		largest, v float64
		want       string
	}{{612, 12.345, "12"}, {300, 12.345, "12"}, {299, 12.345, "12.3"}, {29, 12.345, "12.35"}, {29, 0, "0"}} {
		if got := figuresFor(c.largest).show(&c.v); got != c.want {
			t.Errorf("largest %v, value %v: got %q, want %q", c.largest, c.v, got, c.want)
		}
	}
	if got := figuresFor(10).show(nil); got != "" {
		t.Errorf("missing is shown as %q", got)
	}
	if got := figuresFor(10).span(ptr(1.0), nil); got != "" {
		t.Errorf("half an interval is shown as %q", got)
	}
}

func TestPercentAndShare(t *testing.T) {
	for v, want := range map[float64]string{19.96: "20", 9.96: "10", 9.94: "9.9", 5: "5", 0: "0", 156.3: "156"} {
		if got := percent(&v); got != want {
			t.Errorf("percent(%v) = %q, want %q", v, got, want)
		}
	}
	if got, want := share(0.9), "90"+nbsp+"%"; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
	if got, want := share(0.925), "92.5"+nbsp+"%"; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
}

// TestAxis checks over seven orders of magnitude that an axis holds its
// largest value, wastes no more than the coarsest step must, and has steps
// that read well.
func TestAxis(t *testing.T) {
	for most := 3; most <= 7; most++ {
		for v := 0.0011; v < 20000; v *= 1.173 {
			a := axisFor(v, most)
			if a.max < v*(1-1e-9) || a.steps < 2 || a.steps > most {
				t.Fatalf("largest %v, at most %d steps: %+v", v, most, a)
			}
			if a.max-a.max/float64(a.steps) > v && a.steps > 2 {
				t.Errorf("largest %v: the last step of %+v is empty", v, a)
			}
			step := a.max / float64(a.steps)
			lead := step / math.Pow(10, math.Floor(math.Log10(step)+1e-9))
			if math.Abs(lead-1) > 1e-6 && math.Abs(lead-2) > 1e-6 && math.Abs(lead-5) > 1e-6 {
				t.Errorf("largest %v: step %v", v, step)
			}
		}
	}
	if a := axisFor(0, 5); a.max <= 0 {
		t.Errorf("an axis of zeros has no height: %+v", a)
	}
}
