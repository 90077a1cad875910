package intake

import (
	"regexp"
	"slices"
	"strings"
	"unicode"
)

// What the words in a header mean: words of the trade and of statistics, and
// the ways to write units. Where a name does not decide, nothing is proposed.

// columnGuess is what a column could be: one of ours, "" where it is left
// open; the remark says what was assumed, or why it was.
type columnGuess struct{ ours, remark string }

// labelRule says which of our columns a name with certain words means: one
// word of each set must be there.
type labelRule struct {
	words []string // sets, their words separated by spaces
	ours  string
	units []unit // the endings of ours, where it has one
}

// labelRules are tried in order; those for columns that a kind of file does
// not have are passed over.
var labelRules = []labelRule{
	{[]string{"frame plot quadrat hoop ring ", "size area type"}, "frame_type", nil},
	{[]string{"frames plots quadrats hoops", "bag composite"}, "frames_in_bag", nil},
	{[]string{"dm drymatter matter", "pct percent %"}, "dm_pct", nil},
	{[]string{"ungrazed", "pct percent %"}, "ungrazed_pct", nil},
	{[]string{"clip clipping cut cutting stubble", "height ht"}, "clip_height", []unit{{"_cm", 1}}},
	{[]string{"cage caged exclosure", "since date from"}, "caged_since", nil},
	{[]string{"cage caged caging exclosure"}, "caged", nil},
	{[]string{"doy julian"}, "day_of_year", nil},
	{[]string{"day", "year"}, "day_of_year", nil},
	{[]string{"day date", "month mo"}, "month_day", nil},
	{[]string{"cumulative cum completed", "pct percent % growth"}, "cumulative_pct", nil},
	{[]string{"curve"}, "curve", nil},
	{[]string{"scheme"}, "scheme", nil},
	{[]string{"lower low min minimum"}, "lower", nil},
	{[]string{"upper high max maximum"}, "upper", nil},
	{[]string{"unit units"}, "unit", nil},
	{[]string{"class label"}, "label", nil},
	{[]string{"bearing azimuth"}, "bearing", nil},
	{[]string{"offset"}, "offset", lengthUnits},
	{[]string{"transect line tape", "length"}, "length", lengthUnits},
	{[]string{"side"}, "side", nil},
	{[]string{"photo photos picture pictures image"}, "photo", nil},
	{[]string{"start started begin began beginning"}, "start", nil},
	{[]string{"end ended ending until"}, "end", nil},
	{[]string{"event happened"}, "kind", nil},
	{[]string{"estimator estimated", "by"}, "observer", nil},
	{[]string{"estimator"}, "observer", nil},
	{[]string{"growth", "form habit"}, "growth_form", nil},
	{[]string{"phenology phenological phenophase maturity stage"}, "stage", nil},
	{[]string{"date day sampled collected clipped", "date day on"}, "date", nil},
	{[]string{"date"}, "date", nil},
	{[]string{"year yr"}, "year", nil},
	{[]string{"month mo"}, "month", nil},
	{[]string{"season"}, "season", nil},
	{[]string{"bag sack envelope", "no nr number id label code #"}, "bag", nil},
	{[]string{"transect line"}, "transect", nil},
	{[]string{"observer clipper crew recorder technician collector"}, "observer", nil},
	{[]string{"clipped collected recorded", "by"}, "observer", nil},
	{[]string{"treatment trt treat"}, "treatment", nil},
	{[]string{"block blk"}, "block", nil},
	{[]string{"comment comments note notes remark remarks"}, "note", nil},
	{[]string{"edge", "rule"}, "edge_rule", nil},
	{[]string{"latitude lat"}, "latitude", nil},
	{[]string{"longitude lon long lng"}, "longitude", nil},
	{[]string{"elevation elev altitude"}, "elevation", lengthUnits},
	{[]string{"diameter diam"}, "diameter", lengthUnits},
	{[]string{"circumference"}, "circumference", lengthUnits},
	{[]string{"width"}, "width", lengthUnits},
	{[]string{"length"}, "length", lengthUnits},
	{[]string{"area size acres hectares acreage"}, "area", append(slices.Clone(areaUnits), unit{"_ha", 1})},
	{[]string{"rain rainfall precip precipitation ppt"}, "rain", rainUnits},
	{[]string{"station gauge gage"}, "station", nil},
	{[]string{"scientific latin common", "name"}, "name", nil},
	{[]string{"site location pasture", "name"}, "name", nil},
	{[]string{"species spp sp plant taxon"}, "species", nil},
	{[]string{"component fraction"}, "component", nil},
	{[]string{"source reference"}, "source", nil},
	{[]string{"stratum strata"}, "stratum", nil},
	{[]string{"site location pasture paddock"}, "site", nil},
	{[]string{"frame plot quadrat quad hoop ring rep replicate replication subplot"}, "frame", nil},
}

// unitWord is a way to write a unit, in a name whose signs are spaces.
type unitWord struct {
	ending  string
	pattern *regexp.Regexp
}

func writtenAs(ending, pattern string) unitWord {
	return unitWord{ending, regexp.MustCompile(`(^| )(` + pattern + `)($| )`)}
}

// The ways to write units. Those of weight per area come first, and what they
// take is not looked at again.
var (
	perAreaWords = []unitWord{
		writtenAs("_kg_ha", `(kg|kgs|kilograms?) ?(per )?(ha|hectare)( 1)?`),
		writtenAs("_lb_ac", `(lbs?|pounds?) ?(per )?(ac|acre)( 1)?`),
		writtenAs("_g_m2", `(g|gm|gms|grams?) ?(per )?(m2|m 2|sq m|sqm|square met(er|re))`),
	}
	weightWords = []unitWord{
		writtenAs("_g", `g|gm|gms|gr|grams?`), writtenAs("_oz", `oz|ounces?`),
		writtenAs("_lb", `lbs?|pounds?`), writtenAs("_kg", `kgs?|kilos?|kilograms?`),
	}
	otherWeights = regexp.MustCompile(`(^| )(mg|t|tons?|tonnes?|cwt)($| )`)
	sizeWords    = []unitWord{
		writtenAs("_m2", `m2|sq m|sqm|square met(er|re)s?`), writtenAs("_cm2", `cm2|sq cm`), writtenAs("_ft2", `ft2|sq ft|sqft|square f(ee|oo)t`),
		writtenAs("_in2", `in2|sq in`), writtenAs("_ac", `ac|acres?|acreage`), writtenAs("_ha", `ha|hectares?`),
		writtenAs("_mm", `mm|millimet(er|re)s?`), writtenAs("_cm", `cm|centimet(er|re)s?`), writtenAs("_in", `in|inch|inches`),
		writtenAs("_ft", `ft|feet|foot`), writtenAs("_m", `m|met(er|re)s?`),
	}
)

// spaced writes a name in small letters, with one space for all signs and
// before capitals inside of words.
func spaced(name string) string {
	var b strings.Builder
	before := ' '
	for _, r := range strings.ReplaceAll(name, "²", "2") {
		switch {
		case r == '%' || r == '#':
			b.WriteString(" " + string(r) + " ")
		case !unicode.IsLetter(r) && !unicode.IsDigit(r):
			b.WriteByte(' ')
		case unicode.IsUpper(r) && unicode.IsLower(before):
			b.WriteString(" " + string(unicode.ToLower(r)))
		default:
			b.WriteRune(unicode.ToLower(r))
		}
		before = r
	}
	return strings.Join(strings.Fields(b.String()), " ")
}

// guessColumn says what a column could be by its name.
func guessColumn(k *kind, name string) columnGuess {
	if strings.HasPrefix(foldName(name), foldName(LastTimePrefix)) {
		return columnGuess{} // an old weight is no new one
	}
	text := spaced(name)
	if g := guessWeight(k, text); g != (columnGuess{}) {
		return g
	}
	words := strings.Fields(text)
	for _, rule := range labelRules {
		if rule.means(words) {
			if g, ok := rule.guess(k, text); ok {
				return g
			}
		}
	}
	return columnGuess{}
}

// means tells whether a name has a word of each set.
func (r labelRule) means(words []string) bool {
	for _, set := range r.words {
		if !slices.ContainsFunc(strings.Fields(set), func(w string) bool { return slices.Contains(words, w) }) {
			return false
		}
	}
	return true
}

// guess makes the guess of a rule; ok is false where the kind of file has no
// such column.
func (r labelRule) guess(k *kind, text string) (g columnGuess, ok bool) {
	if r.units == nil {
		return columnGuess{ours: r.ours}, k.byName[foldName(r.ours)] != nil
	}
	var written []string
	for _, u := range r.units {
		if k.byName[foldName(r.ours+u.ending)] == nil {
			continue
		}
		ok = true
		if slices.ContainsFunc(sizeWords, func(w unitWord) bool { return w.ending == u.ending && w.pattern.MatchString(text) }) {
			written = append(written, r.ours+u.ending)
		}
	}
	if len(written) == 1 {
		return columnGuess{ours: written[0]}, ok
	}
	return columnGuess{remark: "was left open: it could be " + r.ours + ", but no unit that is read stands in its name"}, ok
}

// guessWeight says what a column is that is named as a weight; a zero guess
// where it is none.
func guessWeight(k *kind, text string) columnGuess {
	estimates := k.byName[foldName("estimate_green_g")] != nil
	if k.byName[foldName("green_g")] == nil && !estimates || strings.ContainsAny(text, "%#") {
		return columnGuess{}
	}
	unit, perArea, rest := weightUnit(text)
	words := strings.Fields(rest)
	has := func(set string) bool { return labelRule{words: []string{set}}.means(words) }
	noun := has("wt weight wgt mass biomass yield production crop phytomass") || estimates && has("estimate estimated est guess ocular") && !has("by date")
	if !noun && unit == "" || has("pct percent ratio fraction no nr number id") {
		return columnGuess{}
	}
	if otherWeights.MatchString(text) && unit == "" {
		return columnGuess{remark: "was left open: its unit is not one that is read (g, oz, lb, kg, kg/ha, lb/ac, g/m2)"}
	}
	green, dry, bag := has("green fresh wet field moist"), has("dry dried od oven ovendry airdry"), has("bag bags sack envelope paper tare")
	state := ""
	switch {
	case has("tare") || bag && !green && !dry && !has("gross with in incl including plus and sample total"):
		state = "tare"
	case green && !dry:
		state = "green"
	case dry && !green:
		state = "dry"
	default:
		return columnGuess{remark: "was left open: it is a weight, but whether green or dry its name does not say"}
	}
	if estimates {
		return estimateNamed(state, unit, perArea)
	}
	if state != "tare" && (has("gross") || bag && has("with in incl including plus and total")) {
		state += "_gross"
	}
	return weightNamed(k, partNamed(k, words), state, unit, perArea)
}

// estimateNamed makes the name of an estimate. Grams are assumed where the
// name has no unit.
func estimateNamed(state, unit string, perArea bool) columnGuess {
	switch {
	case state == "tare":
		return columnGuess{remark: "was left open: it speaks of a bag, and nothing of an estimate is bagged"}
	case perArea && state == "green":
		return columnGuess{remark: "was left open: an estimate per area is read as dry"}
	case perArea:
		return columnGuess{ours: "estimate" + unit}
	case unit == "":
		return columnGuess{"estimate_" + state + "_g", "was taken to be in grams: its name has no unit; look whether that is so"}
	}
	return columnGuess{ours: "estimate_" + state + unit}
}

// weightUnit finds the unit of a weight and returns the text without it.
func weightUnit(text string) (ending string, perArea bool, rest string) {
	for _, w := range perAreaWords {
		if w.pattern.MatchString(text) {
			return w.ending, true, w.pattern.ReplaceAllString(text, " ")
		}
	}
	for _, w := range weightWords {
		if w.pattern.MatchString(text) {
			return w.ending, false, w.pattern.ReplaceAllString(text, " ")
		}
	}
	return "", false, text
}

// partNamed finds the component that a wide column is of, "" if none.
func partNamed(k *kind, words []string) string {
	if k.parse == nil {
		return ""
	}
	part := ""
	for _, w := range words {
		component := otherWords[w]
		switch w {
		case "herbaceous", "browse", "litter":
			component = w
		case "herbs", "graminoid", "graminoids":
			component = "herbaceous"
		}
		if component != "" && component != "fall" && component != "spring" && component != "peak" {
			part = component
		}
	}
	return part
}

// weightNamed makes the name of a weight. Grams are assumed where the name
// has no unit.
func weightNamed(k *kind, part, state, unit string, perArea bool) columnGuess {
	remark := ""
	if unit == "" {
		unit, remark = "_g", "was taken to be in grams: its name has no unit; look whether that is so"
	}
	if perArea && state != "green" && state != "dry" {
		return columnGuess{remark: "was left open: it speaks of a bag and of a weight per area"}
	}
	ours := state + unit
	if part != "" {
		ours = part + "_" + ours
	}
	if _, ok := k.column(ours); !ok {
		return columnGuess{remark: "was left open: it could be " + ours + ", which files of this kind do not have"}
	}
	return columnGuess{ours, remark}
}
