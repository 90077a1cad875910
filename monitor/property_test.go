package monitor_test

import (
	"database/sql"
	"fmt"
	"math"
	"os"
	"slices"
	"strings"
	"testing"

	"clipledger/monitor"
	"clipledger/schema"
	"clipledger/schema/ledgertest"
)

// What must hold of every ledger, on random ones.

const worlds = 3

// dump writes everything that the ledger's views and the means come to, in an
// order of names, so that two ledgers can be compared.
func dump(t *testing.T, path string) string {
	t.Helper()
	db, err := sql.Open("sqlite", path)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	var b strings.Builder
	for _, q := range []string{
		`SELECT site, growth_year, season, transect, frame, caged, component, species, bag, dry_g, method FROM bag_dry_weight ORDER BY 1, 2, 3, 4, 5, 6, 7, 8, 9`,
		`SELECT site, growth_year, season, transect, frame, caged, component, g_m2, zero_inferred, missing_because FROM frame_production ORDER BY 1, 2, 3, 4, 5, 6, 7`,
	} {
		list, err := db.Query(q)
		if err != nil {
			t.Fatal(err)
		}
		columns, err := list.Columns()
		if err != nil {
			t.Fatal(err)
		}
		cells := make([]any, len(columns))
		for i := range cells {
			cells[i] = new(any)
		}
		for list.Next() {
			if err := list.Scan(cells...); err != nil {
				t.Fatal(err)
			}
			for i := range cells {
				fmt.Fprint(&b, *cells[i].(*any), " ")
			}
			b.WriteByte('\n')
		}
		if err := list.Close(); err != nil {
			t.Fatal(err)
		}
	}
	for _, m := range meansOf(t, path, monitor.Query{Assured: true}) {
		transects := ""
		if m.Transects != nil {
			transects = fmt.Sprint(*m.Transects)
		}
		fmt.Fprintln(&b, m.Site.Site, m.Year, m.Season, m.Component, m.N, m.Mean, m.SD, m.SE, m.SEDrying, m.DF, m.CI, m.Hall, m.ZerosInfer, m.ZerosAll, m.Missing,
			m.BookPct, m.BookLow, m.BookHigh, m.NRequired, m.NAssured, m.HalfPct, m.Adequate, transects, m.Remarks)
	}
	return b.String()
}

func firstDifference(a, b string) string {
	one, two := strings.Split(a, "\n"), strings.Split(b, "\n")
	for i := range one {
		if i >= len(two) || one[i] != two[i] {
			return one[i] + "\n\t" + slices.Concat(two, []string{""})[min(i, len(two))]
		}
	}
	return fmt.Sprintf("%d and %d lines", len(one), len(two))
}

func TestRowOrderNeverMatters(t *testing.T) {
	t.Parallel()
	for seed := range uint64(worlds) {
		w := newWorld(seed)
		want := dump(t, ledgertest.Path(t, w.Records()...))

		// All rows in another order and in several imports; kinds mixed too.
		shuffle := func(n int, swap func(i, j int)) { w.Rand.Shuffle(n, swap) }
		shuffle(len(w.Clippings), func(i, j int) { w.Clippings[i], w.Clippings[j] = w.Clippings[j], w.Clippings[i] })
		shuffle(len(w.Drying), func(i, j int) { w.Drying[i], w.Drying[j] = w.Drying[j], w.Drying[i] })
		shuffle(len(w.Species), func(i, j int) { w.Species[i], w.Species[j] = w.Species[j], w.Species[i] })
		third, half := len(w.Clippings)/3, len(w.Drying)/2
		// What decides how rows are read comes first: the ledger's basis and the
		// first months of growth years. All else may come late.
		dated := slices.DeleteFunc(slices.Clone(w.Sites), func(s schema.Site) bool { return s.YearStartMonth != 10 })
		late := slices.DeleteFunc(slices.Clone(w.Sites), func(s schema.Site) bool { return s.YearStartMonth == 10 })
		first := ledgertest.Records{Sites: dated, Settings: map[string]string{"basis": w.Settings["basis"], "moisture": w.Settings["moisture"]}}
		batches := []ledgertest.Records{{Sites: late}, {Clippings: w.Clippings[:third]}, {Drying: w.Drying[:half]}, {Clippings: w.Clippings[third : 2*third]},
			{Species: w.Species}, {Clippings: w.Clippings[2*third:]}, {BookValues: w.Books}, {Drying: w.Drying[half:]}, {Settings: w.Settings}}
		shuffle(len(batches)-1, func(i, j int) { batches[i], batches[j] = batches[j], batches[i] })
		path := ledgertest.Path(t, append([]ledgertest.Records{first}, batches...)...)
		if got := dump(t, path); got != want {
			t.Errorf("seed %d: in another order\n\t%s", seed, firstDifference(want, got))
		}
		soundLedger(t, path)
	}
}

func TestImportingTwiceChangesNotAByte(t *testing.T) {
	t.Parallel()
	for seed := range uint64(worlds) {
		w := newWorld(seed)
		path := ledgertest.Path(t, w.Records()...)
		before, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		w.Rand.Shuffle(len(w.Clippings), func(i, j int) { w.Clippings[i], w.Clippings[j] = w.Clippings[j], w.Clippings[i] })
		for _, r := range w.Records() {
			if problems := ledgertest.Import(t, path, r); len(problems) > 0 {
				t.Fatal(problems)
			}
		}
		if after, err := os.ReadFile(path); err != nil || string(after) != string(before) {
			t.Errorf("seed %d: the second import changed the file (%v)", seed, err)
		}
	}
}

// Scaling every weight by k scales means, standard deviations and errors by k
// and leaves what is relative alone.
func TestScalingWeightsScalesMeans(t *testing.T) {
	t.Parallel()
	for seed := range uint64(worlds) {
		k := []float64{4, 0.37}[seed%2]
		w := newWorld(seed)
		want := meansOf(t, ledgertest.Path(t, w.Records()...), monitor.Query{})
		for i := range w.Clippings {
			w.Clippings[i].GreenG.Float64 *= k
			w.Clippings[i].DryG.Float64 *= k
		}
		for i := range w.Drying {
			w.Drying[i].GreenG *= k
			w.Drying[i].DryG *= k
		}
		w.Settings["trace-g"] = fmt.Sprint(number(t, w.Settings["trace-g"]) * k)
		got := meansOf(t, ledgertest.Path(t, w.Records()...), monitor.Query{})
		if len(got) != len(want) || len(got) == 0 {
			t.Fatalf("%d and %d means", len(got), len(want))
		}
		for i, m := range got {
			for j, pair := range [][2]monitor.Num{{m.Mean, want[i].Mean}, {m.SD, want[i].SD}, {m.SE, want[i].SE}, {m.SEDrying, want[i].SEDrying}, {m.CI.Low, want[i].CI.Low}} {
				if pair[0].Valid != pair[1].Valid || math.Abs(pair[0].Float64-k*pair[1].Float64) > 1e-9*(1+math.Abs(pair[0].Float64)) {
					t.Errorf("seed %d, k %v, %s %d %s: number %d is %v, was %v", seed, k, m.Site.Site, m.Year, m.Component, j, pair[0], pair[1])
				}
			}
			if m.N != want[i].N || m.NRequired != want[i].NRequired || !sameNumber(m.DF.Float64, want[i].DF.Float64) {
				t.Errorf("seed %d, k %v, %s %d %s: n, n required or df changed", seed, k, m.Site.Site, m.Year, m.Component)
			}
		}
	}
}

// One more frame with nothing in it lowers the mean of every component that
// was looked for in it, and moves no other.
func TestAnEmptyFrameLowersTheMean(t *testing.T) {
	t.Parallel()
	for seed := range uint64(worlds) {
		w := newWorld(seed)
		path := ledgertest.Path(t, w.Records()...)
		before := map[meanID]*monitor.Mean{}
		o := newOracle(w)
		for _, m := range meansOf(t, path, monitor.Query{}) {
			before[meanID{occasionID{m.Site.Site, m.Year, m.Season}, m.Component}] = m
		}
		var extra []schema.Clipping
		for _, id := range o.occasions() {
			// Beside a frame that weighs something: a transect of zeros alone has
			// no mean to lower.
			for _, f := range o.standing(id) {
				if v := f.value[schema.Herbaceous]; v.known && v.g > 0 {
					extra = append(extra, schema.Clipping{Site: id.site, Year: id.year, Season: id.season, Transect: f.id.transect, Frame: "extra", Caged: f.id.caged,
						Status: schema.StatusEmpty, ComponentsSampled: schema.Herbaceous.Bit()})
					break
				}
			}
		}
		if problems := ledgertest.Import(t, path, ledgertest.Records{Clippings: extra}); len(problems) > 0 {
			t.Fatal(problems)
		}
		lowered := 0
		for _, m := range meansOf(t, path, monitor.Query{}) {
			id := meanID{occasionID{m.Site.Site, m.Year, m.Season}, m.Component}
			was := before[id]
			switch {
			case m.Component == monitor.Production || was == nil || !was.Mean.Valid:
			case m.Component == "herbaceous" && was.Mean.Float64 > 0:
				lowered++
				if !(m.Mean.Float64 < was.Mean.Float64) {
					t.Errorf("seed %d, %+v: %v with one more empty frame, %v without", seed, id, m.Mean.Float64, was.Mean.Float64)
				}
			case m.Component != "herbaceous" && (m.Mean != was.Mean || m.N != was.N):
				t.Errorf("seed %d, %+v: changed by a frame in which it was not looked for", seed, id)
			}
		}
		if lowered == 0 {
			t.Errorf("seed %d: no mean to lower", seed)
		}
	}
}
