package export

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"clipledger/schema"
)

// place is an occasion in words.
type place struct {
	id      int64
	site    string
	stratum string
	year    int
	season  string
}

// part is some of the occasions, in the order of their numbers.
type part []place

// source is what the rows of all tables are read from.
type source struct {
	snap      *schema.Snapshot
	options   Options
	values    schema.Values
	set       map[string]bool // settings that somebody made
	sites     []schema.SiteRecord
	all       part
	observers map[int64]string
}

func newSource(s *schema.Snapshot, o Options) (*source, error) {
	src := &source{snap: s, options: o, set: map[string]bool{}}
	var err error
	if src.values, err = s.Settings(); err != nil {
		return nil, err
	}
	if src.sites, err = s.Sites(); err != nil {
		return nil, err
	}
	if src.observers, err = s.Observers(); err != nil {
		return nil, err
	}
	err = s.TableRows("settings", func([]string) error { return nil }, func(v []any) error {
		src.set[v[0].(string)] = true
		return nil
	})
	if err != nil {
		return nil, err
	}
	occasions, err := s.Occasions()
	if err != nil {
		return nil, err
	}
	bySite := map[int64]*schema.SiteRecord{}
	for i := range src.sites {
		bySite[src.sites[i].ID] = &src.sites[i]
	}
	for _, o := range occasions {
		src.all = append(src.all, place{o.ID, bySite[o.SiteID].Site, bySite[o.SiteID].Stratum, o.Year, o.Season})
	}
	return src, nil
}

// parts splits the occasions by growth year and stratum.
func (src *source) parts() []part {
	type key struct {
		year    int
		stratum string
	}
	by := map[key]part{}
	for _, p := range src.all {
		k := key{p.year, p.stratum}
		by[k] = append(by[k], p)
	}
	out := make([]part, 0, len(by))
	for _, p := range by {
		out = append(out, p)
	}
	slices.SortFunc(out, func(a, b part) int {
		return cmp.Or(cmp.Compare(a[0].year, b[0].year), strings.Compare(a[0].stratum, b[0].stratum))
	})
	return out
}

// observer is how an observer is called outside: by name where that was asked
// for, else by a number that stays the same.
func (src *source) observer(id int64) string {
	if id == 0 {
		return ""
	}
	if src.options.Observers {
		return src.observers[id]
	}
	return fmt.Sprintf("observer %d", id)
}

// withheld tells whether a column's values stay in the ledger.
func (src *source) withheld(c *Column) bool {
	return c.private == coordinate && !src.options.Coordinates
}

// frames streams the frames of a part, whole. Two of one occasion come with
// the same place.
func (src *source) frames(p part, fn func(*place, *schema.FrameRecord) error) error {
	reader, err := src.snap.FrameReader()
	if err != nil {
		return err
	}
	ids := make([]int64, len(p))
	for i := range p {
		ids[i] = p[i].id
	}
	at := 0
	return reader.Read(ids, func(f *schema.FrameRecord) error {
		for p[at].id != f.Occasion {
			at++
		}
		return fn(&p[at], f)
	})
}
