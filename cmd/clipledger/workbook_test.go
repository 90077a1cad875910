package main

import (
	"os"

	"github.com/rogpeppe/go-internal/testscript"

	"clipledger/monitor/intake/booktest"
)

// cmdWorkbook writes the workbook that a file of the script describes.
func cmdWorkbook(ts *testscript.TestScript, neg bool, args []string) {
	need(ts, !neg && len(args) == 2, "workbook FILE TEXT")
	f, err := os.Create(ts.MkAbs(args[0]))
	ts.Check(err)
	ts.Check(booktest.Write(f, ts.ReadFile(args[1])))
	ts.Check(f.Close())
}
