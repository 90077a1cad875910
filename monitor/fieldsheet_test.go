package monitor_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"clipledger/monitor"
	"clipledger/schema"
	"clipledger/schema/ledgertest"
)

// sheetsOf makes the sheets of a ledger and lists their lines as words.
func sheetsOf(t *testing.T, path string, q monitor.SheetQuery) (sheets []monitor.FieldSheet, notices []string) {
	t.Helper()
	ledgertest.Read(t, path, func(s *schema.Snapshot) error {
		var err error
		sheets, notices, err = monitor.FieldSheets(s, q)
		return err
	})
	return sheets, notices
}

// linesOf writes the lines of a sheet: transect/frame component type species.
func linesOf(s *monitor.FieldSheet) []string {
	var out []string
	for _, l := range s.Lines {
		text := l.Transect + "/" + l.Frame
		if l.Caged {
			text += "c"
		}
		text += " " + l.Component.String() + " " + l.FrameType
		if l.Species != "" {
			text += " " + l.Species
		}
		out = append(out, text)
	}
	return out
}

func compareLines(t *testing.T, got []string, want ...string) {
	t.Helper()
	if !slices.Equal(got, want) {
		t.Errorf("the sheet has\n%s\nwant\n%s", strings.Join(got, "\n"), strings.Join(want, "\n"))
	}
}

// clip is a clipping of site A.
func clip(year int, frame string, c schema.Component, frameType string, green float64, change ...func(*schema.Clipping)) schema.Clipping {
	out := schema.Clipping{Line: 2, Site: "A", Year: year, Season: "peak", Transect: "1", Frame: frame, FrameType: frameType, Component: c, GreenG: schema.Some(green)}
	for _, f := range change {
		f(&out)
	}
	return out
}

var sheetTypes = []schema.FrameType{{Name: "0.25 m2", AreaM2: 0.25}, {Name: "4 m2", AreaM2: 4}, {Name: "1 m2", AreaM2: 1}}

// Frames on permanent spots: those of the last three occasions, in the order
// in which people count; one that was missed last time is on the sheet again,
// one that was given up longer ago is not.
func TestSheetKeepsPermanentFrames(t *testing.T) {
	path := ledgertest.Path(t, ledgertest.Records{FrameTypes: sheetTypes, Sites: []schema.Site{{Line: 2, Site: "A", Placement: "same"}}, Clippings: []schema.Clipping{
		clip(2020, "99", schema.Herbaceous, "0.25 m2", 5),
		clip(2021, "2", schema.Herbaceous, "0.25 m2", 5), clip(2022, "3", schema.Herbaceous, "0.25 m2", 7),
		clip(2023, "10", schema.Herbaceous, "0.25 m2", 8), clip(2023, "1", schema.Herbaceous, "0.25 m2", 9),
	}})
	sheets, _ := sheetsOf(t, path, monitor.SheetQuery{})
	if len(sheets) != 1 || sheets[0].Year != 2024 || sheets[0].LastYear != 2023 {
		t.Fatalf("%d sheets: %+v", len(sheets), sheets)
	}
	compareLines(t, linesOf(&sheets[0]), "1/1 herbaceous 0.25 m2", "1/2 herbaceous 0.25 m2", "1/3 herbaceous 0.25 m2", "1/10 herbaceous 0.25 m2")
	if l := sheets[0].Lines[1]; l.LastYear != 2021 || l.LastGreenG != schema.Some(5) {
		t.Errorf("frame 2 was last %v in %d, want 5 in 2021", l.LastGreenG, l.LastYear)
	}
	if care := strings.Join(sheets[0].Cares, "\n"); !strings.Contains(care, "frame 2 (last in 2021), 3 (last in 2022)") {
		t.Errorf("the sheet does not say which frames were missed: %s", care)
	}
	// a year that was clipped already goes by the years before it
	sheets, notices := sheetsOf(t, path, monitor.SheetQuery{Year: 2023})
	compareLines(t, linesOf(&sheets[0]), "1/2 herbaceous 0.25 m2", "1/3 herbaceous 0.25 m2", "1/99 herbaceous 0.25 m2")
	if !strings.Contains(strings.Join(notices, "\n"), "2023 peak has records already") {
		t.Errorf("nobody says that the year is there already: %v", notices)
	}
}

// Shrubs on larger plots: nested in the small frame they are on its lines, on
// plots of their own they are not, whether or not any was found last time.
func TestSheetFrameTypes(t *testing.T) {
	nested := []schema.Clipping{
		clip(2023, "1", schema.Herbaceous, "0.25 m2", 5), clip(2023, "1", schema.Browse, "4 m2", 50),
		clip(2023, "2", schema.Herbaceous, "0.25 m2", 5),
	}
	path := ledgertest.Path(t, ledgertest.Records{FrameTypes: sheetTypes, Clippings: nested})
	sheets, _ := sheetsOf(t, path, monitor.SheetQuery{})
	compareLines(t, linesOf(&sheets[0]), "1/1 herbaceous 0.25 m2", "1/1 browse 4 m2", "1/2 herbaceous 0.25 m2", "1/2 browse 4 m2")

	own := []schema.Clipping{clip(2023, "1", schema.Herbaceous, "0.25 m2", 5), clip(2023, "P1", schema.Browse, "4 m2", 50)}
	path = ledgertest.Path(t, ledgertest.Records{FrameTypes: sheetTypes, Clippings: own})
	sheets, _ = sheetsOf(t, path, monitor.SheetQuery{})
	compareLines(t, linesOf(&sheets[0]), "1/1 herbaceous 0.25 m2", "1/P1 browse 4 m2")
}

// What a site declares is on the sheet though nobody ever found it; species
// that were kept apart have a line each, in every frame.
func TestSheetComponentsAndSpecies(t *testing.T) {
	species := func(code string) func(*schema.Clipping) { return func(c *schema.Clipping) { c.Species = code } }
	path := ledgertest.Path(t, ledgertest.Records{FrameTypes: sheetTypes,
		Sites: []schema.Site{{Line: 2, Site: "A", Placement: "same", Components: []schema.DeclaredComponent{{Component: schema.Herbaceous}, {Component: schema.Browse}, {Component: schema.Litter, Season: "fall"}}}},
		Clippings: []schema.Clipping{
			clip(2023, "1", schema.Herbaceous, "1 m2", 5, species("XX")), clip(2023, "1", schema.Herbaceous, "1 m2", 6, species("YY")),
			clip(2023, "2", schema.Herbaceous, "1 m2", 7, species("YY")),
		}})
	sheets, _ := sheetsOf(t, path, monitor.SheetQuery{Filter: monitor.Filter{Seasons: []string{"peak"}}})
	compareLines(t, linesOf(&sheets[0]), "1/1 herbaceous 1 m2 XX", "1/1 herbaceous 1 m2 YY", "1/1 browse 1 m2", "1/2 herbaceous 1 m2 XX", "1/2 herbaceous 1 m2 YY", "1/2 browse 1 m2")
	if l := sheets[0].Lines[3]; l.LastGreenG.Valid {
		t.Errorf("a species that was not in the frame weighed %v last time", l.LastGreenG)
	}
	sheets, _ = sheetsOf(t, path, monitor.SheetQuery{OneSpecies: true})
	compareLines(t, linesOf(&sheets[0]), "1/1 herbaceous 1 m2", "1/1 browse 1 m2", "1/2 herbaceous 1 m2", "1/2 browse 1 m2")
	if l := sheets[0].Lines[0]; l.LastGreenG != schema.Some(11) {
		t.Errorf("both species together weighed %v last time, want 11", l.LastGreenG)
	}
}

// New spots: as many frames as asked for, shared out over transects and cages;
// weights of other spots are never shown.
func TestSheetNewSpots(t *testing.T) {
	var clippings []schema.Clipping
	for _, transect := range []string{"T1", "T2"} {
		for _, frame := range []string{"a1", "a2"} {
			for _, caged := range []bool{true, false} {
				clippings = append(clippings, clip(2023, frame, schema.Herbaceous, "1 m2", 5, func(c *schema.Clipping) { c.Transect, c.Caged = transect, caged }))
			}
		}
	}
	path := ledgertest.Path(t, ledgertest.Records{FrameTypes: sheetTypes, Clippings: clippings})
	sheets, _ := sheetsOf(t, path, monitor.SheetQuery{Frames: 12})
	var want []string
	for _, place := range []string{"T1/%sc", "T1/%s", "T2/%sc", "T2/%s"} {
		for _, frame := range []string{"a1", "a2", "a3"} {
			want = append(want, fmt.Sprintf(place, frame)+" herbaceous 1 m2")
		}
	}
	slices.Sort(want)
	got := linesOf(&sheets[0])
	slices.Sort(got)
	compareLines(t, got, want...)
	for _, l := range sheets[0].Lines {
		if l.LastGreenG.Valid || l.LastYear != 0 {
			t.Errorf("a new spot shows the weight of another: %+v", l)
		}
	}
	sheets, _ = sheetsOf(t, path, monitor.SheetQuery{Frames: 4})
	compareLines(t, linesOf(&sheets[0]), "T1/a1c herbaceous 1 m2", "T1/a1 herbaceous 1 m2", "T2/a1c herbaceous 1 m2", "T2/a1 herbaceous 1 m2")
}

// As many frames as adequacy asks for. Of dry 10, 20 and 30 g the sample size
// for ± 20 % at 80 % confidence is the smallest n with t(.9, n−1)·s/√n ≤ 4 at
// s = 10: 12 (t = 1.3634 gives 3.936; with 11, t = 1.3722 gives 4.137). t from
// printed tables of the t distribution.
func TestSheetRequiredFrames(t *testing.T) {
	var clippings []schema.Clipping
	for i, dry := range []float64{10, 20, 30} {
		clippings = append(clippings, clip(2023, fmt.Sprint(i+1), schema.Herbaceous, "1 m2", 50, func(c *schema.Clipping) { c.DryG = schema.Some(dry) }))
	}
	path := ledgertest.Path(t, ledgertest.Records{FrameTypes: sheetTypes, Clippings: clippings})
	sheets, _ := sheetsOf(t, path, monitor.SheetQuery{Required: true})
	if n := len(sheets[0].Lines); n != 12 {
		t.Errorf("the sheet has %d frames, want 12", n)
	}
	if last := sheets[0].Lines[11].Frame; last != "12" {
		t.Errorf("the last frame is %q", last)
	}
}

// How it was clipped last time stands on the sheet; where it differed between
// frames the sheet asks for a decision.
func TestSheetReminders(t *testing.T) {
	how := func(edge string, height float64) func(*schema.Clipping) {
		return func(c *schema.Clipping) { c.EdgeRule, c.ClipHeightCM = edge, schema.Some(height) }
	}
	path := ledgertest.Path(t, ledgertest.Records{FrameTypes: sheetTypes, Clippings: []schema.Clipping{
		clip(2023, "1", schema.Herbaceous, "1 m2", 5, how("rooted", 2)), clip(2023, "2", schema.Herbaceous, "1 m2", 5, how("vertical", 2)), clip(2023, "3", schema.Herbaceous, "1 m2", 5, how("rooted", 2)),
	}})
	sheets, _ := sheetsOf(t, path, monitor.SheetQuery{})
	got := strings.Join(sheets[0].Reminders, "\n")
	for _, want := range []string{"Last time: growth year 2023", "Frame: 1 m2", "Clipping height: 2 cm",
		"Edge rule: herbaceous everything above the frame in 1 frame, plants rooted in the frame in 2 frames (settle on one)"} {
		if !strings.Contains(got, want) {
			t.Errorf("the reminders lack %q:\n%s", want, got)
		}
	}
}

// Sites that cannot have a sheet are named, with what would help.
func TestSheetSaysWhatIsLacking(t *testing.T) {
	path := ledgertest.Path(t, ledgertest.Records{FrameTypes: sheetTypes, Sites: []schema.Site{{Line: 2, Site: "N"}, {Line: 3, Site: "D", Components: []schema.DeclaredComponent{{Component: schema.Browse, Season: "fall"}}}}})
	sheets, notices := sheetsOf(t, path, monitor.SheetQuery{})
	if len(sheets) != 0 || !strings.Contains(strings.Join(notices, "\n"), "N: nothing was clipped yet, so no growth year follows; say --year") {
		t.Errorf("%v %v", sheets, notices)
	}
	sheets, notices = sheetsOf(t, path, monitor.SheetQuery{Year: 2025, Frames: 2})
	if got := strings.Join(notices, "\n"); got != "N: nothing is known of its frames and components in peak; declare its components in a sites file" {
		t.Error(got)
	}
	if len(sheets) != 1 || sheets[0].Season != "fall" {
		t.Fatalf("%+v", sheets)
	}
	compareLines(t, linesOf(&sheets[0]), "1/1 browse ", "1/2 browse ")
}
