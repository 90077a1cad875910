// Package export writes a ledger out by open standards: CSV with a README, a
// Data Package, EML, Darwin Core, a workbook, Parquet.
//
// What comes in is a [schema.Snapshot] and [Options]; what goes out is a
// folder of files. Every table is defined once, in [Tables]: its columns with
// type, unit and meaning, its key and what it refers to; all forms are made
// from that. Weights are grams, areas m², weights per area g/m², dry weights
// on the ledger's basis unless a column says otherwise; missing is empty.
//
// Rows are streamed: memory does not grow with the ledger. There is no clock
// in anything: the same ledger gives the same bytes. Names of observers and
// coordinates leave only where the options ask for them.
//
// Tables of records carry the names of columns that the program's own import
// reads, so that a ledger can be made again from what was exported.
package export
