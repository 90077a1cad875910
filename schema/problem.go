package schema

import (
	"fmt"
	"strconv"
	"strings"
)

// Problem is one thing wrong in a file: where it stands, what was read, what
// is wrong with it and what to do. It is the one form in which the program
// reports bad input.
type Problem struct {
	File   string // as typed, or its base name
	Line   int    // as an editor counts; 0 where the whole file is meant
	Column string // our name of the column; "" where the whole row is meant
	Value  string // what was read; shown quoted
	What   string // what is wrong
	Do     string // what to do about it
}

// String writes FILE:LINE: column NAME: "VALUE": what is wrong; what to do.
// Text from the file is quoted, so that control characters in it cannot play
// tricks on a terminal, and cut where it is very long.
func (p Problem) String() string {
	var b strings.Builder
	b.WriteString(p.File)
	if p.Line > 0 {
		fmt.Fprintf(&b, ":%d", p.Line)
	}
	b.WriteString(": ")
	if p.Column != "" {
		fmt.Fprintf(&b, "column %s: ", p.Column)
		b.WriteString(strconv.QuoteToGraphic(shorten(p.Value)))
		b.WriteString(": ")
	}
	b.WriteString(p.Message())
	return b.String()
}

// Message is the problem without its place: what is wrong; what to do.
func (p Problem) Message() string {
	if p.Do == "" {
		return p.What
	}
	return p.What + "; " + p.Do
}

// shorten cuts a value to what a message can carry.
func shorten(s string) string {
	const most = 80
	if r := []rune(s); len(r) > most {
		return string(r[:most]) + "…"
	}
	return s
}
