package charts

import (
	"encoding/csv"
	"strconv"
	"strings"
	"testing"
)

func readCSV(t *testing.T, content []byte) (header []string, rows []map[string]string) {
	t.Helper()
	records, err := csv.NewReader(strings.NewReader(string(content))).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	for _, rec := range records[1:] {
		row := map[string]string{}
		for i, cell := range rec {
			row[records[0][i]] = cell
		}
		rows = append(rows, row)
	}
	return records[0], rows
}

// TestYearsCSV checks that numbers leave in full precision and that missing
// is an empty cell.
func TestYearsCSV(t *testing.T) {
	r := sampleReport()
	s := &r.Sites[1]
	header, rows := readCSV(t, yearsCSV(r, s))
	if len(header) != len(yearHeader) {
		t.Errorf("%d columns, want %d", len(header), len(yearHeader))
	}
	n := 0
	for i := range s.Series {
		for j := range s.Series[i].Years {
			y, row := &s.Series[i].Years[j], rows[n]
			n++
			for name, v := range map[string]*float64{
				"mean": y.Mean, "sd": y.SD, "se": y.SE, "se_drying": y.SEDrying, "df": y.DF, "cv_pct": y.CVPct,
				"ci_low": y.Low, "ci_high": y.High, "hall_low": y.HallLow, "hall_high": y.HallHigh,
				"half_width_pct": y.HalfWidthPct, "n_required": y.Required, "book_value_pct": y.BookPct,
				"book_low": y.BookLow, "book_high": y.BookHigh,
			} {
				if v == nil {
					if row[name] != "" {
						t.Errorf("%d %s: missing is written as %q", y.Year, name, row[name])
					}
					continue
				}
				if got, err := strconv.ParseFloat(row[name], 64); err != nil || got != *v {
					t.Errorf("%d %s: got %q, want exactly %v", y.Year, name, row[name], *v)
				}
			}
			if row["year"] != strconv.Itoa(y.Year) || row["n"] != strconv.Itoa(y.N) || row["component"] != s.Series[i].Component {
				t.Errorf("row %d is of another year: %v", n, row)
			}
		}
	}
	if n != len(rows) {
		t.Errorf("%d rows, want %d", len(rows), n)
	}
}

// TestFramesCSV checks that every point of the charts is in the file.
func TestFramesCSV(t *testing.T) {
	r := sampleReport()
	s := &r.Sites[0]
	_, rows := readCSV(t, framesCSV(r, s))
	n := 0
	for i := range s.Series {
		for j := range s.Series[i].Years {
			for _, v := range s.Series[i].Years[j].Frames {
				if got, err := strconv.ParseFloat(rows[n]["value"], 64); err != nil || got != v {
					t.Errorf("point %d: got %q, want exactly %v", n, rows[n]["value"], v)
				}
				n++
			}
		}
	}
	if n == 0 || n != len(rows) {
		t.Errorf("%d rows, want %d", len(rows), n)
	}
}

func TestSitesCSV(t *testing.T) {
	r := sampleReport()
	_, rows := readCSV(t, sitesCSV(r))
	if len(rows) != len(r.Sites) {
		t.Fatalf("%d rows, want %d", len(rows), len(r.Sites))
	}
	if got, want := rows[0]["mean"], full(*r.Sites[0].Series[0].latest().Mean); got != want {
		t.Errorf("mean is %q, want %q", got, want)
	}
	if rows[4]["site"] != "DF-05" || rows[4]["mean"] != "" || rows[4]["n"] != "" {
		t.Errorf("a site never clipped: %v", rows[4])
	}
}

func TestTextCells(t *testing.T) {
	for in, want := range map[string]string{
		"=cmd()": "'=cmd()", "+1": "'+1", "-1": "'-1", "@x": "'@x", "'=x": "''=x", "\t=x": "'\t=x", "\rx": "'\rx",
		"plain": "plain", "": "", "a=b": "a=b", "'quoted'": "'quoted'", "'": "'", "é-": "é-",
	} {
		if got := text(in); got != want {
			t.Errorf("text(%q) = %q, want %q", in, got, want)
		}
	}
}
