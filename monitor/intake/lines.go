package intake

import (
	"bytes"
	"fmt"
	"io"
	"unicode/utf8"
)

// maxRowBytes is the longest row, and so the longest cell, that is read.
const maxRowBytes = 1 << 20

// textBufferBytes is how much of a file is looked at in one go.
const textBufferBytes = 64 << 10

// byteOrderMark is what some programs put before UTF-8 text.
const byteOrderMark = "\ufeff"

// textReader passes on UTF-8 text with every line ended by LF or CRLF, so
// that the CSV reader on top counts lines as an editor does: a bare CR, which
// some spreadsheets still write, becomes LF in its place. It strips a byte
// order mark. At the first byte that is not UTF-8 it goes over to Windows-1252
// where the bytes look like that (see latin.go), and else stops. It refuses
// to pass on more than a row's worth of bytes unless rowDone says that a row
// has ended, so that an unclosed quote cannot swallow the memory.
type textReader struct {
	r       io.Reader
	buf     [textBufferBytes]byte
	ready   []byte // checked, not yet passed on
	carry   [utf8.UTFMax]byte
	carried int // bytes of carry that belong before what is read next
	started bool
	bom     bool  // the file began with a byte order mark
	lines   int   // line ends passed so far
	sinceOK int   // bytes passed on since the last rowDone
	err     error // what comes after ready

	utf16     bool // what is read here was UTF-16
	beyond    bool // characters beyond ASCII have passed as UTF-8
	latin     bool // the text is Windows-1252
	latinLine int  // the first line that is not UTF-8

	keep     bool   // keep what is passed on, for bytesAt
	kept     []byte // of the text, from keptFrom
	keptFrom int64
}

// notText says why a file is not text that can be read, and where.
type notText struct {
	line     int // 0: the whole file
	what, do string
}

func (e *notText) Error() string { return e.what }

// errRowTooLong stops the reading where no row ends within maxRowBytes.
var errRowTooLong = fmt.Errorf("more than %d bytes without the end of a row", maxRowBytes)

// rowDone tells the reader that a row has been read completely.
func (t *textReader) rowDone() { t.sinceOK = 0 }

// Read implements io.Reader.
func (t *textReader) Read(p []byte) (int, error) {
	for len(t.ready) == 0 {
		if t.err != nil {
			return 0, t.err
		}
		t.fill()
	}
	if t.sinceOK > maxRowBytes+textBufferBytes {
		return 0, errRowTooLong
	}
	n := copy(p, t.ready)
	t.ready = t.ready[n:]
	t.sinceOK += n
	if t.keep {
		t.kept = append(t.kept, p[:n]...)
	}
	return n, nil
}

// forget drops what is kept of the text before an offset.
func (t *textReader) forget(before int64) {
	if n := before - t.keptFrom; n > 0 && n <= int64(len(t.kept)) {
		t.kept, t.keptFrom = t.kept[n:], before
	}
}

// fill reads and checks the next stretch of the file.
func (t *textReader) fill() {
	kept := copy(t.buf[:], t.carry[:t.carried])
	n, err := t.more(t.buf[kept:])
	chunk := t.buf[:kept+n]
	if !t.started {
		t.started = true
		if why := binaryKind(chunk); why != nil {
			t.err = why
			return
		}
		t.bom = bytes.HasPrefix(chunk, []byte(byteOrderMark))
		chunk = bytes.TrimPrefix(chunk, []byte(byteOrderMark))
	}
	t.carried = 0
	if err == nil {
		t.carried = unfinished(chunk)
		copy(t.carry[:], chunk[len(chunk)-t.carried:])
	}
	t.err = err
	t.pass(chunk[:len(chunk)-t.carried])
}

// more reads on; at first as much as it takes to tell what kind of file it is.
func (t *textReader) more(p []byte) (int, error) {
	if t.started {
		return t.r.Read(p)
	}
	n, err := io.ReadAtLeast(t.r, p, 16)
	if err == io.ErrUnexpectedEOF {
		err = io.EOF
	}
	return n, err
}

// pass checks a stretch of whole characters and makes it ready.
func (t *textReader) pass(b []byte) {
	endLinesWithLF(b)
	at := -1
	if !t.latin {
		if at = firstNotText(b); at >= 0 && t.looksLatin(b, at) {
			t.latin, t.latinLine = true, t.lineOf(b, at)
		}
	}
	switch {
	case t.latin:
		b = t.fromLatin(b)
	case at >= 0:
		t.stop(&b, at, badByte(b[at], t.lineOf(b, at)))
	case t.utf16 && bytes.Contains(b, []byte(brokenCharacter)):
		at = bytes.Index(b, []byte(brokenCharacter))
		t.stop(&b, at, &notText{t.lineOf(b, at), "a character here is broken (UTF-16 with a byte or half a character missing)", saveAsUTF8})
	default:
		t.beyond = t.beyond || !isASCII(b)
	}
	t.lines += bytes.Count(b, []byte{'\n'})
	t.ready = b
}

// lineOf returns the line of a byte of the stretch in hand.
func (t *textReader) lineOf(b []byte, at int) int {
	return t.lines + 1 + bytes.Count(b[:at], []byte{'\n'})
}

// stop ends the text with an error at a byte; whole lines before it are read.
func (t *textReader) stop(b *[]byte, at int, err error) {
	t.err = err
	*b = (*b)[:bytes.LastIndexByte((*b)[:at], '\n')+1]
}

// unfinished returns how many bytes at the end of b cannot be judged before
// more is read: the start of a character, or a CR that may belong to a CRLF.
func unfinished(b []byte) int {
	if len(b) > 0 && b[len(b)-1] == '\r' {
		return 1
	}
	for n := 1; n <= utf8.UTFMax-1 && n <= len(b); n++ {
		if c := b[len(b)-n]; utf8.RuneStart(c) {
			if c >= utf8.RuneSelf && !utf8.FullRune(b[len(b)-n:]) {
				return n
			}
			return 0
		}
	}
	return 0
}

// endLinesWithLF turns every bare CR into LF, in place; a CRLF stays.
func endLinesWithLF(b []byte) {
	for from := 0; ; {
		i := bytes.IndexByte(b[from:], '\r')
		if i < 0 {
			return
		}
		from += i + 1
		if from == len(b) || b[from] != '\n' {
			b[from-1] = '\n'
		}
	}
}

// firstNotText returns where the first NUL or invalid byte stands, or -1.
func firstNotText(b []byte) int {
	nul := bytes.IndexByte(b, 0)
	if nul < 0 && utf8.Valid(b) {
		return -1
	}
	if nul < 0 {
		nul = len(b)
	}
	for i := 0; i < nul; {
		r, size := utf8.DecodeRune(b[i:nul])
		if r == utf8.RuneError && size == 1 {
			return i
		}
		i += size
	}
	return nul
}

// saveAsUTF8 is what to do about a file that is not UTF-8 text.
const saveAsUTF8 = `open it in the program it came from and save it as "CSV UTF-8", then import that file`

// badByte words what is wrong with a byte that is not text.
func badByte(c byte, line int) error {
	if c == 0 {
		return &notText{line, "this is not a text file (it holds a zero byte here)", saveAsUTF8}
	}
	return &notText{line, fmt.Sprintf("this is not UTF-8 text (byte 0x%02X here; another encoding, or not text at all)", c), saveAsUTF8}
}

// binaryKind recognises, by their first bytes, files that people hand in for
// CSV, and says what they are.
func binaryKind(b []byte) error {
	for _, k := range []struct{ magic, what string }{
		{zipMagic, "this is a workbook (XLSX) or another zipped file inside a compressed one, not CSV text"},
		{"\xd0\xcf\x11\xe0", "this is an old workbook (XLS) or document, not CSV text"},
		{gzipMagic, "this is a compressed (gzip) file inside another, not CSV text"},
		{"SQLite format 3", "this is a SQLite database, not CSV text"},
		{"%PDF", "this is a PDF, not CSV text"},
	} {
		if len(b) >= len(k.magic) && string(b[:len(k.magic)]) == k.magic {
			return &notText{0, k.what, saveAsUTF8}
		}
	}
	return nil
}
