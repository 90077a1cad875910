package monitor

import "fmt"

// Exact constants: the international pound and foot, and the acre of 43,560
// square feet (conversion tables; the printed 1.121 kg/ha per lb/ac rounds
// their product).
const (
	GramsPerPound = 453.59237
	M2PerFt2      = 0.3048 * 0.3048
	M2PerAcre     = 43560 * M2PerFt2
)

// Unit is a unit of weight per area for display.
type Unit struct {
	Name    string
	PerGM2  float64 // how many of it make 1 g/m²
	Decimal int     // decimals that a reader can use
}

// Units are the units of display, the default first.
var Units = []Unit{
	{"lb/ac", M2PerAcre / GramsPerPound, 0},
	{"kg/ha", 10, 0},
	{"g/m2", 1, 1},
}

// UnitNamed finds a unit of display.
func UnitNamed(name string) (Unit, error) {
	for _, u := range Units {
		if u.Name == name {
			return u, nil
		}
	}
	return Unit{}, fmt.Errorf("there is no unit %q; use lb/ac, kg/ha or g/m2", name)
}

// Of converts a density from g/m².
func (u Unit) Of(gPerM2 float64) float64 { return gPerM2 * u.PerGM2 }
