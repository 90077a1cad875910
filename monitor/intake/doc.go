// Package intake turns other people's CSV files into checked records.
//
// What comes in is one file, opened with [Open], and the [Options] of an
// import: which of the file's columns are which of ours, constants, columns
// and rows left out on purpose, the form of dates, the words for "missing".
// What goes out, row by row, are the records of package schema, or problems
// that name the file, the line as an editor counts it, the column, the value,
// what is wrong and what to do. A row with a problem gives no record, all of
// its problems are told, and reading goes on.
//
// Weights leave in grams, weights per area in g/m², areas in m², rain in mm;
// the names of columns say what they were written in. Missing is never 0.
//
// Nothing is guessed: dates have one form, numbers a decimal point, words are
// those the ledger knows. Nothing is dropped silently: unknown columns, rows
// left out and spellings taken as known ones are told in the [Summary]. The
// memory needed does not grow with the rows of a clippings file; whether the
// same bag stands twice is for the ledger to see. The small kinds (sites,
// species, drying and the rest) are checked for rows that repeat.
//
// This package only reads, apart from [WriteRejected], which makes one new
// file and never overwrites.
package intake
