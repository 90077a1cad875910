package monitor_test

import (
	"strings"
	"testing"

	"clipledger/schema"
	"clipledger/schema/ledgertest"
)

// The mean at five points of dry matter more or less, where book values carry
// more than half of the weight. Ripe cool-season grass is 60 % dry matter by
// the handbook as remembered.
func TestBookValueSensitivity(t *testing.T) {
	const grass = " form=grass-cool stage=seed-ripe"
	for _, tt := range []struct {
		name      string
		settings  map[string]string
		rows      string
		book      float64 // percent of the weight by book values
		low, high float64 // 0: not shown
	}{
		{"all by the book", nil, // 60 and 120: mean 90, and 5 points of 150 g green are 7.5
			"2020 1 herbaceous green=100" + grass + "\n2020 2 herbaceous green=200" + grass, 100, 82.5, 97.5},
		{"an empty frame too", nil,
			"2020 1 herbaceous green=100" + grass + "\n2020 2 herbaceous green=200" + grass + "\n2020 3 - empty", 100, 55, 65},
		{"more than half", nil, // 60 by book and 40 measured: mean 50, half of 100 g green is shifted
			"2020 1 herbaceous green=100" + grass + "\n2020 2 herbaceous dry=40", 60, 47.5, 52.5},
		{"half is not more than half", nil,
			"2020 1 herbaceous green=100" + grass + "\n2020 2 herbaceous dry=60", 50, 0, 0},
		{"the book on the other basis", map[string]string{"basis": "oven-dry"}, // 55 % and 65 % air-dry are 49.5 % and 58.5 % oven-dry
			"2020 1 herbaceous green=100" + grass + "\n2020 2 herbaceous green=200" + grass, 100, 74.25, 87.75},
		{"a fallback is a book value", map[string]string{"fallback-herbaceous": "40"},
			"2020 1 herbaceous green=100\n2020 2 herbaceous green=200", 100, 52.5, 67.5},
	} {
		t.Run(tt.name, func(t *testing.T) {
			path := ledgertest.Path(t, ledgertest.Records{Settings: tt.settings, Sites: siteA("herbaceous"), Clippings: rows(t, tt.rows)})
			m := meanOf(t, path, 2020, "herbaceous")
			near(t, "percent by book values", m.BookPct, tt.book, 1e-9)
			if tt.low == 0 {
				absent(t, "low", m.BookLow)
				silent(t, m, "book-sensitivity")
				return
			}
			near(t, "low", m.BookLow, tt.low, 1e-9)
			near(t, "high", m.BookHigh, tt.high, 1e-9)
			says(t, m, "book-sensitivity", false)
		})
	}
}

// The built-in table says wherever it is used that it is from memory.
func TestHandbookIsMarked(t *testing.T) {
	text := "2020 1 herbaceous green=100 form=grass-cool stage=seed-ripe"
	m := meanOf(t, ledgerOf(t, schema.Site{}, nil, text), 2020, "herbaceous")
	if r, ok := remark(m, "book-values"); !ok || !strings.Contains(r.Text, "from memory and not checked against print") {
		t.Errorf("remark %q", r.Text)
	}
}

// Book sensitivity of transects: a frame counts by its transect's share.
func TestBookSensitivityByTransects(t *testing.T) {
	text := `2020 1 herbaceous green=100 t=A form=grass-cool stage=seed-ripe
		2020 1 herbaceous green=200 t=B form=grass-cool stage=seed-ripe
		2020 2 herbaceous green=400 t=B form=grass-cool stage=seed-ripe`
	m := meanOf(t, ledgerOf(t, schema.Site{SamplingUnit: "transect"}, nil, text), 2020, "herbaceous")
	near(t, "mean", m.Mean, (60+180)/2, 1e-9)
	near(t, "low", m.BookLow, (55+165)/2, 1e-9)
	near(t, "high", m.BookHigh, (65+195)/2, 1e-9)
}

// Which basis the numbers came on is said.
func TestBasisIsSaid(t *testing.T) {
	for _, tt := range []struct {
		rows string
		want []string
	}{
		{"2020 1 herbaceous dry=10 basis=air-dry", nil},
		{"2020 1 herbaceous dry=10 basis=oven-dry", []string{"basis-converted"}},
		{"2020 1 herbaceous dry=10 basis=unknown", []string{"basis-unknown"}},
		{"2020 1 herbaceous green=10 pct=40 basis=oven-dry", []string{"basis-converted"}},
		{"2020 1 herbaceous dry=10 basis=air-dry\n2020 2 herbaceous dry=10 basis=oven-dry", []string{"mixed-bases", "basis-converted"}},
	} {
		m := meanOf(t, ledgerOf(t, schema.Site{}, nil, tt.rows), 2020, "herbaceous")
		for _, code := range []string{"mixed-bases", "basis-converted", "basis-unknown"} {
			if _, said := remark(m, code); said != strings.Contains(strings.Join(tt.want, " "), code) {
				t.Errorf("%q: remark %s there: %v", tt.rows, code, said)
			}
		}
	}
}

// So is a drying sample's basis, and that of a book table.
func TestBasisOfSamplesAndBooksIsSaid(t *testing.T) {
	oven := sample(100, 50, "")
	oven.Basis = schema.OvenDry
	m := meanOf(t, ledgerOf(t, schema.Site{}, nil, "2020 1 herbaceous green=10", oven), 2020, "herbaceous")
	says(t, m, "basis-converted", false)
	oven.Basis = schema.UnknownBasis
	m = meanOf(t, ledgerOf(t, schema.Site{}, nil, "2020 1 herbaceous green=10", oven), 2020, "herbaceous")
	says(t, m, "basis-unknown", false)

	book := "2020 1 herbaceous green=100 form=grass-cool stage=seed-ripe"
	m = meanOf(t, ledgerOf(t, schema.Site{}, map[string]string{"basis": schema.OvenDry}, book), 2020, "herbaceous")
	says(t, m, "basis-converted", false)
	m = meanOf(t, ledgerOf(t, schema.Site{}, nil, book), 2020, "herbaceous")
	silent(t, m, "basis-converted")
}
