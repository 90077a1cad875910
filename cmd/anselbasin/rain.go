package main

import (
	"fmt"
	"strconv"
)

// rainSeed fixes the weather of the scenario: one in which the rain of LOW and
// FOOT runs level over the years, so that no trend is rain there.
const rainSeed = 18032

// window is the run of months whose rain the plants of a site answer to. A
// window that starts after it ends begins in the calendar year before.
type window struct{ from, to int }

// String writes the window as a rain_months cell.
func (w window) String() string { return fmt.Sprintf("%d-%d", w.from, w.to) }

// station is an invented rain gauge: how wet it is beside the basin's usual
// months, and by which part of the mean its growth-year rain rises each year.
type station struct {
	name string
	wet  float64
	rise float64
}

// stations of the basin. Only HIGH has a trend: the rain that makes the
// production of Thimble Ridge rise.
var stations = []station{{"LOW", 0.85, 0}, {"FOOT", 1.1, 0}, {"HIGH", 1.3, 0.05}}

// usualMonth is the basin's usual rain in mm, January first.
var usualMonth = [12]float64{34, 30, 32, 33, 38, 24, 12, 10, 16, 28, 34, 36}

// rainGauge holds monthly rain in mm by calendar year, January at index 0.
type rainGauge map[int]*[12]float64

// fall sums the window's rain for a growth year.
func (g rainGauge) fall(w window, year int) float64 {
	sum := 0.0
	for m := w.from; m != w.to%12+1; m = m%12 + 1 {
		y := year
		if w.from > w.to && m >= w.from {
			y--
		}
		sum += g[y][m-1]
	}
	return sum
}

// falls gives the window's rain of every growth year.
func (g rainGauge) falls(w window) []float64 {
	out := make([]float64, 0, yearCount)
	for _, y := range growthYears() {
		out = append(out, g.fall(w, y))
	}
	return out
}

// weather draws the rain of all stations: a month's wetness shared by the
// whole basin, a part of the station's own, and the planted rise.
func weather() map[string]rainGauge {
	shared := stream(rainSeed, "basin")
	basin := map[int]*[12]float64{}
	for y := rainFrom; y <= lastYear; y++ {
		basin[y] = new([12]float64)
		for m := range 12 {
			basin[y][m] = float64(usualMonth[m] * lognormal(shared, 0.5))
		}
	}
	out := map[string]rainGauge{}
	for _, s := range stations {
		out[s.name] = s.gauge(basin)
	}
	return out
}

// gauge makes one station's record out of the basin's rain.
func (s station) gauge(basin map[int]*[12]float64) rainGauge {
	r := stream(rainSeed, s.name)
	g := rainGauge{}
	for y := rainFrom; y <= lastYear; y++ {
		g[y] = new([12]float64)
		for m := range 12 {
			year := float64(y)
			if m >= 9 {
				year++
			}
			rise := 1 + float64(s.rise*(year-(firstYear+lastYear)/2.0))
			mm := float64(basin[y][m] * s.wet)
			g[y][m] = rounded(float64(float64(mm*rise)*lognormal(r, 0.25)), 1)
		}
	}
	return g
}

// rainTable writes the gauges. One summer month of LOW was never read; it
// lies outside every site's window.
func rainTable(gauges map[string]rainGauge) *table {
	t := &table{name: "rain-invented.csv", header: []string{"station", "year", "month", "rain_mm"}}
	for _, s := range stations {
		for y := rainFrom; y <= lastYear; y++ {
			for m := range 12 {
				mm := num(gauges[s.name][y][m], 1)
				if s.name == "LOW" && y == 2012 && m == 7 {
					mm = "NA"
				}
				t.add(s.name, strconv.Itoa(y), strconv.Itoa(m+1), mm)
			}
		}
	}
	return t
}
