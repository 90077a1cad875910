package export

import (
	"fmt"
	"slices"
	"strings"

	"clipledger/schema"
)

// eml writes eml.xml, by the Ecological Metadata Language 2.2.0: what the
// dataset is, its coverage, methods and every table with its columns. The order
// of elements is that of the standard's schema.
func (w *writer) eml() error {
	src := w.src
	m := src.metadata()
	x := &xmlText{}
	x.line(`<?xml version="1.0" encoding="UTF-8"?>`)
	var failed error
	x.in("eml:eml", `xmlns:eml="https://eml.ecoinformatics.org/eml-2.2.0" xmlns:stmml="http://www.xml-cml.org/schema/stmml-1.2" packageId="`+
		packageName(src.called())+`.1.1" system="clipledger"`, func() {
		x.in("dataset", "", func() {
			failed = w.emlDataset(x, &m)
		})
		x.customUnits()
	})
	if failed != nil {
		return failed
	}
	return w.stageText("eml.xml", x.b.String())
}

func (w *writer) emlDataset(x *xmlText, m *metadata) error {
	src := w.src
	x.of("title", src.called())
	creators := m.creators
	if len(creators) == 0 {
		creators = []string{""}
	}
	for _, name := range creators {
		x.in("creator", "", func() { x.party(name, "") })
	}
	if m.abstract != "" {
		x.in("abstract", "", func() { x.of("para", m.abstract) })
	}
	if len(m.keywords) > 0 {
		x.in("keywordSet", "", func() {
			for _, k := range m.keywords {
				x.of("keyword", k)
			}
		})
	}
	if m.location != "" || m.citation != "" {
		x.in("additionalInfo", "", func() {
			if m.location != "" {
				x.of("para", "Where the sites lie: "+m.location)
			}
			if m.citation != "" {
				x.of("para", "Please cite as: "+m.citation)
			}
		})
	}
	if m.licence != "" {
		x.in("intellectualRights", "", func() { x.of("para", m.licence) })
	}
	if err := src.emlCoverage(x, m); err != nil {
		return err
	}
	x.in("contact", "", func() {
		contact := m.contact
		if contact == "" {
			contact = creators[0]
		}
		x.party(contact, m.contactEmail)
	})
	x.in("methods", "", func() {
		for _, step := range methodSteps(src.values) {
			x.in("methodStep", "", func() {
				x.in("description", "", func() { x.of("para", step) })
			})
		}
	})
	for i := range Tables {
		w.emlTable(x, &Tables[i])
	}
	return nil
}

// party writes a person or an organization; the standard wants one, so where
// nobody is named that is what it says.
func (x *xmlText) party(name, email string) {
	if name == "" {
		x.of("organizationName", "not stated")
	} else if words := strings.Fields(name); len(words) > 1 {
		x.in("individualName", "", func() {
			x.of("givenName", strings.Join(words[:len(words)-1], " "))
			x.of("surName", words[len(words)-1])
		})
	} else {
		x.in("individualName", "", func() { x.of("surName", name) })
	}
	x.of("electronicMailAddress", email)
}

// emlCoverage writes where, when and what plants.
func (src *source) emlCoverage(x *xmlText, m *metadata) error {
	var taxa [][2]string // code and name
	err := src.snap.TableRows("species", func([]string) error { return nil }, func(v []any) error {
		name, _ := v[1].(string)
		code, _ := v[0].(string)
		taxa = append(taxa, [2]string{code, name})
		return nil
	})
	if err != nil || m.firstYear == 0 && len(taxa) == 0 {
		return err
	}
	x.in("coverage", "", func() {
		if src.options.Coordinates && src.hasCoordinates() {
			src.emlPlace(x, m)
		}
		if m.firstYear != 0 {
			x.in("temporalCoverage", "", func() {
				x.in("rangeOfDates", "", func() {
					x.in("beginDate", "", func() { x.of("calendarDate", fmt.Sprint(m.firstYear)) })
					x.in("endDate", "", func() { x.of("calendarDate", fmt.Sprint(m.lastYear)) })
				})
			})
		}
		if len(taxa) > 0 {
			x.in("taxonomicCoverage", "", func() {
				for _, t := range taxa {
					x.in("taxonomicClassification", "", func() {
						x.of("taxonRankValue", t[0])
						x.of("commonName", t[1])
					})
				}
			})
		}
	})
	return nil
}

// emlPlace writes the box that holds the sites.
func (src *source) emlPlace(x *xmlText, m *metadata) {
	where := m.location
	if where == "" {
		where = "the sites of " + src.called()
	}
	var lat, lon []float64
	for i := range src.sites {
		if s := &src.sites[i]; s.Latitude.Valid && s.Longitude.Valid {
			lat, lon = append(lat, s.Latitude.Float64), append(lon, s.Longitude.Float64)
		}
	}
	if len(lat) == 0 {
		return
	}
	x.in("geographicCoverage", "", func() {
		x.of("geographicDescription", where)
		x.in("boundingCoordinates", "", func() {
			x.of("westBoundingCoordinate", fmt.Sprint(slices.Min(lon)))
			x.of("eastBoundingCoordinate", fmt.Sprint(slices.Max(lon)))
			x.of("northBoundingCoordinate", fmt.Sprint(slices.Max(lat)))
			x.of("southBoundingCoordinate", fmt.Sprint(slices.Min(lat)))
		})
	})
}

// methodSteps are the methods in words, with the settings in force.
func methodSteps(v schema.Values) []string {
	return []string{
		"Vegetation was clipped inside frames of known area, herbaceous growth and this year's growth of woody plants (browse) in bags of their own, and weighed. Weight per area is the sum of the dry weights of the bags of a frame over the ground that they speak for; production is herbaceous plus browse.",
		"A component that was looked for in a frame and not found weighs zero and enters the mean; a bag lost before it was weighed makes its component of that frame missing. What was looked for is what the row says, else what the site declares, else every component recorded at the site and season, from its first to its last recorded year.",
		fmt.Sprintf("Dry weights are %s: measured where a bag was dried, else green weight times the ratio of drying samples (sum of dry over sum of green weight, Cochran 1977, chapter 6), times the percentage on the row, or times a book value by growth form or species and stage. Oven-dry is taken as air-dry times 1 - %s, a trade approximation. The way is kept with every weight (column dry_method).", v["basis"], v["moisture"]),
		"Means are over sampling units (frames, or transects of equal weight): mean = sum(y)/n, s2 = sum((y - mean)2)/(n - 1), se2 = s2/n (1 - n/N) + sum over drying ratios k of g2 v(R), with v(R) = sum((d - R g)2)/(m (m - 1) gmean2) over the m samples of the ratio (Cochran 1977, chapters 2 and 6); N only where the number of possible units is declared.",
		fmt.Sprintf("Intervals are mean +- t se at a confidence of %s, degrees of freedom by Satterthwaite (1946); beside them Hall's (1992) transformed interval for skewed values.", v["confidence"]),
		fmt.Sprintf("Sampling was enough where n is at least the smallest n with t s/sqrt(n) <= %s mean at a confidence of %s, %s.", v["precision"], v["adequacy-confidence"], v["sides"]),
		"Book values of the table handbook are transcribed from memory and were not checked against print. Figures are estimates from samples; stocking and use decisions follow local rules and the advice of a qualified range professional.",
	}
}

// emlTable writes one table.
func (w *writer) emlTable(x *xmlText, t *Table) {
	name := t.Name + ".csv"
	file := w.files[name]
	x.in("dataTable", `id="table.`+t.Name+`"`, func() {
		x.of("entityName", name)
		x.of("entityDescription", t.Meaning)
		x.in("physical", "", func() {
			x.of("objectName", name)
			x.line(fmt.Sprintf(`<size unit="bytes">%d</size>`, file.bytes))
			x.line(`<authentication method="SHA-256">` + file.sha + `</authentication>`)
			x.of("characterEncoding", "UTF-8")
			x.in("dataFormat", "", func() {
				x.in("textFormat", "", func() {
					x.of("numHeaderLines", "1")
					x.of("recordDelimiter", `\n`)
					x.of("attributeOrientation", "column")
					x.in("simpleDelimited", "", func() {
						x.of("fieldDelimiter", ",")
						x.of("quoteCharacter", `"`)
					})
				})
			})
		})
		x.in("attributeList", "", func() {
			for i := range t.Columns {
				x.attribute(&t.Columns[i])
			}
		})
		x.of("numberOfRecords", fmt.Sprint(file.rows))
	})
}

// attribute writes one column.
func (x *xmlText) attribute(c *Column) {
	x.in("attribute", "", func() {
		x.of("attributeName", c.Name)
		x.of("attributeDefinition", c.Meaning)
		x.in("measurementScale", "", func() { x.scale(c) })
		x.in("missingValueCode", "", func() {
			x.line("<code></code>")
			x.of("codeExplanation", "empty: missing, never zero")
		})
	})
}

// scale writes on what scale a column is.
func (x *xmlText) scale(c *Column) {
	words := c.Words
	if c.Type == YesNo {
		words = []string{"yes", "no"}
	}
	switch {
	case c.Type == Date, c.Type == Moment:
		format := "YYYY-MM-DD"
		if c.Type == Moment {
			format = "YYYY-MM-DDThh:mm:ssZ"
		}
		x.in("dateTime", "", func() { x.of("formatString", format) })
	case c.Type == Whole || c.Type == Number:
		kind, unit := "real", emlUnit(c.Unit)
		if c.Type == Whole {
			kind = "integer"
		}
		x.in("ratio", "", func() {
			x.in("unit", "", func() { x.of(unit.element, unit.name) })
			x.in("numericDomain", "", func() { x.of("numberType", kind) })
		})
	case len(words) > 0:
		x.in("nominal", "", func() {
			x.in("nonNumericDomain", "", func() {
				x.in("enumeratedDomain", "", func() {
					for _, word := range words {
						x.in("codeDefinition", "", func() {
							x.of("code", word)
							x.of("definition", word+", of: "+c.Meaning)
						})
					}
				})
			})
		})
	default:
		x.in("nominal", "", func() {
			x.in("nonNumericDomain", "", func() {
				x.in("textDomain", "", func() { x.of("definition", c.Meaning) })
			})
		})
	}
}

// unitName is a unit by the standard's dictionary, or one of our own.
type unitName struct{ element, name string }

// emlUnits are the units by the standard's names; the standard's dictionary has
// no percent, and none per year, so those are declared.
var emlUnits = map[string]unitName{
	"": {"standardUnit", "dimensionless"}, "1": {"standardUnit", "dimensionless"}, "g": {"standardUnit", "gram"}, "g/m2": {"standardUnit", "gramsPerSquareMeter"},
	"m2": {"standardUnit", "squareMeter"}, "ha": {"standardUnit", "hectare"}, "m": {"standardUnit", "meter"}, "cm": {"standardUnit", "centimeter"},
	"mm": {"standardUnit", "millimeter"}, "degree": {"standardUnit", "degree"}, "%": {"customUnit", "percentOfWhole"},
	"g/m2/year": {"customUnit", "gramsPerSquareMeterPerYear"}, "g/m2/decade": {"customUnit", "gramsPerSquareMeterPerDecade"}, "%/year": {"customUnit", "percentOfWholePerYear"},
}

func emlUnit(unit string) unitName {
	u, ok := emlUnits[unit]
	if !ok {
		panic("export: EML has no name for the unit " + unit)
	}
	return u
}

// customUnits declares, in STMML, the units that are used and that the
// standard's dictionary does not have.
func (x *xmlText) customUnits() {
	used := map[string]string{}
	for i := range Tables {
		for _, c := range Tables[i].Columns {
			if u := emlUnit(c.Unit); u.element == "customUnit" {
				used[u.name] = c.Unit
			}
		}
	}
	if len(used) == 0 {
		return
	}
	x.in("additionalMetadata", "", func() {
		x.in("metadata", "", func() {
			x.in("stmml:unitList", "", func() {
				for _, name := range sortedKeys(used) {
					x.in("stmml:unit", fmt.Sprintf(`id="%s" name="%[1]s" abbreviation="%s"`, name, escaped(used[name])), func() {
						x.of("stmml:description", units[used[name]])
					})
				}
			})
		})
	})
}
