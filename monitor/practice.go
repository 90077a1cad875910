package monitor

import (
	"cmp"
	"hash/fnv"
	"math"
	"math/rand/v2"
	"slices"

	"clipledger/schema"
)

// Which past frames should an observer practise on? For every site and
// component the clipped frames that weighed something are laid out by weight
// and cut into as many groups as frames are wanted; one is drawn from each, so
// that light and heavy plots come alike. The seed decides the draw, site by
// site, so that another site beside it changes nothing.

// PracticeQuery says which frames may be drawn.
type PracticeQuery struct {
	Filter
	Frames int // per site and component
	Seed   uint64
}

// PracticeFrame is one frame to judge, with its answer.
type PracticeFrame struct {
	Site      *schema.SiteRecord
	Year      int
	Season    string
	Visit     schema.VisitRecord
	Component string
	Plants    []string // species kept apart, by code
	GroundM2  float64  // that the weights speak for
	State     string   // what is to be estimated
	GreenG    Num      // the answer: grams on that ground
	DryG      Num      // on the ledger's basis
}

// PracticeFrames draws frames, in an order that tells nothing of their weight.
func PracticeFrames(snap *schema.Snapshot, q PracticeQuery) ([]PracticeFrame, error) {
	sites, err := snap.Sites()
	if err != nil {
		return nil, err
	}
	occasions, err := snap.Occasions()
	if err != nil {
		return nil, err
	}
	bySite := map[int64][]schema.OccasionRecord{}
	for _, o := range occasions {
		if q.occasion(&o) && q.season(o.Season) {
			bySite[o.SiteID] = append(bySite[o.SiteID], o)
		}
	}
	var out []PracticeFrame
	for i := range sites {
		if !q.site(&sites[i]) {
			continue
		}
		frames, err := practiceAt(snap, &sites[i], bySite[sites[i].ID], &q)
		if err != nil {
			return nil, err
		}
		out = append(out, frames...)
	}
	return out, nil
}

// practiceAt draws the frames of one site.
func practiceAt(snap *schema.Snapshot, site *schema.SiteRecord, occasions []schema.OccasionRecord, q *PracticeQuery) ([]PracticeFrame, error) {
	pool := map[string][]PracticeFrame{}
	for _, o := range occasions {
		if err := poolOccasion(snap, site, o, q, pool); err != nil {
			return nil, err
		}
	}
	var out []PracticeFrame
	r := rand.New(rand.NewPCG(q.Seed, hashOf(site.Site)))
	for _, component := range sortedKeys(pool) {
		out = append(out, drawAcross(r, pool[component], q.Frames)...)
	}
	r.Shuffle(len(out), func(i, j int) { out[i], out[j] = out[j], out[i] })
	return out, nil
}

func hashOf(name string) uint64 {
	h := fnv.New64a()
	h.Write([]byte(name))
	return h.Sum64()
}

// poolOccasion adds the frames of an occasion that weighed something.
func poolOccasion(snap *schema.Snapshot, site *schema.SiteRecord, o schema.OccasionRecord, q *PracticeQuery, pool map[string][]PracticeFrame) error {
	type place struct {
		visit     int64
		component schema.Component
	}
	found := map[place]*PracticeFrame{}
	var order []place
	err := snap.Bags(o.ID, o.ID, func(b *schema.BagRecord) error {
		if !b.Component.IsProduction() || !q.component(b.Component.String()) {
			return nil
		}
		p := place{b.Visit, b.Component}
		f := found[p]
		if f == nil {
			f = &PracticeFrame{Site: site, Year: o.Year, Season: o.Season, Component: b.Component.String(), GroundM2: b.AreaM2.Float64, GreenG: schema.Some(0), DryG: schema.Some(0)}
			found[p] = f
			order = append(order, p)
		}
		f.add(b)
		return nil
	})
	if err != nil {
		return err
	}
	visits := map[int64]schema.VisitRecord{}
	err = snap.Visits(o.ID, o.ID, func(v *schema.VisitRecord) error {
		visits[v.Visit] = *v
		return nil
	})
	for _, p := range order {
		f := found[p]
		f.Visit = visits[p.visit]
		if f.GroundM2 > 0 && f.judgeable() {
			pool[f.Component] = append(pool[f.Component], *f)
		}
	}
	return err
}

func (f *PracticeFrame) add(b *schema.BagRecord) {
	f.GreenG, f.DryG = sumOf(f.GreenG, b.GreenG), sumOf(f.DryG, b.DryG)
	if b.Species != "" && !slices.Contains(f.Plants, b.Species) {
		f.Plants = append(f.Plants, b.Species)
	}
}

// judgeable tells whether there is an answer above nothing, and takes the
// state that was weighed in the field where there is one.
func (f *PracticeFrame) judgeable() bool {
	f.State = schema.StateDry
	if f.GreenG.Valid {
		f.State = schema.StateGreen
	}
	return f.answer() > 0
}

func (f *PracticeFrame) answer() float64 {
	if f.State == schema.StateGreen {
		return f.GreenG.Float64
	}
	return f.DryG.Float64
}

// drawAcross draws one frame from each of n groups by weight per area; all of
// them where there are no more.
func drawAcross(r *rand.Rand, frames []PracticeFrame, n int) []PracticeFrame {
	density := func(f *PracticeFrame) float64 {
		if f.DryG.Valid {
			return f.DryG.Float64 / f.GroundM2
		}
		return f.GreenG.Float64 / f.GroundM2
	}
	slices.SortStableFunc(frames, func(a, b PracticeFrame) int {
		return cmp.Or(cmp.Compare(density(&a), density(&b)), cmp.Compare(a.Year, b.Year), cmp.Compare(a.Season, b.Season),
			cmp.Compare(a.Visit.Transect, b.Visit.Transect), cmp.Compare(a.Visit.Frame, b.Visit.Frame))
	})
	n = min(n, len(frames))
	var out []PracticeFrame
	for i := range n {
		from, to := i*len(frames)/n, (i+1)*len(frames)/n
		out = append(out, frames[from+int(math.Floor(r.Float64()*float64(to-from)))])
	}
	return out
}
