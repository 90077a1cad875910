package main

import (
	"math/rand/v2"
	"time"
)

// The scenario's growth years, and the first calendar year with rain.
const (
	firstYear = 2011
	lastYear  = 2024
	rainFrom  = 2010
	yearCount = lastYear - firstYear + 1
)

// growthYears lists the growth years in order.
func growthYears() []int {
	out := make([]int, yearCount)
	for i := range out {
		out[i] = firstYear + i
	}
	return out
}

// centredYears gives the years as distances from the middle of the record.
func centredYears() []float64 {
	out := make([]float64, yearCount)
	for i := range out {
		out[i] = float64(i) - float64(yearCount-1)/2
	}
	return out
}

// outing draws a clipping date within spread days of the usual one.
func outing(r *rand.Rand, year int, month time.Month, day, spread int) time.Time {
	shift := r.IntN(2*spread+1) - spread
	return time.Date(year, month, day+shift, 0, 0, 0, 0, time.UTC)
}

// iso writes a date as year-month-day.
func iso(t time.Time) string { return t.Format(time.DateOnly) }
