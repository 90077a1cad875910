package intake

import (
	"strconv"
	"strings"
)

// The areas in m² that a clipping frame can have: from a square centimetre to
// ten hectares.
const (
	leastAreaM2 = 0.0001
	mostAreaM2  = 100_000
)

// areaUnit is a unit of area and how its numbers become those of the unit in
// which a ledger writes frame types, m2 or ft2.
type areaUnit struct {
	canonical string
	factor    float64
}

// The units of area that a frame type may be written in.
var (
	inM2   = areaUnit{"m2", 1}
	inCM2  = areaUnit{"m2", 0.0001}
	inFt2  = areaUnit{"ft2", 1}
	inAcre = areaUnit{"ft2", 43560}
)

// areaUnitWords are the ways to write a unit of area, without spaces, dots,
// hyphens and carets and with 2 for ².
var areaUnitWords = map[string]areaUnit{
	"m2": inM2, "sqm": inM2, "msq": inM2, "squaremeter": inM2, "squaremeters": inM2, "squaremetre": inM2,
	"squaremetres": inM2, "sqmeter": inM2, "sqmeters": inM2, "sqmetre": inM2, "sqmetres": inM2,
	"ft2": inFt2, "sqft": inFt2, "ftsq": inFt2, "sqfeet": inFt2, "sqfoot": inFt2, "feet2": inFt2,
	"squarefeet": inFt2, "squarefoot": inFt2, "squareft": inFt2,
	"cm2": inCM2, "sqcm": inCM2, "squarecentimeters": inCM2, "squarecentimetres": inCM2,
	"ac": inAcre, "acre": inAcre, "acres": inAcre,
}

// ParseFrameType reads a frame type that is written as its area, such as
// "9.6 ft2", "9.6ft²", "435.6 sq ft", "0.01 acre" or "0.25 M^2". It returns
// the one way in which a ledger writes it ("9.6 ft2", "435.6 ft2", "0.25 m2")
// and the area in m²; ok is false where the text is not an area, or none that
// a frame can have.
func ParseFrameType(text string) (name string, areaM2 float64, ok bool) {
	text = strings.ReplaceAll(trimCell(text), "_", " ")
	n := 0
	for n < len(text) && (text[n] == '.' || text[n] >= '0' && text[n] <= '9') {
		n++
	}
	number, isNumber := plainNumber(text[:n])
	word := strings.Map(func(r rune) rune {
		switch r {
		case ' ', '\u00a0', '.', '-', '^':
			return -1
		case '²':
			return '2'
		}
		return r
	}, strings.ToLower(text[n:]))
	u, isUnit := areaUnitWords[word]
	if !isNumber || !isUnit {
		return "", 0, false
	}
	if u.factor != 1 {
		number = roundTo(number*u.factor, 12) // 0.01 acre is 435.6 ft2, not 435.59999999999997
	}
	areaM2 = number
	if u.canonical == "ft2" {
		areaM2 = number * m2PerFt2
	}
	if areaM2 < leastAreaM2 || areaM2 > mostAreaM2 {
		return "", 0, false
	}
	return strconv.FormatFloat(number, 'f', -1, 64) + " " + u.canonical, areaM2, true
}

// areaInName returns the area that the name of a frame type states, alone or
// at its end, as in "small hoop 2.4 ft2".
func areaInName(name string) (literal string, areaM2 float64, ok bool) {
	for i := range name {
		c := name[i]
		if (c == '.' || c >= '0' && c <= '9') && (i == 0 || name[i-1] == ' ' || name[i-1] == '_' || name[i-1] == '-' || name[i-1] == '(') {
			if literal, areaM2, ok = ParseFrameType(strings.TrimSuffix(name[i:], ")")); ok {
				return literal, areaM2, true
			}
		}
	}
	return "", 0, false
}
