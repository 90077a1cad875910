package schema

import (
	"cmp"
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"
)

// ClippingWriter takes clipping records into the ledger. It holds the
// occasions it is working on in memory and writes in batches, so that a
// million rows need neither a look-up each nor memory for all.
type ClippingWriter struct {
	im           *Import
	rules        *rules
	sites        map[string]*siteRef
	occasions    map[occasionKey]*occasionRef
	held         int // bags held in memory
	newOccasions []newOccasion
	newVisits    []*visitRow
	newBags      []*bagRow
	dirty        map[*visitRow]bool
	dirtyBags    map[*bagRow]bool
	basis        string // the ledger's
	spare        []bagRow
	words        map[string]string
	queue        *insertQueue
	occasionRows *inserter[newOccasion]
	visitRows    *inserter[visitRow]
	bagRows      *inserter[bagRow]
	next         int64 // number of the next new occasion
	batch        int64 // counts batches, to find what was not used lately
}

type siteRef struct {
	id         int64
	startMonth int
	occasions  map[yearSeason]int64 // those in the ledger, read when first needed
}

type yearSeason struct {
	year   int
	season string
}

type occasionKey struct {
	site   int64
	year   int
	season string
}

type occasionRef struct {
	key     occasionKey
	id      int64
	nextSeq int64
	visits  map[frameKey]*visitRow
	bags    int
	used    int64 // the last batch that needed it
	seen    []seenType
	ratios  map[ratioKey]float64
}

// newOccasion is an occasion to be written.
type newOccasion struct {
	id  int64
	key occasionKey
}

var occasionColumns = []insertColumn[newOccasion]{
	{"occasion_id", func(o *newOccasion) any { return o.id }, ""},
	{"site_id", func(o *newOccasion) any { return o.key.site }, ""},
	{"growth_year", func(o *newOccasion) any { return int64(o.key.year) }, ""},
	{"season", func(o *newOccasion) any { return o.key.season }, ""},
}

type frameKey struct {
	transect, frame string
	caged           bool
}

// mostHeld is how many bags are kept in memory between batches.
const mostHeld = 25_000

// Clippings starts writing clipping records.
func (im *Import) Clippings() (*ClippingWriter, error) {
	r, err := im.loadRules()
	if err != nil {
		return nil, err
	}
	values, err := readSettings(im.ctx, im.tx)
	if err != nil {
		return nil, err
	}
	w := &ClippingWriter{im: im, rules: r, sites: map[string]*siteRef{}, occasions: map[occasionKey]*occasionRef{},
		dirty: map[*visitRow]bool{}, dirtyBags: map[*bagRow]bool{}, words: map[string]string{}, basis: values["basis"]}
	if _, err := im.queryRow(`SELECT coalesce(max(occasion_id), 0) + 1 FROM occasion`, nil, &w.next); err != nil {
		return nil, err
	}
	w.queue = newInsertQueue(im.Tx)
	if w.occasionRows, err = newInserter(w.queue, "occasion", occasionColumns); err == nil {
		w.visitRows, err = newInserter(w.queue, "visit", visitColumns)
	}
	if err == nil {
		w.bagRows, err = newInserter(w.queue, "bag", bagColumns)
	}
	if err != nil {
		return nil, errors.Join(err, w.queue.close())
	}
	return w, nil
}

// Add takes a batch of records, each checked by itself already. Rows that
// contradict the ledger are reported through the import and left out.
func (w *ClippingWriter) Add(rows []Clipping) error {
	w.batch++
	order := make([]int, len(rows))
	for i := range order {
		order[i] = i
	}
	if !slices.IsSortedFunc(order, func(a, b int) int { return compareFrames(&rows[a], &rows[b]) }) {
		slices.SortStableFunc(order, func(a, b int) int { return compareFrames(&rows[a], &rows[b]) })
	}
	for _, i := range order {
		if err := w.add(&rows[i]); err != nil {
			return fmt.Errorf("line %d: %w", rows[i].Line, err)
		}
	}
	if err := w.flush(); err != nil {
		return err
	}
	w.forget()
	return nil
}

// compareFrames brings rows of one site and occasion together, so that each
// is looked up once a batch.
func compareFrames(a, b *Clipping) int {
	if c := cmp.Compare(a.Site, b.Site); c != 0 {
		return c
	}
	if c := cmp.Compare(a.Year, b.Year); c != 0 {
		return c
	}
	return cmp.Compare(a.Season, b.Season)
}

// add takes one record.
func (w *ClippingWriter) add(c *Clipping) error {
	site, err := w.site(c)
	if err != nil {
		return err
	}
	year := c.Year
	if year == 0 {
		year, err = GrowthYear(c.Date, site.startMonth)
		if err != nil {
			return err
		}
	}
	o, err := w.occasion(site, occasionKey{site.id, year, c.Season})
	if err != nil {
		return err
	}
	return w.addToOccasion(o, c)
}

// GrowthYear is the growth year of a date at a site whose year starts in the
// given month: named for the calendar year in which it ends.
func GrowthYear(date string, startMonth int) (int, error) {
	if len(date) != len("2006-01-02") {
		return 0, fmt.Errorf("no growth year for the date %q", date)
	}
	year, err1 := strconv.Atoi(date[:4])
	month, err2 := strconv.Atoi(date[5:7])
	if err1 != nil || err2 != nil {
		return 0, fmt.Errorf("no growth year for the date %q", date)
	}
	if startMonth > 1 && month >= startMonth {
		year++
	}
	return year, nil
}

// site finds the record's site and creates one that was not declared.
func (w *ClippingWriter) site(c *Clipping) (*siteRef, error) {
	if s, ok := w.sites[c.Site]; ok {
		return s, nil
	}
	s, err := w.im.siteByCode(c.Site, c.Line)
	if err == nil {
		w.sites[strings.Clone(c.Site)] = s
	}
	return s, err
}

// siteByCode finds a site and creates one that was not declared, saying so.
func (im *Import) siteByCode(code string, line int) (*siteRef, error) {
	const find = `SELECT site_id, coalesce(year_start_month, 1) FROM site WHERE site=?`
	s := &siteRef{}
	found, err := im.queryRow(find, []any{code}, &s.id, &s.startMonth)
	if err != nil || found {
		return s, err
	}
	im.Notice(fmt.Sprintf("site %q is not declared: created (a sites file can add its name, stratum and components)", code))
	if err := im.exec(`INSERT INTO site(site,import_id,line) VALUES(?,?,?)`, code, im.id, line); err != nil {
		return nil, err
	}
	im.SitesMade++
	_, err = im.queryRow(find, []any{code}, &s.id, &s.startMonth)
	return s, err
}

// occasion finds an occasion with all its frames and bags, or makes it.
func (w *ClippingWriter) occasion(site *siteRef, k occasionKey) (*occasionRef, error) {
	if o, ok := w.occasions[k]; ok {
		o.used = w.batch
		return o, nil
	}
	k.season = w.intern(k.season)
	o := &occasionRef{key: k, visits: map[frameKey]*visitRow{}, used: w.batch}
	if site.occasions == nil {
		if err := w.readOccasions(site); err != nil {
			return nil, err
		}
	}
	id, known := site.occasions[yearSeason{k.year, k.season}]
	if known {
		o.id = id
		if err := w.load(o); err != nil {
			return nil, err
		}
	} else {
		w.makeOccasion(site, o)
	}
	w.occasions[k] = o
	w.im.touch.sites[k.site] = true
	return o, nil
}

// readOccasions reads which occasions of a site the ledger has.
func (w *ClippingWriter) readOccasions(site *siteRef) error {
	site.occasions = map[yearSeason]int64{}
	return w.im.each(`SELECT occasion_id, growth_year, season FROM occasion WHERE site_id=?`, []any{site.id}, func(scan func(...any) error) error {
		var id int64
		var k yearSeason
		err := scan(&id, &k.year, &k.season)
		site.occasions[k] = id
		return err
	})
}

// makeOccasion makes an occasion; it is written with the batch.
func (w *ClippingWriter) makeOccasion(site *siteRef, o *occasionRef) {
	o.id = w.next
	w.next++
	site.occasions[yearSeason{o.key.year, o.key.season}] = o.id
	w.newOccasions = append(w.newOccasions, newOccasion{o.id, o.key})
}

// occasionID finds an occasion's number or makes the occasion.
func (im *Import) occasionID(k occasionKey) (id int64, made bool, err error) {
	find := []any{k.site, k.year, k.season}
	const query = `SELECT occasion_id FROM occasion WHERE site_id=? AND growth_year=? AND season=?`
	found, err := im.queryRow(query, find, &id)
	if err != nil || found {
		return id, false, err
	}
	if err := im.exec(`INSERT INTO occasion(site_id,growth_year,season,import_id) VALUES(?,?,?,?)`, k.site, k.year, k.season, im.id); err != nil {
		return 0, false, err
	}
	im.touch.sites[k.site] = true
	_, err = im.queryRow(query, find, &id)
	return id, true, err
}

// forget drops occasions that the last batch did not need, once too many
// bags are held.
func (w *ClippingWriter) forget() {
	if w.held <= mostHeld {
		return
	}
	for k, o := range w.occasions {
		if o.used < w.batch {
			w.held -= o.bags
			delete(w.occasions, k)
		}
	}
	if w.held > mostHeld {
		clear(w.occasions)
		w.held = 0
	}
}

// Close ends the writing of clippings: everything taken stands in the
// transaction when it returns.
func (w *ClippingWriter) Close() error {
	return errors.Join(w.flush(), w.Stop())
}

// Stop ends the writing without taking what the last batch left over, as
// after an error. It may be called after Close.
func (w *ClippingWriter) Stop() error {
	err := w.queue.close()
	for _, table := range []string{"occasion", "visit", "bag"} {
		if dropErr := w.im.exec("DROP TABLE IF EXISTS temp." + table + "_rows"); err == nil {
			err = dropErr
		}
	}
	return err
}
