package monitor

import (
	"fmt"
	"path"
	"slices"
	"strconv"
	"strings"

	"clipledger/schema"
)

// Filter narrows what is read. Empty fields let everything through.
type Filter struct {
	Sites      []string // codes, or globs such as N*
	Strata     []string
	Seasons    []string
	Components []string // components, or production
	FirstYear  int      // growth years, 0: open
	LastYear   int
}

// ParseYears reads "2015", "2011..2020", "2011.." or "..2020".
func ParseYears(text string) (first, last int, err error) {
	from, to, isRange := strings.Cut(text, "..")
	if !isRange {
		to = from
	}
	if first, err = yearOf(from); err == nil {
		last, err = yearOf(to)
	}
	if err == nil && last != 0 && first > last {
		err = fmt.Errorf("the range of years %q runs backwards", text)
	}
	return first, last, err
}

func yearOf(text string) (int, error) {
	if text == "" {
		return 0, nil
	}
	y, err := strconv.Atoi(text)
	if err != nil || y < 1800 || y > 2200 {
		return 0, fmt.Errorf("%q is not a year; write --year 2015 or --year 2011..2020", text)
	}
	return y, nil
}

// Check tells whether the filter is well formed: its globs and the names of
// its components.
func (f *Filter) Check() error {
	for _, g := range append(append([]string{}, f.Sites...), f.Strata...) {
		if _, err := path.Match(g, ""); err != nil {
			return fmt.Errorf("%q is not a pattern: use * for any letters and ? for one", g)
		}
	}
	for _, c := range f.Components {
		if _, ok := schema.ComponentNamed(c); !ok && c != Production {
			return fmt.Errorf("there is no component %q; use herbaceous, browse, standing-dead, litter or production", c)
		}
	}
	return nil
}

func (f *Filter) site(s *schema.SiteRecord) bool {
	return matches(f.Sites, s.Site) && matches(f.Strata, s.Stratum)
}

func (f *Filter) occasion(o *schema.OccasionRecord) bool { return f.year(o.Year) }

func (f *Filter) year(year int) bool {
	return (f.FirstYear == 0 || year >= f.FirstYear) && (f.LastYear == 0 || year <= f.LastYear)
}

func (f *Filter) season(season string) bool {
	return len(f.Seasons) == 0 || slices.Contains(f.Seasons, season)
}

func (f *Filter) component(name string) bool {
	return len(f.Components) == 0 || slices.Contains(f.Components, name)
}

// Matches tells whether a code or stratum fits one of the globs, as the sites
// of a Filter do, or there are none.
func Matches(globs []string, text string) bool { return matches(globs, text) }

// matches tells whether a text fits one of the globs, or there are none.
func matches(globs []string, text string) bool {
	if len(globs) == 0 {
		return true
	}
	return slices.ContainsFunc(globs, func(g string) bool {
		ok, err := path.Match(g, text)
		return err == nil && ok || g == text
	})
}
