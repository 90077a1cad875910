package intake

import (
	"errors"
	"fmt"
	"slices"
)

// Options are what a user says about a file that is not laid out like ours.
// The zero value reads a file with our own column names.
type Options struct {
	Map      map[string]string   // our column -> the file's column
	Set      map[string]string   // our column -> one value for every row
	Ignore   []string            // columns of the file ignored on purpose
	LeaveOut map[string][]string // column (theirs or ours) -> values; such rows are left out on purpose
	Dates    string              // "iso" (or ""), "mdy" or "dmy"
	Missing  []string            // words for "missing" (nil: DefaultMissing); an empty cell always is
	Unfilled string              // long clippings: what a row without a weight and a status is (UnfilledLost or "", UnfilledLeftOut)

	DecimalComma bool   // numbers have a comma as their decimal mark
	Sheet        string // of a workbook: the sheet's name, or its number from 1 ("": the only one that holds anything)
}

// DefaultMissing are the cells that mean "missing", whatever their case.
var DefaultMissing = []string{"", "NA", "NaN", ".", "-"}

// The forms of dates that Options.Dates takes.
const (
	DatesISO = "iso" // year-month-day
	DatesMDY = "mdy" // month/day/year
	DatesDMY = "dmy" // day/month/year
)

// What a row of long clippings that has neither a weight nor a status can be.
// A row with a tare, a note or what was looked for is never left out: somebody
// wrote in it.
const (
	UnfilledLost    = "lost"     // missing, never zero
	UnfilledLeftOut = "left-out" // as if it were not in the file
)

// ErrUnreadable is returned where nothing in a file can be used: it is empty
// or not text, its quotes swallow it, or its header lacks what is needed. Why
// has then been told as problems.
var ErrUnreadable = errors.New("the file cannot be used; its problems say why")

// UsageError is a contradiction in the options themselves, whatever the file
// holds: an unknown column name, a constant for a column that is there.
type UsageError struct{ Message string }

// Error returns the message, which says what to do.
func (e *UsageError) Error() string { return e.Message }

// usagef returns a UsageError with a formatted message.
func usagef(format string, args ...any) error {
	return &UsageError{Message: fmt.Sprintf(format, args...)}
}

// Summary is what there is to say about a file that has been read, beside its
// records and problems.
type Summary struct {
	Rows      int               // rows that hold anything, refused and left out ones included
	Records   int               // records given out; a wide row gives several
	Refused   int               // rows with a problem
	LeftOut   int               // rows left out on purpose
	Delimiter rune              // ',', ';' or '\t'
	Wide      bool              // clippings with one row a frame and a column a component
	Used      map[string]string // our column -> the file's column it came from
	Notices   []string          // what was ignored, taken as something else, or passed over
}

// maxNotices bounds how many spellings and the like a summary can carry.
const maxNotices = 200

// notice adds one sentence to the summary, once.
func (s *Summary) notice(format string, args ...any) {
	text := fmt.Sprintf(format, args...)
	if len(s.Notices) > maxNotices || slices.Contains(s.Notices, text) {
		return
	}
	if len(s.Notices) == maxNotices {
		text = "there is more of this kind, not listed"
	}
	s.Notices = append(s.Notices, text)
}
