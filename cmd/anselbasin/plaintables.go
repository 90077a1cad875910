package main

// plainTables returns the files in which nothing is drawn at random.
func plainTables() []*table {
	return []*table{
		siteTable(), speciesTable(), frameTypeTable(), bookTable(),
		classTable(), curveTable(), transectTable(), eventTable(),
	}
}

// filled makes a table from rows written out.
func filled(name string, header []string, rows ...[]string) *table {
	t := &table{name: name, header: header}
	for _, row := range rows {
		t.add(row...)
	}
	return t
}

// siteTable describes the six sites. Their coordinates lie in open ocean on
// purpose; the window of rain comes from the scenario itself.
func siteTable() *table {
	t := &table{name: "sites-invented.csv", header: []string{"site", "name", "stratum", "area_ha", "latitude",
		"longitude", "elevation_m", "ecological_site", "components", "sampling_unit", "placement", "selection",
		"frame_type", "year_start_month", "station", "rain_months", "class_scheme", "growth_curve", "note"}}
	for _, row := range [][]string{
		{"QUILL", "Quill Flat", "Valley floor", "420", "44.02", "-150.31", "1320", "loamy shrub flat", "", "frame", "same", "chosen", "9.6 ft2", "1", "ansel-classes", "ansel-shrubland"},
		{"BUTTON", "Button Hollow", "Valley floor", "260", "44.05", "-150.22", "1345", "loamy shrub flat", "", "frame", "new", "random", "9.6 ft2", "1", "ansel-classes", "ansel-shrubland"},
		{"LANTERN", "Lantern Slope", "Foothills", "510", "44.11", "-150.40", "1410", "winter-rain grassland", "", "frame", "new", "random", "0.25 m2", "10", "ansel-classes", ""},
		{"SPINDLE", "Spindle Bench", "Foothills", "640", "44.14", "-150.28", "1480", "stony bench", "", "", "shifted", "random", "2.4 ft2", "1", "ansel-classes", ""},
		{"THIMBLE", "Thimble Ridge", "Uplands", "380", "44.21", "-150.36", "1760", "clayey ridge", "herbaceous;browse", "frame", "new", "random", "2.4 ft2", "1", "ansel-classes", "ansel-upland"},
		{"BUCKLE", "Buckle Draw", "Uplands", "450", "44.24", "-150.19", "1705", "stony bench", "herbaceous@9.6 ft2;browse@435.6 ft2/fall", "frame", "new", "random", "9.6 ft2", "1", "ansel-classes", ""},
	} {
		s := siteOf(row[0])
		cells := append(row[:14:14], s.station, s.window.String())
		t.add(append(append(cells, row[14:]...), "invented: this place does not exist")...)
	}
	return t
}

// speciesTable lists plants by a code made up here and by common name.
func speciesTable() *table {
	return filled("species-invented.csv", []string{"species", "name", "growth_form", "component"},
		[]string{"WHEA1", "wheatgrass", "grass-cool", "herbaceous"},
		[]string{"BLUE1", "bluegrass", "grass-cool", "herbaceous"},
		[]string{"NEED1", "needlegrass", "grass-cool", "herbaceous"},
		[]string{"FESC1", "fescue", "grass-cool", "herbaceous"},
		[]string{"LUPI1", "lupine", "forb-leafy", "herbaceous"},
		[]string{"BALS1", "balsamroot", "forb-leafy", "herbaceous"},
		[]string{"PHLO1", "phlox", "forb-fibrous", "herbaceous"},
		[]string{"SAGE1", "sagebrush", "shrub-evergreen", "browse"},
		[]string{"RABB1", "rabbitbrush", "shrub-deciduous", "browse"},
		[]string{"BITT1", "bitterbrush", "shrub-deciduous", "browse"},
		[]string{"SNOW1", "snowberry", "shrub-deciduous", "browse"},
	)
}

// frameTypeTable gives each frame its area and the dimension it is built by.
func frameTypeTable() *table {
	return filled("frame-types-invented.csv",
		[]string{"frame_type", "area_ft2", "diameter_in", "circumference_in", "width_cm", "length_cm"},
		[]string{"9.6 ft2", "9.6", "", "131.8", "", ""},
		[]string{"2.4 ft2", "2.4", "", "65.9", "", ""},
		[]string{"0.25 m2", "", "", "", "50", "50"},
		[]string{"435.6 ft2", "435.6", "282.6", "", "", ""},
	)
}

// bookTable is a small local table that is offered and not in force.
func bookTable() *table {
	t := &table{name: "book-values-invented.csv", header: []string{"table", "growth_form", "species", "stage", "dm_pct", "basis", "source"}}
	for _, row := range [][]string{
		{"grass-cool", "", "heading", "42"}, {"grass-cool", "", "seed-ripe", "57"}, {"grass-cool", "", "drying", "82"},
		{"forb-fibrous", "", "flowering", "46"}, {"forb-fibrous", "", "seed-ripe", "70"},
		{"shrub-evergreen", "", "full-leaf", "60"}, {"shrub-deciduous", "", "full-leaf", "47"},
		{"", "SAGE1", "full-leaf", "61"}, {"", "RABB1", "full-leaf", "45"},
	} {
		t.add(append(append([]string{"ansel"}, row...), "air-dry", "invented for Ansel Basin")...)
	}
	return t
}

// classTable is the district's own scheme of production classes.
func classTable() *table {
	t := &table{name: "classes-invented.csv", header: []string{"scheme", "component", "unit", "basis", "lower", "upper", "label"}}
	for _, row := range [][]string{
		{"0", "300", "very low"}, {"300", "500", "low"}, {"500", "700", "moderate"},
		{"700", "950", "high"}, {"950", "", "very high"},
	} {
		t.add(append([]string{"ansel-classes", "production", "lb/ac", "air-dry"}, row...)...)
	}
	return t
}

// curveTable holds two growth curves: how much of a year's growth is done by
// a day of the calendar year.
func curveTable() *table {
	return filled("growth-curves-invented.csv", []string{"curve", "day_of_year", "cumulative_pct"},
		[]string{"ansel-shrubland", "60", "0"}, []string{"ansel-shrubland", "91", "6"},
		[]string{"ansel-shrubland", "121", "28"}, []string{"ansel-shrubland", "152", "62"},
		[]string{"ansel-shrubland", "182", "88"}, []string{"ansel-shrubland", "213", "96"},
		[]string{"ansel-shrubland", "274", "100"},
		[]string{"ansel-upland", "80", "0"}, []string{"ansel-upland", "121", "12"},
		[]string{"ansel-upland", "152", "42"}, []string{"ansel-upland", "182", "78"},
		[]string{"ansel-upland", "213", "95"}, []string{"ansel-upland", "274", "100"},
	)
}

// transectTable says where the lines start and how they run.
func transectTable() *table {
	const note = "invented"
	return filled("transects-invented.csv",
		[]string{"site", "transect", "latitude", "longitude", "bearing", "length_m", "side", "offset_m", "note"},
		[]string{"QUILL", "1", "44.0204", "-150.3102", "75", "75", "right", "1.5", note},
		[]string{"SPINDLE", "T1", "44.1401", "-150.2811", "20", "50", "left", "2", note},
		[]string{"SPINDLE", "T2", "44.1408", "-150.2798", "20", "50", "left", "2", note},
		[]string{"SPINDLE", "T3", "44.1416", "-150.2785", "20", "50", "right", "2", note},
		[]string{"SPINDLE", "T4", "44.1423", "-150.2771", "20", "50", "right", "2", note},
	)
}

// eventTable lists what happened on the ground. None of it moves the truth.
func eventTable() *table {
	return filled("events-invented.csv", []string{"site", "stratum", "start", "end", "kind", "note"},
		[]string{"BUTTON", "", "2020-06-20", "2020-07-31", "flood", "invented: road washed out, no visit"},
		[]string{"SPINDLE", "", "2016-05-10", "2016-05-12", "spraying", "invented: fence line sprayed, outside the lines"},
		[]string{"", "Valley floor", "2017-08-25", "2017-10-15", "grazing", "invented: late herd, after clipping"},
		[]string{"LANTERN", "", "2019-08-03", "2019-08-04", "fire", "invented: grass fire on the lower edge, outside the frames"},
	)
}
