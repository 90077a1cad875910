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

// areaUnitWords are the ways to write a unit of area, without spaces, dots,
// hyphens and carets and with 2 for ².
var areaUnitWords = map[string]unit{
	"m2": {"m2", 1}, "sqm": {"m2", 1}, "msq": {"m2", 1}, "squaremeter": {"m2", 1}, "squaremeters": {"m2", 1},
	"squaremetre": {"m2", 1}, "squaremetres": {"m2", 1}, "sqmeter": {"m2", 1}, "sqmeters": {"m2", 1}, "sqmetre": {"m2", 1}, "sqmetres": {"m2", 1},
	"ft2": {"ft2", m2PerFt2}, "sqft": {"ft2", m2PerFt2}, "ftsq": {"ft2", m2PerFt2}, "sqfeet": {"ft2", m2PerFt2}, "sqfoot": {"ft2", m2PerFt2},
	"squarefeet": {"ft2", m2PerFt2}, "squarefoot": {"ft2", m2PerFt2}, "squareft": {"ft2", m2PerFt2}, "feet2": {"ft2", m2PerFt2},
	"cm2": {"cm2", 0.0001}, "sqcm": {"cm2", 0.0001}, "squarecentimeters": {"cm2", 0.0001}, "squarecentimetres": {"cm2", 0.0001},
	"in2": {"in2", metresPerInch * metresPerInch}, "sqin": {"in2", metresPerInch * metresPerInch}, "squareinches": {"in2", metresPerInch * metresPerInch},
	"ac": {"ac", m2PerAcre}, "acre": {"ac", m2PerAcre}, "acres": {"ac", m2PerAcre},
}

// ParseFrameType reads a frame type that is written as its area, such as
// "9.6 ft2", "9.6ft²", "435.6 sq ft" or "0.25 M^2". It returns the one way in
// which the ledger writes it ("9.6 ft2", "0.25 m2") and the area in m²; ok is
// false where the text is not an area, or none that a frame can have.
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
	areaM2 = number * u.factor
	if !isNumber || !isUnit || areaM2 < leastAreaM2 || areaM2 > mostAreaM2 {
		return "", 0, false
	}
	return strconv.FormatFloat(number, 'f', -1, 64) + " " + u.ending, areaM2, true
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
