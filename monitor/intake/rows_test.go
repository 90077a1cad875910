package intake

import (
	"bufio"
	"encoding/csv"
	"errors"
	"io"
	"slices"
	"strings"
	"testing"
)

// The rows are those of encoding/csv, with its lines and offsets, whatever
// the mix of rows that it reads and rows that are cut here.
func FuzzRows(f *testing.F) {
	for _, s := range []string{
		"a,b\n1,2\n", "a,\"b\nc\",d\n\n\r\n1,2,3\n", "a,b\"\n1,2\n\"x\"y\n3\n", "\"open\n1,2\n", "\r\n\r\n,\r\n\"\"\r\n",
		"a\rb\r\"c\rd\"\re", "x,\"\"\"\",y\n1\n", strings.Repeat("abc,def\n", 90) + "\"q\"\n1", "a,b\n\"1\n2\",\"3\"x\nlast",
	} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		text, err := io.ReadAll(&textReader{r: strings.NewReader(s)})
		if err != nil {
			t.Skip()
		}
		want := csv.NewReader(strings.NewReader(string(text)))
		want.FieldsPerRecord = -1
		got := newRowReader(bufio.NewReaderSize(strings.NewReader(string(text)), 4096), ',')
		for {
			wantCells, wantErr := want.Read()
			cells, err := got.read()
			var parse, wantParse *csv.ParseError
			switch {
			case errors.As(wantErr, &wantParse):
				if !errors.As(err, &parse) || parse.Err != wantParse.Err || got.first != wantParse.StartLine || got.last != wantParse.Line {
					t.Fatalf("error %v on lines %d to %d, want %v", err, got.first, got.last, wantErr)
				}
			case wantErr != err:
				t.Fatalf("error %v, want %v", err, wantErr)
			case err == io.EOF:
				return
			default:
				line, _ := want.FieldPos(0)
				if got.first != line || !slices.Equal(cells, wantCells) {
					t.Fatalf("line %d %q, want line %d %q", got.first, cells, line, wantCells)
				}
			}
			if got.to != want.InputOffset() {
				// Trailing empty lines may have been passed over already by one of the two.
				if rest := string(text[min(got.to, want.InputOffset()):max(got.to, want.InputOffset())]); strings.Trim(rest, "\r\n") != "" {
					t.Fatalf("row ends at %d, want %d", got.to, want.InputOffset())
				}
			}
		}
	})
}
