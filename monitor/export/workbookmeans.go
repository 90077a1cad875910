package export

import (
	"fmt"

	"clipledger/monitor"
	"clipledger/schema"
)

// means are all means, in g/m².
func (b *book) means() ([]*monitor.Mean, error) {
	var out []*monitor.Mean
	err := monitor.Means(b.src.snap, monitor.Query{Unit: b.unit(), Confidence: b.src.options.Confidence}, func(m *monitor.Mean) error {
		out = append(out, m)
		return nil
	})
	return out, err
}

// density is a weight per area in the unit of the workbook.
func density(u monitor.Unit, n schema.Num) Cell {
	return Cell{Number: u.Of(n.Float64), Has: n.Valid}
}

func formatOf(u monitor.Unit) int {
	if u.Decimal == 0 {
		return asWhole
	}
	return asNumber1
}

const workbookCaution = "Figures are estimates from samples; stocking and use decisions follow local rules and the advice of a qualified range professional."

// summary writes where each site stands in its last year.
func (b *book) summary(means []*monitor.Mean) error {
	u := b.unit()
	f := formatOf(u)
	s, err := b.sheet("Summary", fmt.Sprintf("Production of every site in its last year, %s, %s. Below the mean of the years before, each counted once. %s",
		u.Name, b.src.values["basis"], workbookCaution), []sheetColumn{
		{"site", 12, asText}, {"name", 24, asText}, {"stratum", 18, asText}, {"season", 10, asText}, {"last year", 9, asWhole}, {"sampling units", 10, asWhole},
		{"production, " + u.Name, 12, f}, {"interval from", 11, f}, {"interval to", 11, f}, {"enough sampled", 10, asText},
		{"years before", 9, asWhole}, {"their mean, " + u.Name, 12, f}, {"in % of it", 9, asWhole}})
	if err != nil {
		return err
	}
	type line struct {
		last  *monitor.Mean
		sum   float64
		years int64
	}
	lines := map[[2]string]*line{}
	var order [][2]string
	for _, m := range means { // by site and year
		if m.Component != monitor.Production || !m.Mean.Valid {
			continue
		}
		k := [2]string{m.Site.Site, m.Season}
		if l := lines[k]; l != nil {
			l.sum += l.last.Mean.Float64
			l.years++
			l.last = m
			continue
		}
		lines[k] = &line{last: m}
		order = append(order, k)
	}
	for _, k := range order {
		l := lines[k]
		m := l.last
		before, percent := schema.Num{}, schema.Num{}
		if l.years > 0 {
			before = schema.Some(l.sum / float64(l.years))
			if before.Float64 > 0 {
				percent = schema.Some(100 * m.Mean.Float64 / before.Float64)
			}
		}
		err := s.add([]Cell{text(m.Site.Site), text(m.Site.Name), text(m.Site.Stratum), text(m.Season), whole(int64(m.Year)), whole(int64(m.N)), density(u, m.Mean),
			density(u, m.CI.Low), density(u, m.CI.High), text(m.Adequate.String()), whole(l.years), density(u, before), number(percent)})
		if err != nil {
			return err
		}
	}
	return s.end()
}

// meansSheet writes the means by year.
func (b *book) meansSheet(means []*monitor.Mean) error {
	u := b.unit()
	f := formatOf(u)
	s, err := b.sheet("Means by year", fmt.Sprintf("Mean of every site, growth year, season and component, %s, %s; empty: missing. What a number rests on stands in its last column.",
		u.Name, b.src.values["basis"]), []sheetColumn{
		{"site", 12, asText}, {"stratum", 18, asText}, {"year", 8, asWhole}, {"season", 10, asText}, {"component", 14, asText}, {"sampling units", 10, asWhole},
		{"mean, " + u.Name, 12, f}, {"standard error", 11, f}, {"interval from", 11, f}, {"interval to", 11, f}, {"confidence", 10, asFraction},
		{"coefficient of variation, %", 11, asWhole}, {"zeros inferred", 9, asWhole}, {"frames missing", 9, asWhole}, {"book values, % of weight", 11, asWhole},
		{"units required", 9, asWhole}, {"enough sampled", 9, asText}, {"remarks", 80, asText}})
	if err != nil {
		return err
	}
	for _, m := range means {
		err := s.add([]Cell{text(m.Site.Site), text(m.Site.Stratum), whole(int64(m.Year)), text(m.Season), text(m.Component), whole(int64(m.N)), density(u, m.Mean),
			density(u, m.SE), density(u, m.CI.Low), density(u, m.CI.High), {Number: m.Confidence, Has: true}, number(m.CVPct), whole(int64(m.ZerosInfer)),
			whole(int64(m.Missing)), number(m.BookPct), number(m.NRequired), text(m.Adequate.String()), text(b.src.remarkWords(m.Remarks))})
		if err != nil {
			return err
		}
	}
	return s.end()
}
