package schema_test

import (
	"fmt"
	"strings"
	"testing"

	"clipledger/schema"
	"clipledger/schema/ledgertest"
)

// A second import of the same bag: what completes it, what contradicts it,
// and what --replace then does.

// again is the bag herb("1", 10) as a later file states it.
func again(set func(*schema.Clipping)) schema.Clipping {
	c := schema.Clipping{Site: "A", Year: 2020, Frame: "1", Component: schema.Herbaceous}
	set(&c)
	return c
}

func TestWhatCompletesAndWhatContradicts(t *testing.T) {
	t.Parallel()
	full := herb("1", 10)
	full.DryG, full.Date, full.Observer, full.EdgeRule, full.ClipHeightCM = schema.Some(5), "2020-06-01", "Wren", "rooted", schema.Some(1)
	full.DMPct, full.UngrazedPct, full.Treatment, full.Block, full.Note = schema.Some(50), schema.Some(90), "burnt", "B1", "first"
	full.ComponentsSampled, full.Basis, full.FramesInBag = 1, schema.AirDry, 2
	for _, tt := range []struct {
		column string
		set    func(*schema.Clipping) // another value
		now    string                 // SQL for what the ledger holds, and
		want   string                 // what it must hold after --replace
	}{
		{"green_g", func(c *schema.Clipping) { c.GreenG = schema.Some(11) }, "SELECT green_g FROM bag", "11"},
		{"dry_g", func(c *schema.Clipping) { c.DryG = schema.Some(6) }, "SELECT dry_g FROM bag", "6"},
		{"dry_g", func(c *schema.Clipping) { c.Trace = schema.TraceDry }, "SELECT coalesce(dry_g, 'T') FROM bag", "T"},
		{"dm_pct", func(c *schema.Clipping) { c.DMPct = schema.Some(51) }, "SELECT dm_pct FROM bag", "51"},
		{"basis", func(c *schema.Clipping) { c.Basis = schema.OvenDry }, "SELECT basis FROM bag", "oven-dry"},
		{"stage", func(c *schema.Clipping) { c.Stage = "dormant" }, "SELECT stage FROM bag", "dormant"},
		{"growth_form", func(c *schema.Clipping) { c.GrowthForm = "forb-leafy" }, "SELECT growth_form FROM bag", "forb-leafy"},
		{"note", func(c *schema.Clipping) { c.Note = "second" }, "SELECT note FROM bag", "second"},
		{"date", func(c *schema.Clipping) { c.Date = "2020-06-02" }, "SELECT date FROM visit", "2020-06-02"},
		{"observer", func(c *schema.Clipping) { c.Observer = "Tolly" }, "SELECT observer FROM visit JOIN observer USING(observer_id)", "Tolly"},
		{"edge_rule", func(c *schema.Clipping) { c.EdgeRule = "vertical" }, "SELECT edge_rule FROM visit", "vertical"},
		{"clip_height_cm", func(c *schema.Clipping) { c.ClipHeightCM = schema.Some(3) }, "SELECT clip_height_cm FROM visit", "3"},
		{"ungrazed_pct", func(c *schema.Clipping) { c.UngrazedPct = schema.Some(80) }, "SELECT ungrazed_pct FROM visit", "80"},
		{"treatment", func(c *schema.Clipping) { c.Treatment = "sprayed" }, "SELECT treatment FROM visit", "sprayed"},
		{"block", func(c *schema.Clipping) { c.Block = "B2" }, "SELECT block FROM visit", "B2"},
		{"components_sampled", func(c *schema.Clipping) { c.ComponentsSampled = 3 }, "SELECT components_sampled FROM visit", "3"},
		{"frames_in_bag", func(c *schema.Clipping) { c.FramesInBag = 3 }, "SELECT frames_in_bag FROM plot", "3"},
		{"frame_type", func(c *schema.Clipping) { c.FrameType = "2.4 ft2" }, "SELECT frame_type FROM visit JOIN frame_type USING(frame_type_id)", "2.4 ft2"},
	} {
		t.Run(tt.column, func(t *testing.T) {
			change := ledgertest.Records{Clippings: []schema.Clipping{again(tt.set)}}
			path := ledgertest.Path(t, ledgertest.Records{Clippings: []schema.Clipping{full}})
			problems := ledgertest.Import(t, path, change)
			if len(problems) != 1 || problems[0].Column != tt.column || !strings.Contains(problems[0].What, "the ledger holds") {
				t.Fatalf("problems %v, want one of column %s", problems, tt.column)
			}
			if got := query[int](t, path, "SELECT count(*) FROM change"); got != 0 {
				t.Errorf("a contradiction left %d entries in the history", got)
			}
			change.Replace = true
			if problems := ledgertest.Import(t, path, change); len(problems) > 0 {
				t.Fatal(problems)
			}
			if got := query[string](t, path, tt.now); got != tt.want {
				t.Errorf("after --replace: %s, want %s", got, tt.want)
			}
			if got := query[int](t, path, "SELECT count(*) FROM change"); got == 0 {
				t.Error("--replace left no history")
			}
			soundLedger(t, path)

			// Into a record that lacks it, the same value is a completion.
			bare := again(func(c *schema.Clipping) { c.FrameType = "9.6 ft2"; c.Status = schema.StatusLost })
			if tt.column == "frame_type" {
				bare.FrameType = ""
			}
			path = ledgertest.Path(t, ledgertest.Records{Clippings: []schema.Clipping{bare}})
			if problems, counts := ledgertest.ImportCounted(t, path, ledgertest.Records{Clippings: change.Clippings}); len(problems) > 0 || counts != [3]int{0, 1, 0} {
				t.Errorf("completing: problems %v, counts %v; want one changed", problems, counts)
			}
			if got := query[string](t, path, tt.now); got != tt.want {
				t.Errorf("after completing: %s, want %s", got, tt.want)
			}
		})
	}
}

// Blanks never contradict and never overwrite.
func TestBlanksOverwriteNothing(t *testing.T) {
	c := herb("1", 10)
	c.Date, c.Observer, c.Note = "2020-06-01", "Wren", "first"
	path := ledgertest.Path(t, ledgertest.Records{Clippings: []schema.Clipping{c}})
	for _, replace := range []bool{false, true} {
		bare := again(func(c *schema.Clipping) { c.GreenG = schema.Some(10) })
		if problems, counts := ledgertest.ImportCounted(t, path, ledgertest.Records{Clippings: []schema.Clipping{bare}, Replace: replace}); len(problems) > 0 || counts != [3]int{0, 0, 1} {
			t.Errorf("replace %v: problems %v, counts %v; want it identical", replace, problems, counts)
		}
	}
}

// The natural key: another label, cage, transect, species or season is
// another bag.
func TestWhatMakesAnotherBag(t *testing.T) {
	for name, set := range map[string]func(*schema.Clipping){
		"frame":     func(c *schema.Clipping) { c.Frame = "2" },
		"caged":     func(c *schema.Clipping) { c.Caged = true },
		"transect":  func(c *schema.Clipping) { c.Transect = "2" },
		"season":    func(c *schema.Clipping) { c.Season = "fall" },
		"year":      func(c *schema.Clipping) { c.Year = 2021 },
		"site":      func(c *schema.Clipping) { c.Site = "B" },
		"component": func(c *schema.Clipping) { c.Component = schema.Browse },
		"bag":       func(c *schema.Clipping) { c.Bag = "b" },
	} {
		other := herb("1", 11)
		set(&other)
		path := ledgertest.Path(t, ledgertest.Records{Clippings: []schema.Clipping{herb("1", 10)}})
		if p := ledgertest.Import(t, path, ledgertest.Records{Clippings: []schema.Clipping{other}}); len(p) > 0 {
			t.Errorf("%s: %v", name, p)
		}
		if got := query[int](t, path, "SELECT count(*) FROM bag"); got != 2 {
			t.Errorf("%s: %d bags, want two", name, got)
		}
	}
	two := []schema.Clipping{herb("1", 10), herb("1", 10)}
	two[0].Species, two[1].Species = "POA1", "POA2"
	path := ledgertest.Path(t, ledgertest.Records{Clippings: two})
	if got := query[int](t, path, "SELECT count(*) FROM bag"); got != 2 {
		t.Errorf("species: %d bags, want two", got)
	}
}

// A file is taken whole or not at all; each fault is listed.
func TestOneBadRowKeepsAllOut(t *testing.T) {
	path := ledgertest.Path(t, ledgertest.Records{Clippings: []schema.Clipping{herb("1", 10), herb("2", 20)}})
	problems := ledgertest.Import(t, path, ledgertest.Records{Clippings: []schema.Clipping{herb("3", 30), herb("1", 11), herb("2", 21)}})
	if got := fmt.Sprint(len(problems), problems[0].Line, problems[1].Line); got != "2 3 4" {
		t.Errorf("problems %v, want two, of lines 3 and 4", problems)
	}
	if got := query[int](t, path, "SELECT count(*) FROM bag"); got != 2 {
		t.Errorf("%d bags, want the two of the first file", got)
	}
}

// Another frame type for one component of a nested frame: what was looked for
// follows, and nothing of the old type is left behind.
func TestReplacedFrameTypeOfOneComponent(t *testing.T) {
	nested := func(browseType string) []schema.Clipping {
		grass, shrub := herb("1", 10), herb("1", 20)
		shrub.Component, shrub.FrameType = schema.Browse, browseType
		return []schema.Clipping{grass, shrub}
	}
	path := ledgertest.Path(t, ledgertest.Records{Clippings: append(nested("2.4 ft2"), herb("2", 30))})
	if p := ledgertest.Import(t, path, ledgertest.Records{Clippings: nested("4.8 ft2"), Replace: true}); len(p) > 0 {
		t.Fatal(p)
	}
	soundLedger(t, path)
	if got := query[string](t, path, `SELECT group_concat(frame_type) FROM type_span JOIN frame_type USING(frame_type_id) WHERE component=2`); got != "4.8 ft2" {
		t.Errorf("browse stands on %s, want 4.8 ft2 alone", got)
	}
	if got := query[int](t, path, `SELECT count(*) FROM frame_production WHERE frame='2' AND component='browse' AND zero_inferred`); got != 1 {
		t.Error("the frame without browse lost its inferred zero")
	}
}
