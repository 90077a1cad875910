package main

import (
	"bytes"
	"encoding/csv"
	"math"
	"strconv"
)

// table is one delimited file in the shape its invented author saved it in.
type table struct {
	name   string
	header []string
	rows   [][]string
	comma  rune // zero means a comma
	excel  bool // byte order mark in front and CRLF line ends
}

// add appends one row, its cells in the order of the header.
func (t *table) add(cells ...string) {
	if len(cells) != len(t.header) {
		panic(t.name + ": row and header differ in length")
	}
	t.rows = append(t.rows, cells)
}

// bytes renders the file.
func (t *table) bytes() []byte {
	var b bytes.Buffer
	if t.excel {
		b.WriteString("\ufeff")
	}
	w := csv.NewWriter(&b)
	w.UseCRLF = t.excel
	if t.comma != 0 {
		w.Comma = t.comma
	}
	w.Write(t.header)
	w.WriteAll(t.rows)
	return b.Bytes()
}

// num writes x with a fixed number of decimals.
func num(x float64, decimals int) string {
	return strconv.FormatFloat(x, 'f', decimals, 64)
}

// weighed writes a weight as read off a scale with that many decimals: what
// is there but too light for the scale is a trace, T.
func weighed(x float64, decimals int) string {
	if x > 0 && rounded(x, decimals) == 0 {
		return "T"
	}
	return num(x, decimals)
}

// rounded is x as num would write it.
func rounded(x float64, decimals int) float64 {
	p := math.Pow10(decimals)
	return math.Round(float64(x*p)) / p
}

// decimals is the reading of the field scales: whole grams on the old spring
// scales, tenths since the electronic ones came in 2017.
func decimals(year int) int {
	if year < 2017 {
		return 0
	}
	return 1
}
