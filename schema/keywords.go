package schema

import (
	"encoding/json"
	"fmt"
	"strconv"
	"strings"
)

// keyWords turn the numbers of keys and values in the history into the words
// that people know.
type keyWords struct {
	snap                        *Snapshot
	species, observer, frameTyp map[int64]string
	sites                       map[int64]string
	occasionSites               map[int64]string
}

func (s *Snapshot) wordsForKeys() (*keyWords, error) {
	w := &keyWords{snap: s, species: map[int64]string{}, observer: map[int64]string{}, frameTyp: map[int64]string{}, sites: map[int64]string{}, occasionSites: map[int64]string{}}
	for query, into := range map[string]map[int64]string{
		`SELECT species_id, species FROM species`:                         w.species,
		`SELECT observer_id, observer FROM observer`:                      w.observer,
		`SELECT frame_type_id, frame_type FROM frame_type`:                w.frameTyp,
		`SELECT site_id, site FROM site`:                                  w.sites,
		`SELECT occasion_id, site FROM occasion JOIN site USING(site_id)`: w.occasionSites,
	} {
		err := s.each(query, nil, func(scan func(...any) error) error {
			var id int64
			var name string
			err := scan(&id, &name)
			into[id] = name
			return err
		})
		if err != nil {
			return nil, err
		}
	}
	return w, nil
}

// inWords rewrites the key and the values of a change.
func (w *keyWords) inWords(c *ChangeRecord) error {
	var parts []any
	d := json.NewDecoder(strings.NewReader(c.Key))
	d.UseNumber()
	if err := d.Decode(&parts); err != nil {
		return fmt.Errorf("read a key of the history: %w", err)
	}
	var names []string
	for _, t := range recordTables {
		if t.name == c.Record {
			names = t.keys
		}
	}
	var words []string
	for i, p := range parts {
		w.noteSite(c, names[i], fmt.Sprint(p))
		word, err := w.keyPart(names[i], fmt.Sprint(p))
		if err != nil {
			return err
		}
		if word != "" {
			words = append(words, word)
		}
	}
	c.Key = strings.Join(words, " ")
	c.Old, c.New = w.value(c.Column, c.Old), w.value(c.Column, c.New)
	c.Column = strings.TrimSuffix(c.Column, "_id")
	return nil
}

// noteSite notes whose record a change is of, by a part of its key.
func (w *keyWords) noteSite(c *ChangeRecord, name, text string) {
	if name == "site" {
		c.Site = text
		return
	}
	id, err := strconv.ParseInt(text, 10, 64)
	if err != nil {
		return
	}
	switch name {
	case "site_id":
		c.Site = w.sites[id]
	case "visit_id", "occasion_id":
		if name == "visit_id" {
			id >>= 20
		}
		c.Site = w.occasionSites[id]
		c.SiteGone = c.Site == ""
	}
}

func (w *keyWords) keyPart(name, text string) (string, error) {
	if f, err := strconv.ParseFloat(text, 64); err == nil && (name == "lower_g_m2" || name == "green_g" || name == "dry_g") {
		return formatNumber(f), nil
	}
	id, err := strconv.ParseInt(text, 10, 64)
	if err != nil {
		return text, nil
	}
	switch name {
	case "visit_id":
		return w.frame(id)
	case "occasion_id":
		return w.occasion(id)
	case "component":
		return Component(id).String(), nil
	case "species_id":
		return w.species[id], nil
	case "site_id":
		return w.sites[id], nil
	case "observer_id":
		return w.observer[id], nil
	}
	return text, nil
}

func (w *keyWords) occasion(id int64) (string, error) {
	text := fmt.Sprintf("occasion %d", id)
	return text, w.snap.each(`SELECT site || ' ' || growth_year || ' ' || season FROM occasion JOIN site USING(site_id) WHERE occasion_id=?`, []any{id},
		func(scan func(...any) error) error { return scan(&text) })
}

// frame names a frame; one that has moved or gone since is named by its
// occasion alone.
func (w *keyWords) frame(visit int64) (string, error) {
	text, err := w.occasion(visit >> 20)
	if err != nil {
		return "", err
	}
	return text, w.snap.each(`SELECT 'transect ' || transect || ' frame ' || frame || iif(caged, ' caged', '') FROM visit WHERE visit_id=?`, []any{visit},
		func(scan func(...any) error) error {
			var place string
			err := scan(&place)
			text += " " + place
			return err
		})
}

// value puts the name where a column holds a number that stands for one.
func (w *keyWords) value(column, text string) string {
	id, err := strconv.ParseInt(text, 10, 64)
	if err != nil {
		return text
	}
	switch column {
	case "frame_type_id":
		return w.frameTyp[id]
	case "observer_id":
		return w.observer[id]
	case "components_sampled":
		return maskNames(uint8(id))
	case "component":
		return Component(id).String()
	}
	return text
}
