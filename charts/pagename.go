package charts

import (
	"crypto/sha256"
	"encoding/hex"
	"strings"
)

// slugMax keeps file names short enough for nested folders on any system.
const slugMax = 40

// PageName is the base name of the files of something with a name that a user
// typed, as pageName gives it.
func PageName(code string) string { return pageName(code) }

// pageName is the base name, without ending, of a site's files: a readable
// slug of its code and a short hash of the exact code.
//
// The hash keeps apart codes that differ only in case or in letters a slug
// drops, and keeps every name clear of those some systems reserve ("con",
// "nul"). Only a-z, 0-9 and "-" occur, so a code can never lead out of the
// folder.
func pageName(code string) string {
	sum := sha256.Sum256([]byte(code))
	return slug(code) + "-" + hex.EncodeToString(sum[:5])
}

func slug(code string) string {
	var b strings.Builder
	dash := false
	for _, c := range strings.ToLower(code) {
		plain := c >= 'a' && c <= 'z' || c >= '0' && c <= '9'
		if !plain {
			dash = true
			continue
		}
		if b.Len() >= slugMax {
			break
		}
		if dash && b.Len() > 0 {
			b.WriteByte('-')
		}
		dash = false
		b.WriteRune(c)
	}
	if b.Len() == 0 {
		return "site"
	}
	return b.String()
}
