package intake

import (
	"bufio"
	"compress/gzip"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"strings"
	"unicode"
	"unicode/utf16"

	utfenc "golang.org/x/text/encoding/unicode"
)

// How far a packed file may unpack: a small file that unpacks to a huge one
// was made to fill the memory or the disk.
const (
	mostUnpacked      = 1 << 30
	mostUnpackedTimes = 200
	unpackedAlways    = 16 << 20
)

// unpackLimit is how many bytes may come out of a packed file.
func unpackLimit(packed int64) int64 {
	if packed > mostUnpacked/mostUnpackedTimes {
		return mostUnpacked
	}
	return min(mostUnpacked, mostUnpackedTimes*packed+unpackedAlways)
}

// What files that are read otherwise than as plain text begin with.
const (
	zipMagic  = "PK\x03\x04"
	gzipMagic = "\x1f\x8b"
)

// brokenCharacter stands where UTF-16 has no character.
const brokenCharacter = "\uFFFD"

// startsWith tells what a reader will give first, without reading it.
func startsWith(r *bufio.Reader, magic string) bool {
	start, _ := r.Peek(len(magic)) // an error comes again when it is read
	return string(start) == magic
}

// openText makes the text of a file, of so many bytes, readable as UTF-8:
// gzip is taken off and UTF-16 is converted.
func openText(r *bufio.Reader, packed int64) *textReader {
	if startsWith(r, gzipMagic) {
		r = bufio.NewReaderSize(&gunzip{src: r, most: unpackLimit(packed)}, textBufferBytes)
	}
	start, _ := r.Peek(sampleBytes)
	switch utf16Order(start) {
	case binary.LittleEndian:
		return &textReader{r: utfenc.UTF16(utfenc.LittleEndian, utfenc.IgnoreBOM).NewDecoder().Reader(r), utf16: true}
	case binary.BigEndian:
		return &textReader{r: utfenc.UTF16(utfenc.BigEndian, utfenc.IgnoreBOM).NewDecoder().Reader(r), utf16: true}
	}
	return &textReader{r: r}
}

// sampleBytes is how much of a file is looked at to tell its encoding.
const sampleBytes = 4096

// utf16Order tells by the start of a file whether it is UTF-16, and in which
// order its bytes stand; nil where it is not. Without a byte order mark it is
// where one of the orders makes text of it that is mostly ASCII.
func utf16Order(start []byte) binary.ByteOrder {
	switch {
	case strings.HasPrefix(string(start), "\xff\xfe"):
		return binary.LittleEndian
	case strings.HasPrefix(string(start), "\xfe\xff"):
		return binary.BigEndian
	}
	for _, order := range []binary.ByteOrder{binary.LittleEndian, binary.BigEndian} {
		if mostlyASCII16(start, order) {
			return order
		}
	}
	return nil
}

// mostlyASCII16 tells whether bytes are UTF-16 text of an order, of which
// three characters in four, or more, are ASCII.
func mostlyASCII16(b []byte, order binary.ByteOrder) bool {
	units := len(b) / 2
	ascii := 0
	for i := range units {
		u := rune(order.Uint16(b[2*i:]))
		switch {
		case u < ' ' && u != '\t' && u != '\n' && u != '\r':
			return false
		case u < 0x7f:
			ascii++
		case !utf16.IsSurrogate(u) && !unicode.IsPrint(u) && !unicode.IsSpace(u):
			return false
		}
	}
	return units >= 4 && ascii*4 >= units*3
}

// gunzip unpacks a gzip file up to a limit. What is wrong with the file is a
// *notText.
type gunzip struct {
	src  io.Reader
	most int64
	z    *gzip.Reader
	out  int64 // bytes unpacked
	err  error
}

// Read implements io.Reader.
func (g *gunzip) Read(p []byte) (n int, err error) {
	if g.err == nil && g.z == nil {
		g.z, g.err = gzip.NewReader(g.src)
	}
	if g.err == nil {
		n, g.err = g.z.Read(p)
		g.out += int64(n)
	}
	if g.out > g.most {
		n, g.err = 0, &notText{0, fmt.Sprintf("the compressed (gzip) file unpacks to more than %d million bytes, which no table of this packed size does", g.most/1_000_000),
			"unpack it yourself, look at what it holds, and import that"}
	}
	if g.err != nil && g.err != io.EOF && !errors.As(g.err, new(*notText)) && !isReadError(g.err) {
		g.err = &notText{0, "the compressed (gzip) file is damaged or cut off", "get it again from where it came from, and import that file"}
	}
	return n, g.err
}

// isReadError tells an error of the disk from one of the content.
func isReadError(err error) bool {
	var path *fs.PathError
	return errors.As(err, &path)
}
