package monitor

import (
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"

	"clipledger/schema"
)

// remarks adds what a reader must know beside a mean.
func (c *calculation) remarks(m *Mean, o *occasion, s *sample, ratios *occasionRatios) {
	m.remarkZeros(len(s.values))
	m.remarkMissing(s)
	c.remarkBook(m, s)
	c.remarkBasis(m, o, ratios)
	m.remarkUnits(s)
	if m.Site.Selection == "chosen" {
		m.note("chosen", "the frames were chosen, not drawn: this is the mean of the chosen frames, not of the stratum")
	}
}

func (m *Mean) remarkZeros(frames int) {
	switch {
	case m.ZerosInfer == 0:
	case m.ZerosInfer == frames:
		m.warn("all-zeros-inferred", fmt.Sprintf("every value is an inferred zero: no row of this occasion says that %s was looked for; declare the site's components or write the zeros", m.Component))
	default:
		m.note("zeros-inferred", fmt.Sprintf("%d of %s inferred to be zero: nothing was written for them", m.ZerosInfer, framesWord(frames)))
	}
	if m.N > 0 && m.Mean.Float64 == 0 {
		m.note("all-zero", "every frame weighs nothing: no judgement of adequacy")
	} else if m.N > 1 && m.SD.Float64 == 0 {
		m.note("all-alike", "all sampling units weigh the same: no interval; look whether these were clipped")
	}
}

func (m *Mean) remarkMissing(s *sample) {
	if s.left == 0 {
		return
	}
	var words []string
	outside := 0
	for _, why := range slices.Sorted(maps.Keys(s.missing)) {
		words = append(words, fmt.Sprintf("%s (%d)", why, s.missing[why]))
		if strings.Contains(why, "not declared") {
			outside += s.missing[why]
		}
	}
	text := fmt.Sprintf("%s left out: %s", framesWord(s.left), strings.Join(words, "; "))
	if len(s.values) == 0 {
		m.warn("missing", text)
	} else {
		m.note("missing", text)
	}
	if outside > 0 {
		m.warn("undeclared", "a component is outside the years in which it was recorded here: whether it was looked for is unknown; declare the site's components")
	}
}

// remarkBook says how much of the weight rests on book values, and what the
// mean would be at 5 points of dry matter more or less where it is more than
// half.
func (c *calculation) remarkBook(m *Mean, s *sample) {
	if !m.BookPct.Valid || m.BookPct.Float64 == 0 {
		return
	}
	text := fmt.Sprintf("%.0f %% of the weight rests on book values (%s)", m.BookPct.Float64, strings.Join(c.tables, ", "))
	if slices.Contains(c.tables, schema.HandbookTable) {
		text += "; the built-in handbook table is transcribed from memory and not checked against print"
	}
	m.note("book-values", text)
	if m.BookPct.Float64 <= 50 {
		return
	}
	low, high := c.bookRange(m, s)
	unit := c.query.unit()
	m.note("book-sensitivity", fmt.Sprintf("were those plants 5 points of dry matter below or above the book, the mean would be %.*f to %.*f %s",
		unit.Decimal, unit.Of(low), unit.Decimal, unit.Of(high), unit.Name))
	m.BookLow, m.BookHigh = schema.Some(low), schema.Some(high)
}

func framesWord(n int) string {
	if n == 1 {
		return "1 frame"
	}
	return fmt.Sprintf("%d frames", n)
}

// bookRange is the mean with every book percentage 5 points lower and higher.
func (c *calculation) bookRange(m *Mean, s *sample) (low, high float64) {
	shift := 0.0
	for _, u := range s.units(m.Site.SamplingUnit) {
		for _, i := range u.frames {
			shift += 0.05 * s.values[i].book.green / float64(len(u.frames)) / float64(m.N)
		}
	}
	return math.Max(0, m.Mean.Float64-shift), m.Mean.Float64 + shift
}

// remarkBasis says where dry weights were converted to the ledger's basis, by
// an assumption on the water left in them: weights and percentages of bags,
// drying samples, book values.
func (c *calculation) remarkBasis(m *Mean, o *occasion, ratios *occasionRatios) {
	air, oven, unknown := o.ways.AirDry(), o.ways.OvenDry(), o.ways.UnknownBasis()
	if ratios != nil {
		air, oven, unknown = air || ratios.bases[schema.AirDry], oven || ratios.bases[schema.OvenDry], unknown || ratios.bases[schema.UnknownBasis]
	}
	if air && oven {
		m.note("mixed-bases", "dry weights of this occasion came on both bases")
	}
	if oven && c.rules.Basis == schema.AirDry || air && c.rules.Basis == schema.OvenDry || o.ways.BookOfOtherBasis() {
		m.note("basis-converted", fmt.Sprintf("dry weights were converted to %s with the ledger's moisture of %g, a trade approximation", c.rules.Basis, c.rules.Moisture))
	}
	if unknown {
		m.note("basis-unknown", "the basis of some dry weights is unknown; they are taken as "+c.rules.Basis)
	}
}

func (m *Mean) remarkUnits(s *sample) {
	if m.N > 1 && m.N < 3 {
		m.note("few-units", "fewer than 3 sampling units")
	}
	if m.N > 1 && onOneLine(m.Site, s) {
		m.note("one-line", "the frames lie on one line: the interval speaks for this line")
	}
	if m.Site.UnitsPossible > 0 && m.Site.UnitsPossible <= m.N {
		m.warn("units-possible", fmt.Sprintf("the site declares %d possible units, not more than were sampled: no finite population correction", m.Site.UnitsPossible))
	}
}

// onOneLine tells whether the frames are known to lie on one line: all carry
// the same transect, and either it was named or the frames return to it. The
// name "1" is also what rows without a transect get.
func onOneLine(site *schema.SiteRecord, s *sample) bool {
	if site.SamplingUnit != "frame" || site.Placement == "new" && s.values[0].frame.transect == "1" {
		return false
	}
	for i := range s.values {
		if s.values[i].frame.transect != s.values[0].frame.transect {
			return false
		}
	}
	return true
}

// noteParts says so where the parts do not add up to the total, because they
// rest on different frames.
func (m *Mean) noteParts(names []schema.Component, parts map[schema.Component]*Mean) {
	sum := 0.0
	for _, n := range names {
		if p := parts[n]; p == nil || !p.Mean.Valid {
			return
		}
		sum += parts[n].Mean.Float64
	}
	if m.Mean.Valid && math.Abs(sum-m.Mean.Float64) > 1e-9*(1+sum) {
		m.note("parts-differ", "the components' means rest on other frames than the total and do not add up to it")
	}
}

// warnAbsent says so where production lacks a part that it has in other
// years: beside those years the total is not comparable.
func (c *calculation) warnAbsent(m *Mean, has []schema.Component) {
	for _, part := range c.recorded[schema.SiteSeason{SiteID: m.Site.ID, Season: m.Season}] {
		if !slices.Contains(has, part) {
			m.warn("part-absent", fmt.Sprintf("%s was not looked for here, and in other years it is part of production: not to be compared with those", part))
		}
	}
}
