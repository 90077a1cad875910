package intake

import (
	"fmt"
	"testing"
)

// guessOf proposes a map for a file.
func guessOf(t *testing.T, kind, content string) (pairs, remarks []string) {
	t.Helper()
	f, err := Open(tempFile(t, content))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	g, err := GuessMap(f, kind, Options{})
	if err != nil {
		t.Fatal(err, g.Problems)
	}
	for _, p := range g.Pairs {
		pairs = append(pairs, p.Ours+"="+p.Theirs)
	}
	return pairs, g.Remarks
}

func TestGuessColumn(t *testing.T) {
	for _, c := range []struct{ kind, name, want string }{
		{"clippings", "Fresh Wt (oz)", "green_oz"}, {"clippings", "Dry Mass in Bag", "dry_gross_g"}, {"clippings", "Plot", "frame"}, {"clippings", "Rep", "frame"},
		{"clippings", "Quadrat #", "frame"}, {"clippings", "Sampling date", "date"}, {"clippings", "SampleDate", "date"}, {"clippings", "Pasture", "site"},
		{"clippings", "Wet weight, lbs", "green_lb"}, {"clippings", "Oven-dry weight with bag (g)", "dry_gross_g"}, {"clippings", "Bag weight", "tare_g"},
		{"clippings", "Empty bag (g)", "tare_g"}, {"clippings", "Dry lb/ac", "dry_lb_ac"}, {"clippings", "Dry biomass kg ha-1", "dry_kg_ha"},
		{"clippings", "Dry biomass (g/m²)", "dry_g_m2"}, {"clippings", "Grass fresh wt (g)", "herbaceous_green_g"}, {"clippings", "Shrub dry mass (kg)", "browse_dry_kg"},
		{"clippings", "Litter dry (g)", "litter_dry_g"}, {"clippings", "% DM", "dm_pct"}, {"clippings", "Dry matter %", "dm_pct"}, {"clippings", "Plot size", "frame_type"},
		{"clippings", "Clip height (cm)", "clip_height_cm"}, {"clippings", "Clip height (in)", ""}, {"clippings", "Clipped by", "observer"}, {"clippings", "Bag no.", "bag"},
		{"clippings", "Biomass (g)", ""}, {"clippings", "Green/dry weight (g)", ""}, {"clippings", "Dry yield (t/ha)", ""}, {"clippings", "Colour", ""}, {"clippings", "", ""},
		{"rain", "Precip (in)", "rain_in"}, {"rain", "Rainfall [mm]", "rain_mm"}, {"rain", "Rain", ""}, {"rain", "Gauge", "station"},
		{"sites", "Acres", "area_ac"}, {"sites", "Elev (ft)", "elevation_ft"}, {"sites", "Lat", "latitude"}, {"frame-types", "Hoop diameter (in)", "diameter_in"},
		{"drying", "Wet wt g", "green_g"}, {"drying", "Dry lb/ac", ""}, {"species", "Scientific name", "name"},
	} {
		k := guessKinds[c.kind]()
		got := guessColumn(k, c.name)
		if got.ours != c.want {
			t.Errorf("%s %q: %+v, want %q", c.kind, c.name, got, c.want)
		}
		if _, ok := k.column(got.ours); got.ours != "" && !ok {
			t.Errorf("%s %q: %q is no column of ours", c.kind, c.name, got.ours)
		}
	}
}

func TestGuessMap(t *testing.T) {
	pairs, remarks := guessOf(t, "clippings", "site,Sampling date,Plot,Rep,Fresh Wt (oz),Dry Mass in Bag,Biomass (g),Colour\nA,2020-06-01,1,1,2,3,4,red\n")
	wantLines(t, "pairs", pairs, []string{"date=Sampling date", "green_oz=Fresh Wt (oz)", "dry_gross_g=Dry Mass in Bag"})
	wantLines(t, "remarks", remarks, []string{
		`column "Colour" was left open: its name says nothing that is known here`,
		`column "Plot" was left open: it could be frame, but so could "Rep"`,
		`column "Rep" was left open: it could be frame, but so could "Plot"`,
		`column "Dry Mass in Bag" was taken to be in grams: its name has no unit; look whether that is so`,
		`column "Biomass (g)" was left open: it is a weight, but whether green or dry its name does not say`,
		`with this map the import would be refused: columns are missing: frame; component; tare_g (the empty bag, to take off dry_gross_g); name yours with --map frame="...", or give one value for all rows with --set frame="..."; the file has "site", "Sampling date", "Plot", "Rep", "Fresh Wt (oz)", "Dry Mass in Bag", "Biomass (g)", "Colour"`,
	})
	// Below titles, in a workbook.
	pairs, _ = guessOf(t, "rain", string(bookBytes(t, "Rain of the valley\n\nGauge|Yr|Mo|Precip (in)\nA|n:2020|n:1|n:5\n")))
	wantLines(t, "pairs", pairs, []string{"station=Gauge", "year=Yr", "month=Mo", "rain_in=Precip (in)"})
}

// A proposed map reads the file that it was made for.
func TestGuessedMapWorks(t *testing.T) {
	content := "Pasture,Date clipped,Quadrat,Hoop size,Grass green wt (g),Shrub green wt (g)\nA,2020-06-01,1,9.6 ft2,20,3\n"
	pairs, remarks := guessOf(t, "clippings", content)
	if len(pairs) != 6 || len(remarks) != 0 {
		t.Fatalf("pairs %q, remarks %q", pairs, remarks)
	}
	o := Options{Map: map[string]string{}}
	for _, p := range pairs {
		var ours, theirs string
		for i := range p {
			if p[i] == '=' {
				ours, theirs = p[:i], p[i+1:]
				break
			}
		}
		o.Map[ours] = theirs
	}
	r := readString(t, Clippings, content, o)
	wantLines(t, "problems", r.problems, nil)
	if len(r.records) != 2 {
		t.Errorf("records %+v", r.records)
	}
}

func TestGuessOfNoKind(t *testing.T) {
	f, err := Open(tempFile(t, "site\nA\n"))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	_, err = GuessMap(f, "settings", Options{})
	wantUsage(t, err, fmt.Sprintf("no map can be proposed for files of the kind %s: their columns have our names", "settings"))
}
