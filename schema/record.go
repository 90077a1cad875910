package schema

import "database/sql"

// Num is a number that may be missing. Missing is never 0 and never NaN.
type Num = sql.NullFloat64

// Some returns a present number.
func Some(f float64) Num { return Num{Float64: f, Valid: true} }

// Component says what was clipped. The zero value means "none named", as for
// a frame in which nothing at all was found.
type Component uint8

// The components of a frame. Production is herbaceous plus browse; standing
// dead and litter are recorded but never part of production.
const (
	NoComponent Component = iota
	Herbaceous
	Browse
	StandingDead
	Litter
)

// Components lists every component in the order of their codes.
var Components = [...]Component{Herbaceous, Browse, StandingDead, Litter}

// componentNames are the words used in files, tables and pages.
var componentNames = [...]string{"", "herbaceous", "browse", "standing-dead", "litter"}

// String returns the component's name, as files and pages write it.
func (c Component) String() string { return componentNames[c] }

// Bit returns the component's bit in a mask such as Clipping.ComponentsSampled.
func (c Component) Bit() uint8 {
	if c == NoComponent {
		return 0
	}
	return 1 << (c - 1)
}

// IsProduction tells whether the component is part of production.
func (c Component) IsProduction() bool { return c == Herbaceous || c == Browse }

// ComponentNamed returns the component with exactly this name.
func ComponentNamed(name string) (Component, bool) {
	for _, c := range Components {
		if c.String() == name {
			return c, true
		}
	}
	return NoComponent, false
}

// Trace bits of Clipping.Trace: which weight was written as "T".
const (
	TraceGreen = 1
	TraceDry   = 2
)

// The words of a bag's or frame's status.
const (
	StatusLost  = "lost"
	StatusEmpty = "empty"
)

// The bases of a dry weight. Unknown is taken as the ledger's and flagged.
const (
	AirDry       = "air-dry"
	OvenDry      = "oven-dry"
	UnknownBasis = "unknown"
)

// Clipping is one bag of one frame as a file states it: what one component
// (and species, where kept apart) weighed. A field left at its zero value was
// not given; it never contradicts and never overwrites.
type Clipping struct {
	Line       int    // line of the file, as an editor counts it
	Site       string // site code, not empty
	Date       string // YYYY-MM-DD
	Year       int    // growth year as given; 0: the date decides
	Season     string // never empty; "peak" where the file is silent
	Transect   string // never empty; "1" where the file is silent
	Frame      string // not empty
	Caged      bool
	CagedSince string // YYYY-MM-DD
	FrameType  string // canonical name, as the row says it; "" where it is silent
	// FrameTypeElse holds where the row is silent and the ledger does not know
	// the component of this frame yet: what the site declares. "" is none.
	FrameTypeElse string
	Component     Component
	Species       string
	GrowthForm    string
	Bag           string

	FramesInBag int  // composite bags; 0 means not given, counted as 1
	PerM2       bool // GreenG and DryG are grams per square metre
	GreenG      Num  // net green weight
	DryG        Num  // net dry weight, on Basis
	Trace       int  // TraceGreen | TraceDry
	DMPct       Num  // dry matter in percent of green, on Basis
	Basis       string
	Stage       string
	Status      string // "", StatusLost or StatusEmpty
	MissingCell bool   // a blank cell of a wide row: kept, so that no zero is inferred

	ComponentsSampled uint8 // mask of Component.Bit; 0 means not given
	Treatment         string
	Block             string
	Observer          string
	EdgeRule          string
	ClipHeightCM      Num
	UngrazedPct       Num
	Note              string
}

// HasWeight tells whether the record carries any weight, traces included.
func (c *Clipping) HasWeight() bool {
	return c.GreenG.Valid || c.DryG.Valid || c.Trace != 0
}

// Drying is one subsample weighed green and dried, to measure the dry-matter
// fraction. Without species and growth form it speaks for its component;
// with a frame named, first of all for that frame's bag.
type Drying struct {
	Line       int
	Site       string
	Date       string
	Year       int
	Season     string
	Component  Component
	Species    string
	GrowthForm string
	Transect   string // "" where no frame is named
	Frame      string
	Bag        string
	GreenG     float64
	DryG       float64
	Basis      string // "" means the ledger's
	Stage      string // kept; the ratio speaks for the occasion, whatever the stage
}

// DeclaredComponent is one entry of a site's components: what is looked for,
// on which frame type ("" any) and in which season ("" every).
type DeclaredComponent struct {
	Component Component
	FrameType string
	Season    string
}

// Site is the declaration of a site. Blank fields were not given.
type Site struct {
	Line           int
	Site           string
	Name           string
	Stratum        string
	AreaHa         Num
	Latitude       Num
	Longitude      Num
	ElevationM     Num
	EcologicalSite string
	Components     []DeclaredComponent
	SamplingUnit   string // "frame" or "transect"
	UnitsPossible  int    // 0 means not given
	Placement      string // "same", "shifted" or "new"
	Selection      string // "random", "fixed" or "chosen"
	FrameType      string // default of the site's rows
	YearStartMonth int    // 0 means not given, counted as January
	Station        string
	RainMonths     string // "4-7", or "10-6" from October before
	ClassScheme    string
	GrowthCurve    string
	DoubleSampling string // an observer, or "pooled": means rest on the estimates too
	Note           string
}

// FrameType is a clipping frame: its name and the ground it covers.
type FrameType struct {
	Line   int
	Name   string
	AreaM2 float64
}

// Species names a plant code.
type Species struct {
	Line       int
	Code       string
	Name       string
	GrowthForm string
	Component  Component // where it belongs; NoComponent if not given
}

// BookValue is one published dry-matter percentage, by growth form or by
// species, and stage.
type BookValue struct {
	Line       int
	Table      string
	GrowthForm string
	Species    string
	Stage      string
	DMPct      float64
	Basis      string // "" means the ledger's
	Source     string
}

// Rain is one month's rain at a station.
type Rain struct {
	Line    int
	Station string
	Year    int
	Month   int
	RainMM  float64
}
