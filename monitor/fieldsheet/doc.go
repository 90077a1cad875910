// Package fieldsheet writes the field sheets that package monitor lays out: as
// a page to print, and as CSV or a workbook to fill.
//
// The columns of CSV and workbook are those that import reads, so that what
// comes back filled needs no map. What is shown of last time stands in columns
// whose names begin with last_time_, which import tells of and leaves alone: an
// old weight can never come in as a new one. Sheets for eye estimates hold no
// weight at all, neither to see nor to fill.
//
// Typed text is escaped in the page, and made harmless for spreadsheets in
// CSV and workbook with the apostrophe that import takes off again. The clock
// is never asked: the same ledger gives the same bytes.
package fieldsheet
