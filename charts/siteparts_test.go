package charts

import (
	"math"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	gocharts "github.com/go-echarts/go-echarts/v2/charts"
	"github.com/go-echarts/go-echarts/v2/opts"
)

// rich is the sample's site that has everything.
func rich() (*Report, *Site) {
	r := sampleReport()
	return r, &r.Sites[2]
}

func check(t *testing.T, what, got, want string) {
	t.Helper()
	if got = strings.ReplaceAll(got, nbsp, " "); got != want {
		t.Errorf("%s:\ngot  %s\nwant %s", what, got, want)
	}
}

func TestStandingTitle(t *testing.T) {
	s := &Site{Series: []Series{{Component: "production", Years: []Year{{Year: 2020, Mean: ptr(90.0)}}}}}
	x := &s.Series[0]
	y := &x.Years[0]
	check(t, "no earlier year", standingTitle(s), "Production in 2020")
	x.LongTerm, x.Earlier = ptr(0.0), 2
	check(t, "a long-term mean of zero", standingTitle(s), "Production in 2020")
	x.LongTerm, x.Earlier = ptr(100.0), 1
	check(t, "without interval", standingTitle(s), "In 2020 production was 90 % of its mean over 1 earlier year")
	x.Earlier = 8
	y.Low, y.High = ptr(80.0), ptr(100.0)
	check(t, "within", standingTitle(s), "In 2020 production was 90 % of its mean over 8 earlier years; that mean lies within this year’s interval")
	y.High = ptr(99.0)
	check(t, "above", standingTitle(s), "In 2020 production was 90 % of its mean over 8 earlier years; that mean lies above this year’s interval")
	y.Mean, y.Low, y.High = ptr(120.0), ptr(101.0), ptr(140.0)
	check(t, "below", standingTitle(s), "In 2020 production was 120 % of its mean over 8 earlier years; that mean lies below this year’s interval")
	check(t, "no rain", rainStanding(s, 2020), "")
	s.Rain = &Rain{Window: "April to July", MeanMM: ptr(100.0), Years: []RainYear{{Year: 2020, MM: ptr(80.0), Pct: ptr(80.0)}, {Year: 2021}}}
	check(t, "rain", rainStanding(s, 2020), "Rain, April to July: 80 mm; long-term mean 100 mm, so 80 % of it.")
	check(t, "no rain of the year", rainStanding(s, 2021), "")
}

func TestRainTitle(t *testing.T) {
	s := &Site{Series: []Series{{Component: "production", Trend: &Trend{Verdict: "increasing", Rain: &TrendRain{}}}}}
	x := &s.Series[0]
	check(t, "no answer", rainTitle(s, x), "Production against rain")
	x.Trend.Rain.Held = ptr(1.0)
	for _, c := range []struct{ alone, held, want string }{
		{"increasing", "increasing", "Rain does not explain the trend: it is there with rain held too"},
		{"decreasing", "no trend detected", "With rain held, no trend is left: the rain explains it"},
		{"no trend detected", "decreasing", "With rain held, a trend shows that the rain had hidden"},
		{"no trend detected", "no trend detected", "Production shows no trend, with or without rain held"},
	} {
		x.Trend.Verdict, x.Trend.Methods = c.alone, []TrendMethod{{Name: "ols-rain", Verdict: c.held}}
		check(t, c.alone+", "+c.held, rainTitle(s, x), c.want)
	}
}

func TestChangeTitle(t *testing.T) {
	r, s := &Report{Unit: "kg/ha", Confidence: 0.9}, &Site{Series: []Series{{Component: "browse", Years: []Year{{Mean: ptr(500.0)}}}}}
	x := &s.Series[0]
	fell := Difference{Year1: 2019, Year2: 2020, Value: ptr(-50.0), Pct: ptr(-12.5)}
	x.Changes = []Difference{fell}
	check(t, "no interval", changeTitle(r, s, x), "Browse fell by 50 kg/ha (12 %) from 2019 to 2020")
	x.Changes[0].Low, x.Changes[0].High = ptr(-80.0), ptr(-20.0)
	check(t, "alone", changeTitle(r, s, x), "Browse fell by 50 kg/ha (12 %) from 2019 to 2020, which stands out")
	x.Changes = append(x.Changes, Difference{Year1: 2020, Year2: 2022, Value: ptr(30.0), Low: ptr(-5.0), High: ptr(65.0)}, Difference{Year1: 2022, Year2: 2023})
	check(t, "two, and one not compared", changeTitle(r, s, x), "Browse rose by 30 kg/ha from 2020 to 2022, which does not stand out; 1 of 2 changes do")
	f := s.figures()
	check(t, "since an earlier year", differenceText(f, x, 2022), "+30 (−5 to +65) since 2020")
	check(t, "not compared", differenceText(f, x, 2023), "")
}

func TestEffortTitle(t *testing.T) {
	r := &Report{PrecisionPct: 20}
	s := &Site{Series: []Series{{Component: "production"}, {Component: "browse"}}}
	y := &Year{Year: 2021, N: 8, HalfWidthPct: ptr(31.0), Required: ptr(17.0), Adequate: ptr(false), Effort: []Effort{{8, 31}, {13, 23}}}
	check(t, "too few", effortTitle(r, s, &s.Series[0], y), "In 2021 8 frames gave ±31 %; 17 are needed for ±20 %; 5 more would give ±23 %")
	y.Required, y.Adequate, y.Effort = ptr(6.0), ptr(true), y.Effort[:1]
	check(t, "enough, of a part", effortTitle(r, s, &s.Series[1], y), "Browse: in 2021 8 frames gave ±31 %; 6 would do for ±20 %")
}

func TestUseTitle(t *testing.T) {
	r := &Report{Confidence: 0.9}
	u := &Use{Year: 2021, Component: "herbaceous"}
	check(t, "none", useTitle(r, []*Use{u}), "Herbaceous: how much was taken in 2021 cannot be said")
	u.Pct = ptr(30.0)
	check(t, "no interval", useTitle(r, []*Use{u}), "Herbaceous: 30 % was taken in 2021")
	u.Low, u.High = ptr(-4.0), ptr(41.0)
	check(t, "interval", useTitle(r, []*Use{u}), "Herbaceous: 30 % was taken in 2021 (90 % interval −4 % to 41 %)")
}

func TestMakeupTitles(t *testing.T) {
	s := &Site{Composition: []Composition{{Year: 2019, Species: []SpeciesShare{{"A", "", "herbaceous", 40}, {"B", "sage", "browse", 60}}}, {Year: 2020, Species: []SpeciesShare{{"A", "", "herbaceous", 70}}}, {Year: 2021, Unnamed: ptr(100.0)}}}
	check(t, "composition", compositionTitle(s), "A made up 70 % of production in 2020 (40 % to 70 % over the years)")
	s.DryBasis = []DryBasis{{Year: 2019, Measured: 100}}
	check(t, "one year", basisTitle(s), "In 2019 every dry weight rests on the same: measured")
	s.DryBasis = append(s.DryBasis, DryBasis{Year: 2020, Measured: 100})
	check(t, "always", basisTitle(s), "In all 2 years every dry weight rests on the same: measured")
	s.DryBasis = append(s.DryBasis, DryBasis{Year: 2021, Book: 100})
	check(t, "changed", basisTitle(s), "In 2021 the dry weight rests on book values alone")
	s.DryBasis[2] = DryBasis{Year: 2021, Row: 25, Book: 75}
	check(t, "mixed", basisTitle(s), "In 2021 the dry weight rests on % on the row (25 %) and book values (75 %)")
}

func TestEyeTitle(t *testing.T) {
	e := &Eye{Observer: "Ola", Component: "browse", State: "dry", Pairs: make([]EyePair, 1)}
	check(t, "no ratio", eyeTitle(e), "Ola, browse (dry): 1 frame")
	for ratio, want := range map[float64]string{1.004: "as much as was clipped", 1.12: "12 % too much", 0.9: "10 % too little"} {
		e.Ratio = ptr(ratio)
		check(t, "ratio", eyeTitle(e), "Ola, browse (dry): "+want+", over 1 frame")
	}
}

func TestClassAndEventNotes(t *testing.T) {
	r, s := rich()
	check(t, "class", classTitle(s), "In 2024 production is in class “middling” with a confidence of 75 %. Of 14 years, 14 in “middling”.")
	check(t, "bounds", classesNote(r, s, &s.Series[0]), "Classes (bench): low < 900 ≤ middling < 1,500 ≤ high lb/ac. ")
	check(t, "events", eventsNote(s), "What happened: a: fire, 2015-08-08 to 2015-08-09 (lower edge); b: spraying, 2018-03-15, of the whole stratum. ")
	check(t, "rain", rainNote(s), "Bars: rain, October of the year before to June at HUT; short dashes: its long-term mean, 250 mm; no complete rain in 2020. ")
	for i, want := range map[int]string{0: "a", 25: "z", 26: "a2"} {
		check(t, "letter", eventLetter(i), want)
	}
	for share, want := range map[float64]string{0.999: ">99 %", 0.004: "<1 %", 0.5: "50 %"} {
		check(t, "confidence", sure(share), want)
	}
	check(t, "long name", shorten("exceptionally high", 10), "exception…")
}

func TestSigns(t *testing.T) {
	for in, want := range map[string]string{"": "", "0": "0", "0.0": "0.0", "12": "+12", "−3": "−3"} {
		check(t, in, plus(in), want)
	}
	for v, want := range map[float64]string{0.0004: "<0.001", 0.05: "0.050"} {
		check(t, "p", probability(&v), want)
	}
}

// TestSpan checks that an axis holds both ends in steps that read well.
func TestSpan(t *testing.T) {
	for _, lo := range []float64{-830, -12.5, -0.004, 0, 3, 180} {
		for width := 0.0013; width < 9000; width *= 2.3 {
			a := spanFor(lo, lo+width, 6)
			slack := 1e-6 * width
			if a.min > lo+slack || a.max < lo+width-slack || a.steps < 1 || a.steps > 6 {
				t.Fatalf("%v to %v: %+v", lo, lo+width, a)
			}
			step := (a.max - a.min) / float64(a.steps)
			lead := step / math.Pow(10, math.Floor(math.Log10(step)+1e-9))
			if math.Abs(lead-1) > 1e-5 && math.Abs(lead-2) > 1e-5 && math.Abs(lead-5) > 1e-5 {
				t.Errorf("%v to %v: step %v", lo, lo+width, step)
			}
		}
	}
}

// TestLinks follows every link to data and to a place on the page.
func TestLinks(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "r")
	write(t, dir, sampleReport())
	all := files(t, dir)
	data, places := 0, 0
	for name, content := range all {
		if !strings.HasPrefix(name, "sites/") {
			continue
		}
		for _, m := range regexp.MustCompile(`href="\.\./(data/[^"]+)"`).FindAllStringSubmatch(content, -1) {
			data++
			if _, ok := all[m[1]]; !ok {
				t.Errorf("%s: %s does not exist", name, m[1])
			}
		}
		for _, m := range regexp.MustCompile(`href="#([^"]+)"`).FindAllStringSubmatch(content, -1) {
			places++
			if !strings.Contains(content, `id="`+m[1]+`"`) {
				t.Errorf("%s: no %s on the page", name, m[1])
			}
		}
	}
	page := pageName("DF-03")
	for _, d := range dataFiles {
		if _, ok := all["data/"+page+d.suffix+".csv"]; !ok {
			t.Errorf("the site with everything has no file %q", d.suffix)
		}
	}
	if data < 30 || places < 30 {
		t.Errorf("%d links to data and %d to places: the test looks at little", data, places)
	}
}

// TestTablesAndCSV holds the numbers of the tables to those of the files.
func TestTablesAndCSV(t *testing.T) {
	r, s := rich()
	f := s.figures()
	_, changes := readCSV(t, changesCSV(r, s))
	body := string(changesTable(r, s, s.shown(), "p").Body)
	for _, row := range changes {
		d, _ := strconv.ParseFloat(row["difference"], 64)
		if want := "<td>" + f.signed(&d) + "</td>"; !strings.Contains(body, want) {
			t.Errorf("the table of changes lacks %s of %s to %s", want, row["year_1"], row["year_2"])
		}
	}
	_, effort := readCSV(t, effortCSV(r, s))
	y := s.Series[0].latestEffort()
	if len(effort) != len(y.Effort) || effort[3]["half_width_pct"] != full(y.Effort[3].HalfPct) {
		t.Errorf("%d rows of effort, want %d; the fourth is %v", len(effort), len(y.Effort), effort[3])
	}
	_, composition := readCSV(t, compositionCSV(r, s))
	species := string(compositionTable(s, "p").Body)
	for _, row := range composition {
		v, _ := strconv.ParseFloat(row["pct"], 64)
		if !strings.Contains(species, "<td>"+percent(&v)+"</td>") {
			t.Errorf("the table of species lacks %v", row)
		}
	}
	_, eyes := readCSV(t, eyesCSV(r, s))
	_, uses := readCSV(t, usesCSV(r, s))
	_, bases := readCSV(t, basisCSV(r, s))
	_, rain := readCSV(t, rainCSV(r, s))
	if len(changes) == 0 || len(eyes) != 48 || len(uses) != len(s.Uses) || len(bases) != len(s.DryBasis) || len(rain) == 0 {
		t.Errorf("%d changes, %d pairs, %d uses, %d bases, %d years with rain", len(changes), len(eyes), len(uses), len(bases), len(rain))
	}
}

// TestChartsHoldTheirNumbers compares what the charts draw with the model, to
// the six figures that drawings keep.
func TestChartsHoldTheirNumbers(t *testing.T) {
	r, s := rich()
	near := func(got any, want float64) bool {
		v, ok := got.(float64)
		return ok && math.Abs(v-want) <= 1e-5*math.Max(1, math.Abs(want))
	}
	b, _ := changeChart(r, s, &s.Series[0])
	marks := seriesOf(t, b, "marks")
	if len(marks) != len(s.Series[0].Changes) {
		t.Fatalf("%d changes are drawn, want %d", len(marks), len(s.Series[0].Changes))
	}
	for i, m := range marks {
		if !near(m[1], *s.Series[0].Changes[i].Value) {
			t.Errorf("change %d is drawn at %v", i, m)
		}
	}
	b, _ = rainScatter(r, s, &s.Series[0])
	dots := seriesOf(t, b, "dots")
	if len(dots) != len(b.Words["dots"]) {
		t.Fatalf("%d dots, %d words", len(dots), len(b.Words["dots"]))
	}
	for i, d := range dots {
		year, _ := strconv.Atoi(b.Words["dots"][i])
		if !near(d[0], *s.Rain.year(year).MM) || !near(d[1], *s.Series[0].year(year).Mean) {
			t.Errorf("%d is drawn at %v", year, d)
		}
	}
	b = meanChart(r, s, &s.Series[0], sharedAxis(s.shown(), true), true)
	for i, bar := range seriesOf(t, b, "rain") {
		k := int(bar[0].(int))
		if y := s.Rain.year(s.yearSpan()[k]); !near(bar[1], *y.MM) {
			t.Errorf("bar %d of rain is drawn as %v", i, bar)
		}
	}
	stack := basisLayers(s.DryBasis).chart(s, "%")
	tops := map[any]float64{}
	for _, box := range seriesOf(t, stack, "stack") {
		tops[box[0]] = box[2].(float64)
	}
	for year, top := range tops {
		if math.Abs(top-100) > 0.1 {
			t.Errorf("the layers of year %v reach %v", year, top)
		}
	}
}

// TestSizeOfALongRecord writes 25 years of 20 frames with everything on the
// page.
func TestSizeOfALongRecord(t *testing.T) {
	r, s := rich()
	for k := range s.Series {
		x := &s.Series[k]
		base := x.Years[0]
		if base.Mean == nil {
			base = x.Years[1]
		}
		x.Years, x.Changes, x.Trend = nil, nil, nil
		for i := range 25 {
			y := base
			y.Year, y.Frames = 2000+i, nil
			for n := range 20 {
				y.Frames = append(y.Frames, *base.Mean*(0.3+0.0717*float64((n*7+i*3)%20)))
			}
			y.Remarks = []Remark{{"remark of every year", false}}
			x.Years = append(x.Years, y)
		}
	}
	s.Composition, s.DryBasis, s.Uses, s.Eyes = nil, nil, nil, nil
	addMore(s)
	r.Sites = []Site{*s}
	dir := filepath.Join(t.TempDir(), "r")
	write(t, dir, r)
	if n := len(files(t, dir)["sites/"+pageName(s.Code)+".html"]); n > 200_000 || n < 60_000 {
		t.Errorf("the page has %d bytes", n)
	} else {
		t.Logf("the page has %d bytes", n)
	}
}

// seriesOf are the values that a chart draws under a name.
func seriesOf(t *testing.T, b block, name string) [][]any {
	t.Helper()
	for _, s := range b.Option["series"].(gocharts.MultiSeries) {
		if s.Name == name {
			var out [][]any
			for _, d := range s.Data.([]opts.CustomData) {
				out = append(out, d.Value.([]any))
			}
			return out
		}
	}
	t.Fatalf("no series %q", name)
	return nil
}
