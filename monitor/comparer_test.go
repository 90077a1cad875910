package monitor_test

import (
	"encoding/csv"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"testing"

	"clipledger/monitor"
	"clipledger/monitor/needtool"
	"clipledger/schema"
	"clipledger/schema/ledgertest"
)

// Three hundred changes, from records to p, against R: half of permanent frames
// of which some are lost now and then, half of new frames.
const rChangeScript = `
d <- read.csv(commandArgs(TRUE)[1])
out <- NULL
for (s in unique(d$site)) for (y in unique(d$year)[-1]) {
  a <- d[d$site == s & d$year == y - 1, ]
  b <- d[d$site == s & d$year == y, ]
  if (a$same[1] == 1) {
    m <- merge(a, b, by = "frame")
    r <- t.test(m$w.y, m$w.x, paired = TRUE, conf.level = 0.9)
    e <- c(mean(m$w.x), mean(m$w.y), mean(m$w.y) - mean(m$w.x))
  } else {
    r <- t.test(b$w, a$w, conf.level = 0.9)
    e <- c(mean(a$w), mean(b$w), mean(b$w) - mean(a$w))
  }
  out <- rbind(out, c(e, r$statistic, r$parameter, r$p.value, r$conf.int))
}
out <- cbind(out, p.adjust(out[, 6], "holm"), p.adjust(out[, 6], "BH"))
for (i in seq_len(nrow(out))) cat(paste(sprintf("%.17g", out[i, ]), collapse = ","), "\n", sep = "")`

func TestChangesAgreeWithR(t *testing.T) {
	t.Parallel()
	rscript := needtool.Rscript(t)
	rng := rand.New(rand.NewPCG(300, 4))
	dir := t.TempDir()
	file, err := os.Create(filepath.Join(dir, "frames.csv"))
	if err != nil {
		t.Fatal(err)
	}
	fmt.Fprintln(file, "site,same,year,frame,w")
	var r ledgertest.Records
	for s := range 100 {
		site := schema.Site{Site: fmt.Sprintf("S%03d", s), SamplingUnit: "frame", Placement: []string{"new", same}[s%2], UnitsPossible: 200}
		r.Sites = append(r.Sites, site)
		n := 4 + rng.IntN(25)
		base := make([]float64, n)
		for f := range base {
			base[f] = math.Exp(3 + 0.5*rng.NormFloat64())
		}
		for y := range 4 {
			trend := math.Exp(0.1 * float64(y) * rng.NormFloat64())
			for f := range n {
				if f > 2 && rng.IntN(8) == 0 {
					continue
				}
				w := math.Round(100*base[f]*trend*math.Exp(0.2*rng.NormFloat64())) / 100
				fmt.Fprintf(file, "%d,%d,%d,%d,%v\n", s, s%2, 2015+y, f, w)
				r.Clippings = append(r.Clippings, schema.Clipping{Site: site.Site, Year: 2015 + y, Frame: fmt.Sprint(f), FrameType: "1 m2", Component: schema.Herbaceous, DryG: schema.Some(w)})
			}
		}
	}
	if err := file.Close(); err != nil {
		t.Fatal(err)
	}
	changes, family := changesOf(t, ledgertest.Path(t, r), monitor.ChangeQuery{Confidence: 0.9, Filter: monitor.Filter{Components: []string{"herbaceous"}}})
	script := filepath.Join(dir, "changes.R")
	if err := os.WriteFile(script, []byte(rChangeScript), 0o666); err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(rscript, "--vanilla", script, file.Name())
	cmd.Stderr = os.Stderr
	pipe, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	table, err := csv.NewReader(pipe).ReadAll()
	if err != nil || cmd.Wait() != nil || len(table) != len(changes) || len(changes) != 300 || family.Tests != 300 {
		t.Fatalf("R gave %d changes, the program %d of %d (%v)", len(table), len(changes), family.Tests, err)
	}
	for i, x := range changes {
		for j, got := range []monitor.Num{x.Mean1, x.Mean2, x.Difference, x.T, x.DF, x.P, x.CI.Low, x.CI.High, x.PHolm, x.PBH} {
			want, err := strconv.ParseFloat(table[i][j], 64)
			within := 1e-9 * math.Abs(want)
			if j >= 2 && j < 8 && j != 4 && j != 5 { // near zero a difference has the digits of its means
				within += 1e-11 * x.Mean1.Float64
			}
			if err != nil || !got.Valid || math.Abs(want-got.Float64) > within {
				t.Errorf("%s %d, column %d: %v (there: %v), R %s", x.Site.Site, x.Year2, j+1, got.Float64, got.Valid, table[i][j])
			}
		}
	}
}
