package schema

// Vocabulary is what a ledger knows by name when a file is read against it:
// enough to tell a misspelt word from a new one and to fill a row's defaults.
type Vocabulary struct {
	FrameTypes  map[string]float64 // canonical name -> area in m²
	Stages      map[string]bool    // of every book table
	GrowthForms map[string]bool    // of every book table
	Seasons     map[string]bool    // the usual ones and those that sites declare
	Sites       map[string]SiteDefaults
	Species     map[string]bool
	Basis       string // the ledger's
}

// SiteDefaults are the parts of a declared site that its rows fall back on.
type SiteDefaults struct {
	FrameType      string // "" where none is declared
	YearStartMonth int    // 1 where none is declared
}

// usualSeasons are the season labels every ledger knows (trade terms; common
// practice). A site that declares a component for a season of its own adds it.
var usualSeasons = []string{"peak", "spring", "summer", "fall", "winter", "dormant"}
