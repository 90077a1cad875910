package monitor

import (
	"fmt"
	"strconv"
	"strings"

	"clipledger/schema"
)

// How much rain fell for the growth of a year? A site names its station and
// the months whose rain counts (rain_months). A month that was not recorded
// makes the rain of its year missing, never smaller.

// RainWindow is a run of months whose rain counts for a growth year, from the
// first to the last, both counted. Where the first month comes later in the
// calendar than the last, the run begins in the calendar year before.
type RainWindow struct {
	From, To int // months, January 1
}

// ParseRainWindow reads a window as sites hold it, such as "4-7" or "10-6".
func ParseRainWindow(text string) (RainWindow, bool) {
	from, to, ok := strings.Cut(text, "-")
	w := RainWindow{}
	var err1, err2 error
	w.From, err1 = strconv.Atoi(from)
	w.To, err2 = strconv.Atoi(to)
	return w, ok && err1 == nil && err2 == nil && w.From >= 1 && w.From <= 12 && w.To >= 1 && w.To <= 12
}

// wholeYear is the window of all twelve months of the growth year.
func wholeYear(startMonth int) RainWindow {
	return RainWindow{From: startMonth, To: (startMonth+10)%12 + 1}
}

// String writes the window as sites hold it.
func (w RainWindow) String() string { return fmt.Sprintf("%d-%d", w.From, w.To) }

// Months lists the months of the window for a growth year of a site whose
// growth year starts in startMonth. A growth year is named for the calendar
// year in which it ends; the window's last month is taken inside the growth
// year, and the others are counted back from it. So with growth years from
// January 4-7 is April to July of the year and 10-6 is October before to June;
// with growth years from October 10-4 is October before to April, 11-12 is
// November and December before; with growth years from July 9-11 is September
// to November before.
func (w RainWindow) Months(growthYear, startMonth int) []schema.Month {
	last := schema.Month{Year: growthYear, Month: w.To}
	if startMonth > 1 && w.To >= startMonth {
		last.Year--
	}
	n := (w.To-w.From+12)%12 + 1
	out := make([]schema.Month, n)
	for i := n - 1; i >= 0; i-- {
		out[i] = last
		if last.Month--; last.Month == 0 {
			last = schema.Month{Year: last.Year - 1, Month: 12}
		}
	}
	return out
}

// rainIn sums the rain of a window, and lists the months without a record,
// for which there is no sum.
func rainIn(g schema.Gauge, months []schema.Month) (mm Num, lacks []schema.Month) {
	sum := 0.0
	for _, m := range months {
		v, ok := g[m]
		if !ok {
			lacks = append(lacks, m)
		}
		sum += v
	}
	if len(lacks) > 0 {
		return Num{}, lacks
	}
	return schema.Some(sum), nil
}

// SiteRain is the rain that counts at a site.
type SiteRain struct {
	Station      string
	Window       RainWindow
	WindowChosen bool // the site declares none: all twelve months are taken
	Known        bool // the ledger holds rain of the station
	MeanMM       Num  // mean over all growth years whose window is complete
	MeanYears    int
	startMonth   int
	gauge        schema.Gauge
}

// rainOfSite finds the rain of a site; nil where it declares no station.
func rainOfSite(site *schema.SiteRecord, gauges map[string]schema.Gauge) *SiteRain {
	if site.Station == "" {
		return nil
	}
	r := &SiteRain{Station: site.Station, startMonth: site.YearStartMonth, gauge: gauges[site.Station]}
	r.Known = len(r.gauge) > 0
	var ok bool
	if r.Window, ok = ParseRainWindow(site.RainMonths); !ok {
		r.Window, r.WindowChosen = wholeYear(site.YearStartMonth), true
	}
	r.longTerm()
	return r
}

// longTerm takes the mean of every growth year that the station covers,
// clipped or not.
func (r *SiteRain) longTerm() {
	if !r.Known {
		return
	}
	first, last := 1<<30, -1<<30
	for m := range r.gauge {
		first, last = min(first, m.Year), max(last, m.Year)
	}
	sum := 0.0
	for year := first; year <= last+1; year++ {
		if mm, _ := r.Of(year); mm.Valid {
			sum += mm.Float64
			r.MeanYears++
		}
	}
	if r.MeanYears > 0 {
		r.MeanMM = schema.Some(sum / float64(r.MeanYears))
	}
}

// Of is the rain of a growth year, in mm, or the months that it lacks.
func (r *SiteRain) Of(growthYear int) (mm Num, lacks []schema.Month) {
	return rainIn(r.gauge, r.Window.Months(growthYear, r.startMonth))
}

// RainUse is the rain-use efficiency of a mean: kilograms per hectare of dry
// matter for each mm of rain (the ratio that Le Houérou 1984, J. Arid Environ.
// 7:213-247, named; from memory). Missing without rain.
func RainUse(gPerM2, mm Num) Num {
	if !gPerM2.Valid || !mm.Valid || !(mm.Float64 > 0) {
		return Num{}
	}
	return schema.Some(10 * gPerM2.Float64 / mm.Float64)
}

// percentOf is a number in percent of a mean; missing where the mean is 0.
func percentOf(n, mean Num) Num {
	if !n.Valid || !mean.Valid || mean.Float64 == 0 {
		return Num{}
	}
	return schema.Some(100 * n.Float64 / mean.Float64)
}

// monthsText writes months such as "July 2012".
func monthsText(months []schema.Month) string {
	words := make([]string, len(months))
	for i, m := range months {
		words[i] = fmt.Sprintf("%d-%02d", m.Year, m.Month)
	}
	if len(words) > 4 {
		return fmt.Sprintf("%s and %d more months", strings.Join(words[:3], ", "), len(words)-3)
	}
	return strings.Join(words, ", ")
}
