package intake

import (
	"math"
	"strconv"
	"strings"
)

// parseNumber reads a decimal number: digits, at most one decimal point, an
// optional sign and exponent. Where it is none, what says why and do how to
// mend it; both are "" otherwise. Minus zero is zero.
func parseNumber(s string) (v float64, what, do string) {
	if v, ok := plainNumber(s); ok {
		return v, "", ""
	}
	if !isDecimal(s) {
		what, do = numberFault(s)
		return 0, what, do
	}
	v, err := strconv.ParseFloat(s, 64)
	if err != nil || math.IsInf(v, 0) {
		return 0, "is too large a number", "check the digits and the exponent"
	}
	return v + 0, "", ""
}

// powersOfTen are exact, as a float64 holds them up to 10^22.
var powersOfTen = [...]float64{1, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15}

// plainNumber reads what nearly all cells hold: up to 15 digits and perhaps a
// decimal point. Digits and power of ten are then both exact, so that one
// division rounds correctly (Clinger 1990, the fast path).
func plainNumber(s string) (float64, bool) {
	if len(s) > 16 {
		return 0, false
	}
	var digits uint64
	count, decimals, point := 0, 0, false
	for i := 0; i < len(s); i++ {
		switch c := s[i]; {
		case c >= '0' && c <= '9':
			digits = digits*10 + uint64(c-'0')
			count++
			if point {
				decimals++
			}
		case c == '.' && !point:
			point = true
		default:
			return 0, false
		}
	}
	if count == 0 || count > 15 {
		return 0, false
	}
	return float64(digits) / powersOfTen[decimals], true
}

// isDecimal tells whether s is [sign] digits [. digits] [e [sign] digits],
// with a digit before or after the point.
func isDecimal(s string) bool {
	s = trimSign(s)
	whole := leadingDigits(s)
	s = s[whole:]
	decimals := 0
	if strings.HasPrefix(s, ".") {
		decimals = leadingDigits(s[1:])
		s = s[1+decimals:]
	}
	if whole+decimals == 0 {
		return false
	}
	if s == "" {
		return true
	}
	if s[0] != 'e' && s[0] != 'E' {
		return false
	}
	s = trimSign(s[1:])
	return s != "" && leadingDigits(s) == len(s)
}

// trimSign takes off one sign.
func trimSign(s string) string {
	if s != "" && (s[0] == '+' || s[0] == '-') {
		return s[1:]
	}
	return s
}

// leadingDigits counts the digits at the start of s.
func leadingDigits(s string) int {
	n := 0
	for n < len(s) && s[n] >= '0' && s[n] <= '9' {
		n++
	}
	return n
}

// numberFault says why a cell is not a number and how to write it.
func numberFault(s string) (what, do string) {
	unsigned := strings.ToLower(trimSign(s))
	switch {
	case strings.HasPrefix(s, "#"):
		return "is a spreadsheet's error message, not a number", "mend the formula and save the file again, or empty the cell"
	case unsigned == "nan" || unsigned == "inf" || unsigned == "infinity" || unsigned == "∞":
		return "is not a number that can be weighed or measured", "empty the cell if the value is missing"
	case strings.Contains(s, ","):
		return commaFault(s)
	case strings.ContainsAny(s, "−–—"):
		if plain := strings.NewReplacer("−", "-", "–", "-", "—", "-").Replace(s); isDecimal(plain) {
			return "has a dash that is not a minus sign", "write " + plain + " with a plain hyphen"
		}
	case strings.HasPrefix(s, "'") && isDecimal(s[1:]):
		return "has an apostrophe before the number", "write " + s[1:]
	case strings.HasSuffix(s, "%") && isDecimal(strings.TrimSpace(s[:len(s)-1])):
		return "has a percent sign", "write " + strings.TrimSpace(s[:len(s)-1])
	case len(strings.Fields(s)) > 1 && isDecimal(strings.Join(strings.Fields(s), "")):
		return "has a space inside the number", "write " + strings.Join(strings.Fields(s), "")
	case s != "" && strings.ContainsRune("<>~≈≤≥±", []rune(s)[0]):
		return "is not a measured value", "write the number alone, or empty the cell if it was not measured"
	case leadingDigits(unsigned) > 0 && !strings.HasPrefix(unsigned, "0x") && !strings.Contains(s, "_"):
		return "has more than a number in it", "write the number alone; its unit stands in the name of the column, remarks belong in note"
	}
	return "is not a number", "write digits with a decimal point, as in 12.5, or empty the cell if the value is missing"
}

// commaFault tells a decimal comma from marks between thousands.
func commaFault(s string) (what, do string) {
	plain := strings.ReplaceAll(s, ",", "")
	pointed := strings.Replace(s, ",", ".", 1)
	groups := strings.Split(trimSign(s), ",")
	thousands := len(groups[0]) >= 1 && len(groups[0]) <= 3 && isDecimal(plain)
	for i, g := range groups[1:] {
		if i == len(groups)-2 {
			g, _, _ = strings.Cut(g, ".")
		}
		thousands = thousands && len(g) == 3
	}
	switch decimal := strings.Count(s, ",") == 1 && isDecimal(pointed); {
	case thousands && decimal:
		return "has a comma in it", "write " + pointed + " or " + plain + ": use a decimal point, and nothing between thousands"
	case thousands:
		return "has commas between thousands", "write " + plain
	case decimal:
		return "has a decimal comma", "use a decimal point: " + pointed
	}
	return "has a comma in it and is not a number", "use a decimal point, and nothing between thousands"
}

// showNumber writes a number for a message, with at most seven digits.
func showNumber(v float64) string {
	return strconv.FormatFloat(roundTo(v, 7), 'f', -1, 64)
}

// roundTo rounds to a number of significant digits.
func roundTo(v float64, digits int) float64 {
	r, err := strconv.ParseFloat(strconv.FormatFloat(v, 'g', digits, 64), 64)
	if err != nil {
		return v
	}
	return r
}
