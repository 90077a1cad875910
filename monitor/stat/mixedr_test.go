package stat

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"clipledger/monitor/needtool"
)

// exactLmer is lmer with tolerances that leave its optimiser no excuse.
const exactLmer = `
suppressMessages(library(lmerTest))
ctl <- lmerControl(optimizer = "nloptwrap", calc.derivs = FALSE, check.conv.singular = "ignore",
  check.nobs.vs.nlev = "ignore", check.nobs.vs.nRE = "ignore",
  optCtrl = list(xtol_abs = 1e-10, xtol_rel = 0, ftol_abs = 1e-12, ftol_rel = 0, maxeval = 20000))
say <- function(...) cat(sprintf("%.17g", c(...)), "\n")
`

// Data sets of lme4 itself, printed by R together with what lmer makes of them.
func TestMixedModelAgainstDataOfLme4(t *testing.T) {
	rscript := needtool.Rscript(t, "lmerTest")
	const script = exactLmer + `
show <- function(y, x, f1, f2) { say(length(y)); say(y); say(x); say(as.integer(f1)); say(as.integer(f2)) }
fit <- function(m, sds) say(REMLcrit(m), fixef(m)[length(fixef(m))], sqrt(vcov(m)[length(fixef(m)), length(fixef(m))]), sds, sigma(m))
sd1 <- function(m, g, k = 1) as.data.frame(VarCorr(m))$sdcor[which(as.data.frame(VarCorr(m))$grp == g)[k]]
zero <- function(d) rep(0, nrow(d))
m <- lmer(Yield ~ 1 + (1 | Batch), Dyestuff2, control = ctl)
show(Dyestuff2$Yield, zero(Dyestuff2), Dyestuff2$Batch, zero(Dyestuff2)); fit(m, c(sd1(m, "Batch"), 0))
m <- lmer(Reaction ~ Days + (Days || Subject), sleepstudy, control = ctl)
show(sleepstudy$Reaction, sleepstudy$Days, sleepstudy$Subject, zero(sleepstudy)); fit(m, c(sd1(m, "Subject"), sd1(m, "Subject.1")))
m <- lmer(diameter ~ 1 + (1 | plate) + (1 | sample), Penicillin, control = ctl)
show(Penicillin$diameter, zero(Penicillin), Penicillin$plate, Penicillin$sample); fit(m, c(sd1(m, "plate"), sd1(m, "sample")))
`
	numbers := run(t, rscript, script, "", (1+4*30+6)+(1+4*180+6)+(1+4*144+6))
	for _, name := range []string{"Dyestuff2", "sleepstudy", "Penicillin"} {
		n := int(numbers[0])
		y, x, first, second, want := numbers[1:1+n], numbers[1+n:1+2*n], numbers[1+2*n:1+3*n], numbers[1+3*n:1+4*n], numbers[1+4*n:7+4*n]
		numbers = numbers[7+4*n:]
		one := make([]float64, n)
		block, level := make([]int, n), make([]int, n)
		for i := range one {
			one[i], block[i], level[i] = 1, int(first[i])-1, int(second[i])-1
		}
		fixed, columns := [][]float64{one}, [][]float64{one}
		switch name {
		case "sleepstudy":
			fixed, columns, level = [][]float64{one, x}, [][]float64{one, x}, nil
		case "Dyestuff2":
			level = nil
		}
		m := newCrossedModel(y, fixed, columns, block, level)
		theta, f, err := m.search()
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		sigma := math.Sqrt(f.rss.v / float64(m.n-m.fixed))
		near(t, name+": criterion", m.criterion(&f), want[0], 1e-6)
		nearly(t, name+": last coefficient", f.beta[m.fixed-1], want[1], 1e-9)
		nearly(t, name+": its standard error", sigma*math.Exp(f.logVar.v/2), want[2], 1e-6)
		for i, s := range theta {
			near(t, name+": standard deviation", s*sigma, want[3+i], 1e-5)
		}
		nearly(t, name+": residual sd", sigma, want[5], 1e-6)
		if name == "Dyestuff2" && theta[0] != 0 {
			t.Errorf("Dyestuff2: θ = %g, want exactly the boundary", theta[0])
		}
	}
}

// Random unbalanced designs, 200 of frames and 100 of sites, against lmer with
// lmerTest. lmer stops near a boundary where this program stops on it: where
// the two do not call the same variances 0, or either calls one 0, slope,
// standard error and criterion are compared all the same, and the degrees of
// freedom where both leave out the same variances; how many of each is logged
// and held to the counts that the fixed seed gives.
func TestMixedTrendAgainstLmerTest(t *testing.T) {
	t.Parallel()
	rscript := needtool.Rscript(t, "lmerTest")
	const frames, sites = 200, 100
	const script = exactLmer + `
d <- as.matrix(read.table(file("stdin")))
for (k in unique(d[, 1])) {
  x <- data.frame(d[d[, 1] == k, ]); names(x) <- c("k", "sites", "y", "g", "year")
  x$t <- x$year - mean(unique(x$year))
  form <- if (x$sites[1] == 1) y ~ t + (t || g) + (1 | year) else y ~ t + (1 | g) + (1 | year)
  m <- suppressMessages(suppressWarnings(lmer(form, x, control = ctl)))
  s <- suppressMessages(suppressWarnings(summary(m)$coefficients["t", ]))
  v <- as.data.frame(VarCorr(m))
  slope <- if (x$sites[1] == 1) v$vcov[which(v$var1 == "t")] else 0
  say(s[1], s[2], s[3], s[5], v$vcov[v$grp == "year"], v$vcov[startsWith(v$grp, "g") & v$var1 == "(Intercept)"], slope, sigma(m)^2, REMLcrit(m))
}`
	rng := rand.New(rand.NewPCG(20, 26))
	var rows [][]float64
	var got []MixedTrend
	for k := range frames + sites {
		d := design{frames: 3 + rng.IntN(18), years: 4 + rng.IntN(14), frameSD: 30 * rng.Float64(), yearSD: 20 * rng.Float64() * float64(rng.IntN(5)/2) / 2,
			restSD: 2 + 20*rng.Float64(), trend: rng.NormFloat64(), missing: 0.4 * rng.Float64()}
		fit, isSites := FrameYearTrend, 0.0
		if k >= frames {
			d.frames, d.slopeSD, fit, isSites = d.frames+3, 3*rng.Float64(), SiteYearTrend, 1
		}
		y, group, year := unbalanced(rng, d)
		r, err := fit(y, group, year)
		if err != nil {
			t.Fatalf("design %d: %v %+v", k, err, d)
		}
		got = append(got, r)
		for i := range y {
			rows = append(rows, []float64{float64(k), isSites, y[i], float64(group[i]), float64(year[i])})
		}
	}
	const fields = 9
	want := run(t, rscript, script, table(rows), fields*len(got))
	var c lmerCount
	for k := range got {
		c.compare(t, k, &got[k], want[fields*k:fields*k+fields])
	}
	t.Logf("%+v of %d designs", c, len(got))
	if c.Interior < 150 || c.Singular < 50 || c.Differ > 3 {
		t.Errorf("the designs no longer try what they should: %+v", c)
	}
}

// lmerCount counts comparisons by what the fits are like.
type lmerCount struct{ Interior, Singular, Differ int }

func (c *lmerCount) compare(t *testing.T, k int, got *MixedTrend, want []float64) {
	t.Helper()
	at := func(what string) string {
		return fmt.Sprintf("design %d: %s", k, what)
	}
	const edge = 1e-6 // of the residual variance: θ below 0.001
	edges := func(year, group, slope, rest float64) [3]bool {
		return [3]bool{year < edge*rest, group < edge*rest, slope < edge*rest}
	}
	mine := edges(got.YearVar, got.GroupVar, got.SlopeVar, got.ResidualVar)
	theirs := edges(want[4], want[5], want[6], want[7])
	sameDF := true
	switch {
	case mine != theirs:
		c.Differ++
		sameDF = false
	case mine[0] || mine[1] || k >= 200 && mine[2]:
		c.Singular++
	default:
		c.Interior++
	}
	// Never a worse fit than R's; a better one by no more than its optimiser's slack.
	if got.REML > want[8]+1e-6 {
		t.Errorf("%s: criterion %.9f, R found %.9f", at("fit"), got.REML, want[8])
	}
	near(t, at("criterion"), got.REML, want[8], 1e-4)
	nearly(t, at("slope"), got.Slope, want[0], 1e-6+1e-6/math.Abs(want[0]))
	nearly(t, at("standard error"), got.SE, want[1], 1e-4)
	if sameDF {
		nearly(t, at("degrees of freedom"), got.DF, want[2], 1e-3)
		near(t, at("p"), got.P, want[3], 1e-5)
	}
}
