package main

import (
	"math/rand/v2"
	"strconv"
	"time"
)

// lantern writes the winter-rain grassland, whose growth year starts in
// October, in two files: the first years by growth year in oven-dry kg/ha, as
// an older office kept them, then every bag's oven-dry weight from square
// frames. After October, regrowth counts for the growth year that follows.
func lantern(w *world) {
	s := siteOf("LANTERN")
	r := stream(s.seed, "LANTERN frames")
	lanternArea(w, r)
	t := &table{
		name:   "clippings-lantern-2014-2024-invented.csv",
		header: []string{"Site", "Date", "Season", "Frame", "Component", "Dry g", "Basis", "Note"},
		excel:  true,
	}
	for y := 2014; y <= lastYear; y++ {
		if y == 2016 || y == 2020 {
			regrowth(w, t, r, y)
		}
		lanternSpring(w, t, r, y)
	}
	w.files = append(w.files, t)
}

// lanternArea writes the years that came as weight per area.
func lanternArea(w *world, r *rand.Rand) {
	t := &table{
		name:   "clippings-lantern-2011-2013-invented.csv",
		header: []string{"site", "year", "frame", "component", "dry_kg_ha", "basis", "note"},
	}
	for y := firstYear; y < 2014; y++ {
		for f := 1; f <= 10; f++ {
			dry := lanternDraw(w, r, "herbaceous", "peak", y)
			kgHa := float64(dry * 10 * ovenShare)
			t.add("LANTERN", strconv.Itoa(y), label(f), "herbaceous", num(kgHa, 0), "oven-dry", firstNote(t))
		}
	}
	w.files = append(w.files, t)
}

// lanternSpring writes a spring's frames: few until 2017, more since; standing
// dead growth and litter where they were found, litter since 2016.
func lanternSpring(w *world, t *table, r *rand.Rand, y int) {
	date := outing(r, y, time.May, 12, 7)
	n := 14
	if y < 2018 {
		n = 8
	}
	for f := 1; f <= n; f++ {
		lanternBag(w, t, r, date, y, "peak", "herbaceous", f)
		lanternFound(w, t, r, date, "standing-dead", f)
		if y >= 2016 {
			lanternFound(w, t, r, date, "litter", f)
		}
	}
}

// lanternFound writes a bag of what only a part of the frames hold; where it
// is not found nothing is written.
func lanternFound(w *world, t *table, r *rand.Rand, date time.Time, component string, frame int) {
	if r.Float64() < lanternShare(component) {
		lanternBag(w, t, r, date, date.Year(), "peak", component, frame)
		return
	}
	w.saw("LANTERN", component, "peak", date.Year(), 0)
}

// regrowth writes a November cut: eight frames, counted for the next year.
func regrowth(w *world, t *table, r *rand.Rand, y int) {
	date := outing(r, y-1, time.November, 14, 6)
	for f := 1; f <= 8; f++ {
		lanternBag(w, t, r, date, y, "fall", "herbaceous", f)
	}
}

// lanternBag writes one dried bag. The season is written only where it is not
// the usual one.
func lanternBag(w *world, t *table, r *rand.Rand, date time.Time, y int, season, component string, frame int) {
	dry := lanternDraw(w, r, component, season, y)
	grams := float64(float64(dry*areaSquare) * ovenShare)
	shown := season
	if season == "peak" {
		shown = ""
	}
	t.add("LANTERN", iso(date), shown, label(frame), component, weighed(grams, 1), "oven-dry", firstNote(t))
}

// lanternDraw draws a frame's true air-dry g/m².
func lanternDraw(w *world, r *rand.Rand, component, season string, y int) float64 {
	dry := float64(w.mean("LANTERN", component, season, y)*lognormal(r, 0.45)) / lanternShare(component)
	w.saw("LANTERN", component, season, y, dry)
	return dry
}

// lanternShare is the part of the frames that hold a component.
func lanternShare(component string) float64 {
	switch component {
	case "standing-dead":
		return 0.7
	case "litter":
		return 0.9
	}
	return 1
}
