package intake

import (
	"regexp"
	"strings"
)

// parseCommaNumber reads a number whose decimal mark is a comma, and is else
// as parseNumber takes it. A point is refused: it can stand between thousands
// or be a decimal mark after all, and a factor of a thousand hangs on it.
func parseCommaNumber(s string) (v float64, what, do string) {
	if strings.Contains(s, ".") {
		what, do = pointFault(s)
		return 0, what, do
	}
	if strings.Count(s, ",") > 1 {
		return 0, "has more than one comma in it", "use one decimal comma, and nothing between thousands"
	}
	v, what, do = parseNumber(strings.Replace(s, ",", ".", 1))
	return v, what, withComma(do)
}

// pointFault says what is wrong with a number that has a decimal point where
// numbers have a comma.
func pointFault(s string) (what, do string) {
	switch whole, decimals, comma := strings.Cut(s, ","); {
	case comma && isDecimal(strings.ReplaceAll(whole, ".", "")+"."+decimals):
		return "has points between thousands", "write " + strings.ReplaceAll(whole, ".", "") + "," + decimals
	case !comma && isDecimal(s):
		return "has a decimal point, where --decimal-comma says that numbers have a comma",
			"write " + strings.Replace(s, ".", ",", 1) + " if that is meant, or leave --decimal-comma away if all numbers have a point"
	}
	return "is not a number", "write digits with a decimal comma, as in 12,5, or empty the cell if the value is missing"
}

// pointInNumber is a decimal point.
var pointInNumber = regexp.MustCompile(`(\d)\.(\d)`)

// withComma words advice about numbers for those with a decimal comma.
func withComma(do string) string {
	return pointInNumber.ReplaceAllString(strings.ReplaceAll(do, "decimal point", "decimal comma"), "$1,$2")
}
