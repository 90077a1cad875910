package stat

import (
	"bufio"
	"fmt"
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

// nistFolder is where SciPy ships NIST's analysis-of-variance files among its
// own tests.
func nistFolder(t *testing.T) string {
	t.Helper()
	out, err := exec.Command(needtool.SciPy(t), "-c",
		"import os, scipy.stats; print(os.path.dirname(scipy.stats.__file__))").Output()
	if err != nil {
		t.Fatal(err)
	}
	return filepath.Join(strings.TrimSpace(string(out)), "tests", "data", "nist_anova")
}

// nistGroups reads one of these files: 60 lines of text, then treatment and
// response.
func nistGroups(t *testing.T, folder, name string) [][]float64 {
	t.Helper()
	path := filepath.Join(folder, name+".dat")
	f, err := os.Open(path)
	if err != nil {
		needtool.Missing(t, "SciPy's copy of the NIST data set "+name)
	}
	defer f.Close()
	var groups [][]float64
	lines := bufio.NewScanner(f)
	for n := 1; lines.Scan(); n++ {
		if n <= 60 {
			continue
		}
		var treatment int
		var response float64
		if _, err := fmt.Sscan(lines.Text(), &treatment, &response); err != nil {
			t.Fatalf("%s:%d: %v", path, n, err)
		}
		for len(groups) < treatment {
			groups = append(groups, nil)
		}
		groups[treatment-1] = append(groups[treatment-1], response)
	}
	return groups
}

func TestOneWayPublished(t *testing.T) {
	var folder string
	for _, r := range readReference(t, "stat-anova.csv") {
		name := r["case"]
		t.Run(name, func(t *testing.T) {
			var groups [][]float64
			if name == "SiRstv" {
				groups = values(t, name)
			} else {
				if folder == "" {
					folder = nistFolder(t)
				}
				groups = nistGroups(t, folder, name)
			}
			ssb, ssw, dfb, dfw, ok := OneWay(groups)
			if !ok || float64(dfb) != r.number(t, "dfb") || float64(dfw) != r.number(t, "dfw") {
				t.Fatalf("degrees of freedom %d and %d, %v", dfb, dfw, ok)
			}
			tolerance := r.number(t, "tolerance")
			// SiRstv's sums of squares are certified to nine digits.
			nearly(t, "between", ssb, r.number(t, "ssb"), max(tolerance, 1e-8))
			nearly(t, "within", ssw, r.number(t, "ssw"), max(tolerance, 1e-8))
			f := ssb / float64(dfb) / (ssw / float64(dfw))
			nearly(t, "F", f, r.number(t, "f"), tolerance)
		})
	}
}

func TestTwoStagePublished(t *testing.T) {
	// Dyestuff: between 1764.05, within 2451.25, exactly; R lme4 1.1 prints
	// 1764.050006 and 2451.249999.
	s, ok := TwoStageOf(values(t, "Dyestuff"))
	if !ok || s.Groups != 6 || s.Units != 30 || s.PerGroup != 5 || s.BetweenClipped {
		t.Fatalf("got %+v, %v", s, ok)
	}
	nearly(t, "between", s.Between, 1764.05, 1e-12)
	nearly(t, "within", s.Within, 2451.25, 1e-12)
	m, ok := s.OptimalPerGroup(10)
	if !ok {
		t.Error("no optimum")
	}
	nearly(t, "optimum", m, math.Sqrt(10*2451.25/1764.05), 1e-12)
}

// Restricted maximum likelihood gives the same components where groups are of
// one size; Dyestuff2 is the set whose between part would be negative.
func TestTwoStageAgainstLme4(t *testing.T) {
	rscript := needtool.Rscript(t, "lme4")
	const script = `
suppressMessages(library(lme4))
for (d in list(Dyestuff, Dyestuff2)) {
  v <- as.data.frame(VarCorr(suppressMessages(lmer(Yield ~ 1 + (1 | Batch), d))))$vcov
  cat(sprintf("%.17g", c(v, d$Yield)), "\n")
}`
	got := run(t, rscript, script, "", 2*32)
	for i, name := range []string{"Dyestuff", "Dyestuff2"} {
		between, within, yield := got[32*i], got[32*i+1], got[32*i+2:32*i+32]
		var groups [][]float64
		for j := 0; j < 30; j += 5 {
			groups = append(groups, yield[j:j+5])
		}
		s, ok := TwoStageOf(groups)
		if !ok || s.BetweenClipped != (name == "Dyestuff2") {
			t.Fatalf("%s: %+v, %v", name, s, ok)
		}
		nearly(t, name+": between", s.Between, between, 1e-6)
		if name == "Dyestuff" {
			nearly(t, name+": within", s.Within, within, 1e-6)
			for j, stored := range values(t, "Dyestuff") {
				for k := range stored {
					near(t, name+" as stored", stored[k], groups[j][k], 0)
				}
			}
			continue
		}
		// With the between part at 0, lme4 pools all values: 13.80631.
		ssb, ssw, dfb, dfw, _ := OneWay(groups)
		nearly(t, name+": pooled", (ssb+ssw)/float64(dfb+dfw), within, 1e-6)
		if _, ok := s.OptimalPerGroup(10); ok {
			t.Errorf("%s: an optimum without differences between groups", name)
		}
	}
}

// unequal makes groups of 1 to 12 values that differ in level.
func unequal(rng *rand.Rand, level float64) [][]float64 {
	groups := make([][]float64, 2+rng.IntN(8))
	for i := range groups {
		groups[i] = make([]float64, 1+rng.IntN(12))
		if i == 0 {
			groups[i] = make([]float64, 2+rng.IntN(12))
		}
		effect := level + 30*rng.NormFloat64()
		for j := range groups[i] {
			groups[i][j] = effect + 40*rng.NormFloat64()
		}
	}
	return groups
}

// R's aov gives the sums of squares; the effective group size is taken there
// from its definition, the coefficient of the between component in the
// expected mean square, as a trace of projections.
func TestTwoStageAgainstR(t *testing.T) {
	rscript := needtool.Rscript(t)
	const script = `
for (l in readLines(file("stdin"))) {
  a <- as.numeric(strsplit(l, " ")[[1]])
  g <- factor(a[seq(1, length(a), 2)])
  y <- a[seq(2, length(a), 2)]
  s <- summary(aov(y ~ g))[[1]]
  Z <- model.matrix(~ g - 1)
  P <- Z %*% solve(crossprod(Z)) %*% t(Z) - matrix(1 / length(y), length(y), length(y))
  n0 <- sum(diag(t(Z) %*% P %*% Z)) / (nlevels(g) - 1)
  cat(sprintf("%.17g", c(s[["Sum Sq"]], s[["Df"]], n0, (s[1, "Mean Sq"] - s[2, "Mean Sq"]) / n0)), "\n")
}`
	rng := rand.New(rand.NewPCG(5, 6))
	var all [][][]float64
	var lines [][]float64
	for range 60 {
		groups := unequal(rng, 500)
		var line []float64
		for i, g := range groups {
			for _, y := range g {
				line = append(line, float64(i), y)
			}
		}
		all, lines = append(all, groups), append(lines, line)
	}
	want := run(t, rscript, script, table(lines), 6*len(all))
	clipped := 0
	for i, groups := range all {
		w := want[6*i:]
		ssb, ssw, dfb, dfw, ok := OneWay(groups)
		if !ok || float64(dfb) != w[2] || float64(dfw) != w[3] {
			t.Fatalf("degrees of freedom %d and %d, %v; R says %g and %g", dfb, dfw, ok, w[2], w[3])
		}
		nearly(t, "between", ssb, w[0], 1e-9)
		nearly(t, "within", ssw, w[1], 1e-9)
		s, ok := TwoStageOf(groups)
		if !ok || s.BetweenClipped != (w[5] < 0) {
			t.Fatalf("%+v, %v; R says between %g", s, ok, w[5])
		}
		if s.BetweenClipped {
			clipped++
		}
		nearly(t, "n₀", s.PerGroup, w[4], 1e-10)
		near(t, "between component", s.Between, max(0, w[5]), 1e-9*s.Within)
	}
	if clipped == 0 || clipped == len(all) {
		t.Errorf("%d of %d sets were clipped: both kinds are wanted", clipped, len(all))
	}
}

func TestOneWayNeedsReplication(t *testing.T) {
	for _, groups := range [][][]float64{
		nil, {{}}, {{1, 2, 3}}, {{1, 2, 3}, {}}, {{1}, {2}, {3}},
	} {
		if _, _, _, _, ok := OneWay(groups); ok {
			t.Errorf("%v has a one-way analysis", groups)
		}
		if s, ok := TwoStageOf(groups); ok || s != (TwoStage{}) {
			t.Errorf("%v: %+v, %v", groups, s, ok)
		}
	}
	// Empty groups change nothing.
	want, _ := TwoStageOf([][]float64{{1, 2, 3}, {7, 9}})
	if got, ok := TwoStageOf([][]float64{{}, {1, 2, 3}, nil, {7, 9}}); !ok || got != want {
		t.Errorf("with empty groups %+v, %v; want %+v", got, ok, want)
	}
}

func TestOneWayKeepsDigitsOnAHighLevel(t *testing.T) {
	plain := [][]float64{{1, 2, 4}, {5, 5, 8, 1}, {2, 9}}
	high := make([][]float64, len(plain))
	for i, g := range plain {
		for _, y := range g {
			high[i] = append(high[i], y+1<<50) // whole numbers, exact up there
		}
	}
	ssb, ssw, _, _, _ := OneWay(plain)
	gotB, gotW, _, _, _ := OneWay(high)
	nearly(t, "between", gotB, ssb, 1e-13)
	nearly(t, "within", gotW, ssw, 1e-13)
}

func TestTwoStageScaleShiftOrder(t *testing.T) {
	rng := rand.New(rand.NewPCG(8, 9))
	for range 100 {
		groups := unequal(rng, 100)
		want, ok := TwoStageOf(groups)
		if !ok {
			t.Fatal("no components")
		}
		changed := make([][]float64, len(groups))
		for i, j := range rng.Perm(len(groups)) {
			for _, k := range rng.Perm(len(groups[j])) {
				changed[i] = append(changed[i], 3*groups[j][k]-50)
			}
		}
		got, _ := TwoStageOf(changed)
		nearly(t, "within", got.Within, 9*want.Within, 1e-10)
		near(t, "between", got.Between, 9*want.Between, 1e-9*want.Within)
		if got.Groups != want.Groups || got.Units != want.Units {
			t.Errorf("%d groups of %d units, want %d of %d", got.Groups, got.Units, want.Groups, want.Units)
		}
	}
}

func TestOptimalPerGroup(t *testing.T) {
	for _, c := range []struct {
		between, within, cost, want float64
		ok                          bool
	}{
		{1, 4, 1, 2, true},
		{1, 4, 25, 10, true},
		{100, 1, 1, 1, true},
		{1, 0, 5, 1, true},
		{0, 4, 5, 0, false},
		{1, 4, 0, 0, false},
		{1, 4, -2, 0, false},
		{1, 4, math.NaN(), 0, false},
		{1, 4, math.Inf(1), 0, false},
		{1e-300, 1e300, 10, 0, false},
	} {
		s := TwoStage{Between: c.between, Within: c.within}
		if got, ok := s.OptimalPerGroup(c.cost); ok != c.ok || got != c.want {
			t.Errorf("between %g, within %g, cost ratio %s: %g, %v; want %g, %v",
				c.between, c.within, strconv.FormatFloat(c.cost, 'g', -1, 64), got, ok, c.want, c.ok)
		}
	}
}

// For a budget, no whole number of units per group does better than the ones
// next to the optimum.
func TestOptimalPerGroupIsOptimal(t *testing.T) {
	s := TwoStage{Between: 300, Within: 2000}
	const costRatio = 7
	// Variance for one unit of money: (B + W/m)·(cost of a group with m units).
	variance := func(m float64) float64 { return (s.Between + s.Within/m) * (costRatio + m) }
	m, ok := s.OptimalPerGroup(costRatio)
	if !ok {
		t.Fatal("no optimum")
	}
	for k := 1.0; k <= 60; k++ {
		if variance(k) < variance(m) {
			t.Errorf("%g per group beats the optimum %g", k, m)
		}
	}
}
