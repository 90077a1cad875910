package main

import (
	"math"
	"slices"
	"strings"
	"testing"
)

// correlation of two equally long series.
func correlation(a, b []float64) float64 {
	x, y := without(a, nil), without(b, nil)
	return dot(x, y) / math.Sqrt(dot(x, x)*dot(y, y))
}

// TestPermanentFrames holds that the frames of Quill Flat resemble themselves
// from year to year: r is 0.7 or so on average, and never small.
func TestPermanentFrames(t *testing.T) {
	c := readBack(t, readDir(t, frozen))
	var all []float64
	for y := firstYear; y < lastYear; y++ {
		var a, b []float64
		for key, p := range c.frames[occasion{"QUILL", y, "peak"}] {
			next := c.frames[occasion{"QUILL", y + 1, "peak"}][key]
			a = append(a, *p.weights["herbaceous"])
			b = append(b, *next.weights["herbaceous"])
		}
		r := correlation(a, b)
		if len(a) != quillFrames || r < 0.3 {
			t.Errorf("%d to %d: %d frames, r = %.2f", y, y+1, len(a), r)
		}
		all = append(all, r)
	}
	if m := mean(all); m < 0.6 || m > 0.9 {
		t.Errorf("mean r %.2f", m)
	}
}

// TestCages holds that caged and open frames come in pairs and that what was
// eaten is near the truth.
func TestCages(t *testing.T) {
	c := readBack(t, readDir(t, frozen))
	var caged, open float64
	for _, y := range siteOf("BUTTON").visits() {
		frames := c.frames[occasion{"BUTTON", y, "peak"}]
		for key, p := range frames {
			pair := frames[p.transect+"|"+p.label+"|caged"]
			if pair == nil || frames[p.transect+"|"+p.label] == nil {
				t.Fatalf("%d: frame %s has no partner", y, key)
			}
			if !p.caged {
				open += *p.weights["herbaceous"]
				caged += *pair.weights["herbaceous"]
			}
		}
	}
	if eaten := 1 - open/caged; math.Abs(eaten-buttonHerbEaten) > 0.03 {
		t.Errorf("eaten %.3f, truth %.2f", eaten, buttonHerbEaten)
	}
}

// TestRegrowth holds that the November cuts of Lantern Slope count for the
// growth year after.
func TestRegrowth(t *testing.T) {
	c := readBack(t, readDir(t, frozen))
	for _, y := range []int{2016, 2020} {
		if n := len(c.frames[occasion{"LANTERN", y, "fall"}]); n != 8 {
			t.Errorf("%d: %d frames of regrowth", y, n)
		}
	}
}

// TestTransects holds that Spindle Bench has its four lines every year, and
// that the frame changes in 2018.
func TestTransects(t *testing.T) {
	c := readBack(t, readDir(t, frozen))
	for _, y := range growthYears() {
		lines := map[string]int{}
		for _, p := range c.frames[occasion{"SPINDLE", y, "peak"}] {
			lines[p.transect]++
			if p.types["2.4 ft2"] != (y >= spindleChange) {
				t.Errorf("%d: frame types %v", y, p.types)
			}
		}
		for _, line := range []string{"T1", "T2", "T3", "T4"} {
			if lines[line] != spindleFrames || len(lines) != spindleLines {
				t.Errorf("%d: frames on lines %v", y, lines)
			}
		}
	}
}

// TestLost holds the count of lost bags in truth.json.
func TestLost(t *testing.T) {
	files := readDir(t, frozen)
	got := map[string]lostCount{}
	for _, b := range readBags(t, files) {
		if b.status == "lost" {
			n := got[b.site]
			if b.green == nil {
				n.Unweighed++
			} else {
				n.AfterGreen++
			}
			got[b.site] = n
		}
	}
	for _, s := range readTruth(t, files).Sites {
		if got[s.Site] != s.Lost {
			t.Errorf("%s: lost %+v, truth %+v", s.Site, got[s.Site], s.Lost)
		}
	}
	if n := got["BUCKLE"]; n.Unweighed < 5 || n.AfterGreen < 3 {
		t.Errorf("lost at BUCKLE: %+v", n)
	}
}

// TestKindsOfNothing holds that written zeros, traces and empty frames are all
// there, and zeros that are left to infer.
func TestKindsOfNothing(t *testing.T) {
	files := readDir(t, frozen)
	text := string(files["clippings-thimble-invented.csv"])
	for _, cell := range []string{",T,", ",0,", ",0.0,"} {
		if !strings.Contains(text, cell) {
			t.Errorf("no cell %s at Thimble Ridge", cell)
		}
	}
	for _, name := range []string{"clippings-buckle-summer-invented.csv", "clippings-spindle-2011-2017-invented.csv"} {
		if !strings.Contains(string(files[name]), "empty") {
			t.Errorf("%s: no empty frame", name)
		}
	}
	c := readBack(t, files)
	for _, f := range []string{"5", "11"} {
		p := c.frames[occasion{"QUILL", 2015, "peak"}]["1|"+f]
		if _, written := p.weights["browse"]; written || *c.value(occasion{"QUILL", 2015, "peak"}, p, "browse") != 0 {
			t.Errorf("browse in frame %s of Quill Flat: %v", f, p.weights)
		}
	}
}

// TestObservers holds the planted biases against the clipped frames: Wren
// short on heavy frames and right on light ones, Tolly unbiased and erratic.
func TestObservers(t *testing.T) {
	files := readDir(t, frozen)
	green := map[string]float64{}
	for _, b := range readBags(t, files) {
		if b.site == "THIMBLE" && b.component == "herbaceous" {
			green[b.date+b.frame] = *b.green
		}
	}
	estimate, clipped := map[string][]float64{}, map[string][]float64{}
	_, rows := readRows(t, "estimates", files["estimates-invented.csv"])
	for _, r := range rows {
		if g, ok := green[r["date"]+r["frame"]]; ok && r["component"] == "herbaceous" {
			estimate[r["observer"]] = append(estimate[r["observer"]], *number(t, r["estimategreeng"]))
			clipped[r["observer"]] = append(clipped[r["observer"]], g)
		}
	}
	if len(rows) != 480 || len(clipped["Wren"]) != 40 {
		t.Fatalf("%d estimates, %d in clipped frames", len(rows), len(clipped["Wren"]))
	}
	light, heavy := ratios(estimate["Wren"], clipped["Wren"])
	t.Logf("Wren: light %.2f, heavy %.2f", light, heavy)
	if light < 0.9 || light > 1.1 || heavy < 0.7 || heavy > 0.85 {
		t.Errorf("Wren: %.2f of the weight of light frames, %.2f of heavy ones", light, heavy)
	}
	var rel []float64
	for i, e := range estimate["Tolly"] {
		rel = append(rel, e/clipped["Tolly"][i])
	}
	d := without(rel, nil)
	cv := math.Sqrt(dot(d, d) / float64(len(d)-1))
	t.Logf("Tolly: ratio %.2f, CV %.2f", mean(rel), cv)
	if math.Abs(mean(rel)-1) > 0.12 || cv < 0.3 || cv > 0.5 {
		t.Errorf("Tolly: ratio %.2f, CV %.2f", mean(rel), cv)
	}
}

// ratios of estimate to weight in the lightest and the heaviest ten frames.
func ratios(estimate, clipped []float64) (light, heavy float64) {
	order := make([]int, len(clipped))
	for i := range order {
		order[i] = i
	}
	slices.SortFunc(order, func(a, b int) int {
		if clipped[a] < clipped[b] {
			return -1
		}
		return 1
	})
	share := func(idx []int) float64 {
		var e, c float64
		for _, i := range idx {
			e, c = e+estimate[i], c+clipped[i]
		}
		return e / c
	}
	return share(order[:10]), share(order[len(order)-10:])
}

// TestFaults holds that every planted fault is where truth.json says, and that
// clean sites have none.
func TestFaults(t *testing.T) {
	files := readDir(t, frozen)
	truth := readTruth(t, files)
	for _, f := range truth.Faults {
		if files[f.File] == nil || siteOf(f.Site).clean {
			t.Errorf("fault misplaced: %+v", f)
		}
	}
	var weights []float64
	for _, b := range readBags(t, files) {
		switch {
		case b.site == "BUCKLE" && b.year == 2017 && b.frame == "6" && b.season == "peak":
			weights = append([]float64{*b.green}, weights...)
		case b.site == "BUCKLE" && b.year == 2017 && b.season == "peak" && b.green != nil:
			weights = append(weights, *b.green)
		case b.frameType == "4.8 ft2" && (b.site != "BUTTON" || b.year != 2014 || b.frame != "3" || !b.caged):
			t.Errorf("frame type used elsewhere: %+v", b)
		case b.site == "BUCKLE" && b.season == "peak" && (b.date[5:7] == "11") != (b.year == 2013 && b.frame == "3"):
			t.Errorf("date: %+v", b)
		case b.species == "SAGE1" && b.component == "herbaceous" && (b.site != "SPINDLE" || b.year != 2021):
			t.Errorf("sagebrush as herbaceous: %+v", b)
		}
	}
	if rest := slices.Max(weights[1:]); weights[0] < 3*rest {
		t.Errorf("slipped decimal: %g beside %g", weights[0], rest)
	}
}
