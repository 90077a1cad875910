// Package testdata holds the files of Ansel Basin, the invented grazing
// district that demo shows and that tests read. Nothing in it was measured;
// every file says so. Command anselbasin writes the files, from fixed seeds,
// and a test there holds them to the byte.
package testdata

import "embed"

// AnselBasin holds the folder ansel-basin: the tables to import, README.txt,
// which tells what each of them is, and truth.json, which tells what was put
// in and what a reader of the tables must find.
//
//go:embed ansel-basin
var AnselBasin embed.FS
