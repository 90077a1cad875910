package monitor

import (
	"runtime"
	"slices"
	"strings"

	"clipledger/monitor/stat"
	"clipledger/schema"
)

// Trends works out the yearly series of every site, season and component that
// the query lets through, and hands them on in the order of site, season and
// component. Of the query, Filter, Confidence and Unit count. Each series
// carries its years, what each method finds, the rain, the events and a plain
// sentence.
func Trends(snap *schema.Snapshot, q Query, emit func(*Series) error) error {
	return eachSeries(snap, q, false, emit)
}

// MeansAndTrends hands on what Means and Trends give for a query that asks for
// all seasons and components, by one reading of the frames in place of two.
func MeansAndTrends(snap *schema.Snapshot, q Query, mean func(*Mean) error, emit func(*Series) error) error {
	return seriesOfMeans(snap, q, false, mean, emit)
}

// eachSeries hands on the series that the query lets through: bare, with their
// years and values only, or with all that Trends gives.
func eachSeries(snap *schema.Snapshot, q Query, bare bool, emit func(*Series) error) error {
	return seriesOfMeans(snap, q, bare, func(*Mean) error { return nil }, emit)
}

// seriesOfMeans is eachSeries, and shows each mean that it rests on before.
func seriesOfMeans(snap *schema.Snapshot, q Query, bare bool, show func(*Mean) error, emit func(*Series) error) error {
	filter := q.Filter
	q.Seasons, q.Components, q.KeepValues, q.By = nil, nil, true, "" // totals need their parts
	w, err := newTrendWork(snap, q, filter, bare, emit)
	if err != nil {
		return err
	}
	err = Means(snap, q, func(m *Mean) error {
		if err := show(m); err != nil {
			return err
		}
		return w.take(m)
	})
	if err != nil {
		return err
	}
	return w.end()
}

// take takes the next mean, in the order in which Means gives them.
func (w *trendWork) take(m *Mean) error {
	if len(w.held) > 0 && w.held[0].Site != m.Site {
		if err := w.dispatch(); err != nil {
			return err
		}
	}
	w.held = append(w.held, m)
	return nil
}

// end works out the last site and hands on all that is still to come.
func (w *trendWork) end() error {
	if err := w.dispatch(); err != nil {
		return err
	}
	return w.collect(0)
}

// trendWork is what one call of Trends works with: sites are worked out on as
// many cores as there are, and handed on in order.
type trendWork struct {
	snap    *schema.Snapshot
	filter  Filter
	math    *trendMath
	gauges  map[string]schema.Gauge
	yearly  map[int64]map[schema.Component]string
	mixings map[int64][]mixing
	events  []schema.Event
	places  map[string][]schema.TransectPlace // by site
	bare    bool                              // only the years and their values
	emit    func(*Series) error
	held    []*Mean // of the site that is being read
	running []chan []*Series
	cores   chan struct{}
}

func newTrendWork(snap *schema.Snapshot, q Query, filter Filter, bare bool, emit func(*Series) error) (*trendWork, error) {
	values, err := snap.Settings()
	if err != nil {
		return nil, err
	}
	confidence := q.Confidence
	if confidence == 0 {
		confidence = values.Must("confidence")
	}
	w := &trendWork{snap: snap, filter: filter, math: newTrendMath(confidence), bare: bare, emit: emit, cores: make(chan struct{}, runtime.GOMAXPROCS(0))}
	if w.yearly, err = snap.SeasonsOfComponents(); err != nil || bare {
		return w, err
	}
	if w.gauges, err = snap.Gauges(); err != nil {
		return nil, err
	}
	if w.mixings, err = mixingsOf(snap); err != nil {
		return nil, err
	}
	if w.events, err = snap.Events(schema.EventFilter{}); err != nil {
		return nil, err
	}
	places, err := snap.TransectPlaces(0)
	w.places = map[string][]schema.TransectPlace{}
	for _, p := range places {
		w.places[p.Site] = append(w.places[p.Site], p)
	}
	return w, err
}

// sitesAhead bounds how many sites are worked out before the first is handed
// on.
const sitesAhead = 64

// dispatch sends the means held of a site to be worked out.
func (w *trendWork) dispatch() error {
	if len(w.held) == 0 {
		return nil
	}
	site := &siteTrends{work: w, means: w.held}
	w.held = nil
	if err := site.readNames(); err != nil {
		return err
	}
	done := make(chan []*Series, 1)
	w.running = append(w.running, done)
	w.cores <- struct{}{}
	go func() {
		done <- site.series()
		<-w.cores
	}()
	return w.collect(sitesAhead)
}

// collect hands on sites in order until no more than these are running.
func (w *trendWork) collect(most int) error {
	for len(w.running) > most {
		for _, s := range <-w.running[0] {
			if err := w.emit(s); err != nil {
				return err
			}
		}
		w.running = w.running[1:]
	}
	return nil
}

// siteTrends works out one site.
type siteTrends struct {
	work  *trendWork
	means []*Mean
	names map[int64]schema.FrameName // of the frames, where they stay in place
}

// readNames reads the names of the frames of a site that keeps them in place.
func (t *siteTrends) readNames() error {
	if t.means[0].Site.Placement != "same" {
		return nil
	}
	seen := map[int64]bool{}
	for _, m := range t.means {
		for _, v := range m.FrameVisits {
			seen[v>>20] = true
		}
	}
	ids := make([]int64, 0, len(seen))
	for id := range seen {
		ids = append(ids, id)
	}
	slices.Sort(ids)
	t.names = map[int64]schema.FrameName{}
	for _, r := range ranges(ids) {
		err := t.work.snap.FrameNames(r[0], r[1], func(visit int64, name schema.FrameName) error {
			t.names[visit] = name
			return nil
		})
		if err != nil {
			return err
		}
	}
	return nil
}

// series works out all series of the site and returns those that are wanted.
func (t *siteTrends) series() []*Series {
	all := t.gather()
	rain := rainOfSite(t.means[0].Site, t.work.gauges)
	frames := map[*Series]*spots{}
	for _, s := range all {
		if t.names != nil {
			frames[s] = s.spotsOf(t.names)
			s.adjust(frames[s])
		}
	}
	var out []*Series
	for _, s := range all {
		if !t.work.filter.season(s.Season) || !t.work.filter.component(s.Component) {
			continue
		}
		if s.Component == Production && t.names != nil && frames[s] == nil {
			s.adjustTotal(t.partsOf(s, all))
		}
		t.work.finish(s, rain, frames[s], all)
		out = append(out, s)
	}
	return out
}

// gather puts the site's means, which come year by year, into series.
func (t *siteTrends) gather() []*Series {
	type key struct{ season, component string }
	at := map[key]*Series{}
	var out []*Series
	for _, m := range t.means {
		k := key{m.Season, m.Component}
		if at[k] == nil {
			at[k] = &Series{Site: m.Site, Season: m.Season, Component: m.Component, Confidence: t.work.math.confidence}
			out = append(out, at[k])
		}
		at[k].Years = append(at[k].Years, yearOfSeries(m))
	}
	slices.SortStableFunc(out, func(a, b *Series) int {
		if c := strings.Compare(a.Season, b.Season); c != 0 {
			return c
		}
		return componentOrder(a.Component) - componentOrder(b.Component)
	})
	return out
}

// yearOfSeries takes a year's mean into a series, unless it cannot stand
// beside the others.
func yearOfSeries(m *Mean) SeriesYear {
	y := SeriesYear{Year: m.Year, Mean: m, Value: m.Mean}
	for _, r := range m.Remarks {
		switch r.Code {
		case "part-absent":
			y.Value, y.LeftOut = Num{}, "lacks a part that production has in other years"
		case "part-missing":
			y.LeftOut = r.Text
		}
	}
	if !y.Value.Valid && y.LeftOut == "" {
		y.LeftOut = "no frame with a value"
	}
	return y
}

// partsOf finds the series that a total of components on frames of their own
// adds up.
func (t *siteTrends) partsOf(total *Series, all []*Series) []*Series {
	seasons := t.work.yearly[total.Site.ID]
	var parts []*Series
	for _, s := range all {
		c, ok := schema.ComponentNamed(s.Component)
		season := total.Season
		if own, yearly := seasons[c]; yearly {
			season = own
		}
		if ok && c.IsProduction() && s.Season == season {
			parts = append(parts, s)
		}
	}
	return parts
}

// finish works out everything about one series.
func (w *trendWork) finish(s *Series, rain *SiteRain, frames *spots, all []*Series) {
	years, x, y := s.values()
	if m := stat.MomentsOf(y); m.N() > 0 {
		s.Mean = schema.Some(m.Mean())
	}
	if w.bare {
		return
	}
	for i := range s.Years {
		s.Years[i].MeanPct = percentOf(s.Years[i].Value, s.Mean)
	}
	s.addRain(rain)
	s.Trends = append(s.Trends, w.math.ols(s))
	if t, ok := w.math.theilSen(s); ok {
		s.Trends = append(s.Trends, t)
	}
	if t, ok := w.math.olsRain(s); ok {
		s.Trends = append(s.Trends, t)
	}
	if t, ok := w.math.mixed(s, frames); ok {
		s.Trends = append(s.Trends, t)
	}
	if a, ok := stat.LagOne(x, y); ok && len(years) >= yearsForTrend {
		s.Autocorrelation = &a
	}
	s.Events, s.Transects = w.eventsOf(s), w.places[s.Site.Site]
	w.remarks(s, all)
	s.Sentence = Sentence(s)
}

// eventsOf are the events of the site or its stratum within the years of a
// series.
func (w *trendWork) eventsOf(s *Series) []schema.Event {
	if len(s.Years) == 0 {
		return nil
	}
	first, last := s.Years[0].Year, s.Years[len(s.Years)-1].Year
	var out []schema.Event
	for _, e := range w.events {
		if e.Site != s.Site.Site && (e.Site != "" || e.Stratum == "" || e.Stratum != s.Site.Stratum) {
			continue
		}
		from, err := schema.GrowthYear(e.Start, s.Site.YearStartMonth)
		if err != nil {
			continue
		}
		to := from
		if e.End != "" {
			if y, err := schema.GrowthYear(e.End, s.Site.YearStartMonth); err == nil {
				to = y
			}
		}
		if to >= first && from <= last {
			out = append(out, e)
		}
	}
	return out
}
