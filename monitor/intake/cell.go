package intake

import (
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"
)

// The longest texts that are taken, in characters.
const (
	maxKeyLength  = 200    // sites, frames, species, labels
	maxNoteLength = 10_000 // notes and sources
)

// trimCell takes off the spaces around a cell, the invisible ones that
// spreadsheets and web pages leave behind included.
func trimCell(s string) string {
	if s == "" || plainEnds(s) {
		return s
	}
	return strings.TrimFunc(s, func(r rune) bool {
		return unicode.IsSpace(r) || r == '\ufeff' || r == '\u200b'
	})
}

// plainEnds tells whether a text begins and ends with visible ASCII.
func plainEnds(s string) bool {
	first, last := s[0], s[len(s)-1]
	return first > ' ' && first < 0x7f && last > ' ' && last < 0x7f
}

// missingWords are the cells that mean "missing".
type missingWords struct {
	words   []string
	longest int
}

// newMissingWords takes Options.Missing; an empty cell is missing in any case.
func newMissingWords(words []string) missingWords {
	if words == nil {
		words = DefaultMissing
	}
	m := missingWords{}
	for _, w := range words {
		w = trimCell(w)
		m.words = append(m.words, w)
		m.longest = max(m.longest, len(w))
	}
	return m
}

// value trims a cell and returns "" where it means "missing".
func (m *missingWords) value(raw string) string {
	v := trimCell(raw)
	if len(v) > m.longest {
		return v
	}
	for _, w := range m.words {
		if len(w) == len(v) && (w == v || strings.EqualFold(w, v)) {
			return ""
		}
	}
	return v
}

// unquoteText takes off the one apostrophe that exports put before a text
// which a spreadsheet would take for a formula.
func unquoteText(s string) string {
	if len(s) > 1 && s[0] == '\'' && strings.IndexByte("=+-@", s[1]) >= 0 {
		return s[1:]
	}
	return s
}

// textFault says what is wrong with a text, "" if nothing: characters that
// cannot be seen, or more of them than a field takes.
func textFault(s string, longest int, lines bool) (what, do string) {
	if !utf8.ValidString(s) { // never of a file's cell: from the command line
		return "is not UTF-8 text", "type it again"
	}
	for _, r := range s {
		switch {
		case lines && (r == '\n' || r == '\t'):
		case r == '\n':
			return "has a line break in it", "write it on one line"
		case r == '\t':
			return "has a tab in it", "write a space instead"
		case unicode.IsControl(r):
			return fmt.Sprintf("has a control character (U+%04X) in it", r), "remove it; retyping the cell is enough"
		}
	}
	if len(s) > longest {
		if n := utf8.RuneCountInString(s); n > longest {
			return fmt.Sprintf("has %d characters, more than the %d that are kept", n, longest), "shorten it"
		}
	}
	return "", ""
}
