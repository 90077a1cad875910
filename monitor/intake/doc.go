// Package intake turns other people's CSV files and workbooks into checked
// records.
//
// What comes in is one file, opened with [Open] or [OpenPipe], and the
// [Options] of an import: which of the file's columns are which of ours,
// constants, columns and rows left out on purpose, the form of dates and
// numbers, the words for "missing".
// What goes out, row by row, are the records of package schema, or problems
// that name the file, the line as an editor counts it, the column, the value,
// what is wrong and what to do. A row with a problem gives no record, all of
// its problems are told, and reading goes on.
//
// Weights leave in grams, weights per area in g/m², areas in m², rain in mm;
// the names of columns say what they were written in. Missing is never 0.
//
// A file is text in UTF-8, UTF-16 or Windows-1252, packed with gzip or not, or
// a workbook (XLSX), of which one sheet is read; what cannot be told from the
// file for certain is told in the [Summary]. Files made to unpack to more than
// they could honestly hold are refused.
//
// No value is guessed: dates have one form, numbers a decimal point (or a
// comma, where that is said), words are those the ledger knows. [GuessMap]
// only proposes which columns are which. Nothing is dropped silently: unknown
// columns, rows left out and spellings taken as known ones are told in the
// [Summary]. The memory needed does not grow with the rows of a clippings file
// that is text (of a workbook the packed bytes are held); whether the same bag
// stands twice is for the ledger to see. The small kinds (sites, species,
// drying and the rest) are checked for rows that repeat.
//
// This package only reads, apart from [File.WriteRejected], which makes one
// new file and never overwrites, and copies in the folder for temporary files.
package intake
