package monitor

import (
	"cmp"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"clipledger/schema"
)

// Quality checks: what in the records does not look right, from the records
// themselves, as they were written. A check compares a record with what can be
// (dry weight above green), with its like (a fraction of dry matter, a frame's
// weight), or with how the site is otherwise clipped (frames, dates, sizes,
// rules). Nothing is changed and nothing is left out of a mean for it: a
// finding is a question to whoever clipped.
//
// Whatever the filter, a record is judged by the other years and sites; the
// filter says which findings are given. The ledger is read twice: once for what
// one record says of those at other sites (survey), then group by group of
// sites, so that what is held does not grow with their number.

// Severity says how much a finding matters.
type Severity uint8

// Serious findings cannot be right, or leave a number out. Those to look at
// are unlikely. Notes are worth knowing beside a mean.
const (
	Note Severity = iota + 1
	Look
	Serious
)

// String is the word for it.
func (s Severity) String() string { return [...]string{"", "note", "look", "serious"}[s] }

// Finding is what a check found in some records of a site.
type Finding struct {
	// ID stays the same while the records that it rests on keep their values,
	// however often they are imported; other values give another ID.
	ID         string
	Severity   Severity
	Check      string // short and stable, for programs
	Site       *schema.SiteRecord
	Years      []int // growth years, ascending
	Season     string
	Components []string
	Records    []string // in words, with file and line; the first of many
	More       int      // records beyond those
	Found      string
	Why        string
	Do         string
	Accepted   bool
	Note       string // why it was accepted
}

// YearsText writes the growth years in short: "2011..2013 2015".
func (f *Finding) YearsText() string {
	var words []string
	for i := 0; i < len(f.Years); {
		j := i
		for j+1 < len(f.Years) && f.Years[j+1] == f.Years[j]+1 {
			j++
		}
		word := strconv.Itoa(f.Years[i])
		if j > i {
			word += ".." + strconv.Itoa(f.Years[j])
		}
		words = append(words, word)
		i = j + 1
	}
	return strings.Join(words, " ")
}

// Check runs every quality check and returns the findings that fit the
// filter: the open ones first, the worst first, then the accepted ones.
func Check(s *schema.Snapshot, filter Filter) ([]Finding, error) {
	return checkInGroups(s, filter, occasionsChecked, func(*checker) {})
}

// checkInGroups is Check with groups of sites of at most so many occasions; it
// calls done after each.
func checkInGroups(s *schema.Snapshot, filter Filter, occasions int, done func(*checker)) ([]Finding, error) {
	c, err := newChecker(s)
	if err != nil {
		return nil, err
	}
	if err := c.survey(); err != nil {
		return nil, err
	}
	for _, group := range siteGroups(c.allSites, c.bySite, filter.site, occasions) {
		if err := c.checkGroup(group); err != nil {
			return nil, err
		}
		done(c)
	}
	if err := c.checkSiteNames(); err != nil {
		return nil, err
	}
	return c.given(filter)
}

// given are the findings that fit the filter, in order.
func (c *checker) given(filter Filter) ([]Finding, error) {
	accepted, err := c.snap.AcceptedFindings()
	if err != nil {
		return nil, err
	}
	var out []Finding
	for _, f := range c.findings {
		if filter.finding(&f) {
			f.Note, f.Accepted = accepted[f.ID]
			out = append(out, f)
		}
	}
	slices.SortFunc(out, compareFindings)
	return out, nil
}

// finding tells whether a finding fits the filter.
func (f *Filter) finding(x *Finding) bool {
	inYears := func(y int) bool { return f.occasion(&schema.OccasionRecord{Year: y}) }
	return f.site(x.Site) && f.season(x.Season) && (len(x.Years) == 0 || slices.ContainsFunc(x.Years, inYears)) &&
		(len(f.Components) == 0 || slices.ContainsFunc(x.Components, f.partOf))
}

// checkGroup runs the checks on a group of sites.
func (c *checker) checkGroup(sites []*schema.SiteRecord) error {
	if err := c.readGroup(sites); err != nil {
		return err
	}
	for _, check := range []func() error{
		c.checkBags, // for the next one
		c.checkBasis,
		c.checkOutliers, c.checkFramesMissing, c.checkMethods, c.checkTypeOnce, c.checkNests, c.checkDates, c.checkDeclared,
		c.checkEstimates,
	} {
		if err := check(); err != nil {
			return err
		}
	}
	return c.checkMeans(sites)
}

// partOf tells whether a component, or the production it is part of, is asked
// for.
func (f *Filter) partOf(name string) bool {
	c, ok := schema.ComponentNamed(name)
	return f.component(name) || ok && c.IsProduction() && slices.Contains(f.Components, Production)
}

func compareFindings(a, b Finding) int {
	open := func(f *Finding) int {
		if f.Accepted {
			return 1
		}
		return 0
	}
	return cmp.Or(cmp.Compare(open(&a), open(&b)), -cmp.Compare(a.Severity, b.Severity), cmp.Compare(a.Site.Site, b.Site.Site),
		slices.Compare(a.Years, b.Years), cmp.Compare(a.Season, b.Season), cmp.Compare(a.Check, b.Check), slices.Compare(a.Components, b.Components),
		slices.Compare(a.Records, b.Records), cmp.Compare(a.ID, b.ID))
}

// place says where a finding belongs.
type place struct {
	site   *schema.SiteRecord
	season string
}

// evidence is one record that a finding rests on: in words for people, and by
// its natural key and the values that were judged.
type evidence struct {
	words  string
	key    string
	values string
}

// idDigits is how many hexadecimal digits follow the f of a finding's ID: with
// ten, two of a thousand findings share one by chance in one of two million
// ledgers. The letter keeps other programs from reading 12e4567890 as a number.
const idDigits = 10

// report adds a finding. Its ID is made from the check, the place and the
// evidence, whose order does not matter.
func (c *checker) report(p place, f Finding, records ...evidence) {
	f.Site, f.Season = p.site, p.season
	lines := make([]string, len(records))
	for i, r := range records {
		lines[i] = r.key + "\x1f" + r.values
		switch {
		case r.words == "":
		case len(f.Records) < mostWorded:
			f.Records = append(f.Records, r.words)
		default:
			f.More++
		}
	}
	slices.Sort(lines)
	// Components can be told from the evidence, or are part of the place.
	sum := sha256.Sum256([]byte(strings.Join(append([]string{f.Check, p.site.Site, p.season, strings.Join(f.Components, ",")}, lines...), "\x1e")))
	f.ID = "f" + hex.EncodeToString(sum[:])[:idDigits]
	slices.Sort(f.Years)
	f.Years = slices.Compact(f.Years)
	if len(f.Records) == 0 {
		f.Records = c.occasionsIn(p, f.Years)
	}
	c.findings = append(c.findings, f)
}

// mostWorded is how many records a finding names.
const mostWorded = 50

// RecordsText names the records in one line: the first ones, and how many
// more there are.
func (f *Finding) RecordsText(most int) string {
	shown := f.Records[:min(most, len(f.Records))]
	text := strings.Join(shown, "; ")
	if more := f.More + len(f.Records) - len(shown); more > 0 {
		text += fmt.Sprintf("; and %d more", more)
	}
	return text
}

// firstOf joins words: the first ones, and how many more there are.
func firstOf(words []string, most int, between string) string {
	if len(words) <= most {
		return strings.Join(words, between)
	}
	return fmt.Sprintf("%s%sand %d more", strings.Join(words[:most], between), between, len(words)-most)
}
