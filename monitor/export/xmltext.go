package export

import (
	"bytes"
	"encoding/xml"
	"strings"
)

// xmlText builds an XML document, indented, every text escaped.
type xmlText struct {
	b     bytes.Buffer
	depth int
}

func (x *xmlText) line(s string) {
	x.b.WriteString(strings.Repeat("  ", x.depth) + s + "\n")
}

// in writes an element around what inside writes; attributes come as written.
func (x *xmlText) in(name, attributes string, inside func()) {
	if attributes != "" {
		attributes = " " + attributes
	}
	x.line("<" + name + attributes + ">")
	x.depth++
	inside()
	x.depth--
	x.line("</" + name + ">")
}

// of writes an element that holds a text, nothing where the text is empty.
func (x *xmlText) of(name, text string) {
	if text != "" {
		x.line("<" + name + ">" + escaped(text) + "</" + name + ">")
	}
}

// escaped makes a text safe in XML; a character that XML cannot hold becomes
// U+FFFD.
func escaped(text string) string {
	var b strings.Builder
	_ = xml.EscapeText(&b, []byte(text)) // a strings.Builder takes everything
	return b.String()
}
