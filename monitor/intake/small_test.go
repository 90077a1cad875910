package intake

import (
	"math"
	"reflect"
	"slices"
	"strings"
	"testing"

	"clipledger/schema"
)

// Every quantity of a small kind has a field, or its cells would be dropped.
func TestSmallKindsHaveAFieldForEveryColumn(t *testing.T) {
	for kindName, c := range map[string]struct {
		columns []string
		row     any
	}{
		"drying": {quantities(dryingColumns()), dryingRow{}}, "sites": {quantities(siteColumns()), siteRow{}},
		"species": {quantities(plain(speciesColumns...)), speciesRow{}}, "book-values": {quantities(plain(bookColumns...)), bookRow{}},
		"frame-types": {quantities(frameTypeColumns()), frameTypeRow{}}, "rain": {quantities(rainColumns()), rainRow{}},
		"estimates": {quantities(estimateColumns()), estimateRow{}}, "growth-curves": {quantities(plain(curveColumns...)), curveRow{}},
		"classes": {quantities(plain(classColumns...)), classRow{}}, "transects": {quantities(transectColumns()), transectRow{}},
		"events": {quantities(plain(eventColumns...)), eventRow{}},
	} {
		var tags []string
		for f := range reflect.TypeOf(c.row).Fields() {
			tags = append(tags, f.Tag.Get("csv"))
		}
		slices.Sort(tags)
		if !slices.Equal(tags, c.columns) {
			t.Errorf("%s: fields %v, quantities %v", kindName, tags, c.columns)
		}
	}
}

// quantities lists the quantities of columns, sorted.
func quantities(columns []column) (names []string) {
	for _, c := range columns {
		names = append(names, c.quantity)
	}
	slices.Sort(names)
	return slices.Compact(names)
}

func TestDryings(t *testing.T) {
	r := readString(t, Dryings, `Site,date,year,season,component,species,growth form,stage,transect,frame,bag,basis,Green oz,dry_g
Upper Bench,2019-06-03,2019,,browse,SAGE1,Shrub Evergreen,heading,,7,b,oven dry,2,20
Upper Bench,,2019,fall,herbaceous,,,,3,,,,1,10
`, Options{})
	wantLines(t, "problems", r.problems, nil)
	wantLines(t, "notices", r.summary.Notices, nil)
	want := []schema.Drying{
		{Line: 2, Site: "Upper Bench", Date: "2019-06-03", Year: 2019, Season: "peak", Component: schema.Browse, Species: "SAGE1", GrowthForm: "shrub-evergreen",
			Transect: "1", Frame: "7", Bag: "b", GreenG: 56.69904625, DryG: 20, Basis: "oven-dry", Stage: "heading"},
		{Line: 3, Site: "Upper Bench", Year: 2019, Season: "fall", Component: schema.Herbaceous, Transect: "3", GreenG: 28.349523125, DryG: 10},
	}
	if !slices.Equal(r.records, want) {
		t.Errorf("got %+v\nwant %+v", r.records, want)
	}
}

func TestDryingGross(t *testing.T) {
	r := readString(t, Dryings, "site,year,component,green_gross_g,dry_gross_g,tare_g\nUpper Bench,2019,browse,100,60,20\nUpper Bench,2019,browse,100,20,20\nUpper Bench,2019,browse,100,,20\n", Options{})
	wantLines(t, "problems", r.problems, []string{
		`f.csv:3: column dry_gross_g: "20": makes a dry weight of zero, from which no dry-matter fraction comes; correct it, or remove the row`,
		`f.csv:4: column dry_gross_g: "": is missing; write what the sample weighed dry, or remove the row`,
	})
	if len(r.records) != 1 || r.records[0].GreenG != 80 || r.records[0].DryG != 40 {
		t.Errorf("records %+v, want 80 and 40 g", r.records)
	}
}

func TestDryingProblems(t *testing.T) {
	r := readString(t, Dryings, `site,date,year,component,green_g,dry_g
Upper Bench,,,browse,50,20
Upper Bench,,2019,,50,20
Upper Bench,,2019,browse,0,0
Upper Bench,,2019,browse,,20
Upper Bench,,2019,browse,50,
Upper Bench,,2019,browse,50,60
Upper Bench,,2019,browse,T,1
Upper Bench,,2019,browse,50,lost
Upper Bench,,2019,browse,x,20
Upper Bench,,2019,browse,50,20
Upper Bench,,2019,browse,50,20
Upper Bench,,2019,browse,50,21
Upper Bench,2001-06-03,2019,browse,50,20
`, Options{})
	wantLines(t, "problems", r.problems, []string{
		`f.csv:2: the row has neither a date nor a year; fill one of them`,
		`f.csv:3: column component: "": is missing; write browse, herbaceous, litter or standing-dead`,
		`f.csv:4: column green_g: "0": makes a green weight of zero, from which no dry-matter fraction comes; correct it, or remove the row`,
		`f.csv:4: column dry_g: "0": makes a dry weight of zero, from which no dry-matter fraction comes; correct it, or remove the row`,
		`f.csv:5: column green_g: "": is missing; write what the sample weighed green, or remove the row`,
		`f.csv:6: column dry_g: "": is missing; write what the sample weighed dry, or remove the row`,
		`f.csv:7: column dry_g: "60": makes 60 g dry, more than the 50 g green of the same bag; check both weights, and whether they are swapped`,
		`f.csv:8: a drying sample needs two weights, not a trace or a lost bag; remove the row, or write the weights`,
		`f.csv:9: a drying sample needs two weights, not a trace or a lost bag; remove the row, or write the weights`,
		`f.csv:10: column green_g: "x": is not a number; write digits with a decimal point, as in 12.5, or empty the cell if the value is missing`,
		`f.csv:12: the same drying sample, with the same weights, stands in line 11 already; remove one, or tell two samples apart by bag`,
		`f.csv:14: column year: "2019": does not go with the date 2001-06-03; correct the one that is wrong`,
	})
	if len(r.records) != 2 {
		t.Errorf("%d records, want 2", len(r.records))
	}
	r = readString(t, Dryings, "site,green_gross_g\nA,5\n", Options{})
	wantLines(t, "header", r.problems, []string{
		`f.csv:1: columns are missing: date or year; component; dry_g or dry_gross_g; tare_g (the empty bag, to take off green_gross_g); name yours with --map date="...", or give one value for all rows with --set date="..."; the file has "site", "green_gross_g"`})
}

func TestRains(t *testing.T) {
	r := readString(t, Rains, "station,year,month,rain_in\nA,2019,1,2\nA,2019,Feb,T\nA,2019,3,\nA,2019,4,0\n", Options{})
	wantLines(t, "problems", r.problems, nil)
	wantLines(t, "notices", r.summary.Notices, []string{"1 row has no rain value: that month stays missing"})
	want := []schema.Rain{{Line: 2, Station: "A", Year: 2019, Month: 1, RainMM: 50.8}, {Line: 3, Station: "A", Year: 2019, Month: 2}, {Line: 5, Station: "A", Year: 2019, Month: 4}}
	if !slices.Equal(r.records, want) || r.summary.Records != 3 {
		t.Errorf("got %+v\nwant %+v", r.records, want)
	}
	r = readString(t, Rains, "station,year,month,rain_mm\n,2019,1,2\nA,,1,2\nA,2019,,2\nA,2019,13,2\nA,2019,5,-99\nA,2019,5,10001\nA,2019,6,7\nA,2019,june,8\n", Options{})
	wantLines(t, "problems", r.problems, []string{
		`f.csv:2: column station: "": is missing; write the name of the rain gauge`,
		`f.csv:3: column year: "": is missing; write the calendar year`,
		`f.csv:4: column month: "": is missing; write a number from 1 to 12`,
		`f.csv:5: column month: "13": is not a month; write a number from 1 to 12`,
		`f.csv:6: column rain_mm: "-99": is not rain that can fall in a month (0 to 10000 mm); check the digits and the unit; a code for missing values is named with --missing`,
		`f.csv:7: column rain_mm: "10001": is not rain that can fall in a month (0 to 10000 mm); check the digits and the unit; a code for missing values is named with --missing`,
		`f.csv:9: the rain of this station, year and month stands in line 8 already; keep one value for each month`,
	})
}

// Problems come in the order of the file, broken rows among them, and more
// rows than one batch holds are read.
func TestSmallKindsKeepTheOrder(t *testing.T) {
	var b strings.Builder
	b.WriteString("species,name\n")
	for i := range smallBatch + 10 {
		b.WriteString(strings.Repeat("s", i+1)[:min(i+1, 190)] + string(rune('A'+i%26)) + string(rune('A'+i/26)) + ",x\n")
	}
	b.WriteString(",first\nx,y,third\n,second\n")
	r := readString(t, Species, b.String(), Options{})
	wantLines(t, "problems", r.problems, []string{
		`f.csv:268: column species: "": is missing; write the code that the clippings use`,
		`f.csv:269: the row has 3 cells where the header has 2; put a text that contains a comma in quotation marks, and write numbers with a decimal point`,
		`f.csv:270: column species: "": is missing; write the code that the clippings use`,
	})
	if len(r.records) != smallBatch+10 || r.records[smallBatch+9].Line != smallBatch+11 {
		t.Errorf("%d records, want %d", len(r.records), smallBatch+10)
	}
}

func TestSpecies(t *testing.T) {
	r := readString(t, Species, "species,name,growth_form,component\nSAGE1,big sage,Shrub evergreen,Browse\npose,,,\nNEW1,a plant,grass-col,\nSAGE1,again,,\n", Options{})
	wantLines(t, "notices", r.summary.Notices, []string{`species "pose" was taken as "POSE", which the ledger knows`})
	wantLines(t, "problems", r.problems, []string{
		`f.csv:4: column growth_form: "grass-col": is not a known growth form; did you mean grass-cool? Known growth forms are forb-leafy, grass-cool and shrub-evergreen; growth forms come from the book tables: import book-values that have it`,
		`f.csv:5: the same species stands in line 2 already; keep one row for each`,
	})
	want := []schema.Species{{Line: 2, Code: "SAGE1", Name: "big sage", GrowthForm: "shrub-evergreen", Component: schema.Browse}, {Line: 3, Code: "POSE"}}
	if !slices.Equal(r.records, want) {
		t.Errorf("got %+v\nwant %+v", r.records, want)
	}
}

func TestBookValues(t *testing.T) {
	r := readString(t, BookValues, `table,growth_form,species,stage,dm_pct,basis,source
mine,Grass Cool,,Seed_Ripe,60,air,"Smith, p. 4"
mine,Cactus Pad,,After  Rain,12.5,,
mine,,SAGE1,heading,45,,
,,SAGE1,heading,45,,
mine,,,heading,45,,
mine,grass-cool,SAGE1,heading,45,,
mine,grass-cool,,,45,,
mine,grass-cool,,heading,,,
mine,grass-cool,,heading,0,,
mine,grass cool,,seed-ripe,61,,
`, Options{})
	wantLines(t, "problems", r.problems, []string{
		`f.csv:5: column table: "": is missing; write a short name for the table, the same in all its rows`,
		`f.csv:6: the row has neither a growth form nor a species; fill one of them`,
		`f.csv:7: the row has a growth form and a species; a percentage is for one or the other: empty one of them`,
		`f.csv:8: column stage: "": is missing; write the stage of growth that the percentage is for`,
		`f.csv:9: column dm_pct: "": is missing; write the dry weight in percent of the green weight, or remove the row`,
		`f.csv:10: column dm_pct: "0": must be above 0 and at most 100 %; check the digits, the unit and the column`,
		`f.csv:11: the value of this table, growth form or species, and stage stands in line 2 already; keep one of them`,
	})
	want := []schema.BookValue{
		{Line: 2, Table: "mine", GrowthForm: "grass-cool", Stage: "seed-ripe", DMPct: 60, Basis: "air-dry", Source: "Smith, p. 4"},
		{Line: 3, Table: "mine", GrowthForm: "cactus-pad", Stage: "after-rain", DMPct: 12.5},
		{Line: 4, Table: "mine", Species: "SAGE1", Stage: "heading", DMPct: 45},
	}
	if !slices.Equal(r.records, want) {
		t.Errorf("got %+v\nwant %+v", r.records, want)
	}
}

func TestFrameTypes(t *testing.T) {
	const in2 = 0.0254 * 0.0254
	for _, c := range []struct {
		columns, cells, name string
		m2                   float64
	}{
		{"frame_type", "9.6ft²", "9.6 ft2", 9.6 * 0.09290304},
		{"frame_type,area_ft2", "ring,9.6", "ring", 9.6 * 0.09290304},
		{"frame_type,area_m2", "9.6 sq ft,0.892", "9.6 ft2", 9.6 * 0.09290304}, // the name is the area
		{"frame_type,area_cm2", "ring,2500", "ring", 0.25},
		{"frame_type,area_ac", "plot,0.01", "plot", 40.468564224},
		{"frame_type,diameter_in", "hoop,13.25", "hoop", math.Pi * 13.25 * 13.25 / 4 * in2},
		{"frame_type,diameter_cm", "hoop,100", "hoop", math.Pi / 4},
		{"frame_type,circumference_m,area_m2", "hoop,3.545,", "hoop", 3.545 * 3.545 / (4 * math.Pi)},
		{"frame_type,circumference_m,area_m2", "hoop,3.545,1", "hoop", 1},
		{"frame_type,circumference_in", "1.92 ft2,58.95", "1.92 ft2", 1.92 * 0.09290304},
		{"frame_type,width_cm,length_cm", "square,50,50", "square", 0.25},
		{"frame_type,width_in,length_ft", "odd,6,2", "odd", 0.3048 * 0.3048},
		{"frame_type,width_in,length_in", "plate 1.92 ft2,11.75,23.5", "plate 1.92 ft2", 11.75 * 23.5 * in2},
	} {
		r := readString(t, FrameTypes, c.columns+"\n"+c.cells+"\n", Options{})
		wantLines(t, c.cells, r.problems, nil)
		if len(r.records) != 1 || r.records[0].Name != c.name || math.Abs(r.records[0].AreaM2/c.m2-1) > 1e-14 {
			t.Errorf("%s: %+v, want %s %v", c.cells, r.records, c.name, c.m2)
		}
	}
}

func TestFrameTypeProblems(t *testing.T) {
	for _, c := range []struct{ columns, cells, want string }{
		{"frame_type,width_in,length_in", "1.92 ft2,11.5,22", `column frame_type: "1.92 ft2": the name says 0.1783738 m² (1.92 ft²), but width_in times length_in make 0.1632255 m² (1.756944 ft²), 8.5 % less; measure the frame again, and give the area that it has`},
		{"frame_type,area_ft2,width_in,length_in", "plate,1.92,11.5,22", `column area_ft2: "1.92": area_ft2 says 0.1783738 m² (1.92 ft²), but width_in times length_in make 0.1632255 m² (1.756944 ft²), 8.5 % less; measure the frame again, and give the area that it has`},
		{"frame_type,width_in,length_in", "plate 1.92 ft2,11.5,22", `column width_in: "11.5": width_in times length_in make 0.1632255 m² (1.756944 ft²), but the name says 0.1783738 m² (1.92 ft²), 9.3 % more; measure the frame again, and give the area that it has`},
		{"frame_type,area_m2", "9.6 ft2,9.6", `column frame_type: "9.6 ft2": the name says 0.8918692 m² (9.6 ft²), but area_m2 says 9.6 m² (103.3335 ft²), 976.4 % more; measure the frame again, and give the area that it has`},
		{"frame_type,diameter_in,circumference_in", "hoop,13.25,50", `column diameter_in: "13.25": diameter_in makes 0.08895883 m² (0.9575449 ft²), but circumference_in makes 0.1283505 m² (1.381553 ft²), 44.3 % more; measure the frame again, and give the area that it has`},
		{"frame_type,width_cm,length_cm", "hoop,50,", `column length_cm: "": is missing beside width_cm; fill it (a square has both sides alike)`},
		{"frame_type,width_cm,length_cm", "hoop,,50", `column width_cm: "": is missing beside length_cm; fill it (a square has both sides alike)`},
		{"frame_type,width_cm", "hoop,50", `column length_cm: "": is missing beside width_cm; fill it (a square has both sides alike)`},
		{"frame_type,area_m2", "hoop,", `column frame_type: "hoop": has no area; fill area_m2 or area_ft2, diameter_in, circumference_in, or width_cm and length_cm (other units of length do too)`},
		{"frame_type,area_m2", ",1", `column frame_type: "": is missing; write a name, or an area such as 9.6 ft2`},
		{"frame_type,area_m2", "hoop,-1", `column area_m2: "-1": is not an area; write a number above 0`},
		{"frame_type,diameter_cm", "hoop,0", `column diameter_cm: "0": is not a length; write a number above 0`},
		{"frame_type,diameter_cm", "hoop,0.5", `column diameter_cm: "0.5": makes a frame of 0.00001963495 m², which nobody clips; check the digits and the unit`},
		{"frame_type,area_m2", "hoop,x", `column area_m2: "x": is not a number; write digits with a decimal point, as in 12.5, or empty the cell if the value is missing`},
	} {
		r := readString(t, FrameTypes, c.columns+"\n"+c.cells+"\n", Options{})
		wantLines(t, c.cells, r.problems, []string{"f.csv:2: " + c.want})
	}
	r := readString(t, FrameTypes, "frame_type,area_m2\nring A,1\nRing_a,1\n9.6 ft2,\n9.6ft²,\n", Options{})
	wantLines(t, "twice", r.problems, []string{
		`f.csv:3: the same frame type stands in line 2 already; keep one row for each`,
		`f.csv:5: the same frame type stands in line 4 already; keep one row for each`,
	})
}

func TestSites(t *testing.T) {
	r := readString(t, Sites, `site,name,stratum,area_ac,latitude,longitude,elevation_ft,ecological_site,components,sampling_unit,units_possible,placement,selection,frame_type,year_start_month,station,rain_months,class_scheme,growth_curve,double_sampling,note
A,Alpha,North,100,41.5,-111.25,5000,Loamy,herbaceous@9.6 sq ft; Browse@435.6 ft2/Fall;litter/Late Summer,Frame,1000,Same,CHOSEN,0.25m2,Oct,Gauge,10-6,s,g,Ann,"a
note"
B,,,,,,,,,,,,,,,,,,,,
`, Options{})
	wantLines(t, "problems", r.problems, nil)
	wantLines(t, "notices", r.summary.Notices, []string{`season "late-summer" is new`})
	want := []schema.Site{{Line: 2, Site: "A", Name: "Alpha", Stratum: "North", AreaHa: schema.Some(40.468564224), Latitude: schema.Some(41.5), Longitude: schema.Some(-111.25),
		ElevationM: schema.Some(1524), EcologicalSite: "Loamy", Components: []schema.DeclaredComponent{
			{Component: schema.Herbaceous, FrameType: "9.6 ft2"}, {Component: schema.Browse, FrameType: "435.6 ft2", Season: "fall"}, {Component: schema.Litter, Season: "late-summer"}},
		SamplingUnit: "frame", UnitsPossible: 1000, Placement: "same", Selection: "chosen", FrameType: "0.25 m2", YearStartMonth: 10, Station: "Gauge", RainMonths: "10-6",
		ClassScheme: "s", GrowthCurve: "g", DoubleSampling: "Ann", Note: "a\nnote"}, {Line: 4, Site: "B"}}
	if !reflect.DeepEqual(r.records, want) {
		t.Errorf("got %+v\nwant %+v", r.records, want)
	}
}

func TestSiteProblems(t *testing.T) {
	const months = "write the first and the last month as numbers, as in 4-7, or 10-6 from October before"
	for _, c := range []struct{ columns, cells, want string }{
		{"site", "NA", `column site: "": is missing; write the code of the site`},
		{"latitude,longitude", "91,5", `column latitude: "91": is outside -90 to 90 degrees; check the digits, the unit and the column`},
		{"latitude,longitude", "41,-181", `column longitude: "-181": is outside -180 to 180 degrees; check the digits, the unit and the column`},
		{"latitude,longitude", "41.5 N,-111", `column latitude: "41.5 N": has more than a number in it; write the number alone; its unit stands in the name of the column, remarks belong in note`},
		{"latitude,longitude", "41,", `the row has one of latitude and longitude; fill both or neither`},
		{"area_ha", "0", `column area_ha: "0": must be above 0 and at most 10000000 ha; check the digits, the unit and the column`},
		{"elevation_ft", "90000", `column elevation_ft: "90000": is outside -1640.42 to 29527.56 ft; check the digits, the unit and the column`},
		{"components", "herbaceous;grass", `column components: "herbaceous;grass": names "grass", which is not a known component; did you mean herbaceous? Known components are browse, herbaceous, litter and standing-dead`},
		{"components", "browse@ring", `column components: "browse@ring": names "ring", which is not a known frame type; did you mean ring 2019? Known frame types are 9.6 ft2 and ring 2019; write its area with the unit, as in "9.6 ft2" or "0.25 m2", or import a frame-types file that has it`},
		{"components", "browse@", `column components: "browse@": has no frame type after @ in "browse@"; write it as in herbaceous@9.6 ft2, or remove the @`},
		{"components", "browse/", `column components: "browse/": has no season after / in "browse/"; write it as in herbaceous/fall, or remove the /`},
		{"components", "browse;Browse", `column components: "browse;Browse": names "Browse" twice; remove one`},
		{"sampling_unit", "plots", `column sampling_unit: "plots": is not a known sampling unit; known sampling units are frame and transect`},
		{"sampling_unit,units_possible", "transect,50", `column units_possible: "50": cannot stand with the sampling unit transect; empty it: the correction for a finite number of units is for frames`},
		{"units_possible", "2.5", `column units_possible: "2.5": is not a whole number; write a whole number from 1 to 1000000000`},
		{"placement", "sane", `column placement: "sane": is not a known placement; did you mean same? Known placements are new, same and shifted`},
		{"selection", "x", `column selection: "x": is not a known selection; known selections are chosen, fixed and random`},
		{"frame_type", "9.6", `column frame_type: "9.6": is not a known frame type; did you mean 9.6 ft2? Known frame types are 9.6 ft2 and ring 2019; write its area with the unit, as in "9.6 ft2" or "0.25 m2", or import a frame-types file that has it`},
		{"year_start_month", "0", `column year_start_month: "0": is not a month; write a number from 1 to 12`},
		{"rain_months", "7-Apr", `column rain_months: "7-Apr": looks like a date that a spreadsheet made of two months; ` + months + `, in a cell that is formatted as text`},
		{"rain_months", "4-13", `column rain_months: "4-13": is not a range of months; ` + months},
		{"rain_months", "spring", `column rain_months: "spring": is not a range of months; ` + months},
		{"rain_months", "4,5,6", `column rain_months: "4,5,6": is not a range of months; ` + months},
	} {
		columns, cells := "site;"+strings.ReplaceAll(c.columns, ",", ";"), "A;"+strings.ReplaceAll(c.cells, ",", ";")
		if c.columns == "site" {
			columns, cells = "site;name", c.cells+";x"
		} else if c.columns == "components" || c.columns == "rain_months" {
			cells = "A;\"" + c.cells + "\""
		}
		r := readString(t, Sites, columns+"\n"+cells+"\n", Options{})
		wantLines(t, c.columns+" "+c.cells, r.problems, []string{"f.csv:2: " + c.want})
	}
	r := readString(t, Sites, "site\nA\nB\nA\n", Options{})
	wantLines(t, "twice", r.problems, []string{`f.csv:4: the same site stands in line 2 already; keep one row for each site`})
}

func TestRainMonths(t *testing.T) {
	for cell, want := range map[string]string{"4-7": "4-7", "10 - 6": "10-6", "04–07": "4-7", "Apr-Jul": "4-7", "april to july": "4-7", "5": "5-5", "Oct": "10-10", "": ""} {
		r := readString(t, Sites, "site,rain_months\nA,"+cell+"\n", Options{})
		if len(r.records) != 1 || r.records[0].RainMonths != want {
			t.Errorf("%q: %+v %v, want %q", cell, r.records, r.problems, want)
		}
	}
}

// A season that a declaration brings in may be a misspelling.
func TestNewSeasonNotice(t *testing.T) {
	r := readString(t, Sites, "site,components\nA,browse/sumer\n", Options{})
	wantLines(t, "notices", r.summary.Notices, []string{`season "sumer" is new; if it is summer, correct it`})
}

func TestReadMapFile(t *testing.T) {
	m, problems, err := ReadMapFile(tempFile(t, "ours,theirs\ndry_g,\"Dry wt, (g)\"\nframe,NA\n"))
	if err != nil || len(problems) > 0 || !reflect.DeepEqual(m, map[string]string{"dry_g": "Dry wt, (g)", "frame": "NA"}) {
		t.Errorf("got %v %v %v", m, problems, err)
	}
	for content, want := range map[string]string{
		"ours,theirs\ndry_g,\n":           `f.csv:2: column theirs: "": is missing; write the name that the column has in the file`,
		"ours,theirs\ndry_g,a\nDry G,b\n": `f.csv:3: the same column of ours stands in line 2 already; keep one row for it`,
		"dry_g,a\n":                       `f.csv:1: columns are missing: ours; theirs; name yours with --map ours="...", or give one value for all rows with --set ours="..."; the file has "dry_g", "a"`,
		"":                                `f.csv: the file is empty; export it again, or name another file`,
	} {
		m, problems, _ := ReadMapFile(tempFile(t, content))
		if m != nil || len(problems) != 1 || problems[0].String() != want {
			t.Errorf("%q: %v\n got %v\nwant %s", content, m, problems, want)
		}
	}
	if _, _, err := ReadMapFile(tempFile(t, "") + "x"); err == nil {
		t.Error("a missing map file is no error")
	}
}
