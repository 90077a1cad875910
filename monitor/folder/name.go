package folder

import (
	"crypto/sha256"
	"encoding/hex"
	"strings"
)

// SlugMax keeps file names short enough for nested folders on any system.
const SlugMax = 40

// Name makes a part of a path of any text: a readable slug of it and a short
// hash of the exact text; plain stands where no letter of it is left.
//
// The hash keeps apart texts that differ only in case or in letters a slug
// drops, and keeps every name clear of those some systems reserve ("con",
// "nul"). Only a-z, 0-9 and "-" occur, so a text can never lead out of the
// folder.
func Name(text, plain string) string {
	sum := sha256.Sum256([]byte(text))
	return slug(text, plain) + "-" + hex.EncodeToString(sum[:5])
}

func slug(text, plain string) string {
	var b strings.Builder
	dash := false
	for _, c := range strings.ToLower(text) {
		kept := c >= 'a' && c <= 'z' || c >= '0' && c <= '9'
		if !kept {
			dash = true
			continue
		}
		if b.Len() >= SlugMax {
			break
		}
		if dash && b.Len() > 0 {
			b.WriteByte('-')
		}
		dash = false
		b.WriteRune(c)
	}
	if b.Len() == 0 {
		return plain
	}
	return b.String()
}
