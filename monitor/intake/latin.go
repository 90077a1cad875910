package intake

import (
	"io"
	"unicode/utf8"

	"golang.org/x/text/encoding/charmap"
)

// Which bytes make a file Windows-1252, the encoding in which spreadsheets on
// Windows have saved CSV for decades. The encoding is nowhere written in such
// a file, so its bytes decide: everything before is ASCII, no byte is one that
// Windows-1252 lacks or a control character, and between two letters stands
// no sign that words do not hold. The last tells it from the encodings of
// DOS and of old Macs, which have letters where Windows-1252 has signs. That
// it was decided is told to the user.

// looksLatin tells whether a stretch of the file, with its first byte that is
// not UTF-8 at the given place, is Windows-1252.
func (t *textReader) looksLatin(b []byte, at int) bool {
	switch {
	case t.bom || t.utf16 || t.beyond || !isASCII(b[:at]):
		return false // the file says, or has shown, that it is UTF-8
	case t.err == io.EOF && !utf8.FullRune(b[at:]):
		return false // the last character of a UTF-8 file is cut off
	}
	return firstNotLatin(b) < 0
}

// fromLatin turns a stretch of Windows-1252 into UTF-8; at the first byte
// that cannot be Windows-1252 the text ends.
func (t *textReader) fromLatin(b []byte) []byte {
	if at := firstNotLatin(b); at >= 0 {
		t.stop(&b, at, badByte(b[at], t.lineOf(b, at)))
	}
	text, err := charmap.Windows1252.NewDecoder().Bytes(b)
	if err != nil {
		t.err = err
		return nil
	}
	return text
}

// firstNotLatin returns where the first byte stands that text in Windows-1252
// would not have there, or -1.
func firstNotLatin(b []byte) int {
	for i, c := range b {
		switch {
		case c < ' ':
			if c != '\t' && c != '\n' && c != '\r' && c != '\f' {
				return i
			}
		case c < 0x7f:
		case c == 0x7f, c == 0x81, c == 0x8d, c == 0x8f, c == 0x90, c == 0x9d:
			return i
		case !inWords(c) && i > 0 && i < len(b)-1 && isLetter(b[i-1]) && isLetter(b[i+1]):
			return i
		}
	}
	return -1
}

// inWords tells whether a byte above ASCII can stand between two letters: a
// letter, an apostrophe, a dash, a soft hyphen, a raised dot or figure.
func inWords(c byte) bool {
	switch c {
	case 0x8a, 0x8c, 0x8e, 0x9a, 0x9c, 0x9e, 0x9f, 0x92, 0x96, 0x97, 0xad, 0xb7, 0xb2, 0xb3, 0xb9:
		return true
	}
	return c >= 0xc0 && c != 0xd7 && c != 0xf7
}

// isLetter tells whether a byte is an ASCII letter.
func isLetter(c byte) bool { return c|0x20 >= 'a' && c|0x20 <= 'z' }

// isASCII tells whether all bytes are ASCII.
func isASCII(b []byte) bool {
	for _, c := range b {
		if c >= utf8.RuneSelf {
			return false
		}
	}
	return true
}
