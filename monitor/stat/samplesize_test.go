package stat

import (
	"fmt"
	"math"
	"testing"

	"clipledger/monitor/needtool"
)

func TestSampleSizePublished(t *testing.T) {
	var tt TTable
	for _, r := range readReference(t, "stat-samplesize.csv") {
		cv := math.Sqrt(r.number(t, "variance")) / r.number(t, "mean")
		p := Precision{
			Relative:   r.number(t, "relative"),
			Confidence: r.number(t, "confidence"),
			OneSided:   r["one_sided"] == "yes",
			Possible:   int(r.number(t, "possible")),
		}
		var got float64
		var ok bool
		switch r["rule"] {
		case "required":
			var n int
			n, ok = RequiredN(cv, p, &tt)
			got = float64(n)
		case "pilot":
			got, ok = PilotN(cv, int(r.number(t, "n")), p, &tt)
		case "assured":
			var n int
			n, ok = AssuredN(cv, r.number(t, "assurance"), p, &tt)
			got = float64(n)
		default:
			t.Fatalf("unknown rule %q", r["rule"])
		}
		what := fmt.Sprintf("%s: CV %.4f, %+v", r["rule"], cv, p)
		if !ok {
			t.Errorf("%s: no answer", what)
		}
		near(t, what, got, r.number(t, "expected"), r.number(t, "tolerance"))
	}
}

// questions are precisions of every kind, for the comparisons by brute force.
func questions() []Precision {
	var all []Precision
	for _, d := range []float64{0.05, 0.1, 0.2, 0.5, 1} {
		for _, confidence := range []float64{0.6, 0.8, 0.95} {
			for _, possible := range []int{0, 2, 3, 12, 60, 1000} {
				all = append(all,
					Precision{Relative: d, Confidence: confidence, Possible: possible},
					Precision{Relative: d, Confidence: confidence, Possible: possible, OneSided: true})
			}
		}
	}
	return all
}

func TestRequiredIsTheFirst(t *testing.T) {
	var tt TTable
	for _, p := range questions() {
		for _, cv := range []float64{0, 0.01, 0.2, 0.6, 1.3} {
			want := 2
			for {
				width, ok := HalfWidth(cv, want, p, &tt)
				if !ok {
					t.Fatalf("CV %g, %+v: no half-width with n = %d", cv, p, want)
				}
				if width <= p.Relative {
					break
				}
				want++
			}
			if got, ok := RequiredN(cv, p, &tt); !ok || got != want {
				t.Errorf("CV %g, %+v: n = %d, %v; the first is %d", cv, p, got, ok, want)
			}
		}
	}
}

// The search of AssuredN rests on this: where the probability is a half or
// more, it does not fall with n.
func TestAssuranceRisesFromAHalf(t *testing.T) {
	var tt TTable
	for _, p := range questions() {
		for _, cv := range []float64{0.02, 0.2, 0.6, 1.3, 5} {
			last := 100
			if p.Possible != 0 {
				last = min(last, p.Possible)
			}
			var previous float64
			for n := 2; n <= last && previous < 1-1e-9; n++ {
				a, ok := Assurance(cv, n, p, &tt)
				if !ok {
					t.Fatalf("CV %g, %+v: no assurance with n = %d", cv, p, n)
				}
				if previous >= 0.5 && a < previous-1e-12 {
					t.Errorf("CV %g, %+v: %g with n = %d after %g", cv, p, a, n, previous)
				}
				previous = a
			}
			if p.Possible == last && previous < 1-1e-9 {
				t.Errorf("CV %g, %+v: every unit taken assures only %g", cv, p, previous)
			}
		}
	}
}

func TestAssuredAgainstSciPy(t *testing.T) {
	python := needtool.SciPy(t)
	var asked [][]float64
	for _, cv := range []float64{0.1, 0.35, 0.6, 1, 1.5} {
		for _, d := range []float64{0.1, 0.2, 0.3} {
			for _, confidence := range []float64{0.8, 0.95} {
				for _, assurance := range []float64{0.5, 0.8, 0.9, 0.99} {
					for _, possible := range []float64{0, 40} {
						asked = append(asked, []float64{cv, d, confidence, assurance, possible})
					}
				}
			}
		}
	}
	// Every n in turn, straight from the definition.
	const script = `
import sys
import numpy as np
from scipy import stats
for cv, d, confidence, assurance, possible in np.loadtxt(sys.stdin):
    low = 2
    while True:
        n = np.arange(low, low + 50)
        if possible:
            n = n[n < possible]
        f = np.sqrt(1 - n / possible) if possible else 1.0
        t = stats.t.ppf((1 + confidence) / 2, n - 1)
        p = stats.nct.sf(t / d, n - 1, np.sqrt(n) / (cv * f))
        enough = np.nonzero(p >= assurance)[0]
        if len(enough):
            print(n[enough[0]])
            break
        if possible and low + 50 >= possible:
            print(int(possible))
            break
        low += 50
`
	want := run(t, python, script, table(asked), len(asked))
	var tt TTable
	for i, q := range asked {
		p := Precision{Relative: q[1], Confidence: q[2], Possible: int(q[4])}
		got, ok := AssuredN(q[0], q[3], p, &tt)
		if !ok || float64(got) != want[i] {
			t.Errorf("CV %g, %+v, assurance %g: n = %d, %v; SciPy says %g", q[0], p, q[3], got, ok, want[i])
		}
	}
}

func TestSampleSizeBounds(t *testing.T) {
	var tt TTable
	usual := Precision{Relative: 0.2, Confidence: 0.8}
	for _, c := range []struct {
		name string
		cv   float64
		p    Precision
	}{
		{"negative CV", -0.1, usual},
		{"no number", math.NaN(), usual},
		{"endless CV", math.Inf(1), usual},
		{"no precision", 0.5, Precision{Confidence: 0.8}},
		{"endless precision", 0.5, Precision{Relative: math.Inf(1), Confidence: 0.8}},
		{"no confidence", 0.5, Precision{Relative: 0.2}},
		{"certainty", 0.5, Precision{Relative: 0.2, Confidence: 1}},
		{"one-sided half", 0.5, Precision{Relative: 0.2, Confidence: 0.5, OneSided: true}},
		{"one unit possible", 0.5, Precision{Relative: 0.2, Confidence: 0.8, Possible: 1}},
		{"fewer than none possible", 0.5, Precision{Relative: 0.2, Confidence: 0.8, Possible: -3}},
	} {
		if n, ok := RequiredN(c.cv, c.p, &tt); ok || n != 0 {
			t.Errorf("%s: RequiredN = %d, %v", c.name, n, ok)
		}
		if n, ok := AssuredN(c.cv, 0.9, c.p, &tt); ok || n != 0 {
			t.Errorf("%s: AssuredN = %d, %v", c.name, n, ok)
		}
		if n, ok := PilotN(c.cv, 10, c.p, &tt); ok || n != 0 {
			t.Errorf("%s: PilotN = %g, %v", c.name, n, ok)
		}
		if w, ok := HalfWidth(c.cv, 10, c.p, &tt); ok || w != 0 {
			t.Errorf("%s: HalfWidth = %g, %v", c.name, w, ok)
		}
		if a, ok := Assurance(c.cv, 10, c.p, &tt); ok || a != 0 {
			t.Errorf("%s: Assurance = %g, %v", c.name, a, ok)
		}
	}

	// Sizes that cannot be.
	few := Precision{Relative: 0.2, Confidence: 0.8, Possible: 12}
	for _, n := range []int{-1, 0, 1, 13} {
		_, width := HalfWidth(0.5, n, few, &tt)
		_, assured := Assurance(0.5, n, few, &tt)
		if width || assured {
			t.Errorf("%d of 12 units: half-width %v, assurance %v; want neither", n, width, assured)
		}
	}
	if _, ok := PilotN(0.5, 1, usual, &tt); ok {
		t.Error("a pilot of one unit gave a size")
	}
	for _, assurance := range []float64{0.49, 1, -1, math.NaN()} {
		if n, ok := AssuredN(0.5, assurance, usual, &tt); ok {
			t.Errorf("assurance %g: n = %d", assurance, n)
		}
	}

	// The cap, from both sides, and a limit of units in place of it.
	if n, ok := RequiredN(200, usual, &tt); ok {
		t.Errorf("CV 200: n = %d", n)
	}
	if n, ok := RequiredN(150, usual, &tt); !ok || n < 900_000 || n > MaxN {
		t.Errorf("CV 150: n = %d, %v", n, ok)
	}
	// Just at the cap: by the normal curve 999,999.9 units, by t more than a
	// million; and a size within it that cannot be assured within it.
	edge := 0.2 * math.Sqrt(999_999.9) / tt.Quantile(0.9, math.Inf(1))
	if n, ok := RequiredN(edge, usual, &tt); ok {
		t.Errorf("CV %g: n = %d", edge, n)
	}
	if n, ok := RequiredN(0.99999*edge, usual, &tt); !ok || n > MaxN {
		t.Errorf("CV %g: n = %d, %v", 0.99999*edge, n, ok)
	}
	if n, ok := AssuredN(0.99999*edge, 0.99, usual, &tt); ok {
		t.Errorf("CV %g: assured n = %d", 0.99999*edge, n)
	}
	for _, cv := range []float64{200, 1e200} {
		if n, ok := RequiredN(cv, few, &tt); !ok || n != 12 {
			t.Errorf("CV %g, 12 possible: n = %d, %v", cv, n, ok)
		}
		if n, ok := AssuredN(cv, 0.9, few, &tt); !ok || n != 12 {
			t.Errorf("CV %g, 12 possible: assured n = %d, %v", cv, n, ok)
		}
	}
	// Equal values need the two units that a spread takes.
	if n, ok := RequiredN(0, usual, &tt); !ok || n != 2 {
		t.Errorf("CV 0: n = %d, %v", n, ok)
	}
	if n, ok := AssuredN(0, 0.9, usual, &tt); !ok || n != 2 {
		t.Errorf("CV 0: assured n = %d, %v", n, ok)
	}
}

func TestFinitePopulationShrinksPilot(t *testing.T) {
	// n/(1 + n/N): 24 of 100 is 19.354839, 67 of 100 is 40.119760 (computed).
	p := Precision{Relative: 0.2, Confidence: 0.8, Possible: 100}
	near(t, "24 of 100", p.fewer(24), 19.354839, 1e-6)
	near(t, "67 of 100", p.fewer(67), 40.119760, 1e-6)
	near(t, "none", p.fewer(0), 0, 0)
	near(t, "endless", p.fewer(math.Inf(1)), 100, 0)
}

func BenchmarkAssuredUsual(b *testing.B) {
	p := Precision{Relative: 0.2, Confidence: 0.8}
	for b.Loop() {
		AssuredN(0.6, 0.9, p, nil)
	}
}

func BenchmarkAssuredLargest(b *testing.B) {
	p := Precision{Relative: 0.02, Confidence: 0.95}
	for b.Loop() {
		if _, ok := AssuredN(5, 0.9, p, nil); !ok {
			b.Fatal("no answer")
		}
	}
}

func BenchmarkRequired(b *testing.B) {
	p := Precision{Relative: 0.2, Confidence: 0.8}
	var tt TTable
	for b.Loop() {
		RequiredN(0.6, p, &tt)
	}
}
