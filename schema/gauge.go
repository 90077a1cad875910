package schema

// Gauge is what one rain station recorded: mm by month. Months that were not
// recorded are not in it.
type Gauge map[Month]float64

// Month is a month of a calendar year, January 1.
type Month struct {
	Year, Month int
}

// Gauges reads the rain of every station.
func (s *Snapshot) Gauges() (map[string]Gauge, error) {
	out := map[string]Gauge{}
	return out, s.each(`SELECT station, year, month, rain_mm FROM rain`, nil, func(scan func(...any) error) error {
		var station string
		var m Month
		var mm float64
		if err := scan(&station, &m.Year, &m.Month, &mm); err != nil {
			return err
		}
		if out[station] == nil {
			out[station] = Gauge{}
		}
		out[station][m] = mm
		return nil
	})
}
