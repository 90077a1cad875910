package monitor

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"clipledger/schema"
)

// Dates far from the others: within one occasion, more than three weeks from
// its middle day (a crew takes days, at most weeks); between years, more than
// 30 days from the middle day of the other years and more than four robust
// standard deviations (both common practice). Days of the year are compared
// around the turn of the year.

const (
	mostDaysWithin   = 21
	mostDaysBetween  = 30
	mostDaysSpread   = 4
	fewestDatedYears = 4 // other years with a date
)

// dated is one component of one occasion with its days.
type dated struct {
	occasion *schema.OccasionRecord
	middle   float64 // days since 1970
	offset   float64 // day of the year of the middle
}

// datedFrame is one frame's day.
type datedFrame struct {
	visit *schema.CheckVisit
	text  string
	day   float64
}

func (c *checker) checkDates() error {
	for i := range c.series {
		s := &c.series[i]
		within, between := map[string]*datesFound{}, map[string]*datesFound{}
		for _, component := range schema.Components {
			var list []dated
			for _, o := range s.occasions {
				frames := c.datesOf(o, component)
				if len(frames) == 0 {
					continue
				}
				days := make([]float64, len(frames))
				for i := range frames {
					days[i] = frames[i].day
				}
				middle := medianOf(days)
				list = append(list, dated{o, middle, float64(dateOf(middle).YearDay())})
				note(within, farWithin(o, middle, frames), component)
			}
			for _, f := range farBetween(list) {
				note(between, f, component)
			}
		}
		c.reportDates(s, within, "date-within-occasion")
		c.reportDates(s, between, "date-between-years")
	}
	return nil
}

// datesOf are the dated frames of a component of an occasion.
func (c *checker) datesOf(o *schema.OccasionRecord, component schema.Component) []datedFrame {
	var out []datedFrame
	any := false
	frames := c.framesOf(o.ID)
	for i := range frames {
		v := &frames[i]
		has := v.Recorded&component.Bit() != 0
		any = any || has
		if !has && (v.Recorded != 0 || !v.Clipped || v.Sampled != 0 && v.Sampled&component.Bit() == 0) {
			continue // an empty frame counts for whatever was looked for
		}
		text := c.part(v, component).Date
		if t, err := time.Parse(time.DateOnly, text); err == nil {
			out = append(out, datedFrame{v, text, float64(t.Unix() / 86400)})
		}
	}
	if !any {
		return nil
	}
	return out
}

func dateOf(day float64) time.Time { return time.Unix(int64(day)*86400, 0).UTC() }

// datesFound are dates far from the others.
type datesFound struct {
	occasion   *schema.OccasionRecord
	text       string
	frames     []datedFrame
	components []string
}

// note keeps what was found once for the components found alike.
func note(found map[string]*datesFound, f *datesFound, component schema.Component) {
	if f == nil {
		return
	}
	key := f.text
	for _, x := range f.frames {
		key += fmt.Sprint(" ", x.visit.Visit)
	}
	key = fmt.Sprint(f.occasion.ID, key)
	if found[key] == nil {
		found[key] = f
	}
	found[key].components = append(found[key].components, component.String())
}

func farWithin(o *schema.OccasionRecord, middle float64, frames []datedFrame) *datesFound {
	var far []datedFrame
	var words []string
	for _, f := range frames {
		if math.Abs(f.day-middle) > mostDaysWithin {
			far = append(far, f)
			if word := fmt.Sprintf("%s (%.0f days)", f.text, math.Abs(f.day-middle)); !slices.Contains(words, word) {
				words = append(words, word)
			}
		}
	}
	if far == nil {
		return nil
	}
	return &datesFound{occasion: o, frames: far,
		text: fmt.Sprintf("%s dated more than %d days from the occasion's middle day, %s: %s", framesWord(len(far)), mostDaysWithin, dateOf(middle).Format(time.DateOnly), firstOf(words, 6, ", "))}
}

// farBetween compares the middle days of the years of a series.
func farBetween(list []dated) []*datesFound {
	var out []*datesFound
	for i, d := range list {
		var others []float64 // days from this one, around the year
		for j, e := range list {
			if j != i {
				others = append(others, aroundYear(e.offset-d.offset))
			}
		}
		if len(others) < fewestDatedYears {
			continue
		}
		middle := medianOf(others)
		away := make([]float64, len(others))
		for j, o := range others {
			away[j] = math.Abs(o - middle)
		}
		if days := math.Abs(middle); days > mostDaysBetween && days > mostDaysSpread*madToSD*medianOf(away) {
			word := "later"
			if middle > 0 {
				word = "earlier"
			}
			out = append(out, &datesFound{occasion: d.occasion,
				text: fmt.Sprintf("clipped on %s in the middle, %.0f days %s in the year than the middle of %d other years", dateOf(d.middle).Format(time.DateOnly), days, word, len(others))})
		}
	}
	return out
}

// aroundYear brings a difference of days of the year to within half a year.
func aroundYear(days float64) float64 {
	const year = 365.25
	return days - year*math.Round(days/year)
}

func (c *checker) reportDates(s *series, found map[string]*datesFound, check string) {
	for _, f := range found {
		records := make([]evidence, len(f.frames))
		for i, x := range f.frames {
			records[i] = c.ofFrame(x.visit, x.text)
		}
		if len(records) == 0 {
			records = []evidence{{key: fmt.Sprintf("%s %d %s", s.site.Site, f.occasion.Year, s.season), values: strings.Fields(f.text)[2]}}
		}
		c.report(s.place, Finding{Severity: Look, Check: check, Years: []int{f.occasion.Year}, Components: f.components, Found: f.text,
			Why: "plants gain and lose weight by the week: a date written wrong can also put a row into another growth year, and a late clipping is not comparable with early ones",
			Do:  "look at the sheet; correct the date with --replace, give another season its own label, or accept it if they were clipped that day"}, records...)
	}
}
