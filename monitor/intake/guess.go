package intake

import (
	"errors"
	"fmt"
	"maps"
	"slices"
	"strings"

	"clipledger/schema"
)

// Guess is a map file proposed for a file, and what is to be said about it.
// It is for a person to read and mend; nothing applies it unasked.
type Guess struct {
	Pairs    []Pair
	Remarks  []string         // what was assumed, and what was left open
	Problems []schema.Problem // why the file cannot be read, beside ErrUnreadable
}

// Pair is a row of a map file.
type Pair struct{ Ours, Theirs string }

// guessKinds are the kinds of files for which a map can be proposed.
var guessKinds = map[string]func() *kind{
	"clippings": clippingKind, "drying": dryingKind, "sites": siteKind, "species": speciesKind,
	"frame-types": frameTypeKind, "book-values": bookKind, "rain": rainKind, "estimates": estimateKind,
	"growth-curves": curveKind, "classes": classKind, "transects": transectKind, "events": eventKind,
}

// GuessMap proposes which columns of a file are which of ours, by the words
// and units in its header alone. Columns under our own names need no map;
// those that o.Map names are kept as they are. What can mean two things is
// left open, and the remarks say so.
func GuessMap(f *File, kindName string, o Options) (Guess, error) {
	var g Guess
	makeKind := guessKinds[kindName]
	if makeKind == nil {
		return g, usagef("no map can be proposed for files of the kind %s: their columns have our names", kindName)
	}
	k := makeKind()
	in := &input{options: &o, problem: func(p schema.Problem) { g.Problems = append(g.Problems, p) }}
	var err error
	in.table, err = openTable(f, &o, func(t *table) headerScore { return guessable(t, k) })
	if err != nil {
		return g, in.end(err)
	}
	in.layoutNotices()
	g.Remarks = in.summary.Notices
	if err := g.columns(in.table, k, &o); err != nil {
		return g, err
	}
	return g, f.drain()
}

// guessable scores the header of a table by how many columns have a meaning.
func guessable(t *table, k *kind) (s headerScore) {
	for _, name := range t.header {
		if _, known := k.column(name); known && name != "" || guessColumn(k, name).ours != "" {
			s.known++
		}
	}
	return s
}

// columns proposes a meaning for every column.
func (g *Guess) columns(t *table, k *kind, o *Options) error {
	fromUser := map[string]bool{}
	for ours, theirs := range o.Map {
		fromUser[trimCell(theirs)] = true
		g.Pairs = append(g.Pairs, Pair{ours, trimCell(theirs)})
	}
	slices.SortFunc(g.Pairs, func(a, b Pair) int { return strings.Compare(a.Ours, b.Ours) })
	taken := map[string][]string{} // by quantity: the columns that could give it
	for _, p := range g.Pairs {
		if c, ok := k.column(p.Ours); ok {
			taken[c.quantity] = append(taken[c.quantity], p.Theirs)
		}
	}
	guesses := make([]columnGuess, len(t.header))
	for i, name := range t.header {
		if name == "" || fromUser[name] || slices.Contains(o.Ignore, name) {
			continue
		}
		c, known := k.column(name)
		if !known {
			guesses[i] = guessColumn(k, name)
			c, known = k.column(guesses[i].ours)
		}
		if known {
			taken[c.quantity] = append(taken[c.quantity], name)
		} else if guesses[i].remark == "" {
			g.remark("column %q was left open: its name says nothing that is known here", name)
		}
	}
	for i, name := range t.header {
		guess := guesses[i]
		c, ok := k.column(guess.ours)
		others := taken[c.quantity]
		switch {
		case ok && len(others) > 1:
			others = slices.DeleteFunc(slices.Clone(others), func(s string) bool { return s == name })
			g.remark("column %q was left open: it could be %s, but so could %s", name, guess.ours, quoted(others))
			continue
		case ok:
			g.Pairs = append(g.Pairs, Pair{guess.ours, name})
		}
		if guess.remark != "" {
			g.remark("column %q %s", name, guess.remark)
		}
	}
	return g.lacking(t, k, o)
}

// lacking tells what is still missing once the map is used.
func (g *Guess) lacking(t *table, k *kind, o *Options) error {
	with := *o
	with.Map = map[string]string{}
	maps.Copy(with.Map, o.Map)
	for _, p := range g.Pairs {
		with.Map[p.Ours] = p.Theirs
	}
	m, err := match(t, k, &with, &Summary{})
	var usage *UsageError
	switch {
	case errors.As(err, &usage):
		g.remark("with this map the import would be refused: %s", usage.Message)
		return nil
	case err != nil:
		return err
	}
	for _, p := range m.problems {
		g.remark("with this map the import would be refused: %s", p.Message())
	}
	return nil
}

// remark adds a sentence.
func (g *Guess) remark(format string, args ...any) {
	g.Remarks = append(g.Remarks, fmt.Sprintf(format, args...))
}

// quoted lists names of columns.
func quoted(names []string) string {
	out := make([]string, len(names))
	for i, n := range names {
		out[i] = fmt.Sprintf("%q", n)
	}
	return listWords(out, "and")
}
