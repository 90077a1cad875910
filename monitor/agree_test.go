package monitor_test

import (
	"database/sql"
	"fmt"
	"math"
	"slices"
	"testing"

	"clipledger/monitor"
	"clipledger/schema"
	"clipledger/schema/ledgertest"
)

// The program against the recomputation from raw records, on random ledgers
// and on the invented district: every bag, every frame, every occasion.

func TestRandomLedgersAgreeWithTheRules(t *testing.T) {
	t.Parallel()
	for seed := range uint64(10) {
		t.Run(fmt.Sprintf("seed %d", seed), func(t *testing.T) {
			w := newWorld(seed)
			path := ledgertest.Path(t, w.Records()...)
			agree(t, w, path)
			soundLedger(t, path)
		})
	}
}

// agree compares a ledger with what its records come to.
func agree(t *testing.T, w *world, path string) {
	t.Helper()
	o := newOracle(w)
	db, err := sql.Open("sqlite", path)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	o.compareBags(t, db)
	o.compareFrames(t, db)
	o.compareMeans(t, path)
}

// sameNumber tells whether two numbers agree but for rounding.
func sameNumber(a, b float64) bool {
	return math.Abs(a-b) <= 1e-9*max(1e-6, math.Abs(a), math.Abs(b))
}

type bagID struct {
	frameID
	component, species, bag string
}

func (o *oracle) compareBags(t *testing.T, db *sql.DB) {
	t.Helper()
	want := map[bagID]schema.Num{}
	for _, b := range o.bags {
		want[bagID{b.frame, b.Component.String(), b.Species, b.Bag}] = schema.Num{Float64: b.dry, Valid: b.weighs}
	}
	list, err := db.Query(`SELECT site, growth_year, season, transect, frame, caged, component, species, bag, dry_g FROM bag_dry_weight`)
	if err != nil {
		t.Fatal(err)
	}
	defer list.Close()
	n := 0
	for list.Next() {
		var id bagID
		var got schema.Num
		if err := list.Scan(&id.site, &id.year, &id.season, &id.transect, &id.frame, &id.caged, &id.component, &id.species, &id.bag, &got); err != nil {
			t.Fatal(err)
		}
		n++
		if w, ok := want[id]; !ok || got.Valid != w.Valid || got.Valid && !sameNumber(got.Float64, w.Float64) {
			t.Errorf("bag %+v: dry %v, by the rules %v", id, got, w)
		}
	}
	if n != len(want) || n == 0 {
		t.Errorf("%d bags, by the records %d", n, len(want))
	}
}

func (o *oracle) compareFrames(t *testing.T, db *sql.DB) {
	t.Helper()
	list, err := db.Query(`SELECT site, growth_year, season, transect, frame, caged, component, g_m2, zero_inferred FROM frame_production`)
	if err != nil {
		t.Fatal(err)
	}
	defer list.Close()
	got := map[bagID]cellValue{}
	for list.Next() {
		var id bagID
		var g schema.Num
		var v cellValue
		if err := list.Scan(&id.site, &id.year, &id.season, &id.transect, &id.frame, &id.caged, &id.component, &g, &v.inferred); err != nil {
			t.Fatal(err)
		}
		v.known, v.g = g.Valid, g.Float64
		got[id] = v
	}
	values := 0
	for id, f := range o.frames {
		for c, want := range f.value {
			values++
			v, ok := got[bagID{id, c.String(), "", ""}]
			if !ok || v.known != want.known || v.known && (v.inferred != want.inferred || !sameNumber(v.g, want.g)) {
				t.Errorf("frame %+v, %s: %+v (there: %v), by the rules %+v", id, c, v, ok, want)
			}
		}
	}
	if values != len(got) || values == 0 {
		t.Errorf("%d values of frames, by the rules %d", len(got), values)
	}
}

// meanID names a mean.
type meanID struct {
	occasionID
	component string
}

type meanValue struct {
	n        int
	mean, sd float64
	missing  int // -1: not compared
}

func (o *oracle) compareMeans(t *testing.T, path string) {
	t.Helper()
	want := o.means()
	for _, m := range meansOf(t, path, monitor.Query{}) {
		id := meanID{occasionID{m.Site.Site, m.Year, m.Season}, m.Component}
		w, ok := want[id]
		delete(want, id)
		there := ok && w.n > 0
		switch {
		case there != m.Mean.Valid:
			t.Errorf("%+v: mean there: %v, by the rules: %v", id, m.Mean.Valid, there)
		case there && (m.N != w.n || !sameNumber(m.Mean.Float64, w.mean) || !math.IsNaN(w.sd) && !sameNumber(m.SD.Float64, w.sd)):
			t.Errorf("%+v: n %d, mean %v, sd %v; by the rules %+v", id, m.N, m.Mean.Float64, m.SD.Float64, w)
		case ok && w.missing >= 0 && m.Missing != w.missing:
			t.Errorf("%+v: %d missing, by the rules %d", id, m.Missing, w.missing)
		}
	}
	for id, w := range want {
		t.Errorf("%+v: not worked out; by the rules %+v", id, w)
	}
}

// means works out every mean that the rules give.
func (o *oracle) means() map[meanID]meanValue {
	out := map[meanID]meanValue{}
	yearly := map[string]string{} // site: the seasons of its yearly total
	for site := range o.site {
		yearly[site] = o.yearlySeasons(site)
	}
	for _, id := range o.occasions() {
		frames := o.standing(id)
		var parts []schema.Component
		for _, c := range schema.Components {
			has := slices.ContainsFunc(frames, func(f *oracleFrame) bool { _, ok := f.value[c]; return ok })
			if has {
				out[meanID{id, c.String()}] = o.meanOver(id.site, frames, []schema.Component{c})
			}
			if has && c.IsProduction() {
				parts = append(parts, c)
			}
		}
		if len(parts) == 0 || yearly[id.site] != "" {
			continue
		}
		shared := slices.ContainsFunc(frames, func(f *oracleFrame) bool {
			return !slices.ContainsFunc(parts, func(c schema.Component) bool { _, ok := f.value[c]; return !ok })
		})
		if shared {
			out[meanID{id, monitor.Production}] = o.meanOver(id.site, frames, parts)
		} else {
			out[meanID{id, monitor.Production}] = sumOf(out[meanID{id, "herbaceous"}], out[meanID{id, "browse"}])
		}
	}
	o.addYearly(out, yearly)
	return out
}

func sumOf(a, b meanValue) meanValue {
	if a.n == 0 || b.n == 0 {
		return meanValue{missing: -1}
	}
	return meanValue{n: min(a.n, b.n), mean: a.mean + b.mean, sd: math.NaN(), missing: a.missing + b.missing}
}

// yearlySeasons tells in which seasons a site's yearly total takes its parts;
// "" where it has none. These worlds clip grass in summer, shrubs in fall.
func (o *oracle) yearlySeasons(site string) string {
	recorded := map[string]bool{}
	for _, b := range o.bags {
		if b.Site == site && b.Component.IsProduction() && (b.HasWeight() || b.Status != "") {
			recorded[b.Component.String()+" "+b.Season] = true
		}
	}
	if len(recorded) == 2 && recorded["herbaceous summer"] && recorded["browse fall"] {
		return "summer+fall"
	}
	if len(recorded) == 2 && recorded["herbaceous peak"] && recorded["browse fall"] {
		return "peak+fall"
	}
	return ""
}

func (o *oracle) addYearly(out map[meanID]meanValue, yearly map[string]string) {
	for _, id := range o.occasions() {
		if yearly[id.site] == "" {
			continue
		}
		grass := "summer"
		if yearly[id.site] == "peak+fall" {
			grass = "peak"
		}
		a, okA := out[meanID{occasionID{id.site, id.year, grass}, "herbaceous"}]
		b, okB := out[meanID{occasionID{id.site, id.year, "fall"}, "browse"}]
		if okA || okB {
			out[meanID{occasionID{id.site, id.year, yearly[id.site]}, monitor.Production}] = sumOf(a, b)
		}
	}
}

// meanOver is the mean over sampling units of the sum of some components.
func (o *oracle) meanOver(site string, frames []*oracleFrame, parts []schema.Component) meanValue {
	units := map[string][]float64{}
	v := meanValue{}
	byFrame := o.unit(site) == "frame"
	for _, f := range frames {
		sum, known, any, all := 0.0, true, false, true
		for _, c := range parts {
			cell, ok := f.value[c]
			any, all = any || ok, all && ok
			known = known && ok && cell.known
			sum += cell.g
		}
		switch {
		case known:
			unit := f.id.transect
			if byFrame {
				unit = fmt.Sprint(f.id)
			}
			units[unit] = append(units[unit], sum)
		case any || len(parts) > 1:
			v.missing++
		}
	}
	var means []float64
	for _, u := range units {
		means = append(means, mean(u))
	}
	slices.Sort(means)
	v.n, v.mean = len(means), mean(means)
	for _, m := range means {
		v.sd += (m - v.mean) * (m - v.mean) / float64(max(1, len(means)-1))
	}
	v.sd = math.Sqrt(v.sd)
	return v
}

func mean(x []float64) float64 {
	sum := 0.0
	for _, v := range x {
		sum += v
	}
	return sum / float64(max(1, len(x)))
}

// unit is the site's sampling unit: declared, or transects where every
// occasion has three or more.
func (o *oracle) unit(site string) string {
	if u := o.site[site].SamplingUnit; u != "" {
		return u
	}
	for _, id := range o.occasions() {
		names := map[string]bool{}
		for f := range o.frames {
			if f.occasionID == id {
				names[f.transect] = true
			}
		}
		if id.site == site && len(names) < 3 {
			return "frame"
		}
	}
	return "transect"
}
