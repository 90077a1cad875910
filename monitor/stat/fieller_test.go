package stat

import (
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"clipledger/monitor/needtool"
)

// The interval holds exactly those ratios that a t test does not reject: at
// its ends (y − ρx)² = t²·Var(y − ρx), between them less, outside more.
func TestFiellerIsTheSetOfRatiosNotRejected(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 1))
	intervals := 0
	for range 2000 {
		p := MeanPair{Y: 10 * rng.NormFloat64(), X: 20 * rng.Float64(), VarY: 4 * rng.Float64(), VarX: 9 * rng.Float64()}
		p.Cov = (2*rng.Float64() - 1) * math.Sqrt(p.VarY*p.VarX)
		quantile := 1 + 3*rng.Float64()
		excess := func(ratio float64) float64 {
			d := p.Y - ratio*p.X
			return d*d - quantile*quantile*p.Residual(ratio)
		}
		ci, ok := Fieller(p, quantile)
		if want := p.X > quantile*math.Sqrt(p.VarX); ok != want {
			t.Fatalf("Fieller(%+v, %v): interval %v, want %v", p, quantile, ok, want)
		}
		if !ok {
			continue
		}
		intervals++
		scale := p.Y*p.Y + quantile*quantile*(p.VarY+ci.Low*ci.Low*p.VarX+ci.High*ci.High*p.VarX) + 1
		for _, end := range []float64{ci.Low, ci.High} {
			if e := excess(end); math.Abs(e) > 1e-9*scale*math.Max(1, end*end) {
				t.Errorf("Fieller(%+v, %v) ends at %v, where the excess is %v", p, quantile, end, e)
			}
		}
		wide := ci.High - ci.Low
		if excess(ci.Low-wide) <= 0 || excess(ci.High+wide) <= 0 || excess((ci.Low+ci.High)/2) >= 0 {
			t.Errorf("Fieller(%+v, %v) = %+v is not the set of ratios not rejected", p, quantile, ci)
		}
	}
	if intervals < 500 {
		t.Errorf("only %d of 2000 pairs had an interval", intervals)
	}
}

// R finds the ends by root search on t.test of y − ρx, which shares no formula
// with Fieller's solution.
const fiellerScript = `
d <- read.csv(commandArgs(TRUE)[1])
for (k in unique(d$k)) {
  y <- d$y[d$k == k]; x <- d$x[d$k == k]
  f <- function(r) t.test(y - r * x)$p.value - 0.1
  m <- mean(y) / mean(x)
  cat(sprintf("%.15g,%.15g\n", uniroot(f, c(m - 60, m), tol = 1e-13)$root, uniroot(f, c(m, m + 60), tol = 1e-13)$root))
}`

func TestFiellerOfPairsAgreesWithR(t *testing.T) {
	rscript := needtool.Rscript(t)
	rng := rand.New(rand.NewPCG(8, 2))
	var file strings.Builder
	file.WriteString("k,y,x\n")
	var want []Interval
	var tt TTable
	for k := 0; k < 100; {
		n := 4 + rng.IntN(20)
		y, x := make([]float64, n), make([]float64, n)
		for i := range y {
			x[i] = math.Exp(3 + 0.5*rng.NormFloat64())
			y[i] = 0.6*x[i] + 6*rng.NormFloat64()
		}
		p := PairOf(y, x)
		ci, ok := Fieller(p, tt.Quantile(0.95, float64(n-1)))
		if !ok || ci.High-ci.Low > 5 { // R's root search would leave its bracket
			continue
		}
		want = append(want, ci)
		for i := range y {
			file.WriteString(strconv.Itoa(k) + "," + strconv.FormatFloat(y[i], 'g', -1, 64) + "," + strconv.FormatFloat(x[i], 'g', -1, 64) + "\n")
		}
		k++
	}
	dir := t.TempDir()
	data, script := filepath.Join(dir, "pairs.csv"), filepath.Join(dir, "fieller.R")
	for name, text := range map[string]string{data: file.String(), script: fiellerScript} {
		if err := os.WriteFile(name, []byte(text), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	out, err := exec.Command(rscript, "--vanilla", script, data).Output()
	if err != nil {
		t.Fatal(err)
	}
	lines := strings.Fields(string(out))
	if len(lines) != len(want) {
		t.Fatalf("R gave %d intervals, want %d", len(lines), len(want))
	}
	for i, line := range lines {
		low, high, _ := strings.Cut(line, ",")
		for _, end := range []struct {
			text string
			ours float64
		}{{low, want[i].Low}, {high, want[i].High}} {
			theirs, err := strconv.ParseFloat(end.text, 64)
			if err != nil || math.Abs(theirs-end.ours) > 1e-7*math.Max(1, math.Abs(theirs)) {
				t.Errorf("pair set %d: ours %v, R %v (%v)", i, end.ours, end.text, err)
			}
		}
	}
}
