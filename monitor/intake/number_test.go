package intake

import (
	"math"
	"strconv"
	"testing"
)

func TestParseNumber(t *testing.T) {
	for s, want := range map[string]float64{
		"0": 0, "12.5": 12.5, ".5": 0.5, "5.": 5, "007": 7, "+3": 3, "-3.25": -3.25, "-0": 0, "1e3": 1000, "2.5E-2": 0.025,
		"0.1": 0.1, "123456789012345": 123456789012345, "1234567890123456789": 1234567890123456789, "0.000000000000001": 1e-15,
		"3.141592653589793238": math.Pi, "9.6": 9.6, "435.6": 435.6,
	} {
		got, what, do := parseNumber(s)
		if got != want || what != "" || do != "" || math.Signbit(got) && got == 0 {
			t.Errorf("%s: %v %q %q, want %v", s, got, what, do, want)
		}
	}
}

func TestNumberFaults(t *testing.T) {
	const plain = "is not a number; write digits with a decimal point, as in 12.5, or empty the cell if the value is missing"
	const more = "has more than a number in it; write the number alone; its unit stands in the name of the column, remarks belong in note"
	const comma = "has a comma in it and is not a number; use a decimal point, and nothing between thousands"
	for s, want := range map[string]string{
		"":          plain,
		"abc":       plain,
		".":         plain,
		"1e":        more,
		"--1":       plain,
		"0x10":      plain,
		"1_000":     plain,
		"1.2.3":     more,
		"12.5 g":    more,
		"12.5*":     more,
		"1/2":       more,
		"12,5":      "has a decimal comma; use a decimal point: 12.5",
		"0,125":     "has a comma in it; write 0.125 or 0125: use a decimal point, and nothing between thousands",
		"1,234":     "has a comma in it; write 1.234 or 1234: use a decimal point, and nothing between thousands",
		"1,234.5":   "has commas between thousands; write 1234.5",
		"1,234,567": "has commas between thousands; write 1234567",
		"1,2,3":     comma,
		"a,b":       comma,
		"1.234,5":   comma,
		"NaN":       "is not a number that can be weighed or measured; empty the cell if the value is missing",
		"-Inf":      "is not a number that can be weighed or measured; empty the cell if the value is missing",
		"1e999":     "is too large a number; check the digits and the exponent",
		"#N/A":      "is a spreadsheet's error message, not a number; mend the formula and save the file again, or empty the cell",
		"−111.5":    "has a dash that is not a minus sign; write -111.5 with a plain hyphen",
		"'12":       "has an apostrophe before the number; write 12",
		"12 %":      "has a percent sign; write 12",
		"1 234.5":   "has a space inside the number; write 1234.5",
		"<0.1":      "is not a measured value; write the number alone, or empty the cell if it was not measured",
	} {
		_, what, do := parseNumber(s)
		if got := what + "; " + do; got != want {
			t.Errorf("%q:\n got %s\nwant %s", s, got, want)
		}
	}
}

// What is taken as a number is a decimal one, and its value is the one that
// the standard library gives; what is not has a reason and a remedy.
func FuzzNumber(f *testing.F) {
	for _, s := range []string{"0", "12.5", "-3e-7", "0x1p4", "1_0", "NaN", "1,5", "1,234.5", "−2", "12 g", "#REF!", "999999999999999.9", "+.5", "5%", "1e400", "'3"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		v, what, do := parseNumber(s)
		if what != "" {
			if do == "" || v != 0 {
				t.Fatalf("%q: value %v, reason %q without a remedy", s, v, what)
			}
			return
		}
		want, err := strconv.ParseFloat(s, 64)
		if err != nil || v != want || math.IsInf(v, 0) || math.IsNaN(v) {
			t.Fatalf("%q: %v, want %v %v", s, v, want, err)
		}
		for _, c := range s {
			if (c < '0' || c > '9') && c != '.' && c != '+' && c != '-' && c != 'e' && c != 'E' {
				t.Fatalf("%q was taken as a number", s)
			}
		}
	})
}
