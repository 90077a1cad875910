package schema_test

import (
	"bytes"
	"fmt"
	"math/rand/v2"
	"testing"

	"clipledger/schema"
	"clipledger/schema/ledgertest"
)

// parts deals all records of a world out into imports: any record into any
// part, in any order within it. Rows keep the lines that they had.
func (w *world) parts(r *rand.Rand, n int) []ledgertest.Records {
	out := make([]ledgertest.Records, n)
	deal := func(count int, add func(to *ledgertest.Records, i int)) {
		for _, i := range r.Perm(count) {
			add(&out[r.IntN(n)], i)
		}
	}
	deal(len(w.sites), func(to *ledgertest.Records, i int) { to.Sites = append(to.Sites, w.sites[i]) })
	deal(len(w.species), func(to *ledgertest.Records, i int) { to.Species = append(to.Species, w.species[i]) })
	deal(len(w.drying), func(to *ledgertest.Records, i int) { to.Drying = append(to.Drying, w.drying[i]) })
	deal(len(w.clippings), func(to *ledgertest.Records, i int) { to.Clippings = append(to.Clippings, w.clippings[i]) })
	return out
}

// lined gives every record of a world a line and a world the blanks that
// files have. What is said of how a frame was clipped is blank for all
// components of a frame or for none, since a row that is silent takes it from
// the frame's other rows; how often a bag was filled can be said on any row.
func (w *world) lined(r *rand.Rand) {
	for i := range w.sites {
		w.sites[i].Line = i + 2
	}
	for i := range w.species {
		w.species[i].Line = i + 2
	}
	for i := range w.drying {
		w.drying[i].Line = i + 2
	}
	for i := range w.clippings {
		c := &w.clippings[i]
		c.Line = i + 2
		blank(r, &c.Note)
		blank(r, &c.Stage)
		blank(r, &c.Basis)
		if c.Status == "" && r.IntN(3) == 0 {
			c.FramesInBag = 3
		}
		if c.GreenG.Valid && r.IntN(3) == 0 {
			c.DryG, c.Basis = schema.Num{}, ""
		}
	}
}

// madeFirst is the frame type that the world's rows use by name.
func madeFirst() ledgertest.Records {
	return ledgertest.Records{FrameTypes: []schema.FrameType{{Line: 2, Name: "loop", AreaM2: 0.5}}}
}

// dryOf lists every bag with its dry weight and how it was come by, and every
// mean, without numbers of rows.
func dryOf(t *testing.T, path string) string {
	t.Helper()
	return query[string](t, path, `SELECT group_concat(line, char(10)) FROM (
		SELECT json_array(site, growth_year, season, transect, frame, caged, component, species, bag, round(dry_g, 9), method) AS line FROM bag_dry_weight
		UNION ALL SELECT json_array(site, growth_year, season, component, n, round(mean_g_m2, 9)) FROM occasion_mean ORDER BY 1)`)
}

// Any split of the records into parts, imported in any order, comes to the
// same record, the same dry weights and the same means; importing the parts
// again changes nothing; and taking them back, newest first, leads back
// through every state to the first. That last is tried with the sites in the
// first part: an import that moves frames to other growth years, because a
// site's year starts elsewhere, is not taken back, and says so.
func TestAnyPartsInAnyOrder(t *testing.T) {
	for seed := range uint64(worlds(t, 3)) {
		t.Run(fmt.Sprint("seed ", seed), func(t *testing.T) {
			r := rand.New(rand.NewPCG(seed, 11))
			w := inventWorld(r)
			w.lined(r)
			whole := ledgertest.Path(t, madeFirst(), w.parts(r, 1)[0])
			want, wantDry := digest(t, whole), dryOf(t, whole)
			for n := range 3 {
				parts := w.parts(r, 2+n)
				undoing := n == 1
				for i := 1; i < len(parts) && undoing; i++ {
					parts[0].Sites, parts[i].Sites = append(parts[0].Sites, parts[i].Sites...), nil
				}
				path := ledgertest.Path(t, madeFirst())
				states := []string{digest(t, path)}
				lasts := []int64{query[int64](t, path, "SELECT max(import_id) FROM import")}
				for _, p := range parts {
					if problems := ledgertest.Import(t, path, p); len(problems) > 0 {
						t.Fatalf("%d parts: %v", len(parts), problems)
					}
					states = append(states, digest(t, path))
					lasts = append(lasts, query[int64](t, path, "SELECT max(import_id) FROM import"))
				}
				if digest(t, path) != want {
					t.Errorf("%d parts come to another record", len(parts))
				}
				if got := dryOf(t, path); got != wantDry {
					t.Errorf("%d parts come to other dry weights or means:\n%s\nwant\n%s", len(parts), got, wantDry)
				}
				before := mustReadFile(t, path)
				for _, p := range append(parts, w.parts(r, 1)...) {
					if problems, counts := ledgertest.ImportCounted(t, path, p); len(problems) > 0 || counts[0]+counts[1] > 0 {
						t.Errorf("imported again: problems %v, counts %v", problems, counts)
					}
				}
				if !bytes.Equal(mustReadFile(t, path), before) {
					t.Error("importing again changed the file")
				}
				for i := len(parts); i > 0 && undoing; i-- {
					for target := lasts[i]; target > lasts[i-1]; target-- {
						if problems := undo(t, path, target); len(problems) > 0 {
							t.Fatalf("import %d was not taken back: %v", target, problems)
						}
					}
					if digest(t, path) != states[i-1] {
						t.Errorf("taking part %d back leads to another record than was before it", i)
					}
				}
			}
		})
	}
}
