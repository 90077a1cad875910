package monitor

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"clipledger/schema"
)

// Which frames were estimated by eye, by whom, and what did they weigh? What
// calibration and double sampling both start from: the estimates of each
// observer, component and state, frame by frame, in g/m².

// eyeKey is what estimates are judged by. component is a component's name, or
// production where an observer estimated all parts of it.
type eyeKey struct {
	observer  string
	component string
	state     string
}

// eyeFrame is one observer's estimate of one component in one frame.
type eyeFrame struct {
	site     *schema.SiteRecord
	occasion schema.OccasionRecord
	visit    int64
	caged    bool
	date     string
	parts    map[eyePart]float64 // g/m², by component and species
	noArea   bool                // an estimate in grams whose ground is not known
	clipped  bool
	green    Num  // what the component weighed there, g/m²
	dry      Num  // on the ledger's basis
	book     bool // dry rests on book values
}

// eyePart is a component, or one species of it.
type eyePart struct {
	component schema.Component
	species   string
}

// estimated is the sum of the parts.
func (f *eyeFrame) estimated() float64 {
	sum := 0.0
	for _, p := range sortedParts(f.parts) {
		sum += f.parts[p]
	}
	return sum
}

// sortedParts lists parts in a fixed order, so that sums round alike.
func sortedParts[T any](parts map[eyePart]T) []eyePart {
	out := make([]eyePart, 0, len(parts))
	for p := range parts {
		out = append(out, p)
	}
	slices.SortFunc(out, func(a, b eyePart) int {
		return cmp.Or(cmp.Compare(a.component, b.component), cmp.Compare(a.species, b.species))
	})
	return out
}

// against is the clipped weight in the state of the estimate.
func (f *eyeFrame) against(state string) Num {
	if state == schema.StateGreen {
		return f.green
	}
	return f.dry
}

// eyeRecords are the estimates that a query lets through.
type eyeRecords struct {
	frames    map[eyeKey][]*eyeFrame
	occasions map[int64]schema.OccasionRecord
	sites     map[int64]*schema.SiteRecord
}

// readEye reads the estimates of the wanted sites, years, seasons and
// observers.
func readEye(snap *schema.Snapshot, f *Filter, observers []string) (*eyeRecords, error) {
	r := &eyeRecords{frames: map[eyeKey][]*eyeFrame{}, occasions: map[int64]schema.OccasionRecord{}, sites: map[int64]*schema.SiteRecord{}}
	sites, err := snap.Sites()
	if err != nil {
		return nil, err
	}
	for i := range sites {
		r.sites[sites[i].ID] = &sites[i]
	}
	found := map[string]bool{}
	bySpecies := map[int64]bool{}
	place := map[eyePlace]*eyeFrame{}
	err = snap.Estimates(func(e *schema.EstimateRecord) error {
		found[e.Observer] = true
		o := schema.OccasionRecord{ID: e.Occasion, SiteID: e.SiteID, Year: e.Year, Season: e.Season}
		site := r.sites[e.SiteID]
		if !f.site(site) || !f.occasion(&o) || !f.season(e.Season) || len(observers) > 0 && !slices.Contains(observers, e.Observer) {
			return nil
		}
		r.occasions[e.Occasion] = o
		bySpecies[e.Occasion] = bySpecies[e.Occasion] || e.Species != ""
		r.take(e, site, o, place)
		return nil
	})
	if err != nil {
		return nil, err
	}
	if err := knownObservers(observers, found); err != nil {
		return nil, err
	}
	if err := r.totalSpecies(snap, bySpecies); err != nil {
		return nil, err
	}
	r.addProduction()
	return r, nil
}

// ErrNoObserver says that an observer was asked for who estimated nothing.
type ErrNoObserver struct {
	Name  string
	Known []string
}

// Error names those who did.
func (e ErrNoObserver) Error() string {
	if len(e.Known) == 0 {
		return fmt.Sprintf("no estimate is by %q: the ledger holds none; import them with clipledger import estimates FILE", e.Name)
	}
	return fmt.Sprintf("no estimate is by %q; estimates are by %s", e.Name, strings.Join(e.Known, ", "))
}

func knownObservers(wanted []string, found map[string]bool) error {
	for _, name := range wanted {
		if !found[name] {
			return ErrNoObserver{name, sortedNames(found)}
		}
	}
	return nil
}

func sortedNames(set map[string]bool) []string {
	out := make([]string, 0, len(set))
	for n := range set {
		out = append(out, n)
	}
	slices.Sort(out)
	return out
}

// eyePlace tells an observer's frames apart.
type eyePlace struct {
	key   eyeKey
	visit int64
}

// take adds one estimate to its frame.
func (r *eyeRecords) take(e *schema.EstimateRecord, site *schema.SiteRecord, o schema.OccasionRecord, place map[eyePlace]*eyeFrame) {
	key := eyeKey{e.Observer, e.Component.String(), e.State}
	f := place[eyePlace{key, e.Visit}]
	if f == nil {
		f = &eyeFrame{site: site, occasion: o, visit: e.Visit, caged: e.Caged, date: e.Date, parts: map[eyePart]float64{},
			clipped: e.Clipped, green: e.ClippedGreen, dry: e.ClippedDry}
		place[eyePlace{key, e.Visit}] = f
		r.frames[key] = append(r.frames[key], f)
	}
	f.clipped, f.book = f.clipped || e.Clipped, f.book || e.ClippedBook
	if !e.GPerM2.Valid {
		f.noArea = true
		return
	}
	f.parts[eyePart{e.Component, e.Species}] = e.GPerM2.Float64
}

// totalSpecies replaces the clipped weights of frames that were estimated by
// species by the whole component's, with what the observer did not see.
func (r *eyeRecords) totalSpecies(snap *schema.Snapshot, bySpecies map[int64]bool) error {
	totals := map[int64]map[schema.Component]*[2]Num{}
	for id := range bySpecies {
		if !bySpecies[id] {
			continue
		}
		if err := bagTotals(snap, id, totals); err != nil {
			return err
		}
	}
	for key, frames := range r.frames {
		component, _ := schema.ComponentNamed(key.component)
		for _, f := range frames {
			if _, whole := f.parts[eyePart{component, ""}]; whole || !bySpecies[f.occasion.ID] {
				continue
			}
			if t := totals[f.visit][component]; t != nil {
				f.clipped, f.green, f.dry = true, t[0], t[1]
			} else if f.clipped {
				f.green, f.dry = schema.Some(0), schema.Some(0)
			}
		}
	}
	return nil
}

// bagTotals adds up green and dry weight per area over the bags of each
// component of an occasion's frames; missing where a bag lacks the weight.
func bagTotals(snap *schema.Snapshot, occasion int64, totals map[int64]map[schema.Component]*[2]Num) error {
	return snap.Bags(occasion, occasion, func(b *schema.BagRecord) error {
		if totals[b.Visit] == nil {
			totals[b.Visit] = map[schema.Component]*[2]Num{}
		}
		t := totals[b.Visit][b.Component]
		if t == nil {
			t = &[2]Num{schema.Some(0), schema.Some(0)}
			totals[b.Visit][b.Component] = t
		}
		green := b.GreenG
		if !green.Valid && b.Method == schema.ZeroWeight {
			green = schema.Some(0)
		}
		addDensity(&t[0], green, b.AreaM2)
		addDensity(&t[1], b.DryG, b.AreaM2)
		return nil
	})
}

func addDensity(sum *Num, grams, area Num) {
	switch {
	case !grams.Valid || grams.Float64 > 0 && !area.Valid:
		*sum = Num{}
	case sum.Valid && grams.Float64 > 0:
		sum.Float64 += grams.Float64 / area.Float64
	}
}

// addProduction adds, for every observer who estimated two parts of production
// or more on an occasion, the frames in which all of them were estimated.
func (r *eyeRecords) addProduction() {
	type who struct {
		observer, state string
		occasion        int64
	}
	parts := map[who]map[schema.Component]map[int64]*eyeFrame{}
	var order []who
	for _, key := range r.keys() {
		component, ok := schema.ComponentNamed(key.component)
		if !ok || !component.IsProduction() {
			continue
		}
		for _, f := range r.frames[key] {
			w := who{key.observer, key.state, f.occasion.ID}
			if parts[w] == nil {
				parts[w] = map[schema.Component]map[int64]*eyeFrame{}
				order = append(order, w)
			}
			if parts[w][component] == nil {
				parts[w][component] = map[int64]*eyeFrame{}
			}
			parts[w][component][f.visit] = f
		}
	}
	for _, w := range order {
		key := eyeKey{w.observer, Production, w.state}
		r.frames[key] = append(r.frames[key], sumFrames(parts[w])...)
	}
	for key, frames := range r.frames {
		if len(frames) == 0 {
			delete(r.frames, key)
		}
		slices.SortStableFunc(frames, func(a, b *eyeFrame) int {
			return cmp.Or(cmp.Compare(a.site.Site, b.site.Site), cmp.Compare(a.occasion.Year, b.occasion.Year), cmp.Compare(a.occasion.Season, b.occasion.Season), cmp.Compare(a.visit, b.visit))
		})
	}
}

// sumFrames adds up the parts of production where all were estimated.
func sumFrames(parts map[schema.Component]map[int64]*eyeFrame) []*eyeFrame {
	if len(parts) < 2 {
		return nil
	}
	var out []*eyeFrame
	for visit, first := range parts[schema.Herbaceous] {
		second, ok := parts[schema.Browse][visit]
		if !ok {
			continue
		}
		f := *first
		f.parts = map[eyePart]float64{}
		for _, part := range []*eyeFrame{first, second} {
			for p, x := range part.parts {
				f.parts[p] = x
			}
		}
		f.noArea = first.noArea || second.noArea
		f.clipped = first.clipped && second.clipped
		f.book = first.book || second.book
		f.green, f.dry = sumOf(first.green, second.green), sumOf(first.dry, second.dry)
		out = append(out, &f)
	}
	return out
}

func sumOf(a, b Num) Num {
	if !a.Valid || !b.Valid {
		return Num{}
	}
	return schema.Some(a.Float64 + b.Float64)
}

// keys lists what there are estimates of, by observer, component and state.
func (r *eyeRecords) keys() []eyeKey {
	out := make([]eyeKey, 0, len(r.frames))
	for k := range r.frames {
		out = append(out, k)
	}
	slices.SortFunc(out, func(a, b eyeKey) int {
		return cmp.Or(cmp.Compare(a.observer, b.observer), componentOrder(a.component)-componentOrder(b.component), cmp.Compare(a.state, b.state))
	})
	return out
}
