package charts

import (
	"fmt"
	"html/template"
	"math"
	"slices"
	"strconv"
	"strings"
)

// A plain map of the sites: their coordinates on a sheet of paper, north up,
// without a background. East and west are drawn at the scale that north and
// south have at the middle latitude (a degree of longitude is cos(latitude) of
// one of latitude: the equirectangular projection; Snyder, J. P. (1987), Map
// Projections: A Working Manual, USGS Professional Paper 1395, from memory).
// Within a district that is true to a fraction of a percent.

// kmPerDegree of latitude, on a sphere of the Earth's mean radius (6371.0088
// km, from memory).
const kmPerDegree = 2 * math.Pi * 6371.0088 / 360

const kmPerMile = 1.609344 // exactly

// The drawing, in CSS pixels.
const (
	mapWidth              = 700.0
	mapLeast, mapMost     = 200.0, 460.0 // its height
	mapPad                = 34.0
	mapFoot               = 46.0 // for the scale bars
	mapMark               = 6.0
	labelHeight, labelGap = 15.0, 4.0
	labelWidth            = 7.6 // of one character, a little generous
	numberWidth           = 8.4
)

// siteMap is the figure on the index.
type siteMap struct {
	Title   string
	Drawing template.HTML
	Legend  []legendEntry
	Numbers []numberedSite // sites that the drawing names by a number
	Bare    []string       // sites that have a mark and no label
	Off     []string       // sites without coordinates
	ByClass bool
}

type legendEntry struct {
	Mark template.HTML
	Text string
}

type numberedSite struct {
	Number     int
	Code, Page string
}

// place is a site on the drawing.
type place struct {
	site  *Site
	x, y  float64
	shape int
	label string
	at    box
}

type box struct{ left, top, right, bottom float64 }

func (b box) meets(o box) bool {
	return b.left < o.right && o.left < b.right && b.top < o.bottom && o.top < b.bottom
}

// newSiteMap draws the map; nil where no site has coordinates.
func newSiteMap(r *Report) *siteMap {
	m := &siteMap{}
	var places []*place
	for i := range r.Sites {
		s := &r.Sites[i]
		if s.Latitude == nil || s.Longitude == nil {
			m.Off = append(m.Off, s.Code)
			continue
		}
		places = append(places, &place{site: s})
	}
	if len(places) == 0 {
		return nil
	}
	kmPerPixel, height := project(places)
	m.shapes(places)
	m.letter(places, height)
	m.Title = mapTitle(len(places), len(r.Sites), m.ByClass)
	m.Drawing = m.draw(places, kmPerPixel, height)
	return m
}

func mapTitle(on, all int, byClass bool) string {
	text := fmt.Sprintf("Where the %d sites lie", all)
	if all == 1 {
		text = "Where the site lies"
	}
	if on < all {
		text = fmt.Sprintf("Where %d of the %d sites lie", on, all)
	}
	if byClass {
		return text + ", and the class of their latest mean"
	}
	return text + ", and how they change over the years"
}

// project gives every site its place, and returns the scale and the height of
// the drawing.
func project(places []*place) (kmPerPixel, height float64) {
	south, north, west, east := bounds(places)
	middle := (south + north) / 2
	shrink := math.Max(0.01, math.Cos(middle*math.Pi/180))
	wideKM := math.Max(1, (east-west)*shrink*kmPerDegree)
	highKM := math.Max(0.2, (north-south)*kmPerDegree)
	wide := mapWidth - 2*mapPad
	kmPerPixel = math.Max(wideKM/wide, highKM/(mapMost-2*mapPad-mapFoot))
	height = math.Max(mapLeast, highKM/kmPerPixel+2*mapPad+mapFoot)
	midX, midY := mapWidth/2, (height-mapFoot)/2
	for _, p := range places {
		p.x = midX + (eastOf(*p.site.Longitude, west)-(west+east)/2)*shrink*kmPerDegree/kmPerPixel
		p.y = midY - (*p.site.Latitude-middle)*kmPerDegree/kmPerPixel
	}
	return kmPerPixel, height
}

// bounds are the ends of the coordinates, the west chosen so that sites on
// both sides of the 180th meridian lie side by side.
func bounds(places []*place) (south, north, west, east float64) {
	var longitudes []float64
	south, north = math.Inf(1), math.Inf(-1)
	for _, p := range places {
		south, north = math.Min(south, *p.site.Latitude), math.Max(north, *p.site.Latitude)
		longitudes = append(longitudes, *p.site.Longitude)
	}
	slices.Sort(longitudes)
	n := len(longitudes)
	west, east = longitudes[0], longitudes[n-1]
	widest := longitudes[0] + 360 - longitudes[n-1]
	for i := 1; i < n; i++ {
		if gap := longitudes[i] - longitudes[i-1]; gap > widest {
			widest, west, east = gap, longitudes[i], longitudes[i-1]+360
		}
	}
	return south, north, west, east
}

// eastOf is a longitude at or east of another.
func eastOf(longitude, west float64) float64 {
	if longitude < west-1e-9 {
		return longitude + 360
	}
	return longitude
}

// shapes of trends, after those of classes.
const (
	mapCircle = iota
	mapSquare
	mapTriangle
	mapDiamond
	mapDown
	mapHalf
	mapCross
)

// classShapes are given to the classes of a report in the order of schemes.
var classShapes = []int{mapDown, mapCircle, mapTriangle, mapSquare, mapDiamond, mapHalf}

// shapes picks the mark of every site: by the class of its latest mean where
// any site has one, else by its trend.
func (m *siteMap) shapes(places []*place) {
	order := classOrder(places)
	if m.ByClass = len(order) > 0; m.ByClass {
		m.classShapes(places, order)
		return
	}
	trends := []struct {
		verdict string
		shape   int
	}{{"increasing", mapTriangle}, {"decreasing", mapDown}, {"no trend detected", mapCircle}, {"too few years", mapCross}}
	for _, t := range trends {
		seen := false
		for _, p := range places {
			if p.site.verdictOfYears() == t.verdict {
				p.shape, seen = t.shape, true
			}
		}
		if seen {
			m.Legend = append(m.Legend, legendEntry{shapeMark(t.shape), t.verdict})
		}
	}
}

func (m *siteMap) classShapes(places []*place, order []string) {
	none := false
	for _, p := range places {
		k := slices.Index(order, p.site.latestClass())
		switch {
		case k < 0:
			p.shape, none = mapCross, true
		default:
			p.shape = classShapes[min(k, len(classShapes)-1)]
		}
	}
	for i, label := range order {
		if i >= len(classShapes)-1 && len(order) > len(classShapes) {
			m.Legend = append(m.Legend, legendEntry{shapeMark(classShapes[len(classShapes)-1]), join(order[i:])})
			break
		}
		m.Legend = append(m.Legend, legendEntry{shapeMark(classShapes[i]), label})
	}
	if none {
		m.Legend = append(m.Legend, legendEntry{shapeMark(mapCross), "no class"})
	}
}

// classOrder lists the classes that sites are in, lowest first as their
// schemes have them.
func classOrder(places []*place) []string {
	in := map[string]bool{}
	for _, p := range places {
		if label := p.site.latestClass(); label != "" {
			in[label] = true
		}
	}
	var out []string
	add := func(label string) {
		if in[label] && !slices.Contains(out, label) {
			out = append(out, label)
		}
	}
	for _, p := range places {
		for _, c := range p.site.headline().bands() {
			add(c.Label)
		}
	}
	for _, p := range places {
		add(p.site.latestClass())
	}
	return out
}

func (x *Series) bands() []ClassBand {
	if x == nil {
		return nil
	}
	return x.Classes
}

// latestClass is the class of the headline's latest mean.
func (s *Site) latestClass() string {
	if y := s.headline().latestWithMean(); y != nil {
		return y.Class
	}
	return ""
}

// verdictOfYears is the trend of the headline series.
func (s *Site) verdictOfYears() string {
	if x := s.headline(); x != nil && x.Trend != nil && x.Trend.Verdict != "" {
		return x.Trend.Verdict
	}
	return "too few years"
}

// letter names the sites beside their marks: by code where that meets no mark
// and no other name, else by a number, else not at all.
func (m *siteMap) letter(places []*place, height float64) {
	var taken []box
	for _, p := range places {
		taken = append(taken, box{p.x - mapMark - 1, p.y - mapMark - 1, p.x + mapMark + 1, p.y + mapMark + 1})
	}
	var left []*place
	for i, p := range places {
		if at, ok := free(p, labelWidth*float64(len([]rune(p.site.Code))), taken, i, height); ok {
			p.label, p.at = p.site.Code, at
			taken = append(taken, at)
			continue
		}
		left = append(left, p)
	}
	for _, p := range left {
		number := len(m.Numbers) + 1
		i := slices.Index(places, p)
		at, ok := free(p, numberWidth*float64(len(strconv.Itoa(number))), taken, i, height)
		if !ok {
			m.Bare = append(m.Bare, p.site.Code)
			continue
		}
		p.label, p.at = strconv.Itoa(number), at
		taken = append(taken, at)
		m.Numbers = append(m.Numbers, numberedSite{number, p.site.Code, pageName(p.site.Code)})
	}
}

// free finds a place for a label of that width: right of the mark, left,
// above, below, and the four corners.
func free(p *place, width float64, taken []box, own int, height float64) (box, bool) {
	const off = mapMark + labelGap
	for _, at := range [][2]float64{
		{p.x + off, p.y - labelHeight/2}, {p.x - off - width, p.y - labelHeight/2},
		{p.x - width/2, p.y - off - labelHeight}, {p.x - width/2, p.y + off},
		{p.x + mapMark, p.y - off - labelHeight + 4}, {p.x + mapMark, p.y + off - 4},
		{p.x - mapMark - width, p.y - off - labelHeight + 4}, {p.x - mapMark - width, p.y + off - 4},
	} {
		b := box{at[0], at[1], at[0] + width, at[1] + labelHeight}
		if b.left < 3 || b.right > mapWidth-3 || b.top < 3 || b.bottom > height-mapFoot {
			continue
		}
		meets := false
		for i, t := range taken {
			if i != own && b.meets(t) {
				meets = true
				break
			}
		}
		if !meets {
			return b, true
		}
	}
	return box{}, false
}

func (m *siteMap) draw(places []*place, kmPerPixel, height float64) template.HTML {
	var b strings.Builder
	fmt.Fprintf(&b, `<svg class="map" viewBox="0 0 %g %.0f" width="%g" height="%.0f" role="img" aria-labelledby="map-title" aria-describedby="map-caption">`, mapWidth, height, mapWidth, height)
	fmt.Fprintf(&b, `<rect class="sheet" x="0.5" y="0.5" width="%g" height="%.0f"/>`, mapWidth-1, height-mapFoot)
	fmt.Fprintf(&b, `<path class="north" d="M%g 34V10M%g 16L%g 10L%g 16"/><text class="label" x="%g" y="48" text-anchor="middle">N</text>`,
		mapWidth-18, mapWidth-22, mapWidth-18, mapWidth-14, mapWidth-18)
	for _, p := range places {
		fmt.Fprintf(&b, `<g><title>%s</title>%s</g>`, template.HTMLEscapeString(p.site.heading()), shapeAt(p.shape, p.x, p.y, mapMark))
	}
	for _, p := range places {
		if p.label == "" {
			continue
		}
		anchor, x := "start", p.at.left
		switch {
		case p.at.right <= p.x:
			anchor, x = "end", p.at.right
		case p.at.left < p.x && p.at.right > p.x:
			anchor, x = "middle", p.x
		}
		fmt.Fprintf(&b, `<text class="label" x="%.1f" y="%.1f" text-anchor="%s">%s</text>`, x, p.at.top+11.5, anchor, template.HTMLEscapeString(p.label))
	}
	b.WriteString(scaleBar(kmPerPixel, height-mapFoot+14, 1, "km"))
	b.WriteString(scaleBar(kmPerPixel, height-mapFoot+34, kmPerMile, plural(int(niceLength(kmPerPixel, kmPerMile)), "mile", "miles")))
	b.WriteString(`</svg>`)
	return template.HTML(b.String())
}

// niceLength is 1, 2 or 5 times a power of ten of a unit that takes at most
// 160 pixels.
func niceLength(kmPerPixel, kmPerUnit float64) float64 {
	most := 160 * kmPerPixel / kmPerUnit
	unit := math.Pow(10, math.Floor(math.Log10(most)))
	best := unit
	for _, k := range []float64{2, 5} {
		if k*unit <= most {
			best = k * unit
		}
	}
	return tidy(best)
}

func scaleBar(kmPerPixel, y, kmPerUnit float64, unit string) string {
	length := niceLength(kmPerPixel, kmPerUnit)
	right := 1 + length*kmPerUnit/kmPerPixel
	return fmt.Sprintf(`<path class="scale" d="M1 %.1fV%.1fH%.1fV%.1f"/><text class="label" x="%.1f" y="%.1f">%s %s</text>`,
		y-5, y, right, y-5, right+7, y+1, trimmed(length, 4), unit)
}

// shapeMark is a mark for the legend.
func shapeMark(shape int) template.HTML {
	return template.HTML(`<svg class="mark" width="16" height="16" viewBox="0 0 16 16" aria-hidden="true">` + shapeAt(shape, 8, 8, mapMark) + `</svg>`)
}

// shapeAt draws a mark. Shapes differ in outline, so that neither colour nor
// shade is needed to tell them apart.
func shapeAt(shape int, x, y, r float64) string {
	polygon := func(class string, at ...float64) string {
		var b strings.Builder
		for i := 0; i < len(at); i += 2 {
			fmt.Fprintf(&b, "%s%.1f %.1f", map[bool]string{true: "M", false: "L"}[i == 0], x+at[i]*r, y+at[i+1]*r)
		}
		return `<path class="` + class + `" d="` + b.String() + `Z"/>`
	}
	switch shape {
	case mapSquare:
		return polygon("full", -.85, -.85, .85, -.85, .85, .85, -.85, .85)
	case mapTriangle:
		return polygon("full", 0, -1, 1.05, .85, -1.05, .85)
	case mapDown:
		return polygon("open", 0, 1, 1.05, -.85, -1.05, -.85)
	case mapDiamond:
		return polygon("full", 0, -1.15, 1.15, 0, 0, 1.15, -1.15, 0)
	case mapHalf:
		return polygon("open", 0, -1.15, 1.15, 0, 0, 1.15, -1.15, 0)
	case mapCross:
		return fmt.Sprintf(`<path class="open" d="M%.1f %.1fL%.1f %.1fM%.1f %.1fL%.1f %.1f"/>`, x-.75*r, y-.75*r, x+.75*r, y+.75*r, x+.75*r, y-.75*r, x-.75*r, y+.75*r)
	}
	return fmt.Sprintf(`<circle class="open" cx="%.1f" cy="%.1f" r="%.1f"/>`, x, y, .9*r)
}
