package charts

import (
	"math"
	"strconv"
	"strings"
)

// nbsp keeps a number and its unit on one line.
const nbsp = "\u00a0"

// figures shows weights per area with one number of decimals for a whole
// page, so that columns line up and parts can be compared with totals.
type figures struct{ decimals int }

// figuresFor picks the decimals by the largest mean: three figures or so.
func figuresFor(largest float64) figures {
	switch {
	case largest >= 300:
		return figures{0}
	case largest >= 30:
		return figures{1}
	}
	return figures{2}
}

// figures of a site are chosen by its largest mean.
func (s *Site) figures() figures {
	largest := 0.0
	for i := range s.Series {
		for j := range s.Series[i].Years {
			if m := s.Series[i].Years[j].Mean; m != nil {
				largest = math.Max(largest, math.Abs(*m))
			}
		}
	}
	return figuresFor(largest)
}

// show prints a weight; a missing one is an empty string, and nothing at all
// is a bare 0.
func (f figures) show(v *float64) string {
	switch {
	case v == nil:
		return ""
	case *v == 0:
		return "0"
	}
	return fixed(*v, f.decimals)
}

// span prints an interval, empty when either end is missing.
func (f figures) span(low, high *float64) string {
	if low == nil || high == nil {
		return ""
	}
	return f.show(low) + " to " + f.show(high)
}

// fixed prints v with so many decimals, thousands apart by commas, a true
// minus sign, and never "-0".
func fixed(v float64, decimals int) string {
	s := strconv.FormatFloat(math.Abs(v), 'f', decimals, 64)
	whole, rest, _ := strings.Cut(s, ".")
	var b strings.Builder
	if v < 0 && strings.Trim(s, "0.") != "" {
		b.WriteString("−")
	}
	for i, c := range whole {
		if i > 0 && (len(whole)-i)%3 == 0 {
			b.WriteByte(',')
		}
		b.WriteRune(c)
	}
	if rest != "" {
		b.WriteString("." + rest)
	}
	return b.String()
}

// trimmed prints v with at most so many decimals and no trailing zeros.
func trimmed(v float64, decimals int) string {
	s := fixed(v, decimals)
	if strings.Contains(s, ".") {
		s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	}
	return s
}

// percent prints a percentage for reading: whole from ten up, one decimal
// below.
func percent(v *float64) string {
	if v == nil {
		return ""
	}
	if math.Abs(*v) >= 9.95 {
		return fixed(*v, 0)
	}
	return trimmed(*v, 1)
}

// share prints a share such as a confidence of 0.9 as "90 %".
func share(v float64) string { return trimmed(100*v, 2) + nbsp + "%" }

// count prints a whole number, empty when missing.
func count(v *int) string {
	if v == nil {
		return ""
	}
	return fixed(float64(*v), 0)
}
