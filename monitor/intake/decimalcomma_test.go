package intake

import "testing"

func TestCommaNumber(t *testing.T) {
	for s, want := range map[string]float64{"12,5": 12.5, "12": 12, "-0,5": -0.5, ",5": 0.5, "1,5e3": 1500} {
		if v, what, do := parseCommaNumber(s); v != want || what != "" || do != "" {
			t.Errorf("%q: %v %q %q, want %v", s, v, what, do, want)
		}
	}
	for s, want := range map[string]string{
		"12.5":    "has a decimal point, where --decimal-comma says that numbers have a comma; write 12,5 if that is meant, or leave --decimal-comma away if all numbers have a point",
		"1.234,5": "has points between thousands; write 1234,5",
		"1.2.3":   "is not a number; write digits with a decimal comma, as in 12,5, or empty the cell if the value is missing",
		"1,2,3":   "has more than one comma in it; use one decimal comma, and nothing between thousands",
		"x":       "is not a number; write digits with a decimal comma, as in 12,5, or empty the cell if the value is missing",
		"−1,5":    "has a dash that is not a minus sign; write -1,5 with a plain hyphen",
	} {
		if _, what, do := parseCommaNumber(s); what+"; "+do != want {
			t.Errorf("%q: %s; %s\nwant %s", s, what, do, want)
		}
	}
}

func TestDecimalComma(t *testing.T) {
	r := readString(t, Clippings, "site;year;frame;component;frame_type;dry_g\nA;2020;1;browse;0,25 m2;12,5\nA;2020;2;browse;9.6 ft2;12.5\nA;2020;3;browse;9.6 ft2;T\n", Options{DecimalComma: true})
	wantLines(t, "problems", r.problems, []string{`f.csv:3: column dry_g: "12.5": has a decimal point, where --decimal-comma says that numbers have a comma; write 12,5 if that is meant, or leave --decimal-comma away if all numbers have a point`})
	if len(r.records) != 2 || r.records[0].DryG.Float64 != 12.5 || r.records[0].FrameType != "0.25 m2" {
		t.Errorf("records %+v", r.records)
	}
	rain := readString(t, Rains, "station,year,month,rain_mm\nA,2020,1,5\n", Options{DecimalComma: true})
	wantLines(t, "commas", rain.problems, []string{`f.csv:1: cells are separated by commas, so a comma cannot be the decimal mark; save the file with semicolons or tabs between cells, or leave --decimal-comma away`})
	rain = readString(t, Rains, "station;year;month;rain_mm\nA;2020;1;5,5\n", Options{})
	wantLines(t, "not said", rain.problems, []string{`f.csv:2: column rain_mm: "5,5": has a decimal comma; use a decimal point: 5.5`})
}
