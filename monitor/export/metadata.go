package export

import (
	"fmt"
	"path/filepath"
	"strings"
)

// metadata is what the ledger says of itself, from its settings.
type metadata struct {
	title, abstract, contact, contactEmail, licence, citation, location string
	creators, keywords                                                  []string
	firstYear, lastYear                                                 int // of the clippings; 0 where there are none
}

func (src *source) metadata() metadata {
	v := src.values
	m := metadata{title: v["title"], abstract: v["abstract"], contact: v["contact"], contactEmail: v["contact-email"], licence: v["licence"],
		citation: v["citation"], location: v["location"], creators: list(v["creators"]), keywords: list(v["keywords"])}
	for i, o := range src.all {
		if i == 0 || o.year < m.firstYear {
			m.firstYear = o.year
		}
		m.lastYear = max(m.lastYear, o.year)
	}
	return m
}

// list splits a setting that holds several things.
func list(value string) []string {
	var out []string
	for part := range strings.SplitSeq(value, ";") {
		if part = strings.TrimSpace(part); part != "" {
			out = append(out, part)
		}
	}
	return out
}

// asked are the settings that a repository will ask for, and why.
var asked = []struct{ setting, why string }{
	{"title", "what the dataset is called"},
	{"abstract", "what was measured, where, when and why, in a few sentences"},
	{"creators", "whose work it is, names joined by ;"},
	{"contact", "whom a reader can ask"},
	{"licence", "under which terms others may use it, such as CC-BY-4.0"},
	{"keywords", "words by which it is found, joined by ;"},
	{"location", "where the sites lie, in words"},
}

// lacking are the settings among them that nobody made.
func (src *source) lacking() []string {
	var out []string
	for _, a := range asked {
		if src.values[a.setting] == "" {
			out = append(out, a.setting)
		}
	}
	return out
}

// remarks are what must be said beside the files.
func (src *source) remarks() []string {
	var out []string
	if lacking := src.lacking(); len(lacking) > 0 {
		out = append(out, fmt.Sprintf("a repository will ask for what the ledger does not say yet: %s; set it with clipledger settings %s=...",
			strings.Join(lacking, ", "), lacking[0]))
	}
	if !src.options.Observers && len(src.observers) > 0 {
		out = append(out, "observers are numbers here; --with-observers gives their names")
	}
	if !src.options.Coordinates && src.hasCoordinates() {
		out = append(out, "coordinates were left out; --with-coordinates gives them")
	}
	return out
}

func (src *source) hasCoordinates() bool {
	for i := range src.sites {
		if src.sites[i].Latitude.Valid {
			return true
		}
	}
	return false
}

// called is the name of the dataset.
func (src *source) called() string {
	for _, name := range []string{src.values["title"], src.values["name"]} {
		if name != "" {
			return name
		}
	}
	base := filepath.Base(src.options.Ledger)
	return strings.TrimSuffix(base, filepath.Ext(base))
}
