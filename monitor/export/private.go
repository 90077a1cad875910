package export

import (
	"encoding/json"
	"fmt"
	"maps"
	"slices"
	"strings"
	"unicode"

	"clipledger/monitor"
)

// withheld stands where a value stayed in the ledger.
const withheld = "(withheld)"

func withheldWord(value string) string {
	if value == "" {
		return ""
	}
	return withheld
}

// pseudonym is how an observer named in the history is called outside.
func (src *source) pseudonym(name string) string {
	if name == "" || name == monitor.PooledObserver || src.options.Observers {
		return name
	}
	for id, n := range src.observers {
		if n == name {
			return src.observer(id)
		}
	}
	return withheld
}

// withoutName puts the pseudonym in place of the observer's name in the key of
// an estimate, which ends with the observer and the state.
func (src *source) withoutName(key string) string {
	if src.options.Observers {
		return key
	}
	// The longest name first: one may end with another.
	ids := slices.SortedFunc(maps.Keys(src.observers), func(a, b int64) int { return len(src.observers[b]) - len(src.observers[a]) })
	for _, id := range ids {
		for _, state := range []string{" green", " dry"} {
			if rest, ok := strings.CutSuffix(key, " "+src.observers[id]+state); ok {
				return rest + " " + src.observer(id) + state
			}
		}
	}
	return withheld
}

// openOptions are the options of an import without the values that stay in
// the ledger: constants for observers and coordinates, and rows left out by
// them.
func (src *source) openOptions(options string) (string, error) {
	if options == "" || options == "{}" || src.options.Observers && src.options.Coordinates {
		return options, nil
	}
	var all map[string]any
	if err := json.Unmarshal([]byte(options), &all); err != nil {
		return "", fmt.Errorf("read the options of an import: %w", err)
	}
	ours := map[string]string{} // their column to ours
	if m, ok := all["map"].(map[string]any); ok {
		for name, theirs := range m {
			if t, ok := theirs.(string); ok {
				ours[fold(t)] = name
			}
		}
	}
	for _, part := range []string{"set", "leave_out"} {
		m, ok := all[part].(map[string]any)
		if !ok {
			continue
		}
		for name := range m {
			mapped, isMapped := ours[fold(name)]
			if src.stays(name) || isMapped && src.stays(mapped) {
				m[name] = withheld
			}
		}
	}
	out, err := json.Marshal(all)
	return string(out), err
}

// stays tells whether the values of an input column stay in the ledger.
func (src *source) stays(column string) bool {
	switch fold(column) {
	case "observer", "double_sampling":
		return !src.options.Observers
	case "latitude", "longitude":
		return !src.options.Coordinates
	}
	return false
}

// fold is how the names of columns are compared.
func fold(s string) string {
	return strings.NewReplacer(" ", "", "_", "").Replace(strings.ToLower(s))
}

// withoutNames puts the pseudonyms of observers in a text of the program's own
// in place of their names, where these stand as words.
func (src *source) withoutNames(text string) string {
	if src.options.Observers {
		return text
	}
	// The longest name first: one may hold another.
	ids := slices.SortedFunc(maps.Keys(src.observers), func(a, b int64) int { return len(src.observers[b]) - len(src.observers[a]) })
	for _, id := range ids {
		text = replaceWord(text, src.observers[id], src.observer(id))
	}
	return text
}

// replaceWord replaces a name where no letter or digit touches it.
func replaceWord(text, name, by string) string {
	var out strings.Builder
	for name != "" {
		before, after, found := strings.Cut(text, name)
		if !found {
			break
		}
		out.WriteString(before)
		if touches(before, true) || touches(after, false) {
			out.WriteString(name)
		} else {
			out.WriteString(by)
		}
		text = after
	}
	return out.String() + text
}

// touches tells whether a text ends, or begins, with a letter or a digit.
func touches(text string, end bool) bool {
	runes := []rune(text)
	if len(runes) == 0 {
		return false
	}
	r := runes[0]
	if end {
		r = runes[len(runes)-1]
	}
	return unicode.IsLetter(r) || unicode.IsDigit(r)
}
