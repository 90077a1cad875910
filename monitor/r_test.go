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

// A thousand random occasions, from records to t intervals, against R's mean,
// sd and t.test, in one call of R.
const rScript = `
d <- read.csv(commandArgs(TRUE)[1])
for (x in split(d, d$occasion)) {
  w <- x$dry / x$area
  ci <- if (length(w) > 1 && sd(w) > 0) t.test(w, conf.level = 0.9)$conf.int else c(NA, NA)
  cat(sprintf("%d,%d,%.17g,%.17g,%.17g,%.17g\n", x$occasion[1], length(w), mean(w), sd(w), ci[1], ci[2]))
}`

func TestMeansAgreeWithR(t *testing.T) {
	t.Parallel()
	rscript := needtool.Rscript(t)
	const sites, years = 20, 50
	rng := rand.New(rand.NewPCG(2024, 7))
	dir := t.TempDir()
	file, err := os.Create(filepath.Join(dir, "frames.csv"))
	if err != nil {
		t.Fatal(err)
	}
	fmt.Fprintln(file, "occasion,dry,area")
	var r ledgertest.Records
	for s := range sites {
		r.Sites = append(r.Sites, schema.Site{Site: fmt.Sprintf("S%02d", s), SamplingUnit: "frame"})
		for y := range years {
			area := []float64{0.25, 1, 4}[rng.IntN(3)]
			for f := range 1 + rng.IntN(30) {
				w := math.Round(100*math.Exp(3+rng.NormFloat64())) / 100
				if rng.IntN(5) == 0 {
					w = 0
				}
				fmt.Fprintf(file, "%d,%v,%v\n", s*years+y, w, area)
				r.Clippings = append(r.Clippings, schema.Clipping{Site: fmt.Sprintf("S%02d", s), Year: 1970 + y, Frame: fmt.Sprint(f),
					FrameType: fmt.Sprintf("%v m2", area), Component: schema.Herbaceous, DryG: schema.Some(w)})
			}
		}
	}
	if err := file.Close(); err != nil {
		t.Fatal(err)
	}
	means := meansOf(t, ledgertest.Path(t, r), monitor.Query{Confidence: 0.9, Filter: monitor.Filter{Components: []string{"herbaceous"}}})
	script := filepath.Join(dir, "means.R")
	if err := os.WriteFile(script, []byte(rScript), 0o666); err != nil {
		t.Fatal(err)
	}
	compareWithR(t, rscript, script, file.Name(), means)
}

func compareWithR(t *testing.T, rscript, script, data string, means []*monitor.Mean) {
	t.Helper()
	cmd := exec.Command(rscript, "--vanilla", script, data)
	cmd.Stderr = os.Stderr
	pipe, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	table, err := csv.NewReader(pipe).ReadAll()
	if err != nil || cmd.Wait() != nil || len(table) != len(means) || len(means) != 1000 {
		t.Fatalf("R gave %d occasions, the program %d (%v)", len(table), len(means), err)
	}
	for i, m := range means {
		for j, got := range []monitor.Num{schema.Some(float64(m.N)), m.Mean, m.SD, m.CI.Low, m.CI.High} {
			text := table[i][j+1]
			x, err := strconv.ParseFloat(text, 64)
			if text == "NA" {
				x, err = math.NaN(), nil
			}
			there := !math.IsNaN(x)
			if err != nil || there != got.Valid || there && math.Abs(x-got.Float64) > 1e-9*math.Abs(x) {
				t.Errorf("%s %d, column %d: %v (there: %v), R %s", m.Site.Site, m.Year, j+1, got.Float64, got.Valid, text)
			}
		}
	}
}
