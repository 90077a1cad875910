package monitor

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"clipledger/schema"
)

// How much could the site feed? Production × the share that may be harvested ÷
// what one animal takes in a month. Every factor is the user's own, and the
// answer is a range from the two ends of the mean's interval: it is no
// stocking rate (arithmetic is common practice; the share and the demand are
// local rules).

// Demand is what the user says one animal takes.
type Demand struct {
	Share        float64 // of production that may be harvested, above 0 to 1
	GramsPerDay  float64 // dry matter, on Basis
	Text         string  // as written, e.g. "26 lb"
	Basis        string
	DaysPerMonth float64
}

// ForageSettings are the settings that a forage supply rests on; none has a
// default.
var ForageSettings = []string{"forage-share", "forage-demand", "forage-demand-basis", "forage-days"}

// DemandOf reads the user's settings; missing names those that are not set.
func DemandOf(v schema.Values) (d Demand, missing []string, err error) {
	for _, name := range ForageSettings {
		if v[name] == "" {
			missing = append(missing, name)
		}
	}
	if len(missing) > 0 {
		return d, missing, nil
	}
	d = Demand{Share: v.Must("forage-share"), Text: v["forage-demand"], Basis: v["forage-demand-basis"], DaysPerMonth: v.Must("forage-days")}
	number, unit, _ := strings.Cut(d.Text, " ")
	weight, err := strconv.ParseFloat(number, 64)
	d.GramsPerDay = weight * map[string]float64{"lb": GramsPerPound, "kg": 1000}[strings.TrimSpace(unit)]
	if err != nil || !(d.GramsPerDay > 0) {
		return d, nil, fmt.Errorf("setting forage-demand %q is not a weight such as 26 lb", d.Text)
	}
	return d, nil, nil
}

// Forage is what one mean could feed: animal unit months per m², and on the
// whole site where its area is known.
type Forage struct {
	Mean      *Mean
	AtMean    Num
	Low, High Num // from the interval's two ends, never below zero; missing without an interval
	Site      [3]Num
	Remarks   []Remark
}

// ForageSupply turns means into forage supply.
func ForageSupply(m *Mean, d Demand, r Rules) *Forage {
	f := &Forage{Mean: m, Remarks: append([]Remark(nil), m.Remarks...)}
	month := d.GramsPerDay * r.Factors[d.Basis] * d.DaysPerMonth // on the ledger's basis
	supply := func(g Num) Num {
		if !g.Valid {
			return g
		}
		return schema.Some(math.Max(0, g.Float64) * d.Share / month)
	}
	f.AtMean, f.Low, f.High = supply(m.Mean), supply(m.CI.Low), supply(m.CI.High)
	if m.Site.AreaHa.Valid {
		for i, n := range []Num{f.Low, f.AtMean, f.High} {
			if n.Valid {
				f.Site[i] = schema.Some(n.Float64 * 1e4 * m.Site.AreaHa.Float64)
			}
		}
	}
	f.remark(m, d, r)
	return f
}

func (f *Forage) remark(m *Mean, d Demand, r Rules) {
	note := func(code, text string, loud bool) {
		f.Remarks = append(f.Remarks, Remark{Code: code, Text: text, Loud: loud})
	}
	if m.Mean.Valid && !m.CI.Low.Valid {
		note("no-range", "no interval, so no range: one figure says nothing of how sure it is", true)
	}
	if m.CI.Low.Valid && m.CI.Low.Float64 < 0 {
		note("range-cut", "the interval reaches below zero; the range begins at zero", false)
	}
	if m.Adequate == No {
		note("inadequate", "too few were clipped for the wanted precision", true)
	}
	if d.Basis != r.Basis {
		note("demand-basis", fmt.Sprintf("the demand is %s and was converted to %s with the ledger's moisture of %g, a trade approximation", d.Basis, r.Basis, r.Moisture), false)
	}
	if m.Site.AreaHa.Valid {
		note("whole-area", "the site's figure takes its whole area as alike and as reachable", false)
	}
}
