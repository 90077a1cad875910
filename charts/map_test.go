package charts

import (
	"fmt"
	"math"
	"strings"
	"testing"
)

func located(code string, latitude, longitude float64) Site {
	return Site{Code: code, Latitude: &latitude, Longitude: &longitude}
}

func TestNoMapWithoutCoordinates(t *testing.T) {
	if m := newSiteMap(&Report{Sites: []Site{{Code: "A"}}}); m != nil {
		t.Error("a map was drawn of nothing")
	}
	s := located("A", 40, -110)
	m := newSiteMap(&Report{Sites: []Site{s, {Code: "B"}}})
	if len(m.Off) != 1 || m.Off[0] != "B" {
		t.Errorf("not on the map: %v", m.Off)
	}
	if s.Latitude = nil; newSiteMap(&Report{Sites: []Site{s}}) != nil {
		t.Error("a longitude alone is no place")
	}
}

// TestMapScale draws a square of ground at 60 degrees north, where a degree of
// longitude is half as long as one of latitude: the drawing must be square,
// and its scale that of the sphere.
func TestMapScale(t *testing.T) {
	sites := []Site{located("A", 59.9, 10), located("B", 60.1, 10), located("C", 60, 9.8), located("D", 60, 10.2)}
	var places []*place
	for i := range sites {
		places = append(places, &place{site: &sites[i]})
	}
	kmPerPixel, height := project(places)
	tall, wide := places[0].y-places[1].y, places[3].x-places[2].x
	if math.Abs(tall-wide) > 0.01*tall || tall < 100 {
		t.Errorf("drawn %v by %v pixels", wide, tall)
	}
	// 0.2 degrees of latitude are 22.24 km on a sphere of 6371 km.
	if got := tall * kmPerPixel; math.Abs(got-22.239) > 0.01 {
		t.Errorf("0.2 degrees of latitude are drawn as %v km", got)
	}
	if height > mapMost+1 {
		t.Errorf("the drawing is %v pixels high", height)
	}
}

// TestMapAcrossTheDateLine lays sites on both sides of the 180th meridian side
// by side.
func TestMapAcrossTheDateLine(t *testing.T) {
	sites := []Site{located("W", 0, 179.9), located("E", 0.05, -179.9)}
	places := []*place{{site: &sites[0]}, {site: &sites[1]}}
	kmPerPixel, _ := project(places)
	if got := (places[1].x - places[0].x) * kmPerPixel; math.Abs(got-0.2*kmPerDegree) > 0.01 {
		t.Errorf("0.2 degrees apart, drawn %v km apart", got)
	}
}

// TestMapLabels crowds sites: no label may meet a mark or another label or
// leave the sheet, and every site is named on it, by a number, or beneath it.
func TestMapLabels(t *testing.T) {
	for _, n := range []int{1, 2, 30, 400} {
		r := &Report{}
		for i := range n {
			k := float64(i)
			r.Sites = append(r.Sites, located(fmt.Sprintf("SITE-%03d", i), 44+0.3*math.Mod(k*0.618, 1), -110+0.4*math.Mod(k*0.414, 1)))
		}
		var places []*place
		for i := range r.Sites {
			places = append(places, &place{site: &r.Sites[i]})
		}
		_, height := project(places)
		m := &siteMap{}
		m.letter(places, height)
		named := 0
		for i, p := range places {
			if p.label == "" {
				continue
			}
			named++
			if p.at.left < 0 || p.at.right > mapWidth || p.at.top < 0 || p.at.bottom > height {
				t.Errorf("%d sites: %s leaves the sheet", n, p.label)
			}
			for j, o := range places {
				mark := box{o.x - mapMark, o.y - mapMark, o.x + mapMark, o.y + mapMark}
				if i != j && (p.at.meets(mark) || o.label != "" && p.at.meets(o.at)) {
					t.Errorf("%d sites: %s meets %s", n, p.label, o.site.Code)
				}
			}
		}
		if named+len(m.Bare) != n {
			t.Errorf("%d sites: %d named, %d not", n, named, len(m.Bare))
		}
		if n == 400 && len(m.Numbers) == 0 {
			t.Error("a crowd needs no numbers: nothing is tested")
		}
	}
}

func TestMapShapes(t *testing.T) {
	class := func(code, label string) Site {
		s := located(code, 40, -110)
		s.Series = []Series{{Component: "production", Years: []Year{{Year: 2020, Mean: ptr(5.0), Class: label}}, Classes: []ClassBand{{Label: "low"}, {Label: "middle"}, {Label: "high"}}}}
		return s
	}
	m := newSiteMap(&Report{Sites: []Site{class("A", "high"), class("B", "low"), class("C", "")}})
	var words []string
	for _, e := range m.Legend {
		words = append(words, e.Text)
	}
	if got, want := strings.Join(words, ", "), "low, high, no class"; got != want || !m.ByClass {
		t.Errorf("the legend of classes says %q, want %q", got, want)
	}
	trend := func(code, verdict string) Site {
		s := class(code, "")
		s.Series[0].Trend = &Trend{Verdict: verdict}
		return s
	}
	m = newSiteMap(&Report{Sites: []Site{trend("A", "decreasing"), trend("B", "increasing"), class("C", "")}})
	words = nil
	for _, e := range m.Legend {
		words = append(words, e.Text)
	}
	if got, want := strings.Join(words, ", "), "increasing, decreasing, too few years"; got != want || m.ByClass {
		t.Errorf("the legend of trends says %q, want %q", got, want)
	}
	seen := map[string]bool{}
	for shape := mapCircle; shape <= mapCross; shape++ {
		seen[shapeAt(shape, 0, 0, 6)] = true
	}
	if len(seen) != mapCross-mapCircle+1 {
		t.Errorf("%d shapes look like others", mapCross-mapCircle+1-len(seen))
	}
}

// TestScaleBars holds both bars to one scale.
func TestScaleBars(t *testing.T) {
	for _, c := range []struct{ kmPerPixel, km, miles float64 }{{0.1, 10, 5}, {0.5, 50, 20}, {0.002, 0.2, 0.1}, {1, 100, 50}} {
		if got := niceLength(c.kmPerPixel, 1); got != c.km {
			t.Errorf("%v km a pixel: a bar of %v km, want %v", c.kmPerPixel, got, c.km)
		}
		if got := niceLength(c.kmPerPixel, kmPerMile); got != c.miles {
			t.Errorf("%v km a pixel: a bar of %v miles, want %v", c.kmPerPixel, got, c.miles)
		}
	}
}
