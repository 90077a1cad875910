package intake

import (
	"slices"
	"strings"
)

// fold takes from a word what does not tell it from another: case, spaces,
// underscores and hyphens.
func fold(s string) string {
	return strings.Map(func(r rune) rune {
		switch r {
		case ' ', '_', '-', '\u00a0', '\ufeff':
			return -1
		}
		return r
	}, strings.ToLower(s))
}

// alike treats spaces, underscores and hyphens as one sign, and case not at all.
func alike(s string) string {
	return strings.Map(func(r rune) rune {
		switch r {
		case ' ', '_', '\u00a0':
			return '-'
		}
		return r
	}, strings.ToLower(s))
}

// lexicon is a set of known names that a file may spell in its own way.
type lexicon struct {
	names []string // sorted
	exact map[string]bool
	same  func(string) string // what spellings of one name have in common
	spelt map[string]string   // same(name) -> name; "" where two names agree
}

// newLexicon makes a lexicon of names; same returns what all spellings of a
// name have in common.
func newLexicon(names []string, same func(string) string) *lexicon {
	l := &lexicon{exact: map[string]bool{}, same: same, spelt: map[string]string{}}
	for _, n := range names {
		if n == "" || l.exact[n] {
			continue
		}
		l.exact[n] = true
		l.names = append(l.names, n)
		key := same(n)
		if _, taken := l.spelt[key]; taken {
			n = ""
		}
		l.spelt[key] = n
	}
	slices.Sort(l.names)
	return l
}

// find returns the known name that a word spells.
func (l *lexicon) find(word string) (name string, ok bool) {
	if l.exact[word] {
		return word, true
	}
	name = l.spelt[l.same(word)]
	return name, name != ""
}

// otherWords are words that people use for some of ours. They are only ever
// suggested, never taken.
var otherWords = map[string]string{
	"autumn": "fall", "late": "fall", "early": "spring", "main": "peak",
	"grass": "herbaceous", "grasses": "herbaceous", "forb": "herbaceous", "forbs": "herbaceous", "herb": "herbaceous",
	"shrub": "browse", "shrubs": "browse", "woody": "browse", "twigs": "browse",
	"dead": "standing-dead", "olddead": "standing-dead", "mulch": "litter",
}

// nearest returns the known name closest to a word, "" if none is close: a
// word people use for it, a name that the word begins, or one that at most a
// third of the letters tell apart.
func (l *lexicon) nearest(word string) string {
	w := fold(word)
	if other := otherWords[w]; l.exact[other] {
		return other
	}
	best, least := "", max(1, min(3, len([]rune(w))/3))+1
	for _, n := range l.names {
		f := fold(n)
		if len(w) >= 3 && strings.HasPrefix(f, w) && least > 1 {
			best, least = n, 1
		}
		if d := editDistance(w, f, least); d < least {
			best, least = n, d
		}
	}
	return best
}

// editDistance counts the letters to insert, delete, replace or swap with
// their neighbour to get from a to b (optimal string alignment). It gives up
// and returns limit where it would be limit or more.
func editDistance(a, b string, limit int) int {
	s, t := []rune(a), []rune(b)
	if d := len(s) - len(t); d >= limit || -d >= limit || len(s) > 100 {
		return limit
	}
	before, last, this := make([]int, len(t)+1), make([]int, len(t)+1), make([]int, len(t)+1)
	for j := range last {
		last[j] = j
	}
	for i := 1; i <= len(s); i++ {
		this[0] = i
		for j := 1; j <= len(t); j++ {
			cost := 1
			if s[i-1] == t[j-1] {
				cost = 0
			}
			this[j] = min(last[j]+1, this[j-1]+1, last[j-1]+cost)
			if i > 1 && j > 1 && s[i-1] == t[j-2] && s[i-2] == t[j-1] {
				this[j] = min(this[j], before[j-2]+1)
			}
		}
		before, last, this = last, this, before
	}
	return min(last[len(t)], limit)
}

// maxListed is how many known names a message lists beside a suggestion, and
// allListed how many where nothing is near: the built-in book table has 15
// growth forms and 15 stages, and who writes "cool-season grass" must see them.
const (
	maxListed = 12
	allListed = 20
)

// suggest says which word to write instead of an unknown one, and else adds
// what to do about a word that is rightly new.
func (l *lexicon) suggest(word, plural, otherwise string) string {
	var rest []string
	n, listed := l.nearest(word), allListed
	if n != "" {
		listed = maxListed
	}
	if len(l.names) > 0 && len(l.names) <= listed {
		rest = append(rest, "known "+plural+" are "+listWords(l.names, "and"))
	}
	if otherwise != "" {
		rest = append(rest, otherwise)
	}
	text := strings.Join(rest, "; ")
	switch {
	case n == "":
		return text
	case text == "":
		return "did you mean " + n + "?"
	}
	return "did you mean " + n + "? " + strings.ToUpper(text[:1]) + text[1:] // ours, in ASCII
}

// listWords joins words as a sentence does: a, b and c.
func listWords(words []string, and string) string {
	switch n := len(words); n {
	case 0:
		return ""
	case 1:
		return words[0]
	default:
		return strings.Join(words[:n-1], ", ") + " " + and + " " + words[n-1]
	}
}
