package charts

import "strings"

// The sections of a site's page, in the order in which someone asks.

func (p *sitePage) addParts(r *Report, s *Site) error {
	p.Trends = trendLead(s, p.Series)
	p.TrendAll, p.Doubts = trendsTable(r, s, p.Series, p.Page), trendNotes(s, p.Series)
	if now, ok := standingPart(r, s, p.Series); ok {
		p.Standing = &now
	}
	for _, make := range []func() (part, bool, error){
		func() (part, bool, error) { return rainPart(r, s, p.Page, p.Series) },
		func() (part, bool, error) { return changesPart(r, s, p.Page, p.Series) },
	} {
		if err := addPart(&p.Before, make); err != nil {
			return err
		}
	}
	for _, make := range []func() (part, bool, error){
		func() (part, bool, error) { x, ok := classPart(r, s, p.Page, p.Series); return x, ok, nil },
		func() (part, bool, error) { return usePart(r, s, p.Page) },
		func() (part, bool, error) { return compositionPart(s, p.Page) },
		func() (part, bool, error) { return basisPart(s, p.Page) },
		func() (part, bool, error) { return eyePart(s, p.Page) },
	} {
		if err := addPart(&p.After, make); err != nil {
			return err
		}
	}
	printed := 0
	for _, f := range p.Adequacy {
		if f.Script != "" && !strings.HasSuffix(f.Kind, " screen") {
			printed++
		}
	}
	p.HalfPaper = printed == 1 && len(p.Before) > 0 && p.Before[0].ID == "rain" && len(p.Before[0].Figures) > 0
	p.OnScreen = onScreen(p.Page, append(append([]part{}, p.Before...), p.After...))
	return nil
}

func addPart(to *[]part, make func() (part, bool, error)) error {
	x, ok, err := make()
	if ok && err == nil {
		*to = append(*to, x)
	}
	return err
}

// onScreen names the sections that paper leaves out, and where their numbers
// are.
func onScreen(page string, parts []part) string {
	var words []string
	files := []string{"data/" + page + ".csv"}
	for _, p := range parts {
		if !p.Screen || len(p.Tables) == 0 {
			continue
		}
		words = append(words, strings.ToLower(p.Heading[:1])+p.Heading[1:])
		if end := strings.TrimPrefix(p.Tables[0].CSV, page); end != "" {
			files = append(files, "…"+end+".csv")
		}
	}
	if len(words) == 0 {
		return ""
	}
	return "On screen only: " + join(words) + ". Their numbers: " + join(files) + "."
}

// UsesCaution tells whether any section tempts to a decision on use.
func (p *sitePage) UsesCaution() bool {
	if p.Site.Caution {
		return true
	}
	for _, x := range p.After {
		if x.Caution {
			return true
		}
	}
	return false
}
